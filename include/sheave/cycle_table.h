/* Tables of the closed cycle, so that a sweep need not integrate crank angles: for one engine,
 * fuel, lambda and rule of exhaust pressure, at each of a list of speeds, over manifold pressure
 * and charge temperature. How they work, their grids and measured errors: docs/cycle-tables.md.
 *
 * SI: Pa, K, rev/s, deg of crank angle as in cycle.h. Speeds are exact nodes: nothing is
 * interpolated between them. Outside the ranges of pressure and temperature the lookup says so; it
 * never extrapolates. The same inputs give the same bits on every machine and with any runner.
 *
 * Ownership: a table owns its arrays; shv_cycle_table_free() frees them. It is read only once
 * built, so threads share it without locks.
 */
#ifndef SHEAVE_CYCLE_TABLE_H
#define SHEAVE_CYCLE_TABLE_H

#include <stdint.h>

#include "sheave/breathing.h"
#include "sheave/cycle.h"

#define SHV_CYCLE_TABLE_SPEEDS_MOST 256
#define SHV_CYCLE_TABLE_NODES_MOST 257 /* in one direction */
#define SHV_CYCLE_TABLE_BYTES_MOST ((size_t)256 << 20)

/* What a table is made from. Pointers are borrowed for the call only. */
struct shv_cycle_table_spec {
    struct shv_cycle_engine engine;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_knock knock; /* limit_ca50 at least 1 deg after best_ca50 */
    /* Humidity, lambda, combustion efficiency, residual gas, step and gas; not used are speed,
     * pressures, temperature and phasing. */
    struct shv_cycle_case at;
    /* Exhaust pressure pe, Pa, at which pe^2 = exhaust_pressure^2 + exhaust_loss m^2 (1 + (Tm -
     * exhaust_charge) / exhaust_temperature): Pa, default 101325, Pa2 s2/kg2, 0 or more, default 0,
     * K, above 0, default 1200 and 288.15. */
    double exhaust_pressure, exhaust_loss;
    double exhaust_temperature, exhaust_charge;
    const struct shv_breathing *breathing;      /* [speed_count], borrowed */
    const double *speeds;                       /* rev/s, borrowed */
    size_t speed_count;                         /* 1..SHV_CYCLE_TABLE_SPEEDS_MOST */
    double pressure_least, pressure_most;       /* Pa, within 1e4..1e6, default 0.3e5..3e5 */
    double temperature_least, temperature_most; /* K, within 220..600, default 250..450 */
};

/* Directions of the grid. */
enum { SHV_CYCLE_PRESSURE, SHV_CYCLE_TEMPERATURE, SHV_CYCLE_CA50, SHV_CYCLE_DIRECTIONS };

struct shv_cycle_table_options {
    /* Greatest errors accepted, against shv_cycle_knock_limit(). */
    double efficiency;    /* relative, default 1e-3 */
    double ca50;          /* deg, default 0.3 */
    double peak_pressure; /* relative, default 5e-3 */
    size_t samples;       /* random points, over all speeds, default 600, 1..100000 */
    uint64_t seed;        /* of the random points, default 1 */
    /* Nodes to start from and to stop at, 4..SHV_CYCLE_TABLE_NODES_MOST, by direction; defaults
     * 10, 7, 12 and 49, 33, 41. */
    size_t first_nodes[SHV_CYCLE_DIRECTIONS], most_nodes[SHV_CYCLE_DIRECTIONS];
};

/* Greatest differences from the direct cycle over a number of points. */
struct shv_cycle_table_error {
    double efficiency;          /* relative */
    double ca50;                /* deg */
    double peak_pressure;       /* relative */
    double exhaust_temperature; /* K; not controlled */
    double knock_integral;      /* relative; not controlled */
};

/* What building took and how good the table is, for reports. */
struct shv_cycle_table_quality {
    struct shv_cycle_table_error random; /* at points anywhere in the range */
    uint64_t compared;                   /* points behind `random` */
    uint64_t silent; /* points where the cycle has an answer next to nodes that have none, so that
                      * the table says SHV_CYCLE_TABLE_NO_ANSWER */
    uint64_t answerless; /* points where neither has an answer */
    uint64_t rounds;     /* grids built */
    uint64_t cycles;     /* integrations of a cycle, of building and measuring */
};

/* Nodes at origin + i / per_unit of pressure's logarithm, of temperature, of phasing. */
struct shv_cycle_axis {
    double origin, per_unit;
    double least, most; /* of the quantity itself: Pa, K, deg */
    size_t nodes;
};

