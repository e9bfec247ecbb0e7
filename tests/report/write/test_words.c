/* Values and choices in words. */
#include "report/fixture.h"
#include "report/write/words.h"

static void quantities(void **state)
{
    (void)state;
    char w[REPORT_WORDS_MAX];
    assert_string_equal(report_words_quantity(w, REPORT_POWER, SHV_METRIC, 231449.0), "231.4 kW");
    assert_string_equal(report_words_quantity(w, REPORT_POWER, SHV_US, 74569.987), "100.0 hp");
    assert_string_equal(report_words_quantity(w, REPORT_TEMPERATURE, SHV_US, 310.15), "98.6 degF");
    assert_string_equal(report_words_quantity(w, REPORT_NUMBER, SHV_METRIC, 1.8523), "1.852");
    assert_string_equal(report_words_quantity(w, REPORT_POWER, SHV_METRIC, NAN), "-");
}

static void diameters(void **state)
{
    (void)state;
    char w[REPORT_WORDS_MAX];
    assert_string_equal(report_words_diameter(w, SHV_METRIC, 0.150), "150 mm");
    assert_string_equal(report_words_diameter(w, SHV_METRIC, 0.0715), "71.5 mm");
    assert_string_equal(report_words_diameter(w, SHV_US, 0.06985), "2.75 in");
}

static void small_quantities(void **state)
{
    (void)state;
    char w[REPORT_WORDS_MAX];
    assert_string_equal(report_words_fine(w, REPORT_POWER, SHV_METRIC, 1234.0, 2), "1.234 kW");
    assert_string_equal(report_words_fine(w, REPORT_FUEL_DISTANCE, SHV_METRIC, 3.5e-9, 0),
                        "0.35 L/100 km");
    assert_string_equal(report_words_fine(w, REPORT_POWER, SHV_METRIC, NAN, 2), "-");
}

static void money(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX], unit[REPORT_CURRENCY_MAX];
    assert_string_equal(report_words_money(w, &f->study, 1250.0), "1250.00");
    assert_string_equal(report_words_currency(unit, &f->study, "unit"), "unit");
    f->study.currency = "crowns";
    assert_string_equal(report_words_money(w, &f->study, 1250.5), "1250.50 crowns");
    assert_string_equal(report_words_money(w, &f->study, NAN), "-");
    f->study.currency = "a currency\nof a long name";
    assert_string_equal(report_words_currency(unit, &f->study, "unit"), "a currency...");
    f->study.currency = "";
    assert_string_equal(report_words_currency(unit, &f->study, "unit"), "unit");
}

static void fuel_side(void **state)
{
    struct fixture *f = *state;
    char words[REPORT_SUPPLY_MAX];
    struct shv_kit kit = {.injector_flow = 440e-6 / 60.0};
    assert_string_equal(report_words_supply(words, &f->study, &kit), ""); /* nothing is named */
    kit.ignition_margin = 2.5;
    assert_string_equal(report_words_supply(words, &f->study, &kit),
                        ", ignition held 2.5 deg back from knock");
    f->injectors[0].name = "squirt";
    f->injectors[0].is_unlimited = false;
    assert_string_equal(report_words_supply(words, &f->study, &kit),
                        ", ignition held 2.5 deg back from knock, injectors squirt of 440 cm3/min");
    kit.ignition_margin = 0.0;
    f->pumps[0].name = "a pump with a name that is far too long for any sentence";
    f->pumps[0].is_unlimited = false;
    assert_string_equal(report_words_supply(words, &f->study, &kit),
                        ", injectors squirt of 440 cm3/min, pump a pump with a name that is fa...");
}

static void phasing(void **state)
{
    (void)state;
    char words[REPORT_WORDS_MAX];
    assert_string_equal(report_words_phasing(words, 17.26), "17.3 deg after top dead centre");
    assert_string_equal(report_words_phasing(words, -3.0), "3.0 deg before top dead centre");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantities),
        cmocka_unit_test(diameters),
        cmocka_unit_test(small_quantities),
        cmocka_unit_test_setup_teardown(money, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(fuel_side, fixture_setup, fixture_teardown),
        cmocka_unit_test(phasing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
