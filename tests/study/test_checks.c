/* Rules that concern several keys: each with what is just accepted and what is just not. */
#include "study/edits.h"

#include "study/checks.h"

static const char base[] =
    "title = \"t\";\n"
    "engine = { name = \"e\"; cylinders = 4; bore = \"0.08 m\"; stroke = \"0.09 m\";\n"
    " compression_ratio = 9; speed = { from = \"1000 rpm\"; to = \"3000 rpm\"; step = \"1000 "
    "rpm\"; };\n"
    " efficiency = { model = \"stock_torque\"; }; friction = { model = \"chen_flynn\"; };\n"
    " volumetric_efficiency = ((\"1000 rpm\", 0.8), (\"3000 rpm\", 0.85));\n"
    " stock_torque = ((\"2000 rpm\", \"150 N m\"));\n"
    " exhaust = { flow = \"0.1 kg/s\"; }; stock = { humidity = \"50 %\"; }; };\n"
    "sites = ( { name = \"coast\"; altitude = \"0 m\"; } );\n"
    "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; creep = 0.01; efficiency = "
    "0.97; };\n"
    "blowers = ( { name = \"b\"; kind = \"geometry\"; displacement = \"0.0013 m3\"; leakage_area = "
    "\"25e-6 m2\"; } );\n"
    "coolers = ( { name = \"c\"; arrangement = \"counterflow\"; effectiveness = 0.6; rated_flow = "
    "\"0.2 kg/s\";"
    " coolant_capacity = \"1200 W/K\"; } );\n"
    "fuels = ( { name = \"f\"; stoichiometric = 14.6; heating_value = \"42.9e6 J/kg\"; density = "
    "\"745 kg/m3\"; },\n"
    " { name = \"g\"; stoichiometric = 14.6; heating_value = \"42.9e6 J/kg\"; density = \"745 "
    "kg/m3\"; } );\n"
    "objective = { kind = \"mean_power\"; from = \"1500 rpm\"; to = \"2000 rpm\"; };\n"
    "limits = { boost = \"7e4 Pa\"; };\n"
    "results = { keep = 10; };\n";

static void groups_of_the_engine(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"title", "title", NULL},
        {"exhaust = { flow = \"0.1 kg/s\"; }", "exhaust = { pressure_drop = \"5000 Pa\"; }",
         "engine.exhaust.flow: found nothing; it is required with a pressure_drop"},
        {"exhaust = { flow = \"0.1 kg/s\"; }",
         "exhaust = { pressure_drop = \"5000 Pa\"; flow = \"0.1 kg/s\"; }", NULL},
        {"exhaust", "intake = { pressure_drop = \"5000 Pa\"; }; exhaust",
         "engine.intake.flow: found nothing; it is required with a pressure_drop"},
        {"model = \"chen_flynn\"", "model = \"chen_flynn\"; mechanical_efficiency = 0.9",
         "engine.friction.mechanical_efficiency: found where it has no meaning; accepted: only "
         "with "
         "model = \"mechanical_efficiency\""},
        {"model = \"chen_flynn\"", "model = \"mechanical_efficiency\"; peak_pressure_ratio = 60",
         "engine.friction.peak_pressure_ratio: found where it has no meaning; accepted: only with "
         "model = \"chen_flynn\""},
        {"model = \"stock_torque\"", "model = \"stock_torque\"; indicated = 0.35",
         "engine.efficiency.indicated: found where it has no meaning; accepted: only with model = "
         "\"constant\""},
        {"model = \"stock_torque\"", "model = \"stock_torque\"; power_per_free_air = \"1e6 J/m3\"",
         "engine.efficiency.power_per_free_air: found where it has no meaning; accepted: only with "
         "model = \"free_air\""},
        {"bore = \"0.08 m\";", "bore = \"0.08 m\"; displacement = \"1.827 l\";", NULL},
        {"bore = \"0.08 m\";", "bore = \"0.08 m\"; displacement = \"1.829 l\";",
         "engine.displacement: found 1.829 l; accepted: within 1 % of the 1.80956 l that bore, "
         "stroke and cylinders give"},
        {"bore = \"0.08 m\";", "", "engine.bore: found nothing; it is required with stroke"},
        {"stroke = \"0.09 m\";", "", "engine.stroke: found nothing; it is required with bore"},
        {"bore = \"0.08 m\"; stroke = \"0.09 m\";", "",
         "engine.displacement: found nothing; it is required without bore and stroke"},
        {"to = \"3000 rpm\"; step", "to = \"1000 rpm\"; step",
         "engine.speed.to: found 1000 rpm; accepted: more than from, 1000 rpm"},
        {"step = \"1000 rpm\"", "step = \"10 rpm\"",
         "engine.speed.step: found a step that gives 201 points; accepted: up to 200"},
        {"step = \"1000 rpm\"", "step = \"10.06 rpm\"", NULL},
        {"(\"1000 rpm\", 0.8)", "(\"1001 rpm\", 0.8)",
         "engine.volumetric_efficiency: found 1001 to 3000 rpm; accepted: points that cover the "
         "rev "
         "range, 1000 to 3000 rpm, or a single one for a constant"},
        {"(\"3000 rpm\", 0.85)", "(\"2999 rpm\", 0.85)",
         "engine.volumetric_efficiency: found 1000 to 2999 rpm; accepted: points that cover the "
         "rev "
         "range, 1000 to 3000 rpm, or a single one for a constant"},
        {"stock_torque = ((\"2000 rpm\", \"150 N m\"));", "",
         "engine.stock_torque: found nothing; it is required with efficiency.model = "
         "\"stock_torque\""},
        {"exhaust", "knock = { scale = 1; }; exhaust",
         "engine.knock: found where it has no meaning; accepted: only with efficiency.model = "
         "\"cycle\""},
        {"efficiency = { model = \"stock_torque\"; }", "efficiency = { model = \"constant\"; }",
         NULL},
    };
    /* The last has two faults, and both are told. */
    size_t count = sizeof edits / sizeof *edits - 1;
    struct trial t;
    assert_edits(base, edits, count);
    try_edit(&t, base, edits[count].was, edits[count].is);
    assert_int_equal(t.findings.count, 2);
    assert_string_equal(finding(&t, 0), "engine.efficiency.indicated: found nothing; it is "
                                        "required with model = \"constant\"");
    assert_string_equal(finding(&t, 1),
                        "engine.stock_torque: found where it has no meaning; accepted: only with "
                        "efficiency.model = \"stock_torque\" or \"cycle\"");
    end_trial(&t);
}

