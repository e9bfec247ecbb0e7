/* A small invented study in memory, its model and all that a run finds, for the tests of the
 * writers. Two blowers, two crank and three blower pulleys, no cooler or two cores, two fuels, two
 * lambdas: 144 combinations at two sites and three speeds. The sweep here is a plain loop over
 * shv_model_evaluate. fixture_cycle_setup makes a smaller one with the closed cycle, run without
 * tables, with injectors and a pump; fixture_belt_setup the first one with a belt, a duty, a cruise
 * point, prices and masses. */
#ifndef SHEAVE_TESTS_REPORT_FIXTURE_H
#define SHEAVE_TESTS_REPORT_FIXTURE_H

#include <math.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cmocka.h>

#include "sheave/sheave.h"

struct fixture {
    struct shv_study study;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_optimum optima[2];
    struct shv_run run;
    struct shv_message message;
    /* what the study points to */
    struct shv_site sites[2];
    struct shv_blower blowers[2];
    struct shv_cooler coolers[2];
    struct shv_fuel fuels[2];
    struct shv_injector_part injectors[2];
    struct shv_pump_part pumps[2];
    double cranks[2], pulleys[3], effectiveness[2], none[1], lambdas[2], speeds[3], margins[2];
    double flows[2], unlimited[1];
    double ribs[2], wraps[2];
    struct shv_duty_part duty[2];
    char folder[64]; /* a new one under /tmp, emptied and removed at the end */
};

static inline void fixture_engine(struct fixture *f)
{
    static const double x[] = {25.0, 60.0, 110.0}, ve[] = {0.84, 0.93, 0.86};
    static const double torque[] = {160.0, 182.0, 158.0};
    struct shv_engine *e = &f->study.engine;
    memcpy(f->speeds, (const double[]){40.0, 75.0, 110.0}, sizeof f->speeds);
    *e = (struct shv_engine){.cylinders = 4,
                             .bore = 0.086,
                             .stroke = 0.086,
                             .displacement = 0.001998,
                             .compression_ratio = 9.5,
                             .speeds = f->speeds,
                             .speed_count = 3,
                             .reference_temperature = 298.15,
                             .pumping_share = 1.0,
                             .intake = {2000.0, 0.12, 1.18},
                             .exhaust = {9000.0, 0.15, 0.45},
                             .friction = {.kind = SHV_FRICTION_CHEN_FLYNN,
                                          .fmep_at_rest = 40e3,
                                          .per_peak_pressure = 0.005,
                                          .per_piston_speed = 9e3,
                                          .per_piston_speed_squared = 90.0,
                                          .peak_pressure_ratio = 60.0},
                             .efficiency_kind = SHV_EFFICIENCY_STOCK_TORQUE,
                             .stock = {101325.0, 298.15, 0.3},
                             .stock_lambda = 0.9};
    assert_int_equal(shv_curve_table_init(&e->volumetric_efficiency, 3, x, ve, NULL), SHV_OK);
    assert_int_equal(shv_curve_table_init(&e->stock_torque, 3, x, torque, NULL), SHV_OK);
    f->study.intake = e->intake;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_case at;
    shv_cycle_defaults(&e->cycle, &fuel, &e->knock, &at);
    e->cycle.bore = e->bore;
    e->cycle.stroke = e->stroke;
    e->cycle.compression_ratio = e->compression_ratio;
}

static inline struct shv_blower fixture_blower(char *name, double displacement)
{
    return (struct shv_blower){.name = name,
                               .kind = SHV_BLOWER_GEOMETRY,
                               .displacement = displacement,
                               .step_up = 1.0,
                               .friction_torque = 0.5,
                               .windage_torque = 0.3,
                               .windage_reference_speed = 200.0,
                               .max_speed = 240.0,
                               .max_pressure_ratio = INFINITY,
                               .max_pressure_rise = 1.2e5,
                               .max_discharge_temperature = 450.0,
                               .geometry = {.leakage_area = 4e-5,
                                            .closing_rate = 1e-3,
                                            .assembly_temperature = 293.15,
                                            .volume_ratio = 1.0,
                                            .filling_loss = 0.05,
                                            .reference_speed = 200.0}};
}

