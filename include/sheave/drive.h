/* The belt drive from crank to blower. Equations: docs/model.md, section 4. */
#ifndef SHEAVE_DRIVE_H
#define SHEAVE_DRIVE_H

#include "sheave/status.h"

struct shv_drive {
    double *crank_pulleys; /* effective diameters, m, ascending, owned */
    size_t crank_count;
    double *blower_pulleys; /* effective diameters, m, ascending, owned */
    size_t blower_count;
    double creep;       /* share of speed lost: blower pulley speed * (1 - creep) */
    double efficiency;  /* shaft power at the blower / power taken from the crank */
    double line_offset; /* m from effective diameter to pitch line, added to each radius */
};

/* Speed ratio without creep, blower pulley turns per crank turn:
 * (d_crank + 2 offset) / (d_blower + 2 offset). ISO 9981 for the offset of ribbed belts. */
double shv_drive_ratio(double crank_diameter, double blower_diameter, double line_offset);

/* Rotor speed, in the unit of engine_speed: engine_speed * ratio * (1 - creep) * step_up. */
double shv_drive_rotor_speed(double engine_speed, double ratio, double creep, double step_up);

/* Belt speed, m/s, at the crank pulley's pitch line; engine speed in rev/s. */
double shv_drive_belt_speed(double crank_diameter, double line_offset, double engine_speed);

#endif
