/* How sure the best kits are (sheave/tolerance.h). */
#include "sheave/tolerance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "certainty/sure.h"
#include "certainty/hangs.h"
#include "certainty/sure_effects.h"

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

/* Whether samples move the exhaust pressure. */
static bool moves_exhaust(const struct shv_tolerances *t)
{
    return t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY].given ||
           t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY_TILT].given ||
           t->of[SHV_CORRECT_EXHAUST_LOSS].given || t->of[SHV_CORRECT_AMBIENT_PRESSURE].given;
}

static enum shv_status ready_tables(struct shv_model *model, const struct shv_kit *kits,
                                    size_t count, struct shv_message *message)
{
    const struct shv_cycle_runner runner = {run_parallel, NULL};
    const struct shv_study *study = shv_model_study(model);
    enum shv_status status = SHV_OK;
    if (!moves_exhaust(&study->tolerances)) {
        return SHV_OK;
    }
    for (size_t i = 0; i < shv_model_table_count(model) && status == SHV_OK; i++) {
        struct shv_table_place place = shv_model_table_place(model, i);
        bool wanted = false;
        for (size_t k = 0; k < count; k++) {
            wanted = wanted ||
                     (kits[k].fuel == place.fuel && kits[k].lambda == study->lambdas[place.lambda]);
        }
        if (wanted) {
            status = shv_model_ready_shift(model, i, &runner, message);
        }
    }
    return status;
}

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
    enum shv_status status = sure_effects(plan, count, rows, set, message);
    if (status == SHV_OK) {
        status = sure_sample(plan, kits, count, samples, outcome, message);
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
    enum shv_status status = ready_tables(model, kits, count, message);
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

/* ---- backing off ---- */

/* Samples of the first look at a kit; the last look takes all. */
#define QUICK 256
#define LOOKS 4

/* A real kit to back off from: all of its choices but the blower pulley stay. */
struct start {
    uint64_t choice[SHV_DIM_COUNT];
    double objective;
};

struct swap_search {
    struct shv_model *model;
    const struct shv_space *space;
    struct sure_plan *plan;
    struct shv_sure_list *list;
    struct shv_curves curves;
    struct sure_outcome *outcome; /* of one kit */
    double best;                  /* highest objective of a kit that holds, -INFINITY for none */
    size_t room;                  /* rows of the list */
};

static void kit_at(const struct swap_search *s, const struct start *start, uint64_t pulley,
                   uint64_t *index, struct shv_kit *kit)
{
    struct start there = *start;
    there.choice[SHV_DIM_BLOWER_PULLEY] = pulley;
    *index = shv_space_join(s->space, there.choice);
    shv_space_kit(s->space, shv_model_study(s->model), *index, kit);
}

static double nominal_at(struct swap_search *s, const struct start *start, uint64_t pulley)
{
    struct shv_kit kit;
    uint64_t index;
    kit_at(s, start, pulley, &index, &kit);
    shv_model_evaluate(s->model, &kit, &s->curves);
    s->list->tried++;
    return s->curves.verdict.objective;
}

/* Share of few samples in which a kit holds everything. */
static enum shv_status quick_look(struct swap_search *s, const struct start *start, uint64_t pulley,
                                  bool *holds, struct shv_message *message)
{
    size_t samples = s->plan->tolerances->samples < QUICK ? s->plan->tolerances->samples : QUICK;
    size_t good = 0;
    struct shv_kit kit;
    uint64_t index;
    kit_at(s, start, pulley, &index, &kit);
    enum shv_status status = ready_tables(s->model, &kit, 1, message);
    if (status == SHV_OK) {
        status = sure_sample(s->plan, &kit, 1, samples, s->outcome, message);
    }
    for (size_t i = 0; i < samples && status == SHV_OK; i++) {
        good += s->outcome[i].answered && s->outcome[i].broken == 0;
    }
    s->list->tried++;
    *holds = (double)good >= s->plan->tolerances->hold * (double)samples;
    return status;
}

/* All samples; a kit that holds joins the list. */
static enum shv_status full_look(struct swap_search *s, const struct start *start, uint64_t pulley,
                                 bool *holds, struct shv_message *message)
{
    struct shv_sure *row = &s->list->row[s->list->count];
    struct shv_kit kit;
    kit_at(s, start, pulley, &row->index, &kit);
    enum shv_status status = look_at(s->model, s->plan, &kit, 1, row, message);
    s->list->tried++;
    *holds = status == SHV_OK && row->is_sure;
    if (*holds && row->nominal > s->best) {
        row->kind = SHV_SURE_BACKED;
        s->best = row->nominal;
        s->list->count++;
    }
    return status;
}

/* The smallest blower pulley from `low` on that holds by quick looks, if `high` does: larger ones
 * turn the rotors slower. */
static enum shv_status bisect(struct swap_search *s, const struct start *start, uint64_t low,
                              uint64_t high, uint64_t *found, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    while (low < high && status == SHV_OK) {
        bool holds;
        uint64_t middle = low + (high - low) / 2;
        status = quick_look(s, start, middle, &holds, message);
        if (holds) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    *found = high;
    return status;
}

/* Backs off from a start as far as is needed and no further than pays: a kit that holds is of use
 * only when its objective beats the best so far. */
static enum shv_status back_off(struct swap_search *s, const struct start *start,
                                struct shv_message *message)
{
    uint64_t first = start->choice[SHV_DIM_BLOWER_PULLEY];
    uint64_t last = first, count = s->space->count[SHV_DIM_BLOWER_PULLEY], pulley;
    bool holds = false;
    enum shv_status status = SHV_OK;
    if (!(start->objective > s->best) || s->list->count == s->room) {
        return SHV_OK;
    }
    s->list->families++;
    while (last + 1 < count && nominal_at(s, start, last + 1) > s->best) {
        last++;
    }
    status = quick_look(s, start, last, &holds, message);
    if (status != SHV_OK || !holds) {
        return status;
    }
    status = bisect(s, start, first, last, &pulley, message);
    /* A quick look may err by a pulley or two: all samples decide, from one smaller on. */
    pulley -= pulley > first ? 1 : 0;
    for (holds = false; pulley <= last && !holds && status == SHV_OK; pulley++) {
        status = full_look(s, start, pulley, &holds, message);
    }
    return status;
}

static bool same_family(const struct start *a, const struct start *b)
{
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        if (d != SHV_DIM_BLOWER_PULLEY && a->choice[d] != b->choice[d]) {
            return false;
        }
    }
    return true;
}

/* Adds a start and its like with the most ribs; of a family the start with the smallest pulley. */
static void add_start(const struct shv_space *space, uint64_t index, double objective,
                      struct start *starts, size_t *count)
{
    for (int sturdy = 0; sturdy < 2; sturdy++) {
        struct start new = {.objective = objective};
        shv_space_split(space, index, new.choice);
        if (sturdy) {
            new.choice[SHV_DIM_RIBS] = space->count[SHV_DIM_RIBS] - 1;
        }
        size_t i = 0;
        while (i < *count && !same_family(&starts[i], &new)) {
            i++;
        }
        if (i == *count) {
            starts[(*count)++] = new;
        } else if (new.choice[SHV_DIM_BLOWER_PULLEY] < starts[i].choice[SHV_DIM_BLOWER_PULLEY]) {
            starts[i] = new;
        }
    }
}

/* Best first; of equals the order of the choices, so that it is the same everywhere. */
static int before(const void *a, const void *b)
{
    const struct start *x = a, *y = b;
    if (x->objective != y->objective) {
        return x->objective > y->objective ? -1 : 1;
    }
    return memcmp(x->choice, y->choice, sizeof x->choice);
}

static int higher_first(const void *a, const void *b)
{
    const struct shv_sure *x = a, *y = b;
    return x->nominal > y->nominal ? -1 : x->nominal < y->nominal;
}

static enum shv_status back_off_all(struct swap_search *s, const struct shv_ranking *ranking,
                                    const struct shv_optimum *optima, size_t optimum_count,
                                    size_t ranked, struct start *starts,
                                    struct shv_message *message)
{
    size_t count = 0, first = s->list->count;
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < ranked; i++) {
        add_start(s->space, ranking->item[i].index, ranking->item[i].objective, starts, &count);
    }
    for (size_t i = 0; i < optimum_count; i++) {
        if (optima[i].real_found) {
            add_start(s->space, optima[i].real_index, optima[i].real_objective, starts, &count);
        }
    }
    qsort(starts, count, sizeof *starts, before);
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = back_off(s, &starts[i], message);
    }
    qsort(s->list->row + first, s->list->count - first, sizeof *s->list->row, higher_first);
    for (size_t i = first; i < s->list->count; i++) {
        s->list->row[i].rank = i - first + 1;
    }
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

