/* Trade-offs: what can't all be had, one panel for each front of tradeoffs.csv. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"

#define FRONTS 3

/* The column of a thing that is traded off, and what it is called on an axis. */
struct thing {
    size_t column;
    const char *words, *unit;
};

static struct thing thing_of(const struct report_results *results, const char *name)
{
    static const struct {
        const char *name, *stem, *words;
        enum report_measure measure;
    } known[] = {
        {"power", "traded_power", "peak power", REPORT_POWER},
        {"torque", "traded_torque", "torque", REPORT_TORQUE},
        {"charge_temperature", "traded_charge_temperature", "hottest charge", REPORT_TEMPERATURE},
        {"price", "price", "price", REPORT_MONEY},
        {"mass", "mass", "mass", REPORT_MASS}};
    const struct report_records *r = &results->tradeoffs;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(name, known[i].name) == 0) {
            return (struct thing){
                report_records_column(r, known[i].stem, known[i].measure, results->units),
                known[i].words, report_results_unit(results, known[i].measure)};
        }
    }
    return (struct thing){report_records_begins(r, "objective_"), "ranking value",
                          report_results_unit(results, report_results_ranked_measure(results))};
}

struct front {
    size_t first, count; /* rows */
    struct thing best, against;
    bool has_third;
};

static size_t list_fronts(const struct report_results *results, struct front list[FRONTS])
{
    const struct report_records *r = &results->tradeoffs;
    size_t number = report_records_find(r, "front"), count = 0;
    for (size_t i = 0; i < r->rows; i++) {
        bool is_new = count == 0 || report_records_number(r, i, number) !=
                                        report_records_number(r, list[count - 1].first, number);
        if (is_new && count == FRONTS) {
            break;
        }
        if (is_new) {
            list[count++] =
                (struct front){.first = i,
                               .best = thing_of(results, report_cell(r, i, "best")),
                               .against = thing_of(results, report_cell(r, i, "against")),
                               .has_third = report_cell(r, i, "third")[0] != '\0'};
        }
        list[count - 1].count++;
    }
    return count;
}

static size_t front_block(struct plot *p, const struct front *f)
{
    const struct report_records *r = &p->results->tradeoffs;
    for (size_t i = f->first; i < f->first + f->count; i++) {
        plot_number(p, report_records_number(r, i, f->against.column));
        plot_number(p, report_records_number(r, i, f->best.column));
        plot_line_end(p);
    }
    return plot_block_end(p);
}

static void front_panel(struct plot *p, const struct front *f, size_t place, size_t fronts)
{
    const double gap = 92.0 / p->height, bottom = 52.0 / p->height, top = 1.0 - 40.0 / p->height;
    double height = (top - bottom - gap * (double)(fronts - 1)) / (double)fronts;
    double upper = top - (double)place * (height + gap);
    plot_panel(p, &(struct plot_panel){.left = 0.1,
                                       .right = 0.97,
                                       .bottom = upper - height,
                                       .top = upper,
                                       .y = f->best.words,
                                       .y_unit = f->best.unit,
                                       .x = f->against.words,
                                       .x_unit = f->against.unit,
                                       .key_rows = 1});
    /* With a third thing the points lie on a surface, and a line through them would mean nothing.
     */
    plot_block(p, front_block(p, f), " using 1:2",
               f->has_third ? "with points ls 1 ps 0.8" : "with linespoints ls 1 ps 0.8",
               "kits that no other beats in every respect");
    plot_series_end(p);
}

bool plot_fronts(struct plot *p)
{
    struct front front[FRONTS];
    size_t fronts = list_fronts(p->results, front);
    if (fronts == 0) {
        return false;
    }
    plot_say(p, "set multiplot\nset offsets graph 0.04, graph 0.04, graph 0.06, graph 0.06\n");
    for (size_t i = 0; i < fronts; i++) {
        front_panel(p, &front[i], i, fronts);
    }
    plot_say(p, "unset multiplot\n");
    return true;
}
