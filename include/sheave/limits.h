/* Limits: each a named quantity with an upper or a lower bound, a margin and the place where it is
 * tightest. All that is said of a limit stands in its row of src/study/limits.c.
 */
#ifndef SHEAVE_LIMITS_H
#define SHEAVE_LIMITS_H

#include <stdint.h>

#include "sheave/units.h"

struct shv_hardware;
struct shv_kit;
struct shv_point;
struct shv_study;

/* In the order in which a broken limit is looked for: a combination that breaks several is counted
 * under the first of them. What needs no solution of the match comes first; then what only the flow
 * of air decides; what the burn decides; injectors and pump; the kit as hardware. */
enum shv_limit {
    SHV_LIMIT_ROTOR_SPEED,
    SHV_LIMIT_BELT_SPEED,
    SHV_LIMIT_PISTON_SPEED,
    SHV_LIMIT_FORMULA_COUNT,
    SHV_LIMIT_PRESSURE_RATIO = SHV_LIMIT_FORMULA_COUNT,
    SHV_LIMIT_PRESSURE_RISE,
    SHV_LIMIT_BOOST,
    SHV_LIMIT_DISCHARGE_TEMPERATURE,
    SHV_LIMIT_CHARGE_TEMPERATURE,
    SHV_LIMIT_BLOWER_POWER,
    SHV_LIMIT_AIR_COUNT,
    SHV_LIMIT_TORQUE = SHV_LIMIT_AIR_COUNT,
    SHV_LIMIT_FUEL_FLOW,
    SHV_LIMIT_PHASING_RETARD,
    SHV_LIMIT_PEAK_PRESSURE,
    SHV_LIMIT_EXHAUST_TEMPERATURE,
    SHV_LIMIT_BURN_COUNT,
    SHV_LIMIT_INJECTOR_DUTY = SHV_LIMIT_BURN_COUNT,
    SHV_LIMIT_PUMP_FLOW,
    SHV_LIMIT_SUPPLY_COUNT,
    SHV_LIMIT_ROTOR_DUTY = SHV_LIMIT_SUPPLY_COUNT,
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

/* What a study must describe for a limit to have a meaning. */
enum shv_need {
    SHV_NEEDS_NOTHING,
    SHV_NEEDS_CYCLE,
    SHV_NEEDS_INJECTORS,
    SHV_NEEDS_PUMPS,
    SHV_NEEDS_BELT,
    SHV_NEEDS_BEARING,
    SHV_NEEDS_CONTINUOUS_SPEED,
    SHV_NEEDS_ACTUATOR,
    SHV_NEEDS_CRUISE,
    SHV_NEEDS_COOLER,
    SHV_NEEDS_COUNT
};

/* Over what a margin is judged, so that limits in different units can be compared. */
enum shv_span {
    SHV_SPAN_BOUND,        /* the bound itself */
    SHV_SPAN_ABOVE_ONE,    /* of a ratio its rise above 1 */
    SHV_SPAN_BELOW_ONE,    /* of a share what it may lose */
    SHV_SPAN_ABOVE_AMBIENT /* of a temperature its rise above site ambient */
};

/* How a value is shown where its quantity alone does not tell. */
enum shv_shown { SHV_SHOWN_PLAIN, SHV_SHOWN_PERCENT, SHV_SHOWN_MONEY, SHV_SHOWN_VACUUM };

#define SHV_NO_PLACE SIZE_MAX

struct shv_limit_info {
    const char *name;    /* "rotor_speed": key, and stem of the column names */
    const char *title;   /* "rotor speed": for sentences and tables */
    const char *meaning; /* one sentence */
    enum shv_quantity quantity;
    enum shv_shown shown;
    bool at_least;  /* a lower bound: the value must not be less */
    double least;   /* a bound in a study must be above this, */
    double most;    /* and at most this; 0: any */
    double step[2]; /* SI, a useful change of the bound, by enum shv_unit_system */
    enum shv_span span;
    enum shv_need needs;
    /* Where the value lies: offset in struct shv_point; of a property of the whole kit, not of a
     * site and speed, in struct shv_hardware, or SHV_NO_PLACE where it is made of all points. */
    bool of_kit;
    size_t place;
    size_t less;      /* offset of what is taken off it; 0: nothing */
    bool bypass_shut; /* known only where the blower keeps up */
    bool of_supply;   /* injectors, pump and belt have a say in it */
    bool of_crank;    /* hangs on the crank pulley even at the same ratio */
    /* Whose entry may bound it too, and the stricter of a study's bound and that one. */
    enum shv_bounded_by bounded_by;
    double (*stricter)(const struct shv_study *study, const struct shv_kit *kit, double bound);
};

/* Whether a limit is a formula of the kit that needs no solution: rotor, belt and piston speed. A
 * combination that breaks one is counted there, before failures and other limits. */
bool shv_limit_is_formula(enum shv_limit limit);
/* Whether a value breaks a bound of this limit. False for NAN. */
bool shv_limit_breaks(enum shv_limit limit, double value, double bound);
/* The table of limits, indexed by enum shv_limit. */
SHV_API const struct shv_limit_info *shv_limit_info(enum shv_limit limit);
/* "outside_map" and so on: name for files; and a sentence. */
SHV_API const char *shv_outcome_name(enum shv_outcome outcome);
SHV_API const char *shv_outcome_meaning(enum shv_outcome outcome);

/* The bound that counts for a kit: the stricter of the study's and that of its parts; SI, infinite
 * for none. */
double shv_limit_bound(const struct shv_study *study, const struct shv_kit *kit,
                       enum shv_limit limit);
/* How much lower the bound of phasing retard is at a speed, rev/s, than the most that it is at any:
 * 0 unless the study gives a curve. */
double shv_limit_retard_less(const struct shv_study *study, double speed);
/* The lowest and the highest of what bounds some kit of a study; false when nothing bounds any. */
bool shv_limit_bounds(const struct shv_study *study, enum shv_limit limit, double *low,
                      double *high);
/* Value of a limited quantity, SI; NAN where it is not known: at a point, unless it is a property
 * of the whole kit, and of a kit as hardware, if it is one. */
double shv_point_limit_value(const struct shv_point *point, enum shv_limit limit);
double shv_hardware_limit_value(const struct shv_hardware *hardware, enum shv_limit limit);
/* The span over which a margin is judged (enum shv_span), never 0. */
double shv_limit_span(enum shv_limit limit, double bound, double ambient_temperature);

#endif