static enum shv_status find_sure(struct swap_search *s, const struct shv_ranking *ranking,
                                 const struct shv_optimum *optima, size_t optimum_count,
                                 size_t ranked, struct shv_message *message)
{
    struct start *starts = calloc(2 * (ranked + optimum_count) + 1, sizeof *starts);
    s->outcome = calloc(QUICK, sizeof *s->outcome);
    enum shv_status status = shv_curves_init(&s->curves, s->model, message);
    find_best(s->list);
    s->best = s->list->best < s->list->count ? s->list->row[s->list->best].nominal : -INFINITY;
    if (!starts || !s->outcome) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of sure kits");
    } else if (status == SHV_OK) {
        status = back_off_all(s, ranking, optima, optimum_count, ranked, starts, message);
    }
    find_best(s->list);
    shv_curves_free(&s->curves);
    free(s->outcome);
    free(starts);
    return status;
}

/* ---- all of it ---- */

static size_t list_kits(struct swap_search *s, const struct shv_ranking *ranking,
                        const struct shv_optimum *optima, size_t optimum_count, size_t ranked,
                        struct shv_kit *kits)
{
    size_t count = 0;
    for (size_t i = 0; i < ranked; i++, count++) {
        struct shv_sure *row = &s->list->row[count];
        row->kind = SHV_SURE_RANKED;
        row->rank = i + 1;
        row->index = ranking->item[i].index;
        shv_space_kit(s->space, shv_model_study(s->model), row->index, &kits[count]);
    }
    for (size_t i = 0; i < optimum_count; i++) {
        if (optima[i].found) {
            struct shv_sure *row = &s->list->row[count];
            row->kind = SHV_SURE_OPTIMUM;
            row->rank = i + 1;
            row->index = UINT64_MAX;
            kits[count++] = optima[i].ideal;
        }
    }
    return count;
}

