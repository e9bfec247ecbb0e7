/* What the first place of a ranking hangs on: the best kits with another blower or fuel, and which
 * tolerance alone, how far off, makes each of them as good. docs/model.md, section 13.8. */
#ifndef SHEAVE_CERTAINTY_HANGS_H
#define SHEAVE_CERTAINTY_HANGS_H

#include "certainty/sure.h"
#include "sheave/rank.h"

/* Fills the rivals of a list. Errors: SHV_NO_MEMORY. */
enum shv_status sure_hangs(const struct sure_plan *plan, const struct shv_space *space,
                           const struct shv_ranking *ranking, struct shv_sure_list *list,
                           struct shv_message *message);

#endif
