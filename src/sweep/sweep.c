/* The sweep over fixed chunks of the index space, in parallel.
 *
 * Counts are sums and the ranking is a set under a total order, so neither depends on who worked on
 * which chunk or when, nor on how often the work was broken off. A thread evaluates a chunk by
 * itself and then settles it in the ledger, under its lock and all at once: whatever is copied from
 * there for the journal holds whole chunks only.
 */
#include "sheave/sweep.h"

#include "base/clock.h"
#include "sweep/journal.h"
#include "sweep/pacing.h"
#include "sweep/plan.h"
#include "sweep/worker.h"

#include <math.h>
#include <omp.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

/* All that is settled. Guarded by the lock. */
struct ledger {
    pthread_mutex_t lock;
    struct shv_sweep_counts *counts;
    struct shv_ranking *ranking;
    struct shv_keep *keep; /* NULL: nothing else is kept */
    struct ranges done;    /* positions; only with a journal */
    double best;           /* objective */
    bool out_of_memory;
};

/* When to commit next. Used by one thread at a time. */
struct commits {
    double started, due, wait; /* s */
    bool failing;
    enum shv_status status; /* of the last one */
    struct shv_message message;
};

struct sweep {
    const struct shv_model *model;
    const struct shv_space *space;
    const struct shv_sweep_options *options;
    struct sweep_plan plan;
    struct ranges left; /* positions to work on */
    uint64_t todo;      /* how many */
    uint64_t total;     /* combinations of the shard */
    uint64_t taken;     /* of todo, shared, atomic */
    int stop;           /* shared, atomic */
    struct ledger ledger;
    struct commits commits;
    bool reporting;  /* a thread is at the callback, atomic */
    bool committing; /* a thread is at the journal, atomic */
};

void shv_sweep_counts_add(struct shv_sweep_counts *to, const struct shv_sweep_counts *counts)
{
    to->total += counts->total;
    to->feasible += counts->feasible;
    for (int k = 0; k < SHV_OUTCOME_COUNT; k++) {
        to->failed[k] += counts->failed[k];
    }
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        to->first[k] += counts->first[k];
        to->broken[k] += counts->broken[k];
    }
}

/* ---- the ledger ---- */

static void settle(struct sweep *s, struct worker *w, uint64_t position)
{
    struct ledger *l = &s->ledger;
    (void)pthread_mutex_lock(&l->lock); /* a plain mutex that is not held can't fail */
    shv_sweep_counts_add(l->counts, &w->counts);
    for (size_t i = 0; i < w->ranking.count; i++) {
        l->best = w->ranking.item[i].objective > l->best ? w->ranking.item[i].objective : l->best;
        shv_ranking_offer(l->ranking, w->ranking.item[i]);
    }
    bool kept = !w->out_of_memory && (!l->keep || shv_keep_add(l->keep, &w->keep));
    if (!kept || (s->options->journal && !ranges_add(&l->done, position))) {
        l->out_of_memory = true;
        __atomic_store_n(&s->stop, 1, __ATOMIC_RELAXED);
    }
    w->has_bar = l->ranking->capacity > 0 && l->ranking->count == l->ranking->capacity;
    if (w->has_bar) {
        w->bar = l->ranking->item[0];
    }
    (void)pthread_mutex_unlock(&l->lock);
}

/* Takes over what is settled; false when out of memory, now or when it was settled. */
static bool take_ledger(struct ledger *l, struct shv_journal *journal)
{
    (void)pthread_mutex_lock(&l->lock);
    /* Counts of a chunk that could not be kept would be counted again. */
    bool good =
        !l->out_of_memory && journal_take(journal, l->counts, &l->done, l->ranking, l->keep);
    (void)pthread_mutex_unlock(&l->lock);
    return good;
}

/* ---- the journal ---- */

