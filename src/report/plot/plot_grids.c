/* Plots of what was worked out on a grid: the blower's islands, the map of the sweep. Cells of a
 * row that are alike are drawn as one box: smaller files, and patterns that print in grey. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"
#include "report/write/words.h"

/* A grid in row-major order: x runs fastest. */
struct grid {
    const struct report_records *records;
    size_t x, y;          /* columns */
    size_t width, height; /* cells */
    size_t from, to;      /* columns that are shown, both among them */
    double dx, dy;
};

static bool grid_init(struct grid *g, const struct report_records *records, size_t x, size_t y)
{
    *g = (struct grid){.records = records, .x = x, .y = y};
    double first = report_records_number(records, 0, y);
    while (g->width < records->rows && report_records_number(records, g->width, y) == first) {
        g->width++;
    }
    if (g->width < 2 || records->rows % g->width != 0) {
        return false;
    }
    g->height = records->rows / g->width;
    g->to = g->width - 1;
    g->dx = report_records_number(records, 1, x) - report_records_number(records, 0, x);
    g->dy = g->height < 2 ? 0.0 : report_records_number(records, g->width, y) - first;
    return g->dx > 0.0 && g->dy >= 0.0;
}

static double at_x(const struct grid *g, size_t row)
{
    return report_records_number(g->records, row, g->x);
}

static double at_y(const struct grid *g, size_t row)
{
    return report_records_number(g->records, row, g->y);
}

/* Boxes of all runs of cells for which `belongs` says so, as one block; false when there are none.
 */
static bool grid_boxes(struct plot *p, const struct grid *g,
                       bool (*belongs)(const void *data, size_t row), const void *data)
{
    bool any = false;
    for (size_t row = 0; row < g->records->rows; row++) {
        if (!belongs(data, row)) {
            continue;
        }
        size_t last = row;
        while ((last + 1) % g->width != 0 && belongs(data, last + 1)) {
            last++;
        }
        double left = at_x(g, row) - 0.5 * g->dx, right = at_x(g, last) + 0.5 * g->dx;
        plot_box(p, left, right, at_y(g, row), g->dy > 0.0 ? 0.5 * g->dy : 0.5);
        row = last;
        any = true;
    }
    if (any) {
        (void)plot_block_end(p);
    }
    return any;
}

/* The values of the grid with a blank line between rows, as contours need it. */
static void grid_values(struct plot *p, const struct grid *g, size_t value,
                        bool (*belongs)(const void *data, size_t row), const void *data)
{
    for (size_t row = 0; row < g->records->rows; row++) {
        plot_number(p, at_x(g, row));
        plot_number(p, at_y(g, row));
        plot_number(p, belongs(data, row) ? report_records_number(g->records, row, value) : NAN);
        plot_line_end(p);
        if ((row + 1) % g->width == 0 && row + 1 < g->records->rows) {
            plot_line_end(p);
        }
    }
    (void)plot_block_end(p);
}

/* Contours of a block into the data block $lines. */
static void find_contours(struct plot *p, size_t block, const char *levels)
{
    plot_say(p,
             "set contour base\nunset surface\nset cntrparam levels %s\nset cntrparam cubicspline\n"
             "set table $lines\n"
             "splot data index %zu using 1:2:3\nunset table\nunset contour\n",
             levels, block);
}

/* ---- islands ---- */

#define BANDS 9
#define BAND_FIRST 0.30
#define BAND_STEP 0.05

struct band {
    const struct report_records *records;
    size_t column;
    double from, to;
};

static bool in_band(const void *data, size_t row)
{
    const struct band *b = data;
    double value = report_records_number(b->records, row, b->column);
    return value >= b->from && value < b->to; /* false for NAN */
}

static bool any_in_band(const struct band *band)
{
    for (size_t row = 0; row < band->records->rows; row++) {
        if (in_band(band, row)) {
            return true;
        }
    }
    return false;
}

struct corner {
    double x, y, value;
};

/* The part of a triangle where the value, straight between its corners, is at least a level: each
 * corner above it, and where a side crosses it. */
