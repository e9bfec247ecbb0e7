/* The ranked table (src/report/page/page_table.h). */
#include "report/page/page_table.h"

#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/page/html.h"
#include "report/write/words.h"

#define OBJECTIVE "objective_" /* the column ranked by begins so */

struct shown {
    size_t column;
    const struct report_column *known; /* or NULL */
    bool more;
};

static bool is_among(const char *stem, const char *const stems[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(stem, stems[i]) == 0) {
            return true;
        }
    }
    return false;
}

/* Shown at once; the others when asked for. */
static bool is_first_seen(const char *stem)
{
    static const char *const stems[] = {
        "rank",   "blower",        "crank_pulley",  "blower_pulley", "ratio",
        "cooler", "fuel",          "effectiveness", "lambda",        "air_fuel_ratio",
        "price",  "highest_boost", "binding_limit", "binding_share", "peak_power"};
    return strncmp(stem, OBJECTIVE, strlen(OBJECTIVE)) == 0 ||
           is_among(stem, stems, sizeof stems / sizeof *stems);
}

/* Where it is left out, as there is no room for all: "narrow" on paper, "wide" on a narrow screen.
 */
static const char *where_left_out(const struct shown *s)
{
    static const char *const paper[] = {"ratio", "lambda", "air_fuel_ratio"};
    static const char *const told_apart[] = {"rank", "blower", "blower_pulley"};
    const char *stem = s->known ? s->known->stem : "";
    bool narrow = is_among(stem, paper, sizeof paper / sizeof *paper);
    bool kept = strncmp(stem, OBJECTIVE, strlen(OBJECTIVE)) == 0 ||
                is_among(stem, told_apart, sizeof told_apart / sizeof *told_apart);
    return narrow ? "narrow wide " : kept ? "" : "wide ";
}

/* Of several rows all the same. */
static bool is_constant(const struct report_records *r, size_t column, size_t rows)
{
    bool same = rows > 1;
    for (size_t i = 1; i < rows && same; i++) {
        same = strcmp(report_records_text(r, i, column), report_records_text(r, 0, column)) == 0;
    }
    return same;
}

static size_t pick_columns(const struct report_results *results, const struct report_layout *layout,
                           size_t rows, struct shown shown[REPORT_COLUMNS_MAX])
{
    const struct report_records *r = &results->ranked;
    size_t count = 0;
    for (size_t i = 0; i < r->columns && count < REPORT_COLUMNS_MAX; i++) {
        if (!report_records_says(r, i, rows)) {
            continue;
        }
        const struct report_column *known =
            report_column_find(layout, results->units, report_records_name(r, i));
        shown[count++] = (struct shown){
            i, known,
            !known || !is_first_seen(known->stem) ||
                (is_constant(r, i, rows) && strcmp(known->stem, "binding_limit") != 0)};
    }
    return count;
}

static bool is_text(const struct shown *s)
{
    return !s->known || s->known->measure == REPORT_TEXT;
}

/* " class=\"n more\"", or "". */
static const char *classes_of(const struct shown *s, char classes[48])
{
    (void)snprintf(classes, 48, " class=\"%s%s%s\"", is_text(s) ? "" : "n ", s->more ? "more " : "",
                   where_left_out(s));
    char *end = strstr(classes, " \"");
    if (end) {
        memcpy(end, "\"", 2);
    }
    return end ? classes : "";
}

static void put_head(FILE *out, const struct report_results *results, const struct shown *s)
{
    const char *unit = s->known ? report_results_unit(results, s->known->measure) : "";
    char classes[48];
    (void)fprintf(out, "<th scope=\"col\"%s", classes_of(s, classes));
    html_put(out, " title=\"%s\">", s->known ? s->known->meaning : "");
    html_words(out, s->known ? report_column_title(s->known->stem)
                             : report_records_name(&results->ranked, s->column));
    if (unit[0]) {
        html_put(out, ", %s", unit);
    }
    (void)fputs("</th>", out);
}

/* Plain numbers and money have their own places; what has a unit, those that mean something. */
static void put_value(FILE *out, const struct report_results *results, const struct shown *s,
                      size_t row)
{
    const char *text = report_records_text(&results->ranked, row, s->column);
    double value = report_records_number(&results->ranked, row, s->column);
    if (s->known && strcmp(s->known->stem, "binding_limit") == 0) {
        html_words(out, report_limit_title(text));
    } else if (is_text(s) || s->known->measure == REPORT_COUNT || !isfinite(value)) {
        html_text(out, text);
    } else if (s->known->measure == REPORT_NUMBER) {
        html_digits(out, value);
    } else {
        (void)fprintf(out, "%.*f", report_unit(s->known->measure, results->units)->decimals,
                      value + 0.0);
    }
}

static void put_cell(FILE *out, const struct report_results *results, const struct shown *s,
                     size_t row, size_t kits)
{
    bool rank = s->known && strcmp(s->known->stem, "rank") == 0;
    char classes[48];
    if (rank) {
        (void)fputs("<th scope=\"row\" class=\"n\">", out);
    } else {
        (void)fprintf(out, "<td%s>", classes_of(s, classes));
    }
    if (rank && row < kits) {
        (void)fprintf(out, "<a href=\"#kit-%zu\" aria-label=\"kit %zu\">%zu</a></th>", row + 1,
                      row + 1, row + 1);
        return;
    }
    put_value(out, results, s, row);
    (void)fputs(rank ? "</th>" : "</td>", out);
}

void page_table(FILE *out, const struct report_results *results)
{
    const struct report_records *r = &results->ranked;
    struct report_layout layout;
    struct shown shown[REPORT_COLUMNS_MAX];
    size_t rows = r->rows < PAGE_ROWS ? r->rows : PAGE_ROWS, kits = report_results_kits(results);
    report_table_layout(&report_ranked, &layout, REPORT_EVERY_COLUMN);
    size_t columns = pick_columns(results, &layout, rows, shown);
    (void)fputs("<div id=\"table-tools\"></div>\n<div class=\"scroll\" tabindex=\"0\" "
                "role=\"region\" aria-label=\"Ranked kits\">"
                "<table id=\"ranked\" class=\"brief\">\n<caption>Kits that hold every limit, the "
                "best first; a rank with a link opens its curves</caption>\n<thead><tr>",
                out);
    for (size_t i = 0; i < columns; i++) {
        put_head(out, results, &shown[i]);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t row = 0; row < rows; row++) {
        (void)fputs("<tr>", out);
        for (size_t i = 0; i < columns; i++) {
            put_cell(out, results, &shown[i], row, kits);
        }
        (void)fputs("</tr>\n", out);
    }
    (void)fputs("</tbody></table></div>\n", out);
}
