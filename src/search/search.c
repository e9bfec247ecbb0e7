/* Grid, refinement and direct search of one setup: src/search/search.h. All kits of a stage are
 * evaluated side by side in the lanes. */
#include "search/search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Points of the grid. */
#define SCAN_RATIOS SHV_LANES_MAX
#define SCAN_CORES 9
/* Rows of the grid whose best cells are refined, and how: a smaller grid over the cells around,
 * again and again. */
#define BEST_CELLS 3
#define REFINE_RATIOS 8
#define REFINE_CORES 4
#define REFINEMENTS 2
/* The direct search: its first reach and where it ends, as shares of the ranges; directions of one
 * poll; a bound on its evaluations. */
#define POLL_FIRST 0.02
#define POLL_END 1e-8
#define POLL_SHRINKS 0.25
#define POLL_MOST 2400
/* A gain by the direct search that is worth another climb, and what counts as one at all. */
#define WORTH_ANOTHER 1e-9
#define BETTER 1e-12

enum shv_status search_open(struct search *s, const struct shv_model *model,
                            struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    size_t most = (size_t)SHV_LIMIT_COUNT * study->site_count * study->engine.speed_count;
    *s = (struct search){.model = model};
    s->room = calloc(SEARCH_ROOMS * most, sizeof *s->room);
    if (!s->room) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the continuous search");
    }
    enum shv_status status = shv_lanes_create(model, &s->lanes, message);
    return status == SHV_OK ? shv_lanes_keep_rooms(model, s->lanes, message) : status;
}

void search_close(struct search *s)
{
    shv_lanes_free(s->lanes);
    free(s->room);
    s->lanes = NULL;
    s->room = NULL;
}

void search_task_of(const struct shv_study *study, const struct shv_kit *kit,
                    struct search_task *task)
{
    double offset = study->drive.line_offset;
    bool any = isnan(kit->crank_diameter);
    const struct shv_numbers *cranks = &study->numbers[SHV_DIM_CRANK_PULLEY];
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double least = any ? cranks->values[0] : kit->crank_diameter;
    double most = any ? shv_numbers_last(cranks) : kit->crank_diameter;
    *task =
        (struct search_task){.kit = *kit,
                             .ratio_low = shv_drive_ratio(least, shv_numbers_last(pulleys), offset),
                             .ratio_high = shv_drive_ratio(most, pulleys->values[0], offset)};
}

/* ---- kits ---- */

static double range(const struct search *s, unsigned k)
{
    return s->high[k] - s->low[k];
}

struct shv_kit search_kit(const struct search *s, const double *x)
{
    double at[SEARCH_DIMS] = {s->low[0], s->low[1]};
    unsigned i = 0;
    for (unsigned k = 0; k < SEARCH_DIMS; k++) {
        if (k == 0 ? s->ratio_free : s->effectiveness_free) {
            at[k] = x[i] >= 1.0 ? s->high[k] + (x[i] - 1.0) * range(s, k)
                                : s->low[k] + x[i] * range(s, k);
            i++;
        }
    }
    struct shv_kit kit = s->task->kit;
    kit.ratio = at[0];
    kit.effectiveness = at[1];
    kit.blower_diameter = shv_drive_blower_pulley(kit.crank_diameter, kit.ratio,
                                                  shv_model_study(s->model)->drive.line_offset);
    return kit;
}

static void shares_of(const struct search *s, double ratio, double effectiveness, double *x)
{
    unsigned i = 0;
    if (s->ratio_free) {
        x[i++] = fmin(fmax((ratio - s->low[0]) / range(s, 0), 0.0), 1.0);
    }
    if (s->effectiveness_free) {
        x[i] = fmin(fmax((effectiveness - s->low[1]) / range(s, 1), 0.0), 1.0);
    }
}

void search_best(const struct search *s, double *x)
{
    shares_of(s, s->result.kit.ratio, s->result.kit.effectiveness, x);
}

bool search_take(struct search *s, const struct shv_kit *kit, const struct shv_brief *brief)
{
    struct search_result *r = &s->result;
    bool holds = shv_brief_holds(brief);
    r->evaluations++;
    if (!holds || (r->found && !(brief->objective > r->objective + BETTER * fabs(r->objective)))) {
        return false;
    }
    r->found = true;
    r->kit = *kit;
    r->objective = brief->objective;
    return true;
}

/* Evaluates kits side by side; true when one of them is better than the best so far. */
static bool try_kits(struct search *s, const struct shv_kit *kits, size_t count,
                     struct shv_brief brief[SHV_LANES_MAX])
{
    bool better = false;
    shv_lanes_evaluate_kits(s->model, s->lanes, kits, count, brief);
    for (size_t i = 0; i < count; i++) {
        better = search_take(s, &kits[i], &brief[i]) || better;
    }
    return better;
}

