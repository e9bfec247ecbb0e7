/* The blower pulley worth having made: src/search/made_pulley.h. All sizes are tried: objectives
 * have kinks and limits cut pieces out, and a few thousand kits in the lanes take less than a tenth
 * of a second. */
#include "search/made_pulley.h"

#include <math.h>

/* Sizes tried for all crank pulleys together; with more the steps are wider. */
#define MOST_SIZES 40000.0
/* A gain below this share of the objective is rounding. */
#define WORTH_NAMING 1e-6

struct sizes {
    const struct shv_model *model;
    struct shv_lanes *lanes;
    struct shv_kit kits[SHV_LANES_MAX];
    size_t count;
};

/* Judges the kits gathered so far. */
static void try_sizes(struct sizes *s, struct shv_optimum *o)
{
    struct shv_brief brief[SHV_LANES_MAX];
    if (s->count == 0) {
        return;
    }
    shv_lanes_evaluate_kits(s->model, s->lanes, s->kits, s->count, brief);
    o->evaluations += s->count;
    for (size_t i = 0; i < s->count; i++) {
        bool holds = shv_brief_holds(&brief[i]);
        if (holds && brief[i].objective > o->made_objective) {
            o->made_found = true;
            o->made = s->kits[i];
            o->made_objective = brief[i].objective;
        }
    }
    s->count = 0;
}

/* Whole tenths of a millimetre, or whole multiples of them where those would be too many. */
static double step_of(const struct shv_study *study)
{
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double range = shv_numbers_last(pulleys) - pulleys->values[0];
    double sizes = range / MADE_PULLEY_STEP * (double)study->numbers[SHV_DIM_CRANK_PULLEY].count;
    return MADE_PULLEY_STEP * fmax(1.0, ceil(sizes / MOST_SIZES));
}

static void try_crank(struct sizes *s, double crank, struct shv_optimum *o)
{
    const struct shv_study *study = shv_model_study(s->model);
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double step = step_of(study), last = shv_numbers_last(pulleys);
    long long first = (long long)ceil(pulleys->values[0] / step - 1e-9);
    for (long long i = first; (double)i * step <= last * (1.0 + 1e-9); i++) {
        struct shv_kit kit = o->real;
        kit.crank_diameter = crank;
        kit.blower_diameter = (double)i * step;
        kit.ratio = shv_drive_ratio(crank, kit.blower_diameter, study->drive.line_offset);
        s->kits[s->count++] = kit;
        if (s->count == SHV_LANES_MAX) {
            try_sizes(s, o);
        }
    }
    try_sizes(s, o);
}

enum shv_status made_pulley(const struct shv_model *model, struct shv_optimum *o,
                            struct shv_message *message)
{
    const struct shv_numbers *cranks = &shv_model_study(model)->numbers[SHV_DIM_CRANK_PULLEY];
    struct sizes s = {.model = model};
    o->made_found = false;
    if (!o->real_found) {
        return SHV_OK;
    }
    enum shv_status status = shv_lanes_create(model, &s.lanes, message);
    o->made_objective = o->real_objective + WORTH_NAMING * fabs(o->real_objective);
    for (size_t i = 0; i < cranks->count && status == SHV_OK; i++) {
        try_crank(&s, cranks->values[i], o);
    }
    shv_lanes_free(s.lanes);
    o->made_objective = o->made_found ? o->made_objective : NAN;
    return status;
}
