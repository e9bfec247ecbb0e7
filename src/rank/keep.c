/* Fronts, kits for several fuels and starts of the search: sheave/keep.h. */
#include "sheave/keep.h"

#include <stdlib.h>

/* Which cooler each choice of the cooler dimension belongs to. */
static void find_families(struct shv_keep *keep, const struct shv_study *study)
{
    size_t choice = 0;
    for (size_t i = 0; i < study->cooler_count; i++) {
        for (size_t k = 0; k < study->coolers[i].effectiveness.count; k++) {
            keep->family[choice++] = i;
        }
        keep->none = study->coolers[i].is_none ? i : keep->none;
    }
}

static enum shv_status init_near(struct shv_keep *keep, const struct shv_study *study,
                                 struct shv_message *message)
{
    if (!study->search.enabled) {
        return SHV_OK;
    }
    enum shv_status status = shv_space_init(&keep->space, study, message);
    if (status != SHV_OK) {
        return status;
    }
    keep->nears = SHV_NEAR_KINDS * study->blower_count * study->fuel_count;
    keep->near = calloc(keep->nears, sizeof *keep->near);
    keep->family = calloc(keep->space.count[SHV_DIM_COOLER], sizeof *keep->family);
    if (!keep->near || !keep->family) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for where the search starts");
    }
    find_families(keep, study);
    return SHV_OK;
}

static enum shv_status init_rooms(struct shv_keep *keep, const struct shv_study *study,
                                  struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    keep->rooms = study->tolerances.given && study->tolerances.hold > 0.0 ? SHV_ROOM_ANY + 1 : 0;
    keep->room = calloc(keep->rooms + 1, sizeof *keep->room);
    if (!keep->room) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for what a sweep keeps");
    }
    for (size_t i = 0; i < keep->rooms && status == SHV_OK; i++) {
        size_t kept = i == SHV_ROOM_ANY ? SHV_ROOM_ANY_KEPT : SHV_ROOM_KEPT;
        status = shv_ranking_init(&keep->room[i], kept, message);
    }
    return status;
}

size_t shv_room_class(double room)
{
    return room < SHV_ROOM_STEP * SHV_ROOM_CLASSES ? (size_t)(room / SHV_ROOM_STEP)
                                                   : SHV_ROOM_CLASSES - 1;
}

enum shv_status shv_keep_init(struct shv_keep *keep, const struct shv_study *study,
                              struct shv_message *message)
{
    *keep = (struct shv_keep){.fronts = study->tradeoff_count, .served = study->serve_count};
    keep->front = calloc(keep->fronts + 1, sizeof *keep->front);
    keep->of_served = calloc(keep->served + 1, sizeof *keep->of_served);
    enum shv_status status = SHV_OK;
    if (!keep->front || !keep->of_served) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for what a sweep keeps");
    }
    for (size_t i = 0; i < keep->fronts && status == SHV_OK; i++) {
        shv_front_init(&keep->front[i], shv_tradeoff_dims(&study->tradeoffs[i]));
    }
    for (size_t i = 0; i < keep->served && status == SHV_OK; i++) {
        status = shv_ranking_init(&keep->of_served[i], 1, message);
    }
    if (status == SHV_OK) {
        status =
            shv_ranking_init(&keep->serving, keep->served > 0 ? study->results.keep : 0, message);
    }
    if (status == SHV_OK) {
        status = init_near(keep, study, message);
    }
    if (status == SHV_OK) {
        status = init_rooms(keep, study, message);
    }
    if (status != SHV_OK) {
        shv_keep_free(keep);
    }
    return status;
}

void shv_keep_free(struct shv_keep *keep)
{
    for (size_t i = 0; keep->front && i < keep->fronts; i++) {
        shv_front_free(&keep->front[i]);
    }
    for (size_t i = 0; keep->of_served && i < keep->served; i++) {
        shv_ranking_free(&keep->of_served[i]);
    }
    for (size_t i = 0; keep->room && i < keep->rooms; i++) {
        shv_ranking_free(&keep->room[i]);
    }
    free(keep->room);
    free(keep->front);
    free(keep->of_served);
    free(keep->near);
    free(keep->family);
    shv_ranking_free(&keep->serving);
    *keep = (struct shv_keep){0};
}

void shv_keep_near(struct shv_keep *keep, struct shv_candidate candidate)
{
    uint64_t choice[SHV_DIM_COUNT];
    if (keep->nears == 0) {
        return;
    }
    shv_space_split(&keep->space, candidate.index, choice);
    size_t family = keep->family[choice[SHV_DIM_COOLER]];
    uint64_t pair = choice[SHV_DIM_BLOWER] * keep->space.count[SHV_DIM_FUEL] + choice[SHV_DIM_FUEL];
    uint64_t group = (family * keep->space.count[SHV_DIM_LAMBDA] + choice[SHV_DIM_LAMBDA]) *
                         keep->space.count[SHV_DIM_IGNITION_MARGIN] +
                     choice[SHV_DIM_IGNITION_MARGIN];
    size_t kind = family == keep->none ? SHV_NEAR_UNCOOLED : SHV_NEAR_COOLED;
    shv_near_offer(&keep->near[SHV_NEAR_KINDS * pair + kind], candidate, group);
}

