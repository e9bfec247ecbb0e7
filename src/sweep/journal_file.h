/* The file of a journal: an SQLite database and what stands in it. Knows nothing of sweeps; judges
 * only whether the file is whole. */
#ifndef SHEAVE_SWEEP_JOURNAL_FILE_H
#define SHEAVE_SWEEP_JOURNAL_FILE_H

#include <sqlite3.h>

#include "sweep/ranges.h"
#include "sheave/journal.h"

/* What a journal holds: lists, whose items are of a fixed size each. */
enum journal_part {
    JOURNAL_VERSION,    /* of the program; a text, as those that follow */
    JOURNAL_STUDY,      /* path as given */
    JOURNAL_STARTED_IN, /* folder that it is relative to */
    JOURNAL_SHA256_ALL, /* of the study with all that it includes */
    JOURNAL_ABOUT,      /* one struct journal_about */
    JOURNAL_COUNTS,     /* one struct shv_sweep_counts */
    JOURNAL_DONE,       /* struct chunk_range: positions of the shard's chunks, rising */
    JOURNAL_BEST,       /* struct shv_candidate, in any order */
    JOURNAL_KEPT,       /* struct shv_kept_row */
    JOURNAL_NOTES,      /* struct journal_note, those of a place together */
    JOURNAL_PARTS
};

/* What a journal is of. */
struct journal_about {
    uint64_t combinations;
    uint64_t chunk_air; /* air-side combinations per chunk */
    uint64_t shard, shards;
    uint64_t keep;
    uint64_t exhaustive; /* whether all broken limits are counted */
    uint64_t finished;   /* whether the results are written */
};

/* A number that was found after the sweep, under the place of what it belongs to. */
struct journal_note {
    uint64_t place, word, value;
};

struct journal_list {
    void *item; /* owned; behind it stands a 0, so that a text ends */
    size_t count;
    bool changed; /* since it was read or written */
};

struct journal_content {
    struct journal_list list[JOURNAL_PARTS];
};

/* Makes a list these items. False when out of memory: it is what it was. */
bool journal_set(struct journal_content *content, enum journal_part part, const void *items,
                 size_t count);
const char *journal_text(const struct journal_content *content, enum journal_part part);
const struct journal_about *journal_about(const struct journal_content *content);
const struct shv_sweep_counts *journal_counts(const struct journal_content *content);
/* The set that JOURNAL_DONE is, lent. */
struct ranges journal_done(const struct journal_content *content);
void journal_content_free(struct journal_content *content);

struct journal_file {
    sqlite3 *db;
    char *path; /* owned */
};

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
/* One transaction that brings the file to *content; with `anew` whatever stands in it makes room.
 * After a failure the file is as it was, and another content can be tried. */
enum shv_status journal_file_write(struct journal_file *file, struct journal_content *content,
                                   bool anew, struct shv_message *message);

#endif
