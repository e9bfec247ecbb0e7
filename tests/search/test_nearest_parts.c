/* Real parts near an ideal kit, against brute force over all real combinations. */
#include "support/choose_studies.h"

#include "search/nearest_parts.h"

struct bench {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_curves c;
};

static void begin(struct bench *b)
{
    b->model = made_model(&b->m);
    assert_int_equal(shv_space_init(&b->space, &b->m.study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&b->c, b->model, NULL), SHV_OK);
}

static void end(struct bench *b)
{
    shv_curves_free(&b->c);
    shv_model_free(b->model);
    made_end(&b->m);
}

/* As the search hands it over, with the ideal kit evaluated. */
static struct shv_optimum ideal_at(struct bench *b, size_t blower, size_t cooler, double ratio,
                                   double effectiveness, double lambda)
{
    struct shv_optimum o = {.blower = blower,
                            .found = true,
                            .ideal = made_kit(blower, ratio, cooler, effectiveness, lambda),
                            .real_objective = NAN,
                            .loss = NAN};
    shv_model_evaluate(b->model, &o.ideal, &b->c);
    o.objective = b->c.verdict.objective;
    return o;
}

static void look(struct bench *b, struct shv_optimum *o)
{
    nearest_parts(b->model, &b->space, o, &b->c);
}

/* The best feasible real combination with this blower, cooler, first fuel and this lambda. */
static struct shv_candidate best_real(struct bench *b, const struct shv_optimum *o)
{
    struct shv_candidate best = {-INFINITY, UINT64_MAX};
    for (uint64_t i = 0; i < b->space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&b->space, &b->m.study, i, &kit);
        if (kit.blower != o->blower || kit.cooler != o->ideal.cooler || kit.fuel != 0 ||
            kit.lambda != o->ideal.lambda) {
            continue;
        }
        shv_model_evaluate(b->model, &kit, &b->c);
        if (b->c.verdict.feasible && b->c.verdict.objective > best.objective) {
            best = (struct shv_candidate){b->c.verdict.objective, i};
        }
    }
    return best;
}

/* The ideal is a real kit: nothing is lost. */
static void a_real_ideal_is_found_without_loss(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    made_add_cooler(&b.m, SHV_COOLER_SINGLE_STREAM, 5, 0.4, 0.8);
    made_blower_pulleys(&b.m, 30, 0.055, 0.113);
    b.m.study.limit[SHV_LIMIT_ROTOR_SPEED] = 231.0;
    begin(&b);
    /* the smallest pulley that keeps the rotors below the limit; more ratio is more power here */
    size_t at = 0;
    while (110.0 * 143.0 / (1e3 * b.m.pulleys[at] + 3.0) * 0.992 > 231.0) {
        at++;
    }
    double ratio = shv_drive_ratio(0.140, b.m.pulleys[at], 0.0015);
    struct shv_optimum o = ideal_at(&b, 0, 1, ratio, b.m.effectiveness[1][2], 0.88);
    look(&b, &o);
    assert_true(o.real_found && o.loss <= 1e-12);
    assert_same_bits(o.real.blower_diameter, b.m.pulleys[at]);
    assert_true(o.evaluations > 0 && o.evaluations <= 4 * 3);
    end(&b);
}

/* Held by limits and without a cooler, the best real kit is the one with the largest feasible
 * ratio, which lies next to the ideal one for its crank pulley. */
static void finds_the_best_real_kit_below_a_limit(void **state)
{
    (void)state;
    static struct bench b;
    study_held_by_limits(&b.m);
    made_crank_pulleys(&b.m, 5, 0.120, 0.160);
    made_blower_pulleys(&b.m, 61, 0.055, 0.175);
    begin(&b);
    const double boosts[] = {30e3, 45e3, 60e3, 75e3};
    for (size_t i = 0; i < sizeof boosts / sizeof *boosts; i++) {
        b.m.study.limit[SHV_LIMIT_BOOST] = boosts[i];
        double low = 0.85, high = 2.8; /* the largest feasible ratio */
        for (int k = 0; k < 50; k++) {
            double middle = 0.5 * (low + high);
            (void)ideal_at(&b, 0, 0, middle, 0.0, 0.84);
            *(b.c.verdict.feasible ? &low : &high) = middle;
        }
        struct shv_optimum o = ideal_at(&b, 0, 0, low, 0.0, 0.84);
        look(&b, &o);
        struct shv_candidate best = best_real(&b, &o);
        assert_true(o.real_found);
        assert_same_bits(o.real_objective, best.objective);
        assert_true(o.real_index == best.index);
        assert_relative(o.loss, 1.0 - best.objective / o.objective, 1e-10);
        assert_true(o.loss >= 0.0 && o.loss < 0.02);
    }
    end(&b);
}

