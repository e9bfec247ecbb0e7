/* The sweep over fixed chunks of the index space, in parallel.
 *
 * Counts are sums and the ranking is a set under a total order, so neither depends on who worked on
 * which chunk or when. Each thread keeps its own and they are joined at the end.
 */
#include "sheave/sweep.h"

#include "batch/fork_join.h"

#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

/* Air-side combinations per chunk: small enough to share work evenly, large enough to fill lanes.
 */
#define CHUNK ((uint64_t)SHV_AIR_MAX)

struct worker {
    struct shv_lanes *lanes;
    struct shv_brief *brief;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    double best; /* objective */
};

struct sweep {
    const struct shv_model *model;
    const struct shv_space *space;
    const struct shv_sweep_options *options;
    uint64_t chunks;
    uint64_t done; /* chunks, shared, atomic */
    int stop;      /* shared, atomic */
    struct fork_join order;
    bool reporting;        /* a thread is at the callback, atomic */
    double best_objective; /* told so far; guarded by reporting */
};

static void worker_free(struct worker *w)
{
    shv_lanes_free(w->lanes);
    free(w->brief);
    shv_ranking_free(&w->ranking);
}

static enum shv_status worker_init(struct worker *w, const struct shv_model *model,
                                   const struct shv_space *space, size_t keep,
                                   struct shv_message *message)
{
    *w = (struct worker){.best = -INFINITY};
    enum shv_status status = shv_lanes_create(model, &w->lanes, message);
    if (status == SHV_OK) {
        status = shv_ranking_init(&w->ranking, keep, message);
    }
    if (status == SHV_OK) {
        w->brief = calloc(CHUNK * space->fuel_size, sizeof *w->brief);
        if (!w->brief) {
            shv_fail(message, SHV_NO_MEMORY, "out of memory for a thread of the sweep");
            status = SHV_NO_MEMORY;
        }
    }
    if (status != SHV_OK) {
        worker_free(w);
    }
    return status;
}

/* One combination into counts and ranking. */
static void take(struct worker *w, const struct shv_brief *brief, uint64_t index)
{
    struct shv_sweep_counts *c = &w->counts;
    c->total++;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        c->broken[k] += (brief->broken >> k) & 1u;
    }
    if (brief->outcome != SHV_POINT_OK) {
        c->failed[brief->outcome]++;
        return;
    }
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        if ((brief->broken >> k) & 1u) {
            c->first[k]++;
            return;
        }
    }
    c->feasible++;
    w->best = brief->objective > w->best ? brief->objective : w->best;
    shv_ranking_offer(&w->ranking, (struct shv_candidate){brief->objective, index});
}

static void run_chunk(const struct sweep *s, struct worker *w, uint64_t chunk)
{
    uint64_t first = chunk * CHUNK;
    uint64_t left = s->space->air_size - first;
    size_t count = left < CHUNK ? (size_t)left : (size_t)CHUNK;
    shv_lanes_evaluate(s->model, s->space, w->lanes, first, count, w->brief);
    uint64_t base = first * s->space->fuel_size;
    for (uint64_t k = 0; k < count * s->space->fuel_size; k++) {
        take(w, &w->brief[k], base + k);
    }
}

/* Tells how far the sweep is. One thread at a time; whoever comes while another is at it goes on.
 */
static void report(struct sweep *s, const struct worker *w)
{
    if (!s->options->progress || __atomic_test_and_set(&s->reporting, __ATOMIC_ACQUIRE)) {
        return;
    }
    uint64_t air = __atomic_load_n(&s->done, __ATOMIC_RELAXED) * CHUNK;
    air = air < s->space->air_size ? air : s->space->air_size;
    s->best_objective = w->best > s->best_objective ? w->best : s->best_objective;
    if (!s->options->progress(s->options->progress_data, air * s->space->fuel_size, s->space->size,
                              s->best_objective)) {
        __atomic_store_n(&s->stop, 1, __ATOMIC_RELAXED);
    }
    __atomic_clear(&s->reporting, __ATOMIC_RELEASE);
}

static void work(struct sweep *s, struct worker *w)
{
#pragma omp for schedule(dynamic, 1) nowait
    for (uint64_t chunk = 0; chunk < s->chunks; chunk++) {
        if (__atomic_load_n(&s->stop, __ATOMIC_RELAXED)) {
            continue;
        }
        run_chunk(s, w, chunk);
        __atomic_add_fetch(&s->done, 1, __ATOMIC_RELAXED);
        report(s, w);
    }
}

static void join(struct worker *w, struct shv_ranking *ranking, struct shv_sweep_counts *counts)
{
    for (size_t i = 0; i < w->ranking.count; i++) {
        shv_ranking_offer(ranking, w->ranking.item[i]);
    }
    counts->total += w->counts.total;
    counts->feasible += w->counts.feasible;
    for (int k = 0; k < SHV_OUTCOME_COUNT; k++) {
        counts->failed[k] += w->counts.failed[k];
    }
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        counts->first[k] += w->counts.first[k];
        counts->broken[k] += w->counts.broken[k];
    }
}

static void run_threads(struct sweep *s, struct worker *workers, int threads)
{
    fork_join_fork(&s->order);
#pragma omp parallel num_threads(threads) default(none) shared(s, workers)
    {
        fork_join_enter(&s->order);
        work(s, &workers[omp_get_thread_num()]);
        fork_join_leave(&s->order);
    }
    fork_join_join(&s->order);
}

enum shv_status shv_sweep_run(const struct shv_model *model, const struct shv_space *space,
                              const struct shv_sweep_options *options, struct shv_ranking *ranking,
                              struct shv_sweep_counts *counts, struct shv_message *message)
{
    *counts = (struct shv_sweep_counts){0};
    int threads = options->threads > 0 ? options->threads : omp_get_max_threads();
    threads = threads > 0 ? threads : 1;
    struct worker *workers = calloc((size_t)threads, sizeof *workers);
    if (!workers) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %d threads", threads);
    }
    struct sweep s = {.model = model,
                      .space = space,
                      .options = options,
                      .chunks = (space->air_size + CHUNK - 1) / CHUNK,
                      .best_objective = -INFINITY};
    enum shv_status status = SHV_OK;
    for (int i = 0; i < threads && status == SHV_OK; i++) {
        status = worker_init(&workers[i], model, space, ranking->capacity, message);
    }
    if (status == SHV_OK) {
        run_threads(&s, workers, threads);
        for (int i = 0; i < threads; i++) {
            join(&workers[i], ranking, counts);
        }
        shv_ranking_sort(ranking);
        if (s.stop) {
            status = shv_fail(message, SHV_STOPPED, "the sweep was stopped");
        }
    }
    for (int i = 0; i < threads; i++) {
        worker_free(&workers[i]);
    }
    free(workers);
    return status;
}
