/* The sweep against brute force over shv_model_evaluate, for any number of threads. */
#include "support/study_fixture.h"

#include "sweep/plan.h"

struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    /* brute force: all feasible candidates, best first, and counts */
    struct shv_candidate *all;
    size_t feasible;
    struct shv_sweep_counts counts;
};

static int best_first(const void *a, const void *b)
{
    const struct shv_candidate *x = a, *y = b;
    if (x->objective != y->objective) {
        return x->objective > y->objective ? -1 : 1;
    }
    return x->index < y->index ? -1 : 1;
}

/* Of combinations that differ only in injectors, pump and belt the best is ranked, of equals the
 * first. */
static void keep_best(struct ground *g, struct shv_candidate candidate)
{
    struct shv_candidate *last = g->feasible > 0 ? &g->all[g->feasible - 1] : NULL;
    uint64_t group = candidate.index / g->space.supply_size;
    if (!last || last->index / g->space.supply_size != group) {
        g->all[g->feasible++] = candidate;
    } else if (candidate.objective > last->objective) {
        *last = candidate;
    }
}

static void count_verdict(struct ground *g, const struct shv_verdict *v, uint64_t index)
{
    struct shv_sweep_counts *c = &g->counts;
    c->total++;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        c->broken[k] += v->broken >> k & 1u;
    }
    int formula = -1; /* of rotor, belt and piston speed the first that is broken */
    for (int k = SHV_LIMIT_COUNT - 1; k >= 0; k--) {
        bool broken = shv_limit_is_formula((enum shv_limit)k) && (v->broken >> k & 1u);
        formula = broken ? k : formula;
    }
    if (v->feasible) {
        c->feasible++;
        keep_best(g, (struct shv_candidate){v->objective, index});
    } else if (formula >= 0) {
        c->first[formula]++;
    } else if (v->outcome != SHV_POINT_OK) {
        c->failed[v->outcome]++;
    } else {
        c->first[v->first_broken]++;
    }
}

/* Call after the study is as wanted. */
static void prepare(struct ground *g)
{
    struct shv_curves curves;
    g->model = made_model(&g->m);
    assert_int_equal(shv_space_init(&g->space, &g->m.study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, g->model, NULL), SHV_OK);
    g->all = calloc(g->space.size, sizeof *g->all);
    assert_non_null(g->all);
    g->feasible = 0;
    g->counts = (struct shv_sweep_counts){0};
    for (uint64_t i = 0; i < g->space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&g->space, &g->m.study, i, &kit);
        shv_model_evaluate(g->model, &kit, &curves);
        count_verdict(g, &curves.verdict, i);
    }
    qsort(g->all, g->feasible, sizeof *g->all, best_first);
    shv_curves_free(&curves);
}

static void clean(struct ground *g)
{
    free(g->all);
    shv_model_free(g->model);
    made_end(&g->m);
}

/* What skipping may not know in full: how many break a limit besides the one they are counted
 * under. */
static void assert_counts(const struct ground *g, const struct shv_sweep_counts *counts)
{
    if (g->m.study.results.exhaustive) {
        assert_memory_equal(counts, &g->counts, sizeof *counts);
        return;
    }
    struct shv_sweep_counts same = *counts;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        assert_true(counts->broken[k] <= g->counts.broken[k]);
        assert_true(counts->broken[k] >= counts->first[k]);
        if (shv_limit_is_formula((enum shv_limit)k)) {
            assert_true(counts->broken[k] == g->counts.broken[k]);
        }
        same.broken[k] = g->counts.broken[k];
    }
    assert_memory_equal(&same, &g->counts, sizeof same);
}

/* One sweep that must find exactly the first `keep` of brute force and its counts. */
static void sweep_once(const struct ground *g, int threads, size_t keep)
{
    struct shv_ranking r;
    struct shv_sweep_counts counts;
    struct shv_message message = {""};
    struct shv_sweep_options options = {.threads = threads};
    assert_int_equal(shv_ranking_init(&r, keep, &message), SHV_OK);
    memset(&counts, 0x5a, sizeof counts); /* must all be set */
    assert_int_equal(shv_sweep_run(g->model, &g->space, &options, &r, &counts, &message), SHV_OK);
    assert_counts(g, &counts);
    assert_int_equal(r.count, keep < g->feasible ? keep : g->feasible);
    for (size_t i = 0; i < r.count; i++) {
        assert_true(r.item[i].index == g->all[i].index);
        assert_same_bits(r.item[i].objective, g->all[i].objective);
    }
    shv_ranking_free(&r);
}

/* Skipping and in full: the same ranking, the same reasons. */
static void assert_sweep(struct ground *g, int threads, size_t keep)
{
    g->m.study.results.exhaustive = false;
    sweep_once(g, threads, keep);
    g->m.study.results.exhaustive = true;
    sweep_once(g, threads, keep);
}

