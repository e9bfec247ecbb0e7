/* ranked.csv against the model's own answers. */
#include "report/fixture.h"

static struct csv *written(struct fixture *f)
{
    assert_int_equal(shv_report_file(&f->run, "ranked.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "ranked.csv"));
    assert_even(csv);
    return csv;
}

static void one_row_per_place(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    assert_true(f->ranking.count >= 2);
    assert_int_equal(csv->records, 1 + f->ranking.count);
    for (size_t i = 0; i < f->ranking.count; i++) {
        assert_true(csv_value(csv, 1 + i, "rank") == (double)(1 + i));
        assert_true(csv_value(csv, 1 + i, "index") == (double)f->ranking.item[i].index);
        assert_close(csv_value(csv, 1 + i, "objective_power_kW"),
                     f->ranking.item[i].objective / 1e3, 1e-8);
    }
    csv_free(csv);
}

static void parts_and_values_of_the_best(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves, stock;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&stock, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    shv_model_evaluate_stock(f->model, &stock);
    const struct shv_point *p = &curves.point[shv_curves_peak_power(&curves, 0)];
    double before = stock.point[shv_curves_peak_power(&stock, 0)].brake_power;
    struct csv *csv = written(f);
    assert_string_equal(csv_at(csv, 1, "blower"), f->blowers[kit.blower].name);
    assert_string_equal(csv_at(csv, 1, "cooler"), f->coolers[kit.cooler].name);
    assert_close(csv_value(csv, 1, "crank_pulley_mm"), kit.crank_diameter * 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "peak_power_kW"), p->brake_power / 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "peak_power_speed_rpm"), p->engine_speed * 60.0, 1e-5);
    assert_close(csv_value(csv, 1, "gain_kW"), (p->brake_power - before) / 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "bsfc_g_kWh"), p->bsfc * 3.6e9, 1e-5);
    assert_close(csv_value(csv, 1, "power_iso1585_kW"), p->power_iso1585 / 1e3, 1e-5);
    const struct shv_limit_result *t = &curves.verdict.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE];
    assert_close(csv_value(csv, 1, "discharge_temperature_room_K"), t->margin, 1e-5);
    assert_close(csv_value(csv, 1, "highest_discharge_temperature_degC"), t->value - 273.15, 1e-5);
    assert_false(csv_has(csv, "torque_room_Nm")); /* not limited */
    assert_string_equal(csv_at(csv, 1, "binding_limit"),
                        shv_limit_info((enum shv_limit)curves.verdict.binding)->name);
    csv_free(csv);
    shv_curves_free(&curves);
    shv_curves_free(&stock);
}

static void fuel_side_of_the_best(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    assert_true(f->ranking.count >= 1);
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    const struct shv_point *p = &curves.point[shv_curves_peak_power(&curves, 0)];
    const struct shv_limit_result *retard = &curves.verdict.limit[SHV_LIMIT_PHASING_RETARD];
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "ignition_margin_deg") == kit.ignition_margin);
    assert_string_equal(csv_at(csv, 1, "injector"), "squirt");
    assert_close(csv_value(csv, 1, "injector_flow_cm3_min"), kit.injector_flow * 60e6, 1e-5);
    assert_string_equal(csv_at(csv, 1, "pump"), "in-tank");
    assert_close(csv_value(csv, 1, "ca50_deg"), p->ca50, 1e-5);
    /* The limit that engine.knock sets is on the largest retard. */
    assert_close(csv_value(csv, 1, "highest_phasing_retard_deg"), retard->value, 1e-5);
    assert_close(csv_value(csv, 1, "phasing_retard_room_deg"), retard->margin, 1e-5);
    assert_string_equal(csv_at(csv, 1, "highest_phasing_retard_site"), f->sites[retard->site].name);
    assert_close(csv_value(csv, 1, "highest_phasing_retard_speed_rpm"),
                 f->speeds[retard->speed] * 60.0, 1e-5);
    assert_close(csv_value(csv, 1, "highest_injector_duty_pct"),
                 100.0 * curves.verdict.limit[SHV_LIMIT_INJECTOR_DUTY].value, 1e-5);
    assert_close(csv_value(csv, 1, "pump_flow_room_pct"),
                 100.0 * curves.verdict.limit[SHV_LIMIT_PUMP_FLOW].margin, 1e-5);
    assert_true(csv_value(csv, 1, "highest_peak_pressure_bar_abs") > 30.0);
    assert_true(csv_value(csv, 1, "highest_exhaust_temperature_degC") > 500.0);
    assert_true(csv_value(csv, 1, "highest_knock_integral") > 0.0);
    assert_true(csv_value(csv, 1, "highest_fuel_volume_L_h") > 0.0);
    csv_free(csv);
    shv_curves_free(&curves);
}

