/* Fronts as sorted arrays: sheave/front.h. */
#include "sheave/front.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void shv_front_init(struct shv_front *front, size_t dims)
{
    *front = (struct shv_front){.dims = dims};
}

void shv_front_free(struct shv_front *front)
{
    free(front->point);
    *front = (struct shv_front){.dims = front->dims};
}

/* The order in which points stand: a total one. */
static bool stands_before(const struct shv_front_point *a, const struct shv_front_point *b)
{
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        if (a->value[k] != b->value[k]) {
            return a->value[k] > b->value[k];
        }
    }
    return a->index < b->index;
}

/* No worse in anything. One of two that are alike in all values stands before the other and counts
 * as better. */
static bool covers(const struct shv_front_point *a, const struct shv_front_point *b)
{
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        if (a->value[k] < b->value[k]) {
            return false;
        }
    }
    return true;
}

/* First place whose point does not stand before this one. */
static size_t place_of(const struct shv_front *front, const struct shv_front_point *point)
{
    size_t low = 0, high = front->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (stands_before(&front->point[middle], point)) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static bool make_room(struct shv_front *front)
{
    if (front->count < front->room) {
        return true;
    }
    size_t room = 2 * front->room + 32;
    struct shv_front_point *point = realloc(front->point, room * sizeof *point);
    if (!point) {
        return false;
    }
    front->point = point;
    front->room = room;
    return true;
}

/* Only points that stand before can cover one, and it can cover only those behind. The nearest
 * before is the likeliest to, so it is asked first. */
bool shv_front_offer(struct shv_front *front, const struct shv_front_point *point)
{
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        if (isnan(point->value[k])) {
            return true;
        }
    }
    size_t place = place_of(front, point);
    for (size_t i = place; i > 0; i--) {
        if (covers(&front->point[i - 1], point)) {
            return true;
        }
    }
    if (!make_room(front)) {
        return false;
    }
    size_t kept = place;
    for (size_t i = place; i < front->count; i++) {
        if (!covers(point, &front->point[i])) {
            front->point[kept++] = front->point[i];
        }
    }
    memmove(&front->point[place + 1], &front->point[place], (kept - place) * sizeof *front->point);
    front->point[place] = *point;
    front->count = kept + 1;
    return true;
}

/* ---- measure ---- */

/* Steps of a staircase in the second and third value: widths fall, heights rise. */
struct staircase {
    size_t count;
    double *width, *height; /* above the reference */
};

static void stair_add(struct staircase *s, double width, double height)
{
    size_t at = 0;
    while (at < s->count && s->width[at] > width) {
        at++;
    }
    /* Covered by a step as wide or wider and no lower. */
    if ((at > 0 && s->height[at - 1] >= height) ||
        (at < s->count && s->width[at] == width && s->height[at] >= height)) {
        return;
    }
    size_t behind = at;
    while (behind < s->count && s->height[behind] <= height) {
        behind++;
    }
    size_t rest = s->count - behind;
    memmove(s->width + at + 1, s->width + behind, rest * sizeof *s->width);
    memmove(s->height + at + 1, s->height + behind, rest * sizeof *s->height);
    s->width[at] = width;
    s->height[at] = height;
    s->count = at + 1 + rest;
}

static double stair_area(const struct staircase *s)
{
    double area = 0.0, below = 0.0;
    for (size_t i = 0; i < s->count; i++) {
        area += s->width[i] * (s->height[i] - below);
        below = s->height[i];
    }
    return area;
}

/* What a point is above the reference; 1 where the front has no such value. False when it is not
 * above in all. */
static bool above(const struct shv_front *front, size_t i, const double *reference,
                  double rise[SHV_FRONT_DIMS])
{
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        rise[k] = k < front->dims ? front->point[i].value[k] - reference[k] : 1.0;
        if (!(rise[k] > 0.0)) {
            return false;
        }
    }
    return true;
}

enum shv_status shv_front_hypervolume(const struct shv_front *front,
                                      const double reference[SHV_FRONT_DIMS], double *volume,
                                      struct shv_message *message)
{
    size_t room = front->count + 1;
    struct staircase s = {.width = calloc(room, sizeof *s.width),
                          .height = calloc(room, sizeof *s.height)};
    *volume = 0.0;
    if (!s.width || !s.height) {
        free(s.width);
        free(s.height);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a hypervolume");
    }
    double top = 0.0; /* of the slab that the staircase stands for */
    for (size_t i = 0; i < front->count; i++) {
        double rise[SHV_FRONT_DIMS];
        if (!above(front, i, reference, rise)) {
            continue;
        }
        *volume += s.count > 0 ? (top - rise[0]) * stair_area(&s) : 0.0;
        top = rise[0];
        stair_add(&s, rise[1], rise[2]);
    }
    *volume += top * stair_area(&s);
    free(s.width);
    free(s.height);
    return SHV_OK;
}

void shv_front_range(const struct shv_front *front, double best[SHV_FRONT_DIMS],
                     double worst[SHV_FRONT_DIMS])
{
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        best[k] = worst[k] = NAN;
        for (size_t i = 0; i < front->count; i++) {
            best[k] = fmax(best[k], front->point[i].value[k]);
            worst[k] = fmin(worst[k], front->point[i].value[k]);
        }
    }
}
