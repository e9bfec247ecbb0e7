/* The account of a run for people. */
#include "report/pages.h"

static char *written(struct fixture *f)
{
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_table(&f->run, out, &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text);
    return text;
}

static void assert_says(const char *text, const char *what)
{
    if (!strstr(text, what)) {
        fail_msg("\"%s\" is not in\n%s", what, text);
    }
}

static void answers_in_words_first(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    char expected[160];
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    char *text = written(f);
    (void)snprintf(expected, sizeof expected,
                   "Best of 144 combinations: blower %s with a crank pulley of %.4g mm and a",
                   f->blowers[kit.blower].name, kit.crank_diameter * 1e3);
    assert_memory_equal(text, expected, strlen(expected));
    assert_says(text, "Weakest site: hill, with ");
    assert_says(text, "Nearest limit: ");
    assert_says(text, "peak power, mean over the sites");
    free(text);
}

static void fuel_side_is_told(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    char expected[160];
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    char *text = written(f), *line = strstr(text, "Half of the charge is burnt ");
    for (char *c = text; (c = strchr(c, '\n')) && c < line - 1; *c = ' ') {
    }
    (void)snprintf(expected, sizeof expected, "injectors squirt of %.0f cm3/min, pump in-tank.",
                   kit.injector_flow * 60e6);
    assert_says(text, expected);
    assert_null(strstr(text, "ignition held")); /* it costs power: the best has none */
    assert_non_null(line);
    assert_true(strstr(line, ", a retard of ") || strstr(line, "knock does not"));
    assert_says(text, "  charge  retard\n");
    free(text);
}

static void margins_and_phasings_in_words(void **state)
{
    struct fixture *f = *state;
    f->margins[0] = 2.5;
    f->ranking.item[0].index = 0;
    char *text = written(f);
    for (char *c = text; (c = strchr(c, '\n')); *c = ' ') {
    }
    assert_says(text, ", ignition held 2.5 deg back from knock, injectors squirt of 450 cm3/min, ");
    free(text);
}

static void other_models_say_nothing_of_it(void **state)
{
    char *text = written(*state);
    assert_null(strstr(text, "Half of the charge"));
    assert_null(strstr(text, "injectors"));
    assert_null(strstr(text, "ignition"));
    assert_null(strstr(text, "retard"));
    free(text);
}

static void rows_of_the_ranking_and_no_more_than_ten(void **state)
{
    struct fixture *f = *state;
    assert_true(f->ranking.count <= 12 && f->ranking.capacity >= 12);
    for (size_t i = f->ranking.count; i < 12; i++) {
        f->ranking.item[i] = f->ranking.item[0];
    }
    f->ranking.count = 12;
    char *text = written(f);
    assert_says(text, "\n10 ");
    assert_null(strstr(text, "\n11 "));
    free(text);
}

static void reasons_come_largest_first(void **state)
{
    struct fixture *f = *state;
    f->counts = (struct shv_sweep_counts){.total = 5000000, .feasible = 1234567};
    f->counts.failed[SHV_POINT_OUTSIDE_MAP] = 765433;
    f->counts.first[SHV_LIMIT_BOOST] = 1000000;
    f->counts.first[SHV_LIMIT_CHARGE_TEMPERATURE] = 2000000;
    char *text = written(f);
    assert_says(text, "          5,000,000  100.00 %  all\n"
                      "          1,234,567   24.69 %  feasible\n"
                      "          2,000,000   40.00 %  over the limit of charge temperature\n"
                      "          1,000,000   20.00 %  over the limit of boost\n"
                      "            765,433   15.31 %  no answer: outside_map\n\n");
    free(text);
}

static void ideal_and_real_stand_together(void **state)
{
    struct fixture *f = *state;
    char *text = written(f);
    assert_says(text, "\ntwist-large    pump-95   1.970 core-small 0.810  0.900   150.0      - "
                      "discharge temperature\n"
                      "  140 mm on 64 mm        2.138 core-small 0.500  0.900   147.0    2.0\n"
                      "straight-small blend-85 no ideal kit keeps every limit\n");
    free(text);
}

/* Short names leave their room to long ones; when all are long, all are cut alike. */
static void names_share_the_line(void **state)
{
    struct fixture *f = *state;
    f->coolers[0].name = f->coolers[1].name = "a cooler with a name too long to be shown whole";
    f->fuels[0].name = "98";
    f->blowers[1].name = "twist-large of the second series";
    f->run.optimum_count = 1;
    f->optima[0].binding = SHV_LIMIT_BOOST;
    char *text = written(f);
    assert_says(text,
                "\ntwist-large of the s... 98    1.970 a cooler with a name... 0.810  0.900   "
                "150.0      - boost\n");
    f->coolers[0].name = f->coolers[1].name = "core";
    free(text);
    text = written(f);
    assert_says(text, "\ntwist-large of the second series 98    1.970 core   0.810  0.900   "
                      "150.0      - boost\n");
    free(text);
}

