/* Plots over engine speed. */
#include <math.h>
#include <string.h>

#include "report/plot/plot.h"

#define ENGINE_SPEED "engine speed"

static size_t column(const struct plot *p, const struct report_records *records, const char *stem,
                     enum report_measure measure)
{
    return report_records_column(records, stem, measure, p->results->units);
}

static const char *unit(const struct plot *p, enum report_measure measure)
{
    return report_results_unit(p->results, measure);
}

/* A panel over the whole width; `place` 0 is the top one of `count`. */
static void stack(struct plot *p, size_t place, size_t count, const char *y,
                  enum report_measure measure)
{
    const double height_of = p->height;
    const double bottom = 52.0 / height_of, top = 1.0 - 48.0 / height_of, gap = 64.0 / height_of;
    double height = (top - bottom - gap * (double)(count - 1)) / (double)count;
    double upper = top - (double)place * (height + gap);
    bool last = place + 1 == count;
    struct plot_panel panel = {.left = 0.09,
                               .right = 0.97,
                               .bottom = upper - height,
                               .top = upper,
                               .y = y,
                               .y_unit = unit(p, measure),
                               .x = last ? ENGINE_SPEED : NULL,
                               .x_unit = "rpm"};
    plot_panel(p, &panel);
}

/* A column of a block over the first, in a line style and what else of style there is. */
static void curve(struct plot *p, size_t block, size_t y, size_t style, const char *more,
                  const char *title)
{
    char using[32], how[64];
    (void)snprintf(using, sizeof using, " using 1:%zu", y);
    (void)snprintf(how, sizeof how, "with linespoints ls %zu%s", style, more);
    plot_block(p, block, using, how, title);
}

/* ---- power and torque of the best ---- */

/* "kit to sell: twist-small, premium, ratio 1.839", "row 3: ..." */
static void name_kit(const struct plot *p, size_t rank, char name[PLOT_QUOTE])
{
    const struct report_records *r = &p->results->ranked;
    char role[24];
    (void)snprintf(name, PLOT_QUOTE, "%s: %.24s, %.16s, ratio %.3f",
                   plot_kit_role(p->results, rank, role), report_cell(r, rank - 1, "blower"),
                   report_cell(r, rank - 1, "fuel"), report_cell_number(r, rank - 1, "ratio"));
}

const char *plot_kit_role(const struct report_results *results, size_t rank, char role[24])
{
    size_t sell = report_results_to_sell(results);
    (void)snprintf(role, 24, "row %zu", rank);
    return sell != REPORT_NO_COLUMN && rank == sell + 1 ? "kit to sell"
           : rank == 1                                  ? "strongest on paper"
                                                        : role;
}

static bool are_alike(const struct report_records *r, size_t a, size_t b)
{
    static const char *const parts[] = {"blower", "cooler", "fuel"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        size_t column_of = report_records_find(r, parts[i]);
        if (strcmp(report_records_text(r, a - 1, column_of),
                   report_records_text(r, b - 1, column_of)) != 0) {
            return false;
        }
    }
    return true;
}

/* Neighbours in the ranking differ by a millimetre of pulley, and their curves can't be told apart:
 * the first rank of each blower, cooler and fuel. */
size_t plot_pick_kits(const struct report_results *results, size_t rank[PLOT_KITS])
{
    size_t kits = report_results_kits(results), count = 0;
    size_t sell = report_results_to_sell(results);
    if (sell != REPORT_NO_COLUMN && sell > 0) {
        rank[count++] = sell + 1; /* though it may be much like the first */
        rank[count++] = 1;
    }
    for (size_t k = 1; k <= kits && count < PLOT_KITS; k++) {
        bool is_new = true;
        for (size_t i = 0; i < count; i++) {
            is_new = is_new && !are_alike(&results->ranked, rank[i], k);
        }
        if (is_new) {
            rank[count++] = k;
        }
    }
    return count;
}

static void power_blocks(struct plot *p, const char *site, const size_t *rank, size_t kits)
{
    for (size_t k = 0; k <= kits; k++) {
        const struct report_records *r = k == 0 ? &p->results->stock : &p->results->curves;
        const size_t columns[] = {column(p, r, "engine_speed", REPORT_ROTATION),
                                  column(p, r, "power", REPORT_POWER),
                                  column(p, r, "torque", REPORT_TORQUE)};
        (void)plot_curve(p, r, k == 0 ? 0 : rank[k - 1], site, columns, 3);
    }
}

