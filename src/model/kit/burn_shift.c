/* Cycle tables under corrections (burn_shift.h).
 *
 * Ignition delay does not act back on the cycle: at a given phasing another delay only multiplies
 * the knock integral, so the phasing at which it meets what is allowed is found along the table's
 * own column of integrals. Exhaust pressure acts through residual gas and the work of blowdown,
 * weakly and smoothly: first-order terms do, from direct cycles on a coarse grid.
 */
#include "model/kit/burn_shift.h"

#include <math.h>
#include <stdlib.h>

#include "model/cylinder/cycle_lanes.h"
#include "model/cylinder/cycle_table_internal.h"
#include "model/cylinder/knock_delay.h"
#include "model/kit/model_internal.h"
#include "sheave/blend.h"

/* ---- delay ---- */

static double octane_of(const struct shv_study *study, size_t fuel, double lambda,
                        double humidity_ratio)
{
    struct shv_cycle_fuel f = burn_fuel(&study->fuels[fuel]);
    return knock_octane(&study->engine.knock, &f, lambda, humidity_ratio);
}

double burn_delay_ratio(const struct shv_model *model, size_t site, size_t fuel, double lambda)
{
    double humidity = model->site[site].humidity_ratio;
    const struct shv_study *ours = model->study, *theirs = model->base->study;
    double scale = ours->engine.knock.scale / theirs->engine.knock.scale;
    double octane =
        octane_of(ours, fuel, lambda, humidity) / octane_of(theirs, fuel, lambda, humidity);
    if (scale == 1.0 && octane == 1.0) {
        return 0.0;
    }
    return shv_log(scale) + KNOCK_OCTANE_EXPONENT * shv_log(octane);
}

/* ---- the column of knock integrals at one state of the charge ---- */

/* Rows added at each end, so that roots up to 8 deg beyond the phasings of the table are found. */
#define BEYOND_DEGREES 12.0
#define ROWS_BEYOND_MOST 64
/* Least fall of the logarithm between rows: the integral falls with later phasing. */
#define LEAST_FALL 1e-4

struct column {
    double first, step; /* deg of row 0 and between rows */
    size_t count;
    double y[SHV_CYCLE_TABLE_NODES_MOST + 2 * ROWS_BEYOND_MOST + 2];
};

static double column_row(const double *first, size_t row, size_t node, struct cycle_spot p,
                         struct cycle_spot t)
{
    double v[4];
    for (size_t a = 0; a < 4; a++) {
        const double *n = first + a * row + CYCLE_KNOCK;
        v[a] = cycle_cubic(n[0], n[node], n[2 * node], n[3 * node], t.share, 0.5 * t.share);
    }
    return cycle_cubic(v[0], v[1], v[2], v[3], p.share, 0.5 * p.share);
}

/* Goes on at both ends along the parabola of the last three rows, falling all the way. */
static void extend(struct column *c, size_t beyond)
{
    double *y = c->y;
    size_t low = beyond, high = c->count - 1 - beyond;
    double fall = y[low] - y[low + 1], turn = fall - (y[low + 1] - y[low + 2]);
    for (size_t i = low; i > 0; i--) {
        fall = shv_max(fall + turn, LEAST_FALL);
        y[i - 1] = y[i] + fall;
    }
    fall = y[high - 1] - y[high];
    turn = fall - (y[high - 2] - y[high - 1]);
    for (size_t i = high; i + 1 < c->count; i++) {
        fall = shv_max(fall + turn, LEAST_FALL);
        y[i + 1] = y[i] - fall;
    }
}

static void fill_column(const struct shv_cycle_table *table, size_t speed, struct cycle_spot p,
                        struct cycle_spot t, struct column *c)
{
    const struct shv_cycle_axis *ac = &table->axis[SHV_CYCLE_CA50];
    size_t nt = table->axis[SHV_CYCLE_TEMPERATURE].nodes + 2;
    size_t node = (ac->nodes + 2) * SHV_CYCLE_FIELDS;
    size_t first = (speed * (table->axis[SHV_CYCLE_PRESSURE].nodes + 2) + p.cell) * nt + t.cell;
    c->step = 1.0 / ac->per_unit;
    size_t beyond = (size_t)shv_min(ceil(BEYOND_DEGREES / c->step), ROWS_BEYOND_MOST);
    c->first = ac->least - (double)beyond * c->step;
    c->count = ac->nodes + 2 * beyond;
    for (size_t k = 0; k < ac->nodes; k++) {
        const double *here = table->volumes + first * node + (k + 1) * SHV_CYCLE_FIELDS;
        c->y[beyond + k] = column_row(here, nt * node, node, p, t);
    }
    extend(c, beyond);
}

