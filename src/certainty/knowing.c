/* The worth of an observation (knowing.h), nested: what may come out, and for each of that what is
 * then left open, on the same lines every time. Tolerances count as normal with their standard
 * deviations, and are not cut. */
#include "certainty/knowing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What may come out: points for each repetition, every other the mirror of the one before, so that
 * what is straight in the outcome adds no scatter. */
#define OUTCOMES_EACH 2
#define OUTCOMES (SAMPLING_REPETITIONS * OUTCOMES_EACH)
/* Lines on which a probability is found. */
#define LINES_EACH 4
#define LINES (SAMPLING_REPETITIONS * LINES_EACH)
/* Sizes beyond the ends of a family that count as if they could be had: else what is known of next
 * to nothing would be worth much where the last one just holds. */
#define BEYOND 12.0
#define HALVINGS 24
/* What is less of a variance is rounding. */
#define LEAST_VARIANCE 1e-12

#define MOST SHV_CORRECTION_COUNT

/* Normal scores of the tolerances, before or after observations: middle, covariance, and its root.
 */
struct belief {
    size_t count;
    double middle[MOST], matrix[MOST][MOST], root[MOST][MOST];
};

struct asking {
    const struct sure_plan *plan;
    const struct knowing_family *family;
    size_t families;
    double hold;
    double normal[LINES][MOST]; /* independent */
    struct belief before;
};

/* A choice: the place in a family from which on kits hold; `families` for none. */
struct choice {
    size_t family;
    double place, value;
    double stay; /* value of what was chosen before */
};

/* ---- beliefs ---- */

/* Cholesky's lower triangle of a matrix that may lack rank. */
static void take_root(struct belief *b)
{
    double(*root)[MOST] = b->root;
    for (size_t k = 0; k < b->count; k++) {
        double pivot = b->matrix[k][k];
        for (size_t j = 0; j < k; j++) {
            pivot -= root[k][j] * root[k][j];
        }
        bool open = pivot > LEAST_VARIANCE;
        for (size_t i = k; i < b->count; i++) {
            double sum = b->matrix[i][k];
            for (size_t j = 0; j < k; j++) {
                sum -= root[i][j] * root[k][j];
            }
            root[i][k] = open ? sum / sqrt(pivot) : 0.0;
        }
    }
}

static struct belief first_belief(const struct sure_plan *plan)
{
    struct belief b = {.count = plan->correlated.count};
    memcpy(b.matrix, plan->correlated.matrix, sizeof b.matrix);
    take_root(&b);
    return b;
}

/* An observation's weights on the normal scores, as if all tolerances were normal. */
static void weights_of(const struct sure_plan *plan, const struct knowing_observation *o,
                       double weight[MOST])
{
    for (size_t i = 0; i < plan->correlated.count; i++) {
        enum shv_correction which = plan->correlated.which[i];
        weight[i] = o->weight[which] * shv_tolerance_deviation(&plan->tolerances->of[which]);
    }
}

/* Conditions on an observation that comes out `score` of its standard deviations above what was
 * expected (the update of Kalman, J. Basic Eng. 82 (1960) 35). */
static void observe(struct belief *b, const double weight[MOST], double error, double score)
{
    double with[MOST], variance = error * error;
    for (size_t i = 0; i < b->count; i++) {
        with[i] = 0.0;
        for (size_t k = 0; k < b->count; k++) {
            with[i] += b->matrix[i][k] * weight[k];
        }
    }
    for (size_t i = 0; i < b->count; i++) {
        variance += weight[i] * with[i];
    }
    if (!(variance > 0.0)) {
        return;
    }
    for (size_t i = 0; i < b->count; i++) {
        b->middle[i] += with[i] * score / sqrt(variance);
        for (size_t k = 0; k < b->count; k++) {
            b->matrix[i][k] -= with[i] * with[k] / variance;
        }
    }
}

/* ---- a choice ---- */