static inline void fixture_parts(struct fixture *f)
{
    f->sites[0] = (struct shv_site){"shore", {101325.0, 298.15, 0.4}, 1.0, NAN};
    f->sites[1] = (struct shv_site){"hill", {84556.0, 288.15, 0.3}, 1.0, NAN};
    f->blowers[0] = fixture_blower("straight-small", 0.9e-3);
    f->blowers[1] = fixture_blower("twist-large", 1.2e-3);
    f->effectiveness[0] = 0.5;
    f->effectiveness[1] = 0.75;
    f->coolers[0] = (struct shv_cooler){.name = "none",
                                        .is_none = true,
                                        .effectiveness = {f->none, 1},
                                        .coolant_temperature = NAN,
                                        .coolant_capacity = INFINITY,
                                        .rated_flow = 0.1,
                                        .rated_density = 1.2};
    f->coolers[1] = (struct shv_cooler){.name = "core-small",
                                        .arrangement = SHV_COOLER_SINGLE_STREAM,
                                        .effectiveness = {f->effectiveness, 2},
                                        .rated_flow = 0.15,
                                        .pressure_drop = 4000.0,
                                        .pressure_drop_effectiveness = 0.75,
                                        .rated_density = 1.6,
                                        .ntu_exponent = 0.3,
                                        .coolant_rise = 10.0,
                                        .coolant_temperature = NAN,
                                        .coolant_capacity = INFINITY};
    f->fuels[0] = (struct shv_fuel){"pump-95", 14.5, 42.9e6, 745.0, 95.0, 85.0,
                                    350e3,     1.87, 0.0,    0.105, false};
    f->fuels[1] = (struct shv_fuel){"blend-85", 9.8, 29.2e6, 781.0, 106.0, 90.0,
                                    800e3,      2.8, 0.38,   0.054, false};
    f->injectors[0] = (struct shv_injector_part){
        .name = "unlimited", .is_unlimited = true, .rated_flow = {f->unlimited, 1}};
    f->pumps[0] = (struct shv_pump_part){.name = "unlimited", .is_unlimited = true};
    memcpy(f->cranks, (const double[]){0.140, 0.150}, sizeof f->cranks);
    memcpy(f->pulleys, (const double[]){0.064, 0.071, 0.080}, sizeof f->pulleys);
    memcpy(f->lambdas, (const double[]){0.82, 0.90}, sizeof f->lambdas);
}

static inline void fixture_study(struct fixture *f)
{
    fixture_engine(f);
    fixture_parts(f);
    struct shv_study *s = &f->study;
    s->path = "kits/demo.cfg";
    s->title = "demo \"kit\"\n, invented";
    memset(s->sha256, 'a', 64);
    s->drive = (struct shv_drive){.creep = 0.01, .efficiency = 0.97, .line_offset = 0.0014};
    s->numbers[SHV_DIM_CRANK_PULLEY] = (struct shv_numbers){f->cranks, 2};
    s->numbers[SHV_DIM_BLOWER_PULLEY] = (struct shv_numbers){f->pulleys, 3};
    s->bypass = (struct shv_bypass){INFINITY, SHV_BLEED_TO_INLET};
    s->sites = f->sites;
    s->blowers = f->blowers;
    s->coolers = f->coolers;
    s->fuels = f->fuels;
    s->numbers[SHV_DIM_LAMBDA].values = f->lambdas;
    s->numbers[SHV_DIM_IGNITION_MARGIN].values = f->margins;
    s->injectors = f->injectors;
    s->pumps = f->pumps;
    s->rail = (struct shv_fuel_rail){300e3, SHV_RAIL_MANIFOLD, 1};
    s->numbers[SHV_DIM_IGNITION_MARGIN].count = s->injector_count = s->pump_count = 1;
    s->site_count = s->blower_count = s->cooler_count = s->fuel_count =
        s->numbers[SHV_DIM_LAMBDA].count = 2;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        s->limit[i] = INFINITY;
    }
    s->limit[SHV_LIMIT_BOOST] = 75e3;
    s->limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 360.0;
    s->limit[SHV_LIMIT_FUEL_FLOW] = 0.020;
    s->results = (struct shv_results){.folder = f->folder, .keep = 12, .curves = 2};
}

/* Fewer combinations, as the closed cycle takes its time: one blower, one fuel and lambda, margins
 * of 0 and 3 deg, two sizes of injectors, one pump: 72. */
