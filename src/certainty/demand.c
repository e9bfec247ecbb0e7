/* What tolerances take of the margins of limits (sheave/tolerance.h): docs/model.md, section 13.7.
 */
#include <math.h>
#include <stdlib.h>

#include "certainty/sure_effects.h"
#include "sheave/tolerance.h"

/* Places over the air side of each blower at which some neighbours are looked at, and how many of
 * the best then stand for a blower and fuel. */
#define PLACES 64
#define NEIGHBOURS 8
#define PROBES 3
/* Of a bound: what is less is the solver's rounding. */
#define LEAST_DEMAND 1e-6

struct probing {
    struct sure_plan *plan;
    struct shv_model *model;
    const struct shv_space *space;
    const struct shv_study *study;
    struct shv_candidate *best; /* [(blower * PLACES + place) * fuels + fuel], owned */
    struct shv_sure *row;       /* of the probes, owned */
    size_t *pair;               /* blower and fuel of each, owned */
    size_t count;
};

/* The best of each fuel in one block. */
static void look_at_place(const struct probing *p, size_t task, struct shv_lanes *lanes,
                          struct shv_brief *brief)
{
    uint64_t all = p->space->air_size / p->study->blower_count;
    size_t count = all < NEIGHBOURS ? (size_t)all : NEIGHBOURS;
    uint64_t first = task / PLACES * all + (all - count) * (task % PLACES) / (PLACES - 1);
    uint64_t of_fuel = p->space->fuel_size / p->study->fuel_count;
    struct shv_candidate *best = p->best + task * p->study->fuel_count;
    shv_lanes_evaluate(p->model, p->space, lanes, first, count, brief);
    for (uint64_t i = 0; i < count * p->space->fuel_size; i++) {
        struct shv_candidate c = {brief[i].objective, first * p->space->fuel_size + i};
        struct shv_candidate *so_far = &best[i % p->space->fuel_size / of_fuel];
        if (shv_brief_holds(&brief[i]) && shv_candidate_before(&c, so_far)) {
            *so_far = c;
        }
    }
}

static enum shv_status look_at_places(const struct probing *p, struct shv_message *message)
{
    bool room = true;
    size_t tasks = p->study->blower_count * PLACES;
    for (size_t i = 0; i < tasks * p->study->fuel_count; i++) {
        p->best[i] = (struct shv_candidate){-INFINITY, UINT64_MAX};
    }
#pragma omp parallel
    {
        struct shv_lanes *lanes;
        struct shv_brief *brief = calloc(NEIGHBOURS * (size_t)p->space->fuel_size, sizeof *brief);
        bool mine = shv_lanes_create(p->model, &lanes, NULL) == SHV_OK && brief;
        if (!mine) {
#pragma omp critical(sure_room)
            room = false;
        } else {
            shv_lanes_skip(lanes, true);
        }
#pragma omp for schedule(dynamic, 1) nowait
        for (size_t i = 0; i < tasks; i++) {
            if (mine) {
                look_at_place(p, i, lanes, brief);
            }
        }
        shv_lanes_free(lanes);
        free(brief);
    }
    return room ? SHV_OK : shv_fail(message, SHV_NO_MEMORY, "out of memory for tolerances");
}

/* The best places of a blower and fuel become probes. */
static void take_probes(struct probing *p, size_t blower, size_t fuel)
{
    size_t fuels = p->study->fuel_count;
    struct shv_candidate *of_blower = p->best + blower * PLACES * fuels + fuel;
    uint64_t last = UINT64_MAX;
    for (size_t taken = 0; taken < PROBES; taken++) {
        struct shv_candidate *next = of_blower;
        for (size_t i = 1; i < PLACES; i++) {
            next = shv_candidate_before(of_blower + i * fuels, next) ? of_blower + i * fuels : next;
        }
        if (next->index == UINT64_MAX) {
            return;
        }
        if (next->index != last) { /* places of a short list overlap */
            shv_space_kit(p->space, p->study, next->index, &p->row[p->count].kit);
            p->pair[p->count++] = blower * fuels + fuel;
        }
        last = next->index;
        *next = (struct shv_candidate){-INFINITY, UINT64_MAX};
    }
}

/* ---- demands ---- */

static int descending(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return *x > *y ? -1 : *x < *y;
}

/* The loss of a linear response that is passed in more samples than may fail. */
static double demand_of(const struct probing *p, const struct shv_sure *row, size_t quantity,
                        const struct shv_corrections *sample, double *loss)
{
    const struct correlated *c = &p->plan->correlated;
    size_t samples = p->plan->tolerances->samples;
    for (size_t i = 0; i < samples; i++) {
        loss[i] = 0.0;
        for (size_t k = 0; k < c->count; k++) {
            enum shv_correction which = c->which[k];
            loss[i] -= row->effect[which][quantity].effect *
                       (sample[i].value[which] - p->plan->middle.value[which]) /
                       shv_tolerance_deviation(&p->plan->tolerances->of[which]);
        }
    }
    qsort(loss, samples, sizeof *loss, descending);
    return loss[sure_may_fail(p->plan->tolerances)];
}

