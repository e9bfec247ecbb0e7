/* What parts of a kit have in common. */
#ifndef SHEAVE_PART_H
#define SHEAVE_PART_H

#include <stdbool.h>
#include <stddef.h>

enum shv_bearing_type { SHV_BEARING_BALL, SHV_BEARING_ROLLER };

/* Numbers to choose from. */
struct shv_numbers {
    double *values; /* ascending, owned */
    size_t count;
};

/* What a part costs and weighs; 0 when not given. */
struct shv_worth {
    double price; /* in the study's money */
    double mass;  /* kg */
};

/* The bearing behind the blower's pulley. */
struct shv_nose_bearing {
    bool given;
    enum shv_bearing_type type;
    double rating;   /* N, basic dynamic load rating */
    double overhang; /* m from the bearing to the middle of the pulley; 0: the load is the hub's */
    double span;     /* m to the other bearing */
};

#endif