static void hardware_of_the_best(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[1].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    const struct shv_hardware *h = &curves.hardware;
    const struct shv_limit_result *limit = curves.verdict.limit;
    const struct shv_limit_result *tension = &limit[SHV_LIMIT_BELT_TENSION];
    const double centre = f->study.drive.belt.centre;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 2, "ribs") == kit.ribs);
    assert_true(csv_value(csv, 2, "wrap_deg") == 200.0);
    assert_string_equal(csv_at(csv, 2, "belt_length_mm"), ""); /* the idler's place is not known */
    struct shv_kit best;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &best);
    double lean = asin((best.crank_diameter - best.blower_diameter) / (2.0 * centre));
    assert_close(csv_value(csv, 1, "wrap_deg"), 180.0 - lean * 360.0 / 3.14159265358979, 1e-5);
    assert_true(csv_value(csv, 1, "belt_length_mm") > 500.0);
    assert_close(csv_value(csv, 2, "static_tension_N"), h->static_tension, 1e-5);
    assert_close(csv_value(csv, 2, "highest_belt_tension_N"), tension->value, 1e-5);
    assert_string_equal(csv_at(csv, 2, "highest_belt_tension_site"), f->sites[tension->site].name);
    assert_close(csv_value(csv, 2, "highest_belt_tension_speed_rpm"),
                 f->speeds[tension->speed] * 60.0, 1e-5);
    assert_close(csv_value(csv, 2, "highest_belt_slip_pct"), 100.0, 1e-5); /* tension as needed */
    assert_close(csv_value(csv, 2, "highest_hub_load_N"), h->highest_hub_load, 1e-5);
    assert_close(csv_value(csv, 2, "bearing_life_h"), h->bearing_life / 3600.0, 1e-5);
    assert_close(csv_value(csv, 2, "bearing_life_room_h"), h->bearing_life / 3600.0 - 500.0, 1e-5);
    assert_true(csv_value(csv, 2, "over_continuous_speed_pct") == 10.0);
    assert_close(csv_value(csv, 2, "lowest_clearance_left"), limit[SHV_LIMIT_CLEARANCE].value,
                 1e-5);
    assert_close(csv_value(csv, 2, "highest_bypass_vacuum_kPa"),
                 limit[SHV_LIMIT_BYPASS_VACUUM].value / 1e3, 1e-5);
    assert_close(csv_value(csv, 2, "highest_coolant_temperature_degC"), 35.0, 1e-5);
    assert_close(csv_value(csv, 2, "price"), h->price, 1e-8);
    assert_close(csv_value(csv, 2, "price_room"), 3400.0 - h->price, 1e-5);
    assert_close(csv_value(csv, 2, "mass_kg"), h->mass, 1e-5);
    assert_close(csv_value(csv, 2, "cruise_drag_kW"), h->cruise_open.shaft_power / 1e3, 1e-5);
    assert_close(csv_value(csv, 2, "cruise_fuel_L_h"), h->cruise_cost.litres_per_hour, 1e-5);
    assert_close(csv_value(csv, 2, "cruise_fuel_distance_L_100km"),
                 h->cruise_cost.litres_per_100_km, 1e-5);
    csv_free(csv);
    shv_curves_free(&curves);
}

static void what_is_not_described_has_no_column(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    static const char *const names[] = {"ribs",
                                        "wrap_deg",
                                        "belt_length_mm",
                                        "static_tension_N",
                                        "highest_belt_slip_pct",
                                        "highest_belt_tension_N",
                                        "highest_belt_tension_speed_rpm",
                                        "highest_belt_tension_site",
                                        "highest_hub_load_N",
                                        "bearing_life_h",
                                        "over_continuous_speed_pct",
                                        "price",
                                        "mass_kg",
                                        "cruise_drag_kW",
                                        "cruise_fuel_L_h",
                                        "cruise_fuel_distance_L_100km"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        assert_false(csv_has(csv, names[i]));
    }
    assert_true(csv_value(csv, 1, "lowest_clearance_left") > 0.0);
    csv_free(csv);
}

