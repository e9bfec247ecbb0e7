/* Life of the rolling bearings that carry the blower's pulley: ISO 281 basic rating life over a
 * duty. Equations and sources: docs/model.md, sections 4.6 and 4.7.
 *
 * SI throughout: N, m, rev/s; life in revolutions and in hours. Nothing is allocated.
 */
#ifndef SHEAVE_MODEL_BEARING_H
#define SHEAVE_MODEL_BEARING_H

#include "sheave/part.h"

/* Exponent of life over load: 3 for balls, 10/3 for rollers. ISO 281:2007. */
double shv_bearing_exponent(enum shv_bearing_type type);
/* Revolutions that 90 % of such bearings outlive: 1e6 (rating / load)^exponent, rating and load in
 * N above 0. INFINITY when the load is 0. */
double shv_bearing_life(enum shv_bearing_type type, double rating, double load);

/* A part of the duty. The load is the equivalent one of ISO 281: the radial load where there is no
 * axial load. */
struct shv_bearing_part {
    double share; /* of the time, 0 or more; all sum to 1 within 1e-9 */
    double speed; /* rev/s, 0 or more */
    double load;  /* N, 0 or more */
};

struct shv_bearing_duty {
    double mean_speed;  /* rev/s over the time */
    double mean_load;   /* N, constant load of the same life; 0 when nothing turns under load */
    double revolutions; /* basic rating life; INFINITY without load */
    double hours;       /* the same in time; INFINITY without load */
};

/* The life over count >= 1 parts, for a basic dynamic load rating in N above 0.
 * Damage adds up linearly (Palmgren and Miner). */
struct shv_bearing_duty shv_bearing_over(enum shv_bearing_type type, double rating, size_t count,
                                         const struct shv_bearing_part *parts);

/* Reactions of two bearings to a radial load on an overhung hub, N; positive against the load. */
struct shv_bearing_pair {
    double near; /* next to the hub */
    double far;
};

/* Statics of a stiff shaft on two supports `span` m apart (above 0), the load `overhang` m outside
 * the near one; negative when it lies between them, down to -span. */
struct shv_bearing_pair shv_bearing_overhung(double load, double overhang, double span);

#endif
