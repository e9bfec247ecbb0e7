/* Cycles side by side (cycle_lanes.h): the choice for the processor at hand, and the residual
 * temperature of each, which must be the one that the cycle ends with (docs/model.md, section 8.9).
 */
#include "model/cylinder/cycle_lanes.h"

const struct cycle_lane_loops *cycle_lanes_best(void)
{
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) {
        return &cycle_lanes_avx512;
    }
    if (__builtin_cpu_supports("avx2")) {
        return &cycle_lanes_avx2;
    }
#endif
    return &cycle_lanes_baseline;
}

#define ROUNDS_MOST 30
/* K. What goes in moves what comes out by about a hundredth: coarser than the single cycle's, this
 * moves no result by more than 1e-9. */
#define ENOUGH 1e-5
/* Least change, K, that says something about the slope, and where slopes may lie. */
#define TELLING 1e-3
#define SLOPE_LEAST (-2.0)
#define SLOPE_MOST (-0.5)

struct cycle_task cycle_task_at(const struct cycle *c, const struct shv_cycle_case *at, double ca50)
{
    double given = at->residual_temperature;
    return (struct cycle_task){
        .exhaust_pressure = at->exhaust_pressure,
        .charge_temperature = at->charge_temperature,
        .fresh_enthalpy = cycle_fresh_enthalpy(c, at->charge_temperature),
        .fresh_mass = c->fresh_mass / c->in.at->air_mass * at->air_mass,
        .efficiency = c->efficiency,
        .ca50 = ca50,
        .residual = given > 0.0 ? given : CYCLE_FIRST_GUESS,
        .residual_slope = CYCLE_USUAL_SLOPE,
        /* Without residual gas its temperature has no effect. */
        .given = given > 0.0 || at->residual_share == 0.0,
    };
}

/* ---- one round ---- */

static void put_in(struct cycle_lane_in *in, size_t i, const struct cycle_task *t)
{
    in->exhaust_pressure[i] = t->exhaust_pressure;
    in->charge_temperature[i] = t->charge_temperature;
    in->fresh_enthalpy[i] = t->fresh_enthalpy;
    in->fresh_mass[i] = t->fresh_mass;
    in->efficiency[i] = t->efficiency;
    in->ca50[i] = t->ca50;
    in->residual[i] = t->residual;
}

/* A task on its way. */
struct open_task {
    struct cycle_task *task;
    double last_residual, last_gap;
    int round;
};

/* Takes a round's outcome; true when the task needs another one. */
static bool goes_on(struct open_task *o, const struct cycle_lane_out *out, size_t i)
{
    struct cycle_task *t = o->task;
    t->cycles++;
    o->round++;
    t->answered = out->valid[i] > 0.0;
    if (!t->answered) {
        return false;
    }
    double gap = t->given ? 0.0 : out->residual[i] - t->residual;
    if (fabs(gap) <= ENOUGH) {
        t->gross_efficiency = out->gross_efficiency[i];
        t->peak_pressure = out->peak_pressure[i];
        t->peak_angle = out->peak_angle[i];
        t->exhaust_temperature = out->exhaust_temperature[i];
        t->knock_integral = out->knock_integral[i];
        return false;
    }
    double moved = t->residual - o->last_residual;
    if (o->round > 1 && fabs(moved) > TELLING) {
        t->residual_slope = shv_min(shv_max((gap - o->last_gap) / moved, SLOPE_LEAST), SLOPE_MOST);
    }
    o->last_residual = t->residual;
    o->last_gap = gap;
    t->residual = shv_min(shv_max(t->residual - gap / t->residual_slope, 300.0), 3000.0);
    t->answered = false;
    return o->round < ROUNDS_MOST;
}

/* ---- many ---- */

/* One round of up to CYCLE_LANES tasks; the first fills what is left. Returns how many stay open,
 * now at the front of `open`. */
static size_t run_round(const struct cycle *c, const struct cycle_lane_loops *loops,
                        struct open_task *open, size_t count)
{
    struct cycle_lane_in in;
    struct cycle_lane_out out;
    size_t left = 0;
    for (size_t i = 0; i < CYCLE_LANES; i++) {
        put_in(&in, i, open[i < count ? i : 0].task);
    }
    loops->run(c, &in, &out);
    for (size_t i = 0; i < count; i++) {
        if (goes_on(&open[i], &out, i)) {
            open[left++] = open[i];
        }
    }
    return left;
}

void cycle_solve_tasks(const struct cycle *c, struct cycle_task *tasks, size_t count)
{
    const struct cycle_lane_loops *loops = cycle_lanes_best();
    struct open_task open[CYCLE_LANES];
    size_t held = 0, next = 0;
    while (held > 0 || next < count) {
        while (held < CYCLE_LANES && next < count) {
            open[held++] = (struct open_task){.task = &tasks[next++]};
        }
        held = run_round(c, loops, open, held);
    }
}
