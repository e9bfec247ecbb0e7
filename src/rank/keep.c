/* Fronts and kits for several fuels: sheave/keep.h. */
#include "sheave/keep.h"

#include <stdlib.h>

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
    free(keep->front);
    free(keep->of_served);
    shv_ranking_free(&keep->serving);
    *keep = (struct shv_keep){0};
}

bool shv_keep_wanted(const struct shv_keep *keep)
{
    return keep->fronts > 0 || keep->served > 0;
}

void shv_keep_clear(struct shv_keep *keep)
{
    for (size_t i = 0; i < keep->fronts; i++) {
        keep->front[i].count = 0;
    }
    for (size_t i = 0; i < keep->served; i++) {
        keep->of_served[i].count = 0;
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

/* The ranking of a list behind the fronts; NULL when there is none. */
static struct shv_ranking *ranking_of(const struct shv_keep *keep, uint64_t list)
{
    uint64_t behind = list - keep->fronts;
    if (behind == 0) {
        return (struct shv_ranking *)&keep->serving;
    }
    return behind - 1 < keep->served ? &keep->of_served[behind - 1] : NULL;
}

/* Lists in all. */
static uint64_t lists_of(const struct shv_keep *keep)
{
    return keep->fronts + (keep->served > 0 ? 1 + keep->served : 0);
}

size_t shv_keep_count(const struct shv_keep *keep)
{
    size_t count = 0;
    for (uint64_t list = 0; list < lists_of(keep); list++) {
        count += list < keep->fronts ? keep->front[list].count : ranking_of(keep, list)->count;
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
        const struct shv_front *front = list < keep->fronts ? &keep->front[list] : NULL;
        const struct shv_ranking *ranking = front ? NULL : ranking_of(keep, list);
        for (size_t i = 0; front && i < front->count; i++) {
            rows[count++] = (struct shv_kept_row){list, front->point[i]};
        }
        for (size_t i = 0; ranking && i < ranking->count; i++) {
            const struct shv_candidate *c = &ranking->item[i];
            rows[count++] = (struct shv_kept_row){list, {{c->objective}, c->index}};
        }
    }
    qsort(rows, count, sizeof *rows, by_list_and_index);
}

bool shv_keep_take(struct shv_keep *keep, const struct shv_kept_row *row)
{
    if (row->list >= lists_of(keep)) {
        return false;
    }
    if (row->list < keep->fronts) {
        return shv_front_offer(&keep->front[row->list], &row->point);
    }
    shv_ranking_offer(ranking_of(keep, row->list),
                      (struct shv_candidate){row->point.value[0], row->point.index});
    return true;
}
