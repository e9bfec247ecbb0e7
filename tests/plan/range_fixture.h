/* Small ranges for tests: parts, groups and candidates by hand or at random, and the plan found by
 * trying every stock there is. */
#ifndef TESTS_CHOOSE_RANGE_FIXTURE_H
#define TESTS_CHOOSE_RANGE_FIXTURE_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheave/range.h"

#define FIXTURE_PARTS 16
#define FIXTURE_GROUPS 12
#define FIXTURE_KITS 40

struct fixture {
    struct shv_range_problem problem;
    struct shv_range_part part[FIXTURE_PARTS];
    struct shv_range_group group[FIXTURE_GROUPS];
    struct shv_range_candidate kit[FIXTURE_GROUPS][FIXTURE_KITS];
    char *family[2];
};

static inline void fixture_begin(struct fixture *f)
{
    memset(f, 0, sizeof *f);
    f->family[0] = (char *)"first";
    f->family[1] = (char *)"second";
    f->problem.part = f->part;
    f->problem.group = f->group;
    f->problem.family = f->family;
    f->problem.most_parts = SHV_NONE;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        f->problem.most[k] = SHV_NONE;
    }
}

static inline size_t fixture_part(struct fixture *f, enum shv_part_kind kind, double cost)
{
    f->part[f->problem.part_count] = (struct shv_range_part){kind, (char *)"part", cost};
    return f->problem.part_count++;
}

static inline struct shv_range_group *fixture_group(struct fixture *f, double sales)
{
    size_t g = f->problem.group_count++;
    f->group[g] = (struct shv_range_group){.name = (char *)"group",
                                           .sales = sales,
                                           .family = SHV_NONE,
                                           .most_price = INFINITY,
                                           .most_mass = INFINITY,
                                           .candidate = f->kit[g]};
    return &f->group[g];
}

/* A kit of a blower and a blower pulley; either may be SHV_NONE but for the blower. */
static inline struct shv_range_candidate *fixture_kit(struct shv_range_group *group, double power,
                                                      size_t blower, size_t pulley)
{
    struct shv_range_candidate *c = &group->candidate[group->count];
    *c = (struct shv_range_candidate){.power = power, .price = 100.0, .mass = 10.0};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        c->part[k] = SHV_NONE;
    }
    c->part[SHV_STOCK_BLOWER] = blower;
    c->part[SHV_STOCK_BLOWER_PULLEY] = pulley;
    c->index = group->count++;
    return c;
}

static inline enum shv_status fixture_solve(struct fixture *f, struct shv_range_result *result,
                                            struct shv_message *message)
{
    const struct shv_range_options options = {.seconds = 0.0};
    return shv_range_solve(&f->problem, &options, result, message);
}

/* ---- by trying every stock ---- */

struct tried {
    bool any;
    int64_t value;  /* steps */
    unsigned stock; /* bit p: part p */
    size_t parts;
};

/* Values that are equal on the grid are equal. */
static inline int64_t fixture_value(const struct fixture *f, size_t g, size_t kit, double own_best,
                                    double step)
{
    double worth = shv_range_worth(&f->problem, &f->group[g], &f->kit[g][kit], own_best);
    return llround(f->group[g].sales * worth / step);
}

static inline double fixture_own_best(const struct shv_range_group *g)
{
    double best = 0.0;
    for (size_t i = 0; i < g->count; i++) {
        const struct shv_range_candidate *c = &g->candidate[i];
        bool fits = c->price <= g->most_price && c->mass <= g->most_mass &&
                    !(g->cooler == SHV_RANGE_COOLER_WITH && !c->has_cooler) &&
                    !(g->cooler == SHV_RANGE_COOLER_WITHOUT && c->has_cooler);
        best = fits ? fmax(best, c->power) : best;
    }
    return best;
}

