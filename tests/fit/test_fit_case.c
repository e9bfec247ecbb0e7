/* The model of one log: its speeds, the cubic between them, its air, its mixture, and that each
 * channel is that of the kit at the row's speed. */
#include "support/fit_logs.h"

#include "fit/fit_internal.h"

enum { SPEED, MAP, POWER, PRESSURE, TEMPERATURE, LAMBDA, COLUMNS };
#define PLAN                                                                                       \
    "fit = { logs = ( { name = \"dyno\"; columns = (" FIT_SPEED "," FIT_MAP "," FIT_POWER          \
    "," FIT_COLUMN("ambient_pressure", "") "," FIT_COLUMN(                                         \
        "ambient_temperature", "") "," FIT_COLUMN("lambda",                                        \
                                                  "") "); } );\n"                                  \
                                                      "free = ( { correction = \"leakage\"; from " \
                                                      "= 0.4; to = 2.5; } ); };\n"

static struct shv_study study;
static struct shv_corrections neutral;

static int begin(void **state)
{
    (void)state;
    fit_study(&study, PLAN);
    shv_corrections_neutral(&neutral);
    return 0;
}

static int end(void **state)
{
    (void)state;
    shv_study_free(&study);
    return 0;
}

/* A log of rows (rpm, Pa, K, lambda), each of a run. */
struct row {
    double rpm, pressure, temperature, lambda;
    size_t run;
};

static struct shv_log log_of(const struct row *rows, size_t count, size_t runs)
{
    struct shv_log log = {
        .path = strdup("dyno.csv"), .wants = COLUMNS, .rows = count, .runs = runs};
    log.value = calloc(count * COLUMNS, sizeof *log.value);
    log.row = calloc(count, sizeof *log.row);
    log.run_name = calloc(runs, sizeof *log.run_name);
    assert_true(log.path && log.value && log.row && log.run_name);
    for (size_t i = 0; i < runs; i++) {
        log.run_name[i] = strdup("pull");
    }
    for (size_t i = 0; i < count; i++) {
        const double cells[COLUMNS] = {rows[i].rpm / 60.0,  1e5,           5e4, rows[i].pressure,
                                       rows[i].temperature, rows[i].lambda};
        memcpy(log.value + i * COLUMNS, cells, sizeof cells);
        log.row[i].run = rows[i].run;
    }
    return log;
}

static struct fit_case *made_case(const struct row *rows, size_t count, size_t runs,
                                  enum shv_status status, const char *says)
{
    struct fit_case *c = calloc(1, sizeof *c);
    struct shv_log log = log_of(rows, count, runs);
    struct shv_message message = {""};
    assert_non_null(c);
    enum shv_status got = fit_case_init(c, &study, &study.fit.log[0], &log, 1, &message);
    assert_true(!log.value && !log.path); /* taken over */
    if (got != status || (says && !strstr(message.text, says))) {
        fail_msg("%d: %s", (int)got, message.text);
    }
    return c;
}

static void drop(struct fit_case *c)
{
    fit_case_free(c, 1);
    assert_true(!c->model && !c->speeds && !c->log.value);
    free(c);
}

static void speeds_are_those_of_the_log(void **state)
{
    (void)state;
    const struct row rows[] = {{3000.0, NAN, NAN, 0.9, 0},
                               {2000.0, NAN, NAN, 0.8, 0},
                               {3000.0, NAN, NAN, NAN, 0},
                               {7000.0, NAN, NAN, 0.85, 0}};
    struct fit_case *c = made_case(rows, 4, 1, SHV_OK, NULL);
    /* With the study's ends; 7000 rpm is beyond them. */
    const double rpm[] = {1500.0, 2000.0, 3000.0, 6500.0};
    assert_int_equal(c->study.engine.speed_count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_within(c->study.engine.speeds[i] * 60.0, rpm[i], 1e-9);
    }
    const size_t node[] = {2, 1, 2, 3};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(c->place[i].nodes, 1);
        assert_int_equal(c->place[i].node[0], node[i]);
        assert_true(c->place[i].weight[0] == 1.0 && c->place[i].site == 0);
    }
    /* The mixture is the mean of what the rows say. */
    assert_within(c->kit.lambda, 0.85, 1e-12);
    assert_true(c->study.numbers[SHV_DIM_LAMBDA].count == 1 &&
                c->study.numbers[SHV_DIM_LAMBDA].values[0] == c->kit.lambda);
    assert_true(study.engine.speed_count != 4); /* the study itself stays */
    drop(c);
}

/* With many speeds 60 even ones, and a cubic through four of them: exact for any cubic, also at the
 * ends. */
