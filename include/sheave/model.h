/* The core model: a kit in, its curves over the rev range at every site and a verdict out.
 * Pure functions of a prepared, read-only model; safe to call from many threads. Equations:
 * docs/model.md, sections 2 to 9 and 12.
 */
#ifndef SHEAVE_MODEL_H
#define SHEAVE_MODEL_H

#include "sheave/cycle_table.h"
#include "sheave/hardware.h"
#include "sheave/point.h"
#include "sheave/space.h"

/* A study made ready: gas of each site, engine constants at each speed. */
struct shv_model;
struct hardware_room; /* src/model/kit/hardware.h */

/* One limit over all sites and speeds. */
struct shv_limit_result {
    double bound;       /* SI; infinite when not limited, then the rest is NAN */
    double value;       /* where it is tightest */
    double margin;      /* bound - value, of a lower bound value - bound */
    double share;       /* margin over the limit's span */
    size_t site, speed; /* where it is tightest; 0 for a property of the kit */
};

struct shv_verdict {
    enum shv_outcome outcome; /* first failure; else SHV_POINT_OK */
    size_t failed_site, failed_speed;
    bool feasible;
    shv_limit_set broken; /* somewhere */
    int first_broken;     /* enum shv_limit, or -1 */
    int binding;          /* enum shv_limit with the least share, -1 when none is set */
    struct shv_limit_result limit[SHV_LIMIT_COUNT];
    double objective; /* W, N m or what the study's objective is in; NAN after a failure */
};

/* The rev-range curves of one kit. */
struct shv_curves {
    size_t sites, speeds;
    struct shv_point *point; /* [site * speeds + speed], owned */
    struct shv_hardware hardware;
    struct shv_verdict verdict;
    struct hardware_room *room; /* for the belt, owned */
};

/* Prepares a model, with the study's own corrections. The study must outlive it and stay unchanged.
 * SHV_NO_MEMORY, or SHV_BAD_INPUT when the engine's data cannot be tied (message says at which
 * speed and why). */
SHV_API enum shv_status shv_model_create(const struct shv_study *study, struct shv_model **model,
                                         struct shv_message *message);
SHV_API void shv_model_free(struct shv_model *model);
/* A model of one site of another, with that one's tables: as if its study listed no other site, so
 * the cruise point too lies there. It takes no corrections (shv_model_correct). The whole model
 * must outlive it; free it with shv_model_free. SHV_NO_MEMORY. */
enum shv_status shv_model_of_site(const struct shv_model *whole, size_t site,
                                  struct shv_model **model, struct shv_message *message);

/* A model of the same study with these corrections in place of the study's own (corrections.h).
 * Takes some ten microseconds: what is tied to the stock curves, and the tables of the closed
 * cycle, are those of `base`, which must outlive it and get no more tables meanwhile. Where
 * corrections change what a table holds (ignition delay, octane, exhaust pressure) its answer is
 * corrected with a known error (docs/model.md, section 13.3); what lies beyond the table is the
 * direct cycle. shv_model_ready_shift() makes that quick for exhaust pressure. Errors:
 * SHV_BAD_INPUT with a value out of its range, or when the closed cycle does not take the corrected
 * knock.scale or octane numbers; SHV_NO_MEMORY. */
SHV_API enum shv_status shv_model_correct(const struct shv_model *base,
                                          const struct shv_corrections *corrections,
                                          struct shv_model **model, struct shv_message *message);
/* Those it was made with. */
const struct shv_corrections *shv_model_corrections(const struct shv_model *model);
/* The kit as its evaluation takes it: pulleys and injectors as corrected. */
void shv_model_kit(const struct shv_model *model, const struct shv_kit *kit,
                   struct shv_kit *corrected);
/* The same model with the bounds of another study, a copy of its own that differs in `limit` and
 * `moved` alone. Shares all but that: free it before the model, with shv_model_again_free.
 * SHV_NO_MEMORY. */
enum shv_status shv_model_again(const struct shv_model *model, const struct shv_study *study,
                                struct shv_model **again, struct shv_message *message);
void shv_model_again_free(struct shv_model *again);
/* The study with its corrections applied. */
const struct shv_study *shv_model_study(const struct shv_model *model);
/* The moist air of a site; the model's own. */
const struct shv_gas *shv_model_gas(const struct shv_model *model, size_t site);

/* Gross indicated efficiency at the stock lambda that ties the model to the stock torque curve (or
 * the constant given), at a speed index. A plausible engine lies in 0.25..0.45. */
double shv_model_tied_efficiency(const struct shv_model *model, size_t speed);

/* With efficiency.model = "cycle": the factor that ties the closed cycle to the stock torque curve
 * at a speed index, 1 without a stock torque curve; NAN with another model. Outside
 * SHV_TIE_LEAST..SHV_TIE_MOST the engine's data are off. */
double shv_model_tie_factor(const struct shv_model *model, size_t speed);
#define SHV_TIE_LEAST 0.85
#define SHV_TIE_MOST 1.15
/* Likewise the factor on the delay of ignition that ties knock to the stock engine's ignition, at a
 * speed index; NAN without the closed cycle. Outside SHV_DELAY_LEAST..SHV_DELAY_MOST data are off.
 */
