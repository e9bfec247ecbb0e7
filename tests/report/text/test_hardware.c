/* Blocks of text on belt, bearing, worth and cruise. */
#include "report/pages.h"
#include "report/text/hardware.h"

struct kit_of_test {
    struct shv_kit kit;
    struct shv_curves curves;
};

static void take(struct fixture *f, struct kit_of_test *k)
{
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &k->kit);
    assert_int_equal(shv_curves_init(&k->curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &k->kit, &k->curves);
}

/* NULL when nothing is said. */
static char *written(const struct fixture *f, const struct kit_of_test *k, bool cruise)
{
    char *text;
    size_t size;
    struct report_text lines;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    report_text_init(&lines, out);
    if (cruise) {
        struct shv_bypass_sizing area;
        double drag = f->study.limit[SHV_LIMIT_CRUISE_DRAG];
        bool sized = !isinf(drag) && shv_model_bypass_area(f->model, &k->kit, drag, &area);
        report_show_cruise(&lines, &f->study, &k->kit, &k->curves, sized ? &area : NULL);
    } else {
        report_show_hardware(&lines, &f->study, &k->kit, &k->curves);
    }
    assert_int_equal(report_text_finish(&lines, "it", NULL), SHV_OK);
    assert_int_equal(fclose(out), 0);
    if (size == 0) {
        free(text);
        return NULL;
    }
    assert_page(text);
    return text;
}

static void assert_says(const char *text, const char *what)
{
    if (!strstr(text, what)) {
        fail_msg("\"%s\" is not in\n%s", what, text);
    }
}

static void belt_bearing_and_worth(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    char expected[1024];
    take(f, &k);
    const struct shv_hardware *h = &k.curves.hardware;
    const struct shv_limit_result *tension = &k.curves.verdict.limit[SHV_LIMIT_BELT_TENSION];
    const double degrees = 57.295779513082323;
    (void)snprintf(expected, sizeof expected,
                   "\nHardware\n"
                   "belt                               4 ribs, 14.2 mm wide\n"
                   "length at the pitch line           %.1f mm\n"
                   "wrap on crank and blower pulley    %.1f and %.1f deg\n"
                   "static tension of one side         %.0f N, as the margin against slip needs\n"
                   "highest share of the grip          100.0 %% at 6600 rpm at shore\n"
                   "highest tension of one rib         %.0f N at %.0f rpm at %s\n"
                   "highest hub load                   %.0f N\n"
                   "life of the nose bearing           %.0f h\n"
                   "duty above continuous rotor speed  10.0 %%\n"
                   "price                              %.2f crowns\n"
                   "mass                               %.1f kg\n",
                   h->belt_length * 1e3, h->crank_wrap * degrees, h->blower_wrap * degrees,
                   h->static_tension, tension->value, f->speeds[tension->speed] * 60.0,
                   f->sites[tension->site].name, h->highest_hub_load, h->bearing_life / 3600.0,
                   h->price, h->mass);
    char *text = written(f, &k, false);
    assert_string_equal(text, expected);
    free(text);
    shv_curves_free(&k.curves);
}

static void a_line_for_each_kit(void **state)
{
    struct fixture *f = *state;
    struct shv_summary best = {.rank = 7,
                               .ribs = 6.0,
                               .wrap = 143.2,
                               .belt_length = 1.2345,
                               .static_tension = 412.34,
                               .belt_tension = 98.76,
                               .hub_load = 1234.56,
                               .bearing_life = 3.6e7,
                               .cruise_drag = 346.0,
                               .price = 1234.5,
                               .mass = 12.34};
    char *text;
    size_t size;
    struct report_text lines;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    report_text_init(&lines, out);
    report_list_hardware(&lines, &f->study, &best, 1);
    assert_int_equal(report_text_finish(&lines, "it", NULL), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_says(
        text,
        "\n 7    6  143.2   1234.5   412.3    98.8  1234.6    10000    0.35     1234.50    12.3");
    free(text);
}

static void what_is_not_known_is_left_out(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k);
    k.kit.crank_diameter = k.kit.blower_diameter = NAN; /* an ideal kit */
    shv_model_evaluate(f->model, &k.kit, &k.curves);
    char *text = written(f, &k, false);
    assert_null(strstr(text, "belt"));
    assert_null(strstr(text, "bearing"));
    assert_says(text, "\nHardware\nduty above");
    assert_says(text, "\nprice  ");
    free(text);
    k.curves.hardware.price = k.curves.hardware.mass = 0.0; /* no part has any */
    k.curves.hardware.over_continuous = NAN;
    assert_null(written(f, &k, false));
    k.curves.hardware.bearing_life = INFINITY;
    text = written(f, &k, false);
    assert_says(text, "\nlife of the nose bearing           endless, it carries no load\n");
    free(text);
    shv_curves_free(&k.curves);
}

