/* What to measure before the kit is chosen (worth_knowing.h): kits round the one to sell whose
 * responses are taken as linear, and each tolerance and measurement asked for its worth. */
#include "certainty/worth_knowing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "certainty/knowing.h"
#include "certainty/sure_effects.h"

/* Families are kits that differ only in the blower pulley: that of the kit to sell, and those of
 * the best of each class of room; of each as many pulleys to either side. */
#define FAMILIES 10
#define PULLEYS ((uint64_t)12)
#define BLOCK ((size_t)(2 * PULLEYS + 1))
/* Effects are found of one kit after the other, which takes so many times as long as a sample of
 * kits side by side; what is asked then included. */
#define ONE_BY_ONE 2
/* A limit with more standard deviations of room than this in all kits of a family does not count.
 */
#define FAR_OFF 5.0

/* ---- what a shop can measure ---- */

/* Usual errors, of factors as shares: common practice, no source. That of the knock map is of the
 * delay, to which an octane number adds as the law of delay says (section 8.8). */
static const struct {
    const char *name, *title;
    size_t observations;
    struct knowing_observation of[KNOWING_OBSERVATIONS];
} measurements[] = {
    {"stock_dyno",
     "a dyno run of the stock engine with its air flow",
     2,
     {{{[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = 1.0}, 0.01},
      {{[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = 1.0, [SHV_CORRECT_EFFICIENCY] = 1.0}, 0.01}}},
    {"blower_flow",
     "a flow test of the blower",
     2,
     {{{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.05}, {{[SHV_CORRECT_FILLING_LOSS] = 1.0}, 0.10}}},
    {"cooler_temperatures",
     "temperatures before and after the cooler",
     1,
     {{{[SHV_CORRECT_COOLER_EFFECTIVENESS] = 1.0}, 0.04}}},
    {"knock_map",
     "a map of knock-limited ignition",
     1,
     {{{[SHV_CORRECT_KNOCK] = 1.0, [SHV_CORRECT_OCTANE] = 0.034}, 0.03}}},
    {"inlet_gauge",
     "a gauge at the blower's inlet",
     1,
     {{{[SHV_CORRECT_INTAKE_LOSS] = 1.0}, 0.05}}},
    {"exhaust_gauge", "a gauge in the exhaust", 1, {{{[SHV_CORRECT_EXHAUST_LOSS] = 1.0}, 0.05}}},
    {"pulley_caliper",
     "a caliper over the pulleys",
     2,
     {{{[SHV_CORRECT_BLOWER_PULLEY] = 1.0}, 20e-6}, {{[SHV_CORRECT_CRANK_PULLEY] = 1.0}, 20e-6}}},
    {"injector_bench",
     "a flow bench for injectors",
     1,
     {{{[SHV_CORRECT_INJECTOR_FLOW] = 1.0}, 0.01}}},
};
#define MEASUREMENTS (sizeof measurements / sizeof *measurements)

/* ---- kits ---- */

struct choosing {
    struct shv_model *model;
    struct sure_plan *plan;
    const struct shv_space *space;
    const struct shv_keep *keep;
    uint64_t first[FAMILIES]; /* a kit of each family */
    struct knowing_family family[FAMILIES];
    size_t families;
    struct shv_sure *row;         /* of one family, owned */
    struct knowing_response *kit; /* [family * BLOCK + place], owned */
};

static bool same_family(const struct shv_space *space, uint64_t a, uint64_t b)
{
    uint64_t x[SHV_DIM_COUNT], y[SHV_DIM_COUNT];
    shv_space_split(space, a, x);
    shv_space_split(space, b, y);
    x[SHV_DIM_BLOWER_PULLEY] = y[SHV_DIM_BLOWER_PULLEY];
    return memcmp(x, y, sizeof x) == 0;
}

static bool is_new(const struct choosing *c, uint64_t index)
{
    bool other = true;
    for (size_t i = 0; i < c->families && other; i++) {
        other = !same_family(c->space, c->first[i], index);
    }
    return other;
}

/* The best of a class whose family is not yet there. */
static void add_family(struct choosing *c, const struct shv_ranking *room)
{
    const struct shv_candidate *best = NULL;
    for (size_t i = 0; i < room->count; i++) {
        bool better = !best || shv_candidate_before(&room->item[i], best);
        best = better && is_new(c, room->item[i].index) ? &room->item[i] : best;
    }
    if (best && c->families < FAMILIES) {
        c->first[c->families++] = best->index;
    }
}

/* The kits of a family into rows. */
static size_t list_family(const struct choosing *c, uint64_t index, struct shv_sure *row)
{
    uint64_t choice[SHV_DIM_COUNT], all = c->space->count[SHV_DIM_BLOWER_PULLEY];
    shv_space_split(c->space, index, choice);
    uint64_t at = choice[SHV_DIM_BLOWER_PULLEY], first = at < PULLEYS ? 0 : at - PULLEYS;
    size_t count = 0;
    for (uint64_t p = first; p < all && p <= at + PULLEYS; p++) {
        choice[SHV_DIM_BLOWER_PULLEY] = p;
        shv_space_kit(c->space, shv_model_study(c->model), shv_space_join(c->space, choice),
                      &row[count++].kit);
    }
    return count;
}

/* Whether a margin of some kit of the family is small against what tolerances can do to it. The
 * peak pressure's is not looked at: later ignition keeps it, and that has a limit of its own. */
static bool comes_in(const struct choosing *c, const shv_limit_set *set, const double *margin,
                     size_t count, size_t limit)
{
    const struct correlated *t = &c->plan->correlated;
    bool near = false;
    for (size_t i = 0; i < count; i++) {
        double reach = 0.0;
        for (size_t k = 0; k < t->count; k++) {
            reach += fabs(c->row[i].effect[t->which[k]][1 + limit].effect);
        }
        near = near || margin[i * SHV_LIMIT_COUNT + limit] <= FAR_OFF * reach;
    }
    return near && (set[0] & SHV_LIMIT_BIT(limit)) != 0 && limit != SHV_LIMIT_PEAK_PRESSURE;
}

/* False for a kit that has no answer, or none when one of the tolerances is off. */
static bool respond(const struct choosing *c, const struct shv_sure *row, const double *margin,
                    const size_t *limit, size_t limits, struct knowing_response *kit)
{
    const struct correlated *t = &c->plan->correlated;
    bool answers = isfinite(row->nominal);
    kit->value = row->nominal;
    for (size_t k = 0; k < limits; k++) {
        kit->margin[k] = margin[limit[k]];
        answers = answers && isfinite(kit->margin[k]);
    }
    for (size_t i = 0; i < t->count; i++) {
        const struct shv_sure_effect *effect = row->effect[t->which[i]];
        kit->value_slope[i] = effect[0].effect;
        answers = answers && isfinite(kit->value_slope[i]);
        for (size_t k = 0; k < limits; k++) {
            kit->margin_slope[k][i] = effect[1 + limit[k]].effect;
            answers = answers && isfinite(kit->margin_slope[k][i]);
        }
    }
    return answers;
}

/* Larger blower pulleys turn the rotors slower, so later kits of a family hold where earlier do. */
static enum shv_status take_family(struct choosing *c, size_t family, struct shv_message *message)
{
    shv_limit_set set[BLOCK];
    double margin[BLOCK * SHV_LIMIT_COUNT];
    size_t limit[SHV_LIMIT_COUNT];
    size_t count = list_family(c, c->first[family], c->row);
    struct knowing_response *kit = c->kit + family * BLOCK;
    struct knowing_family *f = &c->family[family];
    *f = (struct knowing_family){.kit = kit};
    enum shv_status status = sure_ready(c->model, &c->row[0].kit, 1, message);
    if (status == SHV_OK) {
        status = sure_effects(c->plan, count, false, c->row, set, margin, message);
    }
    for (size_t k = 0; k < SHV_LIMIT_COUNT && status == SHV_OK; k++) {
        if (comes_in(c, set, margin, count, k)) {
            limit[f->limits++] = k;
        }
    }
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        f->kits +=
            respond(c, &c->row[i], margin + i * SHV_LIMIT_COUNT, limit, f->limits, &kit[f->kits]);
    }
    return status;
}

static enum shv_status take_kits(struct choosing *c, uint64_t sell, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    size_t left = 0;
    c->first[c->families++] = sell;
    for (size_t k = c->keep->rooms > 0 ? SHV_ROOM_CLASSES : 0; k-- > 0;) {
        add_family(c, &c->keep->room[k]);
    }
    for (size_t i = 0; i < c->families && status == SHV_OK; i++) {
        status = take_family(c, i, message);
        c->family[left] = c->family[i];
        left += c->family[i].kits > 0 ? 1 : 0;
    }
    c->families = left;
    return status;
}

/* ---- what is asked ---- */

static enum shv_status ask(const struct choosing *c, const struct knowing_observation *observation,
                           size_t observations, struct shv_sure_list *list,
                           struct shv_knowing knowing, struct shv_message *message)
{
    struct knowing_worth worth;
    if (!watcher_add(&c->plan->watcher, BLOCK)) {
        return shv_fail(message, SHV_STOPPED, "stopped while tolerances were looked at");
    }
    if (!knowing_find(c->plan, c->family, c->families, observation, observations, &worth)) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the worth of knowing");
    }
    knowing.gain = worth.gain;
    knowing.changes = worth.changes;
    list->knowing[list->knowing_count++] = knowing;
    return SHV_OK;
}

/* A tolerance known exactly. */
static enum shv_status ask_tolerance(const struct choosing *c, enum shv_correction which,
                                     struct shv_sure_list *list, struct shv_message *message)
{
    struct knowing_observation exactly = {.error = 0.0};
    const struct shv_knowing knowing = {.name = shv_correction_info(which)->name,
                                        .title = shv_correction_info(which)->title,
                                        .tells = SHV_CORRECTION_BIT(which)};
    exactly.weight[which] = 1.0;
    return ask(c, &exactly, 1, list, knowing, message);
}

/* A measurement, where the study has a tolerance of which it tells something. */
static enum shv_status ask_measurement(const struct choosing *c, size_t m,
                                       struct shv_sure_list *list, struct shv_message *message)
{
    struct shv_knowing knowing = {
        .name = measurements[m].name, .title = measurements[m].title, .is_measurement = true};
    for (size_t i = 0; i < c->plan->correlated.count; i++) {
        enum shv_correction which = c->plan->correlated.which[i];
        for (size_t k = 0; k < measurements[m].observations; k++) {
            bool tells = measurements[m].of[k].weight[which] != 0.0;
            knowing.tells |= tells ? SHV_CORRECTION_BIT(which) : 0;
        }
    }
    return knowing.tells == 0
               ? SHV_OK
               : ask(c, measurements[m].of, measurements[m].observations, list, knowing, message);
}

static enum shv_status ask_all(const struct choosing *c, struct shv_sure_list *list,
                               struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < c->plan->correlated.count && status == SHV_OK; i++) {
        status = ask_tolerance(c, c->plan->correlated.which[i], list, message);
    }
    for (size_t m = 0; m < MEASUREMENTS && status == SHV_OK; m++) {
        status = ask_measurement(c, m, list, message);
    }
    return status;
}

enum shv_status sure_worth_knowing(struct shv_model *model, struct sure_plan *plan,
                                   const struct shv_space *space, const struct shv_keep *keep,
                                   struct shv_sure_list *list, struct shv_message *message)
{
    struct choosing c = {.model = model, .plan = plan, .space = space, .keep = keep};
    c.row = calloc(BLOCK, sizeof *c.row);
    c.kit = calloc(FAMILIES * BLOCK, sizeof *c.kit);
    list->knowing = calloc(plan->correlated.count + MEASUREMENTS, sizeof *list->knowing);
    enum shv_status status =
        c.row && c.kit && list->knowing
            ? take_kits(&c, list->row[list->best].index, message)
            : shv_fail(message, SHV_NO_MEMORY, "out of memory for the worth of knowing");
    status = status == SHV_OK ? ask_all(&c, list, message) : status;
    free(c.row);
    free(c.kit);
    return status;
}

size_t sure_worth_samples(const struct shv_tolerances *tolerances)
{
    size_t given = 0;
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        given += tolerances->of[i].given ? 1 : 0;
    }
    return FAMILIES * BLOCK * (2 * given + 1) * ONE_BY_ONE;
}
