/* A kit as hardware: whether its belt and bearings carry the load, how its rotors fare over a duty,
 * what it costs at cruise, in money and in mass. Equations: docs/model.md, sections 4, 11 and 12.
 *
 * What a study does not describe is not known: NAN in the results, and no limit of it acts.
 */
#ifndef SHEAVE_HARDWARE_H
#define SHEAVE_HARDWARE_H

#include "sheave/bypass.h"
#include "sheave/part.h"

/* ---- what a study says ---- */

/* A share of the time at one speed of the rev range and a share of full load. */
struct shv_duty_part {
    size_t speed; /* index into the engine's speeds */
    double time;  /* share; all sum to 1 */
    double load;  /* of the blower's power at full throttle, 0..1 */
};

/* How the engine is used. */
struct shv_use {
    struct shv_duty_part *duty; /* owned; NULL without one */
    size_t duty_parts;
    double full_throttle_time; /* s that the coolant loop has warmed up; INFINITY: to the end */
    bool cruises;              /* a cruise point is given; the rest is about it */
    size_t cruise_speed;       /* index into the engine's speeds */
    double cruise_pressure;    /* Pa in the manifold */
    double road_speed;         /* m/s; 0 when not given */
    double bsfc;               /* kg/J of the power that the rotors' drag adds */
};

/* The bypass valve as a part; bleeding is in study.h. */
struct shv_bypass_part {
    double area; /* m2 when open, discharge coefficient included; 0: not given */
    bool has_actuator;
    struct shv_bypass_actuator actuator;
    struct shv_worth worth;
};

/* Sums of price and mass that no choice changes, and what the manifold stands. */
struct shv_kit_base {
    struct shv_worth worth;  /* everything that is the same in every kit */
    struct shv_worth pulley; /* of each pulley */
    struct shv_worth manifold;
    double manifold_pressure;    /* Pa above ambient that it is rated for; INFINITY: not given */
    double manifold_temperature; /* K, likewise */
};

/* ---- what comes out ---- */

/* Of a whole kit; NAN where not known. */
struct shv_hardware {
    double price, mass;
    double pulley_diameter;         /* m, the smaller of both */
    double belt_length;             /* m at the pitch line */
    double crank_wrap, blower_wrap; /* rad */
    double belt_width;              /* m */
    double static_tension;          /* N of one side, given or needed */
    double bearing_life;            /* s, at the hardest site */
    double highest_hub_load;        /* N on the blower's nose, running or at rest */
    double over_continuous;         /* share of the duty with rotors above their continuous speed */
    struct shv_bypass_state cruise_open, cruise_shut; /* at the first site */
    double cruise_drag;                 /* W that the rotors take with the bypass open; shut without
                                         * one */
    struct shv_bypass_cost cruise_cost; /* of that */
};

#endif
