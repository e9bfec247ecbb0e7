/* Single changes to a kit: sheave/changes.h. */
#include "sheave/changes.h"

#include <math.h>
#include <stdlib.h>

static bool same_parts(const struct shv_kit *a, const struct shv_kit *b)
{
    bool same = true;
    for (int dim = 0; dim < SHV_DIM_COUNT; dim++) {
        same = same && shv_dim_same((enum shv_dim)dim, a, b);
    }
    return same;
}

/* The kit with another choice in one dimension; false when that is the kit itself. */
static bool change(const struct shv_study *study, const struct shv_kit *kit, enum shv_dim dim,
                   uint64_t choice, struct shv_kit *changed)
{
    bool pulley = dim == SHV_DIM_CRANK_PULLEY || dim == SHV_DIM_BLOWER_PULLEY;
    if (pulley && isnan(kit->crank_diameter)) {
        return false;
    }
    *changed = *kit;
    shv_space_pick(study, dim, choice, changed);
    if (pulley) {
        changed->ratio = shv_drive_ratio(changed->crank_diameter, changed->blower_diameter,
                                         study->drive.line_offset);
    }
    return !same_parts(kit, changed);
}

enum shv_status shv_single_changes(const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_kit *kit, bool burn,
                                   struct shv_change **changes, size_t *count,
                                   struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    struct shv_curves curves = {.sites = 0};
    uint64_t most = 1;
    for (int dim = 0; dim < SHV_DIM_COUNT; dim++) {
        most += space->count[dim];
    }
    *count = 0;
    *changes = calloc((size_t)most, sizeof **changes);
    enum shv_status status =
        *changes ? shv_curves_init(&curves, model, message)
                 : shv_fail(message, SHV_NO_MEMORY, "out of memory for the changes to a kit");
    for (int dim = 0; dim < SHV_DIM_COUNT && status == SHV_OK; dim++) {
        bool needs_table = dim == SHV_DIM_FUEL || dim == SHV_DIM_LAMBDA;
        for (uint64_t choice = 0; choice < space->count[dim] && (burn || !needs_table); choice++) {
            struct shv_change *c = &(*changes)[*count];
            if (!change(study, kit, (enum shv_dim)dim, choice, &c->kit)) {
                continue;
            }
            shv_model_evaluate(model, &c->kit, &curves);
            c->dim = (enum shv_dim)dim;
            c->feasible = curves.verdict.feasible;
            c->outcome = curves.verdict.outcome;
            c->first_broken = curves.verdict.first_broken;
            c->objective = curves.verdict.objective;
            (*count)++;
        }
    }
    shv_curves_free(&curves);
    if (status != SHV_OK) {
        free(*changes);
        *changes = NULL;
    }
    return status;
}
