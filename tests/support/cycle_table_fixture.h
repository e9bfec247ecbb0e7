/* A small cycle table that takes a fraction of a second, and comparison of tables bit by bit. */
#ifndef SHEAVE_TESTS_SUPPORT_CYCLE_TABLE_FIXTURE_H
#define SHEAVE_TESTS_SUPPORT_CYCLE_TABLE_FIXTURE_H

#include "sheave/cycle_table.h"
#include "support/cycle_fixture.h"

static const double small_speeds[2] = {30.0, 60.0};

/* Half a litre that draws 0.9 of itself at 300 K, walls of 400 K on the way. */
#define SMALL_FILLED (0.9 * 0.5e-3 / 287.0 * (0.7 * 300.0 + 120.0) / 300.0)
static const struct shv_breathing small_breathing[2] = {
    {SMALL_FILLED * 15.0, 1.05, 0.05, 0.7, 120.0, 2.0 / 30.0, 1.8, 0.8},
    {SMALL_FILLED * 30.0, 1.05, 0.05, 0.7, 120.0, 2.0 / 60.0, 1.6, 1.1},
};

/* From no knock at all to knock at the latest phasing. */
static inline void small_table(struct shv_cycle_table_spec *spec,
                               struct shv_cycle_table_options *options)
{
    shv_cycle_table_defaults(spec, options);
    spec->speeds = small_speeds;
    spec->breathing = small_breathing;
    spec->speed_count = 2;
    spec->pressure_least = 0.7e5;
    spec->pressure_most = 2e5;
    spec->temperature_least = 300.0;
    spec->temperature_most = 400.0;
    options->samples = 200;
    options->first_nodes[SHV_CYCLE_PRESSURE] = 13;
    options->first_nodes[SHV_CYCLE_TEMPERATURE] = 9;
}

static inline size_t motored_count(const struct shv_cycle_table *t)
{
    return t->speed_count * (t->axis[0].nodes + 2) * (t->axis[1].nodes + 2);
}

static inline size_t volume_count(const struct shv_cycle_table *t)
{
    return motored_count(t) * SHV_CYCLE_ROWS(t->axis[2].nodes) * SHV_CYCLE_FIELDS;
}

static inline void assert_same_tables(const struct shv_cycle_table *a,
                                      const struct shv_cycle_table *b)
{
    assert_int_equal(a->speed_count, b->speed_count);
    assert_memory_equal(a->axis, b->axis, sizeof a->axis);
    assert_memory_equal(&a->quality, &b->quality, sizeof a->quality);
    assert_memory_equal(a->speeds, b->speeds, a->speed_count * sizeof(double));
    assert_memory_equal(a->motored, b->motored, motored_count(a) * sizeof(double));
    assert_memory_equal(a->volumes, b->volumes, volume_count(a) * sizeof(double));
}

static inline void assert_empty_table(const struct shv_cycle_table *t)
{
    assert_null(t->speeds);
    assert_null(t->motored);
    assert_null(t->volumes);
    assert_int_equal(t->speed_count, 0);
}

/* A number in 0..1 that the tables' own points do not come from: xorshift (Marsaglia 2003). */
static inline double next_share(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return (double)(*state >> 11) * 0x1p-53;
}

#endif
