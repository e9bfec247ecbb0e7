/* The candidates of a range that can be part of a best plan, on a grid of whole numbers. */
#ifndef SHEAVE_PLAN_RANGE_THIN_H
#define SHEAVE_PLAN_RANGE_THIN_H

#include "sheave/range.h"

struct thin_candidate {
    int64_t value; /* of all sales to the group, in steps */
    size_t from;   /* index into the group's candidates */
    size_t part[SHV_STOCK_KINDS];
};

/* In the order in which a group prefers them: by value, then the lower price, mass, parts and
 * index. */
struct thin_group {
    size_t count;
    struct thin_candidate *item; /* owned */
    size_t serving;              /* that keep the group's requirements, whether they fail or not */
    size_t best;                 /* SHV_NONE: no candidate keeps cooler, price and mass */
};

struct thin {
    const struct shv_range_problem *problem;
    double step;
    struct thin_group *group; /* owned */
    int64_t *cost;            /* of each part, in steps; owned */
};

/* The requirements of its group that a candidate breaks by itself, a bit for each, and whether it
 * fails; power and share against the power of the group's own best. */
#define THIN_FAILS (1u << SHV_GROUP_NEEDS) /* a limit, too often: that can't be lifted */
unsigned thin_broken(const struct shv_range_group *group, const struct shv_range_candidate *c,
                     double best_power);
/* The group's own best: index, SHV_NONE when there is none. */
size_t thin_own_best(const struct shv_range_group *group);

/* Puts values on the grid and drops what dominance lets drop, but nothing of group `whole`
 * (SHV_NONE: of all). A group may be left with nothing. SHV_NO_MEMORY; then, as always, to be
 * freed. */
enum shv_status thin_make(struct thin *thin, const struct shv_range_problem *problem, size_t whole,
                          struct shv_message *message);
void thin_free(struct thin *thin);

/* The candidates that the groups get from a stock, as positions in thin_group.item: each the first
 * that it prefers, families one blower together. False when a group gets none. `value` is that of
 * the whole plan in steps. */
bool thin_assign(const struct thin *thin, const bool *stocked, size_t *position, int64_t *value);

#endif
