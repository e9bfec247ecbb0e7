/* The file of a journal: an SQLite database and what stands in it. Knows nothing of sweeps; judges
 * only whether the file is whole. */
#ifndef SHEAVE_SWEEP_JOURNAL_FILE_H
#define SHEAVE_SWEEP_JOURNAL_FILE_H

#include <sqlite3.h>

#include "sweep/ranges.h"
#include "sheave/journal.h"

/* What a journal is of. Texts are owned. */
struct journal_about {
    char *version;    /* of the program */
    char *study;      /* path as given */
    char *started_in; /* folder that it is relative to */
    char *sha256_all; /* of the study with all that it includes */
    uint64_t combinations;
    uint64_t chunk_air; /* air-side combinations per chunk */
    uint64_t shard, shards;
    uint64_t keep;
    uint64_t exhaustive; /* whether all broken limits are counted */
    bool finished;
};

/* A number that was found after the sweep, under the place of what it belongs to. */
struct journal_note {
    uint64_t place, word, value;
};

struct journal_content {
    struct journal_about about;
    struct shv_sweep_counts counts;
    struct ranges done; /* positions of the shard's chunks */
    size_t best_count;
    struct shv_candidate *best; /* owned; in ascending order of index */
    size_t kept_count;
    struct shv_kept_row *kept; /* owned; in ascending order of list and index */
    size_t note_count;
    struct journal_note *note; /* owned; in ascending order of place and word */
};

struct journal_file {
    sqlite3 *db;
    char *path; /* owned */
};

void journal_content_free(struct journal_content *content);

/* Opens the file for this process alone, making it when there is none. *is_new when nothing has
 * been stored in it yet. Does not look at what stands in it. On failure nothing is left open. */
enum shv_status journal_file_open(struct journal_file *file, const char *folder, bool *is_new,
                                  struct shv_message *message);
/* Opens a file that exists for reading only, as far as its last run left it in good order. */
enum shv_status journal_file_open_to_read(struct journal_file *file, const char *folder,
                                          struct shv_message *message);
/* Empties a file whatever stands in it, unless another process works with it. */
enum shv_status journal_file_empty(const char *folder, struct shv_message *message);
/* When nothing more is to be written: removes the file by which SQLite would undo a change. */
enum shv_status journal_file_settle(struct journal_file *file, struct shv_message *message);
void journal_file_close(struct journal_file *file);
/* Closes, and removes the file: for one that was just made and could not be filled. */
void journal_file_remove(struct journal_file *file);

/* Reads all of it and compares its checksum. SHV_IO with the kind of damage. On failure *content is
 * empty. */
enum shv_status journal_file_read(struct journal_file *file, struct journal_content *content,
                                  struct shv_message *message);
/* Replaces all that stands in it. */
enum shv_status journal_file_create(struct journal_file *file,
                                    const struct journal_content *content,
                                    struct shv_message *message);
/* One transaction that brings the file from *stored to *content, of the same `about` but for
 * finished. After a failure the file is as it was, and the same can be tried again. */
enum shv_status journal_file_update(struct journal_file *file, const struct journal_content *stored,
                                    const struct journal_content *content,
                                    struct shv_message *message);

#endif
