/* One thread of a sweep against a count and a ranking made plainly from the lanes' own verdicts. */
#include "support/study_fixture.h"

#include "sweep/worker.h"

#define KEEP 40

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_lanes *lanes;
    struct shv_brief *brief; /* of all air-side combinations from first on */
    size_t first, count;
} g;

/* Two blowers, injectors and pumps that matter, limits that break here and there. */
static int begin(void **state)
{
    (void)state;
    made_begin(&g.m);
    made_add_blower(&g.m, made_geometry("larger", 1.4e-3));
    made_speeds(&g.m, 3, 40.0, 100.0);
    made_blower_pulleys(&g.m, 16, 0.050, 0.120);
    made_add_cooler(&g.m, SHV_COOLER_SINGLE_STREAM, 2, 0.5, 0.7);
    made_add_fuel(&g.m, 9.8, 29.3e6);
    made_lambdas(&g.m, 2, 0.84, 0.92);
    g.m.injectors[0] = (struct shv_injector_part){.name = "port",
                                                  .rated_flow = {g.m.injector_flows[0], 3},
                                                  .rated_pressure = 300e3,
                                                  .test_density = 684.0,
                                                  .dead_time = 0.9e-3,
                                                  .max_duty = 0.85};
    for (size_t i = 0; i < 3; i++) {
        g.m.injector_flows[0][i] = (3.0 + 2.0 * (double)i) * 1e-6;
    }
    g.m.study.limit[SHV_LIMIT_BOOST] = 90e3;
    g.m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 420.0;
    g.m.study.objective.kind = SHV_OBJECTIVE_PEAK_POWER;
    g.m.study.results.exhaustive = true;
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    assert_true(g.space.supply_size == 3 && g.space.fuel_size == 12);
    assert_int_equal(shv_lanes_create(g.model, &g.lanes, NULL), SHV_OK);
    shv_lanes_skip(g.lanes, false);
    g.first = 5;
    g.count = 60;
    g.brief = calloc(g.count * g.space.fuel_size, sizeof *g.brief);
    assert_non_null(g.brief);
    shv_lanes_evaluate(g.model, &g.space, g.lanes, g.first, g.count, g.brief);
    return 0;
}