/* The earliest phasing at which the column falls to `value`; beyond its ends on a straight line. */
static double column_root(const struct column *c, double value)
{
    size_t last = c->count - 2, i = 0;
    while (i < last && !(c->y[i + 1] <= value)) {
        i++;
    }
    const double *y = c->y + i;
    double before = i > 0 ? y[-1] : 2.0 * y[0] - y[1];
    double after = i < last ? y[2] : 2.0 * y[1] - y[0];
    double low = 0.0, high = 1.0;
    if (value > y[0] || value < y[1]) {
        low = high = (y[0] - value) / shv_max(y[0] - y[1], LEAST_FALL);
    }
    for (int k = 0; k < 40 && low < high; k++) {
        double middle = 0.5 * (low + high);
        bool above = cycle_cubic(before, y[0], y[1], after, middle, 0.5 * middle) > value;
        *(above ? &low : &high) = middle;
    }
    return c->first + ((double)i + 0.5 * (low + high)) * c->step;
}

/* ---- slopes with exhaust pressure ---- */

enum { GRID_P = 5, GRID_T = 4, GRID_C = 5 };
#define STEP 2e3 /* Pa either side */

void burn_shift_free(struct burn_shift *shift)
{
    free(shift->slope);
    *shift = (struct burn_shift){.slope = NULL};
}

static double grid_at(double low, double high, size_t i, size_t count)
{
    return low + (high - low) * (double)i / (double)(count - 1);
}

#define GRID_NODES ((size_t)GRID_P * GRID_T * GRID_C)

/* The state of the charge at a node of the grid; nodes run over CA50 fastest, then temperature. */
static struct shv_cycle_case case_at(const struct shv_cycle_table_spec *s, size_t speed,
                                     size_t node)
{
    double low = shv_log(s->pressure_least), high = shv_log(s->pressure_most);
    double pressure = shv_exp(grid_at(low, high, node / GRID_C / GRID_T, GRID_P));
    double temperature =
        grid_at(s->temperature_least, s->temperature_most, node / GRID_C % GRID_T, GRID_T);
    struct shv_cycle_case at = shv_cycle_table_case(s, speed, pressure, temperature);
    at.ca50 = grid_at(s->knock.best_ca50, s->knock.limit_ca50, node % GRID_C, GRID_C);
    return at;
}

/* Slopes between two cycles; 0 where one has no answer, which the table says itself. */
static void take_slope(const struct cycle_task *below, const struct cycle_task *above,
                       double slope[SHIFT_FIELDS])
{
    const double per = 1.0 / (2.0 * STEP);
    if (!below->answered || !above->answered) {
        return;
    }
    slope[SHIFT_EFFICIENCY] = per * shv_log(above->gross_efficiency / below->gross_efficiency);
    slope[SHIFT_PEAK] = per * shv_log(above->peak_pressure / below->peak_pressure);
    slope[SHIFT_EXHAUST] = per * (above->exhaust_temperature - below->exhaust_temperature);
    slope[SHIFT_KNOCK] = per * shv_log(above->knock_integral / below->knock_integral);
}

/* All nodes at one speed, side by side. */
static void fill_speed(void *data, size_t speed)
{
    const struct burn_shift *shift = data;
    const struct shv_cycle_table_spec *s = &shift->spec;
    struct shv_cycle_case at = case_at(s, speed, 0);
    const struct cycle_inputs in = {&s->engine, &s->fuel, &s->knock, &at};
    struct cycle_task tasks[2 * GRID_NODES];
    struct cycle c;
    cycle_prepare(&c, &in);
    for (size_t i = 0; i < 2 * GRID_NODES; i++) {
        struct shv_cycle_case there = case_at(s, speed, i / 2);
        there.exhaust_pressure += i % 2 ? STEP : -STEP;
        tasks[i] = cycle_task_at(&c, &there, there.ca50);
    }
    cycle_solve_tasks(&c, tasks, 2 * GRID_NODES);
    for (size_t i = 0; i < GRID_NODES; i++) {
        take_slope(&tasks[2 * i], &tasks[2 * i + 1],
                   shift->slope + (speed * GRID_NODES + i) * SHIFT_FIELDS);
    }
}