static void many_speeds_take_a_cubic(void **state)
{
    (void)state;
    enum { MANY = 90 };
    struct row rows[MANY];
    for (size_t i = 0; i < MANY; i++) {
        rows[i] = (struct row){1500.0 + 5000.0 * (double)i / (MANY - 1), NAN, NAN, 0.9, 0};
    }
    struct fit_case *c = made_case(rows, MANY, 1, SHV_OK, NULL);
    size_t count = c->study.engine.speed_count, between = 0;
    assert_int_equal(count, 60);
    for (size_t i = 0; i < 60; i++) {
        assert_within(c->study.engine.speeds[i] * 60.0, 1500.0 + 5000.0 * (double)i / 59.0, 1e-9);
    }
    for (size_t i = 0; i < MANY; i++) {
        const struct fit_place *p = &c->place[i];
        double x = rows[i].rpm / 60.0, sum = 0.0, value = 0.0;
        for (size_t k = 0; k < p->nodes; k++) {
            double at = c->study.engine.speeds[p->node[k]];
            sum += p->weight[k];
            value += p->weight[k] * (at * at * at - 30.0 * at * at + 7.0);
        }
        assert_within(sum, 1.0, 1e-12);
        assert_within(value, x * x * x - 30.0 * x * x + 7.0, 1e-7);
        if (p->nodes == FIT_STENCIL) {
            between++;
            /* The nearest four: two on each side but at the ends. */
            assert_true(p->node[3] == p->node[0] + 3 && p->node[3] < count);
            bool inner = p->node[0] > 0 && p->node[3] < count - 1;
            assert_true(!inner || (c->study.engine.speeds[p->node[1]] < x &&
                                   c->study.engine.speeds[p->node[2]] > x));
        }
    }
    assert_true(between > 80);
    drop(c);
}

/* Runs of the same air share a site; a run without air has the plan's. */
static void air_of_the_runs(void **state)
{
    (void)state;
    const struct row rows[] = {{2000.0, 99e3, 290.0, 0.9, 0},
                               {3000.0, 101e3, 292.0, 0.9, 0},
                               {2000.0, NAN, NAN, 0.9, 1},
                               {2000.0, 100e3, 291.0, 0.9, 2},
                               {3000.0, 90e3, NAN, 0.9, 3}};
    struct fit_case *c = made_case(rows, 5, 4, SHV_OK, NULL);
    const struct shv_ambient *given = &study.fit.log[0].ambient;
    assert_int_equal(c->study.site_count, 3);
    const size_t site[] = {0, 1, 0, 2};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(c->site_of_run[i], site[i]);
    }
    assert_within(c->sites[0].ambient.pressure, 100e3, 1e-9);
    assert_within(c->sites[0].ambient.temperature, 291.0, 1e-9);
    assert_true(c->sites[1].ambient.pressure == given->pressure &&
                c->sites[1].ambient.temperature == given->temperature);
    assert_true(c->sites[2].ambient.pressure == 90e3 &&
                c->sites[2].ambient.temperature == given->temperature);
    assert_int_equal(c->place[2].site, 1);
    assert_int_equal(c->place[4].site, 2);
    drop(c);
}

