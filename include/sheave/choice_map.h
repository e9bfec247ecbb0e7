/* What else a kit could have been: with any pulley ratio of its drive and any core between the
 * least and the largest of its cooler, whether every limit holds, and how much power there is. */
#ifndef SHEAVE_CHOICE_MAP_H
#define SHEAVE_CHOICE_MAP_H

#include "sheave/model.h"
#include "sheave/space.h"

struct shv_choice_cell {
    double ratio, blower_diameter, effectiveness; /* m; of the kit otherwise unchanged */
    enum shv_outcome outcome;                     /* as shv_brief_reason() gives it */
    int limit;
    double peak_power; /* W, highest at the first site; NAN without an answer there */
};

/* Ratios within a row of one effectiveness, rows from the least core to the largest. *cells is
 * owned by the caller (free()), *count of them. SHV_NO_MEMORY. */
enum shv_status shv_choice_map(const struct shv_model *model, const struct shv_space *space,
                               uint64_t index, struct shv_choice_cell **cells, size_t *count,
                               struct shv_message *message);

#endif
