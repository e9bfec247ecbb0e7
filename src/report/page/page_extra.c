/* Tables on a page (src/report/page/page_extra.h). */
#include "report/page/page_extra.h"

#include <math.h>
#include <string.h>

#include "report/page/html.h"
#include "report/write/words.h"

#define COLUMNS_MAX 24

struct shown {
    size_t at; /* in the file; REPORT_NO_COLUMN when it is not there */
    const char *title;
    enum report_measure measure;
    bool is_name; /* of a limit or an outcome, shown by its title; of anything else as words */
};

static struct shown find(const struct report_results *results, const struct report_records *records,
                         const struct report_layout *layout, const struct page_column *c)
{
    static const char *const names[] = {"binding_limit", "fails_most", "broken_elsewhere", "kind"};
    const char *ranked_by = report_results_ranked_by(results);
    struct shown shown = {REPORT_NO_COLUMN, c->title, REPORT_TEXT, false};
    size_t stem = strlen(c->stem);
    for (size_t i = 0; i < layout->count; i++) {
        const struct report_column *known = &layout->column[i];
        char name[REPORT_NAME_MAX];
        report_column_name(known, results->units, name);
        bool ranks =
            *ranked_by && strncmp(name, c->stem, stem) == 0 && strcmp(name + stem, ranked_by) == 0;
        if (ranks || strcmp(known->stem, c->stem) == 0) {
            shown.at = report_records_find(records, name);
            shown.measure = known->measure;
        }
    }
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        shown.is_name = shown.is_name || strcmp(c->stem, names[i]) == 0;
    }
    return shown;
}

#define NAME_IN_ONE_LINE 16 /* bytes; longer texts may be broken */

static void put_value(FILE *out, const struct report_results *results, const struct shown *c,
                      const char *text, double value)
{
    if (c->is_name) {
        html_words(out, report_limit_title(text));
    } else if (c->measure == REPORT_TEXT || !isfinite(value)) {
        html_text(out, text);
    } else if (c->measure == REPORT_NUMBER || c->measure == REPORT_LENGTH) {
        html_digits(out, value);
    } else {
        (void)fprintf(out, "%.*f", report_unit(c->measure, results->units)->decimals, value + 0.0);
    }
}

void page_facts(FILE *out, const struct report_results *results,
                const struct report_records *records, const struct report_table *table, size_t row,
                const struct page_column *columns, size_t count)
{
    struct report_layout layout;
    report_table_layout(table, &layout, REPORT_EVERY_COLUMN);
    for (size_t i = 0; i < count; i++) {
        const struct shown shown = find(results, records, &layout, &columns[i]);
        const char *text = report_records_text(records, row, shown.at);
        const char *unit = report_results_unit(results, shown.measure);
        double value = report_records_number(records, row, shown.at);
        if (text[0] && value != 0.0) {
            html_put(out, "<div><dt>%s</dt><dd>", shown.title);
            put_value(out, results, &shown, text, value);
            html_put(out, "%s%s</dd></div>\n", unit[0] ? " " : "", unit);
        }
    }
}

static void put_cell(FILE *out, const struct report_results *results,
                     const struct report_records *r, size_t row, const struct shown *c, bool heads)
{
    const char *text = report_records_text(r, row, c->at), *tag = heads ? "th" : "td";
    (void)fprintf(out, "<%s%s%s>", tag, heads ? " scope=\"row\"" : "",
                  c->measure != REPORT_TEXT          ? " class=\"n\""
                  : strlen(text) <= NAME_IN_ONE_LINE ? " class=\"whole\""
                                                     : "");
    put_value(out, results, c, text, report_records_number(r, row, c->at));
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
                      const struct report_records *records, const struct report_table *table,
                      const char *caption, const struct page_column *columns, size_t count,
                      size_t most, size_t lead)
{
    struct shown shown[COLUMNS_MAX];
    struct report_layout layout;
    size_t n = 0, rows = records->rows < most ? records->rows : most;
    report_table_layout(table, &layout, REPORT_EVERY_COLUMN);
    for (size_t k = 0; k < count && n < COLUMNS_MAX; k++) {
        shown[n] = find(results, records, &layout, &columns[k]);
        n += report_records_says(records, shown[n].at, rows) ? 1 : 0;
    }
    if (n == 0) {
        return;
    }
    (void)fprintf(out, "<div class=\"scroll\"><table>\n<caption>%s</caption>\n<thead><tr>",
                  caption);
    for (size_t k = 0; k < n; k++) {
        html_head(out, shown[k].title, report_results_unit(results, shown[k].measure),
                  shown[k].measure != REPORT_TEXT);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t i = 0; i < rows; i++) {
        size_t row = row_at(i, lead);
        (void)fputs("<tr>", out);
        for (size_t k = 0; k < n; k++) {
            put_cell(out, results, records, row, &shown[k], k == 0);
        }
        (void)fputs("</tr>\n", out);
    }
    html_table_end(out);
    say_cut(out, table->file, rows, records->rows);
}

/* ---- what a little more would bring ---- */

#define WORTHS 256
#define WORTHS_SHOWN 16