double shv_model_delay_factor(const struct shv_model *model, size_t speed);
#define SHV_DELAY_LEAST 0.5
#define SHV_DELAY_MOST 3.0
/* The stock engine's own cycle at a speed index and the stock conditions. False with another model
 * of efficiency, *result untouched. */
bool shv_model_stock_cycle(const struct shv_model *model, size_t speed,
                           struct shv_cycle_result *result);

/* Tables of the closed cycle that an evaluation looks up: one for each fuel, lambda and kind of
 * site (sites alike in pressure and humidity share theirs). Where a table is missing the direct
 * cycle runs instead: exact, but about a thousand times slower. 0 without the closed cycle. */
SHV_API size_t shv_model_table_count(const struct shv_model *model);
/* What table `index` is for: indices into the study, `site` the first of its kind. */
struct shv_table_place {
    size_t site, fuel, lambda;
};
struct shv_table_place shv_model_table_place(const struct shv_model *model, size_t index);
/* Fills what it is built from; pointers in it live as long as the model. */
void shv_model_table_spec(const struct shv_model *model, size_t index,
                          struct shv_cycle_table_spec *spec);
/* Takes the table over: the model frees it, *table is left empty. */
void shv_model_take_table(struct shv_model *model, size_t index, struct shv_cycle_table *table);
bool shv_model_has_table(const struct shv_model *model, size_t index);
/* The table's own, NULL when it has none. */
const struct shv_cycle_table *shv_model_table(const struct shv_model *model, size_t index);

/* Finds how the answers of a table change with exhaust pressure, for corrected models: about 0.1 s
 * of one thread. Without it, and where a correction moves exhaust pressure, the direct cycle runs.
 * Does nothing where it was done, or where there is no table. SHV_NO_MEMORY. */
enum shv_status shv_model_ready_shift(struct shv_model *model, size_t index,
                                      const struct shv_cycle_runner *runner,
                                      struct shv_message *message);

/* The inputs of the direct cycle at a point that was evaluated, for traces and checks. False
 * without the closed cycle or without an answer. */
bool shv_model_cycle_case(const struct shv_model *model, size_t site, const struct shv_kit *kit,
                          const struct shv_point *point, struct shv_cycle_fuel *fuel,
                          struct shv_cycle_case *at);

/* Room for the curves of one kit; freed with shv_curves_free. */
SHV_API enum shv_status shv_curves_init(struct shv_curves *curves, const struct shv_model *model,
                                        struct shv_message *message);
SHV_API void shv_curves_free(struct shv_curves *curves);

/* Evaluates one kit at every site and speed and judges it. Same numbers, to the bit, as the sweep.
 */
SHV_API void shv_model_evaluate(const struct shv_model *model, const struct shv_kit *kit,
                                struct shv_curves *curves);
/* The same by nested bracketing only, which cannot fail to converge: slower, for checking. */
void shv_model_evaluate_plain(const struct shv_model *model, const struct shv_kit *kit,
                              struct shv_curves *curves);
/* The engine as it left the factory (no blower, stock intake, stock fuel and lambda) at each site.
 */
SHV_API void shv_model_evaluate_stock(const struct shv_model *model, struct shv_curves *curves);
/* The same engine with the model's corrections, for logs of it: without a blower, stock intake,
 * fuel and lambda, but what is corrected of engine and exhaust is corrected here too. By the tables
 * of the closed cycle where the model has one of that fuel and lambda. */
void shv_model_evaluate_bare(const struct shv_model *model, struct shv_curves *curves);

/* The bypass area of a kit with which the rotors take no more than `drag` W at the cruise point
 * (bypass.h); about a millisecond. False when the study has none. */
bool shv_model_bypass_area(const struct shv_model *model, const struct shv_kit *kit, double drag,
                           struct shv_bypass_sizing *sizing);

/* Parts of a kit that may have a price and a mass. */
enum shv_part {
    SHV_PART_BLOWER,
    SHV_PART_CRANK_PULLEY,
    SHV_PART_BLOWER_PULLEY,
    SHV_PART_BELT,
    SHV_PART_DRIVE,
    SHV_PART_MANIFOLD,
    SHV_PART_COOLER,
    SHV_PART_BYPASS,
    SHV_PART_INJECTORS,
    SHV_PART_PUMP,
    SHV_PART_BASE, /* what is the same in every kit */
    SHV_PART_COUNT
};

struct shv_part_line {
    double count;           /* pieces; ribs of the belt; 0 where there is none */
    struct shv_worth worth; /* of all of them; 0 when not given */
};

/* What each part costs and weighs; they add up to shv_hardware.price and .mass. */
void shv_model_parts(const struct shv_model *model, const struct shv_kit *kit,
                     struct shv_part_line parts[SHV_PART_COUNT]);
/* Price and mass of all parts of a kit; 0 where no part has any. */
struct shv_worth shv_model_worth(const struct shv_model *model, const struct shv_kit *kit);

/* Margin to a bound at a point as a share of the limit's span; negative when broken. */
double shv_point_limit_share(const struct shv_point *point, enum shv_limit limit, double bound);

