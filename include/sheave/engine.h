/* The engine: breathing, friction, and the stock engine that ties the model to a dyno curve.
 * Equations: docs/model.md, sections 2, 6, 8 and 9.
 */
#ifndef SHEAVE_ENGINE_H
#define SHEAVE_ENGINE_H

#include "sheave/air.h"
#include "sheave/curve.h"
#include "sheave/cycle.h"

/* A flow loss: drop = pressure_drop (m / flow)^2 (density / actual density). */
struct shv_loss {
    double pressure_drop; /* Pa at the reference; 0 = no loss */
    double flow;          /* kg/s */
    double density;       /* kg/m3 */
};

/* Exhaust valve to ambient: docs/model.md, section 6. */
struct shv_exhaust {
    double pressure_drop; /* Pa to an ambient of 101325 Pa; 0 = no loss */
    double flow;          /* kg/s of air, at which it holds */
    double temperature;   /* K of its gas then, at full throttle with air of the stock conditions */
};

enum shv_friction_kind {
    SHV_FRICTION_CHEN_FLYNN, /* at rest + per peak pmax + per speed Sp + per speed squared Sp^2 */
    SHV_FRICTION_EFFICIENCY  /* brake = mechanical_efficiency * (indicated + pumping) */
};

struct shv_friction {
    enum shv_friction_kind kind;
    double fmep_at_rest;             /* Pa, mean effective pressure of friction */
    double per_peak_pressure;        /* Pa per Pa of peak cylinder pressure */
    double per_piston_speed;         /* Pa s/m of mean piston speed */
    double per_piston_speed_squared; /* Pa s2/m2 */
    double peak_pressure_ratio;   /* peak cylinder over manifold pressure, assumed for this term */
    double mechanical_efficiency; /* SHV_FRICTION_EFFICIENCY */
};

enum shv_efficiency_kind {
    SHV_EFFICIENCY_STOCK_TORQUE, /* from the stock torque curve, at each speed */
    SHV_EFFICIENCY_CONSTANT,     /* given */
    SHV_EFFICIENCY_FREE_AIR,     /* indicated power per flow of free air, as textbooks give it */
    SHV_EFFICIENCY_CYCLE         /* from the closed cycle with its knock-limited phasing */
};

struct shv_engine {
    char *name; /* owned */
    int cylinders;
    double bore, stroke; /* m */
    double displacement; /* m3, all cylinders */
    double compression_ratio;
    double *speeds; /* rev/s, ascending: the points of the rev range, owned */
    size_t speed_count;
    struct shv_curve_table volumetric_efficiency; /* over rev/s */
    struct shv_curve_table stock_torque;          /* N m over rev/s; empty if not needed */
    /* deg over rev/s that the maker's ignition makes the stock engine burn later than best */
    struct shv_curve_table stock_retard;
    double reference_temperature; /* K of the charge at which the curve holds */
    bool residual_correction;     /* whether pe/pm acts on volumetric efficiency */
    double residual_gamma;
    double pumping_share;   /* share of (pm - pe) Vd counted as pumping work */
    struct shv_loss intake; /* the stock engine's, filter to manifold */
    struct shv_exhaust exhaust;
    struct shv_friction friction;
    enum shv_efficiency_kind efficiency_kind;
    double indicated_efficiency; /* SHV_EFFICIENCY_CONSTANT */
    double power_per_free_air;   /* J/m3, SHV_EFFICIENCY_FREE_AIR */
    struct shv_ambient stock;    /* conditions of the stock curves */
    size_t stock_fuel;           /* index into the study's fuels */
    double stock_lambda;
    struct shv_cycle_engine cycle; /* SHV_EFFICIENCY_CYCLE; bore, stroke and ratio as above */
    struct shv_cycle_knock knock;
};

/* Relative breathing by the residual gas of the ideal four-stroke cycle (Heywood 1988, ch. 5/6):
 * r/(r-1) - ((pe/pm) + (g-1)) / (g (r-1)). Exactly 1 at pe = pm. */
double shv_engine_residual_factor(double compression_ratio, double exhaust_over_manifold,
                                  double gamma);

/* Mean piston speed, m/s, from stroke (m) and speed (rev/s). */
double shv_engine_piston_speed(double stroke, double speed);

/* Friction mean effective pressure, Pa, of the Chen-Flynn kind (SAE 650733), from peak cylinder
 * pressure (Pa) and mean piston speed (m/s). */
double shv_engine_fmep(const struct shv_friction *friction, double peak_pressure,
                       double piston_speed);

#endif