static inline bool fixture_serves(const struct shv_range_group *g,
                                  const struct shv_range_candidate *c, double best, unsigned stock,
                                  size_t blower)
{
    bool serves = c->price <= g->most_price && c->mass <= g->most_mass &&
                  c->power >= g->least_power && c->power >= g->least_share * best &&
                  !(g->cooler == SHV_RANGE_COOLER_WITH && !c->has_cooler) &&
                  !(g->cooler == SHV_RANGE_COOLER_WITHOUT && c->has_cooler) &&
                  (blower == SHV_NONE || c->part[SHV_STOCK_BLOWER] == blower);
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        serves = serves && (c->part[k] == SHV_NONE || (stock >> c->part[k] & 1u));
    }
    return serves;
}

/* The most that a group can be given, INT64_MIN for nothing. */
static inline int64_t fixture_most(const struct fixture *f, size_t g, unsigned stock, size_t blower,
                                   double step)
{
    int64_t most = INT64_MIN;
    double best = fixture_own_best(&f->group[g]);
    for (size_t i = 0; i < f->group[g].count; i++) {
        if (fixture_serves(&f->group[g], &f->kit[g][i], best, stock, blower)) {
            int64_t value = fixture_value(f, g, i, best, step);
            most = value > most ? value : most;
        }
    }
    return most;
}

/* INT64_MIN: somebody gets nothing. */
static inline int64_t fixture_stock_value(const struct fixture *f, unsigned stock, double step)
{
    int64_t sum = 0;
    for (size_t p = 0; p < f->problem.part_count; p++) {
        bool counts = f->problem.value == SHV_RANGE_PROFIT && (stock >> p & 1u);
        sum -= counts ? llround(f->part[p].cost / step) : 0;
    }
    for (size_t g = 0; g < f->problem.group_count; g++) {
        if (f->group[g].family == SHV_NONE) {
            int64_t most = fixture_most(f, g, stock, SHV_NONE, step);
            if (most == INT64_MIN) {
                return INT64_MIN;
            }
            sum += most;
        }
    }
    for (size_t family = 0; family < f->problem.family_count; family++) {
        int64_t best = INT64_MIN;
        for (size_t p = 0; p < f->problem.part_count; p++) {
            int64_t all = 0;
            for (size_t g = 0; f->part[p].kind == SHV_STOCK_BLOWER && g < f->problem.group_count;
                 g++) {
                if (f->group[g].family == family && all != INT64_MIN) {
                    int64_t most = fixture_most(f, g, stock, p, step);
                    all = most == INT64_MIN ? INT64_MIN : all + most;
                }
            }
            if (f->part[p].kind == SHV_STOCK_BLOWER && (stock >> p & 1u) && all > best) {
                best = all;
            }
        }
        if (best == INT64_MIN) {
            return INT64_MIN;
        }
        sum += best;
    }
    return sum;
}

static inline bool fixture_allowed(const struct fixture *f, unsigned stock, size_t most_parts,
                                   size_t *parts)
{
    size_t count[SHV_STOCK_KINDS] = {0};
    *parts = 0;
    for (size_t p = 0; p < f->problem.part_count; p++) {
        count[f->part[p].kind] += stock >> p & 1u;
        *parts += stock >> p & 1u;
    }
    bool allowed = *parts <= most_parts;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        allowed = allowed && count[k] <= f->problem.most[k];
    }
    return allowed;
}

/* Whether a stock has the first part in which the two differ. */
static inline bool fixture_goes_first(unsigned stock, unsigned other)
{
    unsigned differ = stock ^ other;
    return differ != 0 && (stock & differ & (~differ + 1u)) != 0;
}

static inline struct tried fixture_try(const struct fixture *f, size_t most_parts, double step)
{
    struct tried best = {.any = false};
    for (unsigned stock = 0; stock < 1u << f->problem.part_count; stock++) {
        size_t parts;
        int64_t value = fixture_allowed(f, stock, most_parts, &parts)
                            ? fixture_stock_value(f, stock, step)
                            : INT64_MIN;
        bool better = !best.any || value > best.value ||
                      (value == best.value &&
                       (parts < best.parts ||
                        (parts == best.parts && fixture_goes_first(stock, best.stock))));
        if (value != INT64_MIN && better) {
            best = (struct tried){true, value, stock, parts};
        }
    }
    return best;
}

#endif
