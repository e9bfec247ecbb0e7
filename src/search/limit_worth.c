/* Prices of what holds an optimum back (sheave/limit_worth.h). */
#include "sheave/limit_worth.h"

#include <math.h>
#include <stdlib.h>

#include "search/search.h"
#include "sweep/watcher.h"

#define RATIO_STEP 0.05
#define EFFECTIVENESS_STEP 0.02
#define EFFECTIVENESS_MOST 0.98
/* Nearer than this share of its range an end holds the optimum back. */
#define AT_END 1e-5
#define ACTIVE 1e-5
/* A gain of less than this share of the objective is the solver's rounding. */
#define ROUNDING 1e-9

/* Ends of ranges, then choices with the dimension that lists them. */
static const struct {
    const char *name, *title;
    enum shv_dim dim;
} ofs[SHV_WORTH_OF_COUNT] = {
    [SHV_WORTH_OF_RATIO_HIGH] = {.name = "ratio_high", .title = "the highest ratio of the pulleys"},
    [SHV_WORTH_OF_RATIO_LOW] = {.name = "ratio_low", .title = "the lowest ratio of the pulleys"},
    [SHV_WORTH_OF_EFFECTIVENESS_HIGH] = {.name = "effectiveness_high", .title = "the largest core"},
    [SHV_WORTH_OF_EFFECTIVENESS_LOW] = {.name = "effectiveness_low", .title = "the smallest core"},
    [SHV_WORTH_OF_LAMBDA] = {"lambda", "lambda", SHV_DIM_LAMBDA},
    [SHV_WORTH_OF_IGNITION_MARGIN] = {"ignition_margin", "ignition margin",
                                      SHV_DIM_IGNITION_MARGIN},
    [SHV_WORTH_OF_CRANK_PULLEY] = {"crank_pulley", "the crank pulley", SHV_DIM_CRANK_PULLEY},
    [SHV_WORTH_OF_RIBS] = {"ribs", "ribs of the belt", SHV_DIM_RIBS},
    [SHV_WORTH_OF_WRAP] = {"wrap", "wrap of the belt", SHV_DIM_WRAP}};

const char *shv_limit_worth_name(const struct shv_limit_worth *p)
{
    return p->kind == SHV_WORTH_LIMIT ? shv_limit_info((enum shv_limit)p->of)->name
                                      : ofs[p->of].name;
}

const char *shv_limit_worth_title(const struct shv_limit_worth *p)
{
    return p->kind == SHV_WORTH_LIMIT ? shv_limit_info((enum shv_limit)p->of)->title
                                      : ofs[p->of].title;
}

/* ---- which worths ---- */

struct list {
    const struct shv_model *model;
    const struct shv_study *study;
    const struct shv_optimum *optima;
    size_t at; /* the optimum whose worths are being listed */
    struct shv_limit_worth *worth;
    size_t count, room;
    bool full; /* memory ran out */
};

static void add(struct list *l, struct shv_limit_worth worth)
{
    if (l->count == l->room) {
        size_t room = l->room > 0 ? 2 * l->room : 64;
        struct shv_limit_worth *more = realloc(l->worth, room * sizeof *more);
        if (!more) {
            l->full = true;
            return;
        }
        l->worth = more;
        l->room = room;
    }
    worth.optimum = l->at;
    worth.next = -1;
    worth.next_steps = worth.gain = NAN;
    l->worth[l->count++] = worth;
}

static void add_limits(struct list *l, const struct shv_verdict *v)
{
    const struct shv_kit *kit = &l->optima[l->at].ideal;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)k);
        const struct shv_limit_result *r = &v->limit[k];
        double step = info->step[l->study->results.units];
        if (isnan(r->share)) {
            continue;
        }
        bool active = r->share < ACTIVE;
        add(l, (struct shv_limit_worth){.kind = SHV_WORTH_LIMIT,
                                        .of = k,
                                        .bound = shv_limit_bound(l->study, kit, (enum shv_limit)k),
                                        .step = info->at_least ? -step : step,
                                        .active = active,
                                        .of_point = !info->of_kit,
                                        .site = r->site,
                                        .speed = r->speed,
                                        .share = active ? 0.0 : r->share});
    }
}

static void add_end(struct list *l, enum shv_limit_worth_of of, double bound, double step)
{
    add(l, (struct shv_limit_worth){.kind = SHV_WORTH_RANGE,
                                    .of = (int)of,
                                    .bound = bound,
                                    .step = step,
                                    .active = true,
                                    .share = NAN});
}

