/* One closed cycle with its residual gas, exhaust and results: docs/model.md, sections 8.9
 * and 8.10. */
#include "model/cylinder/cycle_lanes.h"

#include <stdlib.h>

/* What follows from what the cycle itself has told. */
static void finish_result(const struct cycle *c, const struct cycle_lane_in *in,
                          const struct cycle_lane_out *out, struct shv_cycle_result *r)
{
    double fuel_heat = r->fuel_mass * c->in.fuel->heating_value;
    r->outcome = SHV_CYCLE_DONE;
    r->gross_efficiency = out->gross_efficiency[0];
    r->imep = r->gross_work / c->swept;
    r->peak_pressure = out->peak_pressure[0];
    r->peak_angle = out->peak_angle[0];
    r->exhaust_temperature = out->exhaust_temperature[0];
    r->ca50 = in->ca50[0];
    r->knock_integral = out->knock_integral[0];
    r->heat_loss_share = fuel_heat > 0.0 ? r->wall_heat / fuel_heat : NAN;
    r->residual_temperature = in->residual[0];
    r->energy_drift = fuel_heat > 0.0 ? r->energy_drift / r->heat_released : NAN;
}

/* All numbers NAN but the phasing. */
static struct shv_cycle_result no_answer(double ca50, int cycles)
{
    const double unknown = NAN;
    struct shv_cycle_result r = {.outcome = SHV_CYCLE_NO_ANSWER, .cycles = cycles};
    for (size_t at = offsetof(struct shv_cycle_result, gross_efficiency);
         at < offsetof(struct shv_cycle_result, cycles); at += sizeof unknown) {
        memcpy((char *)&r + at, &unknown, sizeof unknown);
    }
    r.ca50 = ca50;
    return r;
}

#define ROUNDS_MOST 30
#define RESIDUAL_ENOUGH 1e-6 /* K */

/* Whether the residual temperature is to be found. Without residual gas it has no effect. */
static bool iterates(const struct cycle *c)
{
    return c->in.at->residual_temperature == 0.0 && c->in.at->residual_share != 0.0;
}

static struct cycle_lane_in input_of(const struct cycle *c, double ca50, double residual)
{
    return (struct cycle_lane_in){.exhaust_pressure = {c->in.at->exhaust_pressure},
                                  .charge_temperature = {c->in.at->charge_temperature},
                                  .fresh_enthalpy = {c->fresh_enthalpy},
                                  .fresh_mass = {c->fresh_mass},
                                  .efficiency = {c->efficiency},
                                  .ca50 = {ca50},
                                  .residual = {residual}};
}

/* The residual temperature must be the one that the cycle ends with: secant, which takes three or
 * four cycles, since what goes in hardly moves what comes out. */
struct shv_cycle_result cycle_solve(const struct cycle *c, double ca50, double guess)
{
    const struct shv_cycle_case *at = c->in.at;
    double t = at->residual_temperature > 0.0 ? at->residual_temperature : guess;
    double last_t = 0.0, last_gap = 0.0;
    for (int i = 1; i <= ROUNDS_MOST; i++) {
        struct cycle_lane_in in = input_of(c, ca50, t);
        struct cycle_lane_out out;
        struct shv_cycle_result r = {.cycles = i};
        cycle_alone(c, &in, &out, NULL, &r);
        if (!(out.valid[0] > 0.0)) {
            return no_answer(ca50, i);
        }
        double gap = iterates(c) ? out.residual[0] - t : 0.0;
        if (fabs(gap) <= RESIDUAL_ENOUGH) {
            finish_result(c, &in, &out, &r);
            return r;
        }
        double next = i == 1 ? t + gap : t - gap * (t - last_t) / (gap - last_gap);
        last_t = t;
        last_gap = gap;
        t = shv_min(shv_max(next, 300.0), 3000.0);
    }
    return no_answer(ca50, ROUNDS_MOST);
}

/* Burning must fall between the valves. */
enum shv_status cycle_check_phasing(const struct cycle *c, double ca50, struct shv_message *message)
{
    const struct shv_cycle_engine *e = c->in.engine;
    double start = ca50 - c->half_share * c->duration;
    if (start <= e->inlet_closing || start >= e->exhaust_opening) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: with half of the fuel burned at %g deg and a duration of %g "
                        "deg, burning starts at %g deg; accepted: between inlet closing, %g, and "
                        "exhaust opening, %g",
                        ca50, c->duration, start, e->inlet_closing, e->exhaust_opening);
    }
    return SHV_OK;
}

enum shv_status shv_cycle_run(const struct shv_cycle_engine *engine,
                              const struct shv_cycle_fuel *fuel,
                              const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                              const struct shv_cycle_trace *trace, struct shv_cycle_result *result,
                              struct shv_message *message)
{
    struct cycle_inputs in = {engine, fuel, knock, at};
    struct cycle c;
    enum shv_status status = cycle_check(&in, message);
    if (status != SHV_OK) {
        return status;
    }
    cycle_prepare(&c, &in);
    status = cycle_check_phasing(&c, at->ca50, message);
    if (status != SHV_OK) {
        return status;
    }
    *result = cycle_solve(&c, at->ca50, CYCLE_FIRST_GUESS);
    if (trace && result->outcome == SHV_CYCLE_DONE) {
        struct cycle_lane_in in_lane = input_of(&c, at->ca50, result->residual_temperature);
        struct cycle_lane_out out;
        struct shv_cycle_result same;
        cycle_alone(&c, &in_lane, &out, trace, &same);
    }
    return SHV_OK;
}

struct recording {
    struct shv_cycle_sample *sample; /* NULL: none yet, or no memory */
    size_t count, room;
};

static void record(void *data, const struct shv_cycle_sample *sample)
{
    struct recording *r = data;
    if (r->count == r->room) {
        r->room = 2 * r->room + 512;
        struct shv_cycle_sample *more =
            r->sample || r->count == 0 ? realloc(r->sample, r->room * sizeof *more) : NULL;
        if (!more) {
            free(r->sample);
        }
        r->sample = more;
    }
    if (r->sample) {
        r->sample[r->count] = *sample;
    }
    r->count++;
}

enum shv_status
shv_cycle_samples(const struct shv_cycle_engine *engine, const struct shv_cycle_fuel *fuel,
                  const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                  struct shv_cycle_sample **samples, size_t *count, struct shv_message *message)
{
    struct recording recording = {NULL, 0, 0};
    const struct shv_cycle_trace trace = {record, &recording};
    struct shv_cycle_result result;
    enum shv_status status = shv_cycle_run(engine, fuel, knock, at, &trace, &result, message);
    *samples = recording.sample;
    *count = recording.count;
    if (status == SHV_OK && recording.count == 0) {
        return shv_fail(message, SHV_NOTHING, "the closed cycle has no answer");
    }
    return status == SHV_OK && !recording.sample
               ? shv_fail(message, SHV_NO_MEMORY, "out of memory for the steps of the cycle")
               : status;
}
