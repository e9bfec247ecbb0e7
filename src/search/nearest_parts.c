/* Real parts near an ideal kit. */
#include "search/nearest_parts.h"

#include <math.h>

/* Pulley pairs tried at the most. */
#define MOST_PAIRS 64

struct pulley_pair {
    size_t crank, blower;
    double distance;
};

/* Index of the first number not smaller than x; their count when all are smaller. */
static size_t first_not_below(const struct shv_numbers *numbers, double x)
{
    size_t low = 0, high = numbers->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (numbers->values[middle] < x) {
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
        double ideal = shv_drive_blower_pulley(cranks->values[c], ratio, offset);
        size_t above = first_not_below(pulleys, ideal);
        size_t begin = above >= 2 ? above - 2 : 0;
        for (size_t b = begin; b < above + 2 && b < pulleys->count; b++) {
            double real = shv_drive_ratio(cranks->values[c], pulleys->values[b], offset);
            offer_pair(list, &count, (struct pulley_pair){c, b, fabs(log(real / ratio))});
        }
    }
    return count;
}

/* Range of a cooler's own choices around an effectiveness. */
static void near_choices(const struct shv_cooler *cooler, double effectiveness, size_t *begin,
                         size_t *end)
{
    size_t above = cooler->is_none ? 0 : first_not_below(&cooler->effectiveness, effectiveness);
    *begin = above > 0 ? above - 1 : 0;
    *end = above + 1 < cooler->effectiveness.count ? above + 1 : cooler->effectiveness.count;
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

void nearest_parts(const struct shv_model *model, const struct shv_space *space,
                   struct shv_optimum *o, struct shv_curves *curves)
{
    const struct shv_study *study = shv_model_study(model);
    struct pulley_pair list[MOST_PAIRS];
    size_t pairs = near_pairs(study, o->ideal.ratio, list), begin, end;
    uint64_t first = shv_space_first(study, SHV_DIM_COOLER, o->ideal.cooler);
    uint64_t choice[SHV_DIM_COUNT];
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) { /* all but pulleys and core is real already */
        choice[d] = shv_space_choice(study, (enum shv_dim)d, &o->ideal);
    }
    near_choices(&study->coolers[o->ideal.cooler], o->ideal.effectiveness, &begin, &end);
    for (size_t i = 0; i < pairs; i++) {
        for (size_t c = begin; c < end; c++) {
            choice[SHV_DIM_CRANK_PULLEY] = list[i].crank;
            choice[SHV_DIM_BLOWER_PULLEY] = list[i].blower;
            choice[SHV_DIM_COOLER] = first + c;
            try_index(model, space, shv_space_join(space, choice), o, curves);
        }
    }
}