static inline void fixture_use_cycle(struct fixture *f)
{
    static const double rise[] = {200e3, 600e3}, flow[] = {60e-6, 30e-6};
    struct shv_study *s = &f->study;
    s->engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
    s->blower_count = s->fuel_count = s->numbers[SHV_DIM_LAMBDA].count = 1;
    s->numbers[SHV_DIM_IGNITION_MARGIN].count = 2;
    s->limit[SHV_LIMIT_CHARGE_TEMPERATURE] = INFINITY;
    f->margins[1] = 3.0;
    memcpy(f->flows, (const double[]){7.5e-6, 10e-6}, sizeof f->flows);
    f->injectors[0] = (struct shv_injector_part){.name = "squirt",
                                                 .rated_flow = {f->flows, 2},
                                                 .rated_pressure = 300e3,
                                                 .test_density = 684.0,
                                                 .dead_time = 1e-3,
                                                 .max_duty = 0.9};
    f->pumps[0] = (struct shv_pump_part){.name = "in-tank"};
    assert_int_equal(shv_curve_table_init(&f->pumps[0].pump.flow, 2, rise, flow, NULL), SHV_OK);
    f->pumps[0].pump.line_loss = 10e3;
}

/* A belt of 4 or 8 ribs with the wrap of the layout or of 200 deg, its static tension left open;
 * two parts of a duty; cruise at the first speed. Prices in crowns. */
static inline void fixture_use_belt(struct fixture *f)
{
    struct shv_study *s = &f->study;
    struct shv_belt_setup *b = &s->drive.belt;
    s->numbers[SHV_DIM_RIBS] = (struct shv_numbers){f->ribs, 2};
    s->numbers[SHV_DIM_WRAP] = (struct shv_numbers){f->wraps, 2};
    memcpy(f->ribs, (const double[]){4.0, 8.0}, sizeof f->ribs);
    memcpy(f->wraps, (const double[]){0.0, 200.0}, sizeof f->wraps);
    *b = (struct shv_belt_setup){.given = true,
                                 .belt = {.ribs = 1,
                                          .rib_pitch = SHV_PK_RIB_PITCH,
                                          .groove_angle = SHV_PK_GROOVE_ANGLE,
                                          .min_diameter = SHV_PK_MIN_DIAMETER},
                                 .tensioner = SHV_TENSION_SPRING,
                                 .static_tension = NAN,
                                 .slip_margin = 0.3,
                                 .centre = 0.25,
                                 .rib = {4.0, 0.02}};
    b->belt.friction = 0.35;
    b->belt.rib_mass = 0.018;
    b->belt.allowed_tension = 250.0;
    for (size_t i = 0; i < 2; i++) {
        f->blowers[i].bearing = (struct shv_nose_bearing){
            .given = true, .type = SHV_BEARING_BALL, .rating = 12e3, .overhang = 0.03, .span = 0.1};
        f->blowers[i].continuous_speed = 200.0;
        f->blowers[i].worth = (struct shv_worth){1800.0 + 400.0 * (double)i, 9.0 + (double)i};
    }
    f->coolers[1].worth = (struct shv_worth){300.0, 3.0};
    f->coolers[1].per_ntu = (struct shv_worth){100.0, 1.0};
    f->duty[0] = (struct shv_duty_part){.speed = 0, .time = 0.9, .load = 0.3};
    f->duty[1] = (struct shv_duty_part){.speed = 2, .time = 0.1, .load = 1.0};
    s->use = (struct shv_use){.duty = f->duty,
                              .duty_parts = 2,
                              .full_throttle_time = INFINITY,
                              .cruises = true,
                              .cruise_speed = 0,
                              .cruise_pressure = 50e3,
                              .road_speed = 28.0,
                              .bsfc = 0.3 / 3.6e6};
    s->bypass_part = (struct shv_bypass_part){
        .area = 8e-4, .has_actuator = true, .actuator = {8e3, 2e4}, .worth = {90.0, 0.6}};
    s->base.worth = (struct shv_worth){450.0, 6.0};
    s->base.pulley = (struct shv_worth){60.0, 0.8};
    s->base.manifold_pressure = s->base.manifold_temperature = INFINITY;
    s->currency = "crowns";
    s->limit[SHV_LIMIT_PRICE] = 3400.0;
    s->limit[SHV_LIMIT_BEARING_LIFE] = 500.0 * 3600.0;
}

