/* Kits over samples of the tolerances (sure.h). */
#include "certainty/sure.h"

#include <math.h>
#include <stdlib.h>

enum shv_status sure_begin(struct sure_plan *plan, const struct shv_model *model,
                           const struct shv_watch *watch, struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    const struct shv_tolerances *t = &study->tolerances;
    *plan = (struct sure_plan){.model = model, .tolerances = t, .watcher = {.watch = watch}};
    if (!t->given ||
        !correlated_init(&plan->correlated, t->of, t->correlations, t->correlation_count) ||
        plan->correlated.count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "the study has no tolerances");
    }
    plan->middle = *shv_model_corrections(model);
    plan->sampling = malloc(sizeof *plan->sampling);
    if (!plan->sampling) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the samples of tolerances");
    }
    sampling_init(plan->sampling, plan->correlated.count, t->seed);
    return SHV_OK;
}

void sure_end(struct sure_plan *plan)
{
    free(plan->sampling);
    plan->sampling = NULL;
}

void sure_corrections(const struct sure_plan *plan, size_t per_repetition, size_t sample,
                      struct shv_corrections *corrections)
{
    const struct correlated *c = &plan->correlated;
    double u[SAMPLING_DIMENSIONS], departure[SHV_CORRECTION_COUNT];
    sampling_point(plan->sampling, sample / per_repetition, (uint32_t)(sample % per_repetition), u);
    correlated_draw(c, plan->tolerances->of, u, departure);
    *corrections = plan->middle;
    for (size_t i = 0; i < c->count; i++) {
        corrections->value[c->which[i]] += departure[i];
    }
}

/* ---- what corrected models need of the tables ---- */

static void run_parallel(void *self, size_t count, void (*item)(void *data, size_t index),
                         void *data)
{
    (void)self;
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < count; i++) {
        item(data, i);
    }
}

/* Whether samples move what the engine draws, or its exhaust pressure. */
static bool moves_draught(const struct shv_tolerances *t)
{
    bool moves = false;
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        moves =
            moves || (t->of[i].given && shv_correction_info((enum shv_correction)i)->moves_draught);
    }
    return moves;
}

enum shv_status sure_ready(struct shv_model *model, const struct shv_kit *kits, size_t count,
                           struct shv_message *message)
{
    const struct shv_cycle_runner runner = {run_parallel, NULL};
    const struct shv_study *study = shv_model_study(model);
    enum shv_status status = SHV_OK;
    if (!moves_draught(&study->tolerances)) {
        return SHV_OK;
    }
    for (size_t i = 0; i < shv_model_table_count(model) && status == SHV_OK; i++) {
        struct shv_table_place place = shv_model_table_place(model, i);
        bool wanted = false;
        for (size_t k = 0; k < count; k++) {
            wanted =
                wanted || (kits[k].fuel == place.fuel &&
                           kits[k].lambda == study->numbers[SHV_DIM_LAMBDA].values[place.lambda]);
        }
        if (wanted) {
            status = shv_model_ready_shift(model, i, &runner, message);
        }
    }
    return status;
}

/* ---- evaluation ---- */

/* Kits that are evaluated side by side, since they share blower, fuel and kind of cooler. */
struct group {
    struct shv_kit kit[SURE_BLOCK];
    size_t place[SURE_BLOCK]; /* among all kits */
    size_t count;
};

struct sampler {
    struct sure_plan *plan;
    size_t count;
    struct sure_samples samples;
    struct group group[SURE_BLOCK];
    size_t groups;
    struct sure_outcome *outcome;
    size_t failed; /* the first sample without a model; as many as there are for none */
};

static bool same_group(const struct shv_study *study, const struct shv_kit *a,
                       const struct shv_kit *b)
{
    return a->blower == b->blower && a->fuel == b->fuel &&
           study->coolers[a->cooler].arrangement == study->coolers[b->cooler].arrangement;
}

static void find_groups(struct sampler *s, const struct shv_kit *kits)
{
    const struct shv_study *study = shv_model_study(s->plan->model);
    for (size_t k = 0; k < s->count; k++) {
        size_t i = 0;
        while (i < s->groups && !same_group(study, &s->group[i].kit[0], &kits[k])) {
            i++;
        }
        struct group *g = &s->group[i];
        s->groups += i == s->groups ? 1 : 0;
        g->place[g->count] = k;
        g->kit[g->count++] = kits[k];
    }
}

