/* The range plan: which parts a shop stocks, and which kit each group of customers gets, so that
 * few parts serve every group well. The mathematics: docs/range.md.
 *
 * A group of customers is a vehicle in a market at a tier of price and outfit. Its candidates are
 * kits that keep every limit there; a kit uses at most one part of each kind. A plan stocks a set
 * of parts and gives each group one candidate all of whose parts are in stock.
 */
#ifndef SHEAVE_RANGE_H
#define SHEAVE_RANGE_H

#include <stdint.h>

#include "sheave/range_file.h"

/* ---- the problem ---- */

/* "blower_pulley": stem of names; "blower pulley", "blower pulleys": in sentences. */
SHV_API const char *shv_part_kind_name(enum shv_part_kind kind);
const char *shv_part_kind_words(enum shv_part_kind kind, size_t count);

struct shv_range_part {
    enum shv_part_kind kind;
    char *name;  /* owned by whoever made the problem; for people */
    double cost; /* money a year for keeping it in stock, 0 or more; counts in SHV_RANGE_PROFIT */
};

/* Whether a candidate holds every limit with the wanted probability, where one is wanted. */
enum shv_range_holds { SHV_RANGE_HOLDS, SHV_RANGE_UNSURE, SHV_RANGE_FAILS };

struct shv_range_candidate {
    double power;                 /* W */
    double price, mass;           /* money, kg: of all parts of the kit */
    size_t part[SHV_STOCK_KINDS]; /* into the problem's parts; SHV_NONE: none that is counted */
    bool has_cooler;
    enum shv_range_holds holds;
    uint64_t index; /* whatever the caller knows it by; of equals the lower goes first */
};

struct shv_range_group {
    char *name;             /* owned by whoever made the problem */
    double sales;           /* a year, above 0; the mean over scenarios */
    const double *sales_in; /* [scenario_count], whose weighted mean that is; borrowed */
    size_t family;          /* groups of one family get the same blower; SHV_NONE: of none */
    double sale_price;      /* money for a kit, and more for each W it makes; */
    double sale_per_watt;   /* they count in SHV_RANGE_PROFIT */
    /* What a kit must be to serve the group. */
    enum shv_range_cooler cooler;
    double most_price, most_mass; /* INFINITY: any */
    double least_power;           /* W; 0: any */
    double least_share;           /* of the power of the best candidate that keeps cooler, price and
                                   * mass; 0..1 */
    size_t count;
    struct shv_range_candidate *candidate; /* owned by whoever made the problem */
};

struct shv_range_problem {
    enum shv_range_value value;
    enum shv_range_choose choose;
    size_t part_count, group_count, family_count;
    struct shv_range_part *part;
    struct shv_range_group *group;
    char **family;                /* names */
    size_t most[SHV_STOCK_KINDS]; /* different parts of a kind in stock; SHV_NONE: any number */
    size_t most_parts;            /* of all kinds together; it bounds the plan, not the curve */
    size_t scenario_count;        /* of sales; 0: they are certain */
    const struct shv_range_scenario *scenario; /* borrowed */
};

/* ---- the plan ---- */

/* The best plan with so many different parts at the most. */
struct shv_range_point {
    size_t allowed; /* different parts at the most */
    size_t parts;   /* that it has */
    double value;   /* of all sales in a year, less the cost of stock in SHV_RANGE_PROFIT; with
                     * scenarios what is expected */
    double worst;   /* in the scenario where it is worth least; of that the number */
    size_t worst_in;
    double bound;  /* no plan is worth more; the value itself when that is proven */
    bool proven;   /* the best there is, on the grid of values (shv_range_result.step) */
    bool settled;  /* of equal ones the one that the rule names (docs/range.md) */
    bool *stocked; /* [part_count], owned */
    size_t *kit;   /* [group_count], indices into the group's candidates, owned */
};

/* What stands against serving a group. */
enum shv_range_need {
    SHV_NEED_COOLER,
    SHV_NEED_PRICE,
    SHV_NEED_MASS,
    SHV_NEED_POWER,
    SHV_NEED_SHARE,
    SHV_NEED_FAMILY, /* the same blower; `which` is the family */
    SHV_NEED_KIND,   /* the number of parts of a kind; `which` is the kind */
    SHV_NEED_PARTS   /* the number of all parts */
};
#define SHV_GROUP_NEEDS SHV_NEED_FAMILY /* those before it are requirements of one group */

