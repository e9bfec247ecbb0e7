/* From sweeps to the problem of a range: parts of the studies become parts of the stock, feasible
 * combinations become candidates. And back: what the kits of a plan are. */
#ifndef SHEAVE_RANGE_KITS_H
#define SHEAVE_RANGE_KITS_H

#include "sheave/model.h"
#include "sheave/range.h"
#include "sheave/rank.h"
#include "sheave/sweep.h"
#include "sheave/tolerance.h"

/* Which customers a group of the problem is. */
struct shv_range_place {
    size_t vehicle, market, tier;
};

/* The feasible combinations of a vehicle in a market; all its tiers choose from them. */
struct shv_range_pair {
    bool is_there;
    size_t count;
    struct shv_range_candidate *candidate; /* owned */
    struct shv_sweep_counts counts;
};

struct shv_range_kits {
    const struct shv_range_file *file;
    struct shv_range_problem problem; /* its parts and groups are owned */
    struct shv_range_place *place;    /* of each group, owned */
    double *sales_in;                 /* [group * scenarios + scenario], owned */
    struct shv_range_pair *pair;      /* [vehicle * markets + market], owned */
    struct part_data *data;           /* of each part: to know the same part again, owned */
    bool to_sell; /* candidates are unsure where the study has tolerances and wants a probability */
};

/* The file must outlive it. SHV_NO_MEMORY; to be freed all the same. */
SHV_API enum shv_status shv_range_kits_init(struct shv_range_kits *kits,
                                            const struct shv_range_file *file,
                                            struct shv_message *message);
SHV_API void shv_range_kits_free(struct shv_range_kits *kits);

/* Rows that the ranking of a sweep with SHV_ROWS_PARTS needs so that nothing is lost. */
SHV_API uint64_t shv_range_kits_rows(const struct shv_space *space);

/* Takes what such a sweep found for a vehicle in a market. SHV_BAD_INPUT when a part of the same
 * name was another part before; SHV_NO_MEMORY. */
SHV_API enum shv_status shv_range_kits_add(struct shv_range_kits *kits, size_t vehicle,
                                           size_t market, const struct shv_model *model,
                                           const struct shv_space *space,
                                           const struct shv_ranking *ranking,
                                           const struct shv_sweep_counts *counts,
                                           struct shv_message *message);
/* Puts the parts in order (by kind; pulleys by diameter, others as they were met) and makes the
 * groups, in the order of vehicles, markets and tiers; those without sales are left out.
 * SHV_NOTHING when none has any. */
SHV_API enum shv_status shv_range_kits_finish(struct shv_range_kits *kits,
                                              struct shv_message *message);

/* Whether kits of a study are to hold with a probability. */
bool shv_range_wants(const struct shv_range_kits *kits, const struct shv_study *study);
/* Decides for candidates of the vehicle and market that `holding` is of, as shv_range_options.judge
 * asks for. Errors of shv_holding_find. */
enum shv_status shv_range_hold(struct shv_holding *holding, struct shv_range_candidate *const *list,
                               size_t count, const struct shv_watch *watch,
                               struct shv_message *message);

/* What a group gets. Texts are borrowed from study and file. */
struct shv_range_row {
    const char *vehicle, *market, *tier;
    double sales; /* a year */
    struct shv_kit kit;
    uint64_t combination;
    const char *blower, *cooler, *fuel, *injector, *pump; /* the last two NULL for none named */
    double air_fuel_ratio;                                /* by mass */
    size_t pieces[SHV_STOCK_KINDS];                       /* of each kind in one kit */
    double power, best_power;                             /* W; of the group's own best */
    struct shv_sampled holds;  /* probability that every limit holds; NAN where none is wanted */
    double price, mass, value; /* value of all its sales */
    /* The limit with the least margin, as a share of its span; NULL and NAN for none. */
    const char *binding_limit, *binding_title, *binding_site;
    double binding_share, binding_speed;
};

/* Evaluates the kit of a group in a plan. `model` and `space` are those of its vehicle and market.
 * SHV_IO when the kit is not what the sweep found; SHV_NO_MEMORY. */
SHV_API enum shv_status shv_range_kits_row(const struct shv_range_kits *kits,
                                           const struct shv_range_result *result, size_t point,
                                           size_t group, const struct shv_model *model,
                                           const struct shv_space *space, struct shv_range_row *row,
                                           struct shv_message *message);

/* Fills `holds` of such a row. Errors of shv_sure_kits. */
enum shv_status shv_range_hold_row(struct shv_model *model, struct shv_range_row *row,
                                   struct shv_message *message);

/* How a part is used by the kits of the plan. */
struct shv_range_use {
    double kits, pieces; /* a year */
    size_t groups;
};
/* `row`: of each group, as shv_range_kits_row fills them. */
struct shv_range_use shv_range_kits_use(const struct shv_range_kits *kits,
                                        const struct shv_range_result *result,
                                        const struct shv_range_row *row, size_t part);
/* Whether the kit that a group gets in the plan has a part. */
bool shv_range_kits_has(const struct shv_range_kits *kits, const struct shv_range_result *result,
                        size_t group, size_t part);
/* How many parts of each kind a point of the curve has. */
void shv_range_kits_count(const struct shv_range_kits *kits, const struct shv_range_point *point,
                          size_t count[SHV_STOCK_KINDS]);

#endif