static int end(void **state)
{
    (void)state;
    free(g.brief);
    shv_lanes_free(g.lanes);
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

static bool is_feasible(const struct shv_brief *b)
{
    return b->outcome == SHV_POINT_OK && b->broken == 0;
}

static struct shv_sweep_counts counted(void)
{
    struct shv_sweep_counts c = {0};
    for (size_t i = 0; i < g.count * g.space.fuel_size; i++) {
        const struct shv_brief *b = &g.brief[i];
        c.total++;
        int lowest = -1;
        for (int k = SHV_LIMIT_COUNT - 1; k >= 0; k--) {
            bool broken = (b->broken & ((uint64_t)1 << k)) != 0;
            c.broken[k] += broken;
            lowest = broken ? k : lowest;
        }
        c.feasible += is_feasible(b);
        int limit;
        enum shv_outcome outcome = shv_brief_reason(b, &limit);
        c.failed[outcome] += outcome != SHV_POINT_OK;
        if (outcome == SHV_POINT_OK && limit >= 0) {
            assert_true(lowest >= 0);
            c.first[limit]++;
        }
    }
    return c;
}

/* Ranks the best of each set of combinations that are `stride` apart, `size` of them, beginning at
 * `from` and every `step` behind it. */
static void rank_sets(struct shv_ranking *r, size_t from, size_t step, size_t sets, size_t stride,
                      size_t size)
{
    for (size_t s = 0; s < sets; s++) {
        size_t best = SIZE_MAX;
        for (size_t i = 0; i < size; i++) {
            size_t at = from + s * step + i * stride;
            if (is_feasible(&g.brief[at]) &&
                (best == SIZE_MAX || g.brief[at].objective > g.brief[best].objective)) {
                best = at;
            }
        }
        if (best != SIZE_MAX) {
            shv_ranking_offer(r, (struct shv_candidate){g.brief[best].objective,
                                                        g.first * g.space.fuel_size + best});
        }
    }
}

static void assert_same_ranking(struct shv_ranking *found, struct shv_ranking *expected)
{
    shv_ranking_sort(found);
    shv_ranking_sort(expected);
    assert_true(expected->count > 10);
    assert_int_equal(found->count, expected->count);
    for (size_t i = 0; i < found->count; i++) {
        assert_true(found->item[i].index == expected->item[i].index);
        assert_same_bits(found->item[i].objective, expected->item[i].objective);
    }
    shv_ranking_free(expected);
}

static void made_worker(struct worker *w)
{
    assert_int_equal(worker_init(w, g.model, &g.space, g.count, KEEP, NULL), SHV_OK);
}

static void all_are_counted_and_the_best_of_each_group_ranked(void **state)
{
    (void)state;
    struct worker w;
    struct shv_ranking expected;
    made_worker(&w);
    worker_run(&w, g.model, &g.space, 0, 7); /* the last run alone counts */
    worker_run(&w, g.model, &g.space, g.first, g.count);
    struct shv_sweep_counts c = counted();
    assert_true(c.feasible > 20 && c.feasible < c.total - 20);
    assert_true(c.broken[SHV_LIMIT_BOOST] > c.first[SHV_LIMIT_BOOST] ||
                c.broken[SHV_LIMIT_DISCHARGE_TEMPERATURE] >
                    c.first[SHV_LIMIT_DISCHARGE_TEMPERATURE]);
    assert_memory_equal(&w.counts, &c, sizeof c);
    assert_true(w.base == g.first * g.space.fuel_size && !w.out_of_memory);
    assert_int_equal(shv_ranking_init(&expected, KEEP, NULL), SHV_OK);
    rank_sets(&expected, 0, 3, g.count * g.space.fuel_size / 3, 1, 3);
    assert_same_ranking(&w.ranking, &expected);
    worker_free(&w);
    assert_true(!w.lanes && !w.brief && !w.ranking.item);
}

/* Rows of parts: of each injector the best over fuels and lambdas. */
static void the_best_with_each_part(void **state)
{
    (void)state;
    struct worker w;
    struct shv_ranking expected;
    const struct shv_sweep_options o = {.rows = SHV_ROWS_PARTS};
    made_worker(&w);
    worker_take(&w, &o);
    worker_run(&w, g.model, &g.space, g.first, g.count);
    struct shv_sweep_counts c = counted();
    assert_memory_equal(&w.counts, &c, sizeof c);
    assert_int_equal(shv_ranking_init(&expected, KEEP, NULL), SHV_OK);
    for (size_t injector = 0; injector < 3; injector++) {
        rank_sets(&expected, injector, g.space.fuel_size, g.count, 3, 4);
    }
    assert_same_ranking(&w.ranking, &expected);
    worker_free(&w);
}

static void a_bar_keeps_out_what_ranks_behind_it(void **state)
{
    (void)state;
    struct worker w;
    made_worker(&w);
    worker_run(&w, g.model, &g.space, g.first, g.count);
    shv_ranking_sort(&w.ranking);
    struct shv_candidate bar = w.ranking.item[7], before = w.ranking.item[6];
    w.has_bar = true;
    w.bar = bar;
    worker_run(&w, g.model, &g.space, g.first, g.count);
    shv_ranking_sort(&w.ranking);
    assert_int_equal(w.ranking.count, 7);
    assert_true(w.ranking.item[6].index == before.index);
    worker_free(&w);
}

/* The front of power against charge temperature: none of it is beaten in both. */
static void fronts_are_kept(void **state)
{
    (void)state;
    struct shv_tradeoff tradeoff = {
        {SHV_TRADE_OBJECTIVE, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_COUNT}, 0.0};
    struct worker w;
    g.m.study.tradeoffs = &tradeoff;
    g.m.study.tradeoff_count = 1;
    made_worker(&w);
    worker_run(&w, g.model, &g.space, g.first, g.count);
    struct shv_front *front = &w.keep.front[0];
    shv_ranking_sort(&w.ranking);
    assert_true(front->count >= 2);
    bool best_is_there = false;
    for (size_t i = 0; i < front->count; i++) {
        uint64_t at = front->point[i].index - w.base;
        assert_true(at < g.count * g.space.fuel_size && is_feasible(&g.brief[at]));
        assert_within(front->point[i].value[0], g.brief[at].objective,
                      1e-6 * fabs(g.brief[at].objective));
        best_is_there = best_is_there || front->point[i].value[0] >= w.ranking.item[0].objective;
    }
    assert_true(best_is_there);
    worker_free(&w);
    g.m.study.tradeoffs = NULL;
    g.m.study.tradeoff_count = 0;
}

/* A combination is kept in its class of room when nothing of its group and class is better, and
 * nothing of a higher class as good. */
static bool keeps_room(const struct shv_brief *group, size_t of, size_t size)
{
    const struct shv_brief *a = &group[of];
    size_t class = shv_room_class((double)a->room);
    for (size_t i = 0; i < size; i++) {
        const struct shv_brief *b = &group[i];
        size_t other = shv_room_class((double)b->room);
        if (i == of || !is_feasible(b) || other < class) {
            continue;
        }
        bool better = b->objective > a->objective ||
                      (b->objective == a->objective &&
                       (other > class || b->room > a->room || (b->room == a->room && i < of)));
        if (better) {
            return false;
        }
    }
    return true;
}

static void classes_of_room_are_kept(void **state)
{
    (void)state;
    struct worker w;
    struct shv_keep expected;
    double demand[4 * SHV_LIMIT_COUNT] = {0.0}; /* of each blower and fuel */
    for (size_t pair = 0; pair < 4; pair++) {
        demand[pair * SHV_LIMIT_COUNT + SHV_LIMIT_BOOST] = 60e3;
        demand[pair * SHV_LIMIT_COUNT + SHV_LIMIT_DISCHARGE_TEMPERATURE] = 80.0;
    }
    g.m.study.tolerances.given = true;
    g.m.study.tolerances.hold = 0.9;
    made_worker(&w);
    assert_true(w.keep.rooms == SHV_ROOM_ANY + 1);
    worker_run(&w, g.model, &g.space, g.first, g.count); /* without demands nothing */
    assert_int_equal(w.keep.room[SHV_ROOM_CLASSES - 1].count + w.keep.room[SHV_ROOM_ANY].count, 0);
    const struct shv_sweep_options o = {.demand = demand};
    worker_take(&w, &o);
    worker_run(&w, g.model, &g.space, g.first, g.count);
    assert_int_equal(shv_keep_init(&expected, &g.m.study, NULL), SHV_OK);
    size_t in_all = 0, classes = 0;
    for (size_t at = 0; at < g.count * g.space.fuel_size; at += 3) {
        struct shv_candidate best = {-INFINITY, UINT64_MAX};
        for (size_t i = 0; i < 3; i++) {
            const struct shv_candidate c = {w.brief[at + i].objective, w.base + at + i};
            best = is_feasible(&w.brief[at + i]) && shv_candidate_before(&c, &best) ? c : best;
        }
        if (best.index != UINT64_MAX) {
            shv_ranking_offer(&expected.room[SHV_ROOM_ANY], best);
        }
        for (size_t i = 0; i < 3; i++) {
            const struct shv_brief *b = &w.brief[at + i];
            if (is_feasible(b) && keeps_room(&w.brief[at], i, 3)) {
                shv_ranking_offer(&expected.room[shv_room_class((double)b->room)],
                                  (struct shv_candidate){b->objective, w.base + at + i});
                in_all++;
            }
        }
    }
    shv_keep_sort(&w.keep);
    shv_keep_sort(&expected);
    for (size_t c = 0; c < w.keep.rooms; c++) {
        const struct shv_ranking *a = &w.keep.room[c], *b = &expected.room[c];
        assert_int_equal(a->count, b->count);
        for (size_t i = 0; i < a->count; i++) {
            assert_true(a->item[i].index == b->item[i].index);
        }
        classes += a->count > 0;
    }
    assert_true(in_all > 20 && classes > 2);
    shv_keep_free(&expected);
    worker_free(&w);
    g.m.study.tolerances.given = false;
    g.m.study.tolerances.hold = 0.0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_are_counted_and_the_best_of_each_group_ranked),
        cmocka_unit_test(the_best_with_each_part),
        cmocka_unit_test(a_bar_keeps_out_what_ranks_behind_it),
        cmocka_unit_test(fronts_are_kept),
        cmocka_unit_test(classes_of_room_are_kept),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