static void commit(struct sweep *s)
{
    struct commits *c = &s->commits;
    double start = seconds_now();
    c->status = take_ledger(&s->ledger, s->options->journal)
                    ? journal_write(s->options->journal, &c->message)
                    : shv_fail(&c->message, SHV_NO_MEMORY, "out of memory for the journal");
    double now = seconds_now();
    if (s->options->trouble && c->failing != (c->status != SHV_OK)) {
        s->options->trouble(s->options->progress_data,
                            c->failing ? "the journal can be written again" : c->message.text);
    }
    if (c->status != SHV_OK) {
        c->wait = c->failing ? pacing_after_failures(c->wait) : COMMIT_LATEST;
    } else {
        c->wait = pacing_after_commit(now - c->started, now - start);
    }
    c->failing = c->status != SHV_OK;
    c->due = now + c->wait;
}

/* One thread at a time; whoever comes while another is at it goes on. */
static void commit_if_due(struct sweep *s)
{
    if (!s->options->journal || __atomic_test_and_set(&s->committing, __ATOMIC_ACQUIRE)) {
        return;
    }
    if (seconds_now() >= s->commits.due) {
        commit(s);
    }
    __atomic_clear(&s->committing, __ATOMIC_RELEASE);
}

/* Whatever was settled since the last commit. */
static enum shv_status commit_rest(struct sweep *s, struct shv_message *message)
{
    if (!s->options->journal) {
        return SHV_OK;
    }
    commit(s);
    if (s->commits.status != SHV_OK) {
        return shv_fail(message, s->commits.status, "%s", s->commits.message.text);
    }
    return SHV_OK;
}

/* ---- work ---- */

/* Tells how far the sweep is. One thread at a time; whoever comes while another is at it goes on.
 */
static void report(struct sweep *s)
{
    if (!s->options->progress || __atomic_test_and_set(&s->reporting, __ATOMIC_ACQUIRE)) {
        return;
    }
    (void)pthread_mutex_lock(&s->ledger.lock);
    uint64_t done = s->ledger.counts->total;
    double best = s->ledger.best;
    (void)pthread_mutex_unlock(&s->ledger.lock);
    if (!s->options->progress(s->options->progress_data, done, s->total, best)) {
        __atomic_store_n(&s->stop, 1, __ATOMIC_RELAXED);
    }
    __atomic_clear(&s->reporting, __ATOMIC_RELEASE);
}

/* Chunks are taken in order, so that what is done stays a few ranges. */
static void work(struct sweep *s, struct worker *w)
{
    while (!__atomic_load_n(&s->stop, __ATOMIC_RELAXED)) {
        uint64_t place = __atomic_fetch_add(&s->taken, 1, __ATOMIC_RELAXED);
        if (place >= s->todo) {
            return;
        }
        uint64_t position = ranges_at(&s->left, place);
        uint64_t chunk = plan_chunk(&s->plan, position);
        worker_run(w, s->model, s->space, chunk * s->plan.air,
                   (size_t)plan_chunk_air(&s->plan, chunk));
        settle(s, w, position);
        commit_if_due(s);
        report(s);
    }
}

static void run_threads(struct sweep *s, struct worker *workers, int threads)
{
#pragma omp parallel num_threads(threads) default(none) shared(s, workers)
    work(s, &workers[omp_get_thread_num()]);
}

/* ---- begin and end ---- */

/* Takes over what an earlier run had done. */
static bool restore(struct sweep *s)
{
    const struct journal_content *stored = journal_stored(s->options->journal);
    const struct ranges done = journal_done(stored);
    struct ledger *l = &s->ledger;
    *l->counts = *journal_counts(stored);
    bool good = journal_offer(stored, l->ranking, l->keep);
    for (size_t i = 0; i < l->ranking->count; i++) {
        l->best = fmax(l->best, l->ranking->item[i].objective);
    }
    return good && ranges_copy(&l->done, &done);
}

