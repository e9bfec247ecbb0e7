/* What each tolerance does to a kit: against differences of corrected models made here. */
#include "support/study_fixture.h"

#include "certainty/sure_effects.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct sure_plan plan;
    struct shv_sure row[2];
    shv_limit_set set[2];
    double margin[2 * SHV_LIMIT_COUNT];
} g;

static double spread[2][SHV_CORRECTION_COUNT];

static void begin(struct shv_correlation *correlation)
{
    memset(&g, 0, sizeof g);
    made_begin(&g.m);
    made_add_blower(&g.m, made_geometry("second", 1.1e-3));
    struct shv_tolerances *t = &g.m.study.tolerances;
    t->given = true;
    t->samples = 64;
    t->seed = 1;
    t->hold = 0.9;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.15, NAN};
    t->of[SHV_CORRECT_EFFICIENCY] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.04};
    t->correlations = correlation;
    t->correlation_count = correlation ? 1 : 0;
    for (size_t b = 0; b < 2; b++) {
        for (size_t i = 0; i < SHV_CORRECTION_COUNT; i++) {
            spread[b][i] = 1.0;
        }
    }
    g.m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    g.m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 500.0;
    g.row[0].kit = made_kit(0, 1.7, 0, 0.0, 0.88);
    g.row[1].kit = made_kit(1, 1.5, 0, 0.0, 0.88);
}

static void find(bool slopes, bool margins)
{
    g.model = made_model(&g.m);
    assert_int_equal(sure_begin(&g.plan, g.model, NULL, NULL), SHV_OK);
    assert_int_equal(
        sure_effects(&g.plan, 2, slopes, g.row, g.set, margins ? g.margin : NULL, NULL), SHV_OK);
}

static void end(void)
{
    sure_end(&g.plan);
    shv_model_free(g.model);
    g.m.study.tolerances.correlations = NULL;
    g.m.study.tolerances.spread = NULL;
    made_end(&g.m);
}

/* Quantity 0: the objective; else a margin, with one correction off by so much. */
static double moved(const struct shv_kit *kit, enum shv_correction which, double by, int quantity)
{
    struct shv_corrections c;
    struct shv_model *one;
    struct shv_curves curves;
    shv_corrections_neutral(&c);
    c.value[which] += by;
    assert_int_equal(shv_model_correct(g.model, &c, &one, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, one, NULL), SHV_OK);
    shv_model_evaluate(one, kit, &curves);
    double value =
        quantity == 0 ? curves.verdict.objective : curves.verdict.limit[quantity - 1].margin;
    shv_curves_free(&curves);
    shv_model_free(one);
    return value;
}

static const enum shv_correction given[] = {SHV_CORRECT_VOLUMETRIC_EFFICIENCY, SHV_CORRECT_LEAKAGE,
                                            SHV_CORRECT_EFFICIENCY};
static const double deviation[] = {0.02, 0.15, 0.04 / 1.7320508075688772};

static void differences(void **state)
{
    (void)state;
    begin(NULL);
    find(true, true);
    for (size_t r = 0; r < 2; r++) {
        const struct shv_kit *kit = &g.row[r].kit;
        assert_same_bits(g.row[r].nominal, moved(kit, SHV_CORRECT_LEAKAGE, 0.0, 0));
        for (size_t i = 0; i < 3; i++) {
            for (int q = 0; q <= 1 + SHV_LIMIT_BOOST; q += 1 + SHV_LIMIT_BOOST) {
                const struct shv_sure_effect *e = &g.row[r].effect[given[i]][q];
                double far = 0.5 * (moved(kit, given[i], deviation[i], q) -
                                    moved(kit, given[i], -deviation[i], q));
                double near = moved(kit, given[i], 0.05 * deviation[i], q) -
                              moved(kit, given[i], -0.05 * deviation[i], q);
                assert_within(e->effect, far, 1e-9 * fabs(far) + 1e-9);
                assert_within(e->slope, near / (0.1 * deviation[i]), 1e-6 * fabs(e->slope) + 1e-6);
            }
        }
        /* What has no tolerance has no effect that is known. */
        assert_true(isnan(g.row[r].effect[SHV_CORRECT_CREEP][0].effect) &&
                    isnan(g.row[r].effect[SHV_CORRECT_CREEP][0].slope) &&
                    isnan(g.row[r].effect[SHV_CORRECT_CREEP][0].share));
    }
    end();
}