/* A requirement that, relaxed alone, would let every group be served; or one of several that have
 * to be relaxed together: those with the same `way`. */
struct shv_range_relief {
    size_t way;
    enum shv_range_need need;
    size_t which; /* group, family or kind */
    double is;    /* as it stands: money, kg, W, share, number; NAN for the others */
    double to;    /* the least that has to be let through; NAN where there is no such number */
};

/* The plan in one scenario, and the best of the same limits that there is for the sales of that
 * scenario alone, which need not serve groups that buy nothing then. */
struct shv_range_known {
    double sales;       /* of all groups */
    double value;       /* of the plan */
    double best, bound; /* of the other one; no plan is worth more than its bound */
    size_t parts;       /* of the other one */
    bool proven;
};

struct shv_range_result {
    double step; /* values are compared on a grid of whole multiples of this */
    /* Of each group: candidates that serve it, those of them that dominance leaves, and its own
     * best: the one of highest power that keeps cooler, price and mass, or SHV_NONE. Owned. */
    size_t *serving, *kept, *best;
    size_t point_count;
    struct shv_range_point *point; /* the curve, by rising number of parts, owned */
    bool is_whole;                 /* the curve was not broken off */
    size_t knee;                   /* a point, SHV_NONE for a curve of less than three */
    size_t chosen;                 /* the plan, SHV_NONE when none was found */
    struct shv_range_known *known; /* [scenario_count], owned; NULL when it was not come to */
    /* When not every group can be served: which, of those that are left out of a plan that serves
     * as many as can be; and what would serve them. Owned. */
    bool alone; /* these have no candidate by themselves; else no stock serves all together */
    size_t unserved_count, relief_count;
    size_t *unserved;
    struct shv_range_relief *relief;
};

struct shv_range_options {
    double seconds; /* for each integer programme, 0: as long as it takes */
    /* Called several times a second with the plans that are done and those that there are, 0 while
     * that is not known; false stops. May be NULL. */
    bool (*go_on)(void *data, size_t done, size_t total);
    /* Decides for candidates of a group that are unsure: sets `holds` of each, and power and index
     * where it holds as another combination of the same parts. Asked only where it matters. May be
     * NULL: then what is unsure holds. What it fails with ends the search. */
    enum shv_status (*judge)(void *data, size_t group, struct shv_range_candidate *const *list,
                             size_t count, struct shv_message *message);
    void *data;
};

/* Finds the plan and the whole curve, with COIN-OR CBC, which runs in a child process: it prints,
 * catches signals and cannot be asked to stop, all of which a child keeps from the caller. The
 * result depends on nothing but the problem, unless time ran out. To be freed with
 * shv_range_result_free, whatever the status:
 * SHV_NOTHING: not every group can be served; the result says which and why.
 * SHV_STOPPED: go_on said so; the result holds what was found. A point that is not proven has its
 * bound.
 * SHV_BAD_INPUT: the problem makes no sense. SHV_IO: the solver failed. SHV_NO_MEMORY. */
SHV_API enum shv_status shv_range_solve(const struct shv_range_problem *problem,
                                        const struct shv_range_options *options,
                                        struct shv_range_result *result,
                                        struct shv_message *message);
SHV_API void shv_range_result_free(struct shv_range_result *result);

/* The knee of a curve of `count` points (x rising, y not falling): the point farthest above the
 * chord from first to last, both axes scaled to 0..1; of equals the first. SHV_NONE for less than
 * three points, a flat curve or one that nowhere lies above its chord. The concave case of: V.
 * Satopaa, J. Albrecht, D. Irwin, B. Raghavan, Finding a "Kneedle" in a Haystack, ICDCS Workshops
 * 2011, without smoothing. */
size_t shv_range_knee(const double *x, const double *y, size_t count);

/* The value of perfect information (R. A. Howard, Information Value Theory, IEEE Trans. Syst. Sci.
 * Cybern. 2 (1966) 22-26, from memory): how much more than the plan is expected to be worth, if the
 * sales were known before the stock is chosen; and what it may be at the most where plans are not
 * proven. NAN without `known`. */
double shv_range_knowing(const struct shv_range_problem *problem,
                         const struct shv_range_result *result, double *most);

/* What a sale of a candidate to a group is worth; `best_power` that of the group's own best. */
double shv_range_worth(const struct shv_range_problem *problem, const struct shv_range_group *group,
                       const struct shv_range_candidate *candidate, double best_power);

#endif