static void counts_add_up(const struct ground *g)
{
    const struct shv_sweep_counts *c = &g->counts;
    uint64_t sum = c->feasible;
    for (int i = 0; i < SHV_OUTCOME_COUNT; i++) {
        sum += c->failed[i];
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        sum += c->first[i];
        assert_true(c->first[i] <= c->broken[i]);
    }
    assert_true(c->total == g->space.size && sum == c->total);
    assert_true(c->failed[SHV_POINT_OK] == 0);
}

static void mixed_space_on_any_number_of_threads(void **state)
{
    (void)state;
    static struct ground g;
    made_mixed(&g.m, 9, INFINITY, SHV_BLEED_TO_INLET);
    prepare(&g);
    counts_add_up(&g);
    assert_true(g.feasible > 200 && g.feasible < g.space.size);
    const int threads[] = {1, 2, 3, 7, 0, 1};
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        assert_sweep(&g, threads[i], 100);
    }
    clean(&g);
}

static void any_number_of_rows(void **state)
{
    (void)state;
    static struct ground g;
    made_mixed(&g.m, 5, 40e3, SHV_BLEED_TO_ATMOSPHERE);
    prepare(&g);
    const size_t keep[] = {0, 1, 2, g.feasible - 1, g.feasible, g.feasible + 1, 2 * g.space.size};
    for (size_t i = 0; i < sizeof keep / sizeof *keep; i++) {
        assert_sweep(&g, 2, keep[i]);
    }
    clean(&g);
}

/* Mixture and fuel do not matter to these objectives: many ties, which the combination number must
 * settle. */
static void ties_go_to_the_lower_number(void **state)
{
    (void)state;
    static struct ground g;
    made_mixed(&g.m, 5, INFINITY, SHV_BLEED_TO_INLET);
    g.m.study.engine.efficiency_kind = SHV_EFFICIENCY_FREE_AIR;
    prepare(&g);
    size_t ties = 0;
    for (size_t i = 1; i < g.feasible; i++) {
        ties += g.all[i].objective == g.all[i - 1].objective;
    }
    assert_true(ties > 100);
    assert_sweep(&g, 1, 37);
    assert_sweep(&g, 3, 37);
    clean(&g);
}

/* Ribs, wrap and injectors change what a kit costs and whether its belt holds. */
static void best_of_a_group(void **state)
{
    (void)state;
    static struct ground g;
    static double ribs[] = {4.0, 5.0, 6.0}, wraps[] = {0.0, 190.0};
    const enum shv_objective_kind kinds[] = {SHV_OBJECTIVE_LEAST_PRICE, SHV_OBJECTIVE_PEAK_POWER,
                                             SHV_OBJECTIVE_POWER_PER_PRICE};
    for (size_t i = 0; i < 3; i++) {
        made_begin(&g.m);
        made_blower_pulleys(&g.m, 30, 0.060, 0.110);
        made_add_cooler(&g.m, SHV_COOLER_SINGLE_STREAM, 3, 0.5, 0.8)->per_ntu.price = 70.0;
        struct shv_belt_setup *b = &g.m.study.drive.belt;
        *b = (struct shv_belt_setup){.given = true,
                                     .belt = {.ribs = 1,
                                              .rib_pitch = SHV_PK_RIB_PITCH,
                                              .groove_angle = SHV_PK_GROOVE_ANGLE,
                                              .min_diameter = SHV_PK_MIN_DIAMETER},
                                     .tensioner = SHV_TENSION_SPRING,
                                     .static_tension = NAN,
                                     .slip_margin = 0.2,
                                     .centre = 0.25,
                                     .rib = {5.0, 0.02}};
        g.m.study.numbers[SHV_DIM_RIBS] = (struct shv_numbers){ribs, 3};
        g.m.study.numbers[SHV_DIM_WRAP] = (struct shv_numbers){wraps, 2};
        b->belt.friction = 0.25;
        b->belt.rib_mass = 0.02;
        b->belt.allowed_tension = 110.0;
        g.m.blowers[0].worth.price = 900.0;
        g.m.study.objective.kind = kinds[i];
        g.m.study.limit[SHV_LIMIT_POWER] = 115e3;
        prepare(&g);
        counts_add_up(&g);
        assert_true(g.space.supply_size == 6 && g.counts.first[SHV_LIMIT_BELT_TENSION] > 20);
        assert_true(g.counts.feasible > g.feasible && g.feasible > 10);
        assert_sweep(&g, 2, 1000);
        assert_sweep(&g, 1, 5);
        clean(&g);
    }
}

static void nothing_feasible(void **state)
{
    (void)state;
    static struct ground g;
    made_mixed(&g.m, 5, INFINITY, SHV_BLEED_TO_INLET);
    g.m.study.limit[SHV_LIMIT_PISTON_SPEED] = 1.0;
    prepare(&g);
    counts_add_up(&g);
    assert_int_equal(g.feasible, 0);
    assert_sweep(&g, 2, 10);
    clean(&g);
}

static void a_space_of_one(void **state)
{
    (void)state;
    static struct ground g;
    made_begin(&g.m);
    made_blower_pulleys(&g.m, 1, 0.07, 0.07);
    prepare(&g);
    assert_true(g.space.size == 1);
    assert_sweep(&g, 3, 10);
    clean(&g);
}

