/* Hardware that serves several fuels, from the verdicts of one air-side combination. */
#ifndef SHEAVE_SWEEP_SERVE_H
#define SHEAVE_SWEEP_SERVE_H

#include "sheave/keep.h"
#include "sheave/model.h"

/* `brief` are the verdicts of all fuel-side choices of one air-side combination, whose first has
 * the index `base`. Offers to keep->of_served what is best with each fuel served by itself, and to
 * keep->serving the best hardware that is feasible with all of them. */
void serve(const struct shv_study *study, const struct shv_space *space,
           const struct shv_brief *brief, uint64_t base, struct shv_keep *keep);

#endif