static void clip_triangle(struct plot *p, const struct corner *const corner[3], double level)
{
    bool any = false;
    for (size_t i = 0; i < 3; i++) {
        const struct corner *a = corner[i], *b = corner[(i + 1) % 3];
        if (a->value >= level) {
            plot_number(p, a->x);
            plot_number(p, a->y);
            plot_line_end(p);
            any = true;
        }
        if ((a->value >= level) != (b->value >= level)) {
            double share = (level - a->value) / (b->value - a->value);
            plot_number(p, a->x + share * (b->x - a->x));
            plot_number(p, a->y + share * (b->y - a->y));
            plot_line_end(p);
            any = true;
        }
    }
    if (any) { /* a blank line ends it */
        plot_line_end(p);
    }
}

static struct corner corner_at(const struct grid *g, size_t column, size_t row)
{
    return (struct corner){at_x(g, row), at_y(g, row),
                           report_records_number(g->records, row, column)};
}

/* The four corners of the cell above and to the right of a row of the grid. */
static void corners_of(const struct grid *g, size_t column, size_t row, struct corner c[4])
{
    c[0] = corner_at(g, column, row);
    c[1] = corner_at(g, column, row + 1);
    c[2] = corner_at(g, column, row + g->width + 1);
    c[3] = corner_at(g, column, row + g->width);
}

static bool is_above(const struct corner c[4], double level)
{
    return c[0].value >= level && c[1].value >= level && c[2].value >= level &&
           c[3].value >= level; /* false for NAN */
}

/* A cell that is all above, with those to its right that are: one rectangle. Returns the last. */
static size_t join_cells(struct plot *p, const struct grid *g, size_t column, size_t row,
                         double level)
{
    struct corner first[4], last[4], next[4];
    corners_of(g, column, row, first);
    memcpy(last, first, sizeof last);
    while ((row + 2) % g->width != 0) {
        corners_of(g, column, row + 1, next);
        if (!is_above(next, level)) {
            break;
        }
        memcpy(last, next, sizeof last);
        row++;
    }
    const struct corner *const edge[] = {&first[0], &last[1], &last[2], &first[3]};
    for (size_t i = 0; i < 4; i++) {
        plot_number(p, edge[i]->x);
        plot_number(p, edge[i]->y);
        plot_line_end(p);
    }
    plot_line_end(p);
    return row;
}

/* As one block: where the value is at least a level; cells that it crosses by two triangles.
 * Nothing where a corner is not known. */
static size_t area_above(struct plot *p, const struct grid *g, size_t column, double level)
{
    for (size_t row = 0; row + g->width < g->records->rows; row++) {
        struct corner c[4];
        if ((row + 1) % g->width == 0) {
            continue;
        }
        corners_of(g, column, row, c);
        if (is_above(c, level)) {
            row = join_cells(p, g, column, row, level);
        } else if (!isnan(c[0].value + c[1].value + c[2].value + c[3].value)) {
            clip_triangle(p, (const struct corner *const[]){&c[0], &c[1], &c[2]}, level);
            clip_triangle(p, (const struct corner *const[]){&c[0], &c[2], &c[3]}, level);
        }
    }
    return plot_block_end(p);
}

/* The darker ones lie on the lighter. A thin edge of the same shade hides the seams of triangles.
 */
static void draw_bands(struct plot *p, const struct grid *g, size_t efficiency)
{
    /* Light to dark without a hue, which belongs to the sites. */
    static const char *const shade[BANDS] = {"#f6f6f4", "#ecebe8", "#e2e1dd", "#d8d6d1", "#cdcbc5",
                                             "#c2bfb9", "#b6b3ac", "#aaa79f", "#9d9a92"};
    for (size_t i = 0; i < BANDS; i++) {
        double level = BAND_FIRST + BAND_STEP * (double)i;
        const struct band above = {g->records, efficiency, level, 2.0};
        char how[128];
        if (!any_in_band(&above)) {
            break;
        }
        (void)snprintf(how, sizeof how,
                       "with filledcurves closed fillcolor rgb '%s' linecolor rgb '%s' lw 0.5 "
                       "fillstyle solid 1 border",
                       shade[i], shade[i]);
        plot_block(p, area_above(p, g, efficiency, level), " using 1:2", how, NULL);
    }
}

