/* src/plan/range.c: the plan against every stock there is, in each scenario of its sales too, ties,
 * the curve and its knee. */
#include "plan/range_fixture.h"

/* Each plan is solved in a child, for which the thread sanitizer takes seconds. */
#if defined(__has_feature)
#if __has_feature(thread_sanitizer)
#define SHARE_OF_RANGES 20
#endif
#endif
#ifndef SHARE_OF_RANGES
#define SHARE_OF_RANGES 1
#endif

/* ---- random ranges ---- */

static uint64_t next(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

static size_t below(uint64_t *state, size_t count)
{
    return (size_t)(next(state) % count);
}

/* Few levels of power, so that many plans are equal. */
static void random_group(struct fixture *f, uint64_t *state, size_t blowers, size_t pulleys,
                         size_t cores)
{
    struct shv_range_group *g = fixture_group(f, 1.0 + (double)below(state, 4));
    size_t kits = 4 + below(state, 14);
    for (size_t i = 0; i < kits; i++) {
        struct shv_range_candidate *c =
            fixture_kit(g, 1000.0 * (double)(50 + below(state, 8)), below(state, blowers),
                        blowers + below(state, pulleys));
        c->price = 100.0 * (double)(10 + below(state, 5));
        size_t core = below(state, cores + 1);
        c->has_cooler = core > 0;
        c->part[SHV_STOCK_COOLER] = core > 0 ? blowers + pulleys + core - 1 : SHV_NONE;
    }
    if (below(state, 3) == 0) {
        g->most_price = 1200.0;
    }
    if (below(state, 4) == 0) {
        g->least_share = 0.93;
    }
    if (below(state, 5) == 0) {
        g->cooler = SHV_RANGE_COOLER_WITHOUT;
    }
    g->sale_price = 500.0;
    g->sale_per_watt = 0.02;
}

static void random_range(struct fixture *f, uint64_t seed)
{
    uint64_t state = seed * 2654435761u + 12345u;
    fixture_begin(f);
    size_t blowers = 2 + below(&state, 2), pulleys = 2 + below(&state, 3),
           cores = 1 + below(&state, 2);
    for (size_t i = 0; i < blowers + pulleys + cores; i++) {
        enum shv_part_kind kind = i < blowers             ? SHV_STOCK_BLOWER
                                  : i < blowers + pulleys ? SHV_STOCK_BLOWER_PULLEY
                                                          : SHV_STOCK_COOLER;
        fixture_part(f, kind, 100.0 * (double)below(&state, 6));
    }
    size_t groups = 2 + below(&state, 4);
    for (size_t g = 0; g < groups; g++) {
        random_group(f, &state, blowers, pulleys, cores);
    }
    f->problem.value = (enum shv_range_value)below(&state, 3);
    if (below(&state, 3) == 0) {
        f->problem.family_count = 1;
        f->group[0].family = f->group[1].family = 0;
    }
    if (below(&state, 3) == 0) {
        f->problem.most[SHV_STOCK_BLOWER] = 1 + below(&state, 2);
    }
    if (below(&state, 4) == 0) {
        f->problem.most[SHV_STOCK_BLOWER_PULLEY] = 2;
    }
    if (below(&state, 4) == 0) {
        f->problem.most_parts = 2 + below(&state, 4);
    }
}

static unsigned stock_of(const struct fixture *f, const struct shv_range_point *point)
{
    unsigned stock = 0;
    for (size_t p = 0; p < f->problem.part_count; p++) {
        stock |= point->stocked[p] ? 1u << p : 0u;
    }
    return stock;
}

/* Every kit given is in stock and serves; the value told is the sum over them. */
static void check_kits(const struct fixture *f, const struct shv_range_point *point)
{
    unsigned stock = stock_of(f, point);
    double sum = 0.0;
    for (size_t g = 0; g < f->problem.group_count; g++) {
        const struct shv_range_candidate *c = &f->kit[g][point->kit[g]];
        double best = fixture_own_best(&f->group[g]);
        assert_true(point->kit[g] < f->group[g].count);
        assert_true(fixture_serves(&f->group[g], c, best, stock, SHV_NONE));
        sum += f->group[g].sales * shv_range_worth(&f->problem, &f->group[g], c, best);
    }
    for (size_t p = 0; p < f->problem.part_count; p++) {
        sum -= f->problem.value == SHV_RANGE_PROFIT && point->stocked[p] ? f->part[p].cost : 0.0;
    }
    assert_true(fabs(sum - point->value) <= 1e-9 * fabs(sum));
}

static void check_against_all(const struct fixture *f, enum shv_status status,
                              const struct shv_range_result *r)
{
    if (status == SHV_NOTHING) {
        assert_false(fixture_try(f, f->problem.most_parts, 1.0).any);
        assert_true(r->unserved_count > 0);
        return;
    }
    assert_int_equal(status, SHV_OK);
    assert_true(r->is_whole);
    for (size_t i = 0; i < r->point_count; i++) {
        const struct shv_range_point *p = &r->point[i];
        struct tried best = fixture_try(f, p->allowed, r->step);
        assert_true(best.any);
        assert_int_equal(stock_of(f, p), best.stock);
        assert_int_equal(p->parts, best.parts);
        assert_true(p->proven && p->settled);
        assert_true(p->bound == p->value);
        check_kits(f, p);
    }
    /* Fewer parts serve not all, more bring no more. */
    assert_false(r->point[0].allowed > 0 && fixture_try(f, r->point[0].allowed - 1, r->step).any);
    assert_int_equal(fixture_try(f, SHV_NONE, r->step).stock,
                     stock_of(f, &r->point[r->point_count - 1]));
    struct tried plan = fixture_try(f, f->problem.most_parts, r->step);
    assert_int_equal(stock_of(f, &r->point[r->chosen]), plan.stock);
}

static void test_same_as_trying_every_stock(void **state)
{
    (void)state;
    size_t solved = 0, infeasible = 0;
    for (uint64_t seed = 0; seed < 240 / SHARE_OF_RANGES; seed++) {
        struct fixture f;
        struct shv_range_result r;
        struct shv_message message;
        random_range(&f, seed);
        enum shv_status status = fixture_solve(&f, &r, &message);
        check_against_all(&f, status, &r);
        solved += status == SHV_OK;
        infeasible += status == SHV_NOTHING;
        shv_range_result_free(&r);
    }
    assert_true(solved >= 150 / SHARE_OF_RANGES);
    assert_true(infeasible >= 10 / SHARE_OF_RANGES);
}

/* ---- sales that are not certain ---- */

#define SCENARIOS 3
static const struct shv_range_scenario scenarios[SCENARIOS] = {
    {(char *)"poor", 0.25}, {(char *)"usual", 0.5}, {(char *)"rich", 0.25}};

/* Some groups buy nothing in some scenarios. */
static void random_sales(struct fixture *f, double sales[FIXTURE_GROUPS][SCENARIOS], uint64_t seed)
{
    uint64_t state = seed * 40503u + 7u;
    f->problem.scenario_count = SCENARIOS;
    f->problem.scenario = scenarios;
    for (size_t g = 0; g < f->problem.group_count; g++) {
        f->group[g].sales_in = sales[g];
        f->group[g].sales = 0.0;
        for (size_t i = 0; i < SCENARIOS; i++) {
            sales[g][i] = (double)(i == 1 ? 1 + below(&state, 3) : below(&state, 12));
            f->group[g].sales += scenarios[i].weight * sales[g][i];
        }
    }
    f->problem.choose = (enum shv_range_choose)below(&state, 2);
}

/* The range as it is in one scenario, without the groups that buy nothing. */
static void in_scenario(const struct fixture *f, size_t scenario, struct fixture *in)
{
    *in = *f;
    in->problem.part = in->part;
    in->problem.group = in->group;
    in->problem.group_count = 0;
    for (size_t g = 0; g < f->problem.group_count; g++) {
        if (f->group[g].sales_in[scenario] > 0.0) {
            size_t to = in->problem.group_count++;
            in->group[to] = f->group[g];
            in->group[to].sales = f->group[g].sales_in[scenario];
            in->group[to].candidate = in->kit[to];
            memcpy(in->kit[to], f->kit[g], sizeof in->kit[to]);
        }
    }
}

static double value_in(const struct fixture *f, const struct shv_range_point *point,
                       size_t scenario)
{
    double sum = 0.0;
    for (size_t g = 0; g < f->problem.group_count; g++) {
        sum += f->group[g].sales_in[scenario] * shv_range_worth(&f->problem, &f->group[g],
                                                                &f->kit[g][point->kit[g]],
                                                                fixture_own_best(&f->group[g]));
    }
    for (size_t p = 0; p < f->problem.part_count; p++) {
        sum -= f->problem.value == SHV_RANGE_PROFIT && point->stocked[p] ? f->part[p].cost : 0.0;
    }
    return sum;
}

static void check_worst(const struct fixture *f, const struct shv_range_result *r)
{
    for (size_t k = 0; k < r->point_count; k++) {
        const struct shv_range_point *p = &r->point[k];
        double expected = 0.0;
        for (size_t i = 0; i < SCENARIOS; i++) {
            double value = value_in(f, p, i);
            expected += scenarios[i].weight * value;
            assert_true(value >= p->worst - 1e-9 * fabs(value));
        }
        assert_true(p->worst_in < SCENARIOS);
        assert_true(fabs(value_in(f, p, p->worst_in) - p->worst) <= 1e-9 * fabs(p->worst));
        assert_true(fabs(expected - p->value) <= 1e-9 * fabs(expected));
    }
}

/* What knowing is worth, by trying every stock in every scenario. */
static double knowing_by_trying(const struct fixture *f, const struct shv_range_result *r)
{
    bool by_knee = f->problem.choose == SHV_RANGE_KNEE && r->knee != SHV_NONE;
    size_t most = by_knee ? r->point[r->knee].allowed : SHV_NONE;
    most = most < f->problem.most_parts ? most : f->problem.most_parts;
    double step = 1e-6 * r->step, gain = 0.0;
    for (size_t i = 0; i < SCENARIOS; i++) {
        struct fixture in;
        in_scenario(f, i, &in);
        struct tried best = fixture_try(&in, most, step);
        assert_true(best.any && r->known[i].proven);
        assert_true(fabs((double)best.value * step - r->known[i].best) <= 100.0 * r->step);
        gain += scenarios[i].weight *
                ((double)best.value * step - value_in(f, &r->point[r->chosen], i));
    }
    return gain;
}

static void test_scenarios_same_as_trying_every_stock(void **state)
{
    (void)state;
    size_t solved = 0, worth_something = 0;
    for (uint64_t seed = 0; seed < 50 / SHARE_OF_RANGES; seed++) {
        struct fixture f;
        struct shv_range_result r;
        struct shv_message message;
        double sales[FIXTURE_GROUPS][SCENARIOS], most;
        random_range(&f, seed);
        random_sales(&f, sales, seed);
        if (fixture_solve(&f, &r, &message) == SHV_OK) {
            double knowing = shv_range_knowing(&f.problem, &r, &most);
            check_worst(&f, &r);
            assert_true(fabs(knowing - knowing_by_trying(&f, &r)) <= 100.0 * r.step);
            assert_true(knowing >= 0.0 && most == knowing);
            solved++;
            worth_something += knowing > 1000.0 * r.step;
        }
        shv_range_result_free(&r);
    }
    assert_true(solved >= 30 / SHARE_OF_RANGES);
    assert_true(worth_something >= 8 / SHARE_OF_RANGES);
}

/* Two groups, one part beyond the blower, and it is only worth its cost to whoever buys. */
static void test_knowing_by_hand(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    const double first[SCENARIOS] = {0.0, 10.0, 20.0}, second[SCENARIOS] = {20.0, 10.0, 0.0};
    double most;
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0), pulley[2];
    pulley[0] = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    pulley[1] = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    f.problem.most_parts = 2;
    f.problem.scenario_count = SCENARIOS;
    f.problem.scenario = scenarios;
    for (size_t g = 0; g < 2; g++) {
        struct shv_range_group *group = fixture_group(&f, 10.0);
        group->sales_in = g == 0 ? first : second;
        fixture_kit(group, 70e3, blower, pulley[g]);
        fixture_kit(group, 60e3, blower, pulley[1 - g]);
    }
    /* Either pulley: 10 * 70 + 10 * 60 kW on the mean, the first is taken. Where only the second
     * group buys, the other pulley is worth 20 * (70 - 60) kW more; that comes by a quarter. */
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_OK);
    assert_true(fabs(r.point[r.chosen].value - 1300e3) < 1e-6);
    assert_true(fabs(r.point[r.chosen].worst - 1200e3) < 1e-6);
    assert_int_equal(r.point[r.chosen].worst_in, 0);
    assert_true(fabs(r.known[0].best - 1400e3) < 1e-6 && fabs(r.known[2].best - 1400e3) < 1e-6);
    assert_true(fabs(shv_range_knowing(&f.problem, &r, &most) - 50e3) < 1e-6);
    shv_range_result_free(&r);
}