bool plot_power(struct plot *p)
{
    static const char *const y[] = {"power", "torque"};
    static const enum report_measure measure[] = {REPORT_POWER, REPORT_TORQUE};
    const char *site[1];
    size_t rank[PLOT_KITS], kits = plot_pick_kits(p->results, rank);
    if (report_results_sites(p->results, site, 1) == 0) {
        return false;
    }
    power_blocks(p, site[0], rank, kits);
    plot_say(p, "set multiplot\nset yrange [0:*]\n");
    for (size_t i = 0; i < 2; i++) {
        stack(p, i, 2, y[i], measure[i]);
        if (i == 1) { /* names are long, and there is room below the torque */
            plot_say(p, "set key at graph 0.99, graph 0.04 right bottom vertical maxrows 6\n");
        }
        for (size_t k = 0; k <= kits; k++) {
            char name[PLOT_QUOTE] = "stock engine";
            if (k > 0) {
                name_kit(p, rank[k - 1], name);
            }
            curve(p, k, i + 2, k == 0 ? 8 : k + PLOT_KIT_STYLE, "", i == 1 ? name : NULL);
        }
        plot_series_end(p);
    }
    plot_say(p, "unset multiplot\n");
    return true;
}

/* ---- the best kit at each site ---- */

/* Blocks of some columns of a rank, one for each site; their index is that of the site. */
static size_t site_blocks(struct plot *p, const struct report_records *records, size_t rank,
                          const size_t *columns, size_t count, const char *site[PLOT_SITES])
{
    size_t sites = report_results_sites(p->results, site, PLOT_SITES);
    for (size_t i = 0; i < sites; i++) {
        (void)plot_curve(p, records, rank, site[i], columns, count);
    }
    return sites;
}

bool plot_sites(struct plot *p)
{
    const struct report_results *results = p->results;
    const char *site[PLOT_SITES];
    char room[PLOT_QUOTE];
    if (report_results_kits(results) == 0 || report_results_sites(results, site, 2) < 2) {
        return false;
    }
    size_t sites = 0;
    for (size_t k = 0; k < 2; k++) {
        const struct report_records *r = k == 0 ? &results->curves : &results->stock;
        const size_t columns[] = {column(p, r, "engine_speed", REPORT_ROTATION),
                                  column(p, r, "power", REPORT_POWER)};
        sites = site_blocks(p, r, k == 0 ? report_results_lead(results) : 0, columns, 2, site);
    }
    plot_say(p, "set yrange [0:*]\n");
    stack(p, 0, 1, "power", REPORT_POWER);
    for (size_t i = 0; i < sites; i++) {
        curve(p, i, 2, i + 1, " lw 2.2", plot_site(room, site[i], sites));
    }
    for (size_t i = 0; i < sites; i++) {
        curve(p, sites + i, 2, i + 1, " lw 0.8 ps 0.25",
              i == 0 ? "stock engine there, thin" : NULL);
    }
    plot_series_end(p);
    return true;
}

/* A panel of one quantity at every site with its limit. */
static void site_panel(struct plot *p, const char *const *site, size_t sites, size_t y,
                       const char *limit, const char *measure_unit, bool names)
{
    for (size_t i = 0; i < sites; i++) {
        char room[PLOT_QUOTE];
        curve(p, i, y, i + 1, "", names ? plot_site(room, site[i], sites) : NULL);
    }
    if (limit) {
        plot_limit(p, "", report_results_bound(p->results, report_results_lead(p->results), limit),
                   measure_unit);
    }
    plot_series_end(p);
}

static void temperature_panel(struct plot *p, size_t sites, size_t discharge, size_t charge)
{
    const char *degrees = unit(p, REPORT_TEMPERATURE);
    for (size_t i = 0; i < sites; i++) {
        curve(p, i, discharge, i + 1, "", i == 0 ? "at the blower's outlet" : NULL);
    }
    for (size_t i = 0; i < sites; i++) {
        curve(p, i, charge, i + 1, " dashtype 2 ps 0.35", i == 0 ? "in the manifold" : NULL);
    }
    plot_limit(
        p, "discharge",
        report_results_bound(p->results, report_results_lead(p->results), "discharge_temperature"),
        degrees);
    plot_limit(
        p, "charge",
        report_results_bound(p->results, report_results_lead(p->results), "charge_temperature"),
        degrees);
    plot_series_end(p);
}

bool plot_air(struct plot *p)
{
    const struct report_records *r = &p->results->curves;
    const char *site[PLOT_SITES];
    const size_t columns[] = {column(p, r, "engine_speed", REPORT_ROTATION),
                              column(p, r, "boost", REPORT_GAUGE),
                              column(p, r, "discharge_temperature", REPORT_TEMPERATURE),
                              column(p, r, "charge_temperature", REPORT_TEMPERATURE),
                              column(p, r, "rotor_speed", REPORT_ROTATION)};
    if (report_results_kits(p->results) == 0) {
        return false;
    }
    size_t sites = site_blocks(p, r, report_results_lead(p->results), columns, 5, site);
    plot_say(p, "set multiplot\n");
    stack(p, 0, 3, "boost", REPORT_GAUGE);
    site_panel(p, site, sites, 2, "boost", unit(p, REPORT_GAUGE), true);
    stack(p, 1, 3, "temperature", REPORT_TEMPERATURE);
    temperature_panel(p, sites, 3, 4);
    stack(p, 2, 3, "rotor speed", REPORT_ROTATION);
    site_panel(p, site, 1, 5, "rotor_speed", unit(p, REPORT_ROTATION), false);
    plot_say(p, "unset multiplot\n");
    return true;
}

