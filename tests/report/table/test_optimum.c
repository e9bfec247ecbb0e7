/* optimum.csv: found, half found and not found. */
#include "report/fixture.h"

static struct csv *written(struct fixture *f)
{
    assert_int_equal(shv_report_file(&f->run, "optimum.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "optimum.csv"));
    assert_even(csv);
    return csv;
}

static void what_was_found_is_written(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    assert_int_equal(csv->records, 3);
    assert_string_equal(csv_at(csv, 1, "blower"), "twist-large");
    assert_string_equal(csv_at(csv, 1, "fuel"), "pump-95");
    assert_string_equal(csv_at(csv, 1, "found"), "yes");
    assert_true(csv_value(csv, 1, "ideal_ratio") == 1.97);
    assert_true(csv_value(csv, 1, "ideal_effectiveness") == 0.81);
    assert_true(csv_value(csv, 1, "ideal_objective_power_kW") == 150.0);
    assert_string_equal(csv_at(csv, 1, "binding_limit"), "discharge_temperature");
    assert_true(csv_value(csv, 1, "binding_share_pct") == 0.0);
    assert_string_equal(csv_at(csv, 1, "real_found"), "yes");
    assert_true(csv_value(csv, 1, "real_index") == 77.0);
    const struct shv_kit *real = &f->optima[0].real;
    assert_close(csv_value(csv, 1, "real_crank_pulley_mm"), real->crank_diameter * 1e3, 1e-6);
    assert_close(csv_value(csv, 1, "real_blower_pulley_mm"), real->blower_diameter * 1e3, 1e-6);
    assert_true(csv_value(csv, 1, "real_objective_power_kW") == 147.0);
    assert_true(csv_value(csv, 1, "loss_pct") == 2.0);
    assert_true(csv_value(csv, 1, "plain_difference") == 2e-12);
    assert_true(csv_value(csv, 1, "evaluations") == 900.0);
    csv_free(csv);
}

static void what_was_not_found_is_empty(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    for (size_t i = 0; i < csv->fields[0]; i++) {
        const char *name = csv->cell[0][i], *cell = csv->cell[2][i];
        if (strcmp(name, "blower") == 0) {
            assert_string_equal(cell, "straight-small");
        } else if (strcmp(name, "fuel") == 0) {
            assert_string_equal(cell, "blend-85");
        } else if (strstr(name, "found")) {
            assert_string_equal(cell, "no");
        } else if (strcmp(name, "evaluations") == 0) {
            assert_string_equal(cell, "400");
        } else if (strcmp(name, "searches") == 0) {
            assert_string_equal(cell, "0");
        } else {
            assert_string_equal(cell, "");
        }
    }
    csv_free(csv);
}

static void an_ideal_without_real_parts(void **state)
{
    struct fixture *f = *state;
    f->optima[0].real_found = false;
    f->optima[0].binding = -1;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "ideal_ratio") == 1.97);
    assert_string_equal(csv_at(csv, 1, "binding_limit"), "");
    assert_string_equal(csv_at(csv, 1, "real_found"), "no");
    assert_string_equal(csv_at(csv, 1, "real_index"), "");
    assert_string_equal(csv_at(csv, 1, "loss_pct"), "");
    csv_free(csv);
}

static void fuel_side_of_both(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    const struct shv_kit *real = &f->optima[0].real;
    assert_true(csv_value(csv, 1, "ideal_ignition_margin_deg") == 3.0);
    assert_string_equal(csv_at(csv, 1, "ideal_injector"), "squirt");
    assert_close(csv_value(csv, 1, "ideal_injector_flow_cm3_min"), 600.0, 1e-6);
    assert_string_equal(csv_at(csv, 1, "ideal_pump"), "in-tank");
    assert_true(csv_value(csv, 1, "real_ignition_margin_deg") == real->ignition_margin);
    assert_string_equal(csv_at(csv, 1, "real_injector"), "squirt");
    assert_close(csv_value(csv, 1, "real_injector_flow_cm3_min"), real->injector_flow * 60e6, 1e-6);
    assert_string_equal(csv_at(csv, 1, "real_pump"), "in-tank");
    csv_free(csv);
}

static void parts_that_are_not_named_are_empty(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    assert_string_equal(csv_at(csv, 1, "ideal_injector"), "");
    assert_string_equal(csv_at(csv, 1, "real_injector_flow_cm3_min"), "");
    assert_string_equal(csv_at(csv, 1, "real_pump"), "");
    assert_string_equal(csv_at(csv, 1, "ideal_ignition_margin_deg"), "0");
    csv_free(csv);
}

static void torque_has_its_own_columns(void **state)
{
    struct fixture *f = *state;
    f->study.objective.kind = SHV_OBJECTIVE_TORQUE;
    f->optima[0].objective = 300.0;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "ideal_objective_torque_Nm") == 300.0);
    csv_free(csv);
}

static void belts_of_both(void **state)
{
    struct fixture *f = *state;
    f->optima[0].ideal.ribs = 8.0;
    f->optima[0].ideal.wrap = 200.0;
    f->optima[0].real.ribs = 4.0;
    f->optima[0].real.wrap = 0.0;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "ideal_ribs") == 8.0);
    assert_true(csv_value(csv, 1, "ideal_wrap_deg") == 200.0);
    assert_true(csv_value(csv, 1, "real_ribs") == 4.0);
    assert_string_equal(csv_at(csv, 1, "real_wrap_deg"), ""); /* of the layout */
    csv_free(csv);
    f->optima[0].ideal.ribs = 0.0;
    csv = written(f);
    assert_string_equal(csv_at(csv, 1, "ideal_ribs"), ""); /* left open */
    csv_free(csv);
}

static void no_belt_is_empty(void **state)
{
    struct csv *csv = written(*state);
    assert_string_equal(csv_at(csv, 1, "ideal_ribs"), "");
    assert_string_equal(csv_at(csv, 1, "real_ribs"), "");
    assert_string_equal(csv_at(csv, 1, "real_wrap_deg"), "");
    csv_free(csv);
}

static void prices_and_temperatures_as_they_are(void **state)
{
    struct fixture *f = *state;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    f->optima[0].objective = -2000.0;
    f->optima[0].real_objective = -2100.0;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "ideal_objective_price") == 2000.0);
    assert_true(csv_value(csv, 1, "real_objective_price") == 2100.0);
    assert_true(csv_value(csv, 1, "loss_pct") == 5.0);
    csv_free(csv);
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    f->optima[0].objective = -323.15;
    csv = written(f);
    assert_true(csv_value(csv, 1, "ideal_objective_charge_temperature_degC") == 50.0);
    assert_string_equal(csv_at(csv, 1, "loss_pct"), "");
    csv_free(csv);
}

static void missing_folder_is_told(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "optimum.csv", "/tmp/sheave-not-there", &f->message),
                     SHV_IO);
    assert_non_null(strstr(f->message.text, "optimum.csv"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_was_found_is_written, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(what_was_not_found_is_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(an_ideal_without_real_parts, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(fuel_side_of_both, fixture_cycle_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(parts_that_are_not_named_are_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(torque_has_its_own_columns, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(belts_of_both, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_belt_is_empty, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(prices_and_temperatures_as_they_are, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(missing_folder_is_told, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
