/* Real parts near an ideal kit. */
#include "search/nearest_parts.h"

#include <math.h>
#include <stdlib.h>

/* Pulley pairs tried at the most. */
#define MOST_PAIRS 64

struct pulley_pair {
    size_t crank, blower;
    double distance;
};

/* Index of the first pulley not smaller than d; their count when all are smaller. */
static size_t first_not_below(const struct shv_numbers *pulleys, double d)
{
    size_t low = 0, high = pulleys->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (pulleys->values[middle] < d) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

/* Keeps the MOST_PAIRS nearest pairs, nearest first. */
static void offer_pair(struct pulley_pair *list, size_t *count, struct pulley_pair p)
{
    size_t i = *count < MOST_PAIRS ? (*count)++ : MOST_PAIRS;
    if (i == MOST_PAIRS) {
        if (!(p.distance < list[MOST_PAIRS - 1].distance)) {
            return;
        }
        i = MOST_PAIRS - 1;
    }
    while (i > 0 && p.distance < list[i - 1].distance) {
        list[i] = list[i - 1];
        i--;
    }
    list[i] = p;
}

/* For each crank pulley the two blower pulleys on either side of the ideal ratio, two deep. */
static size_t near_pairs(const struct shv_study *study, double ratio, struct pulley_pair *list)
{
    const struct shv_numbers *cranks = &study->numbers[SHV_DIM_CRANK_PULLEY];
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double offset = study->drive.line_offset;
    size_t count = 0;
    for (size_t c = 0; c < cranks->count; c++) {
        double ideal = (cranks->values[c] + 2.0 * offset) / ratio - 2.0 * offset;
        size_t above = first_not_below(pulleys, ideal);
        size_t begin = above >= 2 ? above - 2 : 0;
        for (size_t b = begin; b < above + 2 && b < pulleys->count; b++) {
            double real = shv_drive_ratio(cranks->values[c], pulleys->values[b], offset);
            offer_pair(list, &count, (struct pulley_pair){c, b, fabs(log(real / ratio))});
        }
    }
    return count;
}

/* First choice of the cooler dimension that belongs to a cooler. */
static size_t first_choice(const struct shv_study *study, size_t cooler)
{
    size_t first = 0;
    for (size_t i = 0; i < cooler; i++) {
        first += study->coolers[i].effectiveness.count;
    }
    return first;
}

/* Range of a cooler's own choices around an effectiveness. */
static void near_choices(const struct shv_cooler *cooler, double effectiveness, size_t *begin,
                         size_t *end)
{
    size_t above = 0;
    while (!cooler->is_none && above < cooler->effectiveness.count &&
           cooler->effectiveness.values[above] < effectiveness) {
        above++;
    }
    *begin = above > 0 ? above - 1 : 0;
    *end = above + 1 < cooler->effectiveness.count ? above + 1 : cooler->effectiveness.count;
}

/* The fuel side of the ideal is real already. */
static void choose_fuel_side(const struct shv_study *study, const struct shv_optimum *o,
                             uint64_t choice[SHV_DIM_COUNT])
{
    const struct shv_injector_part *injector = &study->injectors[o->ideal.injector];
    size_t size = shv_numbers_index(&injector->rated_flow, o->ideal.injector_flow);
    for (size_t i = 0; i < o->ideal.injector; i++) {
        size += study->injectors[i].rated_flow.count;
    }
    choice[SHV_DIM_FUEL] = o->fuel;
    choice[SHV_DIM_INJECTOR] = size;
    choice[SHV_DIM_PUMP] = o->ideal.pump;
    for (enum shv_dim d = SHV_DIM_LAMBDA; d < SHV_DIM_COUNT; d++) {
        if (shv_dim_entries(d, study) == 0) {
            choice[d] = shv_numbers_index(&study->numbers[d], shv_dim_number(d, &o->ideal));
        }
    }
}

static void try_index(const struct shv_model *model, const struct shv_space *space, uint64_t index,
                      struct shv_optimum *o, struct shv_curves *curves)
{
    struct shv_kit kit;
    shv_space_kit(space, shv_model_study(model), index, &kit);
    shv_model_evaluate(model, &kit, curves);
    o->evaluations++;
    double objective = curves->verdict.objective;
    bool better = !o->real_found || objective > o->real_objective ||
                  (objective == o->real_objective && index < o->real_index);
    if (curves->verdict.feasible && better) {
        o->real_found = true;
        o->real = kit;
        o->real_index = index;
        o->real_objective = objective;
        o->loss = (o->objective - objective) / fabs(o->objective);
    }
}

enum shv_status nearest_parts(const struct shv_model *model, const struct shv_space *space,
                              struct shv_optimum *o, struct shv_curves *curves,
                              struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    struct pulley_pair *list = malloc(MOST_PAIRS * sizeof *list);
    if (!list) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the nearest pulleys");
    }
    size_t pairs = near_pairs(study, o->ideal.ratio, list);
    size_t begin, end, first = first_choice(study, o->ideal.cooler);
    near_choices(&study->coolers[o->ideal.cooler], o->ideal.effectiveness, &begin, &end);
    for (size_t i = 0; i < pairs; i++) {
        for (size_t c = begin; c < end; c++) {
            uint64_t choice[SHV_DIM_COUNT] = {0};
            choice[SHV_DIM_BLOWER] = o->blower;
            choice[SHV_DIM_CRANK_PULLEY] = list[i].crank;
            choice[SHV_DIM_BLOWER_PULLEY] = list[i].blower;
            choice[SHV_DIM_COOLER] = first + c;
            choose_fuel_side(study, o, choice);
            try_index(model, space, shv_space_join(space, choice), o, curves);
        }
    }
    free(list);
    return SHV_OK;
}
