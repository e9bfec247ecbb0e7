/* What to measure before the kit is chosen. docs/model.md, section 13.9. */
#ifndef SHEAVE_CERTAINTY_WORTH_KNOWING_H
#define SHEAVE_CERTAINTY_WORTH_KNOWING_H

#include "certainty/sure.h"
#include "sheave/keep.h"

/* Fills `knowing` of a list whose `best` is the kit to sell. Errors: SHV_NO_MEMORY, SHV_STOPPED. */
enum shv_status sure_worth_knowing(struct shv_model *model, struct sure_plan *plan,
                                   const struct shv_space *space, const struct shv_keep *keep,
                                   struct shv_sure_list *list, struct shv_message *message);
/* About how many samples of a kit take as long. */
size_t sure_worth_samples(const struct shv_tolerances *tolerances);

#endif
