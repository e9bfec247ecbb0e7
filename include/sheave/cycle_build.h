/* Cycle tables (cycle_table.h) of many cases on all threads, with a folder of files that keeps them
 * for the next run. docs/cycle-tables.md describes the files.
 *
 * A file is only used when it is whole and was made from the same inputs by the same model on a
 * machine with the same order of bytes. Anything else is built anew, and a note says why. That a
 * file can't be written is no error either: the next run builds again.
 */
#ifndef SHEAVE_CYCLE_BUILD_H
#define SHEAVE_CYCLE_BUILD_H

#include "sheave/cycle_table.h"

struct shv_cycle_build_options {
    int threads;        /* 1 or more; 0 = as many as OpenMP gives (default) */
    const char *folder; /* existing folder of the files, borrowed; NULL = none (default) */
};

/* What happened to one table, for those who want to know. */
struct shv_cycle_build_report {
    bool from_file;
    char key[65];   /* SHA-256 of the inputs, hexadecimal; "" without a folder */
    char note[512]; /* why it was built though there is a folder, or why it was not kept, or "" */
};

/* Builds `count` tables, `tables[i]` from `specs[i]`, all with the same options. `reports` (count)
 * may be NULL. The same bits for any number of threads, from a file or not. The caller frees each
 * table. Errors, with a message and all tables empty: those of shv_cycle_table_build(),
 * SHV_BAD_INPUT for a negative number of threads. */
enum shv_status shv_cycle_build(struct shv_cycle_table *tables,
                                const struct shv_cycle_table_spec *specs, size_t count,
                                const struct shv_cycle_table_options *options,
                                const struct shv_cycle_build_options *build,
                                struct shv_cycle_build_report *reports,
                                struct shv_message *message);

#endif
