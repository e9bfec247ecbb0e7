/* What the sweep needs of a journal. */
#ifndef SHEAVE_SWEEP_JOURNAL_H
#define SHEAVE_SWEEP_JOURNAL_H

#include "sweep/journal_file.h"
#include "sweep/plan.h"

const struct sweep_plan *journal_plan(const struct shv_journal *journal);
/* What is on disk; the sweep starts from there. After a failure to write, what was to be. */
const struct journal_content *journal_stored(const struct shv_journal *journal);
/* Offers what a journal has kept of a sweep to lists; `keep` may be NULL. False when out of memory.
 */
bool journal_offer(const struct journal_content *content, struct shv_ranking *ranking,
                   struct shv_keep *keep);
/* Takes a state of a sweep over: complete, with nothing of a chunk that is not in `done`. Of all
 * that was found after a sweep nothing stays. `keep` may be NULL. False when out of memory; then
 * another has to be taken before anything is written. */
bool journal_take(struct shv_journal *journal, const struct shv_sweep_counts *counts,
                  const struct ranges *done, const struct shv_ranking *ranking,
                  const struct shv_keep *keep);
/* Puts it on disk in one transaction. After a failure the one before is still there, and another
 * may be tried. */
enum shv_status journal_write(struct shv_journal *journal, struct shv_message *message);

/* NULL when a journal is of this study, version and way of cutting; else why it is not, put into
 * `text`. Looks at neither the shard nor whether it is done. */
const char *journal_differs(const struct journal_content *content, const struct shv_study *study,
                            const struct sweep_plan *plan, size_t keep, struct shv_message *text);
/* Whether positions and rows are such as this plan can have. */
bool journal_fits(const struct journal_content *content, const struct sweep_plan *plan);

#endif