static void run_in_order(void *self, size_t count, void (*item)(void *data, size_t index),
                         void *data)
{
    (void)self;
    for (size_t i = 0; i < count; i++) {
        item(data, i);
    }
}

enum shv_status shv_model_ready_shift(struct shv_model *model, size_t index,
                                      const struct shv_cycle_runner *runner,
                                      struct shv_message *message)
{
    const struct shv_cycle_runner in_order = {run_in_order, NULL};
    struct burn_shift *shift = &model->shift[index];
    if (shift->slope || !shv_model_has_table(model, index)) {
        return SHV_OK;
    }
    shift->slope = calloc(model->speeds * GRID_NODES * SHIFT_FIELDS, sizeof *shift->slope);
    if (!shift->slope) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the slopes of a cycle table");
    }
    shv_model_table_spec(model, index, &shift->spec);
    runner = runner ? runner : &in_order;
    runner->run(runner->self, model->speeds, fill_speed, shift);
    return SHV_OK;
}

struct grid_spot {
    size_t cell;
    double share;
};

static struct grid_spot grid_spot_of(double low, double high, double x, size_t count)
{
    double last = (double)(count - 1);
    double u = shv_min(shv_max((x - low) / (high - low) * last, 0.0), last);
    size_t cell = (size_t)shv_min(u, last - 1.0);
    return (struct grid_spot){cell, u - (double)cell};
}

/* Linear in the logarithm of pressure, in temperature and in phasing. */
static void slopes_at(const struct burn_shift *shift, size_t speed, double pm, double tm,
                      double ca50, double value[SHIFT_FIELDS])
{
    const struct shv_cycle_table_spec *s = &shift->spec;
    struct grid_spot p =
        grid_spot_of(shv_log(s->pressure_least), shv_log(s->pressure_most), shv_log(pm), GRID_P);
    struct grid_spot t = grid_spot_of(s->temperature_least, s->temperature_most, tm, GRID_T);
    struct grid_spot c = grid_spot_of(s->knock.best_ca50, s->knock.limit_ca50, ca50, GRID_C);
    for (size_t k = 0; k < SHIFT_FIELDS; k++) {
        value[k] = 0.0;
    }
    for (size_t corner = 0; corner < 8; corner++) {
        size_t i = corner >> 2, j = corner >> 1 & 1, l = corner & 1;
        double weight = (i ? p.share : 1.0 - p.share) * (j ? t.share : 1.0 - t.share) *
                        (l ? c.share : 1.0 - c.share);
        size_t node = ((speed * GRID_P + p.cell + i) * GRID_T + t.cell + j) * GRID_C + c.cell + l;
        for (size_t k = 0; k < SHIFT_FIELDS; k++) {
            value[k] += weight * shift->slope[node * SHIFT_FIELDS + k];
        }
    }
}

/* ---- the look-up ---- */

/* How far beyond the phasings of the table. */
static double beyond(const struct shv_cycle_axis *ac, double ca50)
{
    return shv_max(ac->least - ca50, 0.0) + shv_max(ca50 - ac->most, 0.0);
}

/* Where knock alone would put the phasing of the shifted cycle, from the table's own `root`: as
 * much later as the column says. Beyond the phasings of the table the column is only continued, and
 * its root differs from the table's; as the shifted root comes back in, less of that difference
 * counts.
 */
static double shifted_root(const struct column *c, const struct shv_cycle_axis *ac, double allowed,
                           double delay, double root)
{
    double here = column_root(c, allowed), there = column_root(c, allowed + delay);
    double out = beyond(ac, here);
    double share = out > 0.0 ? shv_min(beyond(ac, there) / out, 1.0) : 1.0;
    return there + share * (root - here);
}

