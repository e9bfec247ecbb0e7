/* Plots of bars: room to the limits, reasons for rejection. Bars lie, so that their names are read
 * as they stand. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"
#include "report/write/words.h"

#define KITS 3
#define LIMITS_MAX 64
#define REASONS_SHOWN 5 /* besides those that hold every limit */

/* ---- room to limits ---- */

/* Limits of a kit, the nearest first. */
static size_t list_margins(const struct report_records *r, size_t rank, size_t share,
                           struct report_row_value list[LIMITS_MAX])
{
    size_t by_rank = report_records_find(r, "rank"), count = 0;
    for (size_t i = 0; i < r->rows && count < LIMITS_MAX; i++) {
        if (report_records_number(r, i, by_rank) == (double)rank) {
            list[count++] = (struct report_row_value){i, report_records_number(r, i, share)};
        }
    }
    report_least_first(list, count);
    return count;
}

static void draw_margins(struct plot *p, const struct report_row_value *list, size_t limits,
                         const size_t *rank, size_t kits)
{
    static const char *const colour[KITS] = {"#009e73", "#cc79a7", "#e69f00"};
    static const char *const fill[KITS] = {"solid 0.9", "solid 0.4", "empty"};
    const struct report_records *r = &p->results->limits;
    size_t share = report_records_column(r, "share", REPORT_PERCENT, p->results->units);
    size_t limit = report_records_find(r, "limit");
    const double thick = 0.8 / (double)kits;
    for (size_t k = 0; k < kits; k++) {
        char how[128], role[24];
        for (size_t i = 0; i < limits; i++) {
            size_t row = report_results_limit(p->results, rank[k],
                                              report_records_text(r, list[i].row, limit));
            plot_box(p, 0.0, report_records_number(r, row, share),
                     (double)i + thick * ((double)k - 0.5 * (double)(kits - 1)), 0.42 * thick);
        }
        (void)snprintf(how, sizeof how,
                       "with boxxyerror fillcolor rgb '%s' linecolor rgb '%s' lw 0.6 fillstyle "
                       "%s border",
                       colour[k], colour[k], fill[k]);
        plot_block(p, plot_block_end(p), "", how, plot_kit_role(p->results, rank[k], role));
    }
}

bool plot_room(struct plot *p)
{
    const struct report_records *r = &p->results->limits;
    size_t title = report_records_find(r, "title");
    size_t share = report_records_column(r, "share", REPORT_PERCENT, p->results->units);
    struct report_row_value list[LIMITS_MAX];
    size_t rank[PLOT_KITS], kits = plot_pick_kits(p->results, rank);
    size_t limits = kits == 0 ? 0 : list_margins(r, rank[0], share, list);
    size_t most = report_results_to_sell(p->results) == REPORT_NO_COLUMN ? KITS : 2;
    kits = kits < most ? kits : most;
    if (limits == 0) {
        return false;
    }
    plot_say(p, "set yrange [%zu.6:-0.6]\nset format y '%%s'\nset xrange [0:*]\n", limits - 1);
    plot_panel(p, &(struct plot_panel){.left = 0.34,
                                       .right = 0.92,
                                       .bottom = 52.0 / p->height,
                                       .top = 1.0 - 34.0 / p->height,
                                       .key_rows = 1,
                                       .x = "room left, in per cent of the limit's span"});
    plot_say(p, "set grid noytics\nset ytics scale 0 ()\nset key width 1\n");
    plot_say(p, "set xrange [0:100]\n"); /* what is far away is not looked at closely */
    for (size_t i = 0; i < limits; i++) {
        plot_name_bar(p, i, report_records_text(r, list[i].row, title));
        if (list[i].value > 100.0) {
            plot_say(p,
                     "set label 'over 100' at graph 1.01, first %zu left font ',11' textcolor "
                     "'#222222'\n",
                     i);
        }
    }
    draw_margins(p, list, limits, rank, kits);
    plot_series_end(p);
    return true;
}

/* ---- rejected ---- */

/* A piece of the bar from one share to another, in per cent. */
static void piece(struct plot *p, size_t place, const char *words, double from, double to)
{
    static const char *const colour[] = {"#009e73", "#0072b2", "#d55e00", "#e69f00",
                                         "#56b4e9", "#cc79a7", "#999999"};
    char how[160], name[PLOT_QUOTE];
    plot_box(p, from, to, 0.0, 0.4);
    (void)snprintf(how, sizeof how,
                   "with boxxyerror fillcolor rgb '%s' linecolor rgb '#ffffff' lw 0.8 fillstyle "
                   "solid 0.9 border",
                   colour[place < 7 ? place : 6]);
    (void)snprintf(name, sizeof name, "%.40s %.*f %%", words, to - from < 1.0 ? 2 : 1, to - from);
    plot_block(p, plot_block_end(p), "", how, name);
}

/* Those that hold every limit first, then the commonest reasons, then the others as one. */
bool plot_rejected(struct plot *p)
{
    struct report_row_value list[REPORT_REASONS];
    size_t count = report_results_reasons(p->results, list), place = 0;
    double total = 0.0, from = 0.0;
    char words[PLOT_QUOTE];
    if (count < 2) {
        return false; /* all for one reason needs no picture */
    }
    for (size_t i = 0; i < count; i++) {
        total += list[i].value;
    }
    /* The bar lies at the foot of a high panel: a key has as many rows as fit beside its panel. */
    plot_say(p, "set xrange [0:100]\nset yrange [-0.5:2.8]\nset grid noxtics noytics\n");
    plot_panel(p, &(struct plot_panel){.left = 0.04,
                                       .right = 0.97,
                                       .bottom = 0.26,
                                       .top = 0.98,
                                       .key_rows = 3,
                                       .x = "combinations, %"});
    plot_say(p, "unset ytics\nset border 1\nset key at screen 0.04, screen 0.98 left top vertical "
                "maxrows 4 width 0\n");
    for (size_t pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < count && place < REASONS_SHOWN; i++) {
            const char *reason = report_cell(&p->results->rejected, list[i].row, "reason");
            bool feasible = strcmp(reason, "feasible") == 0;
            if (feasible != (pass == 0)) {
                continue;
            }
            double to = from + 100.0 * list[i].value / total;
            (void)plot_words(words, feasible ? "hold every limit" : report_limit_title(reason));
            piece(p, feasible ? 0 : ++place, words, from, to);
            from = to;
        }
    }
    if (from < 100.0 - 1e-9) {
        piece(p, 6, "other reasons", from, 100.0);
    }
    plot_series_end(p);
    return true;
}
