/* The fuel system: whether injectors and pump carry the fuel that an engine burns.
 * Equations and sources: docs/model.md, sections 10.5 to 10.7.
 *
 * SI throughout: kg, m3, s, Pa, rev/s. Pressures of the air are absolute, that of the rail is
 * gauge.
 *
 * Two channels (status.h): a status other than SHV_OK means input outside its range; a system that
 * cannot carry the fuel is an outcome, and its numbers say by how much.
 */
#ifndef SHEAVE_FUEL_SYSTEM_H
#define SHEAVE_FUEL_SYSTEM_H

#include "sheave/curve.h"
#include "sheave/part.h"

/* What the pressure regulator holds the rail above. */
enum shv_rail_reference { SHV_RAIL_AMBIENT, SHV_RAIL_MANIFOLD };

struct shv_injectors {
    size_t count;          /* of the engine, at least 1; each injects once in two turns */
    double rated_flow;     /* m3/s of one, held open, of the test fluid, above 0 */
    double rated_pressure; /* Pa across it at rated_flow, above 0 */
    double test_density;   /* kg/m3 of the test fluid, above 0; 684 for n-heptane at 20 C */
    double dead_time;      /* s of the pulse that pass no fuel, 0 or more */
    double max_duty;       /* largest share of the time held open, above 0, at most 1 */
    double rail_pressure;  /* Pa above the reference, above 0 */
    enum shv_rail_reference reference;
};

/* What the engine asks of them. */
struct shv_fuel_demand {
    double speed;        /* rev/s of a four-stroke engine, above 0 */
    double fuel_flow;    /* kg/s, all cylinders, above 0 */
    double fuel_density; /* kg/m3, above 0 */
    double ambient;      /* Pa, absolute, above 0 */
    double manifold;     /* Pa, absolute, above 0 */
};

enum shv_injection_outcome {
    SHV_INJECTION_DONE,
    SHV_INJECTION_DUTY,       /* duty is above max_duty */
    SHV_INJECTION_NO_PRESSURE /* the manifold's pressure is that of the rail or higher: no flow */
};

/* An injector of the catalogue, in one or several sizes. */
struct shv_injector_part {
    char *name;            /* owned */
    bool is_unlimited;     /* stands for "no injectors named": no duty, no limit */
    size_t choices;        /* sizes */
    double *rated_flow;    /* m3/s of the test fluid at rated_pressure, ascending, owned */
    double rated_pressure; /* Pa */
    double test_density;   /* kg/m3 */
    double dead_time;      /* s */
    double max_duty;
    struct shv_worth worth; /* of one injector */
};

/* The rail that feeds the injectors. */
struct shv_fuel_rail {
    double pressure; /* Pa above the reference */
    enum shv_rail_reference reference;
    int injectors_per_cylinder;
};

/* At one speed. With SHV_INJECTION_NO_PRESSURE pulse and duty are INFINITY, flows 0. */
struct shv_injection {
    enum shv_injection_outcome outcome;
    double pressure;        /* Pa across the injector, rail minus manifold; may be negative */
    double static_flow;     /* kg/s of one injector, held open */
    double pulse;           /* s, dead time included */
    double duty;            /* pulse over the time of two turns */
    double most_fuel;       /* kg/s that all give at max_duty; 0 when dead time takes it up */
    double pressure_needed; /* Pa across the injector that brings duty to max_duty; INFINITY when
                             * dead time alone is longer */
    double rail_needed;     /* Pa above the reference, for pressure_needed */
};

/* kg/s of one injector held open: rated_flow sqrt(test_density fuel_density) sqrt(pressure /
 * rated_pressure), the orifice equation of a liquid with a constant discharge coefficient (any text
 * on fluid mechanics); 0 when pressure is 0 or less. */
double shv_injector_static_flow(const struct shv_injectors *injectors, double pressure,
                                double fuel_density);

/* kg/s that one injector, held open, must pass so that all give `fuel_flow` at max_duty; INFINITY
 * when dead time alone is longer. Speed in rev/s. */
double shv_injector_flow_needed(const struct shv_injectors *injectors, double fuel_flow,
                                double speed);

/* Fills `injection`. SHV_BAD_INPUT when a value lies outside its range (the message names it). */
enum shv_status shv_injection_at(const struct shv_injectors *injectors,
                                 const struct shv_fuel_demand *demand,
                                 struct shv_injection *injection, struct shv_message *message);

struct shv_fuel_pump {
    struct shv_curve_table flow; /* m3/s over the pressure rise across the pump, Pa; owned */
    double line_loss;            /* Pa between pump and rail, 0 or more */
};

/* A pump of the catalogue. */
struct shv_pump_part {
    char *name;        /* owned */
    bool is_unlimited; /* stands for "no pump named" */
    struct shv_fuel_pump pump;
    struct shv_worth worth;
};

/* Copies a curve of count >= 1 points, pressure rising, flow not rising and not negative, so that
 * the interpolation (curve.h) does not rise either. SHV_BAD_INPUT or SHV_NO_MEMORY; on failure the
 * pump is empty. */
enum shv_status shv_fuel_pump_init(struct shv_fuel_pump *pump, size_t count, const double *pressure,
                                   const double *flow, double line_loss,
                                   struct shv_message *message);
/* Frees; safe on a zeroed struct. */
void shv_fuel_pump_free(struct shv_fuel_pump *pump);

enum shv_pump_outcome {
    SHV_PUMP_DONE,
    SHV_PUMP_SHORT,       /* gives less than is burnt */
    SHV_PUMP_BEYOND_CURVE /* the pressure lies above the last point of the curve: flow is not known
                           */
};

struct shv_pumping {
    enum shv_pump_outcome outcome;
    double pressure; /* Pa across the pump: rail over ambient, and line loss */
    double flow;     /* kg/s it gives at that pressure; NAN beyond the curve. Below the first point
                      * the flow of the first point, which the pump gives at least. */
    double margin;   /* flow over fuel burnt, minus 1; NAN beyond the curve */
};

/* Fills `pumping` for the rail of `injectors`; the tank is at ambient pressure. A regulator that
 * refers to the manifold makes the pump work against boost. SHV_BAD_INPUT as in shv_injection_at,
 * and for an empty pump. */
enum shv_status shv_pumping_at(const struct shv_fuel_pump *pump,
                               const struct shv_injectors *injectors,
                               const struct shv_fuel_demand *demand, struct shv_pumping *pumping,
                               struct shv_message *message);

/* Fuel burnt, told by mass and by volume. */
struct shv_consumption {
    double mass_flow;       /* kg/s */
    double volume_flow;     /* m3/s */
    double mass_per_hour;   /* kg */
    double volume_per_hour; /* m3 */
    double specific_mass;   /* kg/J of brake work (1 g/kWh = 1e-3 / 3.6e6 kg/J); NAN when brake
                             * power is 0 or less */
    double specific_volume; /* m3/J, likewise */
};

/* Of fuel_flow, kg/s, fuel_density, kg/m3 above 0, and brake_power, W. */
struct shv_consumption shv_consumption_of(double fuel_flow, double fuel_density,
                                          double brake_power);

#endif