/* ---- the grid ---- */

/* The best of some cells: a kit that holds beats one that does not, then the objective counts, else
 * how much room there is where it is least. */
struct cell {
    double x[SEARCH_DIMS];
    bool holds;
    double value;
};

static bool cell_before(const struct cell *a, const struct cell *b)
{
    return a->holds != b->holds ? a->holds : a->value > b->value;
}

/* How much room a kit in a lane has where it has least. */
static double least_room(const struct search *s, size_t lane)
{
    double least = INFINITY;
    size_t count = shv_lanes_room_count(s->model, s->lanes);
    shv_lanes_rooms(s->model, s->lanes, lane, s->room);
    for (size_t i = 0; i < count; i++) {
        least = s->room[i] < least ? s->room[i] : least;
    }
    return least;
}

static struct cell best_cell(struct search *s, double x[][SEARCH_DIMS], size_t count)
{
    struct shv_kit kits[SHV_LANES_MAX] = {{0}};
    struct shv_brief brief[SHV_LANES_MAX];
    struct cell best = {.value = -INFINITY};
    for (size_t i = 0; i < count; i++) {
        kits[i] = search_kit(s, x[i]);
    }
    (void)try_kits(s, kits, count, brief);
    for (size_t i = 0; i < count; i++) {
        struct cell c = {.holds = shv_brief_holds(&brief[i])};
        c.value = c.holds                            ? brief[i].objective
                  : best.holds                       ? -INFINITY
                  : brief[i].outcome == SHV_POINT_OK ? least_room(s, i)
                                                     : -INFINITY;
        memcpy(c.x, x[i], sizeof c.x);
        best = i == 0 || cell_before(&c, &best) ? c : best;
    }
    return best;
}

/* Points of the grid along each variable. */
static void grid_of(const struct search *s, size_t ratios, size_t cores, size_t n[SEARCH_DIMS])
{
    n[0] = s->ratio_free ? ratios : cores;
    n[1] = s->dims == 2 ? cores : 1;
    if (s->dims == 1) {
        n[0] = SHV_LANES_MAX;
    }
}

/* The best cell of a row of the grid: the second variable is held. */
static struct cell scan_row(struct search *s, const size_t n[SEARCH_DIMS], size_t row)
{
    double x[SHV_LANES_MAX][SEARCH_DIMS] = {{0.0}};
    for (size_t i = 0; i < n[0]; i++) {
        x[i][0] = (double)i / (double)(n[0] - 1);
        x[i][1] = n[1] > 1 ? (double)row / (double)(n[1] - 1) : 0.0;
    }
    return best_cell(s, x, n[0]);
}

/* Smaller grids around a cell, each with the steps of the one before for its half width. */
static struct cell refine(struct search *s, struct cell c, const size_t n[SEARCH_DIMS])
{
    size_t m[SEARCH_DIMS];
    double half[SEARCH_DIMS] = {1.0 / (double)(n[0] - 1), n[1] > 1 ? 1.0 / (double)(n[1] - 1) : 0};
    grid_of(s, REFINE_RATIOS, REFINE_CORES, m);
    for (int round = 0; round < REFINEMENTS; round++) {
        double x[SHV_LANES_MAX][SEARCH_DIMS] = {{0.0}};
        for (size_t i = 0; i < m[0] * m[1]; i++) {
            size_t at[SEARCH_DIMS] = {i % m[0], i / m[0]};
            for (unsigned k = 0; k < s->dims; k++) {
                double side = 2.0 * (double)at[k] / (double)(m[k] - 1) - 1.0;
                x[i][k] = fmin(fmax(c.x[k] + side * half[k], 0.0), 1.0);
            }
        }
        struct cell best = best_cell(s, x, m[0] * m[1]);
        c = cell_before(&best, &c) ? best : c;
        for (unsigned k = 0; k < s->dims; k++) {
            half[k] *= 2.0 / (double)(m[k] - 1);
        }
    }
    return c;
}

/* Keeps the best cells of different rows, best first. */
static size_t keep_cell(struct cell best[BEST_CELLS], size_t count, const struct cell *c)
{
    size_t place = count;
    while (place > 0 && cell_before(c, &best[place - 1])) {
        if (place < BEST_CELLS) {
            best[place] = best[place - 1];
        }
        place--;
    }
    if (place < BEST_CELLS) {
        best[place] = *c;
    }
    return count < BEST_CELLS ? count + 1 : count;
}

