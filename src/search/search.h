/* The continuous search of one blower, fuel, mixture, ignition margin and cooler family, with the
 * injectors and pump that carry most fuel. */
#ifndef SHEAVE_CHOOSE_SEARCH_H
#define SHEAVE_CHOOSE_SEARCH_H

#include "sheave/model.h"
#include "sheave/rank.h"

#define SEARCH_MOST_STARTS 128

struct search_task {
    size_t blower, fuel, cooler;
    double lambda, ignition_margin;
    size_t injector, pump;
    double injector_flow, ribs, wrap;
    double crank; /* m, effective: the kit has real pulleys, of which the blower's may take any
                   * size; 0: a ratio by itself */
    unsigned long seed;
    double ratio_low, ratio_high;
    /* Beyond the cooler's own choices, to see what a smaller or larger core would bring. */
    double effectiveness_below, effectiveness_above;
    /* starting points from the sweep: ratio and effectiveness */
    double start[SEARCH_MOST_STARTS][2];
    size_t starts;
};

struct search_result {
    bool found;
    struct shv_kit kit;
    double objective;
    int binding;
    double binding_share;
    size_t evaluations, gradients;
    bool pruned; /* not searched at all */
};

/* Fails with SHV_NO_MEMORY, or SHV_BAD_INPUT when NLopt refuses its arguments. */
enum shv_status search_run(const struct shv_model *model, const struct search_task *task,
                           struct search_result *result, struct shv_message *message);

/* The kit of a task at a ratio and effectiveness. */
struct shv_kit search_task_kit(const struct shv_study *study, const struct search_task *task,
                               double ratio, double effectiveness);
/* The task whose answer a kit is, with that kit as its start. */
void search_task_of(const struct shv_study *study, const struct shv_kit *kit,
                    struct search_task *task);
/* From the task's first start by derivatives; with `closely` the direct search comes after. No
 * global stage. Errors as above. */
enum shv_status search_again(const struct shv_model *model, const struct search_task *task,
                             bool closely, struct search_result *result,
                             struct shv_message *message);
/* The multipliers at the task's first start, an optimum (polish.h). */
struct polish_prices;
enum shv_status search_prices(const struct shv_model *model, const struct search_task *task,
                              struct polish_prices *prices, struct shv_message *message);

#endif
