/* Fronts: the combinations of which no other is better in one thing and no worse in the rest. */
#ifndef SHEAVE_FRONT_H
#define SHEAVE_FRONT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "sheave/study.h"

struct shv_front_point {
    double value[SHV_FRONT_DIMS]; /* larger is better; 0 beyond the front's dimensions */
    uint64_t index;               /* of the combination */
};

/* The points of a front, best in the first value first; of those alike in all values only the one
 * with the lowest index. What is kept does not depend on the order of calls. */
struct shv_front {
    size_t dims; /* 1 .. SHV_FRONT_DIMS */
    size_t count, room;
    struct shv_front_point *point; /* owned */
};

/* Free with shv_front_free; safe on a zeroed struct. */
void shv_front_init(struct shv_front *front, size_t dims);
void shv_front_free(struct shv_front *front);
/* Takes a point in, and what it dominates out, when none there dominates it. A point whose value is
 * not a number is left out. False when out of memory: the front is unchanged. */
bool shv_front_offer(struct shv_front *front, const struct shv_front_point *point);

/* The hypervolume (E. Zitzler, L. Thiele, IEEE Trans. Evol. Comput. 3, 1999): measure of all that
 * the front dominates above a reference, in the product of the values' units; points that are not
 * above the reference in every value count nothing. By sweeping down the first value with the area
 * of the staircase of the others: time goes with the square of the count. SHV_NO_MEMORY. */
enum shv_status shv_front_hypervolume(const struct shv_front *front,
                                      const double reference[SHV_FRONT_DIMS], double *volume,
                                      struct shv_message *message);
/* The best and the worst that the front has of each value; NAN of an empty one. */
void shv_front_range(const struct shv_front *front, double best[SHV_FRONT_DIMS],
                     double worst[SHV_FRONT_DIMS]);

#endif
