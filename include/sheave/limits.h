/* Limits: each a named quantity with an upper or a lower bound, a margin and the place where it is
 * tightest.
 */
#ifndef SHEAVE_LIMITS_H
#define SHEAVE_LIMITS_H

#include <stdint.h>

#include "sheave/units.h"

/* In the order in which a broken limit is looked for: a combination that breaks several is counted
 * under the first of them. What needs no solution of the match comes first. */
enum shv_limit {
    SHV_LIMIT_ROTOR_SPEED,
    SHV_LIMIT_BELT_SPEED,
    SHV_LIMIT_PISTON_SPEED,
    SHV_LIMIT_PRESSURE_RATIO,
    SHV_LIMIT_PRESSURE_RISE,
    SHV_LIMIT_BOOST,
    SHV_LIMIT_DISCHARGE_TEMPERATURE,
    SHV_LIMIT_CHARGE_TEMPERATURE,
    SHV_LIMIT_BLOWER_POWER,
    SHV_LIMIT_TORQUE,
    SHV_LIMIT_FUEL_FLOW,
    SHV_LIMIT_PHASING_RETARD,
    SHV_LIMIT_PEAK_PRESSURE,
    SHV_LIMIT_EXHAUST_TEMPERATURE,
    SHV_LIMIT_INJECTOR_DUTY,
    SHV_LIMIT_PUMP_FLOW,
    SHV_LIMIT_ROTOR_DUTY,
    SHV_LIMIT_CLEARANCE,
    SHV_LIMIT_MANIFOLD_PRESSURE,
    SHV_LIMIT_MANIFOLD_TEMPERATURE,
    SHV_LIMIT_COOLANT_TEMPERATURE,
    SHV_LIMIT_PULLEY_DIAMETER,
    SHV_LIMIT_BELT_SLIP,
    SHV_LIMIT_BELT_TENSION,
    SHV_LIMIT_HUB_LOAD,
    SHV_LIMIT_BEARING_LIFE,
    SHV_LIMIT_BYPASS_VACUUM,
    SHV_LIMIT_CRUISE_DRAG,
    SHV_LIMIT_PRICE,
    SHV_LIMIT_MASS,
    SHV_LIMIT_POWER,
    SHV_LIMIT_COUNT
};

/* A set of limits: bit i is limit i. */
typedef uint64_t shv_limit_set;
#define SHV_LIMIT_BIT(limit) (UINT64_C(1) << (limit))
#ifdef __cplusplus
static_assert(SHV_LIMIT_COUNT <= 64, "a bit for each limit");
#else
_Static_assert(SHV_LIMIT_COUNT <= 64, "a bit for each limit");
#endif

/* Why a point has no answer; also in the order in which they are looked for. */
enum shv_outcome {
    SHV_POINT_OK = 0,
    SHV_POINT_OUTSIDE_MAP,  /* beyond the measured points of the blower map */
    SHV_POINT_OUT_OF_RANGE, /* a temperature beyond 200..1000 K, where gas data end */
    SHV_POINT_NO_MATCH,     /* no pressure at which blower and engine flows agree */
    /* The closed cycle has no answer at this state of the charge, or the state lies beyond its
     * tables. Unlike the others it counts only where no limit is broken. */
    SHV_POINT_NO_CYCLE,
    SHV_OUTCOME_COUNT
};

/* What besides the study's limits may bound a quantity. */
enum shv_bounded_by {
    SHV_BY_STUDY,
    SHV_BY_BLOWER,
    SHV_BY_ENGINE, /* engine.knock */
    SHV_BY_INJECTOR,
    SHV_BY_PUMP,
    SHV_BY_BELT,
    SHV_BY_BYPASS,
    SHV_BY_MANIFOLD
};

struct shv_limit_info {
    const char *name;    /* "rotor_speed": key, and stem of the column names */
    const char *title;   /* "rotor speed": for sentences and tables */
    const char *meaning; /* one sentence */
    enum shv_quantity quantity;
    enum shv_bounded_by bounded_by; /* whose entry may bound it too; the stricter bound counts */
    bool at_least;                  /* a lower bound: the value must not be less */
    bool of_kit;                    /* a property of the whole kit, not of a site and speed */
};

/* Whether a limit is a formula of the kit that needs no solution: rotor, belt and piston speed. A
 * combination that breaks one is counted there, before failures and other limits. */
bool shv_limit_is_formula(enum shv_limit limit);
/* Whether a value breaks a bound of this limit. False for NAN. */
bool shv_limit_breaks(enum shv_limit limit, double value, double bound);
/* The table of limits, indexed by enum shv_limit. */
const struct shv_limit_info *shv_limit_info(enum shv_limit limit);
/* "outside_map" and so on: name for files; and a sentence. */
const char *shv_outcome_name(enum shv_outcome outcome);
const char *shv_outcome_meaning(enum shv_outcome outcome);

/* The span over which a margin is judged, so that limits in different units can be compared: the
 * bound itself; for a pressure ratio its rise above 1; for a temperature its rise above site
 * ambient. */
double shv_limit_span(enum shv_limit limit, double bound, double ambient_temperature);

#endif