/* What the sweep does, one kit after the other. */
static inline void fixture_sweep(struct fixture *f)
{
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, f->model, &f->message), SHV_OK);
    assert_int_equal(shv_ranking_init(&f->ranking, f->study.results.keep, &f->message), SHV_OK);
    f->counts = (struct shv_sweep_counts){.total = f->space.size};
    for (uint64_t i = 0; i < f->space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&f->space, &f->study, i, &kit);
        shv_model_evaluate(f->model, &kit, &curves);
        const struct shv_verdict *v = &curves.verdict;
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            f->counts.broken[k] += v->broken >> k & 1u;
        }
        if (v->outcome != SHV_POINT_OK) {
            f->counts.failed[v->outcome]++;
        } else if (v->first_broken >= 0) {
            f->counts.first[v->first_broken]++;
        } else {
            f->counts.feasible++;
            shv_ranking_offer(&f->ranking, (struct shv_candidate){v->objective, i});
        }
    }
    shv_ranking_sort(&f->ranking);
    shv_curves_free(&curves);
}

/* One row with all there is, one with nothing found. */
static inline void fixture_optima(struct fixture *f)
{
    struct shv_optimum *o = &f->optima[0];
    o->blower = f->study.blower_count - 1;
    o->found = o->real_found = true;
    o->ideal = (struct shv_kit){.blower = o->blower,
                                .cooler = 1,
                                .crank_diameter = NAN,
                                .blower_diameter = NAN,
                                .ratio = 1.97,
                                .effectiveness = 0.81,
                                .lambda = 0.9,
                                .ignition_margin =
                                    f->margins[f->study.numbers[SHV_DIM_IGNITION_MARGIN].count - 1],
                                .injector_flow = f->flows[1]};
    o->objective = 150e3;
    o->binding = SHV_LIMIT_DISCHARGE_TEMPERATURE;
    o->binding_share = 0.0;
    o->real_index = f->space.size > 77 ? 77 : 71;
    shv_space_kit(&f->space, &f->study, o->real_index, &o->real);
    o->real_objective = 147e3;
    o->loss = 0.02;
    o->plain_difference = 2e-12;
    o->retard = NAN;
    o->uncooled_found = true;
    o->uncooled = o->ideal;
    o->uncooled.cooler = 0;
    o->uncooled.ratio = 1.5;
    o->uncooled_objective = 120e3;
    o->uncooled_retard = NAN;
    o->evaluations = 900;
    f->optima[1] = (struct shv_optimum){
        .blower = 0, .fuel = f->study.fuel_count - 1, .binding = -1, .evaluations = 400};
}

enum fixture_kind { FIXTURE_PLAIN, FIXTURE_CYCLE, FIXTURE_BELT };

static inline int fixture_make(void **state, enum fixture_kind kind)
{
    struct fixture *f = calloc(1, sizeof *f);
    assert_non_null(f);
    strcpy(f->folder, "/tmp/sheave-report-XXXXXX");
    assert_non_null(mkdtemp(f->folder));
    fixture_study(f);
    if (kind == FIXTURE_CYCLE) {
        fixture_use_cycle(f);
    } else if (kind == FIXTURE_BELT) {
        fixture_use_belt(f);
    }
    assert_int_equal(shv_space_init(&f->space, &f->study, &f->message), SHV_OK);
    assert_int_equal(shv_model_create(&f->study, &f->model, &f->message), SHV_OK);
    fixture_sweep(f);
    fixture_optima(f);
    f->run = (struct shv_run){.study = &f->study,
                              .model = f->model,
                              .space = &f->space,
                              .ranking = &f->ranking,
                              .counts = &f->counts,
                              .optima = f->optima,
                              .optimum_count = 2,
                              .threads = 2,
                              .seconds_tables = 3.0,
                              .seconds_sweep = 1.5,
                              .seconds_search = 0.25,
                              .seconds_total = 2.0,
                              .started = "2024-05-06T18:00:00Z",
                              .options = "--threads 2"};
    *state = f;
    return 0;
}

static inline int fixture_setup(void **state)
{
    return fixture_make(state, FIXTURE_PLAIN);
}

static inline int fixture_cycle_setup(void **state)
{
    return fixture_make(state, FIXTURE_CYCLE);
}

static inline int fixture_belt_setup(void **state)
{
    return fixture_make(state, FIXTURE_BELT);
}

static inline int fixture_teardown(void **state)
{
    struct fixture *f = *state;
    static const char *const names[] = {
        "ranked.csv", "curves.csv",        "rejected.csv",     "optimum.csv", "manifest.cfg",
        "stream.txt", "tradeoffs.csv",     "serving.csv",      "sites.csv",   "limit_worth.csv",
        "sure.csv",   "sensitivities.csv", "worth_knowing.csv"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[128];
        (void)snprintf(path, sizeof path, "%s/%s", f->folder, names[i]);
        (void)unlink(path);
    }
    int removed = rmdir(f->folder); /* fails when a writer left something else behind */
    shv_ranking_free(&f->ranking);
    shv_model_free(f->model);
    shv_curve_table_free(&f->study.engine.volumetric_efficiency);
    shv_curve_table_free(&f->study.engine.stock_torque);
    shv_curve_table_free(&f->pumps[0].pump.flow);
    free(f);
    return removed;
}