static void air_drive_and_sites(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"drive", "air = { model = \"nasa\"; gamma = 1.4; };\ndrive",
         "air.gamma: found where it has no meaning; accepted: only with model = \"constant\""},
        {"drive",
         "air = { model = \"constant\"; gas_constant = \"287 J/(kg K)\"; heat_capacity = \"1005 "
         "J/(kg K)\";"
         " gamma = 1.44; };\ndrive",
         NULL}, /* 1005/718 = 1.39972, 3 % of it 0.042 */
        {"drive",
         "air = { model = \"constant\"; gas_constant = \"287 J/(kg K)\"; heat_capacity = \"1005 "
         "J/(kg K)\";"
         " gamma = 1.443; };\ndrive",
         "air.gamma: found 1.443; accepted: within 3 % of cp/(cp - R) = 1.3997"},
        {"efficiency = 0.97;", "efficiency = 0.99;", NULL},
        {"efficiency = 0.97;", "efficiency = 0.991;",
         "drive.efficiency: found 0.991 with a creep of 0.01; accepted: at most 0.99, for creep is "
         "lost power"},
        {"altitude = \"0 m\";", "",
         "sites[1]: found neither altitude nor pressure; accepted: one of the two"},
        {"altitude = \"0 m\";", "altitude = \"0 m\"; pressure = \"1e5 Pa\";",
         "sites[1]: found both altitude and pressure; accepted: one of the two"},
        {"altitude = \"0 m\";", "pressure = \"1e5 Pa\";",
         "sites[1].temperature: found nothing; it is required with pressure"},
        {"altitude = \"0 m\";", "pressure = \"1e5 Pa\"; temperature = \"300 K\";", NULL},
        {"humidity = \"50 %\";", "altitude = \"100 m\"; pressure = \"1e5 Pa\";",
         "engine.stock.pressure: found together with altitude; accepted: one of the two"},
    };
    assert_all_edits(base, edits);
}

/* A fifth of the air's pressure as vapour: at 55 degC the saturation pressure is 15.76 kPa (steam
 * tables, memory), so that a share of 0.5 is too much below 39.4 kPa. */
