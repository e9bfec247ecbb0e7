/* How sure the best kits are: what the objective is between, whether every limit holds, and which
 * of the tolerances matters. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"
#include "sheave/corrections.h"

#define KITS 12
#define TOLERANCES 16

static void rows_panel(struct plot *p, double left, double right, size_t count, const char *x)
{
    plot_say(p, "set yrange [%zu.6:-0.6]\nset format y '%%s'\nset grid noytics\n", count - 1);
    plot_panel(p, &(struct plot_panel){.left = left,
                                       .right = right,
                                       .bottom = 52.0 / p->height,
                                       .top = 1.0 - 40.0 / p->height,
                                       .x = x,
                                       .key_rows = 1});
    plot_say(p, "set ytics scale 0 ()\n");
}

/* The kit to sell, then the others as they stand in the file. */
static size_t order_kits(const struct report_results *results, size_t order[KITS])
{
    size_t sell = report_results_sure_to_sell(results), count = 0;
    if (sell != REPORT_NO_COLUMN) {
        order[count++] = sell;
    }
    for (size_t i = 0; i < results->sure.rows && count < KITS; i++) {
        if (i != sell) {
            order[count++] = i;
        }
    }
    return count;
}

static void name_kit(struct plot *p, size_t place, size_t row, bool sells)
{
    static const char *const kinds[][2] = {
        {"ranked", "kit"}, {"optimum", "ideal"}, {"sought", "surer"}};
    const struct report_records *r = &p->results->sure;
    const char *kind = report_cell(r, row, "kind");
    const char *rank = report_cell(r, row, "rank");
    char name[PLOT_QUOTE];
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        kind = strcmp(kind, kinds[i][0]) == 0 ? kinds[i][1] : kind;
    }
    (void)snprintf(name, sizeof name, "%.12s%s%.4s: %.18s", sells ? "kit to sell" : kind,
                   sells ? "" : " ", sells ? "" : rank, report_cell(r, row, "blower"));
    plot_name_bar(p, place, name);
}

static void objective_panel(struct plot *p, const size_t *order, size_t rows)
{
    const struct report_records *r = &p->results->sure;
    size_t low = report_records_begins(r, "objective_p5_"),
           middle = report_records_begins(r, "objective_p50_");
    size_t high = report_records_begins(r, "objective_p95_");
    size_t sell = report_results_sure_to_sell(p->results);
    char x[64];
    const char *unit = report_results_unit(p->results, report_results_ranked_measure(p->results));
    (void)snprintf(x, sizeof x, "ranking value%s%.20s: 5 %%, half and 95 %% of kits",
                   unit[0] ? ", " : "", unit);
    rows_panel(p, 0.26, 0.68, rows, x);
    for (size_t i = 0; i < rows; i++) {
        name_kit(p, i, order[i], order[i] == sell);
        plot_number(p, report_records_number(r, order[i], middle));
        plot_number(p, (double)i);
        plot_number(p, report_records_number(r, order[i], low));
        plot_number(p, report_records_number(r, order[i], high));
        plot_line_end(p);
    }
    (void)plot_block_end(p);
    plot_series(p, "data index 0 using 1:2:3:4",
                "with xerrorbars lc rgb '#0072b2' lw 2 pt 7 ps 0.9", NULL);
    plot_series_end(p);
}

/* The probability that the study asks for, as a line. */
static void mark_wanted(struct plot *p)
{
    double wanted = report_results_number(p->results, "kits.wanted_pct");
    if (isfinite(wanted)) {
        plot_say(p,
                 "set arrow 1 from first %.7g, graph 0 to first %.7g, graph 1 nohead front lw 1.5 "
                 "lc rgb '#a63f00'\nset label 2 'wanted %.4g %%' at first %.7g, graph 1 right "
                 "offset 0, 0.6 textcolor '#a63f00'\n",
                 wanted, wanted, wanted, wanted);
    }
}

static void holds_panel(struct plot *p, const size_t *order, size_t rows)
{
    const struct report_records *r = &p->results->sure;
    size_t all = report_records_column(r, "all_hold", REPORT_PERCENT, p->results->units);
    rows_panel(p, 0.73, 0.96, rows, "all limits hold, %");
    plot_say(p, "unset ytics\nset xrange [0:100]\n");
    mark_wanted(p);
    for (size_t i = 0; i < rows; i++) {
        plot_box(p, 0.0, report_records_number(r, order[i], all), (double)i, 0.3);
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
    size_t order[KITS], rows = order_kits(p->results, order);
    if (rows == 0) {
        return false;
    }
    plot_say(p, "set multiplot\nset offsets graph 0.05, graph 0.05, 0, 0\n");
    objective_panel(p, order, rows);
    plot_say(p, "set offsets 0, 0, 0, 0\n");
    holds_panel(p, order, rows);
    plot_say(p, "unset multiplot\n");
    return true;
}

/* ---- what matters ---- */

/* What each tolerance makes of the scatter of the kit to sell, or of the first one without it. */
static size_t list_shares(const struct report_results *results,
                          struct report_row_value list[TOLERANCES])
{
    const struct report_records *r = &results->sensitivities, *sure = &results->sure;
    size_t share = report_records_column(r, "share_of_variance", REPORT_PERCENT, results->units);
    size_t sell = report_results_sure_to_sell(results), count = 0;
    size_t kind = report_records_find(r, "kind"), rank = report_records_find(r, "rank");
    size_t quantity = report_records_find(r, "quantity");
    const char *of = sell == REPORT_NO_COLUMN ? "ranked" : report_cell(sure, sell, "kind");
    const char *place = sell == REPORT_NO_COLUMN ? "1" : report_cell(sure, sell, "rank");
    for (size_t i = 0; i < r->rows && count < TOLERANCES; i++) {
        if (strcmp(report_records_text(r, i, kind), of) == 0 &&
            strcmp(report_records_text(r, i, rank), place) == 0 &&
            strcmp(report_records_text(r, i, quantity), "objective") == 0) {
            list[count++] = (struct report_row_value){i, report_records_number(r, i, share)};
        }
    }
    report_most_first(list, count);
    return count;
}

/* Its name is a key of the study: words with lines between them. */
static void name_tolerance(struct plot *p, size_t place, const char *key)
{
    char words[PLOT_QUOTE];
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        key = strcmp(info->name, key) == 0 ? info->title : key;
    }
    plot_name_bar(p, place, plot_words(words, key));
}

