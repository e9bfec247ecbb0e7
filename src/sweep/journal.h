/* What the sweep needs of a journal. */
#ifndef SHEAVE_SWEEP_JOURNAL_H
#define SHEAVE_SWEEP_JOURNAL_H

#include "sweep/journal_file.h"
#include "sweep/plan.h"

/* A state of a sweep: complete, with nothing of a chunk that is not in `done`. */
struct journal_state {
    struct shv_sweep_counts counts;
    struct ranges done; /* positions */
    size_t best_count;
    struct shv_candidate *best; /* in any order */
    size_t kept_count, kept_room;
    struct shv_kept_row *kept; /* in ascending order of list and index */
};

const struct sweep_plan *journal_plan(const struct shv_journal *journal);
size_t journal_keep(const struct shv_journal *journal);
/* What is on disk; the sweep starts from there. */
const struct journal_content *journal_stored(const struct shv_journal *journal);
/* Puts a state on disk in one transaction; sorts state->best. After a failure the one before is
 * still there, and another may be tried. */
enum shv_status journal_store(struct shv_journal *journal, struct journal_state *state,
                              struct shv_message *message);

/* NULL when a journal is of this study, version and way of cutting; else why it is not, put into
 * `text`. Looks at neither the shard nor whether it is done. */
const char *journal_differs(const struct journal_about *about, const struct shv_study *study,
                            const struct sweep_plan *plan, size_t keep, struct shv_message *text);
/* Whether positions and rows are such as this plan can have. */
bool journal_fits(const struct journal_content *content, const struct sweep_plan *plan);

#endif