static double dot(const double *a, const double *b, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* Margins as functions of independent normal numbers. */
struct limit_state {
    size_t limits;
    double middle[SHV_LIMIT_COUNT], slope[SHV_LIMIT_COUNT][MOST];
};

/* The kit before a place that has one behind it. */
static size_t kit_before(const struct knowing_family *f, double place)
{
    size_t i = place > 0.0 ? (size_t)place : 0;
    return i + 2 < f->kits ? i : f->kits > 1 ? f->kits - 2 : 0;
}

/* Between two kits, and beyond the last ones, by straight lines. */
static void state_at(const struct belief *b, const struct knowing_family *f, double place,
                     struct limit_state *state)
{
    size_t i = kit_before(f, place), next = i + 1 < f->kits ? i + 1 : i;
    double share = place - (double)i, slope[MOST];
    const struct knowing_response *x = &f->kit[i], *y = &f->kit[next];
    state->limits = f->limits;
    for (size_t k = 0; k < f->limits; k++) {
        for (size_t d = 0; d < b->count; d++) {
            slope[d] =
                x->margin_slope[k][d] + share * (y->margin_slope[k][d] - x->margin_slope[k][d]);
        }
        state->middle[k] =
            x->margin[k] + share * (y->margin[k] - x->margin[k]) + dot(slope, b->middle, b->count);
        for (size_t d = 0; d < b->count; d++) {
            state->slope[k][d] = 0.0;
            for (size_t e = d; e < b->count; e++) {
                state->slope[k][d] += b->root[e][d] * slope[e];
            }
        }
    }
}

/* The direction in which the limit that is nearest in standard deviations goes. */
static bool direction_of(const struct limit_state *state, size_t count, double direction[MOST])
{
    double nearest = INFINITY, size = 0.0;
    const double *slope = NULL;
    for (size_t k = 0; k < state->limits; k++) {
        double reach = sqrt(dot(state->slope[k], state->slope[k], count));
        if (reach > 0.0 && state->middle[k] / reach < nearest) {
            nearest = state->middle[k] / reach;
            slope = state->slope[k];
            size = reach;
        }
    }
    for (size_t d = 0; d < count && slope; d++) {
        direction[d] = slope[d] / size;
    }
    return slope;
}

/* The probability on a line through a sample: between the ends where all margins are above 0. */
static double share_of_line(const struct limit_state *state, const double direction[MOST],
                            const double normal[MOST], size_t count)
{
    double along = dot(direction, normal, count), low = -INFINITY, high = INFINITY;
    for (size_t k = 0; k < state->limits; k++) {
        double rate = dot(state->slope[k], direction, count);
        double foot = state->middle[k] + dot(state->slope[k], normal, count) - rate * along;
        if (rate > 0.0) {
            low = fmax(low, -foot / rate);
        } else if (rate < 0.0) {
            high = fmin(high, -foot / rate);
        } else if (foot < 0.0) {
            return 0.0;
        }
    }
    return fmax(normal_share(high) - normal_share(low), 0.0);
}

/* The probability that all margins are above 0: by line sampling (Koutsourelakis, Pradlwarter and
 * Schueller, Probabilistic Eng. Mechanics 19 (2004) 409), exact for one limit. */
static double share_held(const struct asking *a, const struct belief *b,
                         const struct knowing_family *f, double place)
{
    struct limit_state state;
    double direction[MOST], sum = 0.0;
    state_at(b, f, place, &state);
    if (!direction_of(&state, b->count, direction)) {
        bool good = true; /* nothing is open */
        for (size_t k = 0; k < state.limits; k++) {
            good = good && state.middle[k] >= 0.0;
        }
        return good ? 1.0 : 0.0;
    }
    for (size_t s = 0; s < LINES; s++) {
        sum += share_of_line(&state, direction, a->normal[s], b->count);
    }
    return sum / LINES;
}

static double value_at(const struct belief *b, const struct knowing_family *f, double place)
{
    size_t i = kit_before(f, place), next = i + 1 < f->kits ? i + 1 : i;
    double first = f->kit[i].value + dot(f->kit[i].value_slope, b->middle, b->count);
    double second = f->kit[next].value + dot(f->kit[next].value_slope, b->middle, b->count);
    return first + (place - (double)i) * (second - first);
}

/* The ends of the places that are looked at. */
static double beyond(const struct knowing_family *f)
{
    return f->kits > 1 ? BEYOND : 0.0;
}

/* The last place that has at least this value. */
static double place_of_value(const struct belief *b, const struct knowing_family *f, double value)
{
    double more = -beyond(f), less = (double)(f->kits - 1) + beyond(f);
    if (value_at(b, f, less) >= value) {
        return less;
    }
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (more + less);
        *(value_at(b, f, middle) >= value ? &more : &less) = middle;
    }
    return more;
}

