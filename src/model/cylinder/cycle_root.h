/* The phasing at which the knock integral meets what is allowed, from a few phasings at which it is
 * known: its logarithm is nearly straight in the phasing, so phasing is interpolated over it. For
 * cycles side by side, where each round asks for one phasing more of every root.
 */
#ifndef SHEAVE_MODEL_CYCLE_ROOT_H
#define SHEAVE_MODEL_CYCLE_ROOT_H

#include "model/cylinder/cycle_lanes.h"

#define CYCLE_ROOT_POINTS ((size_t)6)

struct cycle_root_point {
    double ca50;     /* deg */
    double gap;      /* logarithm of the integral over what is allowed: cycle_knock_gap() */
    double residual; /* K */
    double slope;    /* of struct cycle_task */
};

struct cycle_root {
    struct cycle_root_point p[CYCLE_ROOT_POINTS]; /* in order of phasing */
    size_t count;
    size_t at; /* the root lies between p[at], gap above 0, and the next one, gap 0 or below */
    int tries;
};

struct cycle_root_point cycle_root_point_of(const struct shv_cycle_knock *knock,
                                            const struct cycle_task *task);

/* From points in any order, at least two. False when the integral does not fall to what is allowed
 * from any of them to the next. */
bool cycle_root_start(struct cycle_root *root, const struct cycle_root_point *points, size_t count);

/* Where the root is thought to lie, within its bracket, and the residual temperature there. */
struct cycle_root_point cycle_root_next(const struct cycle_root *root);

/* Takes what was found at a phasing within the bracket. */
void cycle_root_add(struct cycle_root *root, const struct cycle_root_point *point);

/* False after so many tries that there must be something wrong. */
bool cycle_root_goes_on(const struct cycle_root *root);

#endif
