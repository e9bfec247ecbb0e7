/* A cycle table on all threads, kept in a file: sheave/cycle_build.h. */
#include "sheave/cycle_build.h"

#include "sweep/cycle_cache.h"

#include <omp.h>
#include <stdio.h>
#include <string.h>

/* Pieces of work that a thread takes at a time; one takes a few milliseconds. */
#define TAKEN 1

/* Items write to places of their own and are joined in order by whoever asked for them, so nothing
 * depends on who did which. */
static void run_tasks(void *self, size_t count, void (*item)(void *data, size_t index), void *data)
{
    const int *threads = self;
#pragma omp parallel for num_threads(*threads) schedule(dynamic, TAKEN)
    for (size_t i = 0; i < count; i++) {
        item(data, i);
    }
}

_Static_assert(sizeof((struct shv_cycle_build_report *)0)->note == CYCLE_CACHE_NOTE, "notes");

enum shv_status shv_cycle_build(struct shv_cycle_table *table,
                                const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_table_options *options,
                                const struct shv_cycle_build_options *build,
                                struct shv_cycle_build_report *report, struct shv_message *message)
{
    int threads = build->threads > 0 ? build->threads : omp_get_max_threads();
    struct shv_cycle_runner runner = {run_tasks, &threads};
    *table = (struct shv_cycle_table){.speed_count = 0};
    *report = (struct shv_cycle_build_report){.from_file = false};
    if (build->threads < 0) {
        return shv_fail(message, SHV_BAD_INPUT, "cycle tables: %d threads; accepted: 0 or more",
                        build->threads);
    }
    /* Inputs that make no key make no table either; building says what is wrong with them. */
    bool keyed = build->folder && spec->speeds && spec->speed_count > 0 &&
                 cycle_cache_key(spec, options, report->key, NULL) == SHV_OK;
    report->from_file = keyed && cycle_cache_load(build->folder, report->key, table, report->note);
    if (report->from_file) {
        return SHV_OK;
    }
    enum shv_status status = shv_cycle_table_build(table, spec, options, &runner, message);
    if (status == SHV_OK && keyed) {
        char note[CYCLE_CACHE_NOTE];
        if (!cycle_cache_store(build->folder, report->key, table, note)) {
            memcpy(report->note, note, sizeof note);
        }
    }
    return status;
}
