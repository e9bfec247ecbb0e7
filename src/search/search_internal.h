/* What the files of one continuous search share. */
#ifndef SHEAVE_CHOOSE_SEARCH_INTERNAL_H
#define SHEAVE_CHOOSE_SEARCH_INTERNAL_H

#include "search/search.h"
#include "sheave/gradient.h"

/* Ratio and effectiveness. */
#define SEARCH_DIMS 2

struct search {
    const struct shv_model *model;
    const struct search_task *task;
    struct search_result *result;
    struct shv_curves curves;
    struct shv_gradient gradient; /* of the last visit, when has_gradient */
    struct shv_lanes *lanes;
    unsigned dims;
    enum shv_free free[SEARCH_DIMS];            /* what each variable is */
    double low[SEARCH_DIMS], high[SEARCH_DIMS]; /* of the variables */
    double fixed_ratio, fixed_effectiveness;    /* where they are not variables */
    double bound[SHV_LIMIT_COUNT];
    unsigned limits, kit_limits; /* how many are set, of points and of the kit */
    struct shv_kit kit;          /* of the last visit */
    double last[SEARCH_DIMS];
    bool have_last, has_gradient;
};

/* The kit at values of the variables. */
struct shv_kit search_kit(const struct search *s, const double *x);
/* Values of the variables of a kit, held to their ranges. */
void search_values(const struct search *s, double ratio, double effectiveness, double *x);
/* Evaluates once per point and keeps the best feasible kit. */
void search_visit(struct search *s, const double *x);
/* The derivatives at the point just visited. */
const struct shv_gradient *search_gradient(struct search *s);

#endif
