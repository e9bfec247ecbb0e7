/* The pulley worth having made, against trying every tenth of a millimetre by itself. */
#include "support/study_fixture.h"

#include "search/made_pulley.h"

static struct ground {
    struct made m;
    struct shv_model *model;
} g;

static void prepare(size_t pulleys)
{
    made_begin(&g.m);
    made_crank_pulleys(&g.m, 2, 0.100, 0.112);
    made_blower_pulleys(&g.m, pulleys, 0.060, 0.080);
    made_add_cooler(&g.m, SHV_COOLER_SINGLE_STREAM, 2, 0.5, 0.7);
    g.m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    g.m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 430.0;
    g.model = made_model(&g.m);
}

static void clean(void)
{
    shv_model_free(g.model);
    made_end(&g.m);
}

static struct shv_kit kit_on(const struct shv_kit *kit, double crank, double blower)
{
    struct shv_kit made = *kit;
    made.crank_diameter = crank;
    made.blower_diameter = blower;
    made.ratio = shv_drive_ratio(crank, blower, g.m.study.drive.line_offset);
    return made;
}

/* Best of the listed pairs with the cooler of 0.7. */
static void take_real(struct shv_optimum *o, struct shv_curves *curves)
{
    const struct shv_kit with = {.cooler = 1, .effectiveness = 0.7, .lambda = 0.88};
    *o = (struct shv_optimum){.real_objective = -INFINITY};
    for (size_t c = 0; c < 2; c++) {
        for (size_t b = 0; b < g.m.study.numbers[SHV_DIM_BLOWER_PULLEY].count; b++) {
            struct shv_kit kit = kit_on(&with, g.m.cranks[c], g.m.pulleys[b]);
            shv_model_evaluate(g.model, &kit, curves);
            if (curves->verdict.feasible && curves->verdict.objective > o->real_objective) {
                o->real_found = true;
                o->real = kit;
                o->real_objective = curves->verdict.objective;
            }
        }
    }
    assert_true(o->real_found);
}

static void no_tenth_of_a_millimetre_is_better(void **state)
{
    (void)state;
    struct shv_optimum o;
    struct shv_curves curves;
    prepare(4);
    assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
    take_real(&o, &curves);
    assert_int_equal(made_pulley(g.model, &o, NULL), SHV_OK);
    double best = -INFINITY;
    for (size_t c = 0; c < 2; c++) {
        for (int tenths = 600; tenths <= 800; tenths++) {
            struct shv_kit kit = kit_on(&o.real, g.m.cranks[c], tenths * 1e-4);
            shv_model_evaluate(g.model, &kit, &curves);
            best = curves.verdict.feasible ? fmax(best, curves.verdict.objective) : best;
        }
    }
    assert_true(o.made_found && o.made_objective > o.real_objective);
    assert_same_bits(o.made_objective, best);
    assert_within(remainder(o.made.blower_diameter, MADE_PULLEY_STEP), 0.0, 1e-12);
    shv_model_evaluate(g.model, &o.made, &curves);
    assert_true(curves.verdict.feasible);
    assert_same_bits(curves.verdict.objective, best);
    assert_true(o.evaluations > 400);
    shv_curves_free(&curves);
    clean();
}

/* With every tenth listed nothing is left to make. */
static void none_when_all_are_listed(void **state)
{
    (void)state;
    struct shv_optimum o;
    struct shv_curves curves;
    prepare(201);
    assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
    take_real(&o, &curves);
    assert_int_equal(made_pulley(g.model, &o, NULL), SHV_OK);
    assert_false(o.made_found);
    assert_true(isnan(o.made_objective));
    shv_curves_free(&curves);
    clean();
}

static void none_without_a_real_kit(void **state)
{
    (void)state;
    struct shv_optimum o = {.made_found = true};
    prepare(3);
    assert_int_equal(made_pulley(g.model, &o, NULL), SHV_OK);
    assert_false(o.made_found);
    clean();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_tenth_of_a_millimetre_is_better),
        cmocka_unit_test(none_when_all_are_listed),
        cmocka_unit_test(none_without_a_real_kit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