/* The model of the sample in a place of those that are looked at. */
static enum shv_status model_of(const struct sampler *s, size_t place, struct shv_model **model,
                                struct shv_message *message)
{
    struct shv_corrections corrections;
    sure_corrections(s->plan, s->plan->tolerances->samples / SAMPLING_REPETITIONS,
                     s->samples.which ? s->samples.which[place] : place, &corrections);
    return shv_model_correct(s->plan->model, &corrections, model, message);
}

static enum shv_status run_sample(const struct sampler *s, size_t sample, struct shv_lanes *lanes,
                                  struct shv_message *message)
{
    struct shv_model *model;
    enum shv_status status = model_of(s, sample, &model, message);
    for (size_t i = 0; i < s->groups && status == SHV_OK; i++) {
        const struct group *g = &s->group[i];
        struct shv_brief brief[SURE_BLOCK];
        shv_lanes_evaluate_kits(model, lanes, g->kit, g->count, brief);
        for (size_t k = 0; k < g->count; k++) {
            s->outcome[sample * s->count + g->place[k]] = (struct sure_outcome){
                brief[k].objective, brief[k].broken, brief[k].outcome == SHV_POINT_OK};
        }
    }
    shv_model_free(model);
    return status;
}

/* Each sample writes to its own places, so nothing depends on who does which. */
static bool run_all(struct sampler *s)
{
    bool room = true;
#pragma omp parallel
    {
        struct shv_lanes *lanes;
        bool mine = shv_lanes_create(s->plan->model, &lanes, NULL) == SHV_OK;
        if (!mine) {
#pragma omp critical(sure_room)
            room = false;
        } else {
            shv_lanes_only(lanes, s->samples.only);
        }
#pragma omp for schedule(dynamic, 4) nowait
        for (size_t i = 0; i < s->samples.count; i++) {
            if (!watcher_add(&s->plan->watcher, s->count) || !mine) {
                continue;
            }
            if (run_sample(s, i, lanes, NULL) != SHV_OK) {
#pragma omp critical(sure_failed)
                s->failed = i < s->failed ? i : s->failed;
            }
        }
        shv_lanes_free(lanes);
    }
    return room;
}

enum shv_status sure_sample(struct sure_plan *plan, const struct shv_kit *kits, size_t count,
                            struct sure_samples samples, struct sure_outcome *outcome,
                            struct shv_message *message)
{
    struct sampler *s = calloc(1, sizeof *s);
    if (!s) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the samples of tolerances");
    }
    *s = (struct sampler){.plan = plan,
                          .count = count,
                          .samples = samples,
                          .outcome = outcome,
                          .failed = samples.count};
    find_groups(s, kits);
    enum shv_status status = SHV_OK;
    if (!run_all(s)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the samples of tolerances");
    } else if (watcher_stopped(&plan->watcher)) {
        status = shv_fail(message, SHV_STOPPED, "stopped while tolerances were looked at");
    } else if (s->failed < samples.count) { /* once more, for its message */
        struct shv_model *model;
        status = model_of(s, s->failed, &model, message);
        shv_model_free(model);
    }
    free(s);
    return status;
}

bool sure_held(const struct sure_outcome *outcome, shv_limit_set limits)
{
    return outcome->answered && (outcome->broken & limits) == 0;
}

size_t sure_may_fail(const struct shv_tolerances *t)
{
    size_t fails = 0;
    while (fails < t->samples && (double)(t->samples - fails - 1) / (double)t->samples >= t->hold) {
        fails++;
    }
    return fails;
}

/* ---- estimates ---- */

struct shv_sampled sure_over_repetitions(const double mean[SAMPLING_REPETITIONS])
{
    double sum = 0.0, squares = 0.0;
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        sum += mean[r];
    }
    double all = sum / SAMPLING_REPETITIONS;
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        squares += (mean[r] - all) * (mean[r] - all);
    }
    return (struct shv_sampled){
        all, sqrt(squares / (SAMPLING_REPETITIONS * (SAMPLING_REPETITIONS - 1.0)))};
}

/* Chance that none of `bits` is broken (and, with `answered`, that there is an answer). Where all
 * samples agree, scatter says nothing: half the rule of three, 3/n being the 95 % bound of a chance
 * that did not show in n samples (Hanley and Lippman-Hand, JAMA 249 (1983) 1743). */
