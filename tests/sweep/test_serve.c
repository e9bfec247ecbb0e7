/* Fronts and kits for several fuels as a sweep finds them, against brute force over
 * shv_model_evaluate. */
#include "support/study_fixture.h"
#include "support/tradeoff.h"

#include "sweep/serve.h"
#include "sheave/serving.h"
#include "sheave/sweep.h"

static struct shv_tradeoff tradeoffs[] = {
    {{SHV_TRADE_POWER, SHV_TRADE_PRICE, SHV_TRADE_COUNT}, 0.0},
    {{SHV_TRADE_TORQUE, SHV_TRADE_MASS, SHV_TRADE_CHARGE_TEMPERATURE}, 0.0},
    {{SHV_TRADE_OBJECTIVE, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_COUNT}, 0.0}};
static struct shv_serve serves[] = {{1, 3.0}, {0, 1.0}};

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_keep expected;
    struct shv_brief *brief; /* of every combination */
} g;

/* Every combination by itself. */
static void brute_force(void)
{
    struct shv_curves curves;
    assert_int_equal(shv_keep_init(&g.expected, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
    g.brief = calloc(g.space.size, sizeof *g.brief);
    assert_non_null(g.brief);
    for (uint64_t i = 0; i < g.space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&g.space, &g.m.study, i, &kit);
        shv_model_evaluate(g.model, &kit, &curves);
        g.brief[i] = (struct shv_brief){curves.verdict.objective, curves.verdict.broken,
                                        (uint8_t)curves.verdict.outcome, 0.0f};
        for (size_t k = 0; curves.verdict.feasible && k < g.m.study.tradeoff_count; k++) {
            struct shv_front_point p = {.index = i};
            kit_tradeoff(g.model, &curves, k, p.value);
            assert_true(shv_front_offer(&g.expected.front[k], &p));
        }
    }
    shv_curves_free(&curves);
}

static int begin(void **state)
{
    (void)state;
    static double ribs[] = {4.0, 5.0, 6.0}, wraps[] = {0.0};
    made_begin(&g.m);
    made_add_site(&g.m, 80000.0, 288.0, 0.3, 2.0);
    made_add_blower(&g.m, made_geometry("larger", 1.4e-3));
    made_blower_pulleys(&g.m, 25, 0.060, 0.130);
    made_add_cooler(&g.m, SHV_COOLER_SINGLE_STREAM, 4, 0.4, 0.8)->per_ntu =
        (struct shv_worth){70.0, 2.0};
    made_add_fuel(&g.m, 9.8, 29.3e6);
    made_lambdas(&g.m, 3, 0.82, 0.94);
    struct shv_belt_setup *b = &g.m.study.drive.belt;
    g.m.study.numbers[SHV_DIM_RIBS] = (struct shv_numbers){ribs, 3};
    g.m.study.numbers[SHV_DIM_WRAP] = (struct shv_numbers){wraps, 1};
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
    b->belt.friction = 0.25;
    b->belt.rib_mass = 0.02;
    b->belt.allowed_tension = 110.0;
    g.m.blowers[0].worth = (struct shv_worth){900.0, 9.0};
    g.m.blowers[1].worth = (struct shv_worth){1300.0, 11.0};
    g.m.study.limit[SHV_LIMIT_BOOST] = 90e3;
    g.m.study.limit[SHV_LIMIT_FUEL_FLOW] = 0.020;
    g.m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 440.0;
    for (size_t i = 0; i < 3; i++) {
        tradeoffs[i].at = g.m.study.engine.speeds[1];
    }
    g.m.study.tradeoffs = tradeoffs;
    g.m.study.tradeoff_count = 3;
    g.m.study.serves = serves;
    g.m.study.serve_count = 2;
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    brute_force();
    return 0;
}

static int end(void **state)
{
    (void)state;
    free(g.brief);
    shv_keep_free(&g.expected);
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

static void swept(int threads, bool exhaustive, struct shv_keep *keep)
{
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    const struct shv_sweep_options options = {.threads = threads, .keep = keep};
    g.m.study.results.exhaustive = exhaustive;
    assert_int_equal(shv_keep_init(keep, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&ranking, 10, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(g.model, &g.space, &options, &ranking, &counts, NULL), SHV_OK);
    shv_ranking_free(&ranking);
}

static void fronts_are_those_of_brute_force(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 3; threads++) {
        struct shv_keep keep;
        swept(threads, threads == 2, &keep);
        for (size_t k = 0; k < 3; k++) {
            const struct shv_front *a = &keep.front[k], *b = &g.expected.front[k];
            assert_true(a->count > 3);
            assert_int_equal(a->count, b->count);
            assert_memory_equal(a->point, b->point, a->count * sizeof *a->point);
        }
        shv_keep_free(&keep);
    }
}

static bool good(uint64_t index)
{
    return g.brief[index].outcome == SHV_POINT_OK && g.brief[index].broken == 0;
}

/* The best objective with a fuel over all setups of one hardware; -INFINITY when none holds. */
static double best_with(uint64_t air, size_t fuel, uint64_t supply)
{
    double best = -INFINITY;
    for (uint64_t lambda = 0; lambda < g.space.count[SHV_DIM_LAMBDA]; lambda++) {
        uint64_t choice[SHV_DIM_COUNT];
        shv_space_split(&g.space, air * g.space.fuel_size + supply, choice);
        choice[SHV_DIM_FUEL] = fuel;
        choice[SHV_DIM_LAMBDA] = lambda;
        uint64_t index = shv_space_join(&g.space, choice);
        best = good(index) ? fmax(best, g.brief[index].objective) : best;
    }
    return best;
}

static double best_hardware(uint64_t air)
{
    double best = -INFINITY;
    for (uint64_t supply = 0; supply < g.space.supply_size; supply++) {
        double mean = (3.0 * best_with(air, 1, supply) + best_with(air, 0, supply)) / 4.0;
        best = fmax(best, mean);
    }
    return best;
}

static void kits_for_both_fuels_are_those_of_brute_force(void **state)
{
    (void)state;
    struct shv_keep keep;
    swept(2, false, &keep);
    size_t holding = 0;
    double top = -INFINITY, alone[2] = {-INFINITY, -INFINITY};
    for (uint64_t air = 0; air < g.space.air_size; air++) {
        double mean = best_hardware(air);
        holding += mean > -INFINITY ? 1 : 0;
        top = fmax(top, mean);
        for (uint64_t supply = 0; supply < g.space.supply_size; supply++) {
            alone[0] = fmax(alone[0], best_with(air, 1, supply));
            alone[1] = fmax(alone[1], best_with(air, 0, supply));
        }
    }
    assert_true(holding > 20 && holding < g.space.air_size);
    assert_int_equal(keep.serving.count, holding < 100 ? holding : 100);
    assert_same_bits(keep.serving.item[0].objective, top);
    assert_same_bits(keep.of_served[0].item[0].objective, alone[0]);
    assert_same_bits(keep.of_served[1].item[0].objective, alone[1]);
    for (size_t i = 0; i < keep.serving.count; i++) {
        const struct shv_candidate *c = &keep.serving.item[i];
        assert_same_bits(c->objective, best_hardware(c->index / g.space.fuel_size));
        assert_true(i == 0 || shv_candidate_before(&keep.serving.item[i - 1], c));
    }
    shv_keep_free(&keep);
}

static void setups_are_found_again(void **state)
{
    (void)state;
    struct shv_keep keep;
    struct shv_serving_kit *kits;
    size_t count;
    swept(1, false, &keep);
    assert_int_equal(shv_serving_kits(g.model, &g.space, &keep, &kits, &count, NULL), SHV_OK);
    assert_int_equal(count, keep.serving.count);
    for (size_t i = 0; i < count; i++) {
        const struct shv_candidate *with = kits[i].with;
        assert_same_bits(kits[i].mean, (3.0 * with[0].objective + with[1].objective) / 4.0);
        assert_true(with[0].index == keep.serving.item[i].index);
        for (size_t k = 0; k < 2; k++) {
            struct shv_kit kit, first;
            shv_space_kit(&g.space, &g.m.study, with[k].index, &kit);
            shv_space_kit(&g.space, &g.m.study, with[0].index, &first);
            assert_int_equal(kit.fuel, serves[k].fuel);
            assert_true(kit.ribs == first.ribs && kit.blower_diameter == first.blower_diameter);
            assert_same_bits(with[k].objective, g.brief[with[k].index].objective);
            assert_true(good(with[k].index));
        }
    }
    free(kits);
    shv_keep_free(&keep);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fronts_are_those_of_brute_force),
        cmocka_unit_test(kits_for_both_fuels_are_those_of_brute_force),
        cmocka_unit_test(setups_are_found_again),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
