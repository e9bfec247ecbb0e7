/* The belt drive from crank to blower. Equations: docs/model.md, section 4. */
#ifndef SHEAVE_DRIVE_H
#define SHEAVE_DRIVE_H

#include "sheave/export.h"
#include "sheave/belt.h"
#include "sheave/part.h"

/* deg on the blower's pulley that an idler can make. */
#define SHV_WRAP_LEAST 30.0
#define SHV_WRAP_MOST 330.0

/* The belt of the drive; ribs and wrap are dimensions of the search. */
struct shv_belt_setup {
    bool given;
    struct shv_belt belt; /* but for `ribs` */
    enum shv_tensioner tensioner;
    double static_tension; /* N of one side; NAN: as much as keeps slip_margin everywhere */
    double slip_margin;
    double centre;              /* m between the shafts */
    struct shv_numbers lengths; /* m at the pitch line that belts are sold in; none: any */
    struct shv_worth rib;       /* of one rib */
};

/* The shortest length that belts are sold in and that is not below `length`, but for a rounding;
 * NAN when there is none. What it is too long the tensioner takes up. */
double shv_belt_to_order(const struct shv_belt_setup *belt, double length);

struct shv_drive {
    double creep;       /* share of speed lost: blower pulley speed * (1 - creep) */
    double efficiency;  /* shaft power at the blower / power taken from the crank */
    double line_offset; /* m from effective diameter to pitch line, added to each radius */
    struct shv_belt_setup belt;
    struct shv_worth worth; /* belt, tensioner and brackets, but for ribs and pulleys */
};

/* Speed ratio without creep, blower pulley turns per crank turn:
 * (d_crank + 2 offset) / (d_blower + 2 offset). ISO 9981 for the offset of ribbed belts. */
double shv_drive_ratio(double crank_diameter, double blower_diameter, double line_offset);
/* The blower's pulley that gives a ratio; NAN without a crank pulley (NAN). */
double shv_drive_blower_pulley(double crank_diameter, double ratio, double line_offset);

/* Rotor speed, in the unit of engine_speed: engine_speed * ratio * (1 - creep) * step_up. */
SHV_API double shv_drive_rotor_speed(double engine_speed, double ratio, double creep,
                                     double step_up);

/* Belt speed, m/s, at the crank pulley's pitch line; engine speed in rev/s. */
double shv_drive_belt_speed(double crank_diameter, double line_offset, double engine_speed);

#endif
