/* Central differences about the middle of all tolerances (sure_effects.h). */
#include "certainty/sure_effects.h"

#include <math.h>
#include <stdlib.h>

/* Step of the slope, in standard deviations: far above the solver's rounding, and small enough to
 * stay on one side of most corners. */
#define SMALL 0.05

/* Models one and SMALL standard deviations to either side, for each tolerance, and the middle. */
enum { FAR_BELOW, BELOW, ABOVE, FAR_ABOVE, SIDES };
static const double side[SIDES] = {-1.0, -SMALL, SMALL, 1.0};

struct models {
    struct shv_model *of[SHV_CORRECTION_COUNT][SIDES];
};

static void free_models(struct models *m)
{
    for (size_t i = 0; i < SHV_CORRECTION_COUNT; i++) {
        for (size_t k = 0; k < SIDES; k++) {
            shv_model_free(m->of[i][k]);
        }
    }
}

static enum shv_status make_models(const struct sure_plan *plan, struct models *m,
                                   struct shv_message *message)
{
    *m = (struct models){{{NULL}}};
    for (size_t i = 0; i < plan->correlated.count; i++) {
        enum shv_correction which = plan->correlated.which[i];
        double deviation = shv_tolerance_deviation(&plan->tolerances->of[which]);
        for (size_t k = 0; k < SIDES; k++) {
            struct shv_corrections c = plan->middle;
            c.value[which] += side[k] * deviation;
            enum shv_status status = shv_model_correct(plan->model, &c, &m->of[i][k], message);
            if (status != SHV_OK) {
                free_models(m);
                return status;
            }
        }
    }
    return SHV_OK;
}

/* Objective and margins, NAN where there are none. */
static void quantities(const struct shv_model *model, const struct shv_kit *kit,
                       struct shv_curves *curves, double value[SHV_SURE_QUANTITIES])
{
    shv_model_evaluate(model, kit, curves);
    value[0] = curves->verdict.objective;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        value[1 + k] = curves->verdict.limit[k].margin;
    }
}

/* Shares of the variance of a linear response to correlated tolerances: the covariance of each
 * one's part with the whole (Li et al., J. Phys. Chem. A 114 (2010) 6022, first-order terms). */
static void find_shares(const struct sure_plan *plan, struct shv_sure *row, size_t quantity)
{
    const struct correlated *c = &plan->correlated;
    double part[SHV_CORRECTION_COUNT], whole = 0.0;
    for (size_t i = 0; i < c->count; i++) {
        double with = 0.0;
        for (size_t k = 0; k < c->count; k++) {
            with += c->matrix[i][k] * row->effect[c->which[k]][quantity].effect;
        }
        part[i] = with * row->effect[c->which[i]][quantity].effect;
        whole += part[i];
    }
    for (size_t i = 0; i < c->count; i++) {
        row->effect[c->which[i]][quantity].share = whole > 0.0 ? part[i] / whole : NAN;
    }
}

static void find_effects(const struct sure_plan *plan, const struct models *m, bool slopes,
                         struct shv_curves *curves, struct shv_sure *row)
{
    double value[SIDES][SHV_SURE_QUANTITIES];
    for (size_t i = 0; i < plan->correlated.count; i++) {
        enum shv_correction which = plan->correlated.which[i];
        double deviation = shv_tolerance_deviation(&plan->tolerances->of[which]) *
                           shv_tolerance_spread(plan->tolerances, row->kit.blower, which);
        for (size_t k = 0; k < SIDES; k++) {
            if (slopes || k == FAR_BELOW || k == FAR_ABOVE) {
                quantities(m->of[i][k], &row->kit, curves, value[k]);
            }
        }
        for (size_t q = 0; q < SHV_SURE_QUANTITIES; q++) {
            row->effect[which][q] = (struct shv_sure_effect){
                !slopes           ? NAN
                : deviation > 0.0 ? (value[ABOVE][q] - value[BELOW][q]) / (2.0 * SMALL * deviation)
                                  : 0.0,
                0.5 * (value[FAR_ABOVE][q] - value[FAR_BELOW][q]), NAN};
        }
    }
    for (size_t q = 0; q < SHV_SURE_QUANTITIES; q++) {
        find_shares(plan, row, q);
    }
}

static void find_row(const struct sure_plan *plan, const struct models *m, bool slopes,
                     struct shv_curves *curves, struct shv_sure *row, shv_limit_set *set,
                     double *margin)
{
    for (size_t i = 0; i < SHV_CORRECTION_COUNT; i++) {
        for (size_t q = 0; q < SHV_SURE_QUANTITIES; q++) {
            row->effect[i][q] = (struct shv_sure_effect){NAN, NAN, NAN};
        }
    }
    shv_model_evaluate(plan->model, &row->kit, curves);
    row->nominal = curves->verdict.objective;
    row->nominal_feasible = curves->verdict.feasible;
    *set = 0;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        *set |= isnan(curves->verdict.limit[k].share) ? 0 : SHV_LIMIT_BIT(k);
        if (margin) {
            margin[k] = curves->verdict.limit[k].margin;
        }
    }
    find_effects(plan, m, slopes, curves, row);
}

enum shv_status sure_effects(const struct sure_plan *plan, size_t count, bool slopes,
                             struct shv_sure *rows, shv_limit_set *set, double *margin,
                             struct shv_message *message)
{
    struct models models;
    bool room = true;
    enum shv_status status = make_models(plan, &models, message);
    if (status != SHV_OK) {
        return status;
    }
#pragma omp parallel
    {
        struct shv_curves curves;
        bool mine = shv_curves_init(&curves, plan->model, NULL) == SHV_OK;
        if (!mine) {
#pragma omp critical(sure_room)
            room = false;
        }
#pragma omp for schedule(dynamic, 1) nowait
        for (size_t i = 0; i < count; i++) {
            if (mine) {
                find_row(plan, &models, slopes, &curves, &rows[i], &set[i],
                         margin ? margin + i * SHV_LIMIT_COUNT : NULL);
            }
        }
        if (mine) {
            shv_curves_free(&curves);
        }
    }
    free_models(&models);
    return room ? SHV_OK
                : shv_fail(message, SHV_NO_MEMORY, "out of memory for the effects of tolerances");
}