static enum shv_status prepare(struct sweep *s, struct shv_message *message)
{
    const struct shv_sweep_options *o = s->options;
    enum shv_status status = SHV_OK;
    bool good = true;
    size_t keep = o->journal ? (size_t)journal_about(journal_stored(o->journal))->keep : 0;
    if (!o->journal) {
        status = plan_of(&s->plan, s->model, s->space, o->shard, message);
    } else if (keep != s->ledger.ranking->capacity) {
        status = shv_fail(message, SHV_BAD_INPUT, "the journal keeps %zu rows, the ranking %zu",
                          keep, s->ledger.ranking->capacity);
    } else if (!o->keep && (shv_model_study(s->model)->tradeoff_count > 0 ||
                            shv_model_study(s->model)->serve_count > 0)) {
        status = shv_fail(message, SHV_BAD_INPUT, "a sweep with a journal has to keep its fronts");
    } else {
        s->plan = *journal_plan(o->journal);
        good = restore(s);
    }
    if (status != SHV_OK) {
        return status;
    }
    if (!good || !ranges_gaps(&s->ledger.done, s->plan.positions, &s->left)) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the journal");
    }
    s->todo = ranges_total(&s->left);
    s->total = plan_combinations(&s->plan);
    s->commits.started = seconds_now();
    s->commits.due = s->commits.started + COMMIT_SOONEST;
    return SHV_OK;
}

static enum shv_status run_workers(struct sweep *s, int threads, struct shv_message *message)
{
    struct worker *workers = calloc((size_t)threads, sizeof *workers);
    if (!workers) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %d threads", threads);
    }
    enum shv_status status = SHV_OK;
    for (int i = 0; i < threads && status == SHV_OK; i++) {
        status = worker_init(&workers[i], s->model, s->space, (size_t)s->plan.air,
                             s->ledger.ranking->capacity, message);
        worker_take(&workers[i], s->options);
    }
    if (status == SHV_OK) {
        run_threads(s, workers, threads);
    }
    for (int i = 0; i < threads; i++) {
        worker_free(&workers[i]);
    }
    free(workers);
    return status;
}

static enum shv_status run(struct sweep *s, struct shv_message *message)
{
    int threads = s->options->threads > 0 ? s->options->threads : omp_get_max_threads();
    enum shv_status status = prepare(s, message);
    if (status != SHV_OK) {
        return status;
    }
    if (s->todo > 0) {
        if (s->ledger.counts->total > 0) {
            report(s);
        }
        status = run_workers(s, threads > 0 ? threads : 1, message);
        enum shv_status kept = commit_rest(s, status == SHV_OK ? message : NULL);
        status = status == SHV_OK ? kept : status;
    }
    if (status == SHV_OK && s->ledger.out_of_memory) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for journal or fronts");
    }
    if (status == SHV_OK && s->ledger.counts->total < s->total) {
        status = shv_fail(message, SHV_STOPPED, "the sweep was stopped");
    }
    shv_ranking_sort(s->ledger.ranking);
    if (s->ledger.keep) {
        shv_keep_sort(s->ledger.keep);
    }
    return status;
}

enum shv_status shv_sweep_run(const struct shv_model *model, const struct shv_space *space,
                              const struct shv_sweep_options *options, struct shv_ranking *ranking,
                              struct shv_sweep_counts *counts, struct shv_message *message)
{
    *counts = (struct shv_sweep_counts){0};
    struct sweep s = {
        .model = model,
        .space = space,
        .options = options,
        .ledger = {.counts = counts, .ranking = ranking, .keep = options->keep, .best = -INFINITY}};
    int error = pthread_mutex_init(&s.ledger.lock, NULL);
    if (error != 0) {
        return shv_fail(message, SHV_NO_MEMORY, "no lock for the sweep: %s", strerror(error));
    }
    enum shv_status status = run(&s, message);
    (void)pthread_mutex_destroy(&s.ledger.lock);
    ranges_free(&s.ledger.done);
    ranges_free(&s.left);
    return status;
}
