/* One kit over the rev range, for people and as CSV. */
#include "report/pages.h"

struct kit_of_test {
    struct shv_kit kit;
    struct shv_curves curves;
};

static void take(struct fixture *f, struct kit_of_test *k, uint64_t index)
{
    shv_space_kit(&f->space, &f->study, index, &k->kit);
    assert_int_equal(shv_curves_init(&k->curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &k->kit, &k->curves);
}

static char *written(struct fixture *f, const struct kit_of_test *k, bool csv)
{
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_point(&f->study, &k->kit, &k->curves, NULL, csv, out, &f->message),
                     SHV_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

static void assert_says(const char *text, const char *what)
{
    if (!strstr(text, what)) {
        fail_msg("\"%s\" is not in\n%s", what, text);
    }
}

static void shows_sites_limits_and_verdict(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    char expected[160];
    take(f, &k, f->ranking.item[0].index);
    char *text = written(f, &k, false);
    assert_page(text);
    assert_says(text, "== shore: air of 101.3 kPa and 25.0 degC, relative humidity 40 %\n");
    assert_says(text, "== hill: ");
    const struct shv_limit_result *r = &k.curves.verdict.limit[SHV_LIMIT_BOOST];
    (void)snprintf(expected, sizeof expected,
                   "\nboost                        75.0 kPa %8.1f kPa %8.1f kPa %7.1f  %.0f shore",
                   r->value / 1e3, r->margin / 1e3, 100.0 * r->share, f->speeds[r->speed] * 60.0);
    assert_says(text, expected);
    assert_null(strstr(text, "\nbrake torque"));
    assert_says(text, "\nNot limited: belt speed, mean piston speed, pressure ratio, ");
    (void)snprintf(
        expected, sizeof expected,
        "\nVerdict: feasible, every limit is kept. Ranking value (peak power, mean over the "
        "sites): %.1f kW.",
        k.curves.verdict.objective / 1e3);
    assert_says(text, expected);
    free(text);
    shv_curves_free(&k.curves);
}

static void broken_limits_are_marked(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    f->study.limit[SHV_LIMIT_BOOST] = 5e3;
    take(f, &k, f->ranking.item[0].index);
    char *text = written(f, &k, false);
    assert_says(text, " BROKEN\n");
    assert_says(text, "Verdict: not feasible, a limit is broken.");
    free(text);
    shv_curves_free(&k.curves);
}

static void no_answer_is_told_where(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, f->ranking.item[0].index);
    k.curves.point[4].outcome = SHV_POINT_OUTSIDE_MAP;
    k.curves.verdict.outcome = SHV_POINT_OUTSIDE_MAP;
    k.curves.verdict.failed_site = k.curves.verdict.failed_speed = 1;
    k.curves.point[0].bypass_open = true;
    k.curves.verdict.limit[SHV_LIMIT_BOOST].site = k.curves.verdict.limit[SHV_LIMIT_BOOST].speed =
        1;
    char *text = written(f, &k, false);
    assert_page(text);
    assert_says(text, "\nboost                    no answer where it is tightest\n");
    assert_says(text, "    4500    no answer:");
    assert_says(text, "Verdict: no answer at 4500 rpm at hill (outside_map).");
    assert_says(text, "b: the blower can't keep up");
    assert_null(strstr(text, "feasible"));
    free(text);
    shv_curves_free(&k.curves);
}

static void ideal_kits_have_no_pulleys(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, f->ranking.item[0].index);
    k.kit.crank_diameter = k.kit.blower_diameter = NAN;
    f->study.limit[SHV_LIMIT_BELT_SPEED] = 50.0;
    shv_model_evaluate(f->model, &k.kit, &k.curves);
    char *text = written(f, &k, false);
    assert_says(text, "with pulleys in the ratio ");
    assert_says(text, "\nbelt speed               not known for this kit\n");
    assert_null(strstr(text, "nan"));
    free(text);
    shv_curves_free(&k.curves);
}

static void no_cooler_is_said_in_words(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, 0);
    for (k.kit.cooler = 0; k.kit.cooler < 2; k.kit.cooler++) {
        k.kit.effectiveness = k.kit.cooler == 0 ? 0.0 : 0.5;
        shv_model_evaluate(f->model, &k.kit, &k.curves);
        char *text = written(f, &k, false);
        for (char *c = text; (c = strchr(c, '\n')); *c = ' ') {
        }
        assert_says(text, k.kit.cooler == 0 ? "), no charge cooler, fuel pump-95 at"
                                            : "), cooler core-small of effectiveness 0.5, fuel");
        free(text);
    }
    shv_curves_free(&k.curves);
}

