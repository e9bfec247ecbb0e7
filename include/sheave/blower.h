/* The blower: mass flow, discharge temperature and shaft power from the state at its inlet, its
 * speed and the pressure at its outlet. Equations: docs/model.md, section 3.
 */
#ifndef SHEAVE_BLOWER_H
#define SHEAVE_BLOWER_H

#include "sheave/air.h"
#include "sheave/curve.h"
#include "sheave/part.h"

struct shv_units; /* sheave/units.h */

enum shv_blower_kind { SHV_BLOWER_GEOMETRY, SHV_BLOWER_MAP };

/* A blower described by what can be measured on the bench. */
struct shv_blower_geometry {
    double leakage_area;         /* m2, discharge coefficient included, at assembly temperature */
    double closing_rate;         /* 1/K: A = leakage_area * (1 - closing_rate (T2 - assembly)) */
    double assembly_temperature; /* K */
    double volume_ratio;         /* built-in volume ratio; 1 is the classic Roots */
    double filling_loss;         /* loss of filling at reference_speed: 1 - loss (n/n_ref)^2 */
    double reference_speed;      /* rev/s, for filling loss and windage */
    double case_loss;            /* share of the heat put into the gas that leaves by the case */
};

/* One speed line of a map. Both tables run over the total pressure ratio p2/p1. */
struct shv_speed_line {
    double corrected_speed;                       /* rev/s at the map's reference temperature */
    struct shv_curve_table volumetric_efficiency; /* delivered volume at inlet / swept volume */
    struct shv_curve_table isentropic_efficiency; /* isentropic over actual enthalpy rise */
};

/* A blower described by a measured map. */
struct shv_blower_map {
    double reference_pressure;    /* Pa, at which the map was measured */
    double reference_temperature; /* K; corrected speed = n sqrt(reference_temperature / T1) */
    size_t lines;
    struct shv_speed_line *line; /* ascending in corrected speed, owned */
    /* Correction of what was measured, 0 for none: so much of the share of swept volume that is not
     * delivered is lost besides, at the same work of the rotors. */
    double slip_added;
};

struct shv_blower {
    char *name; /* owned */
    enum shv_blower_kind kind;
    double displacement;                 /* m3 swept per rotor revolution */
    double step_up;                      /* rotor turns per turn of the blower pulley */
    double friction_torque;              /* N m at the rotor shaft: bearings, gears, seals */
    double windage_torque;               /* N m at reference_speed, rising with speed squared */
    double windage_reference_speed;      /* rev/s */
    double max_speed;                    /* rev/s; INFINITY when not limited (likewise below) */
    double max_pressure_ratio;           /* p2/p1 */
    double max_pressure_rise;            /* Pa, p2 - p1 */
    double max_discharge_temperature;    /* K */
    struct shv_blower_geometry geometry; /* SHV_BLOWER_GEOMETRY */
    struct shv_blower_map map;           /* SHV_BLOWER_MAP */
    double continuous_speed;             /* rev/s that it stands for good; 0: not given */
    double least_clearance; /* share of the assembly clearance that must be left; 0: they must not
                             * touch */
    double max_hub_load;    /* N on its nose; 0: not given */
    struct shv_nose_bearing bearing;
    struct shv_worth worth;
};

/* What the blower does at one state. */
struct shv_blower_state {
    double flow;                  /* kg/s delivered to the outlet, net of leakage */
    double filled_flow;           /* kg/s taken up by the rotors (equals flow for a map) */
    double leakage_flow;          /* kg/s back to the inlet (0 for a map) */
    double discharge_temperature; /* K, of the gas delivered */
    double gas_power;             /* W put into the gas by compression */
    double friction_power;        /* W, bearings, gears and seals; does not heat the gas */
    double windage_power;         /* W, heats the gas */
    double case_heat;             /* W lost through the case */
    double shaft_power;           /* W at the rotor shaft */
    double volumetric_efficiency; /* flow / (rho1 Vs n) */
    double isentropic_efficiency; /* isentropic enthalpy rise of the flow / shaft power */
    double clearance_left;        /* share of the assembly leakage area left, 0 = rotors touch */
    bool outside_map;             /* pressure ratio or corrected speed beyond the map's points */
};

/* Work done on the gas per revolution, J: p1 Vs [(vi^(g-1) - 1)/(g-1) - 1] + p2 Vs / vi. With vi =
 * 1 the Roots rectangle (p2 - p1) Vs. Eastop and McConkey, Applied Thermodynamics, ch. 12. */
double shv_blower_work_per_revolution(double displacement, double volume_ratio, double gamma,
                                      double inlet_pressure, double outlet_pressure);

/* State of a blower with inlet p1 (Pa), T1 (K), rotor speed (rev/s) and outlet p2 (Pa), p2 >= p1.
 * For the geometry kind the discharge temperature follows from the energy balance of the net flow
 * and is found by bracketing; numbers that hang on it are NAN where so much leaks that nothing is
 * left. A point outside a map has `outside_map` set and the
 * values of the map's nearest edge. */
void shv_blower_state(const struct shv_blower *blower, const struct shv_gas *gas,
                      double inlet_pressure, double inlet_temperature, double speed,
                      double outlet_pressure, struct shv_blower_state *state);

/* Whether a file has the column that only maps have. Errors: those of shv_log_columns. */
enum shv_status shv_blower_map_is(const char *path, const struct shv_units *units, bool *is_map,
                                  struct shv_message *message);
/* Reads a map into `map`: delimited text as sheave/log_file.h reads it, columns rotor_speed,
 * pressure_ratio, volumetric_efficiency and isentropic_efficiency or shaft_power, each with its
 * unit. Format: docs/config.md. Fails with SHV_IO, SHV_BAD_INPUT or SHV_NO_MEMORY; all that is
 * wrong is added to `findings`, and what makes no sense as a warning. `displacement` (m3) and
 * reference conditions turn shaft power into efficiency; a NAN leaves it as it is, for checks. */
enum shv_status shv_blower_map_read(const char *path, const struct shv_units *units,
                                    double displacement, double reference_pressure,
                                    double reference_temperature, struct shv_blower_map *map,
                                    struct shv_diagnostics *findings);
void shv_blower_map_free(struct shv_blower_map *map);

#endif
