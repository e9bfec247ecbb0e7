/* How sure a kit is: what tolerances (corrections.h) of parts, engine and day do to its objective
 * and to the margins of its limits. Randomised low-discrepancy samples, the same bits for any
 * number of threads. Methods: docs/model.md, sections 13.4 to 13.7.
 */
#ifndef SHEAVE_TOLERANCE_H
#define SHEAVE_TOLERANCE_H

#include "sheave/keep.h"
#include "sheave/optimum.h"

/* An estimate and the standard error that comes from sampling. */
struct shv_sampled {
    double value, error;
};

/* What one tolerance does to one quantity, all others at their middle. */
struct shv_sure_effect {
    double slope;  /* per SI unit of the tolerance, at the middle */
    double effect; /* of one standard deviation: half the difference between both sides */
    double share;  /* of the variance that the effects explain, correlations counted in; the shares
                    * of all tolerances sum to 1 */
};

/* Quantities: the objective, then the margin of each limit, in its own SI unit. */
#define SHV_SURE_QUANTITIES (1 + SHV_LIMIT_COUNT)
enum { SHV_SURE_P5, SHV_SURE_P50, SHV_SURE_P95, SHV_SURE_PERCENTILES };

enum shv_sure_kind {
    SHV_SURE_RANKED,  /* a row of the ranking */
    SHV_SURE_OPTIMUM, /* the ideal kit of a blower and fuel */
    SHV_SURE_SOUGHT,  /* the best of all combinations that hold with the wanted probability */
    SHV_SURE_PICKED   /* any other */
};

/* `fails_most` beyond the limits. */
#define SHV_SURE_NO_ANSWER SHV_LIMIT_COUNT

struct shv_sure {
    enum shv_sure_kind kind;
    size_t rank;    /* from 1 in its kind; 0 of a picked one */
    uint64_t index; /* of the combination; UINT64_MAX when it is none of the space */
    struct shv_kit kit;
    double nominal; /* objective without departures */
    bool nominal_feasible;
    double mean, deviation; /* of the objective; NAN when a sample has none */
    /* Of the objective; NAN where it lies among samples without an answer. */
    struct shv_sampled percentile[SHV_SURE_PERCENTILES];
    struct shv_sampled all;                    /* probability that every limit holds */
    struct shv_sampled answer;                 /* that the model has an answer everywhere */
    struct shv_sampled holds[SHV_LIMIT_COUNT]; /* of each limit; NAN where it is not set */
    int fails_most; /* enum shv_limit, SHV_SURE_NO_ANSWER, or -1 when nothing failed */
    bool is_sure;   /* `all` is at least tolerances.hold; false when that is not set */
    /* [correction][quantity]; NAN where there is no tolerance or quantity */
    struct shv_sure_effect effect[SHV_CORRECTION_COUNT][SHV_SURE_QUANTITIES];
};

/* A kit with another blower or fuel that comes close to the best one, and what alone would make it
 * as good: the tolerance that has to be off by the fewest of its standard deviations. Limits aside.
 */
struct shv_rival {
    struct shv_kit kit;
    size_t place;      /* in the ranking, from 0 */
    double behind;     /* objective of the best one less its own, with nothing off */
    int decides;       /* enum shv_correction; -1: none, 95 % of a normal tolerance looked at */
    double departure;  /* of that, SI; NAN when there is none */
    double deviations; /* the same in standard deviations; INFINITY likewise */
};
#define SHV_RIVALS 2

/* What knowing more before the kit is chosen is worth: docs/model.md, section 13.9. */
struct shv_knowing {
    const char *name;         /* of the tolerance or the measurement, for files */
    const char *title;        /* in words */
    bool is_measurement;      /* with its usual error; else a tolerance known exactly */
    shv_correction_set tells; /* tolerances of the study that it tells something of */
    struct shv_sampled gain; /* in the ranking value of the kit to sell, the mean over what may come
                              * out */
    double changes;          /* share of what may come out in which another kit is sold */
};

/* What was looked at: rows of the ranking, then optima, then the kit to sell if it is none of them.
 */
struct shv_sure_list {
    struct shv_sure *row; /* owned */
    size_t count;
    bool asked;  /* tolerances.hold is set; the rest is about that */
    size_t best; /* of the real kits that hold the one of highest objective; `count` for none */
    size_t
        looked; /* sets of kits that differ only in injectors, pump and belt, sampled to find it */
    bool complete; /* every better kit was turned down by samples, none by its room */
    struct shv_rival rival[SHV_RIVALS]; /* the best that differ from it and each other */
    size_t rivals;
    struct shv_knowing
        *knowing; /* owned; tolerances, then measurements; none without a kit to sell */
    size_t knowing_count;
};

/* Looks at `count` kits; fills all but kind, rank and index. Uses the tables that the model has and
 * finds what corrected models need of them, on all threads of OpenMP. SHV_BAD_INPUT when the study
 * has no tolerances or a sample makes a correction that the model does not take; SHV_NO_MEMORY;
 * SHV_STOPPED when the watch (of samples; may be NULL) said so. */
SHV_API enum shv_status shv_sure_kits(struct shv_model *model, const struct shv_kit *kits,
                                      size_t count, const struct shv_watch *watch,
                                      struct shv_sure *rows, struct shv_message *message);

/* What tolerances take of the margin of each limit, for a sweep that keeps classes of room:
 * (*demand)[(blower * fuels + fuel) * SHV_LIMIT_COUNT + limit], in the units of the margins, 0
 * where it is not known; the caller frees it. NULL without tolerances.hold. From a few good kits of
 * each blower and fuel: of their linear responses the loss that is passed in more samples than may
 * fail, the least of the kits. The same in every run. Errors as above. */
enum shv_status shv_tolerance_demand(struct shv_model *model, const struct shv_space *space,
                                     double **demand, struct shv_message *message);

/* Which kits hold every limit with tolerances.hold, which is set, in the same samples as everything
 * else here. Model and space must outlive it. NULL on failure; errors as above. */
struct shv_holding;
enum shv_status shv_holding_create(struct shv_model *model, const struct shv_space *space,
                                   struct shv_holding **holding, struct shv_message *message);
void shv_holding_free(struct shv_holding *holding);
/* Puts in the place of each combination the best of those that have its parts, but may have another
 * lambda, ignition margin and wrap, and that hold; without any its index is UINT64_MAX. Quickest in
 * ascending order. Errors as above. */
enum shv_status shv_holding_find(struct shv_holding *holding, struct shv_candidate *kits,
                                 size_t count, const struct shv_watch *watch,
                                 struct shv_message *message);

/* About how many samples of a kit the search of the kit to sell and the worth of knowing take; 0
 * without tolerances.hold. */
size_t shv_sure_sought(const struct shv_tolerances *tolerances);

/* The best rows, every optimum and, with tolerances.hold and what the sweep kept, the kit to sell.
 * `ranking` sorted; `keep` may be NULL. Does nothing without tolerances. Errors as above. */
SHV_API enum shv_status shv_sure_search(struct shv_model *model, const struct shv_space *space,
                                        const struct shv_ranking *ranking,
                                        const struct shv_keep *keep,
                                        const struct shv_optimum *optima, size_t optimum_count,
                                        const struct shv_watch *watch, struct shv_sure_list *list,
                                        struct shv_message *message);
SHV_API void shv_sure_free(struct shv_sure_list *list);

#endif