/* Ends of the ranges that hold the optimum back. */
static void add_ends(struct list *l, const struct search_task *task)
{
    const struct shv_kit *kit = &l->optima[l->at].ideal;
    const struct shv_cooler *c = &l->study->coolers[kit->cooler];
    double room = AT_END * (task->ratio_high - task->ratio_low);
    if (kit->ratio >= task->ratio_high - room) {
        add_end(l, SHV_WORTH_OF_RATIO_HIGH, task->ratio_high, RATIO_STEP);
    }
    if (kit->ratio <= task->ratio_low + room) {
        add_end(l, SHV_WORTH_OF_RATIO_LOW, task->ratio_low, -RATIO_STEP);
    }
    if (c->is_none) {
        return;
    }
    double low = c->effectiveness.values[0], high = shv_numbers_last(&c->effectiveness);
    room = AT_END * (high - low);
    if (kit->effectiveness >= high - room && high + EFFECTIVENESS_STEP < EFFECTIVENESS_MOST) {
        add_end(l, SHV_WORTH_OF_EFFECTIVENESS_HIGH, high, EFFECTIVENESS_STEP);
    }
    if (kit->effectiveness <= low + room && low > EFFECTIVENESS_STEP) {
        add_end(l, SHV_WORTH_OF_EFFECTIVENESS_LOW, low, -EFFECTIVENESS_STEP);
    }
}

static void add_choice(struct list *l, enum shv_limit_worth_of of, double own, double other)
{
    add(l, (struct shv_limit_worth){.kind = SHV_WORTH_CHOICE,
                                    .of = (int)of,
                                    .bound = own,
                                    .step = other - own,
                                    .share = NAN});
}

/* Both neighbours of the ideal kit's number; one rib more than any of the list, too. */
static void add_choices(struct list *l)
{
    const struct shv_kit *kit = &l->optima[l->at].ideal;
    bool belt = l->study->drive.belt.given;
    for (int of = SHV_WORTH_OF_LAMBDA; of < SHV_WORTH_OF_COUNT; of++) {
        enum shv_dim dim = ofs[of].dim;
        const struct shv_numbers *n = &l->study->numbers[dim];
        double own = shv_dim_number(dim, kit);
        /* A ratio by itself has no crank pulley: no number of the list is that. */
        for (size_t i = 0; i < n->count && (belt || of < SHV_WORTH_OF_RIBS); i++) {
            bool below = i + 1 < n->count && n->values[i + 1] == own;
            bool above = i > 0 && n->values[i - 1] == own;
            if (below || above) {
                add_choice(l, (enum shv_limit_worth_of)of, own, n->values[i]);
            }
        }
        if (of == SHV_WORTH_OF_RIBS && belt && own == shv_numbers_last(n)) {
            add_choice(l, SHV_WORTH_OF_RIBS, own, own + 1.0);
        }
    }
}

/* ---- solving again ---- */

/* Phasing later than the last one of the engine's tables is not known. */
static bool can_be_known(const struct shv_study *study, const struct shv_limit_worth *p)
{
    const struct shv_cycle_knock *knock = &study->engine.knock;
    return p->kind != SHV_WORTH_LIMIT || p->of != SHV_LIMIT_PHASING_RETARD ||
           p->bound + p->step <= knock->limit_ca50 - knock->best_ca50 + 1e-9;
}

static void move_end(const struct shv_limit_worth *p, struct search_task *task)
{
    switch ((enum shv_limit_worth_of)p->of) {
    case SHV_WORTH_OF_RATIO_HIGH:
        task->ratio_high += p->step;
        return;
    case SHV_WORTH_OF_RATIO_LOW:
        task->ratio_low += p->step;
        return;
    case SHV_WORTH_OF_EFFECTIVENESS_HIGH:
        task->effectiveness_above = p->step;
        return;
    default:
        task->effectiveness_below = -p->step;
    }
}

/* The limit that would act next, from the room left before and after the step. */
static void find_next(const struct shv_verdict *before, const struct shv_verdict *after,
                      struct shv_limit_worth *p)
{
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        double old = before->limit[k].share, now = after->limit[k].share;
        bool itself = p->kind == SHV_WORTH_LIMIT && p->of == k;
        if (itself || isnan(old) || isnan(now) || old < ACTIVE || !(now < old)) {
            continue;
        }
        double after_steps = old / (old - now);
        if (p->next < 0 || after_steps < p->next_steps) {
            p->next = k;
            p->next_steps = after_steps;
            p->next_of_point = !shv_limit_info((enum shv_limit)k)->of_kit;
            p->next_site = after->limit[k].site;
            p->next_speed = after->limit[k].speed;
        }
    }
}

