/* The journal of a sweep: what is done, kept in the results folder, so that a run that was broken
 * off goes on where it was and ends with the same bytes, and shards can be joined.
 * docs/overnight.md.
 */
#ifndef SHEAVE_JOURNAL_H
#define SHEAVE_JOURNAL_H

#include "sheave/sweep.h"

#define SHV_JOURNAL_FILE "journal.db"

enum shv_journal_mode {
    SHV_JOURNAL_START,  /* begins; replaces a finished journal, refuses to drop an unfinished one */
    SHV_JOURNAL_RESUME, /* goes on with what is there, or begins when there is nothing */
    SHV_JOURNAL_ANEW    /* begins; drops whatever is there, but not while another run works on it */
};

struct shv_journal_options {
    enum shv_journal_mode mode;
    struct shv_shard shard;
    size_t keep; /* rows of the ranking that the sweep will be given */
};

/* Opens the journal of a folder that exists, and locks it until it is closed or the process ends,
 * however it ends. The model must outlive it. *journal is NULL on failure. Errors, with a message
 * that names file and reason:
 * SHV_BAD_INPUT: another run works in the folder; unfinished, with SHV_JOURNAL_START; of another
 * study, version, shard or option, with SHV_JOURNAL_RESUME.
 * SHV_IO: it can't be read or written, or is damaged. SHV_NO_MEMORY. */
SHV_API enum shv_status shv_journal_open(const char *folder,
                                         const struct shv_journal_options *options,
                                         const struct shv_model *model,
                                         const struct shv_space *space,
                                         struct shv_journal **journal, struct shv_message *message);

struct shv_journal_progress {
    uint64_t done, total; /* combinations of the shard */
    bool finished;        /* shv_journal_finish was called in some run */
};
SHV_API struct shv_journal_progress shv_journal_progress(const struct shv_journal *journal);

/* Numbers that were found after the sweep, under a place of the caller's, in the file of the
 * journal: on disk when it returns. Replaces what stood under that place. A sweep that goes on
 * drops all of them. */
enum shv_status shv_journal_put(struct shv_journal *journal, uint64_t place, const uint64_t *words,
                                size_t count, struct shv_message *message);
/* Takes them back; false when there are none, or another number of them. */
bool shv_journal_get(const struct shv_journal *journal, uint64_t place, uint64_t *words,
                     size_t count);

/* Says that the results are written, so that a later run may replace the journal. */
SHV_API enum shv_status shv_journal_finish(struct shv_journal *journal,
                                           struct shv_message *message);
/* Closes and unlocks; safe on NULL. What shv_sweep_run wrote is on disk already; SHV_IO says that
 * the file by which a half done change would be undone could not be removed. */
SHV_API enum shv_status shv_journal_close(struct shv_journal *journal, struct shv_message *message);

/* ---- joining shards ---- */

/* Where to find the study that a folder's journal is of: the path as it was given to the run, and
 * the folder that run was started in. The caller frees both. */
SHV_API enum shv_status shv_journal_study_path(const char *folder, char **path, char **started_in,
                                               struct shv_message *message);

/* Joins the journals of all shards of a sweep, in any order, into an initialised ranking, counts
 * and an initialised keep (may be NULL), as if one run had made them. SHV_BAD_INPUT with a message
 * when a shard is missing, there twice, not finished, being worked on, or of another study, version
 * or number of shards; SHV_IO when one can't be read or is damaged. */
SHV_API enum shv_status shv_journal_merge(const char *const *folders, size_t count,
                                          const struct shv_model *model,
                                          const struct shv_space *space,
                                          struct shv_ranking *ranking,
                                          struct shv_sweep_counts *counts, struct shv_keep *keep,
                                          struct shv_message *message);
/* Puts a whole sweep that was joined so into a journal of one's own, of the whole study. */
enum shv_status shv_journal_store_whole(struct shv_journal *journal,
                                        const struct shv_ranking *ranking,
                                        const struct shv_sweep_counts *counts,
                                        const struct shv_keep *keep, struct shv_message *message);

#endif