void search_scan(struct search *s)
{
    size_t n[SEARCH_DIMS], count = 0;
    struct cell best[BEST_CELLS];
    if (s->dims == 0) {
        return;
    }
    grid_of(s, SCAN_RATIOS, SCAN_CORES, n);
    for (size_t row = 0; row < n[1]; row++) {
        struct cell c = scan_row(s, n, row);
        count = keep_cell(best, count, &c);
    }
    for (size_t i = 0; i < count && (i == 0 || best[i].holds); i++) {
        struct cell c = refine(s, best[i], n);
        if (i == 0) {
            memcpy(s->nearest, c.x, sizeof c.x);
        }
    }
}

/* ---- the direct search ---- */

/* Directions of a poll: all round, or along the one variable in steps of all sizes up to the reach.
 */
static bool poll(struct search *s, double reach, double turn)
{
    struct shv_kit kits[SHV_LANES_MAX];
    struct shv_brief brief[SHV_LANES_MAX];
    double base[SEARCH_DIMS] = {0.0}, x[SEARCH_DIMS] = {0.0};
    search_best(s, base);
    for (size_t k = 0; k < SHV_LANES_MAX; k++) {
        double share = (double)k / SHV_LANES_MAX, angle = turn + 6.28318530717958648 * share;
        double direction[SEARCH_DIMS] = {cos(angle), sin(angle)};
        if (s->dims == 1) {
            direction[0] = 2.0 * (double)k / (SHV_LANES_MAX - 1) - 1.0;
        }
        for (unsigned i = 0; i < s->dims; i++) {
            x[i] = fmin(fmax(base[i] + reach * direction[i], 0.0), 1.0);
        }
        kits[k] = search_kit(s, x);
    }
    return try_kits(s, kits, SHV_LANES_MAX, brief);
}

/* Polls around the best so far along directions that turn by the golden angle, with a shorter reach
 * when none is better: a mesh-adaptive direct search (Audet and Dennis, SIAM J. Optim. 17, 2006) in
 * two dimensions. It climbs along kinks, such as the line on which the bypass begins to bleed,
 * where linear models stall, and it closes in on the limits from inside. */
static void poll_on(struct search *s)
{
    const double golden_angle = 2.39996322972865332;
    double turn = 0.0, reach = POLL_FIRST;
    size_t begin = s->result.evaluations;
    while (reach > POLL_END && s->result.evaluations - begin < POLL_MOST) {
        reach *= poll(s, reach, turn) ? 2.0 : POLL_SHRINKS;
        reach = fmin(reach, 0.05);
        turn += golden_angle;
    }
}

/* ---- one setup ---- */

void search_begin(struct search *s, const struct shv_model *model, const struct search_task *task)
{
    const struct shv_cooler *c = &shv_model_study(model)->coolers[task->kit.cooler];
    struct shv_brief brief[SHV_LANES_MAX];
    s->model = model;
    s->task = task;
    s->result = (struct search_result){.objective = NAN};
    s->low[0] = task->ratio_low;
    s->high[0] = task->ratio_high;
    s->low[1] = c->is_none ? 0.0 : c->effectiveness.values[0] - task->effectiveness_below;
    s->high[1] = c->is_none ? 0.0 : shv_numbers_last(&c->effectiveness) + task->effectiveness_above;
    s->ratio_free = s->high[0] > s->low[0];
    s->effectiveness_free = s->high[1] > s->low[1];
    s->dims = (s->ratio_free ? 1u : 0u) + (s->effectiveness_free ? 1u : 0u);
    s->nearest[0] = s->nearest[1] = 0.5;
    struct shv_kit kit = search_kit(s, s->nearest);
    if (!isnan(task->kit.ratio)) {
        shares_of(s, task->kit.ratio, task->kit.effectiveness, s->nearest);
        kit = search_kit(s, s->nearest);
    }
    (void)try_kits(s, &kit, 1, brief);
}

enum shv_status search_finish(struct search *s, struct shv_message *message)
{
    double x[SEARCH_DIMS] = {s->nearest[0], s->nearest[1]};
    if (s->dims == 0) {
        return SHV_OK;
    }
    if (s->result.found) {
        search_best(s, x);
    }
    enum shv_status status = search_climb(s, x, message);
    if (status != SHV_OK || !s->result.found) {
        return status;
    }
    double before = s->result.objective;
    poll_on(s);
    if (!(s->result.objective - before > WORTH_ANOTHER * fabs(before))) {
        return SHV_OK;
    }
    search_best(s, x);
    return search_climb(s, x, message);
}
