/* curves.csv against the points of the model. */
#include "report/fixture.h"
#include "report/table/files.h"

static struct csv *written(struct fixture *f)
{
    assert_int_equal(shv_report_file(&f->run, "curves.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "curves.csv"));
    assert_even(csv);
    return csv;
}

static void a_row_per_kit_site_and_speed(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    assert_int_equal(csv->records, 1 + 2 * 2 * 3);
    assert_string_equal(csv_at(csv, 1, "rank"), "1");
    assert_string_equal(csv_at(csv, 1, "site"), "shore");
    assert_string_equal(csv_at(csv, 4, "site"), "hill");
    assert_string_equal(csv_at(csv, 6, "engine_speed_rpm"), "6600");
    assert_string_equal(csv_at(csv, 7, "rank"), "2");
    csv_free(csv);
}

/* Every double of struct shv_point has its column: all but outcome, flags and what holds ignition
 * are doubles.
 */
static void no_state_is_left_out(void **state)
{
    (void)state;
    struct report_layout layout;
    report_table_layout(&report_stock, &layout, 0);
    size_t first = offsetof(struct shv_point, engine_speed);
    size_t doubles = (sizeof(struct shv_point) - first) / sizeof(double), numbers = 0;
    bool seen[sizeof(struct shv_point)] = {false};
    for (size_t i = 0; i < layout.count; i++) {
        if (layout.column[i].measure != REPORT_TEXT) {
            assert_false(seen[layout.column[i].offset % sizeof seen]);
            seen[layout.column[i].offset % sizeof seen] = true;
            numbers++;
        }
    }
    assert_int_equal(numbers, doubles + 1); /* the vacuum at the inlet is no state of its own */
    assert_int_equal(layout.count, doubles + 1 + 7); /* site, outcome and five others in words */
}

static void states_hold_a_millionth(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[1].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    struct csv *csv = written(f);
    for (size_t i = 0; i < 6; i++) {
        const struct shv_point *p = &curves.point[i];
        size_t row = 7 + i;
        assert_string_equal(csv_at(csv, row, "outcome"), "ok");
        assert_close(csv_value(csv, row, "rotor_speed_rpm"), p->rotor_speed * 60.0, 1e-6);
        assert_close(csv_value(csv, row, "inlet_pressure_kPa_abs"), p->inlet_pressure / 1e3, 1e-6);
        assert_close(csv_value(csv, row, "boost_kPa"), p->boost / 1e3, 1e-6);
        assert_close(csv_value(csv, row, "discharge_temperature_degC") + 273.15,
                     p->discharge_temperature, 1e-6);
        assert_close(csv_value(csv, row, "blower_flow_kg_h"), p->blower_flow * 3600.0, 1e-6);
        assert_close(csv_value(csv, row, "fuel_flow_kg_h"), p->fuel_flow * 3600.0, 1e-6);
        assert_close(csv_value(csv, row, "power_kW"), p->brake_power / 1e3, 1e-6);
        assert_close(csv_value(csv, row, "torque_Nm"), p->torque, 1e-6);
        assert_close(csv_value(csv, row, "bmep_kPa"), p->bmep / 1e3, 1e-6);
    }
    csv_free(csv);
    shv_curves_free(&curves);
}

static struct csv *written_points(const struct fixture *f, struct shv_point points[6])
{
    struct shv_curves curves = {.sites = 2, .speeds = 3, .point = points};
    struct report_csv made = {.units = SHV_METRIC};
    char *text;
    size_t size;
    made.out = open_memstream(&text, &size);
    assert_non_null(made.out);
    report_table_layout(&report_stock, &made.layout, 0);
    report_csv_head(&made);
    report_curves_rows(&made, &f->study, 0, &curves);
    assert_int_equal(made.error, 0);
    assert_int_equal(fclose(made.out), 0);
    return csv_parse(text);
}

static void no_answer_leaves_its_states_empty(void **state)
{
    struct fixture *f = *state;
    struct shv_point points[6];
    for (size_t i = 0; i < 6; i++) {
        points[i] = (struct shv_point){.engine_speed = 50.0,
                                       .rotor_speed = 100.0,
                                       .boost = 1e4,
                                       .brake_power = 1e5,
                                       .coolant_temperature = NAN};
    }
    points[1].outcome = SHV_POINT_OUTSIDE_MAP;
    struct csv *csv = written_points(f, points);
    assert_even(csv);
    assert_string_equal(csv->cell[0][0], "site"); /* no rank outside a ranking */
    assert_string_equal(csv_at(csv, 1, "boost_kPa"), "10");
    assert_string_equal(csv_at(csv, 1, "coolant_temperature_degC"), "");
    assert_string_equal(csv_at(csv, 2, "outcome"), "outside_map");
    assert_string_equal(csv_at(csv, 2, "rotor_speed_rpm"), "6000");
    assert_string_equal(csv_at(csv, 2, "boost_kPa"), "");
    assert_string_equal(csv_at(csv, 2, "power_kW"), "");
    assert_string_equal(csv_at(csv, 2, "bypass_open"), "");
    assert_string_equal(csv_at(csv, 3, "bypass_open"), "no");
    csv_free(csv);
}

static void burning_and_fuel_in_the_units_of_the_trade(void **state)
{
    struct fixture *f = *state;
    struct shv_point points[6];
    for (size_t i = 0; i < 6; i++) {
        points[i] = (struct shv_point){.ca50 = 17.25,
                                       .phasing_retard = 9.25,
                                       .knock_integral = 0.75,
                                       .peak_pressure = 8.25e6,
                                       .exhaust_temperature = 1273.15,
                                       .cycle_efficiency = 0.375,
                                       .fuel_volume_flow = 1e-5,
                                       .injector_duty = 0.625,
                                       .pump_flow = 0.5};
    }
    struct csv *csv = written_points(f, points);
    assert_true(csv_value(csv, 1, "ca50_deg") == 17.25);
    assert_true(csv_value(csv, 1, "phasing_retard_deg") == 9.25);
    assert_true(csv_value(csv, 1, "knock_integral") == 0.75);
    assert_true(csv_value(csv, 1, "peak_pressure_bar_abs") == 82.5);
    assert_true(csv_value(csv, 1, "exhaust_temperature_degC") == 1000.0);
    assert_true(csv_value(csv, 1, "cycle_efficiency") == 0.375);
    assert_true(csv_value(csv, 1, "fuel_volume_L_h") == 36.0);
    assert_true(csv_value(csv, 1, "injector_duty_pct") == 62.5);
    assert_true(csv_value(csv, 1, "pump_flow_pct") == 50.0);
    assert_string_equal(csv_at(csv, 1, "fuel_supply"), "ok");
    csv_free(csv);
}

/* A cell never holds what a spreadsheet can't read, and still nothing is hidden. */
static void shares_without_a_value_say_why(void **state)
{
    struct fixture *f = *state;
    struct shv_point points[6] = {{.injector_duty = NAN, .pump_flow = NAN},
                                  {.injector_duty = INFINITY, .pump_flow = 0.5},
                                  {.injector_duty = 0.5, .pump_flow = INFINITY},
                                  {.injector_duty = INFINITY, .pump_flow = INFINITY},
                                  {.injector_duty = NAN, .pump_flow = 0.5}};
    static const char *const words[] = {"", "no_injector_flow", "beyond_pump_curve",
                                        "no_injector_flow", "ok"};
    struct csv *csv = written_points(f, points);
    for (size_t i = 0; i < 5; i++) {
        assert_string_equal(csv_at(csv, 1 + i, "fuel_supply"), words[i]);
        if (!isfinite(points[i].injector_duty)) {
            assert_string_equal(csv_at(csv, 1 + i, "injector_duty_pct"), "");
        }
        if (!isfinite(points[i].pump_flow)) {
            assert_string_equal(csv_at(csv, 1 + i, "pump_flow_pct"), "");
        }
    }
    assert_string_equal(csv_at(csv, 2, "pump_flow_pct"), "50");
    csv_free(csv);
}

static void belts_in_their_units(void **state)
{
    struct fixture *f = *state;
    struct shv_point points[6] = {
        {.belt_slip = 0.75, .belt_tension = 120.0, .hub_load = 450.0, .ambient_pressure = 1e5},
        {.belt_slip = 1.25},
        {.belt_slip = INFINITY},
        {.belt_slip = NAN, .belt_tension = NAN, .hub_load = NAN},
        {.outcome = SHV_POINT_NO_MATCH, .belt_slip = 0.5, .belt_tension = 80.0}};
    points[0].inlet_pressure = 95.5e3;
    struct csv *csv = written_points(f, points);
    assert_string_equal(csv_at(csv, 1, "belt_grip"), "ok");
    assert_true(csv_value(csv, 1, "belt_slip_pct") == 75.0);
    assert_true(csv_value(csv, 1, "belt_tension_N") == 120.0);
    assert_true(csv_value(csv, 1, "hub_load_N") == 450.0);
    assert_true(csv_value(csv, 1, "inlet_vacuum_kPa") == 4.5);
    assert_string_equal(csv_at(csv, 2, "belt_grip"), "short");
    assert_true(csv_value(csv, 2, "belt_slip_pct") == 125.0);
    assert_string_equal(csv_at(csv, 3, "belt_grip"), "none");
    assert_string_equal(csv_at(csv, 3, "belt_slip_pct"), "");
    assert_string_equal(csv_at(csv, 4, "belt_grip"), "");
    assert_string_equal(csv_at(csv, 4, "belt_tension_N"), "");
    assert_string_equal(csv_at(csv, 5, "belt_grip"), ""); /* no answer */
    assert_string_equal(csv_at(csv, 5, "belt_tension_N"), "");
    assert_string_equal(csv_at(csv, 5, "inlet_vacuum_kPa"), "");
    csv_free(csv);
}

static void the_belt_fills_them(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    struct csv *csv = written(f);
    for (size_t i = 0; i < 6; i++) {
        const struct shv_point *p = &curves.point[i];
        assert_string_equal(csv_at(csv, 1 + i, "belt_grip"), "ok"); /* 100 % counts as well */
        assert_close(csv_value(csv, 1 + i, "belt_slip_pct"), 100.0 * p->belt_slip, 1e-6);
        assert_close(csv_value(csv, 1 + i, "belt_tension_N"), p->belt_tension, 1e-6);
        assert_close(csv_value(csv, 1 + i, "hub_load_N"), p->hub_load, 1e-6);
    }
    csv_free(csv);
    shv_curves_free(&curves);
}

/* Without a cycle the path of the air is known all the same. */
static void no_cycle_keeps_the_air(void **state)
{
    struct fixture *f = *state;
    struct shv_point points[6] = {{.outcome = SHV_POINT_NO_CYCLE,
                                   .boost = 5e4,
                                   .brake_power = NAN,
                                   .ca50 = NAN,
                                   .injector_duty = 0.5,
                                   .pump_flow = NAN}};
    struct csv *csv = written_points(f, points);
    assert_string_equal(csv_at(csv, 1, "outcome"), "no_cycle");
    assert_string_equal(csv_at(csv, 1, "boost_kPa"), "50");
    assert_string_equal(csv_at(csv, 1, "bypass_open"), "no");
    assert_string_equal(csv_at(csv, 1, "power_kW"), "");
    assert_string_equal(csv_at(csv, 1, "ca50_deg"), "");
    assert_string_equal(csv_at(csv, 1, "injector_duty_pct"), "50");
    csv_free(csv);
}

static void other_models_leave_the_cycle_empty(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    static const char *const names[] = {"ca50_deg",
                                        "phasing_retard_deg",
                                        "knock_integral",
                                        "peak_pressure_bar_abs",
                                        "exhaust_temperature_degC",
                                        "cycle_efficiency",
                                        "fuel_supply",
                                        "injector_duty_pct",
                                        "pump_flow_pct"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        assert_string_equal(csv_at(csv, 1, names[i]), "");
    }
    assert_true(csv_value(csv, 1, "fuel_volume_L_h") > 0.0);
    csv_free(csv);
}

static void the_cycle_fills_them(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    struct csv *csv = written(f);
    for (size_t i = 0; i < 6; i++) {
        const struct shv_point *p = &curves.point[i];
        assert_close(csv_value(csv, 1 + i, "ca50_deg"), p->ca50, 1e-6);
        assert_close(csv_value(csv, 1 + i, "peak_pressure_bar_abs"), p->peak_pressure / 1e5, 1e-6);
        assert_close(csv_value(csv, 1 + i, "exhaust_temperature_degC") + 273.15,
                     p->exhaust_temperature, 1e-6);
        assert_close(csv_value(csv, 1 + i, "injector_duty_pct"), 100.0 * p->injector_duty, 1e-6);
        assert_close(csv_value(csv, 1 + i, "pump_flow_pct"), 100.0 * p->pump_flow, 1e-6);
        assert_string_equal(csv_at(csv, 1 + i, "fuel_supply"), "ok");
    }
    csv_free(csv);
    shv_curves_free(&curves);
}

static void fewer_kits_than_asked_for(void **state)
{
    struct fixture *f = *state;
    f->study.results.curves = 500;
    struct csv *csv = written(f);
    assert_int_equal(csv->records, 1 + f->ranking.count * 6);
    csv_free(csv);
}

static void missing_folder_is_told(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "curves.csv", "/tmp/sheave-not-there", &f->message),
                     SHV_IO);
    assert_non_null(strstr(f->message.text, "curves.csv"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_per_kit_site_and_speed, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test(no_state_is_left_out),
        cmocka_unit_test_setup_teardown(states_hold_a_millionth, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_answer_leaves_its_states_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(burning_and_fuel_in_the_units_of_the_trade, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(shares_without_a_value_say_why, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(no_cycle_keeps_the_air, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(other_models_leave_the_cycle_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(the_cycle_fills_them, fixture_cycle_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(belts_in_their_units, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(the_belt_fills_them, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(fewer_kits_than_asked_for, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(missing_folder_is_told, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
