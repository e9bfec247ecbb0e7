/* Parts of the cycle tables that their files share.
 *
 *   cycle_table.c    defaults, checks, memory, building and refining
 *   cycle_node.c     what the direct cycle says at one node
 *   cycle_measure.c  errors against the direct cycle
 *   cycle_lookup.h   interpolation
 */
#ifndef SHEAVE_MODEL_CYCLE_TABLE_INTERNAL_H
#define SHEAVE_MODEL_CYCLE_TABLE_INTERNAL_H

#include "sheave/cycle_table.h"

/* The inputs of the direct cycle at a point of the table. */
struct shv_cycle_case cycle_case_at(const struct shv_cycle_table_spec *spec, double speed,
                                    double pressure, double temperature);

/* Value of a node of an axis: Pa, K, deg. */
double cycle_axis_value(const struct shv_cycle_axis *axis, size_t direction, size_t node);

/* Fills one node: its surfaces and, phasing by phasing without the outer rows, its volume. `at` has
 * speed, pressures and temperature. NAN where the cycle has no answer. Adds to `cycles`. */
enum shv_status cycle_node_fill(const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_axis *ca50, const struct shv_cycle_case *at,
                                double surfaces[SHV_CYCLE_SURFACES], double *volume,
                                uint64_t *cycles, struct shv_message *message);

/* What one item of a parallel piece of work came to. */
struct cycle_item {
    enum shv_status status;
    uint64_t cycles;
};

/* Runs all items; NULL runner: one after another. */
void cycle_run(const struct shv_cycle_runner *runner, size_t count,
               void (*item)(void *data, size_t index), void *data);

/* Seeded points for the table's quality: all kinds of points, or `random` only. */
enum shv_status cycle_measure(const struct shv_cycle_table *table,
                              const struct shv_cycle_table_spec *spec, size_t samples,
                              uint64_t seed, bool all_kinds, const struct shv_cycle_runner *runner,
                              struct shv_cycle_table_quality *quality, struct shv_message *message);

#endif