static void belt_and_worth_are_told(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    char expected[200];
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    const struct shv_hardware *h = &curves.hardware;
    char *text = written(f);
    (void)snprintf(expected, sizeof expected,
                   "\nBelt of %.0f ribs, %.1f mm long, with a static tension of %.0f N; the nose "
                   "bearing is good for %.0f h.\n",
                   kit.ribs, h->belt_length * 1e3, h->static_tension, h->bearing_life / 3600.0);
    assert_says(text, expected);
    (void)snprintf(expected, sizeof expected, "\nThe kit costs %.2f crowns and weighs %.1f kg.\n",
                   h->price, h->mass);
    assert_says(text, expected);
    (void)snprintf(expected, sizeof expected, "\n 1 %4.0f %6.1f %8.1f %7.1f ", kit.ribs,
                   h->blower_wrap * 57.295779513082323, h->belt_length * 1e3, h->static_tension);
    assert_says(text, expected);
    assert_says(text, "\n 2    4  200.0        - "); /* an idler's belt has no known length */
    free(text);
    shv_curves_free(&curves);
}

static void worth_without_the_other(void **state)
{
    struct fixture *f = *state;
    f->study.drive.worth.mass = 12.5;
    char *text = written(f);
    assert_says(text, "\nThe kit weighs 12.5 kg.\n");
    assert_null(strstr(text, "Belt of"));
    assert_says(text, "\nTheir drag at cruise, and what they cost and weigh\n"
                      " #  cruise       price    mass\n");
    assert_says(text, "\n 1       -           -    12.5\n");
    free(text);
    f->study.drive.worth = (struct shv_worth){99.0, 0.0};
    text = written(f);
    assert_says(text, "\nThe kit costs 99.00.\n");
    free(text);
    f->study.drive.worth.price = 0.0;
    text = written(f);
    assert_null(strstr(text, "The kit "));
    assert_null(strstr(text, "Their "));
    free(text);
}

static void prices_are_results_too(void **state)
{
    struct fixture *f = *state;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    f->ranking.item[0].objective = -12345.67;
    f->ranking.item[1].objective = -2500.5;
    f->run.optimum_count = 1;
    f->optima[0].objective = -2000.0;
    f->optima[0].real_objective = -2100.0;
    char *text = written(f);
    assert_says(text, "The best, by ranking value (least price);");
    assert_says(text, "  crowns     kW    kPa\n");
    assert_says(text, " 12345.7 "); /* fewer decimals rather than none of it */
    assert_says(text, " 2500.50 ");
    assert_says(text, " 2100.00    5.0\n");
    free(text);
}

static void a_limit_of_the_kit_has_no_place(void **state)
{
    struct fixture *f = *state;
    f->study.limit[SHV_LIMIT_PRICE] = 1000.0;
    char *text = written(f);
    assert_says(text, "\nNearest limit: price, with a room of -");
    assert_says(text, " %.\n");
    assert_says(text, "\n 1 price                      -");
    assert_says(text, "      - -                    ");
    free(text);
}

static void lower_bounds_are_fallen_short_of(void **state)
{
    struct fixture *f = *state;
    f->counts = (struct shv_sweep_counts){.total = 100, .feasible = 70};
    f->counts.first[SHV_LIMIT_BEARING_LIFE] = 20;
    f->counts.first[SHV_LIMIT_ROTOR_DUTY] = 10;
    char *text = written(f);
    assert_says(text, "  20.00 %  short of the limit of bearing life\n");
    assert_says(text, "  10.00 %  over the limit of time above continuous rotor speed\n");
    free(text);
}

static void one_combination_is_singular(void **state)
{
    struct fixture *f = *state;
    f->counts = (struct shv_sweep_counts){.total = 1, .feasible = 1};
    char *text = written(f);
    assert_memory_equal(text, "Best of 1 combination: blower ", 30);
    free(text);
    f->ranking.count = 0;
    f->counts = (struct shv_sweep_counts){.total = 1};
    f->counts.first[SHV_LIMIT_BOOST] = 1;
    text = written(f);
    assert_says(text,
                "Nothing is feasible: the 1 combination does not keep every limit at every site "
                "and speed. Reason:\nover the limit of boost (1).\n");
    free(text);
}

