/* Tables on a page (src/report/page/page_extra.h). */
#include "report/page/page_extra.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/page/html.h"
#include "report/write/words.h"

#define COLUMNS_MAX 24

static size_t find(const struct report_results *results, const struct report_records *records,
                   const struct page_column *c)
{
    char name[128];
    if (c->kind != PAGE_RANKED_BY) {
        return report_records_column(records, c->stem, c->measure, results->units);
    }
    (void)snprintf(name, sizeof name, "%s%s", c->stem, report_results_ranked_by(results));
    return report_records_find(records, name);
}

static enum report_measure measure_of(const struct report_results *results,
                                      const struct page_column *c)
{
    return c->kind == PAGE_RANKED_BY ? report_results_ranked_measure(results) : c->measure;
}

#define NAME_IN_ONE_LINE 16 /* bytes; longer texts may be broken */

static void put_head(FILE *out, const struct report_results *results, const struct page_column *c)
{
    enum report_measure measure = measure_of(results, c);
    const char *unit = report_results_unit(results, measure);
    (void)fprintf(out, "<th scope=\"col\"%s>%s%s", measure == REPORT_TEXT ? "" : " class=\"n\"",
                  c->title, unit[0] ? ", " : "");
    html_text(out, unit);
    (void)fputs("</th>", out);
}

static void put_cell(FILE *out, const struct report_results *results,
                     const struct report_records *r, size_t row, size_t column,
                     const struct page_column *c, bool heads)
{
    enum report_measure measure = measure_of(results, c);
    const char *text = report_records_text(r, row, column), *tag = heads ? "th" : "td";
    double value = report_records_number(r, row, column);
    (void)fprintf(out, "<%s%s%s>", tag, heads ? " scope=\"row\"" : "",
                  measure != REPORT_TEXT             ? " class=\"n\""
                  : strlen(text) <= NAME_IN_ONE_LINE ? " class=\"whole\""
                                                     : "");
    if (c->kind == PAGE_NAME) {
        html_words(out, report_limit_title(text));
    } else if (measure == REPORT_TEXT || !isfinite(value)) {
        html_text(out, text);
    } else if (measure == REPORT_NUMBER || measure == REPORT_LENGTH) {
        html_digits(out, value);
    } else {
        (void)fprintf(out, "%.*f", report_unit(measure, results->units)->decimals, value + 0.0);
    }
    (void)fprintf(out, "</%s>", tag);
}

/* "The first 10 of 34 rows; limit_worth.csv has all." */
static void say_cut(FILE *out, const char *file, size_t shown, size_t rows)
{
    if (shown < rows) {
        (void)fprintf(out, "<p class=\"hint\">The first %zu of %zu; the others are in %s.</p>\n",
                      shown, rows, file);
    }
}

/* The row that stands at a place when one of them goes first. */
static size_t row_at(size_t place, size_t lead)
{
    return lead == REPORT_NO_COLUMN || place > lead ? place : place == 0 ? lead : place - 1;
}

void page_extra_table(FILE *out, const struct report_results *results,
                      const struct report_records *records, const char *file, const char *caption,
                      const struct page_column *columns, size_t count, size_t most, size_t lead)
{
    const struct page_column *shown[COLUMNS_MAX];
    size_t at[COLUMNS_MAX], n = 0, rows = records->rows < most ? records->rows : most;
    for (size_t k = 0; k < count && n < COLUMNS_MAX; k++) {
        at[n] = find(results, records, &columns[k]);
        shown[n] = &columns[k];
        n += at[n] != REPORT_NO_COLUMN && report_records_says(records, at[n], rows) ? 1 : 0;
    }
    if (n == 0) {
        return;
    }
    (void)fprintf(out, "<div class=\"scroll\"><table>\n<caption>%s</caption>\n<thead><tr>",
                  caption);
    for (size_t k = 0; k < n; k++) {
        put_head(out, results, shown[k]);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t i = 0; i < rows; i++) {
        size_t row = row_at(i, lead);
        (void)fputs("<tr>", out);
        for (size_t k = 0; k < n; k++) {
            put_cell(out, results, records, row, at[k], shown[k], k == 0);
        }
        (void)fputs("</tr>\n", out);
    }
    (void)fputs("</tbody></table></div>\n", out);
    say_cut(out, file, rows, records->rows);
}

/* ---- what a little more would bring ---- */

#define WORTHS 256
#define WORTHS_SHOWN 16

struct worth {
    size_t row;
    double gain;
};

static int most_first(const void *a, const void *b)
{
    const struct worth *x = a, *y = b;
    if (x->gain != y->gain) {
        return x->gain > y->gain ? -1 : 1;
    }
    return x->row < y->row ? -1 : 1;
}

/* What an ideal makes of what is ranked by; turned where the least is best. */
static double ideal_value(const struct report_results *results, size_t row)
{
    const struct page_column ideal = {"ideal_objective", REPORT_NUMBER, "", PAGE_RANKED_BY};
    const struct report_records *o = &results->optimum;
    double value = report_records_number(o, row, find(results, o, &ideal));
    enum report_measure measure = report_results_ranked_measure(results);
    return measure == REPORT_MONEY || measure == REPORT_TEMPERATURE ? -value : value;
}