static void air_that_is_hardly_air(void **state)
{
    (void)state;
    struct trial t;
    static const char *const pressure[] = {"39000 Pa", "40000 Pa"};
    for (size_t i = 0; i < 2; i++) {
        char site[120];
        (void)snprintf(site, sizeof site,
                       "pressure = \"%s\"; temperature = \"55 degC\"; humidity = \"50 %%\";",
                       pressure[i]);
        try_edit(&t, base, "altitude = \"0 m\";", site);
        if (i == 0) {
            assert_int_equal(t.findings.count, 1);
            assert_non_null(strstr(finding(&t, 0), "sites[1].humidity: found 0.5; accepted: less "
                                                   "than 0.49"));
        } else {
            assert_int_equal(t.status, SHV_OK);
        }
        end_trial(&t);
    }
}

static void parts(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"leakage_area = \"25e-6 m2\";", "",
         "blowers[1].leakage_area: found nothing; it is required with kind = \"geometry\""},
        {"leakage_area", "file = \"m.csv\"; leakage_area",
         "blowers[1].file: found where it has no meaning; accepted: only with kind = \"map\""},
        {"kind = \"geometry\"; displacement = \"0.0013 m3\"; leakage_area = \"25e-6 m2\"",
         "kind = \"map\"; displacement = \"0.0013 m3\"",
         "blowers[1].file: found nothing; it is required with kind = \"map\""},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; coolant_density = \"1000 kg/m3\"",
         "coolers[1].coolant_density: found where it has no meaning; accepted: only with "
         "coolant_flow or coolant_volume"},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; coolant_flow = \"30 l/min\"",
         "coolers[1].coolant_flow: found together with coolant_capacity; accepted: one of the two"},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; coolant_rise = \"5 K\"; coolant_temperature = \"300 K\"",
         "coolers[1].coolant_rise: found together with coolant_temperature; accepted: one of the "
         "two"},
        {"coolant_capacity = \"1200 W/K\";", "",
         "coolers[1].coolant_capacity: found nothing; coolant_capacity or coolant_flow is required "
         "with this arrangement"},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; radiator_capacity = \"9 W/K\"",
         "coolers[1].radiator_capacity: found where it has no meaning; accepted: only with a "
         "radiator_effectiveness above 0"},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; radiator_effectiveness = 0.5",
         "coolers[1].radiator_capacity: found nothing; it is required with a "
         "radiator_effectiveness"},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; radiator_effectiveness = 0.5; radiator_capacity = "
         "\"1200 W/K\"",
         NULL},
        {"coolant_capacity = \"1200 W/K\"",
         "coolant_capacity = \"1200 W/K\"; radiator_effectiveness = 0.5; radiator_capacity = "
         "\"1201 W/K\"",
         "coolers[1].radiator_capacity: found 1201 W/K; accepted: at the most that of the coolant, "
         "1200 W/K"},
        /* Parallel flow reaches 1/(1 + Cr): with 0.2 kg/s of 1005 J/(kg K) against 201 W/K a half.
         */
        {"\"counterflow\"; effectiveness = 0.6; rated_flow = \"0.2 kg/s\"; coolant_capacity = "
         "\"1200 W/K\"",
         "\"parallel\"; effectiveness = 0.51; rated_flow = \"0.2 kg/s\"; coolant_capacity = \"201 "
         "W/K\"",
         "coolers[1].effectiveness: found 0.51, which this arrangement cannot reach with 201.2 W/K "
         "of "
         "charge against 201 W/K of coolant; accepted: less, or more coolant"},
        {"\"counterflow\"; effectiveness = 0.6; rated_flow = \"0.2 kg/s\"; coolant_capacity = "
         "\"1200 W/K\"",
         "\"parallel\"; effectiveness = 0.49; rated_flow = \"0.2 kg/s\"; coolant_capacity = \"201 "
         "W/K\"",
         NULL},
        {"leakage_area = \"25e-6 m2\"", "leakage_area = \"25 cm2\"",
         "blowers[1].leakage_area: found 2500 mm2, with which 0 of the swept volume would be "
         "delivered at 10000 rpm and a pressure ratio of 1.5; is it in another unit?"},
    };
    assert_all_edits(base, edits);
}