bool plot_phasing(struct plot *p)
{
    const struct report_records *r = &p->results->curves;
    const char *site[PLOT_SITES];
    const size_t columns[] = {column(p, r, "engine_speed", REPORT_ROTATION),
                              column(p, r, "ca50", REPORT_ANGLE),
                              column(p, r, "phasing_retard", REPORT_ANGLE)};
    if (report_results_kits(p->results) == 0 ||
        !plot_has(r, report_results_lead(p->results), columns[1])) {
        return false;
    }
    size_t sites = site_blocks(p, r, report_results_lead(p->results), columns, 3, site);
    plot_say(p, "set multiplot\nset yrange [*<0:10<*]\n"); /* a flat line is one */
    stack(p, 0, 2, "half burnt after top dead centre", REPORT_ANGLE);
    site_panel(p, site, sites, 2, NULL, "", true);
    stack(p, 1, 2, "retard", REPORT_ANGLE);
    site_panel(p, site, sites, 3, "phasing_retard", unit(p, REPORT_ANGLE), false);
    plot_say(p, "unset multiplot\n");
    return true;
}

/* ---- one kit ---- */

/* One of four panels, two by two. */
static void quarter(struct plot *p, size_t place, const char *y, enum report_measure measure)
{
    bool right = place % 2 == 1, low = place / 2 == 1;
    struct plot_panel panel = {.left = right ? 0.56 : 0.08,
                               .right = right ? 0.95 : 0.47,
                               .bottom = low ? 0.1 : 0.54,
                               .top = low ? 0.44 : 0.86,
                               .key_rows = 2,
                               .key_lift = 0.045,
                               .y = y,
                               .y_unit = unit(p, measure),
                               .x = low ? ENGINE_SPEED : NULL,
                               .x_unit = "rpm"};
    plot_panel(p, &panel);
}

/* Blocks of all kits, each with its sites; then the stock engine's. */
static size_t single_blocks(struct plot *p, const size_t *rank, size_t kits,
                            const char *site[PLOT_SITES])
{
    const struct report_records *r = &p->results->curves;
    size_t sites = 0;
    for (size_t i = 0; i < kits; i++) {
        const size_t columns[] = {
            column(p, r, "engine_speed", REPORT_ROTATION), column(p, r, "power", REPORT_POWER),
            column(p, r, "torque", REPORT_TORQUE), column(p, r, "boost", REPORT_GAUGE),
            column(p, r, "charge_temperature", REPORT_TEMPERATURE)};
        sites = site_blocks(p, r, rank[i], columns, 5, site);
    }
    const struct report_records *s = &p->results->stock;
    const size_t columns[] = {column(p, s, "engine_speed", REPORT_ROTATION),
                              column(p, s, "power", REPORT_POWER),
                              column(p, s, "torque", REPORT_TORQUE)};
    (void)plot_curve(p, s, 0, site[0], columns, 3);
    return sites;
}

static void single_panel(struct plot *p, size_t place, const char *const *site, size_t sites,
                         size_t kits)
{
    for (size_t i = 0; i < sites; i++) {
        char source[64], how[64], room[PLOT_QUOTE];
        (void)snprintf(source, sizeof source, "data index first+%zu using 1:%zu", i, place + 2);
        (void)snprintf(how, sizeof how, "with linespoints ls %zu", i + 1);
        plot_series(p, source, how, place == 1 ? plot_site(room, site[i], sites) : NULL);
    }
    if (place < 2 && p->results->stock.rows > 0) {
        char using[32];
        (void)snprintf(using, sizeof using, " using 1:%zu", place + 2);
        plot_block(p, kits * sites, using, "with lines ls 8", place == 1 ? "stock engine" : NULL);
    }
    plot_series_end(p);
}

/* Drawn in a loop of the script, as starting gnuplot takes longer than drawing. */
bool plot_single(struct plot *p)
{
    static const struct {
        const char *y;
        enum report_measure measure;
    } panels[] = {{"power", REPORT_POWER},
                  {"torque", REPORT_TORQUE},
                  {"boost", REPORT_GAUGE},
                  {"charge temperature", REPORT_TEMPERATURE}};
    const char *site[PLOT_SITES];
    size_t rank[PLOT_ROWS], kits = report_results_ranks(p->results, rank, PLOT_ROWS);
    if (kits == 0) {
        return false;
    }
    size_t sites = single_blocks(p, rank, kits, site);
    plot_say(p, "ranks = '");
    for (size_t i = 0; i < kits; i++) {
        plot_say(p, "%s%zu", i > 0 ? " " : "", rank[i]);
    }
    plot_say(p,
             "'\ndo for [kit=1:%zu] {\nset output sprintf('row-%%s.svg', word(ranks, kit)).part\n",
             kits);
    plot_say(p, "first = (kit - 1) * %zu\nset multiplot\n", sites);
    for (size_t i = 0; i < 4; i++) {
        quarter(p, i, panels[i].y, panels[i].measure);
        single_panel(p, i, site, sites, kits);
    }
    plot_say(p, "unset multiplot\n}\n");
    return true;
}