static void nothing_feasible_names_the_reasons(void **state)
{
    struct fixture *f = *state;
    f->ranking.count = 0;
    f->run.optimum_count = 0;
    f->counts = (struct shv_sweep_counts){.total = 1500};
    f->counts.first[SHV_LIMIT_BOOST] = 1400;
    f->counts.first[SHV_LIMIT_ROTOR_SPEED] = 60;
    f->counts.failed[SHV_POINT_NO_MATCH] = 30;
    f->counts.first[SHV_LIMIT_TORQUE] = 10;
    char *text = written(f);
    assert_says(text, "Nothing is feasible: none of the 1,500 combinations keeps every limit");
    assert_says(text, "over the limit of boost (1,400)");
    assert_says(text, "(1,400), over the limit of rotor speed (60), no answer:\nno_match (30).\n");
    assert_null(strstr(text, "The best"));
    free(text);
}

static void pages_stay_narrow_with_any_names(void **state)
{
    struct fixture *f = *state;
    use_long_names(f);
    for (int units = SHV_METRIC; units <= SHV_US; units++) {
        f->study.results.units = (enum shv_unit_system)units;
        char *text = written(f); /* asserts the width */
        assert_says(text, "WWWW...");
        assert_says(text, units == SHV_US ? " hp" : " kW");
        free(text);
    }
}

static void full_device_is_told(void **state)
{
    struct fixture *f = *state;
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    assert_int_equal(shv_report_table(&f->run, out, &f->message), SHV_IO);
    assert_string_equal(f->message.text,
                        "cannot write the table of results: No space left on device");
    (void)fclose(out);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)
#define TEST_CYCLE(name)                                                                           \
    cmocka_unit_test_setup_teardown(name, fixture_cycle_setup, fixture_teardown)
#define TEST_BELT(name) cmocka_unit_test_setup_teardown(name, fixture_belt_setup, fixture_teardown)

/* Where the words of a line end, blanks before a line's first one skipped; how many there are. */
static size_t ends_of(const char *line, size_t ends[32])
{
    size_t count = 0;
    for (size_t i = 0; line[i] && line[i] != '\n'; i++) {
        bool ends_here = line[i] != ' ' && (line[i + 1] == ' ' || line[i + 1] == '\n');
        if (ends_here && count < 32) {
            ends[count++] = i;
        }
    }
    return count;
}

static bool is_among(size_t end, const size_t *ends, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (ends[i] == end) {
            return true;
        }
    }
    return false;
}

/* Numbers, their units and their titles end in the same columns: every unit of the second line of a
 * head stands under a title and above a number. */
static void units_stand_under_their_titles(void **state)
{
    struct fixture *f = *state;
    char *text = written(f);
    size_t tables = 0;
    for (const char *line = text; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        const char *units = strchr(line, '\n');
        const char *rule = units ? strchr(units + 1, '\n') : NULL;
        const char *row = rule ? strchr(rule + 1, '\n') : NULL;
        if (!row || rule[1] != '-' || units[1] != ' ') {
            continue;
        }
        size_t of_title[32], of_unit[32], of_row[32];
        size_t titles = ends_of(line, of_title), count = ends_of(units + 1, of_unit);
        size_t cells = ends_of(row + 1, of_row);
        for (size_t i = 0; i < count; i++) {
            if (!is_among(of_unit[i], of_title, titles) || !is_among(of_unit[i], of_row, cells)) {
                fail_msg("a unit ends in column %zu, where no title or no number does:\n%.400s",
                         of_unit[i], line);
            }
        }
        tables += count > 1;
    }
    assert_true(tables >= 2);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(units_stand_under_their_titles, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(units_stand_under_their_titles, fixture_belt_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(units_stand_under_their_titles, fixture_cycle_setup,
                                        fixture_teardown),
        TEST(answers_in_words_first),
        TEST_CYCLE(fuel_side_is_told),
        TEST_CYCLE(margins_and_phasings_in_words),
        TEST_CYCLE(pages_stay_narrow_with_any_names),
        TEST(other_models_say_nothing_of_it),
        TEST(rows_of_the_ranking_and_no_more_than_ten),
        TEST(reasons_come_largest_first),
        TEST(ideal_and_real_stand_together),
        TEST(names_share_the_line),
        TEST_BELT(belt_and_worth_are_told),
        TEST(worth_without_the_other),
        TEST_BELT(prices_are_results_too),
        TEST_BELT(a_limit_of_the_kit_has_no_place),
        TEST(lower_bounds_are_fallen_short_of),
        TEST_BELT(pages_stay_narrow_with_any_names),
        TEST(one_combination_is_singular),
        TEST(nothing_feasible_names_the_reasons),
        TEST(pages_stay_narrow_with_any_names),
        TEST(full_device_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