static void objective_and_results(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"from = \"1500 rpm\"; to = \"2000 rpm\";", "from = \"1500 rpm\"; to = \"1500 rpm\";",
         "objective.to: found 1500 rpm; accepted: more than from, 1500 rpm"},
        {"from = \"1500 rpm\"; to = \"2000 rpm\";", "to = \"2000 rpm\";",
         "objective.from: found nothing; it is required with kind = \"mean_power\""},
        {"from = \"1500 rpm\"; to = \"2000 rpm\";", "from = \"1500 rpm\";",
         "objective.to: found nothing; it is required with kind = \"mean_power\""},
        {"from = \"1500 rpm\"; to = \"2000 rpm\";", "from = \"999 rpm\"; to = \"2000 rpm\";",
         "objective.from: found 999 rpm; accepted: a speed of the rev range, 1000 to 3000 rpm"},
        {"from = \"1500 rpm\"; to = \"2000 rpm\";", "from = \"1500 rpm\"; to = \"3001 rpm\";",
         "objective.to: found 3001 rpm; accepted: a speed of the rev range, 1000 to 3000 rpm"},
        {"kind = \"mean_power\"; from = \"1500 rpm\"; to = \"2000 rpm\";", "kind = \"torque\";",
         "objective.at: found nothing; it is required with kind = \"torque\""},
        {"kind = \"mean_power\"; from = \"1500 rpm\"; to = \"2000 rpm\";",
         "kind = \"peak_power\"; at = \"2000 rpm\";",
         "objective.at: found where it has no meaning; accepted: only with kind = \"torque\""},
        {"kind = \"mean_power\"; from = \"1500 rpm\"; to = \"2000 rpm\";",
         "kind = \"peak_power\"; to = \"2000 rpm\";",
         "objective.to: found where it has no meaning; accepted: only with kind = \"mean_power\""},
        {"kind = \"mean_power\"; from = \"1500 rpm\"; to = \"2000 rpm\";", "kind = \"weighted\";",
         "objective.weights: found nothing; it is required with kind = \"weighted\""},
        {"keep = 10;", "keep = 10; curves = 10;", NULL},
        {"keep = 10;", "keep = 10; curves = 11;",
         "results.curves: found 11; accepted: not more than keep, 10"},
        {"limits = { boost = \"7e4 Pa\"; };\n", "",
         "limits: no limit is set, here or in a blower: every combination with an answer is "
         "feasible"},
        {"limits = { boost = \"7e4 Pa\"; };\nresults = { keep = 10; };\n",
         "injectors = ( { name = \"i\"; flow = \"400 cm3/min\"; } );\n", NULL},
        {"humidity = \"50 %\";", "fuel = \"g\";", NULL},
        {"humidity = \"50 %\";", "fuel = \"ff\";",
         "engine.stock.fuel: found \"ff\"; accepted: the name of one of this study's fuels; did "
         "you "
         "mean \"f\"?"},
        {"results", "mixture = { ignition_margin = \"2 deg\"; };\nresults",
         "mixture.ignition_margin: found where it has no meaning; accepted: only with "
         "engine.efficiency.model = \"cycle\""},
        {"results", "mixture = { ignition_margin = \"0 deg\"; };\nresults", NULL},
    };
    assert_all_edits(base, edits);
}