void shv_keep_clear(struct shv_keep *keep)
{
    for (size_t i = 0; i < keep->fronts; i++) {
        keep->front[i].count = 0;
    }
    for (size_t i = 0; i < keep->served; i++) {
        keep->of_served[i].count = 0;
    }
    for (size_t i = 0; i < keep->nears; i++) {
        keep->near[i].count = 0;
    }
    for (size_t i = 0; i < keep->rooms; i++) {
        keep->room[i].count = 0;
    }
    keep->serving.count = 0;
}

static void offer_all(struct shv_ranking *to, const struct shv_ranking *from)
{
    for (size_t i = 0; i < from->count; i++) {
        shv_ranking_offer(to, from->item[i]);
    }
}

bool shv_keep_add(struct shv_keep *to, const struct shv_keep *keep)
{
    for (size_t i = 0; i < keep->fronts; i++) {
        for (size_t k = 0; k < keep->front[i].count; k++) {
            if (!shv_front_offer(&to->front[i], &keep->front[i].point[k])) {
                return false;
            }
        }
    }
    for (size_t i = 0; i < keep->served; i++) {
        offer_all(&to->of_served[i], &keep->of_served[i]);
    }
    for (size_t i = 0; i < keep->nears; i++) {
        for (size_t k = 0; k < keep->near[i].count; k++) {
            shv_near_offer(&to->near[i], keep->near[i].item[k].candidate,
                           keep->near[i].item[k].group);
        }
    }
    for (size_t i = 0; i < keep->rooms; i++) {
        offer_all(&to->room[i], &keep->room[i]);
    }
    offer_all(&to->serving, &keep->serving);
    return true;
}

void shv_keep_sort(struct shv_keep *keep)
{
    if (keep->served > 0) {
        shv_ranking_sort(&keep->serving);
    }
}

/* ---- as rows ---- */

/* Lists of kits for several fuels. */
static uint64_t serving_lists(const struct shv_keep *keep)
{
    return keep->served > 0 ? 1 + keep->served : 0;
}

/* The ranking of a list behind the fronts and the near. */
static struct shv_ranking *ranking_of(const struct shv_keep *keep, uint64_t list)
{
    uint64_t behind = list - keep->fronts - keep->nears, serving = serving_lists(keep);
    if (behind >= serving) {
        return &keep->room[behind - serving];
    }
    return behind == 0 ? (struct shv_ranking *)&keep->serving : &keep->of_served[behind - 1];
}

/* Lists in all. */
static uint64_t lists_of(const struct shv_keep *keep)
{
    return keep->fronts + keep->nears + serving_lists(keep) + keep->rooms;
}

/* A row of a list, by its place there. */
static struct shv_kept_row row_at(const struct shv_keep *keep, uint64_t list, size_t i)
{
    if (list < keep->fronts) {
        return (struct shv_kept_row){list, keep->front[list].point[i]};
    }
    const struct shv_candidate *c = list - keep->fronts < keep->nears
                                        ? &keep->near[list - keep->fronts].item[i].candidate
                                        : &ranking_of(keep, list)->item[i];
    return (struct shv_kept_row){list, {{c->objective}, c->index}};
}

static size_t rows_in(const struct shv_keep *keep, uint64_t list)
{
    if (list < keep->fronts) {
        return keep->front[list].count;
    }
    return list - keep->fronts < keep->nears ? keep->near[list - keep->fronts].count
                                             : ranking_of(keep, list)->count;
}

size_t shv_keep_count(const struct shv_keep *keep)
{
    size_t count = 0;
    for (uint64_t list = 0; list < lists_of(keep); list++) {
        count += rows_in(keep, list);
    }
    return count;
}

static int by_list_and_index(const void *a, const void *b)
{
    const struct shv_kept_row *x = a, *y = b;
    if (x->list != y->list) {
        return x->list < y->list ? -1 : 1;
    }
    return x->point.index < y->point.index ? -1 : x->point.index > y->point.index ? 1 : 0;
}

void shv_keep_rows(const struct shv_keep *keep, struct shv_kept_row *rows)
{
    size_t count = 0;
    for (uint64_t list = 0; list < lists_of(keep); list++) {
        for (size_t i = 0; i < rows_in(keep, list); i++) {
            rows[count++] = row_at(keep, list, i);
        }
    }
    qsort(rows, count, sizeof *rows, by_list_and_index);
}

bool shv_keep_take(struct shv_keep *keep, const struct shv_kept_row *row)
{
    const struct shv_candidate candidate = {row->point.value[0], row->point.index};
    if (row->list >= lists_of(keep)) {
        return false;
    }
    if (row->list < keep->fronts) {
        return shv_front_offer(&keep->front[row->list], &row->point);
    }
    if (row->list - keep->fronts < keep->nears) {
        shv_keep_near(keep, candidate);
    } else {
        shv_ranking_offer(ranking_of(keep, row->list), candidate);
    }
    return true;
}