/* The operating lines are drawn last, over the islands. */
static void draw_lines(struct plot *p)
{
    const struct report_results *results = p->results;
    const struct report_records *r = &results->curves;
    const char *site[PLOT_SITES];
    size_t sites = report_results_sites(results, site, PLOT_SITES);
    const size_t columns[] = {
        report_records_column(r, "rotor_speed", REPORT_ROTATION, results->units),
        report_records_column(r, "pressure_ratio", REPORT_NUMBER, results->units)};
    for (size_t i = 0; i < sites; i++) {
        char how[64], room[PLOT_QUOTE];
        size_t block = plot_curve(p, r, report_results_lead(results), site[i], columns, 2);
        (void)snprintf(how, sizeof how, "with linespoints ls %zu lw 2.2", i + 1);
        plot_block(p, block, " using 1:2", how, plot_site(room, site[i], sites));
    }
}

/* Every other line is named, once, where lines are not close to each other. */
static void name_lines(struct plot *p, double most)
{
    char source[160];
    (void)snprintf(source, sizeof source,
                   "$lines using 1:($3*10 - floor($3*10 + 1e-6) < 1e-3 && $2 > %.4g ? $2 : "
                   "NaN):(sprintf('%%.0f %%%%', 100*$3)) every 1000::14",
                   1.0 + 0.18 * (most - 1.0));
    plot_series(p, source, "with labels textcolor '#44423c' font ',11'", NULL);
}

bool plot_islands(struct plot *p)
{
    const struct report_results *results = p->results;
    const struct report_records *r = &results->islands;
    size_t efficiency = report_records_find(r, "blower_isentropic_efficiency");
    struct grid g;
    if (!grid_init(&g, r, report_records_column(r, "rotor_speed", REPORT_ROTATION, results->units),
                   report_records_find(r, "pressure_ratio"))) {
        return false;
    }
    const struct band all = {r, efficiency, 0.0, 2.0};
    const struct band islands = {r, efficiency, BAND_FIRST, 2.0};
    if (!any_in_band(&islands)) { /* a kit that makes next to no pressure has no islands */
        return false;
    }
    size_t values = p->blocks;
    grid_values(p, &g, efficiency, in_band, &all);
    find_contours(p, values, "incremental 0.3,0.05,0.9");
    plot_panel(p, &(struct plot_panel){.left = 0.09,
                                       .right = 0.97,
                                       .bottom = 52.0 / p->height,
                                       .top = 0.9,
                                       .y = "pressure ratio of the blower",
                                       .x = "rotor speed",
                                       .x_unit = "rpm"});
    plot_say(p, "set xrange [0:%.7g]\nset yrange [1:%.7g]\n", at_x(&g, g.width - 1),
             at_y(&g, r->rows - 1));
    double bound = report_results_bound(results, report_results_lead(results), "rotor_speed");
    if (isfinite(bound)) {
        plot_say(p,
                 "set arrow 1 from first %.7g, graph 0 to first %.7g, graph 1 nohead ls 9 front\n"
                 "set label 2 'limit' at first %.7g, graph 0.97 right offset -0.6, 0 textcolor "
                 "'#444444' font ',11' front\n",
                 bound, bound, bound);
    }
    draw_bands(p, &g, efficiency);
    plot_series(p, "$lines using 1:2", "with lines lc rgb '#77746c' lw 0.7", NULL);
    name_lines(p, at_y(&g, r->rows - 1));
    plot_limit(p, "", report_results_bound(results, report_results_lead(results), "pressure_ratio"),
               "");
    draw_lines(p);
    plot_series_end(p);
    return true;
}

/* ---- map ---- */

#define REASONS 8 /* shown apart; further ones are taken together */

struct rejected_cells {
    const struct report_records *records;
    size_t column;
    const char *name;
};

static bool has_reason(const void *data, size_t row)
{
    const struct rejected_cells *r = data;
    return strcmp(report_records_text(r->records, row, r->column), r->name) == 0;
}

