/* The fuel system: whether injectors and pump carry the fuel that an engine burns.
 * Equations and sources: docs/model.md, sections 10.5 and 10.6.
 *
 * SI throughout: kg, m3, s, Pa, rev/s. Pressures of the air are absolute, that of the rail is
 * gauge.
 */
#ifndef SHEAVE_FUEL_SYSTEM_H
#define SHEAVE_FUEL_SYSTEM_H

#include "sheave/curve.h"
#include "sheave/part.h"

/* What the pressure regulator holds the rail above. */
enum shv_rail_reference { SHV_RAIL_AMBIENT, SHV_RAIL_MANIFOLD };

/* An injector of the catalogue, in one or several sizes. */
struct shv_injector_part {
    char *name;                    /* owned */
    bool is_unlimited;             /* stands for "no injectors named": no duty, no limit */
    struct shv_numbers rated_flow; /* sizes, m3/s of the test fluid at rated_pressure */
    double rated_pressure;         /* Pa */
    double test_density;           /* kg/m3 */
    double dead_time;              /* s */
    double max_duty;
    struct shv_worth worth; /* of one injector */
};

/* The rail that feeds the injectors. */
struct shv_fuel_rail {
    double pressure; /* Pa above the reference */
    enum shv_rail_reference reference;
    int injectors_per_cylinder;
};

/* kg/s of one injector of `rated_flow` (m3/s) held open: rated_flow sqrt(test_density fuel_density)
 * sqrt(pressure / rated_pressure), the orifice equation of a liquid with a constant discharge
 * coefficient (any text on fluid mechanics); 0 when the pressure across it, Pa, is 0 or less. */
double shv_injector_static_flow(const struct shv_injector_part *part, double rated_flow,
                                double pressure, double fuel_density);

/* What injectors are asked for at a speed. */
struct shv_injection {
    double count;        /* injectors of the engine; each injects once in two turns */
    double speed;        /* rev/s */
    double fuel_flow;    /* kg/s, all cylinders */
    double fuel_density; /* kg/m3 */
    double pressure;     /* Pa across the injector, rail minus manifold */
};

/* Share of the time that injectors of `rated_flow` are held open, dead time included; INFINITY
 * where no pressure is left across them. */
double shv_injector_duty(const struct shv_injector_part *part, double rated_flow,
                         const struct shv_injection *at);

struct shv_fuel_pump {
    /* m3/s over the pressure rise across the pump, Pa, which it does not rise with, so that the
     * interpolation does not either; owned */
    struct shv_curve_table flow;
    double line_loss; /* Pa between pump and rail, 0 or more */
};

/* A pump of the catalogue. */
struct shv_pump_part {
    char *name;        /* owned */
    bool is_unlimited; /* stands for "no pump named" */
    struct shv_fuel_pump pump;
    struct shv_worth worth;
};

/* kg/s that the pump gives at a pressure rise across it, Pa; 0 beyond its curve. Below the first
 * point of the curve the flow of that point, which the pump gives at least. */
double shv_fuel_pump_flow(const struct shv_fuel_pump *pump, double pressure, double fuel_density);

#endif