static enum shv_status solve_in(const struct shv_model *model, const struct list *l,
                                const struct search_task *task, struct shv_limit_worth *p,
                                struct search *search, struct shv_curves *curves,
                                struct shv_message *message)
{
    const struct shv_optimum *o = &l->optima[p->optimum];
    search_begin(search, model, task);
    enum shv_status status = search_finish(search, message);
    const struct search_result *r = &search->result;
    if (status != SHV_OK || !r->found) {
        return status;
    }
    p->gain = r->objective - o->objective;
    p->gain = fabs(p->gain) > ROUNDING * fabs(o->objective) ? p->gain : 0.0;
    if (p->kind != SHV_WORTH_CHOICE) {
        shv_model_evaluate(l->model, &o->ideal, curves);
        struct shv_verdict before = curves->verdict;
        shv_model_evaluate(model, &r->kit, curves);
        find_next(&before, &curves->verdict, p);
    }
    return SHV_OK;
}

static enum shv_status solve_one(const struct list *l, struct shv_limit_worth *p,
                                 struct search *search, struct shv_curves *curves,
                                 struct shv_message *message)
{
    struct shv_kit kit = l->optima[p->optimum].ideal;
    struct shv_study moved = *l->study;
    struct shv_model *again;
    struct search_task task;
    if (p->kind == SHV_WORTH_LIMIT && !p->active) {
        p->gain = 0.0;
        return SHV_OK;
    }
    if (!can_be_known(l->study, p)) {
        return SHV_OK;
    }
    if (p->kind == SHV_WORTH_CHOICE) {
        shv_dim_set_number(ofs[p->of].dim, &kit, p->bound + p->step);
    } else if (p->kind == SHV_WORTH_LIMIT) {
        moved.moved[p->of] = p->step;
    }
    search_task_of(l->study, &kit, &task);
    if (p->kind == SHV_WORTH_RANGE) {
        move_end(p, &task);
    }
    enum shv_status status = shv_model_again(l->model, &moved, &again, message);
    if (status == SHV_OK) {
        status = solve_in(again, l, &task, p, search, curves, message);
        shv_model_again_free(again);
    }
    return status;
}

/* What one thread takes of the list. */
static enum shv_status solve_some(const struct list *l, struct watcher *watcher,
                                  struct shv_message *message)
{
    struct search search;
    struct shv_curves curves = {.sites = 0};
    enum shv_status status = search_open(&search, l->model, message);
    status = status == SHV_OK ? shv_curves_init(&curves, l->model, message) : status;
#pragma omp for schedule(dynamic, 1) nowait
    for (size_t i = 0; i < l->count; i++) {
        if (status == SHV_OK && watcher_stopped(watcher)) {
            status = shv_fail(message, SHV_STOPPED, "stopped while limits were moved");
        }
        if (status == SHV_OK) {
            status = solve_one(l, &l->worth[i], &search, &curves, message);
        }
        (void)watcher_add(watcher, 1);
    }
    shv_curves_free(&curves);
    search_close(&search);
    return status;
}

/* Each worth is found by itself: any number of threads, same results. */
static enum shv_status solve_worth(const struct list *l, const struct shv_watch *watch,
                                   struct shv_message *message)
{
    struct watcher watcher = {.watch = watch, .total = l->count};
    enum shv_status status = SHV_OK;
#pragma omp parallel
    {
        struct shv_message own;
        enum shv_status mine = solve_some(l, &watcher, &own);
        if (mine != SHV_OK) {
#pragma omp critical
            {
                status = mine;
                shv_fail(message, mine, "%s", own.text);
            }
        }
    }
    return status;
}

/* All worths of one optimum. */
static void list_worth(struct list *l, size_t at, struct shv_curves *curves)
{
    struct search_task task;
    l->at = at;
    shv_model_evaluate(l->model, &l->optima[at].ideal, curves);
    search_task_of(l->study, &l->optima[at].ideal, &task);
    add_limits(l, &curves->verdict);
    add_ends(l, &task);
    add_choices(l);
}

enum shv_status shv_limit_worths_find(const struct shv_model *model,
                                      const struct shv_optimum *optima, size_t optimum_count,
                                      const struct shv_watch *watch,
                                      struct shv_limit_worth **worths, size_t *count,
                                      struct shv_message *message)
{
    struct list l = {.model = model, .study = shv_model_study(model), .optima = optima};
    struct shv_curves curves;
    *worths = NULL;
    *count = 0;
    enum shv_status status = shv_curves_init(&curves, model, message);
    if (status != SHV_OK) {
        return status;
    }
    for (size_t i = 0; i < optimum_count; i++) {
        if (optima[i].found) {
            list_worth(&l, i, &curves);
        }
    }
    shv_curves_free(&curves);
    status = l.full ? shv_fail(message, SHV_NO_MEMORY, "out of memory for the worth of limits")
                    : solve_worth(&l, watch, message);
    if (status != SHV_OK) {
        free(l.worth);
        return status;
    }
    *worths = l.worth;
    *count = l.count;
    return SHV_OK;
}