bool plot_matters(struct plot *p)
{
    const struct report_records *r = &p->results->sensitivities;
    struct report_row_value list[TOLERANCES];
    size_t count = list_shares(p->results, list);
    if (count == 0) {
        return false;
    }
    rows_panel(p, 0.34, 0.95, count, "share of the variance of the ranking value, %");
    for (size_t i = 0; i < count; i++) {
        name_tolerance(p, i, report_cell(r, list[i].row, "tolerance"));
        plot_bar(p, list[i].value, (double)i, 0.34);
    }
    (void)plot_block_end(p);
    plot_series(p, "data index 0",
                "with boxxyerror fillcolor rgb '#0072b2' linecolor rgb '#0072b2' fillstyle solid "
                "0.6 border",
                NULL);
    plot_series_end(p);
    return true;
}

/* ---- what to measure ---- */

/* The gains that are worth most; those of next to nothing are left out. */
static size_t list_gains(const struct report_results *results,
                         struct report_row_value list[TOLERANCES])
{
    const struct report_records *r = &results->worth_knowing;
    struct report_row_value all[2 * TOLERANCES];
    size_t gain = report_records_begins(r, "gain_"), count = 0, left = 0;
    for (size_t i = 0; i < r->rows && count < 2 * TOLERANCES; i++) {
        all[count++] = (struct report_row_value){i, report_records_number(r, i, gain)};
    }
    report_most_first(all, count);
    for (size_t i = 0; i < count && left < TOLERANCES; i++) {
        if (fabs(all[i].value) > 0.01 * fabs(all[0].value)) {
            list[left++] = all[i];
        }
    }
    return left;
}

static const char *measurement_words(const char *key)
{
    static const char *const words[][2] = {{"stock_dyno", "dyno run, stock engine"},
                                           {"blower_flow", "flow test of the blower"},
                                           {"cooler_temperatures", "temperatures at the cooler"},
                                           {"knock_map", "knock-limited ignition"},
                                           {"inlet_gauge", "gauge at the blower's inlet"},
                                           {"exhaust_gauge", "gauge in the exhaust"},
                                           {"pulley_caliper", "caliper over the pulleys"},
                                           {"injector_bench", "flow bench for injectors"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        key = strcmp(key, words[i][0]) == 0 ? words[i][1] : key;
    }
    return key;
}

/* The bars of one kind. */
static void gain_bars(struct plot *p, const struct report_row_value *list, size_t count,
                      const char *wanted)
{
    const struct report_records *r = &p->results->worth_knowing;
    size_t kind = report_records_find(r, "kind");
    for (size_t i = 0; i < count; i++) {
        if (strcmp(report_records_text(r, list[i].row, kind), wanted) == 0) {
            plot_bar(p, list[i].value, (double)i, 0.34);
        }
    }
    (void)plot_block_end(p);
}

bool plot_worth_knowing(struct plot *p)
{
    const struct report_records *r = &p->results->worth_knowing;
    struct report_row_value list[TOLERANCES];
    char x[96];
    const char *unit = report_results_unit(p->results, report_results_ranked_measure(p->results));
    size_t count = list_gains(p->results, list), name = report_records_find(r, "name");
    if (count == 0) {
        return false;
    }
    (void)snprintf(x, sizeof x, "gain in ranking value at the same certainty%s%.20s",
                   unit[0] ? ", " : "", unit);
    rows_panel(p, 0.34, 0.95, count, x);
    for (size_t i = 0; i < count; i++) {
        name_tolerance(p, i, measurement_words(report_records_text(r, list[i].row, name)));
    }
    plot_say(p, "set key width 1\n");
    gain_bars(p, list, count, "measurement");
    gain_bars(p, list, count, "tolerance");
    plot_series(p, "data index 0",
                "with boxxyerror fillcolor rgb '#0072b2' linecolor rgb '#0072b2' fillstyle solid "
                "0.6 border",
                "measurement");
    plot_series(p, "data index 1",
                "with boxxyerror fillcolor rgb '#0072b2' linecolor rgb '#0072b2' fillstyle solid "
                "0.15 border",
                "known exactly");
    plot_series_end(p);
    return true;
}
