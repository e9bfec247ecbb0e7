/* Any table on a page (src/report/page/page_extra.h). */
#include "report/page/page_extra.h"

#include <math.h>

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