/* ---- progress ---- */

struct watcher {
    int calls, stop_after;
    uint64_t done, total;
    double best;
    bool fell_back;
};

static bool watch(void *data, uint64_t done, uint64_t total, double best_objective)
{
    struct watcher *w = data;
    w->fell_back = w->fell_back || done < w->done || best_objective < w->best;
    w->calls++;
    w->done = done;
    w->total = total;
    w->best = best_objective;
    return w->calls != w->stop_after;
}

static enum shv_status run_watched(const struct ground *g, int threads, struct watcher *w,
                                   struct shv_sweep_counts *counts)
{
    struct shv_ranking r;
    struct shv_message message = {""};
    struct shv_sweep_options options = {.threads = threads, .progress = watch, .progress_data = w};
    assert_int_equal(shv_ranking_init(&r, 10, &message), SHV_OK);
    enum shv_status status = shv_sweep_run(g->model, &g->space, &options, &r, counts, &message);
    assert_int_equal(strlen(message.text) > 0, status != SHV_OK);
    shv_ranking_free(&r);
    return status;
}

static void progress_is_told(void **state)
{
    (void)state;
    static struct ground g;
    struct shv_sweep_counts counts;
    made_mixed(&g.m, 9, INFINITY, SHV_BLEED_TO_INLET);
    prepare(&g);
    struct watcher w = {.best = -INFINITY};
    assert_int_equal(run_watched(&g, 1, &w, &counts), SHV_OK);
    assert_true(w.calls > 3 && !w.fell_back);
    assert_true(w.done == g.space.size && w.total == g.space.size);
    assert_same_bits(w.best, g.all[0].objective);
    clean(&g);
}

static void a_callback_stops_the_sweep(void **state)
{
    (void)state;
    static struct ground g;
    struct shv_sweep_counts counts;
    made_mixed(&g.m, 20, INFINITY, SHV_BLEED_TO_INLET);
    prepare(&g);
    struct watcher once = {.stop_after = 1, .best = -INFINITY};
    assert_int_equal(run_watched(&g, 1, &once, &counts), SHV_STOPPED);
    assert_int_equal(once.calls, 1);
    assert_true(counts.total > 0 && counts.total < g.space.size);
    assert_true(counts.total == once.done);
    struct watcher again = {.stop_after = 2, .best = -INFINITY};
    assert_int_equal(run_watched(&g, 1, &again, &counts), SHV_STOPPED);
    assert_int_equal(again.calls, 2);
    clean(&g);
}

/* The shard that has nothing but the last chunk. */
static struct shv_shard last_chunk(const struct shv_model *model, const struct shv_space *space)
{
    struct sweep_plan plan;
    assert_int_equal(plan_of(&plan, model, space, (struct shv_shard){0}, NULL), SHV_OK);
    struct shv_shard shard = {0, plan.chunks};
    do {
        assert_int_equal(plan_of(&plan, model, space, shard, NULL), SHV_OK);
        shard.index++;
    } while (plan_chunk(&plan, 0) != plan.chunks - 1);
    return plan.shard;
}

/* More than 2^33 combinations, of which the last few are swept. */
static void a_shard_of_a_huge_space(void **state)
{
    (void)state;
    static struct made m;
    struct shv_space space;
    struct shv_ranking r;
    struct shv_sweep_counts counts;
    made_mixed(&m, 250, INFINITY, SHV_BLEED_TO_INLET);
    made_crank_pulleys(&m, 8, 0.120, 0.160);
    made_speeds(&m, 2, 40.0, 90.0);
    for (int i = 0; i < 2; i++) {
        made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 64, 0.3, 0.8);
    }
    made_add_fuel(&m, 14.6, 43.5e6);
    made_add_fuel(&m, 14.0, 42.0e6);
    made_lambdas(&m, 16, 0.8, 0.95);
    made_margins(&m, 8, 0.0, 7.0);
    m.injectors[0].rated_flow = (struct shv_numbers){m.injector_flows[0], 16};
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_true(space.size > (uint64_t)1 << 33);
    const struct shv_sweep_options o = {.threads = 2, .shard = last_chunk(model, &space)};
    assert_int_equal(shv_ranking_init(&r, 10, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(model, &space, &o, &r, &counts, NULL), SHV_OK);
    assert_true(counts.total > 0 && counts.total <= SHV_AIR_MAX * space.fuel_size);
    for (size_t i = 0; i < r.count; i++) {
        assert_true(r.item[i].index >= space.size - counts.total && r.item[i].index < space.size);
    }
    shv_ranking_free(&r);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mixed_space_on_any_number_of_threads),
        cmocka_unit_test(any_number_of_rows),
        cmocka_unit_test(ties_go_to_the_lower_number),
        cmocka_unit_test(best_of_a_group),
        cmocka_unit_test(nothing_feasible),
        cmocka_unit_test(a_space_of_one),
        cmocka_unit_test(progress_is_told),
        cmocka_unit_test(a_callback_stops_the_sweep),
        cmocka_unit_test(a_shard_of_a_huge_space),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
