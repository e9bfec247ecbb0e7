/* Knock-limited phasings from a few known ones: cycle_root.h. */
#include "model/cylinder/cycle_root.h"

#define TRIES_MOST 60
/* One try in so many halves the bracket, whatever the interpolation says. */
#define HALVED_EVERY 5

struct cycle_root_point cycle_root_point_of(const struct shv_cycle_knock *knock,
                                            const struct cycle_task *t)
{
    double gap = t->answered ? cycle_knock_gap(knock, t->knock_integral) : NAN;
    return (struct cycle_root_point){t->ca50, gap, t->residual, t->residual_slope};
}

static void insert(struct cycle_root_point *points, size_t count, const struct cycle_root_point *p)
{
    size_t i = count;
    for (; i > 0 && points[i - 1].ca50 > p->ca50; i--) {
        points[i] = points[i - 1];
    }
    points[i] = *p;
}

#define START_MOST ((size_t)12)

bool cycle_root_start(struct cycle_root *root, const struct cycle_root_point *points, size_t count)
{
    struct cycle_root_point sorted[START_MOST];
    *root = (struct cycle_root){.count = 0};
    count = count < START_MOST ? count : START_MOST;
    for (size_t i = 0; i < count; i++) {
        insert(sorted, i, &points[i]);
    }
    size_t at = 0;
    while (at + 1 < count && !(sorted[at].gap > 0.0 && sorted[at + 1].gap <= 0.0)) {
        at++;
    }
    if (at + 1 >= count) {
        return false;
    }
    /* Half of the points on each side of the bracket, as far as there are. */
    size_t half = CYCLE_ROOT_POINTS / 2;
    size_t first = at + 1 > half ? at + 1 - half : 0;
    size_t last = first + CYCLE_ROOT_POINTS < count ? first + CYCLE_ROOT_POINTS : count;
    first = last > CYCLE_ROOT_POINTS ? last - CYCLE_ROOT_POINTS : 0;
    for (size_t i = first; i < last; i++) {
        root->p[root->count++] = sorted[i];
    }
    root->at = at - first;
    return true;
}

/* The points next to the bracket between which the gap falls all the way. */
static void falling(const struct cycle_root *r, size_t *first, size_t *last)
{
    *first = r->at;
    *last = r->at + 1;
    while (*first > 0 && r->p[*first - 1].gap > r->p[*first].gap) {
        --*first;
    }
    while (*last + 1 < r->count && r->p[*last + 1].gap < r->p[*last].gap) {
        ++*last;
    }
}

/* Neville's scheme at gap 0. */
static double at_zero(const struct cycle_root_point *p, double *value, size_t count)
{
    for (size_t k = 1; k < count; k++) {
        for (size_t i = 0; i + k < count; i++) {
            value[i] =
                (value[i + 1] * p[i].gap - value[i] * p[i + k].gap) / (p[i].gap - p[i + k].gap);
        }
    }
    return value[0];
}

struct cycle_root_point cycle_root_next(const struct cycle_root *r)
{
    const struct cycle_root_point *a = &r->p[r->at], *b = a + 1;
    if (b->gap == 0.0) { /* rounding could put it outside */
        return *b;
    }
    size_t first, last;
    double ca50[CYCLE_ROOT_POINTS] = {0.0}, residual[CYCLE_ROOT_POINTS] = {0.0};
    falling(r, &first, &last);
    for (size_t i = first; i <= last; i++) {
        ca50[i - first] = r->p[i].ca50;
        residual[i - first] = r->p[i].residual;
    }
    size_t count = last - first + 1;
    struct cycle_root_point next = {.ca50 = at_zero(&r->p[first], ca50, count),
                                    .residual = at_zero(&r->p[first], residual, count),
                                    .slope = b->slope};
    bool halve = r->tries % HALVED_EVERY == HALVED_EVERY - 1;
    if (halve || !(next.ca50 > a->ca50 && next.ca50 <= b->ca50)) {
        next.ca50 = 0.5 * (a->ca50 + b->ca50);
        next.residual = 0.5 * (a->residual + b->residual);
    }
    return next;
}

void cycle_root_add(struct cycle_root *r, const struct cycle_root_point *point)
{
    r->tries++;
    if (r->count == CYCLE_ROOT_POINTS) { /* the end farther from the bracket goes */
        bool low = r->at > r->count - 2 - r->at;
        r->at -= low ? 1 : 0;
        r->count--;
        for (size_t i = 0; low && i < r->count; i++) {
            r->p[i] = r->p[i + 1];
        }
    }
    insert(r->p, r->count++, point);
    /* It stands after p[at]; the bracket's begin moves to it when it knocks. */
    r->at += point->gap > 0.0 ? 1 : 0;
}

bool cycle_root_goes_on(const struct cycle_root *r)
{
    return r->tries < TRIES_MOST;
}