static void what_cannot_be(void **state)
{
    (void)state;
    static const struct {
        struct row row;
        const char *says;
    } cases[] = {{{2000.0, 29e3, 290.0, 0.9, 0}, "run \"pull\": found ambient air of 2.9e+04 Pa"},
                 {{2000.0, 121e3, 290.0, 0.9, 0}, "found ambient air"},
                 {{2000.0, 1e5, 219.0, 0.9, 0}, "found ambient air"},
                 {{2000.0, 1e5, 341.0, 0.9, 0}, "found ambient air"},
                 {{2000.0, 1e5, 290.0, 0.3, 0}, "dyno.csv: found a mean lambda of 0.3 in its rows"},
                 {{2000.0, 1e5, 290.0, 2.0, 0}, "found a mean lambda of 2"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        drop(made_case(&cases[i].row, 1, 1, SHV_BAD_INPUT, cases[i].says));
    }
    const struct row edge[] = {{2000.0, 30e3, 340.0, 0.9, 0}, {2000.0, 120e3, 220.0, 0.9, 0}};
    drop(made_case(&edge[0], 1, 1, SHV_OK, NULL));
    drop(made_case(&edge[1], 1, 1, SHV_OK, NULL));
}

/* Each value is that of the kit itself at this speed, air and mixture. */
static void values_are_the_models(void **state)
{
    (void)state;
    const struct row rows[] = {{2500.0, 98e3, 290.0, 0.88, 0}, {5000.0, 98e3, 290.0, 0.88, 0}};
    study.fit.log[0].power_share = 0.85;
    struct fit_case *c = made_case(rows, 2, 1, SHV_OK, NULL);
    double values[2 * SHV_CHANNEL_COUNT];
    struct shv_corrections leaky = neutral;
    leaky.value[SHV_CORRECT_LEAKAGE] = 1.5;
    assert_int_equal(fit_case_values(c, 0, &leaky, values), SHV_OK);
    study.fit.log[0].power_share = 1.0;
    struct shv_study own = study;
    struct shv_site site = {.name = "there", .weight = 1.0, .ambient = c->sites[0].ambient};
    double speeds[] = {1500.0 / 60.0, 2500.0 / 60.0, 5000.0 / 60.0, 6500.0 / 60.0};
    own.corrected = true;
    own.corrections = leaky;
    own.sites = &site;
    own.site_count = 1;
    own.engine.speeds = speeds;
    own.engine.speed_count = 4;
    struct shv_model *model;
    struct shv_curves curves;
    struct shv_kit kit = study.fit.log[0].kit;
    kit.lambda = 0.88;
    assert_int_equal(shv_model_create(&own, &model, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    shv_model_evaluate(model, &kit, &curves);
    for (size_t i = 0; i < 2; i++) {
        const struct shv_point *p = &curves.point[1 + i];
        const double *v = values + i * SHV_CHANNEL_COUNT;
        const struct {
            enum shv_channel channel;
            double expected;
        } all[] = {{SHV_CHANNEL_MANIFOLD_PRESSURE, p->manifold_pressure},
                   {SHV_CHANNEL_BOOST, p->boost},
                   {SHV_CHANNEL_ROTOR_SPEED, p->rotor_speed},
                   {SHV_CHANNEL_INLET_PRESSURE, p->inlet_pressure},
                   {SHV_CHANNEL_OUTLET_PRESSURE, p->outlet_pressure},
                   {SHV_CHANNEL_DISCHARGE_TEMPERATURE, p->discharge_temperature},
                   {SHV_CHANNEL_CHARGE_TEMPERATURE, p->charge_temperature},
                   {SHV_CHANNEL_AIR_FLOW, p->air_flow},
                   {SHV_CHANNEL_FUEL_FLOW, p->fuel_flow},
                   {SHV_CHANNEL_TORQUE, 0.85 * p->torque},
                   {SHV_CHANNEL_POWER, 0.85 * p->brake_power},
                   {SHV_CHANNEL_POWER_J1349, 0.85 * p->power_j1349},
                   {SHV_CHANNEL_POWER_ISO1585, 0.85 * p->power_iso1585},
                   {SHV_CHANNEL_BLOWER_POWER, p->blower_power},
                   {SHV_CHANNEL_EXHAUST_PRESSURE, p->exhaust_pressure}};
        assert_int_equal(p->outcome, SHV_POINT_OK);
        for (size_t k = 0; k < sizeof all / sizeof *all; k++) {
            if (shv_channel_info(all[k].channel)->use[SHV_LOG_OF_KIT] == SHV_CHANNEL_MEASURED) {
                assert_relative(v[all[k].channel], all[k].expected, 1e-9);
            }
        }
        assert_true(isnan(v[SHV_CHANNEL_LAMBDA]) && isnan(v[SHV_CHANNEL_SPEED]) &&
                    isnan(v[SHV_CHANNEL_RUN]) && isnan(v[SHV_CHANNEL_PRESSURE_RATIO]));
    }
    shv_curves_free(&curves);
    shv_model_free(model);
    leaky.value[SHV_CORRECT_LEAKAGE] = 7.0;
    assert_int_equal(fit_case_values(c, 0, &leaky, values), SHV_NOTHING);
    drop(c);
}

/* Limits do not count there, but for that of peak pressure, for which ignition is set. */
static void limits_of_the_kit_do_not_count(void **state)
{
    (void)state;
    const struct row rows[] = {{2000.0, 1e5, 290.0, 0.9, 0}};
    study.limit[SHV_LIMIT_PEAK_PRESSURE] = 80e5;
    study.limit[SHV_LIMIT_ROTOR_SPEED] = 100.0;
    struct fit_case *c = made_case(rows, 1, 1, SHV_OK, NULL);
    assert_true(study.limit[SHV_LIMIT_BOOST] == 1e5);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        assert_int_equal(isinf(c->study.limit[i]) != 0, i != SHV_LIMIT_PEAK_PRESSURE);
    }
    assert_true(c->study.limit[SHV_LIMIT_PEAK_PRESSURE] == 80e5);
    assert_int_equal(c->study.objective.kind, SHV_OBJECTIVE_PEAK_POWER);
    drop(c);
    study.limit[SHV_LIMIT_PEAK_PRESSURE] = study.limit[SHV_LIMIT_ROTOR_SPEED] = INFINITY;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speeds_are_those_of_the_log),
        cmocka_unit_test(many_speeds_take_a_cubic),
        cmocka_unit_test(air_of_the_runs),
        cmocka_unit_test(what_cannot_be),
        cmocka_unit_test(values_are_the_models),
        cmocka_unit_test(limits_of_the_kit_do_not_count),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