static struct shv_sampled chance(const struct sure_outcome *outcome, size_t stride, size_t samples,
                                 shv_limit_set bits, bool answered)
{
    double mean[SAMPLING_REPETITIONS];
    size_t each = samples / SAMPLING_REPETITIONS;
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        size_t good = 0;
        for (size_t i = 0; i < each; i++) {
            const struct sure_outcome *o = &outcome[(r * each + i) * stride];
            good += (o->broken & bits) == 0 && (o->answered || !answered);
        }
        mean[r] = (double)good / (double)each;
    }
    struct shv_sampled e = sure_over_repetitions(mean);
    e.error = fmax(e.error, e.value == 0.0 || e.value == 1.0 ? 1.5 / (double)samples : 0.0);
    return e;
}

static int ascending(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return *x < *y ? -1 : *x > *y;
}

/* Quantile of sorted values by linear interpolation of (i + 1/2)/n; NAN below the first answer. */
static double quantile(const double *sorted, size_t count, double share)
{
    double at = fmin(fmax(share * (double)count - 0.5, 0.0), (double)count - 1.0);
    size_t i = (size_t)at;
    size_t next = i + 1 < count ? i + 1 : i;
    double value = sorted[i] + (at - (double)i) * (sorted[next] - sorted[i]);
    return isfinite(value) ? value : NAN;
}

/* Values of a repetition or of all, those without an answer below any. */
static void sorted_values(const struct sure_outcome *outcome, size_t stride, size_t count,
                          double *value)
{
    for (size_t i = 0; i < count; i++) {
        double x = outcome[i * stride].objective;
        value[i] = isnan(x) ? -INFINITY : x;
    }
    qsort(value, count, sizeof *value, ascending);
}

static void percentiles(const struct sure_outcome *outcome, size_t stride, size_t samples,
                        double *room, struct shv_sure *row)
{
    static const double share[SHV_SURE_PERCENTILES] = {0.05, 0.50, 0.95};
    double each_of[SHV_SURE_PERCENTILES][SAMPLING_REPETITIONS];
    size_t each = samples / SAMPLING_REPETITIONS;
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        sorted_values(outcome + r * each * stride, stride, each, room);
        for (size_t k = 0; k < SHV_SURE_PERCENTILES; k++) {
            each_of[k][r] = quantile(room, each, share[k]);
        }
    }
    sorted_values(outcome, stride, samples, room);
    for (size_t k = 0; k < SHV_SURE_PERCENTILES; k++) {
        row->percentile[k] = sure_over_repetitions(each_of[k]);
        row->percentile[k].value = quantile(room, samples, share[k]);
    }
}

static void moments(const struct sure_outcome *outcome, size_t stride, size_t samples,
                    struct shv_sure *row)
{
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < samples; i++) {
        sum += outcome[i * stride].objective;
    }
    row->mean = sum / (double)samples;
    for (size_t i = 0; i < samples; i++) {
        double away = outcome[i * stride].objective - row->mean;
        squares += away * away;
    }
    row->deviation = sqrt(squares / ((double)samples - 1.0));
}

enum shv_status sure_estimate(const struct sure_outcome *outcome, size_t stride, size_t samples,
                              shv_limit_set set, struct shv_sure *row, struct shv_message *message)
{
    double *room = malloc(samples * sizeof *room);
    if (!room) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the samples of tolerances");
    }
    percentiles(outcome, stride, samples, room, row);
    free(room);
    moments(outcome, stride, samples, row);
    row->all = chance(outcome, stride, samples, ~(shv_limit_set)0, true);
    row->answer = chance(outcome, stride, samples, 0, true);
    row->fails_most = row->answer.value < 1.0 ? SHV_SURE_NO_ANSWER : -1;
    double least = row->answer.value;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        row->holds[k] = (struct shv_sampled){NAN, NAN};
        if (!(set & SHV_LIMIT_BIT(k))) {
            continue;
        }
        row->holds[k] = chance(outcome, stride, samples, SHV_LIMIT_BIT(k), false);
        if (row->holds[k].value < least) {
            least = row->holds[k].value;
            row->fails_most = k;
        }
    }
    return SHV_OK;
}
