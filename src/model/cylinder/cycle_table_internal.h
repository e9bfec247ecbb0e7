/* Parts of the cycle tables that their files share.
 *
 *   cycle_table.c    defaults, checks, memory, building and refining
 *   cycle_node.c     what the direct cycle says at nodes
 *   cycle_measure.c  errors against the direct cycle
 *   cycle_lookup.h   interpolation
 */
#ifndef SHEAVE_MODEL_CYCLE_TABLE_INTERNAL_H
#define SHEAVE_MODEL_CYCLE_TABLE_INTERNAL_H

#include "sheave/cycle_table.h"

/* The manifold pressure, Pa, at which the table's engine draws this flow of air, kg/s. */
double cycle_pressure_of_flow(const struct shv_cycle_table_spec *spec, size_t speed,
                              double charge_temperature, double flow);

/* Value of a node of an axis: Pa, K, deg. */
double cycle_axis_value(const struct shv_cycle_axis *axis, size_t direction, size_t node);

/* Inputs of a table's node, with speed, pressures and temperature, and where its numbers go. */
struct cycle_node_place {
    struct shv_cycle_case at;
    double *motored; /* logarithm of the peak without fire */
    double *volume;  /* [rows over CA50][SHV_CYCLE_FIELDS] */
};

/* Nodes that are filled together. */
#define CYCLE_NODES_MOST ((size_t)16)

/* Fills nodes of one speed and pressure, in order of temperature, `count` up to CYCLE_NODES_MOST:
 * their motored peak and, without the outer rows, their volumes. NAN where the cycle has no answer.
 */
enum shv_status cycle_nodes_fill(const struct shv_cycle_table_spec *spec,
                                 const struct shv_cycle_axis *ca50,
                                 const struct cycle_node_place *places, size_t count,
                                 uint64_t *cycles, struct shv_message *message);

struct cycle;

/* Checks a case of the table and prepares a cycle for it; `at` stays borrowed. */
enum shv_status cycle_check_at(const struct shv_cycle_table_spec *spec,
                               const struct shv_cycle_case *at, struct cycle *c,
                               struct shv_message *message);

/* What one item of a parallel piece of work came to. */
struct cycle_item {
    enum shv_status status;
    uint64_t cycles;
};

/* Runs all items; NULL runner: one after another. */
void cycle_run(const struct shv_cycle_runner *runner, size_t count,
               void (*item)(void *data, size_t index), void *data);

/* Kinds of points to measure at: on nodes of temperature (what is seen comes from pressure), on
 * nodes of pressure, on both, numbered as the directions; and anywhere. */
#define CYCLE_ANYWHERE ((size_t)SHV_CYCLE_DIRECTIONS)

/* Seeded points of a kind for the table's quality. */
enum shv_status cycle_measure(const struct shv_cycle_table *table,
                              const struct shv_cycle_table_spec *spec, size_t samples,
                              uint64_t seed, size_t kind, const struct shv_cycle_runner *runner,
                              struct shv_cycle_table_quality *quality, struct shv_message *message);

#endif
