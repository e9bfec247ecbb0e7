/* What an observation is worth to whoever chooses the best kit that holds surely enough, where
 * objective and margins respond linearly to the tolerances. docs/model.md, section 13.9.
 */
#ifndef SHEAVE_CERTAINTY_KNOWING_H
#define SHEAVE_CERTAINTY_KNOWING_H

#include "certainty/sure.h"

/* A kit. Slopes are for one standard deviation of each of the plan's tolerances, in its order. */
struct knowing_response {
    double value, value_slope[SHV_CORRECTION_COUNT];
    double margin[SHV_LIMIT_COUNT], margin_slope[SHV_LIMIT_COUNT][SHV_CORRECTION_COUNT];
};

/* Kits that differ in one size, in such an order that later ones hold where earlier ones do. Sizes
 * between them respond as by straight lines. */
struct knowing_family {
    const struct knowing_response *kit;
    size_t kits;
    size_t limits; /* the first so many margins count */
};

/* A number that is observed: the sum of weight times departure, in their own units, with a normal
 * error. */
struct knowing_observation {
    double weight[SHV_CORRECTION_COUNT]; /* by enum shv_correction */
    double error;                        /* standard deviation */
};
#define KNOWING_OBSERVATIONS 2

struct knowing_worth {
    struct shv_sampled gain;
    double changes; /* share of the outcomes in which another kit is nearest */
};

/* Of `observations` <= KNOWING_OBSERVATIONS made together. NAN where no kit holds before. False
 * when out of memory. */
bool knowing_find(const struct sure_plan *plan, const struct knowing_family *family,
                  size_t families, const struct knowing_observation *observation,
                  size_t observations, struct knowing_worth *worth);

#endif