/* All that the table holds at a phasing. */
static void fields_at(const struct burn_case *c, struct cycle_spot p, struct cycle_spot t,
                      double ca50, double value[SHV_CYCLE_FIELDS])
{
    const struct shv_cycle_table *table = c->table;
    struct cycle_spot at = cycle_spot_of(&table->axis[SHV_CYCLE_CA50], ca50);
    size_t nt = table->axis[SHV_CYCLE_TEMPERATURE].nodes + 2;
    size_t node = (table->axis[SHV_CYCLE_CA50].nodes + 2) * SHV_CYCLE_FIELDS;
    size_t first = (c->speed * (table->axis[SHV_CYCLE_PRESSURE].nodes + 2) + p.cell) * nt + t.cell;
    cycle_volume_at(table->volumes + first * node + at.cell * SHV_CYCLE_FIELDS, nt * node, node, p,
                    t, at, value);
}

/* Logarithm of the peak without fire. */
static double motored_at(const struct burn_case *c, struct cycle_spot p, struct cycle_spot t)
{
    const struct shv_cycle_table *table = c->table;
    size_t nt = table->axis[SHV_CYCLE_TEMPERATURE].nodes + 2;
    size_t first = (c->speed * (table->axis[SHV_CYCLE_PRESSURE].nodes + 2) + p.cell) * nt + t.cell;
    double value[SHV_CYCLE_SURFACES];
    (void)cycle_surfaces_at(table->surfaces + first * SHV_CYCLE_SURFACES, nt * SHV_CYCLE_SURFACES,
                            p, t, value);
    return value[CYCLE_MOTORED];
}

void burn_look_up_shifted(const struct shv_model *model, const struct burn_case *c,
                          const struct burn_state *at, struct burn_out *o)
{
    double tm = at->charge_temperature, pm = at->manifold_pressure;
    if (c->off_rule && c->shift->slope) {
        /* The cycle knows the manifold by what it draws. */
        pm = cycle_pressure_of_flow(&c->shift->spec, c->speed, tm, at->air_flow);
    }
    const struct shv_cycle_axis *ac = &c->table->axis[SHV_CYCLE_CA50];
    struct shv_cycle_value plain = cycle_lookup(c->table, c->speed, pm, tm, 0.0);
    struct cycle_spot p = cycle_spot_of(&c->table->axis[SHV_CYCLE_PRESSURE], shv_log(pm));
    struct cycle_spot t = cycle_spot_of(&c->table->axis[SHV_CYCLE_TEMPERATURE], tm);
    double more = 0.0, slope[SHIFT_FIELDS] = {0.0}, fields[SHV_CYCLE_FIELDS];
    struct column column = {.count = 0};
    *o = no_burn;
    if (!burn_has_answer(plain.outcome) || (c->off_rule && !c->shift->slope)) {
        return;
    }
    fill_column(c->table, c->speed, p, t, &column);
    if (c->off_rule) {
        more = at->exhaust_pressure - shv_cycle_table_exhaust(&c->shift->spec, c->speed, pm, tm);
        slopes_at(c->shift, c->speed, pm, tm, plain.ca50, slope);
    }
    double allowed = shv_log(1.0 - model->study->engine.knock.margin);
    double knocks = shifted_root(&column, ac, allowed, c->delay - slope[SHIFT_KNOCK] * more,
                                 plain.unclamped_ca50);
    double wanted = shv_max(knocks + c->retard, ac->least), ca50 = shv_min(wanted, ac->most);
    fields_at(c, p, t, ca50, fields);
    if (c->off_rule) {
        slopes_at(c->shift, c->speed, pm, tm, ca50, slope);
    }
    double peak = shv_max(fields[CYCLE_FIRED], motored_at(c, p, t));
    *o = (struct burn_out){true,
                           fields[CYCLE_EFFICIENCY] * shv_exp(slope[SHIFT_EFFICIENCY] * more),
                           shv_exp(peak + slope[SHIFT_PEAK] * more),
                           ca50,
                           wanted,
                           fields[CYCLE_EXHAUST] + slope[SHIFT_EXHAUST] * more,
                           shv_exp(fields[CYCLE_KNOCK] + slope[SHIFT_KNOCK] * more - c->delay)};
}