/* The place from which on kits hold; INFINITY for none that has at least this value. */
static double place_of(const struct asking *a, const struct belief *b,
                       const struct knowing_family *f, double value)
{
    double fails = -beyond(f), good = place_of_value(b, f, value);
    if (share_held(a, b, f, good) < a->hold) {
        return INFINITY;
    }
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (fails + good);
        *(share_held(a, b, f, middle) >= a->hold ? &good : &fails) = middle;
    }
    return good;
}

/* The best place that holds; where there is none, the least value of all. */
static struct choice choose(const struct asking *a, const struct belief *b,
                            const struct choice *before)
{
    struct choice best = {.family = a->families, .value = -INFINITY, .stay = NAN};
    double least = INFINITY;
    for (size_t i = 0; i < a->families; i++) {
        const struct knowing_family *f = &a->family[i];
        double place = place_of(a, b, f, best.value);
        double value = isfinite(place) ? value_at(b, f, place) : -INFINITY;
        least = fmin(least, value_at(b, f, (double)(f->kits - 1)));
        if (before && before->family == i) {
            best.stay = value_at(b, f, before->place);
        }
        if (value > best.value) {
            best.family = i;
            best.place = place;
            best.value = value;
        }
    }
    best.value = best.family < a->families ? best.value : least;
    return best;
}

/* ---- what may come out ---- */

static void begin(struct asking *a)
{
    a->hold = a->plan->tolerances->hold;
    a->before = first_belief(a->plan);
    for (size_t s = 0; s < LINES; s++) {
        double u[SAMPLING_DIMENSIONS];
        sampling_point(a->plan->sampling, s / LINES_EACH, (uint32_t)(s % LINES_EACH), u);
        for (size_t i = 0; i < a->before.count; i++) {
            a->normal[s][i] = normal_quantile(u[i]);
        }
    }
}

/* What is believed after one of the outcomes: a point of the unit cube for each. */
static struct belief belief_after(const struct asking *a,
                                  const struct knowing_observation *observation,
                                  size_t observations, const struct sampling *points,
                                  size_t outcome)
{
    struct belief b = a->before;
    double u[SAMPLING_DIMENSIONS], weight[MOST];
    sampling_point(points, outcome / OUTCOMES_EACH, (uint32_t)(outcome % OUTCOMES_EACH / 2), u);
    for (size_t i = 0; i < observations; i++) {
        weights_of(a->plan, &observation[i], weight);
        observe(&b, weight, observation[i].error,
                (outcome % 2 == 0 ? 1.0 : -1.0) * normal_quantile(u[i]));
    }
    take_root(&b);
    return b;
}

/* Against the kit chosen before in the same outcome: its mean over all of them is what it was. */
static struct knowing_worth worth_of(const struct choice choice[OUTCOMES],
                                     const struct choice *before)
{
    double mean[SAMPLING_REPETITIONS] = {0.0};
    struct knowing_worth worth = {.changes = 0.0};
    for (size_t i = 0; i < OUTCOMES; i++) {
        bool other =
            choice[i].family != before->family || round(choice[i].place) != round(before->place);
        mean[i / OUTCOMES_EACH] += (choice[i].value - choice[i].stay) / OUTCOMES_EACH;
        worth.changes += other ? 1.0 / OUTCOMES : 0.0;
    }
    worth.gain = sure_over_repetitions(mean);
    return worth;
}

bool knowing_find(const struct sure_plan *plan, const struct knowing_family *family,
                  size_t families, const struct knowing_observation *observation,
                  size_t observations, struct knowing_worth *worth)
{
    struct asking *a = malloc(sizeof *a);
    struct sampling *points = malloc(sizeof *points);
    struct choice choice[OUTCOMES];
    bool room = a && points;
    *worth = (struct knowing_worth){{NAN, NAN}, NAN};
    if (room) {
        *a = (struct asking){.plan = plan, .family = family, .families = families};
        begin(a);
        sampling_init(points, observations, plan->tolerances->seed + 1);
        const struct choice before = choose(a, &a->before, NULL);
        /* Each outcome writes to its own place. */
#pragma omp parallel for schedule(dynamic, 1)
        for (size_t i = 0; i < OUTCOMES; i++) {
            const struct belief b = belief_after(a, observation, observations, points, i);
            choice[i] = choose(a, &b, &before);
        }
        if (before.family < families) {
            *worth = worth_of(choice, &before);
        }
    }
    free(points);
    free(a);
    return room;
}
