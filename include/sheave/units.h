/* Quantities as text: a number with a unit, read through UDUNITS-2. */
#ifndef SHEAVE_UNITS_H
#define SHEAVE_UNITS_H

#include "sheave/status.h"

/* What a quantity is. Gauge and absolute pressure are different kinds, and so are a temperature and
 * a temperature difference: a value of one is never taken for the other. */
enum shv_quantity {
    SHV_Q_NUMBER,                 /* dimensionless; "80 %" also reads as 0.8 */
    SHV_Q_LENGTH,                 /* m */
    SHV_Q_AREA,                   /* m2 */
    SHV_Q_VOLUME,                 /* m3 */
    SHV_Q_DISPLACEMENT,           /* m3 a turn; "2.1 L/rev" and "2.1 L" are the same */
    SHV_Q_SPEED,                  /* m/s */
    SHV_Q_ROTATION,               /* rev/s */
    SHV_Q_TIME,                   /* s */
    SHV_Q_MASS,                   /* kg */
    SHV_Q_MASS_FLOW,              /* kg/s */
    SHV_Q_AIR_FLOW,               /* kg/s; also a volume flow and the state it is meant at, such as
                                   * "350 cfm at 14.7 psi, 77 degF" */
    SHV_Q_VOLUME_FLOW,            /* m3/s */
    SHV_Q_DENSITY,                /* kg/m3 */
    SHV_Q_PRESSURE_ABSOLUTE,      /* Pa */
    SHV_Q_PRESSURE_GAUGE,         /* Pa above site ambient */
    SHV_Q_PRESSURE_DIFFERENCE,    /* Pa */
    SHV_Q_TEMPERATURE,            /* K */
    SHV_Q_TEMPERATURE_DIFFERENCE, /* K */
    SHV_Q_PER_KELVIN,             /* 1/K */
    SHV_Q_TORQUE,                 /* N m */
    SHV_Q_POWER,                  /* W */
    SHV_Q_SPECIFIC_ENERGY,        /* J/kg */
    SHV_Q_HEAT_CAPACITY,          /* J/(kg K) */
    SHV_Q_CAPACITY_RATE,          /* W/K */
    SHV_Q_ENERGY_PER_VOLUME,      /* J/m3 */
    SHV_Q_PRESSURE_PER_SPEED,     /* Pa s/m */
    SHV_Q_PRESSURE_PER_SPEED2,    /* Pa s2/m2 */
    SHV_Q_ANGLE,                  /* deg */
    SHV_Q_MOLAR_MASS,             /* kg/mol */
    SHV_Q_FORCE,                  /* N */
    SHV_Q_LINEAR_DENSITY,         /* kg/m */
    SHV_Q_STIFFNESS,              /* N/m */
    SHV_Q_HEAT_PER_KELVIN,        /* J/K */
    SHV_Q_SPECIFIC_CONSUMPTION,   /* kg/J */
    SHV_Q_COUNT
};

/* The SI unit of a kind as text for messages and documentation, "" for a plain number; "rpm" for
 * rotation. */
const char *shv_quantity_unit(enum shv_quantity quantity);
/* What is accepted, for error messages, e.g. "a pressure above ambient with a unit, such as \"14
 * psi\"". */
const char *shv_quantity_accepts(enum shv_quantity quantity);

/* "a pressure", and the unit number `index` of those it is usually written in, NULL beyond the
 * last. */
const char *shv_quantity_noun(enum shv_quantity quantity);
const char *shv_quantity_likely(enum shv_quantity quantity, size_t index);

/* One reader of units (holds the UDUNITS-2 system). Not to be shared between threads while reading.
 */
struct shv_units;
/* Opens the unit database. SHV_IO when it is missing, SHV_NO_MEMORY. Free with shv_units_free. */
enum shv_status shv_units_open(struct shv_units **units, struct shv_message *message);
void shv_units_free(struct shv_units *units);

/* Reads "number unit"; only SHV_Q_NUMBER has none. A turn or an angle that does not belong to the
 * quantity is refused, but for that of SHV_Q_DISPLACEMENT. Optionally followed by "absolute" or
 * "gauge" for pressures ("psia", "psig", "bara", "barg" are also known). On success *value is in SI
 * (rev/s for rotation). SHV_BAD_INPUT with a message such as "found \"14 furlong\", which is not a
 * pressure" otherwise; *value untouched. */
enum shv_status shv_units_read(const struct shv_units *units, enum shv_quantity quantity,
                               const char *text, double *value, struct shv_message *message);
/* A number of shv_quantity_unit in SI: the same, but for rotation. */
double shv_units_plain(enum shv_quantity quantity, double number);
/* How a number that stands there without a unit may have been meant: "8 psi", "8 bar" or "8 kPa",
 * in quotes, those between `low` and `high` in SI if there are any. Returns `text`. */
const char *shv_units_spellings(const struct shv_units *units, enum shv_quantity quantity,
                                double number, double low, double high, char *text, size_t size);

#endif