#define SHV_CYCLE_FIELDS                                                                           \
    ((size_t)4) /* of a node and phasing: see src/model/cylinder/cycle_lookup.h */
/* Rows over phasing of a node: coefficients, one more at each end, then values at the best and at
 * the last phasing. */
#define SHV_CYCLE_ROWS(ca50_nodes) ((size_t)(ca50_nodes) + 4)

struct shv_cycle_table {
    size_t speed_count;
    double *speeds; /* rev/s, owned */
    struct shv_cycle_axis axis[SHV_CYCLE_DIRECTIONS];
    double best_ca50;   /* deg; phasings begin earlier, so that roots are met that retard moves */
    double log_allowed; /* of the knock integral */
    /* Both owned; coefficients of splines, with one row more on each side, P = pressure nodes + 2
     * and so on; C has two rows more, values at the best and at the last phasing. */
    double *motored; /* [speed_count][P][T], of the logarithm of the peak without fire, Pa */
    double *volumes; /* [speed_count][P][T][C][SHV_CYCLE_FIELDS] */
    struct shv_cycle_table_quality quality;
};

enum shv_cycle_table_outcome {
    SHV_CYCLE_TABLE_DONE,
    SHV_CYCLE_TABLE_KNOCK_LIMITED, /* knocks, or keeps less than `retard` from it, even at
                                    * limit_ca50; numbers are those of limit_ca50 */
    SHV_CYCLE_TABLE_NO_ANSWER,     /* the cycle has none at a node nearby; numbers are NAN */
    SHV_CYCLE_TABLE_OUT_OF_RANGE   /* beyond pressures, temperatures or speeds, or `retard` below
                                    * 0; numbers are NAN */
};

struct shv_cycle_value {
    enum shv_cycle_table_outcome outcome;
    double gross_efficiency;
    double ca50;                /* deg, within best_ca50..limit_ca50 */
    double wanted_ca50;         /* deg, the later of best_ca50 and of what knock asks for + retard:
                                 * beyond limit_ca50 where that is not allowed, as far as the mean
                                 * fall of the knock integral's logarithm says */
    double peak_pressure;       /* Pa */
    double exhaust_temperature; /* K */
    double knock_integral;      /* at `ca50` */
};

/* Runs item(data, i) for every i below count, in any order and on any threads, and returns when all
 * are done. Items don't touch each other's results. */
struct shv_cycle_runner {
    void (*run)(void *self, size_t count, void (*item)(void *data, size_t index), void *data);
    void *self;
};

/* Every field to its default; `speeds` to NULL and speed_count to 0. */
void shv_cycle_table_defaults(struct shv_cycle_table_spec *spec,
                              struct shv_cycle_table_options *options);

/* Sets the nodes to start from and to stop at to the density of the defaults (22 and 49 over a
 * factor of 10 in pressure, 15 and 33 over 200 K) over the ranges of `spec`, 4 at least: narrow
 * ranges cost less. Phasing is left as it is. */
void shv_cycle_table_nodes(const struct shv_cycle_table_spec *spec,
                           struct shv_cycle_table_options *options);

/* Builds, measures and refines until the errors are accepted. `runner` NULL: one after another.
 * Errors, all with a message, and then the table is empty: SHV_BAD_INPUT when an input is out of
 * its range or when errors are still too large at the largest grid; SHV_NOTHING when the cycle has
 * no answer at any point; SHV_NO_MEMORY. */
enum shv_status shv_cycle_table_build(struct shv_cycle_table *table,
                                      const struct shv_cycle_table_spec *spec,
                                      const struct shv_cycle_table_options *options,
                                      const struct shv_cycle_runner *runner,
                                      struct shv_message *message);

/* The inputs of the direct cycle at a point of the table. */
struct shv_cycle_case shv_cycle_table_case(const struct shv_cycle_table_spec *spec, size_t speed,
                                           double manifold_pressure, double charge_temperature);
/* Exhaust pressure, Pa, by the rule of `spec` at its speed of this index: flow and pressure that
 * agree with each other, flow not below 0. */
double shv_cycle_table_exhaust(const struct shv_cycle_table_spec *spec, size_t speed,
                               double manifold_pressure, double charge_temperature);

/* Safe on a zeroed table and when called twice. */
void shv_cycle_table_free(struct shv_cycle_table *table);

#endif