/* The whole file as a string; the caller frees it. NULL when it is not there. */
/* Files may not grow beyond this, as on a full disk; the caller sets back what is returned. */
static inline struct rlimit limit_files(rlim_t bytes)
{
    struct rlimit before;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = before;
    small.rlim_cur = bytes;
    (void)signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    return before;
}

static inline char *read_whole(const char *folder, const char *name)
{
    char path[256];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *in = fopen(path, "rb");
    if (!in) {
        return NULL;
    }
    size_t size = 0;
    char *text = calloc(1, 1 << 20);
    assert_non_null(text);
    size = fread(text, 1, (1 << 20) - 1, in);
    assert_true(size < (1 << 20) - 1);
    assert_int_equal(fclose(in), 0);
    return text;
}

/* ---- an RFC 4180 reader of its own, for judging the writers ---- */

#define CSV_FIELDS 160
#define CSV_RECORDS 512

struct csv {
    size_t records;
    size_t fields[CSV_RECORDS];
    char *cell[CSV_RECORDS][CSV_FIELDS]; /* into `text` */
    char *text;                          /* owned */
};

/* Reads one field in place; returns what stands after it. */
static inline char *csv_field(char *from, char **cell)
{
    char *to = from;
    *cell = from;
    if (*from != '"') {
        from += strcspn(from, ",\r\n\"");
        assert_true(*from != '"'); /* a bare quote is no RFC 4180 */
        return from;
    }
    for (from++; *from != '"' || from[1] == '"'; from++) {
        assert_true(*from != '\0');
        from += *from == '"';
        *to++ = *from;
    }
    from++;
    *to = '\0';
    return from;
}

/* Parses the text, which it takes over. Fails the test where it isn't RFC 4180 with CRLF. */
static inline struct csv *csv_parse(char *text)
{
    struct csv *csv = calloc(1, sizeof *csv);
    assert_non_null(csv);
    assert_non_null(text);
    csv->text = text;
    while (*text != '\0') {
        assert_true(csv->records < CSV_RECORDS);
        for (;;) {
            size_t r = csv->records, n = csv->fields[r]++;
            assert_true(n < CSV_FIELDS);
            char *after = csv_field(text, &csv->cell[r][n]);
            char end = *after;
            assert_true(end == ',' || (end == '\r' && after[1] == '\n'));
            *after = '\0';
            text = after + (end == ',' ? 1 : 2);
            if (end != ',') {
                break;
            }
        }
        csv->records++;
    }
    return csv;
}

static inline void csv_free(struct csv *csv)
{
    free(csv->text);
    free(csv);
}

static inline bool csv_has(const struct csv *csv, const char *name)
{
    for (size_t i = 0; i < csv->fields[0]; i++) {
        if (strcmp(csv->cell[0][i], name) == 0) {
            return true;
        }
    }
    return false;
}

/* The cell under a header name; fails the test when there is no such column. */
static inline const char *csv_at(const struct csv *csv, size_t record, const char *name)
{
    for (size_t i = 0; i < csv->fields[0]; i++) {
        if (strcmp(csv->cell[0][i], name) == 0) {
            return csv->cell[record][i];
        }
    }
    fail_msg("no column %s", name);
    return NULL;
}

static inline double csv_value(const struct csv *csv, size_t record, const char *name)
{
    const char *cell = csv_at(csv, record, name);
    char *end;
    double value = strtod(cell, &end);
    assert_true(end != cell && *end == '\0');
    return value;
}

static inline void assert_close(double value, double expected, double relative)
{
    if (!(fabs(value - expected) <= relative * fabs(expected))) {
        fail_msg("%.12g is not %.12g within %g", value, expected, relative);
    }
}

/* Every record as long as the header, and names used once. */
static inline void assert_even(const struct csv *csv)
{
    for (size_t r = 1; r < csv->records; r++) {
        assert_int_equal(csv->fields[r], csv->fields[0]);
    }
    for (size_t i = 0; i < csv->fields[0]; i++) {
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(csv->cell[0][i], csv->cell[0][k]);
        }
    }
}

#endif
