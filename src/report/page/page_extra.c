/* Any table on a page (src/report/page/page_extra.h). */
#include "report/page/page_extra.h"

#include <math.h>
#include <string.h>

#include "report/page/html.h"

#define COLUMNS_MAX 24

static size_t pick(const struct report_records *r, size_t rows, size_t most,
                   size_t column[COLUMNS_MAX])
{
    size_t count = 0;
    for (size_t i = 0; i < r->columns && count < most && count < COLUMNS_MAX; i++) {
        bool says = false;
        for (size_t row = 0; row < rows && !says; row++) {
            says = report_records_text(r, row, i)[0] != '\0';
        }
        if (says) {
            column[count++] = i;
        }
    }
    return count;
}

static bool is_number(const struct report_records *r, size_t rows, size_t column)
{
    for (size_t row = 0; row < rows; row++) {
        if (report_records_text(r, row, column)[0] != '\0' &&
            isnan(report_records_number(r, row, column))) {
            return false;
        }
    }
    return true;
}

/* Names of limits and outcomes are words; no name of a user is changed. */
static void put_cell(FILE *out, const struct report_records *r, size_t row, size_t column,
                     bool number, bool heads)
{
    const char *tag = heads ? "th" : "td";
    double value = report_records_number(r, row, column);
    (void)fprintf(out, "<%s%s%s>", tag, heads ? " scope=\"row\"" : "",
                  number ? " class=\"n\"" : "");
    if (number && isfinite(value)) {
        bool whole = value == floor(value) && fabs(value) < 1e15;
        (void)fprintf(out, whole ? "%.0f" : "%.5g", value);
    } else {
        html_text(out, report_records_text(r, row, column));
    }
    (void)fprintf(out, "</%s>", tag);
}

void page_extra_table(FILE *out, const struct report_records *records, const char *caption,
                      size_t rows, size_t columns)
{
    size_t column[COLUMNS_MAX];
    rows = records->rows < rows ? records->rows : rows;
    size_t count = pick(records, rows, columns, column);
    if (count == 0) {
        return;
    }
    (void)fprintf(out, "<div class=\"scroll\"><table>\n<caption>%s</caption>\n<thead><tr>",
                  caption);
    for (size_t k = 0; k < count; k++) {
        bool number = is_number(records, rows, column[k]);
        (void)fprintf(out, "<th scope=\"col\"%s>", number ? " class=\"n\"" : "");
        html_words(out, report_records_name(records, column[k]));
        (void)fputs("</th>", out);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t row = 0; row < rows; row++) {
        (void)fputs("<tr>", out);
        for (size_t k = 0; k < count; k++) {
            put_cell(out, records, row, column[k], is_number(records, rows, column[k]), k == 0);
        }
        (void)fputs("</tr>\n", out);
    }
    (void)fputs("</tbody></table></div>\n", out);
}

/* ---- what would have to give ---- */

static void put_needed(FILE *out, const struct report_records *r, size_t row)
{
    const char *unit = report_records_text(r, row, report_records_find(r, "unit"));
    double bound = report_records_number(r, row, report_records_find(r, "bound"));
    double needed = report_records_number(r, row, report_records_find(r, "needed"));
    (void)fprintf(out, "<td class=\"n\">%.5g ", bound);
    html_text(out, unit);
    (void)fputs(isnan(needed) ? "</td><td class=\"n\">no bound would do" : "</td><td class=\"n\">",
                out);
    if (!isnan(needed)) {
        (void)fprintf(out, "%.5g ", needed);
        html_text(out, unit);
    }
    (void)fputs("</td>", out);
}

/* "long on 130 mm and 98 mm, no cooler" */
static void put_kit(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *r = &results->nearest;
    const char *length = report_results_unit(results, REPORT_LENGTH);
    enum shv_unit_system units = results->units;
    double effectiveness = report_records_number(r, row, report_records_find(r, "effectiveness"));
    html_text(out, report_records_text(r, row, report_records_find(r, "blower")));
    (void)fprintf(out, ", pulleys %.4g on %.4g %s, ",
                  report_records_number(
                      r, row, report_records_column(r, "crank_pulley", REPORT_LENGTH, units)),
                  report_records_number(
                      r, row, report_records_column(r, "blower_pulley", REPORT_LENGTH, units)),
                  length);
    if (effectiveness > 0.0) {
        html_text(out, report_records_text(r, row, report_records_find(r, "cooler")));
        (void)fprintf(out, " of %.3g, ", effectiveness);
    } else {
        (void)fputs("no charge cooler, ", out);
    }
    html_text(out, report_records_text(r, row, report_records_find(r, "fuel")));
    (void)fprintf(out, " at lambda %.3g",
                  report_records_number(r, row, report_records_find(r, "lambda")));
}

static void put_nearest(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *r = &results->nearest;
    double kit = report_records_number(r, row, report_records_find(r, "kit"));
    size_t speed = report_records_column(r, "tightest_speed", REPORT_ROTATION, results->units);
    double rpm = report_records_number(r, row, speed);
    bool alone = strcmp(report_records_text(r, row, report_records_find(r, "alone")), "yes") == 0;
    (void)fprintf(out, "<tr><th scope=\"row\">%.0f%s</th><td>", kit, alone ? "" : ", with others");
    html_text(out, report_records_text(r, row, report_records_find(r, "title")));
    (void)fputs("</td>", out);
    put_needed(out, r, row);
    if (isnan(rpm)) {
        (void)fputs("<td>whole kit</td><td>", out);
    } else {
        (void)fprintf(out, "<td>%.0f rpm, ", rpm);
        html_text(out, report_records_text(r, row, report_records_find(r, "tightest_site")));
        (void)fputs("</td><td>", out);
    }
    put_kit(out, results, row);
    (void)fputs("</td></tr>\n", out);
}

void page_nearest(FILE *out, const struct report_results *results)
{
    if (results->nearest.rows == 0) {
        return;
    }
    (void)fputs(
        "<div class=\"scroll\"><table>\n<caption>The nearest kits found, and what would have "
        "to give</caption>\n<thead><tr><th scope=\"col\">kit</th><th "
        "scope=\"col\">limit</th><th scope=\"col\" class=\"n\">bound</th><th "
        "scope=\"col\" class=\"n\">needed</th><th scope=\"col\">where</th><th "
        "scope=\"col\">parts</th></tr></thead>\n<tbody>\n",
        out);
    for (size_t row = 0; row < results->nearest.rows; row++) {
        put_nearest(out, results, row);
    }
    (void)fputs("</tbody></table></div>\n", out);
}