static enum shv_status search_all(struct swap_search *s, const struct shv_ranking *ranking,
                                  const struct shv_optimum *optima, size_t optimum_count,
                                  struct shv_message *message)
{
    size_t most = s->plan->tolerances->rows;
    size_t ranked = ranking->count < most ? ranking->count : most;
    size_t listed = ranked + optimum_count;
    s->room = listed + 2 * listed;
    s->list->row = calloc(s->room + 1, sizeof *s->list->row);
    struct shv_kit *kits = calloc(listed + 1, sizeof *kits);
    enum shv_status status = SHV_OK;
    if (!s->list->row || !kits) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the list of sure kits");
    } else {
        size_t count = list_kits(s, ranking, optima, optimum_count, ranked, kits);
        /* How far kits have to back off is not known before: LOOKS quick ones each, about. */
        s->plan->watcher.total = count * s->plan->tolerances->samples +
                                 (isnan(s->plan->tolerances->hold) ? 0 : count * LOOKS * QUICK);
        status = look_at(s->model, s->plan, kits, count, s->list->row, message);
        s->list->count = count;
    }
    free(kits);
    s->list->asked = !isnan(s->plan->tolerances->hold);
    if (status == SHV_OK && s->list->asked) {
        status = find_sure(s, ranking, optima, optimum_count, ranked, message);
    }
    return status;
}

enum shv_status shv_sure_search(struct shv_model *model, const struct shv_space *space,
                                const struct shv_ranking *ranking, const struct shv_optimum *optima,
                                size_t optimum_count, const struct shv_watch *watch,
                                struct shv_sure_list *list, struct shv_message *message)
{
    struct sure_plan plan;
    *list = (struct shv_sure_list){.row = NULL};
    if (!shv_model_study(model)->tolerances.given) {
        return SHV_OK;
    }
    enum shv_status status = sure_begin(&plan, model, watch, message);
    struct swap_search s = {.model = model, .space = space, .plan = &plan, .list = list};
    if (status == SHV_OK) {
        status = search_all(&s, ranking, optima, optimum_count, message);
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
    *list = (struct shv_sure_list){.row = NULL};
}
