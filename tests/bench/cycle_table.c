/* Figures of docs/cycle-tables.md: size, errors and time of the tables of four cases, and time of a
 * lookup. Not part of the tests. */
#include "model/cylinder/cycle_table_internal.h"
#include "model/cylinder/cycle_lookup.h"
#include "sheave/cycle_build.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { SPEEDS = 13, OTHER_POINTS = 6000, LOOKUPS = 1000000 };

/* Of the processor: other work on the machine counts little. */
static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void die(const struct shv_message *message)
{
    fprintf(stderr, "%s\n", message->text);
    exit(1);
}

static double nanoseconds_per_lookup(const struct shv_cycle_table *t)
{
    double sum = 0.0, begin = now();
    for (unsigned i = 0; i < LOOKUPS; i++) {
        double pm = 0.3e5 + 0.27 * (double)(i * 7919u % 1000000u);
        sum += cycle_lookup(t, i % SPEEDS, pm, 250.0 + i * 31u % 200u, 0.0).ca50;
    }
    double end = now();
    return sum > 0.0 ? (end - begin) / LOOKUPS * 1e9 : 0.0;
}

static void show_errors(const char *name, const struct shv_cycle_table_error *e)
{
    printf("| %s | %.3f | %.3f | %.3f | %.2f | %.2f |\n", name, 100.0 * e->efficiency, e->ca50,
           100.0 * e->peak_pressure, e->exhaust_temperature, 100.0 * e->knock_integral);
}

static void show(const char *name, const struct shv_cycle_table_spec *spec)
{
    struct shv_cycle_table_spec unused;
    struct shv_cycle_table_options options;
    struct shv_cycle_build_options build = {.threads = 0};
    struct shv_cycle_build_report report;
    struct shv_cycle_table t;
    struct shv_cycle_table_quality other;
    struct shv_message message = {{0}};
    shv_cycle_table_defaults(&unused, &options);
    double begin = now();
    if (shv_cycle_build(&t, spec, &options, &build, &report, &message) != SHV_OK) {
        die(&message);
    }
    double seconds = now() - begin;
    if (cycle_measure(&t, spec, OTHER_POINTS, 12345, CYCLE_ANYWHERE, NULL, &other, &message) !=
        SHV_OK) {
        die(&message);
    }
    size_t bytes = t.speed_count * (t.axis[0].nodes + 2) * (t.axis[1].nodes + 2) *
                   (1 + SHV_CYCLE_ROWS(t.axis[2].nodes) * SHV_CYCLE_FIELDS) * 8;
    printf("\n%s: %zu x %zu x %zu nodes, %.1f MB, %llu rounds, %llu cycles, %.1f s of processor "
           "time, %.0f ns per "
           "lookup, %llu silent points\n\n",
           name, t.axis[0].nodes, t.axis[1].nodes, t.axis[2].nodes, (double)bytes / 1e6,
           (unsigned long long)t.quality.rounds, (unsigned long long)t.quality.cycles, seconds,
           nanoseconds_per_lookup(&t), (unsigned long long)t.quality.silent);
    show_errors("points it was accepted by", &t.quality.random);
    show_errors("6000 other points", &other.random);
    shv_cycle_table_free(&t);
}

int main(void)
{
    double speeds[SPEEDS];
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    for (int i = 0; i < SPEEDS; i++) {
        speeds[i] = (1000.0 + 500.0 * i) / 60.0;
    }
    struct shv_breathing breathing[SPEEDS];
    for (int i = 0; i < SPEEDS; i++) { /* 2 l in four cylinders, 0.9 of it drawn at 300 K */
        double capacity = 0.9 * 1e-3 * speeds[i] / 287.0 * (0.7 * 300.0 + 120.0) / 300.0;
        breathing[i] =
            (struct shv_breathing){capacity, 1.05, 0.05, 0.7, 120.0, 0.5 / speeds[i], 0.8, 1.0};
    }
    shv_cycle_table_defaults(&spec, &options);
    spec.speeds = speeds;
    spec.speed_count = SPEEDS;
    spec.breathing = breathing;
    show("default", &spec);
    struct shv_cycle_table_spec s = spec;
    s.at.lambda = 0.80;
    s.engine.compression_ratio = 9.5;
    /* 40 kPa at 6000/min and 3 bar */
    s.exhaust_loss = (141325.0 * 141325.0 - 101325.0 * 101325.0) / (0.31 * 0.31);
    show("CR 9.5, lambda 0.80, back pressure", &s);
    s = spec;
    s.engine.compression_ratio = 11.5;
    s.fuel.ron = 91.0;
    s.fuel.mon = 82.0;
    show("CR 11.5, RON 91", &s);
    s = spec;
    s.fuel.ron = 107.0;
    s.at.lambda = 0.85;
    show("RON 107", &s);
    return 0;
}
