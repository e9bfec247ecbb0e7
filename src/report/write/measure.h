/* How quantities are shown: the unit of each in both systems, and the factor from SI. */
#ifndef SHEAVE_REPORT_MEASURE_H
#define SHEAVE_REPORT_MEASURE_H

#include "sheave/study.h"

/* Finer than enum shv_quantity: air is shown in other units than fuel. REPORT_TEXT and REPORT_COUNT
 * are for columns that hold no quantity. */
enum report_measure {
    REPORT_TEXT,
    REPORT_COUNT,
    REPORT_NUMBER,
    REPORT_MONEY,                /* in the study's money: the unit is a word of the study */
    REPORT_PERCENT,              /* from a share, 1 is 100 % */
    REPORT_LENGTH,               /* from m */
    REPORT_VOLUME,               /* from m3 */
    REPORT_DISPLACEMENT,         /* of an engine, or of a blower each turn, from m3 */
    REPORT_AREA,                 /* from m2 */
    REPORT_ANGLE,                /* of the crank or of a belt's wrap, from deg */
    REPORT_SPEED,                /* from m/s */
    REPORT_ROTATION,             /* from rev/s */
    REPORT_PRESSURE,             /* absolute, from Pa */
    REPORT_GAUGE,                /* above site ambient, from Pa */
    REPORT_PRESSURE_CHANGE,      /* from Pa */
    REPORT_CYLINDER,             /* pressure in the cylinder, absolute, from Pa */
    REPORT_CYLINDER_CHANGE,      /* from Pa */
    REPORT_TEMPERATURE,          /* from K */
    REPORT_TEMPERATURE_CHANGE,   /* from K */
    REPORT_POWER,                /* and heat flow, from W */
    REPORT_ENERGY,               /* from J */
    REPORT_TORQUE,               /* from N m */
    REPORT_AIR_FLOW,             /* from kg/s */
    REPORT_FUEL_FLOW,            /* from kg/s */
    REPORT_FUEL_VOLUME,          /* from m3/s */
    REPORT_INJECTOR_FLOW,        /* of one, held open, from m3/s */
    REPORT_SPECIFIC_CONSUMPTION, /* from kg/J */
    REPORT_ROAD_SPEED,           /* from m/s */
    REPORT_FUEL_DISTANCE,        /* fuel for a way, from m3/m */
    REPORT_FORCE,                /* from N */
    REPORT_MASS,                 /* from kg */
    REPORT_LIFE,                 /* from s */
    REPORT_VACUUM,               /* below site ambient, from Pa */
    REPORT_POWER_PER_MONEY,      /* from W for a unit of the study's money */
    REPORT_MEASURE_COUNT,
    /* Of columns: whatever the study ranks by, and differences of it. */
    REPORT_OBJECTIVE,
    REPORT_OBJECTIVE_CHANGE
};

struct report_unit {
    const char *suffix; /* of column names, "" for none */
    const char *label;  /* for people */
    double factor;      /* shown = factor * (SI - zero) */
    double zero;        /* SI value shown as 0 */
    int decimals;       /* that mean something, in texts for people */
};

const struct report_unit *report_unit(enum report_measure measure, enum shv_unit_system system);
/* What a value of a measure is read as: SHV_Q_NUMBER where it has no quantity. */
enum shv_quantity report_quantity(enum report_measure measure);
double report_shown(enum report_measure measure, enum shv_unit_system system, double value);

/* How a value and the room of a limit are shown. The room of a temperature is a difference: it has
 * no zero point. */
enum report_measure report_value_measure(enum shv_limit limit);
enum report_measure report_room_measure(enum shv_limit limit);

#endif
