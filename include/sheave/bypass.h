/* Part load of a blower behind the throttle: what the bypass valve saves, how large it has to be,
 * what its actuator does. Equations, sources and what is left out: docs/model.md, section 11.
 *
 * SI throughout, absolute pressures. Powers are those of the rotor shaft unless a name says
 * otherwise. A vacuum is how far a pressure lies below the ambient one.
 *
 * A cruise point that no throttle brings about is an outcome. Input lies within the ranges given
 * here, as reading a study sees to. Nothing is allocated.
 */
#ifndef SHEAVE_BYPASS_H
#define SHEAVE_BYPASS_H

#include "sheave/air.h"
#include "sheave/blower.h"
#include "sheave/status.h"

/* ---- the cruise point ---- */

/* Throttle, rotors with the bypass valve around them, manifold. The charge cooler's pressure drop
 * is neglected. */
struct shv_bypass_cruise {
    struct shv_gas gas;
    const struct shv_blower *blower; /* not owned */
    double rotor_speed;              /* rev/s, above 0 */
    double pressure_ahead; /* Pa ahead of the throttle: ambient less the filter's drop, above 0 */
    double temperature;    /* K of the fresh air, SHV_GAS_T_MIN..SHV_GAS_T_MAX */
    double manifold_pressure; /* Pa, above 0 */
    double engine_flow;       /* kg/s that the engine draws at that pressure, above 0 */
};

enum shv_bypass_outcome {
    SHV_BYPASS_SOLVED,
    SHV_BYPASS_STARVED, /* not even a wide open throttle lets so much through; numbers are NAN */
    SHV_BYPASS_OUTSIDE_MAP, /* pressure ratio or speed beyond the map; numbers are those of its
                             * nearest edge and no answer */
    SHV_BYPASS_OUT_OF_RANGE /* a temperature beyond SHV_GAS_T_MIN..SHV_GAS_T_MAX */
};

struct shv_bypass_state {
    enum shv_bypass_outcome outcome;
    double inlet_pressure;        /* Pa behind the throttle, at the rotors' inlet, p1 */
    double pressure_drop;         /* Pa across the valve, p2 - p1; negative when the engine draws
                                   * through it past the rotors */
    double inlet_temperature;     /* K, T1: fresh and recirculated gas mixed */
    double discharge_temperature; /* K at the rotors' outlet, T2 */
    double manifold_temperature;  /* K ahead of a charge cooler; differs from T2 only where the
                                   * engine draws past the rotors */
    double blower_flow;           /* kg/s, net of leakage */
    double recirculated;          /* kg/s back through the valve; negative: past the rotors to the
                                   * engine. blower_flow = engine_flow + recirculated */
    double leakage_flow;          /* kg/s back through the clearances; negative when p1 > p2 */
    double gas_power;             /* W; negative when p1 > p2: the gas drives the rotors */
    double windage_power;         /* W */
    double friction_power;        /* W, bearings, gears, seals */
    double shaft_power;           /* W, the sum: the rotors' drag */
    double clearance_left;        /* as in blower.h */
};

/* Fills `state` for a valve that is open by `area` m2 (0: shut). Of several answers, which strongly
 * closing clearances can bring about, the one with the highest inlet pressure counts: the first
 * that a closing throttle meets. */
void shv_bypass_at(const struct shv_bypass_cruise *cruise, double area,
                   struct shv_bypass_state *state);

enum shv_bypass_sizing_outcome {
    SHV_BYPASS_AREA_FOUND,
    SHV_BYPASS_SHUT_DOES, /* the drag is not above what is wanted without any opening */
    SHV_BYPASS_NONE_DOES, /* windage and bearings alone are more than what is wanted */
    SHV_BYPASS_UNSOLVED   /* no answer, shut or at that area; `state` says why */
};

struct shv_bypass_sizing {
    enum shv_bypass_sizing_outcome outcome;
    double area;                   /* m2; NAN unless found */
    double shut_drag;              /* W */
    double least_drag;             /* W, at an area without noticeable drop */
    struct shv_bypass_state state; /* at `area`; shut when that does or is starved; at the largest
                                    * area when none does */
};

/* Smallest area at which the rotors take no more than `drag` W, above 0, by bracketing over area.
 */
void shv_bypass_area_for(const struct shv_bypass_cruise *cruise, double drag,
                         struct shv_bypass_sizing *sizing);

/* ---- what drag costs ---- */

struct shv_bypass_rates {
    double drive_efficiency; /* shaft over crank power of the belt, above 0, at most 1 */
    double bsfc; /* kg/J of the power that is added, above 0; see docs/model.md, section 11 */
    double fuel_density; /* kg/m3, above 0 */
    double road_speed;   /* m/s, 0 or more; 0 when the distance does not matter */
};

struct shv_bypass_cost {
    double crank_power;       /* W; a negative drag gives back less than it is */
    double fuel_flow;         /* kg/s */
    double litres_per_hour;   /* of fuel */
    double litres_per_100_km; /* of fuel; NAN at road_speed 0 */
};

/* Fuel that `drag` W at the rotor shaft costs; NAN of a drag that is not known. */
struct shv_bypass_cost shv_bypass_cost(double drag, const struct shv_bypass_rates *rates);

/* ---- the actuator ---- */

/* Vacuum on a diaphragm pulls the valve open against a spring. */
struct shv_bypass_spring {
    double diaphragm_area; /* m2, effective, above 0 */
    double preload;        /* N with the valve shut, 0 or more */
    double rate;           /* N/m, 0 or more */
    double travel;         /* m from shut to open, 0 or more */
};

struct shv_bypass_actuator {
    double starts;   /* Pa of vacuum at which it starts to open, 0 or more */
    double finishes; /* Pa at which it is fully open, not below `starts` */
};

/* starts = preload / area, finishes = (preload + rate travel) / area. */
struct shv_bypass_actuator shv_bypass_actuator_of(const struct shv_bypass_spring *spring);

#endif
