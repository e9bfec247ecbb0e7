/* A table of the closed cycle asked about a cycle that is not quite its own: with another delay of
 * ignition (knock.scale, octane) or another exhaust pressure. docs/model.md, section 13.3. */
#ifndef SHEAVE_MODEL_BURN_SHIFT_H
#define SHEAVE_MODEL_BURN_SHIFT_H

#include "model/kit/burn.h"

/* What changes with exhaust pressure at given phasing, per Pa. */
enum {
    SHIFT_EFFICIENCY, /* of its logarithm */
    SHIFT_PEAK,       /* of its logarithm */
    SHIFT_EXHAUST,    /* K */
    SHIFT_KNOCK,      /* of its logarithm */
    SHIFT_FIELDS
};

/* On a coarse grid over the table's range; empty where it was not asked for. */
struct burn_shift {
    struct shv_cycle_table_spec spec; /* of the table; its pointers live as long as the model */
    double *slope; /* [speed][pressure][temperature][CA50][SHIFT_FIELDS], owned */
};

void burn_shift_free(struct burn_shift *shift);

/* Logarithm of the delay of ignition of a model's cycle over that of its base; 0 when they are the
 * same. */
double burn_delay_ratio(const struct shv_model *model, size_t site, size_t fuel, double lambda);

/* What the table says at a point, with exhaust pressure and flow of the match where those are off
 * its rule. Not answered where the table isn't, and where they matter but were not asked for. */
void burn_look_up(const struct burn_case *c, const struct burn_state *at, struct burn_out *o);

#endif
