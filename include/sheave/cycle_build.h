/* Cycle tables (cycle_table.h) on all threads, with a folder that keeps them for the
 * next run, in a database that several runs may use at once (docs/cycle-tables.md).
 *
 * A kept table is only used when it is whole and was made from the same inputs by the same model on
 * a machine with the same order of bytes. Otherwise it is built anew; when what was kept is damaged
 * or cannot be read, or the new one cannot be kept, a note says so and nothing else happens.
 */
#ifndef SHEAVE_CYCLE_BUILD_H
#define SHEAVE_CYCLE_BUILD_H

#include "sheave/status.h"

#include "sheave/cycle_table.h"

struct shv_cycle_build_options {
    int threads;        /* 1 or more; 0 = as many as OpenMP gives (default) */
    const char *folder; /* existing folder that keeps them, borrowed; NULL = none (default) */
};

/* What happened to one table, for those who want to know. */
struct shv_cycle_build_report {
    bool from_file;
    char key[65];   /* SHA-256 of the inputs, hexadecimal; "" without a folder */
    char note[512]; /* what is wrong with what was kept, or why the table was not kept, or "" */
};

/* Builds a table, the same bits for any number of threads, from a file or not. The caller frees it.
 * Errors, with a message and an empty table: those of shv_cycle_table_build(), SHV_BAD_INPUT for a
 * negative number of threads. */
enum shv_status shv_cycle_build(struct shv_cycle_table *table,
                                const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_table_options *options,
                                const struct shv_cycle_build_options *build,
                                struct shv_cycle_build_report *report, struct shv_message *message);

#endif
