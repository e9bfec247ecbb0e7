/* Makes a model ready for many evaluations: builds the tables of its closed cycle on all threads,
 * or takes them from files of an earlier run. docs/cycle-tables.md. */
#ifndef SHEAVE_TABLES_H
#define SHEAVE_TABLES_H

#include "sheave/cycle_build.h"
#include "sheave/model.h"

struct shv_tables_options {
    int threads;                /* 1 or more; 0 = as many as OpenMP gives */
    const char *folder;         /* existing folder that keeps them; NULL = none */
    const struct shv_kit *only; /* no more than this kit needs; NULL = all of the study's */
    /* Called before each table that is to be had, and at the end with done = total; may be NULL. */
    void (*progress)(void *data, size_t done, size_t total);
    /* Asked before each table; true stops with SHV_STOPPED. May be NULL. */
    bool (*stop)(void *data);
    void *data; /* of progress and stop */
};

/* What became of one table. */
struct shv_table_report {
    bool wanted; /* else the rest is empty */
    struct shv_cycle_build_report build;
};

/* Does nothing without the closed cycle, and to tables that the model has already. `reports` has
 * room for shv_model_table_count(), or is NULL. Errors, with a message: those of
 * shv_cycle_build(), which names the fuel and lambda; SHV_STOPPED. Tables that were finished before
 * stay with the model. */
SHV_API enum shv_status shv_tables_prepare(struct shv_model *model,
                                           const struct shv_tables_options *options,
                                           struct shv_table_report *reports,
                                           struct shv_message *message);

#endif