/* ---- ties ---- */

static void test_equal_plans_are_told_apart_by_the_list(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    fixture_begin(&f);
    for (size_t i = 0; i < 4; i++) {
        fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    }
    for (size_t g = 0; g < 3; g++) {
        struct shv_range_group *group = fixture_group(&f, 1.0);
        for (size_t i = 4; i-- > 0;) { /* all alike, and the last part first */
            fixture_kit(group, 60e3, i, SHV_NONE);
        }
    }
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_OK);
    assert_int_equal(r.point_count, 1);
    assert_int_equal(r.point[0].parts, 1);
    assert_true(r.point[0].stocked[0]);
    assert_true(r.point[0].settled);
    shv_range_result_free(&r);
}

static void test_price_decides_between_equal_kits(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    struct shv_range_group *group = fixture_group(&f, 2.0);
    fixture_kit(group, 60e3, blower, SHV_NONE)->price = 300.0;
    fixture_kit(group, 60e3, blower, SHV_NONE)->price = 200.0;
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_OK);
    assert_int_equal(r.point[0].kit[0], 1);
    assert_int_equal(r.kept[0], 1);
    assert_int_equal(r.serving[0], 2);
    shv_range_result_free(&r);
}

/* ---- the curve ---- */

/* Three groups that each want another pulley of one blower; the first pulley serves all. */
static void three_wishes(struct fixture *f)
{
    fixture_begin(f);
    size_t blower = fixture_part(f, SHV_STOCK_BLOWER, 0.0), pulley[3];
    for (size_t i = 0; i < 3; i++) {
        pulley[i] = fixture_part(f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    }
    for (size_t g = 0; g < 3; g++) {
        struct shv_range_group *group = fixture_group(f, 1.0 + (double)(g * g * g));
        fixture_kit(group, 60e3, blower, pulley[0]);
        fixture_kit(group, 80e3, blower, pulley[g]);
    }
}

static void test_curve_and_knee(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    three_wishes(&f);
    f.problem.choose = SHV_RANGE_KNEE;
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_OK);
    /* Sales 1, 2 and 9: 80 + 60 * 11, then 80 for the 9, then 80 for all. */
    const double value[3] = {740e3, 920e3, 960e3};
    assert_int_equal(r.point_count, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(r.point[i].allowed, i + 2);
        assert_true(fabs(r.point[i].value - value[i]) < 1e-6);
    }
    assert_int_equal(r.knee, 1);
    assert_int_equal(r.chosen, 1);
    shv_range_result_free(&r);
    f.problem.choose = SHV_RANGE_BEST;
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_OK);
    assert_int_equal(r.chosen, 2);
    shv_range_result_free(&r);
}

