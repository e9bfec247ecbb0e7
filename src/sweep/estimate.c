/* How long a sweep would take: timing a sample of it. */
#include "sheave/sweep.h"

#include "base/clock.h"
#include "sweep/plan.h"
#include "sweep/worker.h"

#include <omp.h>
#include <stdlib.h>

/* Air-side combinations of a piece: less than a chunk, so that many places are seen, yet enough to
 * fill the lanes about as well. */
#define PIECE 128
/* Share of the time after which the rate counts. */
#define WARM_SHARE 0.4

struct timed_part {
    struct worker worker;
    struct shv_ranking best;
    uint64_t combinations;
    uint64_t cold;  /* combinations until `warm` */
    double warm;    /* s, when timing began: before, tables and lanes came into the caches */
    double seconds; /* until the last piece was done */
};

struct timed_sample {
    const struct shv_model *model;
    const struct shv_space *space;
    uint64_t air, pieces, stride;
    double started, budget;
    uint64_t taken; /* shared, atomic */
};

static uint64_t common_divisor(uint64_t a, uint64_t b)
{
    while (b > 0) {
        uint64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* A step with which 0, stride, 2 stride, ... modulo `pieces` meets every piece once, and is spread
 * evenly wherever it is broken off: near the golden section (Weyl; van der Corput 1935). */
static uint64_t golden_stride(uint64_t pieces)
{
    uint64_t stride = (uint64_t)((double)pieces * 0.61803398874989485);
    stride = stride > 0 ? stride : 1;
    while (common_divisor(pieces, stride) > 1) {
        stride++;
    }
    return stride;
}

/* a * b modulo m without overflow. */
static uint64_t product_modulo(uint64_t a, uint64_t b, uint64_t m)
{
    uint64_t sum = 0;
    for (a %= m; b > 0; b >>= 1) {
        if (b & 1u) {
            sum = sum >= m - a ? sum - (m - a) : sum + a;
        }
        a = a >= m - a ? a - (m - a) : a + a;
    }
    return sum;
}

static void work(struct timed_sample *s, struct timed_part *p)
{
    do {
        uint64_t place = __atomic_fetch_add(&s->taken, 1, __ATOMIC_RELAXED);
        if (place >= s->pieces) {
            return;
        }
        uint64_t first = product_modulo(s->stride, place, s->pieces) * s->air;
        uint64_t left = s->space->air_size - first;
        worker_run(&p->worker, s->model, s->space, first, (size_t)(left < s->air ? left : s->air));
        p->combinations += p->worker.counts.total;
        for (size_t i = 0; i < p->worker.ranking.count; i++) {
            shv_ranking_offer(&p->best, p->worker.ranking.item[i]);
        }
        p->seconds = seconds_now() - s->started;
        if (p->warm == 0.0 && p->seconds > WARM_SHARE * s->budget) {
            p->warm = p->seconds;
            p->cold = p->combinations;
        }
    } while (p->seconds < s->budget);
}

static void run_threads(struct timed_sample *s, struct timed_part *parts, int threads)
{
#pragma omp parallel num_threads(threads) default(none) shared(s, parts)
    work(s, &parts[omp_get_thread_num()]);
}

/* Each thread's own rate: the last pieces end at different moments. */
static void extrapolate(const struct timed_sample *s, const struct timed_part *parts, int threads,
                        uint64_t combinations, struct shv_estimate *e)
{
    *e = (struct shv_estimate){0};
    for (int i = 0; i < threads; i++) {
        e->sampled += parts[i].combinations;
        e->spent = parts[i].seconds > e->spent ? parts[i].seconds : e->spent;
        /* A sample that ended before all was warm counts whole. */
        bool warmed = parts[i].warm > 0.0 && parts[i].seconds > parts[i].warm;
        double seconds = parts[i].seconds - (warmed ? parts[i].warm : 0.0);
        uint64_t counted = parts[i].combinations - (warmed ? parts[i].cold : 0);
        e->rate += seconds > 0.0 ? (double)counted / seconds : 0.0;
    }
    if (e->sampled == s->space->size && e->spent > 0.0) { /* nothing is left to guess */
        e->rate = (double)e->sampled / e->spent;
    }
    e->seconds = e->rate > 0.0 ? (double)combinations / e->rate : 0.0;
}

static void take_best(const struct timed_part *parts, int threads, struct shv_ranking *best)
{
    for (int i = 0; best && i < threads; i++) {
        for (size_t k = 0; k < parts[i].best.count; k++) {
            shv_ranking_offer(best, parts[i].best.item[k]);
        }
    }
    if (best) {
        shv_ranking_sort(best);
    }
}

enum shv_status shv_sweep_estimate(const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_sweep_options *options, double budget,
                                   struct shv_ranking *best, struct shv_estimate *estimate,
                                   struct shv_message *message)
{
    size_t keep = best && best->capacity > 0 ? best->capacity : 1;
    int threads = options->threads > 0 ? options->threads : omp_get_max_threads();
    threads = threads > 0 ? threads : 1;
    *estimate = (struct shv_estimate){0};
    struct sweep_plan plan;
    enum shv_status status = plan_of(&plan, model, space, options->shard, message);
    if (status != SHV_OK) {
        return status;
    }
    struct timed_part *parts = calloc((size_t)threads, sizeof *parts);
    if (!parts) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %d threads", threads);
    }
    struct timed_sample s = {.model = model,
                             .space = space,
                             .air = plan.air < PIECE ? plan.air : PIECE,
                             .budget = budget};
    s.pieces = space->air_size / s.air + (space->air_size % s.air > 0 ? 1 : 0);
    s.stride = golden_stride(s.pieces);
    for (int i = 0; i < threads && status == SHV_OK; i++) {
        status = worker_init(&parts[i].worker, model, space, (size_t)s.air, keep, message);
        status = status == SHV_OK ? shv_ranking_init(&parts[i].best, keep, message) : status;
    }
    if (status == SHV_OK) {
        s.started = seconds_now();
        run_threads(&s, parts, threads);
        extrapolate(&s, parts, threads, plan_combinations(&plan), estimate);
        take_best(parts, threads, best);
    }
    for (int i = 0; i < threads; i++) {
        worker_free(&parts[i].worker);
        shv_ranking_free(&parts[i].best);
    }
    free(parts);
    return status;
}
