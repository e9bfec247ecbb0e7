/* The continuous search of one setup: a blower, fuel, mixture, ignition margin and cooler family,
 * with given injectors, pump, belt and crank pulley. What varies is the ratio of the pulleys and
 * the core's effectiveness, as shares of their ranges: docs/model.md, appendix B. */
#ifndef SHEAVE_SEARCH_SEARCH_H
#define SHEAVE_SEARCH_SEARCH_H

#include "sheave/model.h"

/* Ratio and effectiveness. */
#define SEARCH_DIMS 2

struct search_task {
    /* All but the ratio, with it the blower's pulley, and the effectiveness is given; these two are
     * those of a good kit to start from, NAN for none. Without a crank pulley (NAN) there is a
     * ratio by itself; with one the blower's pulley may take any size. */
    struct shv_kit kit;
    double ratio_low, ratio_high;
    /* Beyond the cooler's own choices, to see what a smaller or larger core would bring. */
    double effectiveness_below, effectiveness_above;
};

/* The best kit met that keeps every limit. */
struct search_result {
    bool found;
    struct shv_kit kit;
    double objective;
    size_t evaluations;
};

/* One search at a time; the rest of it belongs to src/search. */
struct search {
    const struct shv_model *model;
    const struct search_task *task;
    struct search_result result;
    struct shv_lanes *lanes; /* owned */
    double *room;            /* of a few lanes, owned: src/search/slopes.c */
    unsigned dims;
    bool ratio_free, effectiveness_free;
    double low[SEARCH_DIMS], high[SEARCH_DIMS]; /* of ratio and effectiveness */
    double nearest[SEARCH_DIMS]; /* where least is missing of all that was scanned, if none held */
};

/* Room for searches on models of the study of `model`. Free with search_close, which is safe after
 * a failure. SHV_NO_MEMORY. */
enum shv_status search_open(struct search *s, const struct shv_model *model,
                            struct shv_message *message);
void search_close(struct search *s);

/* The task whose answer a kit is, with that kit as its start. */
void search_task_of(const struct shv_study *study, const struct shv_kit *kit,
                    struct search_task *task);

/* Starts on a task: what was found before is forgotten, the start is looked at. The model shares
 * all but bounds with that of search_open. */
void search_begin(struct search *s, const struct shv_model *model, const struct search_task *task);
/* A grid over the ranges, refined round its best cells. */
void search_scan(struct search *s);
/* From the best kit so far, or the one nearest to holding, to an optimum: sequential quadratic
 * programming, then a direct search. SHV_NO_MEMORY, SHV_BAD_INPUT when NLopt refuses its arguments.
 */
enum shv_status search_finish(struct search *s, struct shv_message *message);

/* Kits of one look by slopes, for whose rooms s->room has room. */
#define SEARCH_ROOMS (1 + 2 * SEARCH_DIMS)

/* ---- shared by the files of the search ---- */

/* The kit at shares of the free ranges. */
struct shv_kit search_kit(const struct search *s, const double *x);
/* The shares at which the best kit lies. */
void search_best(const struct search *s, double *x);
/* Takes a kit that was evaluated for the best so far if it is; true then. */
bool search_take(struct search *s, const struct shv_kit *kit, const struct shv_brief *brief);
/* Sequential quadratic programming from x, which is left where it ended; the best kit met is kept
 * (src/search/slopes.c). Errors as search_finish. */
enum shv_status search_climb(struct search *s, double *x, struct shv_message *message);

#endif
