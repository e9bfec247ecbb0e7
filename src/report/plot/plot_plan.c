/* The plan of a range: what each further part in stock buys. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"

/* The value is in one of three columns, by what the range counts. */
static size_t value_column(const struct report_results *results, const char **words,
                           const char **unit)
{
    static const struct {
        const char *stem, *words;
        enum report_measure measure;
    } known[] = {
        {"value_power", "power of all kits sold in a year", REPORT_POWER},
        {"value_share", "kits sold in a year, each as its share of the best power", REPORT_NUMBER},
        {"value_profit", "profit in a year", REPORT_MONEY}};
    const struct report_records *r = &results->plan;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        size_t column = report_records_column(r, known[i].stem, known[i].measure, results->units);
        if (plot_has(r, 0, column)) {
            *words = known[i].words;
            *unit = report_results_unit(results, known[i].measure);
            return column;
        }
    }
    return REPORT_NO_COLUMN;
}

/* The points that say yes in a column, or all of them. */
static void draw_points(struct plot *p, size_t value, const char *says, const char *with,
                        const char *title)
{
    const struct report_records *r = &p->results->plan;
    size_t parts = report_records_find(r, "parts_allowed");
    size_t asked = says ? report_records_find(r, says) : 0;
    for (size_t i = 0; i < r->rows; i++) {
        if (!says || strcmp(report_records_text(r, i, asked), "yes") == 0) {
            plot_number(p, report_records_number(r, i, parts));
            plot_number(p, report_records_number(r, i, value));
            plot_line_end(p);
        }
    }
    bool any = p->lines > 0;
    size_t block = plot_block_end(p);
    if (any) {
        plot_block(p, block, " using 1:2", with, title);
    }
}

bool plot_plan(struct plot *p)
{
    const char *words, *unit;
    size_t value = value_column(p->results, &words, &unit);
    if (value == REPORT_NO_COLUMN) {
        return false;
    }
    plot_say(p, "set offsets graph 0.03, graph 0.03, graph 0.06, graph 0.06\n");
    plot_panel(p, &(struct plot_panel){.left = 0.12,
                                       .right = 0.97,
                                       .bottom = 52.0 / p->height,
                                       .top = 1.0 - 60.0 / p->height,
                                       .y = words,
                                       .y_unit = unit,
                                       .x = "different parts in stock",
                                       .key_rows = 1});
    plot_say(p, "set key at graph 0.98, graph 0.06 right bottom vertical maxrows 3\n");
    draw_points(p, value, NULL, "with linespoints ls 1", "best plan with so many parts");
    draw_points(p, value, "knee", "with points pt 6 ps 1.8 lw 2 lc rgb '#d55e00'", "knee");
    draw_points(p, value, "plan", "with points pt 13 ps 1.2 lc rgb '#000000'", "plan taken");
    plot_series_end(p);
    return true;
}
