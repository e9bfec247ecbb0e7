/* How sure the best kits are (sheave/tolerance.h). */
#include "sheave/tolerance.h"

#include <math.h>
#include <stdlib.h>

#include "certainty/hangs.h"
#include "certainty/sell.h"
#include "certainty/sure.h"
#include "certainty/sure_effects.h"
#include "certainty/worth_knowing.h"

/* ---- kits ---- */

static enum shv_status look_at_block(struct sure_plan *plan, const struct shv_kit *kits,
                                     size_t count, struct sure_outcome *outcome,
                                     struct shv_sure *rows, struct shv_message *message)
{
    shv_limit_set set[SURE_BLOCK];
    size_t samples = plan->tolerances->samples;
    for (size_t i = 0; i < count; i++) {
        rows[i].kit = kits[i];
    }
    enum shv_status status = sure_effects(plan, count, true, rows, set, NULL, message);
    if (status == SHV_OK) {
        status = sure_sample(plan, kits, count, (struct sure_samples){NULL, samples, NULL}, outcome,
                             message);
    }
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = sure_estimate(outcome + i, count, samples, set[i], &rows[i], message);
        rows[i].is_sure = rows[i].all.value >= plan->tolerances->hold; /* false for NAN */
    }
    return status;
}

static enum shv_status look_at(struct shv_model *model, struct sure_plan *plan,
                               const struct shv_kit *kits, size_t count, struct shv_sure *rows,
                               struct shv_message *message)
{
    enum shv_status status = sure_ready(model, kits, count, message);
    if (status != SHV_OK) {
        return status;
    }
    struct sure_outcome *outcome = malloc(plan->tolerances->samples * SURE_BLOCK * sizeof *outcome);
    if (!outcome) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the samples of tolerances");
    }
    for (size_t first = 0; first < count && status == SHV_OK; first += SURE_BLOCK) {
        size_t some = count - first < SURE_BLOCK ? count - first : SURE_BLOCK;
        status = look_at_block(plan, kits + first, some, outcome, rows + first, message);
    }
    free(outcome);
    return status;
}

enum shv_status shv_sure_kits(struct shv_model *model, const struct shv_kit *kits, size_t count,
                              const struct shv_watch *watch, struct shv_sure *rows,
                              struct shv_message *message)
{
    struct sure_plan plan;
    enum shv_status status = sure_begin(&plan, model, watch, message);
    if (status == SHV_OK) {
        plan.watcher.total = count * plan.tolerances->samples;
        status = look_at(model, &plan, kits, count, rows, message);
    }
    sure_end(&plan);
    return status;
}

/* ---- all of it ---- */

struct listing {
    struct shv_model *model;
    struct sure_plan *plan;
    const struct shv_space *space;
    const struct shv_ranking *ranking;
    const struct shv_optimum *optima;
    size_t optimum_count;
    struct shv_sure_list *list;
};

static size_t list_kits(const struct listing *l, size_t ranked, struct shv_kit *kits)
{
    size_t count = 0;
    for (size_t i = 0; i < ranked; i++, count++) {
        struct shv_sure *row = &l->list->row[count];
        row->kind = SHV_SURE_RANKED;
        row->rank = i + 1;
        row->index = l->ranking->item[i].index;
        shv_space_kit(l->space, shv_model_study(l->model), row->index, &kits[count]);
    }
    for (size_t i = 0; i < l->optimum_count; i++) {
        if (l->optima[i].found) {
            struct shv_sure *row = &l->list->row[count];
            row->kind = SHV_SURE_OPTIMUM;
            row->rank = i + 1;
            row->index = UINT64_MAX;
            kits[count++] = l->optima[i].ideal;
        }
    }
    return count;
}

static enum shv_status list_known(const struct listing *l, struct shv_message *message)
{
    size_t most = l->plan->tolerances->rows;
    size_t ranked = l->ranking->count < most ? l->ranking->count : most;
    size_t listed = ranked + l->optimum_count;
    l->list->row = calloc(listed + 2, sizeof *l->list->row);
    struct shv_kit *kits = calloc(listed + 1, sizeof *kits);
    enum shv_status status = SHV_OK;
    if (!l->list->row || !kits) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the list of sure kits");
    } else {
        size_t count = list_kits(l, ranked, kits);
        l->plan->watcher.total += count * l->plan->tolerances->samples;
        status = look_at(l->model, l->plan, kits, count, l->list->row, message);
        l->list->count = count;
    }
    free(kits);
    return status;
}

/* The best real kit of the list that holds. */
static void find_best(struct shv_sure_list *list)
{
    list->best = list->count;
    for (size_t i = 0; i < list->count; i++) {
        const struct shv_sure *row = &list->row[i];
        bool better = list->best == list->count || row->nominal > list->row[list->best].nominal;
        if (row->is_sure && row->kind != SHV_SURE_OPTIMUM && better) {
            list->best = i;
        }
    }
}

/* The kit to sell, as a row of its own when it is none of those that are listed. */
static enum shv_status list_kit_to_sell(const struct listing *l, const struct shv_keep *keep,
                                        struct shv_message *message)
{
    struct shv_sure_list *list = l->list;
    struct sure_sell sell;
    enum shv_status status = sure_sell(l->model, l->plan, l->space, keep, &sell, message);
    list->looked = sell.looked;
    list->complete = sell.complete;
    bool listed = !sell.found;
    for (size_t i = 0; i < list->count; i++) {
        listed = listed || list->row[i].index == sell.index;
    }
    if (status == SHV_OK && !listed) {
        struct shv_sure *row = &list->row[list->count];
        struct shv_kit kit;
        shv_space_kit(l->space, shv_model_study(l->model), sell.index, &kit);
        row->kind = SHV_SURE_SOUGHT;
        row->rank = 1;
        row->index = sell.index;
        status = look_at(l->model, l->plan, &kit, 1, row, message);
        list->count++;
    }
    return status;
}

enum shv_status shv_sure_search(struct shv_model *model, const struct shv_space *space,
                                const struct shv_ranking *ranking, const struct shv_keep *keep,
                                const struct shv_optimum *optima, size_t optimum_count,
                                const struct shv_watch *watch, struct shv_sure_list *list,
                                struct shv_message *message)
{
    struct sure_plan plan;
    *list = (struct shv_sure_list){.row = NULL};
    if (!shv_model_study(model)->tolerances.given) {
        return SHV_OK;
    }
    enum shv_status status = sure_begin(&plan, model, watch, message);
    const struct listing l = {model, &plan, space, ranking, optima, optimum_count, list};
    list->asked = !isnan(shv_model_study(model)->tolerances.hold);
    if (status == SHV_OK) {
        plan.watcher.total = sure_sell_samples(&plan, keep);
        status = list_known(&l, message);
    }
    if (status == SHV_OK && list->asked && keep) {
        status = list_kit_to_sell(&l, keep, message);
    }
    find_best(list);
    if (status == SHV_OK && list->asked && keep && list->best < list->count) {
        status = sure_worth_knowing(model, &plan, space, keep, list, message);
    }
    status = status == SHV_OK ? sure_hangs(&plan, space, ranking, list, message) : status;
    sure_end(&plan);
    if (status != SHV_OK) {
        shv_sure_free(list);
    }
    return status;
}

void shv_sure_free(struct shv_sure_list *list)
{
    free(list->row);
    free(list->knowing);
    *list = (struct shv_sure_list){.row = NULL};
}