/* What the checks leave in the study. */
static void what_follows_from_other_keys(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, base);
    assert_int_equal(t.status, SHV_OK);
    const struct shv_engine *e = &t.study.engine;
    /* 1500 rpm of the objective became a point between those of the step. */
    const double speeds[] = {1000.0, 1500.0, 2000.0, 3000.0};
    assert_int_equal(e->speed_count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_near(e->speeds[i], speeds[i] / 60.0, 1e-12);
    }
    assert_near(e->displacement, 3.14159265358979 * 0.04 * 0.04 * 0.09 * 4.0, 1e-12);
    assert_near(e->cycle.bore, 0.08, 1e-12);
    assert_near(e->cycle.stroke, 0.09, 1e-12);
    assert_near(e->cycle.compression_ratio, 9.0, 1e-12);
    assert_near(t.study.sites[0].ambient.pressure, 101325.0, 1e-9);
    assert_near(t.study.sites[0].ambient.temperature, 288.15, 1e-9);
    assert_int_equal(t.study.results.curves <= 10, true);
    assert_int_equal(strncmp(t.study.results.folder, "results/sheave_trial_", 21), 0);
    assert_int_equal(t.study.engine.stock_fuel, 0);
    end_trial(&t);

    try_edit(&t, base, "bore = \"0.08 m\"; stroke = \"0.09 m\";", "displacement = \"2 l\";");
    assert_int_equal(t.status, SHV_OK);
    assert_near(t.study.engine.bore, cbrt(4.0 * 2e-3 / (3.14159265358979 * 4.0)), 1e-12);
    assert_near(t.study.engine.stroke, t.study.engine.bore, 1e-12);
    end_trial(&t);

    try_edit(&t, base, "step = \"1000 rpm\"", "step = \"900 rpm\""); /* and always the last */
    assert_int_equal(t.status, SHV_OK);
    assert_int_equal(t.study.engine.speed_count, 6); /* 1000 1500 1900 2000 2800 3000 */
    assert_near(t.study.engine.speeds[4] * 60.0, 2800.0, 1e-12);
    assert_near(t.study.engine.speeds[5] * 60.0, 3000.0, 1e-12);
    end_trial(&t);

    try_edit(&t, base, "coolant_capacity = \"1200 W/K\"",
             "coolant_flow = \"30 l/min\"; coolant_density = \"1000 kg/m3\"; "
             "coolant_heat_capacity = \"4 kJ/(kg K)\"");
    assert_int_equal(t.status, SHV_OK);
    size_t core = t.study.coolers[0].is_none ? 1 : 0;
    assert_near(t.study.coolers[core].coolant_capacity, 30e-3 / 60.0 * 1000.0 * 4000.0, 1e-12);
    end_trial(&t);

    try_edit(&t, base, "leakage_area = \"25e-6 m2\";",
             "leakage_area = \"25e-6 m2\"; filling_loss = 0.04; friction_torque = \"2 N m\";"
             " corrections = { leakage = 1.2; filling_loss = 0.5; blower_friction = 1.5; };");
    assert_int_equal(t.status, SHV_OK);
    assert_near(t.study.blowers[0].geometry.leakage_area, 30e-6, 1e-12);
    assert_near(t.study.blowers[0].geometry.filling_loss, 0.02, 1e-12);
    assert_near(t.study.blowers[0].friction_torque, 3.0, 1e-12);
    end_trial(&t);
}

/* Where there is but one fuel the stock engine's must be that one too. */
static void a_fuel_that_is_not_there(void **state)
{
    (void)state;
    struct trial t;
    char *one =
        edited(base,
               ",\n { name = \"g\"; stoichiometric = 14.6; heating_value = \"42.9e6 J/kg\"; "
               "density = \"745 kg/m3\"; }",
               "");
    try_edit(&t, one, "humidity = \"50 %\";", "fuel = \"something\";");
    assert_int_equal(t.findings.count, 1);
    assert_string_equal(finding(&t, 0),
                        "engine.stock.fuel: found \"something\"; accepted: the name of "
                        "one of this study's fuels");
    end_trial(&t);
    free(one);
}

static void mixtures_as_air_fuel_ratios(void **state)
{
    (void)state;
    struct trial t;
    try_edit(&t, base, "results", "mixture = { afr = (11.68, 13.14); };\nresults");
    assert_int_equal(t.status, SHV_OK);
    assert_int_equal(t.study.numbers[SHV_DIM_LAMBDA].count, 2);
    assert_near(t.study.numbers[SHV_DIM_LAMBDA].values[0], 0.8, 1e-12);
    assert_near(t.study.numbers[SHV_DIM_LAMBDA].values[1], 0.9, 1e-12);
    end_trial(&t);
    try_edit(&t, base, "humidity = \"50 %\";", "afr = 13.14;");
    assert_int_equal(t.status, SHV_OK);
    assert_near(t.study.engine.stock_lambda, 0.9, 1e-12);
    end_trial(&t);
    static const struct edit edits[] = {
        {"results", "mixture = { afr = 13; lambda = 0.9; };\nresults",
         "mixture.lambda: found where it has no meaning; accepted: only with no afr"},
        {"humidity = \"50 %\";", "afr = 13; lambda = 0.9;",
         "engine.stock.lambda: found where it has no meaning; accepted: only with no afr"},
        {"results", "mixture = { afr = 8; };\nresults",
         "mixture.afr: found 8, lambda 0.5479 of a fuel with 14.6 at lambda 1; accepted: 10.22 to "
         "17.52"},
    };
    assert_all_edits(base, edits);
    char *two =
        edited(base, "{ name = \"g\"; stoichiometric = 14.6", "{ name = \"g\"; stoichiometric = 9");
    try_edit(&t, two, "results", "mixture = { afr = 13; };\nresults");
    assert_int_equal(t.findings.count, 1);
    assert_string_equal(
        finding(&t, 0),
        "mixture.afr: found where f has 14.6 at lambda 1 and g 9, so that it would be "
        "another mixture in each; accepted: lambda");
    end_trial(&t);
    free(two);
    double lambda;
    assert_int_equal(shv_study_lambda(10.22, 14.6, &lambda, NULL), SHV_OK);
    assert_near(lambda, 0.7, 1e-12);
}