/* Reasons met, in the order met, without "feasible". */
static size_t list_reasons(const struct rejected_cells *any, const char *name[REASONS])
{
    size_t count = 0;
    for (size_t row = 0; row < any->records->rows; row++) {
        const char *here = report_records_text(any->records, row, any->column);
        size_t i = 0;
        while (i < count && strcmp(name[i], here) != 0) {
            i++;
        }
        if (i == count && count < REASONS && strcmp(here, "feasible") != 0) {
            name[count++] = here;
        }
    }
    return count;
}

#define NAMED_FROM 0.1 /* share of the width that a zone must have to be named where it is */

/* The longest run of cells that are shown with a reason: its first cell and length. */
static size_t longest_run(const struct grid *g, const struct rejected_cells *reason, size_t *first)
{
    size_t longest = 0, run = 0;
    for (size_t row = 0; row < g->records->rows; row++) {
        size_t column = row % g->width;
        bool shown = column >= g->from && column <= g->to && has_reason(reason, row);
        run = shown ? (column == g->from ? 1 : run + 1) : 0;
        if (run > longest) {
            longest = run;
            *first = row + 1 - run;
        }
    }
    return longest;
}

/* A zone is named inside as well, so that it is known without its colour. */
static void name_zone(struct plot *p, const struct grid *g, const struct rejected_cells *reason,
                      const char *words)
{
    size_t first = 0, length = longest_run(g, reason, &first);
    char room[PLOT_QUOTE];
    if ((double)length < NAMED_FROM * (double)(g->to - g->from + 1)) {
        return;
    }
    double x = 0.5 * (at_x(g, first) + at_x(g, first + length - 1));
    plot_say(p,
             "set label %s at first %.7g, graph 0.5 center front font ',11' textcolor '#111111'\n",
             plot_quote(room, words), x);
}

static void draw_reasons(struct plot *p, const struct grid *g, const struct rejected_cells *any)
{
    static const char *const colour[REASONS] = {"#e69f00", "#56b4e9", "#cc79a7", "#009e73",
                                                "#d55e00", "#0072b2", "#999999", "#f0e442"};
    const char *name[REASONS];
    char words[PLOT_QUOTE];
    size_t count = list_reasons(any, name);
    for (size_t i = 0; i < count; i++) {
        (void)plot_words(words, report_limit_title(name[i]));
        name_zone(p, g, &(struct rejected_cells){any->records, any->column, name[i]}, words);
    }
    for (size_t i = 0; i < count; i++) {
        struct rejected_cells reason = {any->records, any->column, name[i]};
        char how[128];
        size_t block = p->blocks;
        (void)grid_boxes(p, g, has_reason, &reason);
        (void)plot_words(words, report_limit_title(name[i]));
        (void)snprintf(how, sizeof how,
                       "with boxxyerror fillcolor rgb '%s' fillstyle solid 0.55 noborder",
                       colour[i]);
        plot_block(p, block, "", how, words);
    }
}

static void mark_kit(struct plot *p)
{
    const struct report_records *r = &p->results->ranked;
    size_t rank = report_results_lead(p->results);
    char role[24];
    plot_number(p, report_cell_number(r, rank - 1, "ratio"));
    plot_number(p, report_cell_number(r, rank - 1, "effectiveness"));
    plot_line_end(p);
    size_t block = plot_block_end(p);
    plot_block(p, block, " using 1:2", "with points pt 13 ps 1.6 lc rgb '#ffffff' lw 2", NULL);
    plot_block(p, block, " using 1:2", "with points pt 13 ps 1.1 lc rgb '#000000'",
               plot_kit_role(p->results, rank, role));
}