/* Which limits a kit has, its margins, and whether it holds them. */
static void limits(void **state)
{
    (void)state;
    begin(NULL);
    g.m.study.limit[SHV_LIMIT_BOOST] = 40e3; /* which the first breaks */
    g.row[1].kit.ratio = 0.9;
    find(false, true);
    for (size_t r = 0; r < 2; r++) {
        assert_true((g.set[r] & SHV_LIMIT_BIT(SHV_LIMIT_BOOST)) != 0);
        assert_true((g.set[r] & SHV_LIMIT_BIT(SHV_LIMIT_TORQUE)) == 0);
        assert_same_bits(g.margin[r * SHV_LIMIT_COUNT + SHV_LIMIT_BOOST],
                         moved(&g.row[r].kit, SHV_CORRECT_LEAKAGE, 0.0, 1 + SHV_LIMIT_BOOST));
        assert_true(isnan(g.row[r].effect[SHV_CORRECT_LEAKAGE][0].slope)); /* was not asked for */
        assert_true(isfinite(g.row[r].effect[SHV_CORRECT_LEAKAGE][0].effect));
    }
    assert_true(!g.row[0].nominal_feasible && g.row[1].nominal_feasible);
    assert_true(g.margin[SHV_LIMIT_BOOST] < 0.0 &&
                g.margin[SHV_LIMIT_COUNT + SHV_LIMIT_BOOST] > 0.0);
    end();
}

/* Shares of the variance: each part with the whole, by hand, with a correlation and without. */
static void shares(void **state)
{
    (void)state;
    for (int with = 0; with < 2; with++) {
        const double r = with ? 0.5 : 0.0;
        struct shv_correlation both = {SHV_CORRECT_VOLUMETRIC_EFFICIENCY, SHV_CORRECT_LEAKAGE, r};
        begin(with ? &both : NULL);
        find(true, false);
        double e[3], part[3];
        for (size_t i = 0; i < 3; i++) {
            e[i] = g.row[0].effect[given[i]][0].effect;
        }
        part[0] = e[0] * (e[0] + r * e[1]);
        part[1] = e[1] * (e[1] + r * e[0]);
        part[2] = e[2] * e[2];
        for (size_t i = 0; i < 3; i++) {
            assert_within(g.row[0].effect[given[i]][0].share,
                          part[i] / (part[0] + part[1] + part[2]), 1e-12);
        }
        assert_true(e[0] > 0.0 && e[1] < 0.0 && e[2] > 0.0);
        /* Where nothing does anything there is nothing to share. */
        assert_true(isnan(g.row[0].effect[SHV_CORRECT_LEAKAGE][1 + SHV_LIMIT_TORQUE].share));
        end();
    }
}

/* A blower's own tolerance is a share of the one that is drawn. */
static void a_spread_of_its_own(void **state)
{
    (void)state;
    begin(NULL);
    spread[0][SHV_CORRECT_LEAKAGE] = 0.5;
    spread[1][SHV_CORRECT_LEAKAGE] = 0.0;
    g.m.study.tolerances.spread = spread;
    find(true, false);
    const struct shv_sure_effect half = g.row[0].effect[SHV_CORRECT_LEAKAGE][0];
    const struct shv_sure_effect none = g.row[1].effect[SHV_CORRECT_LEAKAGE][0];
    g.m.study.tolerances.spread = NULL;
    end();
    begin(NULL);
    find(true, false);
    const struct shv_sure_effect whole = g.row[0].effect[SHV_CORRECT_LEAKAGE][0];
    assert_within(half.effect, 0.5 * whole.effect, 0.01 * fabs(whole.effect));
    assert_within(half.slope, whole.slope, 0.01 * fabs(whole.slope)); /* per unit it is the same */
    assert_true(none.effect == 0.0 && none.slope == 0.0 && whole.effect < 0.0);
    end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(differences),
        cmocka_unit_test(limits),
        cmocka_unit_test(shares),
        cmocka_unit_test(a_spread_of_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
