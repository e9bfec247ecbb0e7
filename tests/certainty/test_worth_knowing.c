/* What is worth knowing before a kit is chosen: which things are asked, and that their worth is in
 * the order that it must be. The arithmetic of one question: test_knowing.c. */
#include "support/choose_studies.h"

#include "certainty/sell.h"
#include "certainty/worth_knowing.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_keep keep;
    double *demand;
    struct sure_plan plan;
    struct shv_sure row;
    struct shv_sure_list list;
    int asked, stop_at;
} g;

static bool watch(void *data, size_t done, size_t total)
{
    (void)data;
    (void)done;
    (void)total;
    return ++g.asked != g.stop_at;
}

static const struct shv_watch watching = {watch, NULL};

/* The best of 60 pulleys that holds with 90 %. */
static void begin(double leakage, double efficiency)
{
    struct shv_sweep_counts counts;
    memset(&g, 0, sizeof g);
    study_held_by_limits(&g.m);
    made_crank_pulleys(&g.m, 1, 0.140, 0.140);
    made_blower_pulleys(&g.m, 60, 0.056, 0.160);
    made_lambdas(&g.m, 1, 0.88, 0.88);
    struct shv_tolerances *t = &g.m.study.tolerances;
    t->given = true;
    t->samples = 256;
    t->seed = 4;
    t->hold = 0.9;
    t->rows = 1;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){leakage > 0.0, SHV_NORMAL, leakage, NAN};
    t->of[SHV_CORRECT_EFFICIENCY] =
        (struct shv_tolerance){efficiency > 0.0, SHV_NORMAL, efficiency, NAN};
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&g.ranking, 5, NULL), SHV_OK);
    assert_int_equal(shv_keep_init(&g.keep, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_tolerance_demand(g.model, &g.space, &g.demand, NULL), SHV_OK);
    const struct shv_sweep_options o = {.keep = &g.keep, .demand = g.demand, .threads = 1};
    assert_int_equal(shv_sweep_run(g.model, &g.space, &o, &g.ranking, &counts, NULL), SHV_OK);
    assert_int_equal(sure_begin(&g.plan, g.model, &watching, NULL), SHV_OK);
    struct sure_sell sell;
    assert_int_equal(sure_sell(g.model, &g.plan, &g.space, &g.keep, &sell, NULL), SHV_OK);
    assert_true(sell.found);
    g.row.index = sell.index;
    g.list = (struct shv_sure_list){.row = &g.row, .count = 1};
    g.asked = 0;
}

static void end(void)
{
    free(g.list.knowing);
    sure_end(&g.plan);
    free(g.demand);
    shv_keep_free(&g.keep);
    shv_ranking_free(&g.ranking);
    shv_model_free(g.model);
    made_end(&g.m);
}

static const struct shv_knowing *named(const char *name)
{
    for (size_t i = 0; i < g.list.knowing_count; i++) {
        if (strcmp(g.list.knowing[i].name, name) == 0) {
            return &g.list.knowing[i];
        }
    }
    return NULL;
}

static void what_is_asked(void **state)
{
    (void)state;
    begin(0.15, 0.02);
    assert_int_equal(sure_worth_knowing(g.model, &g.plan, &g.space, &g.keep, &g.list, NULL),
                     SHV_OK);
    /* Three tolerances, then the measurements that tell something of one of them. */
    static const char *const names[] = {"volumetric_efficiency", "leakage", "efficiency",
                                        "stock_dyno", "blower_flow"};
    const shv_correction_set tells[] = {SHV_CORRECTION_BIT(SHV_CORRECT_VOLUMETRIC_EFFICIENCY),
                                        SHV_CORRECTION_BIT(SHV_CORRECT_LEAKAGE),
                                        SHV_CORRECTION_BIT(SHV_CORRECT_EFFICIENCY),
                                        SHV_CORRECTION_BIT(SHV_CORRECT_VOLUMETRIC_EFFICIENCY) |
                                            SHV_CORRECTION_BIT(SHV_CORRECT_EFFICIENCY),
                                        SHV_CORRECTION_BIT(SHV_CORRECT_LEAKAGE)};
    assert_int_equal(g.list.knowing_count, 5);
    for (size_t i = 0; i < 5; i++) {
        const struct shv_knowing *k = &g.list.knowing[i];
        assert_string_equal(k->name, names[i]);
        assert_int_equal(k->is_measurement, i >= 3);
        assert_true(k->tells == tells[i]);
        assert_true(isfinite(k->gain.value) && k->gain.value >= 0.0 && k->changes >= 0.0 &&
                    k->changes <= 1.0);
    }
    assert_string_equal(named("leakage")->title, shv_correction_info(SHV_CORRECT_LEAKAGE)->title);
    assert_int_equal(g.asked, 5);
    /* Boost hangs on how much the engine takes: that is what to know. A flow test with its error
     * can't be worth more than the leakage exactly, nor the dyno more than both exactly. */
    assert_true(named("volumetric_efficiency")->gain.value > 100.0);
    assert_true(named("volumetric_efficiency")->changes > 0.3);
    assert_true(named("blower_flow")->gain.value < named("leakage")->gain.value);
    assert_true(named("blower_flow")->gain.value > 0.3 * named("leakage")->gain.value);
    assert_true(named("stock_dyno")->gain.value > 0.3 * named("volumetric_efficiency")->gain.value);
    end();
}

/* Narrower tolerances are worth less to know; power alone that no limit hangs on is worth nothing.
 */
static void how_the_worth_goes(void **state)
{
    (void)state;
    begin(0.15, 0.02);
    assert_int_equal(sure_worth_knowing(g.model, &g.plan, &g.space, &g.keep, &g.list, NULL),
                     SHV_OK);
    double wide = named("leakage")->gain.value;
    end();
    begin(0.05, 0.02);
    assert_int_equal(sure_worth_knowing(g.model, &g.plan, &g.space, &g.keep, &g.list, NULL),
                     SHV_OK);
    assert_true(named("leakage")->gain.value < 0.5 * wide);
    /* Indicated efficiency moves every kit's power alike and no margin. */
    assert_true(named("efficiency")->gain.value <
                0.05 * named("volumetric_efficiency")->gain.value);
    end();
    begin(0.0, 0.0);
    assert_int_equal(sure_worth_knowing(g.model, &g.plan, &g.space, &g.keep, &g.list, NULL),
                     SHV_OK);
    assert_int_equal(g.list.knowing_count, 2);
    assert_null(named("blower_flow"));
    end();
}

static void it_can_be_stopped(void **state)
{
    (void)state;
    begin(0.15, 0.02);
    struct shv_message message = {""};
    g.stop_at = 3;
    assert_int_equal(sure_worth_knowing(g.model, &g.plan, &g.space, &g.keep, &g.list, &message),
                     SHV_STOPPED);
    assert_string_equal(message.text, "stopped while tolerances were looked at");
    assert_int_equal(g.list.knowing_count, 2);
    end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_asked),
        cmocka_unit_test(how_the_worth_goes),
        cmocka_unit_test(it_can_be_stopped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
