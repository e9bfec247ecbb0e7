/* Times one sweep: sheave_bench STUDY THREADS. Loading and preparing are not timed. Prints what was
 * found too, so that it can be held against what the peer finds. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "sheave/sweep.h"

static double seconds(clockid_t clock)
{
    struct timespec t = {0};
    (void)clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int run(const struct shv_study *study, int threads)
{
    struct shv_message message = {""};
    struct shv_model *model = NULL;
    struct shv_space space;
    struct shv_ranking ranking = {0};
    struct shv_sweep_counts counts;
    const struct shv_sweep_options options = {.threads = threads};
    int code = EXIT_FAILURE;
    if (shv_space_init(&space, study, &message) != SHV_OK ||
        shv_model_create(study, &model, &message) != SHV_OK ||
        shv_ranking_init(&ranking, study->results.keep, &message) != SHV_OK)
        goto end;
    const double wall = seconds(CLOCK_MONOTONIC), cpu = seconds(CLOCK_PROCESS_CPUTIME_ID);
    if (shv_sweep_run(model, &space, &options, &ranking, &counts, &message) != SHV_OK)
        goto end;
    const double wall_spent = seconds(CLOCK_MONOTONIC) - wall;
    const double cpu_spent = seconds(CLOCK_PROCESS_CPUTIME_ID) - cpu;
    shv_ranking_sort(&ranking);
    (void)printf("{\"wall\": %.9g, \"cpu\": %.9g, \"size\": %" PRIu64 ", \"air_size\": %" PRIu64
                 ", \"feasible\": %" PRIu64 ", \"outside_map\": %" PRIu64
                 ", \"out_of_range\": %" PRIu64 ", \"ranked\": [",
                 wall_spent, cpu_spent, space.size, space.air_size, counts.feasible,
                 counts.failed[SHV_POINT_OUTSIDE_MAP], counts.failed[SHV_POINT_OUT_OF_RANGE]);
    for (size_t i = 0; i < ranking.count; i++)
        (void)printf("%s[%" PRIu64 ", %.17g]", i > 0 ? ", " : "", ranking.item[i].index,
                     ranking.item[i].objective);
    (void)puts("]}");
    code = EXIT_SUCCESS;
end:
    if (code != EXIT_SUCCESS)
        (void)fprintf(stderr, "sheave_bench: %s\n", message.text);
    shv_ranking_free(&ranking);
    shv_model_free(model);
    return code;
}

int main(int argc, char **argv)
{
    const int threads = argc == 3 ? atoi(argv[2]) : 0;
    if (threads < 1) {
        (void)fputs("usage: sheave_bench STUDY THREADS\n", stderr);
        return 2;
    }
    struct shv_study study = {0};
    struct shv_diagnostics diagnostics = {0};
    const enum shv_status status = shv_study_load(argv[1], &study, &diagnostics);
    for (size_t i = 0; i < diagnostics.count; i++)
        (void)fprintf(stderr, "%s\n", diagnostics.items[i].text);
    shv_diagnostics_free(&diagnostics);
    const int code = status == SHV_OK ? run(&study, threads) : EXIT_FAILURE;
    shv_study_free(&study);
    return code;
}