/* Which column holds the objective, and that it holds what its name says. */
static void objectives_have_honest_columns(void **state)
{
    struct fixture *f = *state;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    f->ranking.item[0].objective = -2500.0;
    struct csv *csv = written(f);
    assert_true(csv_value(csv, 1, "objective_price") == 2500.0);
    csv_free(csv);
    f->study.objective.kind = SHV_OBJECTIVE_POWER_PER_PRICE;
    f->ranking.item[0].objective = 61.5;
    csv = written(f);
    assert_true(csv_value(csv, 1, "objective_power_per_price_W_per_unit") == 61.5);
    csv_free(csv);
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    f->ranking.item[0].objective = -333.15;
    csv = written(f);
    assert_true(csv_value(csv, 1, "objective_charge_temperature_degC") == 60.0);
    csv_free(csv);
    f->study.objective.kind = SHV_OBJECTIVE_WEIGHTED;
    f->ranking.item[0].objective = -12.5;
    csv = written(f);
    assert_true(csv_value(csv, 1, "objective_weighted") == -12.5);
    csv_free(csv);
}

static void a_limit_of_the_kit_has_no_place(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    f->study.limit[SHV_LIMIT_PRICE] = curves.hardware.price * (1.0 - 1e-6); /* just broken */
    struct csv *csv = written(f);
    assert_string_equal(csv_at(csv, 1, "binding_limit"), "price");
    assert_string_equal(csv_at(csv, 1, "binding_site"), "");
    assert_string_equal(csv_at(csv, 1, "binding_speed_rpm"), "");
    assert_true(csv_value(csv, 1, "binding_share_pct") < 0.0);
    csv_free(csv);
    shv_curves_free(&curves);
}

static void nasty_names_come_back(void **state)
{
    struct fixture *f = *state;
    f->blowers[0].name = "a, \"b\"\nc";
    f->fuels[0].name = "=cmd";
    f->study.objective = (struct shv_objective){.kind = SHV_OBJECTIVE_TORQUE, .at = 75.0};
    f->study.results.units = SHV_US;
    f->ranking.item[0].index = 0; /* first blower, first fuel; whether feasible or not */
    struct csv *csv = written(f);
    assert_string_equal(csv_at(csv, 1, "blower"), "a, \"b\"\nc");
    assert_string_equal(csv_at(csv, 1, "fuel"), "'=cmd");
    assert_close(csv_value(csv, 1, "crank_pulley_in"), 140.0 / 25.4, 1e-5);
    assert_close(csv_value(csv, 1, "objective_torque_lbfft"),
                 f->ranking.item[0].objective / 1.3558179483314004, 1e-8);
    csv_free(csv);
}

static void nothing_feasible_is_a_header(void **state)
{
    struct fixture *f = *state;
    f->ranking.count = 0;
    struct csv *csv = written(f);
    assert_int_equal(csv->records, 1);
    csv_free(csv);
}

static void missing_folder_is_told(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "ranked.csv", "/tmp/sheave-not-there", &f->message),
                     SHV_IO);
    assert_non_null(strstr(f->message.text, "cannot write /tmp/sheave-not-there/ranked.csv: "));
}

static void full_disk_leaves_nothing(void **state)
{
    struct fixture *f = *state;
    char part[128];
    (void)snprintf(part, sizeof part, "%s/ranked.csv.part", f->folder);
    struct rlimit before = limit_files(100);
    assert_int_equal(shv_report_file(&f->run, "ranked.csv", f->folder, &f->message), SHV_IO);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_non_null(strstr(f->message.text, "File too large"));
    assert_null(read_whole(f->folder, "ranked.csv"));
    assert_int_not_equal(access(part, F_OK), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(one_row_per_place, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(parts_and_values_of_the_best, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(fuel_side_of_the_best, fixture_cycle_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(hardware_of_the_best, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(what_is_not_described_has_no_column, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(objectives_have_honest_columns, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(a_limit_of_the_kit_has_no_place, fixture_belt_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(nasty_names_come_back, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(nothing_feasible_is_a_header, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(missing_folder_is_told, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(full_disk_leaves_nothing, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
