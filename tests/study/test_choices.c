/* Trade-offs and the fuels that one kit serves. */
#include "study/edits.h"

static const char base[] =
    TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_LIMITS
    "fuels = ( " TRIAL_FUEL("f") ", " TRIAL_FUEL(
        "other") " );\n"
                 "tradeoffs = ( { best = \"power\"; against = \"charge_temperature\"; },\n"
                 " { best = \"objective\"; against = \"torque\"; third = \"power\"; at = \"1500 "
                 "rpm\"; } );\n"
                 "serves = ( { fuel = \"other\"; weight = 3; }, { fuel = \"f\"; } );\n";

static void what_was_read(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, base);
    assert_int_equal(t.findings.count, 0);
    const struct shv_study *s = &t.study;
    assert_int_equal(s->tradeoff_count, 2);
    assert_int_equal(s->tradeoffs[0].of[0], SHV_TRADE_POWER);
    assert_int_equal(s->tradeoffs[0].of[1], SHV_TRADE_CHARGE_TEMPERATURE);
    assert_int_equal(s->tradeoffs[0].of[2], SHV_TRADE_COUNT);
    assert_int_equal(shv_tradeoff_dims(&s->tradeoffs[0]), 2);
    assert_int_equal(shv_tradeoff_dims(&s->tradeoffs[1]), 3);
    assert_near(s->tradeoffs[1].at, 25.0, 1e-12);
    /* The speed of torque is a point of the rev range now. */
    assert_int_equal(s->engine.speed_count, 4);
    assert_near(s->engine.speeds[1], 25.0, 1e-12);
    assert_int_equal(s->serve_count, 2);
    assert_int_equal(s->serves[0].fuel, 1);
    assert_near(s->serves[0].weight, 3.0, 1e-12);
    assert_int_equal(s->serves[1].fuel, 0);
    assert_near(s->serves[1].weight, 1.0, 1e-12);
    end_trial(&t);
    try_text(
        &t,
        TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_LIMITS TRIAL_FUELS);
    assert_int_equal(t.status, SHV_OK);
    assert_true(t.study.tradeoff_count == 0 && t.study.serve_count == 0);
    assert_true(t.study.tradeoffs == NULL && t.study.serves == NULL);
    end_trial(&t);
}

static void what_is_refused(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"best = \"power\"", "best = \"none\"",
         "tradeoffs[1].best: found \"none\"; accepted: a thing that is wanted; only third may be "
         "none"},
        {"against = \"charge_temperature\"", "against = \"none\"",
         "tradeoffs[1].against: found \"none\"; accepted: a thing that is wanted; only third may "
         "be "
         "none"},
        {"against = \"charge_temperature\"", "against = \"charge_temperature\"; third = \"none\"",
         NULL},
        {"against = \"charge_temperature\"", "against = \"power\"",
         "tradeoffs[1].against: found what best says already; accepted: another"},
        {"third = \"power\"", "third = \"objective\"",
         "tradeoffs[2].third: found what best says already; accepted: another"},
        {"third = \"power\"", "third = \"torque\"",
         "tradeoffs[2].third: found what against says already; accepted: another"},
        {"at = \"1500 rpm\";", "", "tradeoffs[2].at: found nothing; it is required with torque"},
        {"against = \"charge_temperature\";",
         "against = \"charge_temperature\"; at = \"1500 rpm\";",
         "tradeoffs[1].at: found where it has no meaning; accepted: only with torque"},
        {"best = \"objective\"; against = \"torque\"; third = \"power\"",
         "best = \"torque\"; against = \"power\"", NULL},
        {"best = \"objective\"; against = \"torque\"; third = \"power\"",
         "best = \"objective\"; against = \"power\"; third = \"torque\"", NULL},
        {"at = \"1500 rpm\";", "at = \"3500 rpm\";",
         "tradeoffs[2].at: found 3500 rpm; accepted: a speed of the rev range, 1000 to 3000 rpm"},
        {"{ fuel = \"f\"; }", "{ fuel = \"other\"; }",
         "serves[2].fuel: found \"other\" twice; accepted: each fuel once"},
        {"{ fuel = \"f\"; }", "{ fuel = \"f\"; }, { fuel = \"other\"; }",
         "serves[3].fuel: found \"other\" twice; accepted: each fuel once"},
        {"{ fuel = \"f\"; }", "{ fuel = \"othre\"; }",
         "serves[2].fuel: found \"othre\"; accepted: the name of one of this study's fuels; did "
         "you "
         "mean \"other\"?"},
        {"{ fuel = \"f\"; }", "{ fuel = \"something else\"; }",
         "serves[2].fuel: found \"something else\"; accepted: the name of one of this study's "
         "fuels"},
    };
    assert_all_edits(base, edits);
}

/* A word that was not understood is told once, and nothing is made of it. */
static void a_wrong_word_is_told_once(void **state)
{
    (void)state;
    struct trial t;
    try_edit(&t, base, "best = \"power\"; against = \"charge_temperature\"",
             "best = \"xx\"; against = \"yy\"");
    assert_int_equal(t.findings.count, 2);
    assert_non_null(strstr(finding(&t, 0), "tradeoffs[1].best: found \"xx\""));
    assert_non_null(strstr(finding(&t, 1), "tradeoffs[1].against: found \"yy\""));
    end_trial(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_read),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(a_wrong_word_is_told_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