static void a_given_tension_is_not_worked_out(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k);
    f->study.drive.belt.static_tension = 400.0;
    k.kit.ribs = 1.0;
    k.kit.wrap = 200.0;
    shv_model_evaluate(f->model, &k.kit, &k.curves);
    char *text = written(f, &k, false);
    assert_says(text, " 1 rib, 3.6 mm wide\n");
    assert_null(strstr(text, "length")); /* an idler's place is not known */
    assert_says(text, " and 200.0 deg\n");
    assert_says(text, "\nstatic tension of one side         400 N\n");
    free(text);
    shv_curves_free(&k.curves);
}

static void assert_cruise(const char *text, const char *label, int decimals, const char *unit,
                          double shut, double open)
{
    char first[40], second[40], expected[160];
    (void)snprintf(first, sizeof first, "%.*f %s", decimals, shut, unit);
    (void)snprintf(second, sizeof second, "%.*f %s", decimals, open, unit);
    (void)snprintf(expected, sizeof expected, "\n%-34s %17s %17s\n", label, first, second);
    assert_says(text, expected);
}

static void cruise_with_the_bypass_shut_and_open(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k);
    const struct shv_bypass_state *shut = &k.curves.hardware.cruise_shut;
    const struct shv_bypass_state *open = &k.curves.hardware.cruise_open;
    const struct shv_bypass_cost *cost = &k.curves.hardware.cruise_cost;
    char *text = written(f, &k, true);
    assert_says(text, "\nAt cruise: 2400 rpm, 50.0 kPa in the manifold, 100.8 km/h on the road, at "
                      "shore\n");
    assert_cruise(text, "inlet pressure", 1, "kPa", shut->inlet_pressure / 1e3,
                  open->inlet_pressure / 1e3);
    assert_cruise(text, "pressure across the valve", 2, "kPa", shut->pressure_drop / 1e3,
                  open->pressure_drop / 1e3);
    assert_cruise(text, "discharge temperature", 1, "degC", shut->discharge_temperature - 273.15,
                  open->discharge_temperature - 273.15);
    assert_cruise(text, "drag of the rotors", 3, "kW", shut->shaft_power / 1e3,
                  open->shaft_power / 1e3);
    /* The model counts the fuel of the open one; fuel goes with the drag. */
    double times = shut->shaft_power / open->shaft_power;
    assert_cruise(text, "fuel for it, by the hour", 2, "L/h", times * cost->litres_per_hour,
                  cost->litres_per_hour);
    assert_cruise(text, "fuel for it, by the distance", 2, "L/100 km",
                  times * cost->litres_per_100_km, cost->litres_per_100_km);
    free(text);
    shv_curves_free(&k.curves);
}

static void cruise_without_road_or_opening(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    f->study.bypass_part.area = 0.0;
    f->study.use.road_speed = 0.0;
    take(f, &k);
    char *text = written(f, &k, true);
    assert_null(strstr(text, "open"));
    assert_null(strstr(text, "road"));
    assert_null(strstr(text, "distance"));
    assert_says(text, "bypass shut\n");
    free(text);
    f->study.use.cruises = false;
    assert_null(written(f, &k, true));
    shv_curves_free(&k.curves);
}

static void no_answer_at_cruise_is_told(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    take(f, &k);
    f->study.use.cruise_pressure = 101e3; /* more than the open bypass lets through */
    shv_model_evaluate(f->model, &k.kit, &k.curves);
    k.curves.hardware.cruise_open.outcome = SHV_BYPASS_STARVED;
    k.curves.hardware.cruise_shut.outcome = SHV_BYPASS_OUTSIDE_MAP;
    char *text = written(f, &k, true);
    assert_says(text, "\ndrag of the rotors                                 -                 -\n");
    assert_says(text, "\nNo answer with the bypass shut: pressure ratio or rotor speed lies beyond "
                      "the blower's map.\n");
    assert_says(text, "\nNo answer with the bypass open: even a wide open throttle does not let so "
                      "much air through.\n");
    free(text);
    shv_curves_free(&k.curves);
}

static void pages_stay_narrow_in_both_systems(void **state)
{
    struct fixture *f = *state;
    struct kit_of_test k;
    use_long_names(f);
    for (int units = SHV_METRIC; units <= SHV_US; units++) {
        f->study.results.units = (enum shv_unit_system)units;
        take(f, &k);
        char *hardware = written(f, &k, false), *cruise = written(f, &k, true);
        assert_says(hardware, units == SHV_US ? " lbf" : " N");
        assert_says(cruise, units == SHV_US ? " gal/100 mi" : " L/100 km");
        assert_null(strstr(cruise, "/1...")); /* no unit is cut */
        free(hardware);
        free(cruise);
        shv_curves_free(&k.curves);
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_belt_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(belt_bearing_and_worth),
        TEST(a_line_for_each_kit),
        TEST(what_is_not_known_is_left_out),
        TEST(a_given_tension_is_not_worked_out),
        TEST(cruise_with_the_bypass_shut_and_open),
        TEST(cruise_without_road_or_opening),
        TEST(no_answer_at_cruise_is_told),
        TEST(pages_stay_narrow_in_both_systems),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
