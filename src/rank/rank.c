/* A bounded ranking kept as a heap whose root is the worst candidate still in. */
#include "sheave/rank.h"

#include <stdlib.h>

enum shv_status shv_ranking_init(struct shv_ranking *ranking, size_t capacity,
                                 struct shv_message *message)
{
    *ranking = (struct shv_ranking){.capacity = capacity};
    ranking->item = calloc(capacity > 0 ? capacity : 1, sizeof *ranking->item);
    if (!ranking->item) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a ranking of %zu rows",
                        capacity);
    }
    return SHV_OK;
}

enum shv_status shv_ranking_append(struct shv_ranking *ranking, struct shv_candidate candidate,
                                   struct shv_message *message)
{
    struct shv_candidate *item =
        realloc(ranking->item, (ranking->count + 1) * sizeof *ranking->item);
    if (!item) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for one more row of a ranking");
    }
    ranking->item = item;
    item[ranking->count++] = candidate;
    if (ranking->capacity < ranking->count) {
        ranking->capacity = ranking->count;
    }
    return SHV_OK;
}

void shv_ranking_free(struct shv_ranking *ranking)
{
    free(ranking->item);
    *ranking = (struct shv_ranking){0};
}

bool shv_candidate_before(const struct shv_candidate *a, const struct shv_candidate *b)
{
    if (a->objective != b->objective) {
        return a->objective > b->objective;
    }
    return a->index < b->index;
}

static void swap(struct shv_candidate *a, struct shv_candidate *b)
{
    struct shv_candidate c = *a;
    *a = *b;
    *b = c;
}

static void sift_up(struct shv_candidate *item, size_t i)
{
    while (i > 0) {
        size_t parent = (i - 1) / 2;
        if (!shv_candidate_before(&item[parent], &item[i])) {
            return;
        }
        swap(&item[parent], &item[i]);
        i = parent;
    }
}

static void sift_down(struct shv_candidate *item, size_t count, size_t i)
{
    for (;;) {
        size_t worst = i;
        for (size_t child = 2 * i + 1; child <= 2 * i + 2 && child < count; child++) {
            if (shv_candidate_before(&item[worst], &item[child])) {
                worst = child;
            }
        }
        if (worst == i) {
            return;
        }
        swap(&item[worst], &item[i]);
        i = worst;
    }
}

void shv_ranking_offer(struct shv_ranking *ranking, struct shv_candidate candidate)
{
    if (ranking->capacity == 0) {
        return;
    }
    if (ranking->count < ranking->capacity) {
        ranking->item[ranking->count] = candidate;
        sift_up(ranking->item, ranking->count++);
        return;
    }
    if (shv_candidate_before(&candidate, &ranking->item[0])) {
        ranking->item[0] = candidate;
        sift_down(ranking->item, ranking->count, 0);
    }
}

static int compare(const void *a, const void *b)
{
    const struct shv_candidate *x = a, *y = b;
    if (shv_candidate_before(x, y)) {
        return -1;
    }
    return shv_candidate_before(y, x) ? 1 : 0;
}

void shv_ranking_sort(struct shv_ranking *ranking)
{
    if (ranking->count > 1) {
        qsort(ranking->item, ranking->count, sizeof *ranking->item, compare);
    }
}