static void test_knee_of_known_curves(void **state)
{
    (void)state;
    /* Of y = x^(1/2) on 0..1 the distance sqrt(x) - x is greatest at 1/4. */
    double x[5] = {0.0, 0.25, 0.5, 0.75, 1.0}, y[5], straight[5] = {0, 1, 2, 3, 4},
           flat[5] = {1, 1, 1, 1, 1}, hollow[5] = {0, 0.1, 0.3, 0.6, 1.0};
    for (size_t i = 0; i < 5; i++) {
        y[i] = sqrt(x[i]);
    }
    assert_int_equal(shv_range_knee(x, y, 5), 1);
    assert_int_equal(shv_range_knee(x, y, 2), SHV_NONE);
    assert_int_equal(shv_range_knee(x, straight, 5), SHV_NONE);
    assert_int_equal(shv_range_knee(x, flat, 5), SHV_NONE);
    assert_int_equal(shv_range_knee(x, hollow, 5), SHV_NONE);
    /* Equal distances: the fewest parts. */
    const double twice_x[4] = {0, 1, 2, 3}, twice_y[4] = {0, 2, 3, 3};
    assert_int_equal(shv_range_knee(twice_x, twice_y, 4), 1);
}

/* ---- trouble ---- */

static bool never(void *data, size_t done, size_t total)
{
    (void)data;
    (void)done;
    (void)total;
    return false;
}