/* Whether no other fuel makes a better ideal of the same blower. */
static bool is_best_of_blower(const struct report_results *results, const char *blower,
                              const char *fuel)
{
    const struct report_records *o = &results->optimum;
    size_t by_blower = report_records_find(o, "blower"), by_fuel = report_records_find(o, "fuel");
    const char *best = "";
    double most = -INFINITY;
    for (size_t i = 0; i < o->rows; i++) {
        if (strcmp(report_records_text(o, i, by_blower), blower) == 0 &&
            ideal_value(results, i) > most) {
            most = ideal_value(results, i);
            best = report_records_text(o, i, by_fuel);
        }
    }
    return strcmp(best, fuel) == 0;
}

/* The column of the gain, whatever it is in. */
static size_t gain_column(const struct report_records *r)
{
    for (size_t i = 0; i < r->columns; i++) {
        if (strncmp(report_records_name(r, i), "gain_", 5) == 0) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

static size_t list_worths(const struct report_results *results, struct worth list[WORTHS])
{
    const struct report_records *w = &results->limit_worth;
    size_t gain = gain_column(w), active = report_records_find(w, "active"), count = 0;
    size_t blower = report_records_find(w, "blower"), fuel = report_records_find(w, "fuel");
    for (size_t i = 0; i < w->rows && count < WORTHS; i++) {
        double value = report_records_number(w, i, gain);
        if (strcmp(report_records_text(w, i, active), "yes") == 0 && value > 0.0 &&
            is_best_of_blower(results, report_records_text(w, i, blower),
                              report_records_text(w, i, fuel))) {
            list[count++] = (struct worth){i, value};
        }
    }
    qsort(list, count, sizeof *list, most_first);
    return count;
}

/* "brake torque at 4500 rpm, coast start", from columns of a limit, a speed and a site. */
static void put_place(FILE *out, const struct report_results *results, size_t row,
                      const char *title, const char *speed, const char *site)
{
    const struct report_records *w = &results->limit_worth;
    double rpm = report_records_number(
        w, row, report_records_column(w, speed, REPORT_ROTATION, results->units));
    html_text(out, title);
    if (!isnan(rpm)) {
        (void)fprintf(out, " at %.0f rpm, ", rpm);
        html_text(out, report_records_text(w, row, report_records_find(w, site)));
    }
}

static void put_worth(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *w = &results->limit_worth;
    enum report_measure measure = report_results_ranked_measure(results);
    enum report_measure change =
        measure == REPORT_TEMPERATURE ? REPORT_TEMPERATURE_CHANGE : measure;
    double step = report_records_number(w, row, report_records_find(w, "step"));
    const char *next = report_records_text(w, row, report_records_find(w, "next_limit"));
    (void)fputs("<tr><th scope=\"row\">", out);
    html_text(out, report_records_text(w, row, report_records_find(w, "blower")));
    (void)fputs(", ", out);
    html_text(out, report_records_text(w, row, report_records_find(w, "fuel")));
    (void)fputs("</th><td>", out);
    put_place(out, results, row, report_records_text(w, row, report_records_find(w, "title")),
              "speed", "site");
    (void)fprintf(out, "</td><td>%.4g ", fabs(step));
    html_text(out, report_records_text(w, row, report_records_find(w, "unit")));
    (void)fprintf(out, " %s</td><td class=\"n\">%.2f ", step < 0.0 ? "less" : "more",
                  report_records_number(w, row, gain_column(w)));
    html_text(out, report_results_unit(results, change));
    (void)fputs("</td><td>", out);
    if (next[0]) {
        put_place(out, results, row, report_limit_title(next), "next_speed", "next_site");
    }
    (void)fputs("</td></tr>\n", out);
}

void page_limit_worth(FILE *out, const struct report_results *results)
{
    struct worth list[WORTHS];
    size_t count = list_worths(results, list);
    size_t shown = count < WORTHS_SHOWN ? count : WORTHS_SHOWN;
    if (count == 0) {
        return;
    }
    (void)fputs(
        "<div class=\"scroll\"><table>\n<caption>What holds the best ideal of each blower back, "
        "and what a little more of it would bring</caption>\n<thead><tr><th scope=\"col\">ideal "
        "of</th><th scope=\"col\">held back by</th><th scope=\"col\">with</th><th scope=\"col\" "
        "class=\"n\">it would make more by</th><th scope=\"col\">then it would meet</th></tr>"
        "</thead>\n<tbody>\n",
        out);
    for (size_t i = 0; i < shown; i++) {
        put_worth(out, results, list[i].row);
    }
    (void)fputs("</tbody></table></div>\n<p class=\"hint\">Other fuels, limits that do not hold "
                "and neighbouring choices are in limit_worth.csv.</p>\n",
                out);
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
    double ratio = report_records_number(r, row, report_records_find(r, "air_fuel_ratio"));
    if (isfinite(ratio)) { /* in US units */
        (void)fprintf(out, " (AFR %.3g)", ratio);
    }
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
