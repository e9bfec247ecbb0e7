/* How long a range plan takes: range [GROUPS [CANDIDATES [SECONDS]]], by default 50 groups of 5,000
 * kits each, no limit of time. The kits are synthetic: power peaks at a ratio and blower size that
 * differ by group, as it does for real ones. Prints a line for each point of the curve. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "sheave/range.h"

static const size_t sizes[SHV_STOCK_KINDS] = {6, 4, 12, 6, 3, 2};

static double seconds_now(void)
{
    struct timespec t;
    (void)clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double uniform(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) * 0x1p-53;
}

/* A group of customers: what suits it and where its limits lie. */
struct taste {
    double size, cooling, knock, injector, pump;
};

/* Every combination of parts that keeps the group's limits, up to `most`: power rises with the flow
 * until heat and late ignition take more than it gives. Returns how many. */
static size_t make_kits(struct shv_range_candidate *list, const size_t *first, size_t most,
                        const struct taste *t, uint64_t *state)
{
    size_t count = 0, at[SHV_STOCK_KINDS], product = 1;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        product *= sizes[k];
    }
    for (size_t index = 0; index < product && count < most; index++) {
        struct shv_range_candidate c = {.mass = 30.0, .index = index};
        for (size_t k = SHV_STOCK_KINDS, rest = index; k-- > 0; rest /= sizes[k]) {
            at[k] = rest % sizes[k];
            c.part[k] = first[k] + at[k];
        }
        c.has_cooler = at[SHV_STOCK_COOLER] > 0;
        c.part[SHV_STOCK_COOLER] = c.has_cooler ? c.part[SHV_STOCK_COOLER] : SHV_NONE;
        double ratio = (120.0 + 12.0 * (double)at[SHV_STOCK_CRANK_PULLEY]) /
                       (60.0 + 4.0 * (double)at[SHV_STOCK_BLOWER_PULLEY]);
        double flow = (0.6 + 0.2 * (double)at[SHV_STOCK_BLOWER]) * ratio / t->size;
        double cool = 0.06 * t->cooling * (double)at[SHV_STOCK_COOLER];
        double late = flow - t->knock - cool;
        c.power =
            50e3 * t->size *
            (flow - 2.0 * (late > 0.0 ? late * late : 0.0) - 0.01 * (double)at[SHV_STOCK_COOLER]);
        c.power *= 1.0 + 1e-4 * uniform(state);
        c.price = 3000.0 + 300.0 * (double)at[SHV_STOCK_BLOWER] +
                  150.0 * (double)at[SHV_STOCK_COOLER] + 20.0 * (double)at[SHV_STOCK_INJECTOR];
        bool fits = flow > 0.8 && flow < t->knock + 0.25 && ratio < 2.2 &&
                    (double)at[SHV_STOCK_INJECTOR] >= t->injector * flow * t->size &&
                    (double)at[SHV_STOCK_PUMP] >= t->pump * flow * t->size - 1.0;
        if (fits) {
            list[count++] = c;
        }
    }
    return count;
}

int main(int argc, char **argv)
{
    size_t groups = argc > 1 ? strtoul(argv[1], NULL, 10) : 50;
    size_t kits = argc > 2 ? strtoul(argv[2], NULL, 10) : 5000;
    double seconds = argc > 3 ? strtod(argv[3], NULL) : 0.0;
    struct shv_range_problem problem = {.group_count = groups, .most_parts = SHV_NONE};
    size_t first[SHV_STOCK_KINDS], total = 0;
    uint64_t state = 1;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        first[k] = problem.part_count;
        problem.part_count += sizes[k];
        problem.most[k] = SHV_NONE;
    }
    problem.part = calloc(problem.part_count, sizeof *problem.part);
    problem.group = calloc(groups, sizeof *problem.group);
    if (!problem.part || !problem.group) {
        return 3;
    }
    for (size_t k = 0, p = 0; k < SHV_STOCK_KINDS; k++) {
        for (size_t i = 0; i < sizes[k]; i++) {
            problem.part[p++] = (struct shv_range_part){(enum shv_part_kind)k, "part", 0.0};
        }
    }
    for (size_t g = 0; g < groups; g++) {
        struct shv_range_group *group = &problem.group[g];
        *group = (struct shv_range_group){.name = "group",
                                          .sales = 1.0 + floor(50.0 * uniform(&state)),
                                          .family = SHV_NONE,
                                          .most_price = INFINITY,
                                          .most_mass = INFINITY,
                                          .count = kits};
        group->candidate = calloc(kits, sizeof *group->candidate);
        if (!group->candidate) {
            return 3;
        }
        struct taste t = {.size = 0.8 + 1.6 * uniform(&state),
                          .cooling = uniform(&state),
                          .knock = 1.0 + 0.4 * uniform(&state),
                          .injector = 0.3 + 0.2 * uniform(&state),
                          .pump = 0.4 + 0.3 * uniform(&state)};
        group->count = make_kits(group->candidate, first, kits, &t, &state);
        total += group->count;
    }
    struct shv_range_options options = {.seconds = seconds};
    struct shv_range_result result;
    struct shv_message message = {{0}};
    double start = seconds_now();
    enum shv_status status = shv_range_solve(&problem, &options, &result, &message);
    printf("status %d %s, %.1f s, %zu groups, %zu kits\n", status, message.text,
           seconds_now() - start, groups, total);
    for (size_t i = 0; i < result.point_count; i++) {
        const struct shv_range_point *p = &result.point[i];
        printf("%3zu allowed, %3zu parts, value %.6g, gap %.2g %%, %s%s\n", p->allowed, p->parts,
               p->value, 100.0 * (p->bound - p->value) / p->value, p->proven ? "proven" : "open",
               p->settled ? "" : ", ties open");
    }
    shv_range_result_free(&result);
    for (size_t g = 0; g < groups; g++) {
        free(problem.group[g].candidate);
    }
    free(problem.group);
    free(problem.part);
    return 0;
}
