/* Times sweeps and the building of cycle tables; called by bench.py.
 *
 *   sheave_bench sweep STUDY FOLDER THREADS [SHARD COUNT]
 *   sheave_bench tables STUDY FOLDER
 *   sheave_bench build STUDY THREADS
 *   sheave_bench loop THREADS
 *
 * `tables` makes sure that FOLDER, which has to exist, holds the tables of the study. `sweep` takes
 * them from there; reading the study and its tables is not timed. It prints what was found too, so
 * that it can be held against what the peer finds. `build` times the tables that the first
 * combination needs: those of one fuel and lambda, one for each kind of site. `loop` times
 * arithmetic in registers, the same amount on each thread: how far the machine itself lets threads
 * scale. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "sheave/sweep.h"
#include "sheave/tables.h"

enum { USAGE = 2 };

struct stopwatch {
    double wall, cpu; /* s */
};

static double seconds(clockid_t clock)
{
    struct timespec t = {0};
    (void)clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static struct stopwatch begin(void)
{
    return (struct stopwatch){seconds(CLOCK_MONOTONIC), seconds(CLOCK_PROCESS_CPUTIME_ID)};
}

static void print_since(const struct stopwatch *s)
{
    (void)printf("{\"wall\": %.9g, \"cpu\": %.9g", seconds(CLOCK_MONOTONIC) - s->wall,
                 seconds(CLOCK_PROCESS_CPUTIME_ID) - s->cpu);
}

static enum shv_status sweep(const struct shv_model *model, const struct shv_space *space,
                             const struct shv_sweep_options *options, struct shv_message *message)
{
    struct shv_ranking ranking = {0};
    struct shv_sweep_counts counts;
    enum shv_status status =
        shv_ranking_init(&ranking, shv_model_study(model)->results.keep, message);
    if (status != SHV_OK)
        return status;
    const struct stopwatch start = begin();
    status = shv_sweep_run(model, space, options, &ranking, &counts, message);
    if (status == SHV_OK) {
        print_since(&start);
        (void)printf(", \"size\": %" PRIu64 ", \"air_size\": %" PRIu64 ", \"burn_size\": %" PRIu64
                     ", \"total\": %" PRIu64 ", \"feasible\": %" PRIu64 ", \"failed\": [",
                     space->size, space->air_size, space->burn_size, counts.total, counts.feasible);
        for (int k = 0; k < SHV_OUTCOME_COUNT; k++)
            (void)printf("%s%" PRIu64, k > 0 ? ", " : "", counts.failed[k]);
        (void)fputs("], \"ranked\": [", stdout);
        for (size_t i = 0; i < ranking.count; i++)
            (void)printf("%s[%" PRIu64 ", %.17g]", i > 0 ? ", " : "", ranking.item[i].index,
                         ranking.item[i].objective);
        (void)puts("]}");
    }
    shv_ranking_free(&ranking);
    return status;
}

/* With a kit no more tables than it needs. */
static enum shv_status tables(struct shv_model *model, const char *folder,
                              const struct shv_kit *only, int threads, struct shv_message *message)
{
    const struct shv_tables_options options = {.threads = threads, .folder = folder, .only = only};
    return shv_tables_prepare(model, &options, NULL, message);
}

static enum shv_status build(struct shv_model *model, const struct shv_space *space, int threads,
                             struct shv_message *message)
{
    struct shv_kit kit;
    shv_space_kit(space, shv_model_study(model), 0, &kit);
    const struct stopwatch start = begin();
    const enum shv_status status = tables(model, NULL, &kit, threads, message);
    if (status == SHV_OK) {
        size_t count = 0;
        print_since(&start);
        for (size_t i = 0; i < shv_model_table_count(model); i++)
            count += shv_model_has_table(model, i);
        (void)printf(", \"tables\": %zu}\n", count);
    }
    return status;
}

/* Four chains of multiply and add that nothing else waits for, about a second of them. */
static double chains(void)
{
    double a = 1.0, b = 1.1, c = 1.2, d = 1.3;
    for (long i = 0; i < 250000000L; i++) {
        a = a * 0.999999999 + 1e-9;
        b = b * 0.999999998 + 1e-9;
        c = c * 0.999999997 + 1e-9;
        d = d * 0.999999996 + 1e-9;
    }
    return a + b + c + d;
}

static int loop(int threads)
{
    double sum = 0.0;
    const struct stopwatch start = begin();
#pragma omp parallel num_threads(threads) reduction(+ : sum)
    sum += chains();
    print_since(&start);
    (void)printf(", \"sum\": %.17g, \"threads\": %d}\n", sum, threads);
    return EXIT_SUCCESS;
}

static int run(const struct shv_study *study, int argc, char **argv)
{
    struct shv_message message = {""};
    struct shv_model *model = NULL;
    struct shv_space space;
    enum shv_status status = shv_space_init(&space, study, &message);
    if (status == SHV_OK)
        status = shv_model_create(study, &model, &message);
    if (status == SHV_OK && strcmp(argv[1], "build") == 0) {
        status = build(model, &space, atoi(argv[3]), &message);
    } else if (status == SHV_OK) {
        status = tables(model, argv[3], NULL, 0, &message);
        struct shv_sweep_options options = {.threads = argc > 4 ? atoi(argv[4]) : 0};
        if (argc == 7)
            options.shard =
                (struct shv_shard){strtoull(argv[5], NULL, 10), strtoull(argv[6], NULL, 10)};
        if (status == SHV_OK && strcmp(argv[1], "sweep") == 0)
            status = sweep(model, &space, &options, &message);
    }
    if (status != SHV_OK)
        (void)fprintf(stderr, "sheave_bench: %s\n", message.text);
    shv_model_free(model);
    return status == SHV_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}

static bool usable(int argc, char **argv)
{
    if (argc < 4)
        return false;
    if (strcmp(argv[1], "sweep") == 0)
        return (argc == 5 || argc == 7) && atoi(argv[4]) > 0;
    if (strcmp(argv[1], "tables") == 0)
        return argc == 4;
    return strcmp(argv[1], "build") == 0 && argc == 4 && atoi(argv[3]) > 0;
}

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "loop") == 0 && atoi(argv[2]) > 0)
        return loop(atoi(argv[2]));
    if (!usable(argc, argv)) {
        (void)fputs("usage: sheave_bench sweep STUDY FOLDER THREADS [SHARD COUNT]\n"
                    "       sheave_bench tables STUDY FOLDER\n"
                    "       sheave_bench build STUDY THREADS\n"
                    "       sheave_bench loop THREADS\n",
                    stderr);
        return USAGE;
    }
    struct shv_study study = {0};
    struct shv_diagnostics diagnostics = {0};
    const enum shv_status status = shv_study_load(argv[2], &study, &diagnostics);
    for (size_t i = 0; i < diagnostics.count; i++)
        (void)fprintf(stderr, "%s\n", diagnostics.items[i].text);
    shv_diagnostics_free(&diagnostics);
    const int code = status == SHV_OK ? run(&study, argc, argv) : EXIT_FAILURE;
    shv_study_free(&study);
    return code;
}