/* What an ideal makes of what is ranked by; turned where the least is best. */
static double ideal_value(const struct report_results *results, size_t row)
{
    const struct report_records *o = &results->optimum;
    double value = report_records_number(o, row, report_records_begins(o, "ideal_objective_"));
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

static size_t list_worths(const struct report_results *results,
                          struct report_row_value list[WORTHS])
{
    const struct report_records *w = &results->limit_worth;
    size_t gain = report_records_begins(w, "gain_"), active = report_records_find(w, "active"),
           count = 0;
    size_t blower = report_records_find(w, "blower"), fuel = report_records_find(w, "fuel");
    for (size_t i = 0; i < w->rows && count < WORTHS; i++) {
        double value = report_records_number(w, i, gain);
        if (strcmp(report_records_text(w, i, active), "yes") == 0 && value > 0.0 &&
            is_best_of_blower(results, report_records_text(w, i, blower),
                              report_records_text(w, i, fuel))) {
            list[count++] = (struct report_row_value){i, value};
        }
    }
    report_most_first(list, count);
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
        html_put(out, " at %.0f rpm, %s", rpm, report_cell(w, row, site));
    }
}

static void put_worth(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *w = &results->limit_worth;
    enum report_measure measure = report_results_ranked_measure(results);
    enum report_measure change =
        measure == REPORT_TEMPERATURE ? REPORT_TEMPERATURE_CHANGE : measure;
    double step = report_cell_number(w, row, "step");
    const char *next = report_cell(w, row, "next_limit");
    html_put(out, "<tr><th scope=\"row\">%s, %s</th><td>", report_cell(w, row, "blower"),
             report_cell(w, row, "fuel"));
    put_place(out, results, row, report_cell(w, row, "title"), "speed", "site");
    html_put(out, "</td><td>%.4g %s %s</td><td class=\"n\">%.2f %s</td><td>", fabs(step),
             report_cell(w, row, "unit"), step < 0.0 ? "less" : "more",
             report_records_number(w, row, report_records_begins(w, "gain_")),
             report_results_unit(results, change));
    if (next[0]) {
        put_place(out, results, row, report_limit_title(next), "next_speed", "next_site");
    }
    (void)fputs("</td></tr>\n", out);
}

void page_limit_worth(FILE *out, const struct report_results *results)
{
    struct report_row_value list[WORTHS];
    size_t count = list_worths(results, list);
    size_t shown = count < WORTHS_SHOWN ? count : WORTHS_SHOWN;
    if (count == 0) {
        return;
    }
    html_table(out,
               "What holds the best ideal of each blower back, and what a little more of it would "
               "bring",
               "ideal of|held back by|with|#it would make more by|then it would meet");
    for (size_t i = 0; i < shown; i++) {
        put_worth(out, results, list[i].row);
    }
    html_table_end(out);
    (void)fputs("<p class=\"hint\">Other fuels, limits that do not hold "
                "and neighbouring choices are in limit_worth.csv.</p>\n",
                out);
}

/* ---- what would have to give ---- */

static void put_needed(FILE *out, const struct report_records *r, size_t row)
{
    const char *unit = report_cell(r, row, "unit");
    double bound = report_cell_number(r, row, "bound");
    double needed = report_cell_number(r, row, "needed");
    html_put(out, "<td class=\"n\">%.5g %s", bound, unit);
    (void)fputs(isnan(needed) ? "</td><td class=\"n\">no bound would do" : "</td><td class=\"n\">",
                out);
    if (!isnan(needed)) {
        html_put(out, "%.5g %s", needed, unit);
    }
    (void)fputs("</td>", out);
}

/* "long on 130 mm and 98 mm, no cooler" */
static void put_kit(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *r = &results->nearest;
    const char *length = report_results_unit(results, REPORT_LENGTH);
    enum shv_unit_system units = results->units;
    double effectiveness = report_cell_number(r, row, "effectiveness");
    html_put(out, "%s, pulleys %.4g on %.4g %s, ", report_cell(r, row, "blower"),
             report_records_number(r, row,
                                   report_records_column(r, "crank_pulley", REPORT_LENGTH, units)),
             report_records_number(r, row,
                                   report_records_column(r, "blower_pulley", REPORT_LENGTH, units)),
             length);
    if (effectiveness > 0.0) {
        html_put(out, "%s of %.3g, ", report_cell(r, row, "cooler"), effectiveness);
    } else {
        (void)fputs("no charge cooler, ", out);
    }
    html_put(out, "%s at lambda %.3g", report_cell(r, row, "fuel"),
             report_cell_number(r, row, "lambda"));
    double ratio = report_cell_number(r, row, "air_fuel_ratio");
    if (isfinite(ratio)) { /* in US units */
        (void)fprintf(out, " (AFR %.3g)", ratio);
    }
}

static void put_nearest(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *r = &results->nearest;
    double kit = report_cell_number(r, row, "kit");
    size_t speed = report_records_column(r, "tightest_speed", REPORT_ROTATION, results->units);
    double rpm = report_records_number(r, row, speed);
    bool alone = strcmp(report_cell(r, row, "alone"), "yes") == 0;
    html_put(out, "<tr><th scope=\"row\">%.0f%s</th><td>%s</td>", kit, alone ? "" : ", with others",
             report_cell(r, row, "title"));
    put_needed(out, r, row);
    if (isnan(rpm)) {
        (void)fputs("<td>whole kit</td><td>", out);
    } else {
        html_put(out, "<td>%.0f rpm, %s</td><td>", rpm, report_cell(r, row, "tightest_site"));
    }
    put_kit(out, results, row);
    (void)fputs("</td></tr>\n", out);
}

void page_nearest(FILE *out, const struct report_results *results)
{
    if (results->nearest.rows == 0) {
        return;
    }
    html_table(out, "The nearest kits found, and what would have to give",
               "kit|limit|#bound|#needed|where|parts");
    for (size_t row = 0; row < results->nearest.rows; row++) {
        put_nearest(out, results, row);
    }
    html_table_end(out);
}
