/* Inputs of the closed cycle for tests: the defaults, and ways to strip a cycle down to what has a
 * closed form. */
#ifndef SHEAVE_TESTS_SUPPORT_CYCLE_FIXTURE_H
#define SHEAVE_TESTS_SUPPORT_CYCLE_FIXTURE_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "model/cylinder/cycle_lanes.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

#define assert_within(value, expected, tolerance)                                                  \
    do {                                                                                           \
        double within_v = (value), within_e = (expected), within_t = (tolerance);                  \
        if (!(fabs(within_v - within_e) <= within_t)) {                                            \
            fail_msg("%s = %.17g is not %.17g within %g", #value, within_v, within_e, within_t);   \
        }                                                                                          \
    } while (0)

#define assert_relative(value, expected, tolerance)                                                \
    assert_within(value, expected, (tolerance)*fabs(expected))

#define assert_less(a, b)                                                                          \
    do {                                                                                           \
        double less_a = (a), less_b = (b);                                                         \
        if (!(less_a < less_b)) {                                                                  \
            fail_msg("%s = %.17g is not less than %s = %.17g", #a, less_a, #b, less_b);            \
        }                                                                                          \
    } while (0)

struct cycle_case {
    struct shv_cycle_engine engine;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_knock knock;
    struct shv_cycle_case at;
    /* Pa at inlet closing, with residual gas of 1150 K: sets the air drawn in; NAN: as given. */
    double pressure;
};

/* m3 */
static inline double volume_at(const struct shv_cycle_engine *e, double angle)
{
    double swept = 0.25 * CYCLE_PI * e->bore * e->bore * e->stroke;
    return cycle_place_at(e, swept / (e->compression_ratio - 1.0), angle).volume;
}

static inline struct cycle_case usual_case(void)
{
    struct cycle_case u;
    shv_cycle_defaults(&u.engine, &u.fuel, &u.knock, &u.at);
    u.pressure = 101325.0;
    return u;
}

/* No wall heat, no residual gas, valves at bottom dead centre, nothing warms or cools the charge,
 * and the octane number is RON. */
static inline struct cycle_case bare_case(void)
{
    struct cycle_case u = usual_case();
    u.engine.inlet_closing = -180.0;
    u.engine.exhaust_opening = 180.0;
    u.engine.heat_factor = 0.0;
    u.engine.charge_heating = 0.0;
    u.engine.evaporated_share = 0.0;
    u.knock.weight_slope = u.knock.humidity_slope = 0.0;
    u.at.residual_share = 0.0;
    u.at.combustion_efficiency = 1.0;
    return u;
}

/* A cycle that begins with residual gas of a temperature. */
static inline struct shv_cycle_result alone_of(const struct cycle *c, double residual, bool *valid)
{
    struct cycle_lane_in in = {.exhaust_pressure = {c->in.at->exhaust_pressure},
                               .charge_temperature = {c->in.at->charge_temperature},
                               .fresh_enthalpy = {c->fresh_enthalpy},
                               .fresh_mass = {c->fresh_mass},
                               .efficiency = {c->efficiency},
                               .ca50 = {c->in.at->ca50},
                               .residual = {residual}};
    struct cycle_lane_out out;
    struct shv_cycle_result result;
    cycle_alone(c, &in, &out, NULL, &result);
    *valid = out.valid[0] > 0.0;
    return result;
}

/* The case with the air that brings about its pressure at inlet closing. */
static inline struct shv_cycle_case drawn_case(const struct cycle_case *u)
{
    struct shv_cycle_case at = u->at;
    for (int i = 0; i < 60 && !isnan(u->pressure); i++) {
        struct cycle_inputs in = {&u->engine, &u->fuel, &u->knock, &at};
        struct cycle c;
        cycle_prepare(&c, &in);
        bool valid;
        double had = at.air_mass;
        at.air_mass *= u->pressure / alone_of(&c, 1150.0, &valid).ivc_pressure;
        if (fabs(at.air_mass - had) <= 1e-16 * had) {
            break;
        }
    }
    return at;
}

static inline struct shv_cycle_result run_case(const struct cycle_case *u)
{
    struct shv_cycle_result r;
    struct shv_message message = {{0}};
    struct shv_cycle_case at = drawn_case(u);
    if (shv_cycle_run(&u->engine, &u->fuel, &u->knock, &at, NULL, &r, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return r;
}

static inline struct shv_cycle_result limit_case(const struct cycle_case *u)
{
    struct shv_cycle_result r;
    struct shv_message message = {{0}};
    struct shv_cycle_case at = drawn_case(u);
    if (shv_cycle_knock_limit(&u->engine, &u->fuel, &u->knock, &at, &r, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return r;
}

/* ---- trace ---- */

struct recording {
    struct shv_cycle_sample *samples; /* owned */
    size_t count, room;
};

static inline void record(void *data, const struct shv_cycle_sample *sample)
{
    struct recording *r = data;
    if (r->count == r->room) {
        r->room = r->room ? 2 * r->room : 1024;
        r->samples = realloc(r->samples, r->room * sizeof *r->samples);
        assert_non_null(r->samples);
    }
    r->samples[r->count++] = *sample;
}

static inline struct recording record_case(const struct cycle_case *u, struct shv_cycle_result *r)
{
    struct recording recording = {0};
    struct shv_cycle_trace trace = {record, &recording};
    struct shv_message message = {{0}};
    struct shv_cycle_case at = drawn_case(u);
    if (shv_cycle_run(&u->engine, &u->fuel, &u->knock, &at, &trace, r, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_int_equal(r->outcome, SHV_CYCLE_DONE);
    return recording;
}

#endif