static void burning_has_a_table_of_its_own(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    char expected[160];
    take(f, &k, 2); /* margin 3 deg, the smaller injectors */
    char *text = written(f, &k, false);
    const struct shv_point *p = &k.curves.point[1];
    assert_page(text);
    (void)snprintf(expected, sizeof expected,
                   "\n    4500 %8.1f %8.1f %8.3f %8.1f %8.1f %8.3f %8.1f %8.1f %8.1f\n", p->ca50,
                   p->phasing_retard, p->knock_integral, p->peak_pressure / 1e5,
                   p->exhaust_temperature - 273.15, p->cycle_efficiency,
                   p->fuel_volume_flow * 3.6e6, 100.0 * p->injector_duty, 100.0 * p->pump_flow);
    assert_says(text, expected);
    assert_says(text, "\nBurning and fuel\n");
    assert_says(text, "\nretard                       32.0 deg ");
    assert_says(text, "\ninjector duty                  90.0 % ");
    assert_says(text, "\nshare of pump flow            100.0 % ");
    for (char *c = text; (c = strchr(c, '\n')); *c = ' ') {
    }
    assert_says(text,
                ", ignition held 3 deg back from knock, injectors squirt of 450 cm3/min, pump "
                "in-tank.");
    free(text);
    shv_curves_free(&k.curves);
}

/* Shares that have no finite value. */
static void no_flow_is_told(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    f->study.rail = (struct shv_fuel_rail){10e3, SHV_RAIL_AMBIENT, 1};
    f->pumps[0].pump.line_loss = 700e3;
    take(f, &k, f->space.size - 1);
    char *text = written(f, &k, false);
    assert_page(text);
    assert_says(text, " no flow   beyond");
    assert_says(text, "no flow: the manifold's pressure is that of the fuel rail or higher.\n");
    assert_says(text, "beyond: the pressure lies beyond the last point of the pump's curve.\n");
    assert_says(text, "\nshare of pump flow            100.0 %       beyond            -       - ");
    assert_says(text, " BROKEN\n");
    assert_null(strstr(text, "inf"));
    free(text);
    shv_curves_free(&k.curves);
}

static void no_cycle_keeps_the_air(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, 0);
    struct shv_point *p = &k.curves.point[1];
    p->outcome = SHV_POINT_NO_CYCLE;
    p->brake_power = p->torque = p->ca50 = NAN;
    k.curves.verdict.outcome = SHV_POINT_NO_CYCLE;
    k.curves.verdict.failed_site = 0;
    k.curves.verdict.failed_speed = 1;
    char *text = written(f, &k, false);
    assert_page(text);
    assert_null(strstr(text, "no answer:"));
    assert_says(text, " c\n");
    assert_says(text, "c: the closed cycle has no answer there");
    assert_says(text, "Verdict: no answer at 4500 rpm at shore (no_cycle).");
    free(text);
    shv_curves_free(&k.curves);
}

static void limits_of_the_kit_and_lower_bounds(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    char expected[160];
    take(f, &k, f->ranking.item[0].index);
    char *text = written(f, &k, false);
    const struct shv_limit_result *price = &k.curves.verdict.limit[SHV_LIMIT_PRICE];
    const struct shv_limit_result *life = &k.curves.verdict.limit[SHV_LIMIT_BEARING_LIFE];
    assert_page(text);
    (void)snprintf(expected, sizeof expected,
                   "\nprice, crowns                 3400.00 %12.2f %12.2f %7.1f     - whole kit\n",
                   price->value, price->margin, 100.0 * price->share);
    assert_says(text, expected);
    (void)snprintf(expected, sizeof expected, "\nbearing life                 >= 500 h %10.0f h ",
                   life->value / 3600.0);
    assert_says(text, expected);
    assert_says(text, "\nclearance left               >= 0.001 ");
    free(text);
    f->study.limit[SHV_LIMIT_BEARING_LIFE] = 2.0 * life->value;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    shv_model_evaluate(f->model, &k.kit, &k.curves);
    text = written(f, &k, false);
    assert_says(text, "   -50.0     - whole kit       BROKEN\n");
    (void)snprintf(expected, sizeof expected, "Ranking value (least price): %.2f crowns.\n",
                   k.curves.hardware.price);
    assert_says(text, expected);
    free(text);
    shv_curves_free(&k.curves);
}

static void belt_has_a_table_and_blocks_of_its_own(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    char expected[160];
    take(f, &k, f->ranking.item[0].index);
    char *text = written(f, &k, false);
    const struct shv_point *p = &k.curves.point[1];
    (void)snprintf(expected, sizeof expected, "\n    4500 %8.1f %8.0f %8.0f %8.2f\n",
                   100.0 * p->belt_slip, p->belt_tension, p->hub_load,
                   (p->ambient_pressure - p->inlet_pressure) / 1e3);
    assert_says(text, "\nBelt and intake\n");
    assert_says(text, expected);
    assert_says(text, "\nHardware\nbelt   ");
    assert_says(text, "\nAt cruise: ");
    free(text);
    k.curves.point[1].belt_slip = INFINITY;
    text = written(f, &k, false);
    assert_page(text);
    assert_says(text, "\n    4500  no grip ");
    assert_says(text,
                "\nno grip: centrifugal tension has used up the static tension of the belt.\n");
    free(text);
    shv_curves_free(&k.curves);
}