/* The ideal of the same blower, fuel and cooler, when the search found one. */
static void mark_ideal(struct plot *p)
{
    static const char *const same[][2] = {
        {"blower", "blower"}, {"fuel", "fuel"}, {"cooler", "ideal_cooler"}};
    const struct report_records *r = &p->results->ranked, *o = &p->results->optimum;
    size_t kit = report_results_lead(p->results) - 1;
    for (size_t row = 0; row < o->rows; row++) {
        bool matches = true;
        for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
            matches = matches &&
                      strcmp(report_cell(r, kit, same[i][0]), report_cell(o, row, same[i][1])) == 0;
        }
        if (matches) {
            plot_number(p, report_cell_number(o, row, "ideal_ratio"));
            plot_number(p, report_cell_number(o, row, "ideal_effectiveness"));
            plot_line_end(p);
            plot_block(p, plot_block_end(p), " using 1:2",
                       "with points pt 4 ps 1.3 lw 2 lc rgb '#000000'", "ideal, of any size");
            return;
        }
    }
}

static void draw_contours(struct plot *p)
{
    plot_series(p, "$lines using 1:2", "with lines lc rgb '#222222' lw 0.9", NULL);
    plot_series(p, "$lines using 1:2:(sprintf('%g', $3)) every 1000::14",
                "with labels textcolor '#222222' font ',11'", NULL);
}

static void ratio_panel(struct plot *p, const char *y, const char *y_unit)
{
    plot_panel(p, &(struct plot_panel){.left = 0.09,
                                       .right = 0.97,
                                       .bottom = 52.0 / p->height,
                                       .top = 0.79,
                                       .key_rows = 3,
                                       .key_lift = 0.045,
                                       .y = y,
                                       .y_unit = y_unit,
                                       .x = "pulley ratio"});
}

/* With one core there is no second axis: power over the ratio, zones behind it. */
static void draw_flat(struct plot *p, const struct grid *g, const struct rejected_cells *any,
                      size_t power)
{
    const size_t columns[] = {g->x, power};
    size_t block = plot_curve(p, g->records, 0, NULL, columns, 2);
    plot_say(p, "set y2range [-0.5:0.5]\n");
    ratio_panel(p, "peak power", report_results_unit(p->results, REPORT_POWER));
    plot_say(p, "set style data boxxyerror\n");
    draw_reasons(p, g, any);
    plot_block(p, block, " using 1:2", "with lines ls 1 lw 2.2", "power");
    plot_series_end(p);
}

#define BESIDES 6 /* columns shown at least beside those where every limit holds */

/* Where every limit holds, and as much again to either side: farther off nothing new is said. */
static void zoom(struct grid *g, const struct rejected_cells *feasible)
{
    size_t first = g->width, last = 0;
    for (size_t row = 0; row < g->records->rows; row++) {
        if (has_reason(feasible, row)) {
            size_t column = row % g->width;
            first = column < first ? column : first;
            last = column > last ? column : last;
        }
    }
    if (first <= last) {
        size_t beside = last - first + 1 > BESIDES ? last - first + 1 : BESIDES;
        g->from = first > beside ? first - beside : 0;
        g->to = last + beside < g->width ? last + beside : g->width - 1;
    }
}

bool plot_map(struct plot *p)
{
    const struct report_results *results = p->results;
    const struct report_records *r = &results->map;
    const struct rejected_cells feasible = {r, report_records_find(r, "reason"), "feasible"};
    size_t power = report_records_column(r, "peak_power", REPORT_POWER, results->units);
    struct grid g;
    if (!grid_init(&g, r, report_records_find(r, "ratio"),
                   report_records_find(r, "effectiveness"))) {
        return false;
    }
    zoom(&g, &feasible);
    if (g.height < 2) {
        draw_flat(p, &g, &feasible, power);
        return true;
    }
    size_t values = p->blocks;
    char y[PLOT_QUOTE];
    grid_values(p, &g, power, has_reason, &feasible);
    find_contours(p, values, "auto 5");
    (void)snprintf(y, sizeof y, "effectiveness of the charge cooler (lines: peak power in %s)",
                   report_results_unit(results, REPORT_POWER));
    ratio_panel(p, y, "");
    plot_say(p, "set autoscale yfix\nset grid noxtics noytics\nset xrange [%.7g:%.7g]\n",
             at_x(&g, g.from) - 0.5 * g.dx, at_x(&g, g.to) + 0.5 * g.dx);
    draw_reasons(p, &g, &feasible);
    draw_contours(p);
    mark_ideal(p);
    mark_kit(p);
    plot_series_end(p);
    return true;
}
