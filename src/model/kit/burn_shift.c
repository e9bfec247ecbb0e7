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
#include "model/cylinder/blend.h"

/* ---- delay ---- */

/* Logarithm of the octane number, but for what the state of the charge adds. */
static double log_octane(const struct shv_study *study, size_t fuel, double lambda,
                         double humidity_ratio)
{
    const struct shv_cycle_knock *k = &study->engine.knock;
    struct shv_cycle_fuel f = burn_fuel(&study->fuels[fuel]);
    return shv_log(knock_octane(k, &f, lambda, humidity_ratio)) -
           knock_octane_slope(k, &f) * f.rating_temperature;
}

double burn_delay_ratio(const struct shv_model *model, size_t site, size_t fuel, double lambda)
{
    double humidity = model->site[site].humidity_ratio;
    const struct shv_study *ours = model->study, *theirs = model->base->study;
    double scale = ours->engine.knock.scale / theirs->engine.knock.scale;
    double octane =
        log_octane(ours, fuel, lambda, humidity) - log_octane(theirs, fuel, lambda, humidity);
    return shv_log(scale) + KNOCK_OCTANE_EXPONENT * octane;
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

enum shv_status shv_model_ready_shift(struct shv_model *model, size_t index,
                                      const struct shv_cycle_runner *runner,
                                      struct shv_message *message)
{
    struct burn_shift *shift = &model->shift[index];
    if (shift->slope || !shv_model_has_table(model, index)) {
        return SHV_OK;
    }
    shift->slope = calloc(model->speeds * GRID_NODES * SHIFT_FIELDS, sizeof *shift->slope);
    if (!shift->slope) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the slopes of a cycle table");
    }
    shv_model_table_spec(model, index, &shift->spec);
    cycle_run(runner, model->speeds, fill_speed, shift);
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

/* The charge in the manifold that the walls of the table's engine make as warm as its own do this:
 * the cycle begins with what comes of it, and knows the manifold by nothing else. */
static double alike_temperature(const struct shv_breathing *own, const struct shv_breathing *table,
                                double charge_temperature)
{
    if (own->kept == table->kept) {
        return charge_temperature;
    }
    return (own->kept * charge_temperature + own->added - table->added) / table->kept;
}

void burn_look_up(const struct burn_case *c, const struct burn_state *at, struct burn_out *o)
{
    double tm = at->charge_temperature, pm = at->manifold_pressure;
    double more = 0.0, slope[SHIFT_FIELDS] = {0.0};
    struct cycle_wish wish = c->wish;
    *o = no_burn;
    if (c->off_rule && !c->shift->slope) {
        return;
    }
    if (c->off_rule) {
        /* The cycle knows the manifold by what it draws. */
        tm = alike_temperature(&c->breathing, &c->shift->spec.breathing[c->speed], tm);
        if (!isfinite(tm)) {
            return;
        }
        pm = cycle_pressure_of_flow(&c->shift->spec, c->speed, tm, at->air_flow);
    }
    double log_pm = cycle_log_pressure(&c->table->axis[SHV_CYCLE_PRESSURE], pm);
    if (c->off_rule) {
        const struct cycle_wish plain = {0.0, wish.delay, wish.log_peak};
        struct cycle_found knocks = cycle_find(c->table, c->speed, pm, log_pm, tm, &plain);
        more = at->exhaust_pressure - shv_cycle_table_exhaust(&c->shift->spec, c->speed, pm, tm);
        slopes_at(c->shift, c->speed, pm, tm, knocks.ca50, slope);
        wish.delay -= slope[SHIFT_KNOCK] * more;
        wish.log_peak -= slope[SHIFT_PEAK] * more;
    }
    struct cycle_found f = cycle_find(c->table, c->speed, pm, log_pm, tm, &wish);
    if (!burn_has_answer(f.outcome)) {
        return;
    }
    if (c->off_rule) {
        slopes_at(c->shift, c->speed, pm, tm, f.ca50, slope);
    }
    bool held =
        c->off_rule && f.by == SHV_PHASING_BY_PRESSURE && !(f.log_peak > wish.log_peak + 1e-12);
    double log_peak = held ? c->wish.log_peak : f.log_peak + slope[SHIFT_PEAK] * more;
    *o = (struct burn_out){true,
                           f.by,
                           f.gross_efficiency * shv_exp(slope[SHIFT_EFFICIENCY] * more),
                           shv_exp(log_peak),
                           f.ca50,
                           f.wanted_ca50,
                           f.exhaust_temperature + slope[SHIFT_EXHAUST] * more,
                           shv_exp(f.log_knock + slope[SHIFT_KNOCK] * more - c->wish.delay)};
}