static void other_kits_say_nothing_of_it(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, f->ranking.item[0].index);
    char *text = written(f, &k, false);
    assert_null(strstr(text, "Belt and intake"));
    assert_null(strstr(text, "Hardware"));
    assert_null(strstr(text, "At cruise"));
    free(text);
    shv_curves_free(&k.curves);
}

static void stock_engine_is_not_judged(void **state)
{
    struct fixture *f = *state;
    struct shv_curves stock;
    char *text;
    size_t size;
    assert_int_equal(shv_curves_init(&stock, f->model, NULL), SHV_OK);
    shv_model_evaluate_stock(f->model, &stock);
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_point(&f->study, NULL, &stock, NULL, false, out, &f->message),
                     SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text);
    assert_says(text, "The engine as it left the factory");
    assert_says(text, "\nEngine\n");
    assert_null(strstr(text, "Blower and drive"));
    assert_null(strstr(text, "Verdict"));
    assert_null(strstr(text, "nan"));
    free(text);
    shv_curves_free(&stock);
}

static void pages_stay_narrow_with_any_names(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    use_long_names(f);
    for (int units = SHV_METRIC; units <= SHV_US; units++) {
        f->study.results.units = (enum shv_unit_system)units;
        take(f, &k, f->space.size - 1);
        char *text = written(f, &k, false);
        assert_page(text);
        assert_says(text, units == SHV_US ? " hp" : " kW");
        free(text);
        shv_curves_free(&k.curves);
    }
}

static void csv_has_the_columns_of_curves(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, f->ranking.item[0].index);
    struct csv *point = csv_parse(written(f, &k, true));
    assert_even(point);
    assert_int_equal(shv_report_file(&f->run, "curves.csv", f->folder, &f->message), SHV_OK);
    struct csv *curves = csv_parse(read_whole(f->folder, "curves.csv"));
    assert_int_equal(point->records, 1 + 6);
    assert_int_equal(point->fields[0] + 1, curves->fields[0]); /* all but the rank */
    for (size_t r = 0; r < 7; r++) {
        for (size_t i = 0; i < point->fields[0]; i++) {
            assert_string_equal(point->cell[r][i], curves->cell[r][i + 1]);
        }
    }
    csv_free(point);
    csv_free(curves);
    shv_curves_free(&k.curves);
}

static void full_device_is_told(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k, f->ranking.item[0].index);
    for (int csv = 0; csv < 2; csv++) {
        FILE *out = fopen("/dev/full", "w");
        assert_non_null(out);
        assert_int_equal(
            shv_report_point(&f->study, &k.kit, &k.curves, NULL, csv == 1, out, &f->message),
            SHV_IO);
        assert_non_null(strstr(f->message.text, "No space left on device"));
        (void)fclose(out);
    }
    shv_curves_free(&k.curves);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)
#define TEST_CYCLE(name)                                                                           \
    cmocka_unit_test_setup_teardown(name, fixture_cycle_setup, fixture_teardown)
#define TEST_BELT(name) cmocka_unit_test_setup_teardown(name, fixture_belt_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(shows_sites_limits_and_verdict),
        TEST(broken_limits_are_marked),
        TEST(no_answer_is_told_where),
        TEST(ideal_kits_have_no_pulleys),
        TEST(pages_stay_narrow_with_any_names),
        TEST(csv_has_the_columns_of_curves),
        TEST(full_device_is_told),
        TEST(no_cooler_is_said_in_words),
        TEST(stock_engine_is_not_judged),
        TEST_CYCLE(stock_engine_is_not_judged),
        TEST_BELT(stock_engine_is_not_judged),
        TEST_BELT(limits_of_the_kit_and_lower_bounds),
        TEST_BELT(belt_has_a_table_and_blocks_of_its_own),
        TEST(other_kits_say_nothing_of_it),
        TEST_BELT(pages_stay_narrow_with_any_names),
        TEST_BELT(csv_has_the_columns_of_curves),
        TEST_BELT(ideal_kits_have_no_pulleys),
        TEST_CYCLE(burning_has_a_table_of_its_own),
        TEST_CYCLE(no_flow_is_told),
        TEST_CYCLE(no_cycle_keeps_the_air),
        TEST_CYCLE(csv_has_the_columns_of_curves),
        TEST_CYCLE(pages_stay_narrow_with_any_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
