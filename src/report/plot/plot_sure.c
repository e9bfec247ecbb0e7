/* How sure the best kits are: what the objective is between, whether every limit holds, and which
 * of the tolerances matters. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"

#define KITS 12
#define TOLERANCES 16

/* A column of a percentile; its error has a name that begins alike. */
static size_t percentile(const struct report_records *r, const char *prefix)
{
    for (size_t i = 0; i < r->columns; i++) {
        const char *name = report_records_name(r, i);
        if (strncmp(name, prefix, strlen(prefix)) == 0 && !strstr(name, "_error")) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

static void name_row(struct plot *p, size_t place, const char *name)
{
    char room[PLOT_QUOTE];
    plot_say(p, "set ytics add (%s %zu)\n", plot_quote(room, name), place);
}

static void rows_panel(struct plot *p, double left, double right, size_t count, const char *x)
{
    plot_say(p, "set yrange [%zu.6:-0.6]\nset format y '%%s'\nset grid noytics\n", count - 1);
    plot_panel(p, &(struct plot_panel){.left = left,
                                       .right = right,
                                       .bottom = 52.0 / p->height,
                                       .top = 1.0 - 40.0 / p->height,
                                       .y = "",
                                       .y_unit = "",
                                       .x = x,
                                       .x_unit = "",
                                       .key_rows = 1});
    plot_say(p, "set ytics scale 0 ()\n");
}

static void name_kit(struct plot *p, size_t row)
{
    const struct report_records *r = &p->results->sure;
    char name[PLOT_QUOTE], kind[32];
    (void)snprintf(kind, sizeof kind, "%.30s",
                   report_records_text(r, row, report_records_find(r, "kind")));
    for (char *c = kind; *c; c++) {
        *c = *c == '_' ? ' ' : *c;
    }
    (void)snprintf(name, sizeof name, "%s %.4s: %.20s", strcmp(kind, "ranked") == 0 ? "kit" : kind,
                   report_records_text(r, row, report_records_find(r, "rank")),
                   report_records_text(r, row, report_records_find(r, "blower")));
    name_row(p, row, name);
}

static void objective_panel(struct plot *p, size_t rows)
{
    const struct report_records *r = &p->results->sure;
    size_t low = percentile(r, "objective_p5_"), middle = percentile(r, "objective_p50_");
    size_t high = percentile(r, "objective_p95_");
    rows_panel(p, 0.26, 0.68, rows, "what the ranking is by: 5 %, half and 95 % of kits built so");
    for (size_t i = 0; i < rows; i++) {
        name_kit(p, i);
        plot_number(p, report_records_number(r, i, middle));
        plot_number(p, (double)i);
        plot_number(p, report_records_number(r, i, low));
        plot_number(p, report_records_number(r, i, high));
        plot_line_end(p);
    }
    (void)plot_block_end(p);
    plot_series(p, "data index 0 using 1:2:3:4",
                "with xerrorbars lc rgb '#0072b2' lw 2 pt 7 ps 0.9", NULL);
    plot_series_end(p);
}

static void holds_panel(struct plot *p, size_t rows)
{
    const struct report_records *r = &p->results->sure;
    size_t all = report_records_column(r, "all_hold", REPORT_PERCENT, p->results->units);
    rows_panel(p, 0.73, 0.96, rows, "all limits hold, %");
    plot_say(p, "unset ytics\nset xrange [0:100]\n");
    for (size_t i = 0; i < rows; i++) {
        double value = report_records_number(r, i, all), y = (double)i;
        const double box[] = {0.5 * value, y, 0.0, value, y - 0.3, y + 0.3};
        for (size_t k = 0; k < 6; k++) {
            plot_number(p, isnan(value) ? NAN : box[k]);
        }
        plot_line_end(p);
    }
    (void)plot_block_end(p);
    plot_series(p, "data index 1",
                "with boxxyerror fillcolor rgb '#009e73' linecolor rgb '#009e73' fillstyle solid "
                "0.5 border",
                NULL);
    plot_series_end(p);
}

bool plot_sure(struct plot *p)
{
    size_t rows = p->results->sure.rows < KITS ? p->results->sure.rows : KITS;
    if (rows == 0) {
        return false;
    }
    plot_say(p, "set multiplot\nset offsets graph 0.05, graph 0.05, 0, 0\n");
    objective_panel(p, rows);
    plot_say(p, "set offsets 0, 0, 0, 0\n");
    holds_panel(p, rows);
    plot_say(p, "unset multiplot\n");
    return true;
}

/* ---- what matters ---- */

static bool is_of_first_kit(const struct report_records *r, size_t row)
{
    return strcmp(report_records_text(r, row, report_records_find(r, "kind")), "ranked") == 0 &&
           report_records_number(r, row, report_records_find(r, "rank")) == 1.0 &&
           strcmp(report_records_text(r, row, report_records_find(r, "quantity")), "objective") ==
               0;
}

/* Its name is a key of the study: words with lines between them. */
static void name_tolerance(struct plot *p, size_t place, const char *key)
{
    char words[PLOT_QUOTE];
    (void)snprintf(words, sizeof words, "%.100s", key);
    for (char *c = words; *c; c++) {
        *c = *c == '_' ? ' ' : *c;
    }
    name_row(p, place, words);
}

bool plot_matters(struct plot *p)
{
    const struct report_records *r = &p->results->sensitivities;
    size_t share = report_records_column(r, "share_of_variance", REPORT_PERCENT, p->results->units);
    size_t place[TOLERANCES], count = 0;
    for (size_t i = 0; i < r->rows && count < TOLERANCES; i++) {
        if (is_of_first_kit(r, i)) {
            place[count++] = i;
        }
    }
    if (count == 0) {
        return false;
    }
    rows_panel(p, 0.34, 0.95, count, "share of the variance of what the ranking is by, %");
    for (size_t i = 0; i < count; i++) {
        double value = report_records_number(r, place[i], share), y = (double)i;
        const double box[] = {0.5 * value,      y,        fmin(value, 0.0),
                              fmax(value, 0.0), y - 0.34, y + 0.34};
        name_tolerance(p, i, report_records_text(r, place[i], report_records_find(r, "tolerance")));
        for (size_t k = 0; k < 6; k++) {
            plot_number(p, isnan(value) ? NAN : box[k]);
        }
        plot_line_end(p);
    }
    (void)plot_block_end(p);
    plot_series(p, "data index 0",
                "with boxxyerror fillcolor rgb '#0072b2' linecolor rgb '#0072b2' fillstyle solid "
                "0.6 border",
                NULL);
    plot_series_end(p);
    return true;
}