static void test_stop_is_obeyed(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    const struct shv_range_options options = {.go_on = never};
    three_wishes(&f);
    assert_int_equal(shv_range_solve(&f.problem, &options, &r, &message), SHV_STOPPED);
    assert_false(r.is_whole);
    shv_range_result_free(&r);
}

static void test_senseless_problems(void **state)
{
    (void)state;
    struct fixture f;
    struct shv_range_result r;
    struct shv_message message;
    three_wishes(&f);
    f.group[1].sales = -1.0;
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_BAD_INPUT);
    shv_range_result_free(&r);
    three_wishes(&f);
    f.kit[0][0].part[SHV_STOCK_BLOWER] = 3; /* a pulley */
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_BAD_INPUT);
    shv_range_result_free(&r);
    fixture_begin(&f);
    assert_int_equal(fixture_solve(&f, &r, &message), SHV_BAD_INPUT);
    shv_range_result_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_same_as_trying_every_stock),
        cmocka_unit_test(test_scenarios_same_as_trying_every_stock),
        cmocka_unit_test(test_knowing_by_hand),
        cmocka_unit_test(test_equal_plans_are_told_apart_by_the_list),
        cmocka_unit_test(test_price_decides_between_equal_kits),
        cmocka_unit_test(test_curve_and_knee),
        cmocka_unit_test(test_knee_of_known_curves),
        cmocka_unit_test(test_stop_is_obeyed),
        cmocka_unit_test(test_senseless_problems),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