/* The room of the peak pressure says nothing: later ignition keeps it, and that has a limit of its
 * own. */
static bool demands(const struct probing *p, const struct shv_sure *row, shv_limit_set set,
                    enum shv_limit limit, double demand)
{
    double bound = shv_limit_bound(p->study, &row->kit, limit);
    return limit != SHV_LIMIT_PEAK_PRESSURE && (set & SHV_LIMIT_BIT(limit)) != 0 &&
           demand > LEAST_DEMAND * fabs(bound); /* false for NAN */
}

static void take_demands(const struct probing *p, const struct shv_corrections *sample,
                         double *loss, const shv_limit_set *set, double *demand)
{
    for (size_t i = 0; i < p->count; i++) {
        double *of_pair = demand + p->pair[i] * SHV_LIMIT_COUNT;
        for (size_t k = 0; k < SHV_LIMIT_COUNT; k++) {
            double found = demand_of(p, &p->row[i], 1 + k, sample, loss);
            found = demands(p, &p->row[i], set[i], (enum shv_limit)k, found) ? found : 0.0;
            of_pair[k] = fmin(of_pair[k], found);
        }
    }
}

/* A blower and fuel without a probe takes the least of all others. */
static void fill_up(const struct probing *p, double *demand)
{
    size_t pairs = p->study->blower_count * p->study->fuel_count;
    for (size_t k = 0; k < SHV_LIMIT_COUNT; k++) {
        double least = INFINITY;
        for (size_t i = 0; i < pairs; i++) {
            least = fmin(least, demand[i * SHV_LIMIT_COUNT + k]);
        }
        for (size_t i = 0; i < pairs; i++) {
            double *one = &demand[i * SHV_LIMIT_COUNT + k];
            *one = isfinite(*one) ? *one : isfinite(least) ? least : 0.0;
        }
    }
}

static enum shv_status find_demands(struct probing *p, double *demand, struct shv_message *message)
{
    size_t samples = p->plan->tolerances->samples;
    struct shv_corrections *sample = calloc(samples, sizeof *sample);
    double *loss = calloc(samples, sizeof *loss);
    shv_limit_set *set = calloc(p->count + 1, sizeof *set);
    enum shv_status status =
        sample && loss && set
            ? SHV_OK
            : shv_fail(message, SHV_NO_MEMORY, "out of memory for what tolerances take");
    for (size_t i = 0; i < p->count && status == SHV_OK; i++) {
        status = sure_ready(p->model, &p->row[i].kit, 1, message);
    }
    if (status == SHV_OK) {
        status = sure_effects(p->plan, p->count, false, p->row, set, NULL, message);
    }
    for (size_t i = 0; i < samples && status == SHV_OK; i++) {
        sure_corrections(p->plan, samples / SAMPLING_REPETITIONS, i, &sample[i]);
    }
    if (status == SHV_OK) {
        take_demands(p, sample, loss, set, demand);
        fill_up(p, demand);
    }
    free(sample);
    free(loss);
    free(set);
    return status;
}

static enum shv_status probe(struct probing *p, double **demand, struct shv_message *message)
{
    size_t pairs = p->study->blower_count * p->study->fuel_count;
    *demand = calloc(pairs * SHV_LIMIT_COUNT, sizeof **demand);
    p->best = calloc(pairs * PLACES, sizeof *p->best);
    p->row = calloc(pairs * PROBES, sizeof *p->row);
    p->pair = calloc(pairs * PROBES, sizeof *p->pair);
    enum shv_status status =
        *demand && p->best && p->row && p->pair
            ? look_at_places(p, message)
            : shv_fail(message, SHV_NO_MEMORY, "out of memory for what tolerances take");
    for (size_t i = 0; i < pairs * SHV_LIMIT_COUNT && status == SHV_OK; i++) {
        (*demand)[i] = INFINITY;
    }
    for (size_t i = 0; i < pairs && status == SHV_OK; i++) {
        take_probes(p, i / p->study->fuel_count, i % p->study->fuel_count);
    }
    status = status == SHV_OK ? find_demands(p, *demand, message) : status;
    free(p->best);
    free(p->row);
    free(p->pair);
    return status;
}

enum shv_status shv_tolerance_demand(struct shv_model *model, const struct shv_space *space,
                                     double **demand, struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    struct sure_plan plan;
    *demand = NULL;
    if (!study->tolerances.given || isnan(study->tolerances.hold)) {
        return SHV_OK;
    }
    enum shv_status status = sure_begin(&plan, model, NULL, message);
    struct probing p = {.plan = &plan, .model = model, .space = space, .study = study};
    status = status == SHV_OK ? probe(&p, demand, message) : status;
    sure_end(&plan);
    if (status != SHV_OK) {
        free(*demand);
        *demand = NULL;
    }
    return status;
}