static const char cycle_engine[] = "efficiency = { model = \"cycle\"; }; friction = { };";

/* The closed cycle's own rules. */
static void the_closed_cycle(void **state)
{
    (void)state;
    struct trial t;
    char *cycle = edited(base,
                         "efficiency = { model = \"stock_torque\"; }; friction = { model = "
                         "\"chen_flynn\"; };",
                         cycle_engine);
    char *text = edited(cycle, "{ name = \"f\"; stoichiometric = 14.6; ",
                        "{ name = \"f\"; stoichiometric = 14.6; ron = 95; ");
    free(cycle);
    cycle = edited(text, "{ name = \"g\"; stoichiometric = 14.6; ",
                   "{ name = \"g\"; stoichiometric = 14.6; ron = 98; ");
    free(text);
    static const struct edit edits[] = {
        {"title", "title", NULL},
        {"exhaust", "knock = { best_ca50 = \"8 deg\"; limit_ca50 = \"8.9 deg\"; }; exhaust",
         "engine.knock.limit_ca50: found 8.9 deg; accepted: at least 1 deg above best_ca50, 8 deg"},
        {"exhaust", "knock = { best_ca50 = \"8 deg\"; limit_ca50 = \"9 deg\"; }; exhaust", NULL},
        {"friction = { };", "friction = { peak_pressure_ratio = 60; };",
         "engine.friction.peak_pressure_ratio: found where it has no meaning; accepted: only with "
         "another efficiency.model than \"cycle\", which has its own peak pressure"},
        {"results", "mixture = { ignition_margin = \"2 deg\"; };\nresults", NULL},
        {"limits = { boost = \"7e4 Pa\"; };\n", "", NULL}, /* knock limits */
    };
    assert_all_edits(cycle, edits);
    static const struct {
        const char *more;
        double share;
    } cases[] = {{"cycle = { injection = \"direct\"; }; exhaust", 0.8},
                 {"cycle = { injection = \"direct\"; evaporated_share = 0.3; }; exhaust", 0.3},
                 {"cycle = { injection = \"port\"; }; exhaust", -1.0}};
    for (size_t i = 0; i < 3; i++) {
        try_edit(&t, cycle, "exhaust", cases[i].more);
        assert_int_equal(t.status, SHV_OK);
        struct shv_cycle_engine engine;
        struct shv_cycle_fuel fuel;
        struct shv_cycle_knock knock;
        struct shv_cycle_case at;
        shv_cycle_defaults(&engine, &fuel, &knock, &at);
        assert_near(t.study.engine.cycle.evaporated_share,
                    cases[i].share < 0.0 ? engine.evaporated_share : cases[i].share, 1e-12);
        end_trial(&t);
    }
    free(cycle);
}

static void a_folder_by_the_name_of_the_file(void **state)
{
    (void)state;
    static const char *const cases[][2] = {{"a.cfg", "results/a"},
                                           {"some/where/b.c.cfg", "results/b.c"},
                                           {"../noend", "results/noend"},
                                           {"x/.hidden", "results/.hidden"},
                                           {"d.ir/plain", "results/plain"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *folder = default_folder(cases[i][0]);
        assert_string_equal(folder, cases[i][1]);
        free(folder);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(groups_of_the_engine),
        cmocka_unit_test(air_drive_and_sites),
        cmocka_unit_test(air_that_is_hardly_air),
        cmocka_unit_test(parts),
        cmocka_unit_test(objective_and_results),
        cmocka_unit_test(what_follows_from_other_keys),
        cmocka_unit_test(a_fuel_that_is_not_there),
        cmocka_unit_test(mixtures_as_air_fuel_ratios),
        cmocka_unit_test(the_closed_cycle),
        cmocka_unit_test(a_folder_by_the_name_of_the_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
