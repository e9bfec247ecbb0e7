/* The ideal of one blower and fuel, each stage against what is tried here by hand. */
#include "support/choose_studies.h"

#include "search/ideal.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_keep keep;
    struct shv_optimum o;
} g;

static void prepare(void)
{
    struct shv_sweep_counts counts;
    g.m.study.search.enabled = true;
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_keep_init(&g.keep, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&g.ranking, 10, NULL), SHV_OK);
    const struct shv_sweep_options options = {.threads = 1, .keep = &g.keep};
    assert_int_equal(shv_sweep_run(g.model, &g.space, &options, &g.ranking, &counts, NULL), SHV_OK);
    shv_ranking_sort(&g.ranking);
}

static void find(size_t at)
{
    const struct ideal_case with = {g.model, &g.space, &g.keep};
    struct shv_message message = {""};
    memset(&g.o, 0x5a, sizeof g.o);
    if (ideal_find(&with, at, &g.o, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
}

static void clean(void)
{
    shv_keep_free(&g.keep);
    shv_ranking_free(&g.ranking);
    shv_model_free(g.model);
    made_end(&g.m);
}

static double objective_of(const struct shv_kit *kit)
{
    struct shv_curves v;
    assert_int_equal(shv_curves_init(&v, g.model, NULL), SHV_OK);
    shv_model_evaluate(g.model, kit, &v);
    double objective = v.verdict.feasible ? v.verdict.objective : NAN;
    shv_curves_free(&v);
    return objective;
}

static void blower_and_fuel_of_a_number(void **state)
{
    (void)state;
    study_held_by_limits(&g.m);
    made_lambdas(&g.m, 1, 0.88, 0.88);
    made_add_blower(&g.m, made_geometry("larger", 1.1e-3));
    made_add_fuel(&g.m, 9.8, 29.3e6);
    prepare();
    for (size_t at = 0; at < 4; at++) {
        find(at);
        assert_true(g.o.blower == at / 2 && g.o.fuel == at % 2);
        assert_true(g.o.found && g.o.ideal.blower == at / 2 && g.o.ideal.fuel == at % 2);
        assert_same_bits(g.o.objective, objective_of(&g.o.ideal));
        assert_true(g.o.plain_difference < 1e-9);
        /* No less than the best that was swept, of which it tells the loss. */
        const struct shv_near *near = &g.keep.near[at * SHV_NEAR_KINDS];
        double swept = -INFINITY;
        for (size_t k = 0; k < SHV_NEAR_KINDS; k++) {
            swept = near[k].count > 0 ? fmax(swept, near[k].item[0].candidate.objective) : swept;
        }
        assert_true(g.o.objective >= swept && g.o.real_found);
        assert_same_bits(g.o.real_objective, swept);
        struct shv_kit real;
        shv_space_kit(&g.space, &g.m.study, g.o.real_index, &real);
        assert_same_bits(objective_of(&real), swept);
        assert_within(g.o.loss, 1.0 - swept / g.o.objective, 1e-12);
        /* The scans' 2,693, and those of the finish. */
        assert_true(g.o.searches >= 2 && g.o.evaluations > 3000);
    }
    clean();
}

/* By central differences of steps ten times as wide. */
static void elasticities(void **state)
{
    (void)state;
    study_with_inner_optimum(&g.m);
    made_lambdas(&g.m, 1, 1.05, 1.05);
    prepare();
    find(0);
    assert_false(g.m.coolers[g.o.ideal.cooler].is_none);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        struct shv_kit kit[2] = {g.o.ideal, g.o.ideal};
        double step = 1e-3;
        for (int side = 0; side < 2; side++) {
            double by = 1.0 + (side ? step : -step);
            kit[side].ratio *= k == SHV_FREE_RATIO ? by : 1.0;
            kit[side].effectiveness *= k == SHV_FREE_EFFECTIVENESS ? by : 1.0;
            kit[side].lambda *= k == SHV_FREE_LAMBDA ? by : 1.0;
        }
        double expected =
            (objective_of(&kit[1]) - objective_of(&kit[0])) / (2.0 * step) / fabs(g.o.objective);
        if (k == SHV_FREE_WRAP) {
            assert_true(isnan(g.o.elasticity[k])); /* there is no belt */
        } else {
            assert_within(g.o.elasticity[k], expected, 2e-4 + 0.02 * fabs(expected));
        }
    }
    assert_true(fabs(g.o.elasticity[SHV_FREE_LAMBDA]) > 0.1);
    assert_int_equal(g.o.binding, -1);
    assert_true(isnan(g.o.binding_share));
    clean();
}

/* The best without a cooler, over ratios tried in steps ten times as fine as the pulleys. */
static void without_a_cooler(void **state)
{
    (void)state;
    study_held_by_limits(&g.m);
    made_lambdas(&g.m, 1, 0.84, 0.84);
    prepare();
    find(0);
    double ratio[2], none[2] = {0.0, 0.0};
    ratio_ends(&g.m.study, ratio);
    double best = grid_best(g.model, made_kit(0, 0.0, 0, 0.0, 0.84), ratio, 400, none, 1);
    assert_true(g.o.uncooled_found && g.m.coolers[g.o.uncooled.cooler].is_none);
    assert_same_bits(g.o.uncooled_objective, objective_of(&g.o.uncooled));
    assert_true(g.o.uncooled_objective >= best && g.o.uncooled_objective < 1.02 * best);
    assert_true(g.o.uncooled_objective < g.o.objective);
    /* A limit holds it, and it is told which and how little is left. */
    struct shv_curves v;
    assert_int_equal(shv_curves_init(&v, g.model, NULL), SHV_OK);
    shv_model_evaluate(g.model, &g.o.ideal, &v);
    assert_int_equal(g.o.binding, v.verdict.binding);
    assert_true(g.o.binding >= 0 && g.o.binding_share < 1e-3 && g.o.binding_share >= 0.0);
    shv_curves_free(&v);
    clean();
}

/* What runs round the crank pulley may not be too fast: the large ones can't be, and the ideal is
 * on the one that is best of all. */
static void find_crank_pulley(double least_pulley)
{
    study_held_by_limits(&g.m);
    made_lambdas(&g.m, 1, 0.84, 0.84);
    made_crank_pulleys(&g.m, 8, 0.110, 0.180);
    g.m.study.limit[SHV_LIMIT_BOOST] = 140e3;
    g.m.study.limit[SHV_LIMIT_PULLEY_DIAMETER] = least_pulley;
    g.m.study.limit[SHV_LIMIT_BELT_SPEED] = 50.0; /* of 110 turns a second at 145 mm */
    prepare();
    find(0);
    assert_true(g.o.found && g.o.ideal.crank_diameter > 0.0);
    double best = -INFINITY;
    for (size_t c = 0; c < 8; c++) {
        for (double d = 0.0560; d < 0.1600; d += 1e-3) {
            for (double e = 0.45; e < 0.7501; e += 0.1) {
                struct shv_kit kit = made_kit(0, 0.0, 1, e, 0.84);
                kit.crank_diameter = g.m.cranks[c];
                kit.blower_diameter = d;
                kit.ratio = shv_drive_ratio(g.m.cranks[c], d, g.m.study.drive.line_offset);
                double objective = objective_of(&kit);
                best = objective > best ? objective : best;
            }
        }
    }
    assert_true(g.o.objective >= best * (1.0 - 1e-9));
    assert_relative(shv_drive_ratio(g.o.ideal.crank_diameter, g.o.ideal.blower_diameter,
                                    g.m.study.drive.line_offset),
                    g.o.ideal.ratio, 1e-12);
    clean();
}

static void the_best_crank_pulley(void **state)
{
    (void)state;
    find_crank_pulley(0.075);
    find_crank_pulley(INFINITY); /* the belt's speed alone says that others are worth trying */
}

/* The larger injector carries more, but costs more than the kit may. */
static void a_supply_that_can_be_paid(void **state)
{
    (void)state;
    study_held_by_limits(&g.m);
    made_lambdas(&g.m, 1, 0.84, 0.84);
    g.m.study.injector_count = 2;
    for (size_t i = 0; i < 2; i++) {
        g.m.injectors[i] = (struct shv_injector_part){.name = i ? "large" : "small",
                                                      .rated_flow = {g.m.injector_flows[i], 1},
                                                      .rated_pressure = 300e3,
                                                      .test_density = 684.0,
                                                      .dead_time = 0.9e-3,
                                                      .max_duty = 0.85};
        g.m.injector_flows[i][0] = i ? 14e-6 : 9e-6;
        g.m.injectors[i].worth.price = i ? 900.0 : 300.0;
    }
    g.m.study.base.worth.price = 1000.0;
    for (int paid = 0; paid < 2; paid++) {
        g.m.study.limit[SHV_LIMIT_PRICE] = paid ? 3000.0 : INFINITY;
        g.m.study.search.enabled = true;
        prepare();
        find(0);
        assert_true(g.o.found);
        assert_int_equal(g.o.ideal.injector, paid ? 0 : 1);
        shv_keep_free(&g.keep);
        shv_ranking_free(&g.ranking);
        shv_model_free(g.model);
    }
    made_end(&g.m);
}

/* Nothing from the sweep to start from, or nothing that holds at all. */
static void blind_and_in_vain(void **state)
{
    (void)state;
    study_held_by_limits(&g.m);
    prepare();
    find(0);
    double with = g.o.objective;
    shv_keep_clear(&g.keep);
    find(0);
    assert_relative(g.o.objective, with, 1e-7);
    size_t nears = g.keep.nears;
    g.keep.nears = 0;
    find(0);
    assert_relative(g.o.objective, with, 1e-7);
    assert_true(g.o.real_found); /* near the ideal */
    g.keep.nears = nears;
    clean();
    study_held_by_limits(&g.m);
    g.m.study.limit[SHV_LIMIT_BOOST] = -20e3;
    g.m.study.limit[SHV_LIMIT_ROTOR_SPEED] = 1.0;
    prepare();
    find(0);
    assert_true(!g.o.found && !g.o.uncooled_found && !g.o.real_found && !g.o.made_found);
    assert_true(g.o.binding == -1 && isnan(g.o.objective) && isnan(g.o.loss) && isnan(g.o.retard));
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        assert_true(isnan(g.o.elasticity[k]));
    }
    clean();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blower_and_fuel_of_a_number),
        cmocka_unit_test(elasticities),
        cmocka_unit_test(without_a_cooler),
        cmocka_unit_test(the_best_crank_pulley),
        cmocka_unit_test(a_supply_that_can_be_paid),
        cmocka_unit_test(blind_and_in_vain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