/* Highest brake power and torque over the speeds of a site; ties go to the lower speed. */
SHV_API size_t shv_curves_peak_power(const struct shv_curves *curves, size_t site);
SHV_API size_t shv_curves_peak_torque(const struct shv_curves *curves, size_t site);

/* ---- Many combinations at once: what the sweep runs. ---- */

/* Verdict of one combination, as little as a ranking needs. */
struct shv_brief {
    double objective;
    shv_limit_set broken;
    uint8_t outcome; /* enum shv_outcome */
    float room; /* of what holds, with shv_lanes_demand: (sum (demand/margin)^8)^(-1/8) over its
                 * limits, so about the least margin over its demand; INFINITY without any */
};

/* Whether it has an answer and keeps every limit. */
static inline bool shv_brief_holds(const struct shv_brief *brief)
{
    return brief->outcome == SHV_POINT_OK && brief->broken == 0;
}

/* Room one thread needs; created per thread, no allocation afterwards. */
struct shv_lanes;
enum shv_status shv_lanes_create(const struct shv_model *model, struct shv_lanes **lanes,
                                 struct shv_message *message);
void shv_lanes_free(struct shv_lanes *lanes);
/* Lets shv_lanes_evaluate skip what can change neither what is feasible and its objective nor the
 * reason under which a combination is counted (docs/model.md, section 12): a broken combination's
 * `broken` may then lack later bits and its objective is NAN. */
void shv_lanes_skip(struct shv_lanes *lanes, bool skips);
/* Has shv_lanes_evaluate_kits look at no other points of the rev range than these, [site * speeds +
 * speed] and borrowed: `broken` lacks what breaks elsewhere and the limits of injectors, pump, belt
 * and hardware, and the objective is NAN. What is told to break or to have no answer does so to the
 * rounding of the match, which starts from the speed looked at before. NULL: at all. */
void shv_lanes_only(struct shv_lanes *lanes, const bool *points);
/* Has shv_lanes_evaluate tell of each feasible combination, for each of the study's trade-offs, of
 * its things, SI, larger is better (a price with its sign turned), 0 beyond those that it has;
 * `place` is its place in `brief`. NULL: it doesn't. */
typedef void (*shv_lanes_found)(void *data, size_t tradeoff, size_t place,
                                const double value[SHV_FRONT_DIMS]);
void shv_lanes_watch(struct shv_lanes *lanes, shv_lanes_found found, void *data);
/* Has shv_lanes_evaluate find the room of each feasible combination against these demands, in the
 * units of the margins: demand[(blower * fuels + fuel) * SHV_LIMIT_COUNT + limit], 0 where a limit
 * does not count; stays the caller's. NULL: it doesn't. */
void shv_lanes_demand(struct shv_lanes *lanes, const double *demand);
/* The reason under which a combination is counted: an outcome other than SHV_POINT_OK, else the
 * limit in *limit, else -1 there: it is feasible. Limits that need no solution come first, then
 * outcomes, then the other limits. */
enum shv_outcome shv_brief_reason(const struct shv_brief *brief, int *limit);
/* Combinations solved side by side, and those that one call may be given: enough to fill the lanes
 * with combinations of the same kind of cooler. */
#define SHV_LANES_MAX 32
#define SHV_AIR_MAX 256
/* Evaluates air-side combinations first .. first+count-1 (count <= SHV_AIR_MAX) with every
 * fuel-side choice. brief[i * space->fuel_size + j] is air combination first+i with fuel choice j.
 */
void shv_lanes_evaluate(const struct shv_model *model, const struct shv_space *space,
                        struct shv_lanes *lanes, uint64_t first, size_t count,
                        struct shv_brief *brief);

/* The same for any kits, real or ideal, that share blower and fuel; count <= SHV_LANES_MAX. Fastest
 * where they share all of the fuel side. */
void shv_lanes_evaluate_kits(const struct shv_model *model, struct shv_lanes *lanes,
                             const struct shv_kit *kits, size_t count, struct shv_brief *brief);

/* Highest brake power of the kit in a lane at a site, W, after shv_lanes_evaluate_kits(); NAN where
 * no speed has an answer. */
double shv_lanes_peak_power(const struct shv_model *model, const struct shv_lanes *lanes,
                            size_t lane, size_t site);

/* Has shv_lanes_evaluate_kits keep every limited number at every site and speed, for
 * shv_lanes_rooms(). SHV_NO_MEMORY. */
enum shv_status shv_lanes_keep_rooms(const struct shv_model *model, struct shv_lanes *lanes,
                                     struct shv_message *message);
/* Rooms that shv_lanes_rooms() gives: of each limit that is set at each site and speed, or one for
 * a limit of the kit or the belt. */
size_t shv_lanes_room_count(const struct shv_model *model, const struct shv_lanes *lanes);
/* What the kit in a lane has left of each of them, as shares of the limits' spans, negative when
 * broken; NAN or INFINITY where the number is not known. The same order for kits that share a
 * blower. */
void shv_lanes_rooms(const struct shv_model *model, const struct shv_lanes *lanes, size_t lane,
                     double *room);

#endif