/* Without limits more ratio is more power: of the two pulleys on either side of the ideal diameter
 * the smallest must win, although the others lie nearer. */
static void two_pulleys_on_either_side_are_tried(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    made_blower_pulleys(&b.m, 40, 0.055, 0.115);
    begin(&b);
    double diameter = 143.0 / 1.9 / 1e3 - 0.003;
    size_t above = 0;
    while (b.m.pulleys[above] < diameter) {
        above++;
    }
    struct shv_optimum o = ideal_at(&b, 0, 0, 1.9, 0.0, 0.88);
    look(&b, &o);
    assert_true(o.real_found && above >= 2);
    assert_same_bits(o.real.blower_diameter, b.m.pulleys[above - 2]);
    assert_int_equal(o.evaluations, 4);
    end(&b);
}

/* Both coolers' own choices come one after the other in the space: the right ones must be tried. */
static void the_cooler_is_the_ideal_one(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    made_add_cooler(&b.m, SHV_COOLER_SINGLE_STREAM, 7, 0.3, 0.6);
    made_add_cooler(&b.m, SHV_COOLER_COUNTERFLOW, 5, 0.5, 0.9);
    made_add_blower(&b.m, made_geometry("larger", 1.3e-3));
    made_lambdas(&b.m, 3, 0.82, 0.90);
    begin(&b);
    struct shv_optimum o = ideal_at(&b, 1, 2, 1.7, 0.83, b.m.lambdas[1]);
    look(&b, &o);
    assert_true(o.real_found);
    assert_int_equal(o.real.blower, 1);
    assert_int_equal(o.real.cooler, 2);
    assert_same_bits(o.real.lambda, b.m.lambdas[1]);
    assert_true(fabs(o.real.effectiveness - 0.83) < 0.1 + 1e-12); /* on either side: 0.8 or 0.9 */
    end(&b);
}

/* The belt is known for real parts only: large crank pulleys may be out although the ideal kit is
 * fine. */
static void belt_speed_rules_out_real_parts(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    made_crank_pulleys(&b.m, 2, 0.130, 0.170);
    made_blower_pulleys(&b.m, 40, 0.055, 0.115);
    b.m.study.limit[SHV_LIMIT_BELT_SPEED] = MADE_PI * 0.15 * 110.0;
    begin(&b);
    struct shv_optimum o = ideal_at(&b, 0, 0, 1.9, 0.0, 0.88);
    look(&b, &o);
    assert_true(o.real_found);
    assert_same_bits(o.real.crank_diameter, 0.130);
    end(&b);
}

static void nothing_real_is_feasible(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    b.m.study.limit[SHV_LIMIT_BELT_SPEED] = 1.0;
    begin(&b);
    struct shv_optimum o = ideal_at(&b, 0, 0, 1.9, 0.0, 0.88);
    look(&b, &o);
    assert_false(o.real_found);
    assert_true(isnan(o.real_objective) && isnan(o.loss) && o.evaluations > 0);
    end(&b);
}

/* Without an offset 125/62.5 and 250/125 have the same ratio, and the lower number wins. */
static void ties_go_to_the_lower_number(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    b.m.study.drive.line_offset = 0.0;
    made_crank_pulleys(&b.m, 2, 0.125, 0.250);
    made_blower_pulleys(&b.m, 2, 0.0625, 0.125); /* powers of two apart: ratios exactly equal */
    b.m.study.limit[SHV_LIMIT_ROTOR_SPEED] = 220.0;
    begin(&b);
    struct shv_optimum o = ideal_at(&b, 0, 0, 2.0, 0.0, 0.88);
    look(&b, &o);
    assert_true(o.real_found);
    assert_same_bits(o.real.ratio, 2.0);
    assert_same_bits(o.real.crank_diameter, 0.125);
    assert_true(o.real_index == best_real(&b, &o).index);
    end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_real_ideal_is_found_without_loss),
        cmocka_unit_test(finds_the_best_real_kit_below_a_limit),
        cmocka_unit_test(two_pulleys_on_either_side_are_tried),
        cmocka_unit_test(the_cooler_is_the_ideal_one),
        cmocka_unit_test(belt_speed_rules_out_real_parts),
        cmocka_unit_test(nothing_real_is_feasible),
        cmocka_unit_test(ties_go_to_the_lower_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
