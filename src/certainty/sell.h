/* The kit to sell: of all combinations of a sweep the best that holds every limit with the wanted
 * probability. docs/model.md, section 13.7. */
#ifndef SHEAVE_CERTAINTY_SELL_H
#define SHEAVE_CERTAINTY_SELL_H

#include "certainty/sure.h"
#include "sheave/keep.h"

struct sure_sell {
    bool found;
    uint64_t index;
    size_t
        looked; /* sets of kits that differ only in injectors, pump and belt, that were sampled */
    bool complete; /* every better kit was turned down by samples, none by its room */
};

/* About how many samples of a kit that takes; 0 for no `keep`. */
size_t sure_sell_samples(const struct sure_plan *plan, const struct shv_keep *keep);

/* From what the sweep kept by room and whatever the room. Errors: SHV_NO_MEMORY, SHV_STOPPED,
 * SHV_BAD_INPUT as shv_sure_kits. */
enum shv_status sure_sell(struct shv_model *model, struct sure_plan *plan,
                          const struct shv_space *space, const struct shv_keep *keep,
                          struct sure_sell *sell, struct shv_message *message);

#endif
