/* A study in memory for the tests of model, batch and choose: an invented four-cylinder engine, one
 * site, one blower, no cooler, one fuel and one lambda, injectors and pump without limits, no belt,
 * no use, no prices, no limits. A test adds or changes what it is about, then makes the model.
 * Lists are fixed arrays inside `struct made`, so that only curves and maps are freed. */
#ifndef SHEAVE_TESTS_SUPPORT_STUDY_FIXTURE_H
#define SHEAVE_TESTS_SUPPORT_STUDY_FIXTURE_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheave/sheave.h"

#define MADE_PI 3.14159265358979323846

struct made {
    struct shv_study study;
    struct shv_site sites[4];
    struct shv_blower blowers[6];
    struct shv_cooler coolers[10];
    double effectiveness[10][64];
    struct shv_fuel fuels[4];
    struct shv_injector_part injectors[4];
    double injector_flows[4][16];
    struct shv_pump_part pumps[4];
    double cranks[8], pulleys[256], lambdas[16], margins[8], speeds[32];
};

/* ---- comparisons ---- */

#define assert_within(value, expected, tolerance)                                                  \
    do {                                                                                           \
        double within_v = (value), within_e = (expected), within_t = (tolerance);                  \
        if (!(fabs(within_v - within_e) <= within_t)) {                                            \
            fail_msg("%s = %.17g is not %.17g within %g", #value, within_v, within_e, within_t);   \
        }                                                                                          \
    } while (0)

#define assert_relative(value, expected, tolerance)                                                \
    assert_within(value, expected, (tolerance)*fabs(expected))

static inline uint64_t made_bits(double x)
{
    uint64_t u;
    memcpy(&u, &x, sizeof u);
    return u;
}

#define assert_same_bits(a, b)                                                                     \
    do {                                                                                           \
        double bits_a = (a), bits_b = (b);                                                         \
        if (made_bits(bits_a) != made_bits(bits_b)) {                                              \
            fail_msg("%s = %.17g and %s = %.17g differ", #a, bits_a, #b, bits_b);                  \
        }                                                                                          \
    } while (0)

/* ---- seeded random numbers: splitmix64 (Steele, Lea and Flood 2014) ---- */

static inline uint64_t random_next(uint64_t *state)
{
    uint64_t z = (*state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline double random_in(uint64_t *state, double low, double high)
{
    return low + (high - low) * ((double)(random_next(state) >> 11) * 0x1p-53);
}

static inline bool random_chance(uint64_t *state, double share)
{
    return random_in(state, 0.0, 1.0) < share;
}

/* ---- parts ---- */

static inline struct shv_blower made_geometry(char *name, double displacement)
{
    return (struct shv_blower){.name = name,
                               .kind = SHV_BLOWER_GEOMETRY,
                               .displacement = displacement,
                               .step_up = 1.0,
                               .friction_torque = 1.0,
                               .windage_torque = 0.8,
                               .windage_reference_speed = 230.0,
                               .max_speed = INFINITY,
                               .max_pressure_ratio = INFINITY,
                               .max_pressure_rise = INFINITY,
                               .max_discharge_temperature = INFINITY,
                               .geometry = {.leakage_area = 40e-6,
                                            .closing_rate = 0.002,
                                            .assembly_temperature = 293.15,
                                            .volume_ratio = 1.0,
                                            .filling_loss = 0.03,
                                            .reference_speed = 230.0,
                                            .case_loss = 0.04}};
}

/* Volumetric and isentropic efficiency of the invented map. */
static inline double made_map_ve(double speed, double ratio)
{
    return 0.97 - 0.16 * (ratio - 1.0) - 5.0 / speed * (ratio - 1.0);
}

static inline double made_map_ie(double speed, double ratio)
{
    return 0.72 - 0.10 * (ratio - 1.3) * (ratio - 1.3) - 0.0004 * fabs(speed - 150.0);
}

static inline struct shv_blower made_map(char *name, double displacement, double top_speed,
                                         double top_ratio)
{
    struct shv_blower b = made_geometry(name, displacement);
    b.kind = SHV_BLOWER_MAP;
    b.geometry = (struct shv_blower_geometry){0};
    b.map = (struct shv_blower_map){101325.0, 298.15, 4, calloc(4, sizeof *b.map.line), 0.0};
    assert_non_null(b.map.line);
    for (size_t i = 0; i < 4; i++) {
        double speed = 20.0 + (top_speed - 20.0) * (double)i / 3.0, x[6], ve[6], ie[6];
        for (size_t k = 0; k < 6; k++) {
            x[k] = 1.0 + (top_ratio - 1.0) * (double)k / 5.0;
            ve[k] = made_map_ve(speed, x[k]);
            ie[k] = made_map_ie(speed, x[k]);
        }
        b.map.line[i].corrected_speed = speed;
        assert_int_equal(shv_curve_table_init(&b.map.line[i].volumetric_efficiency, 6, x, ve, NULL),
                         SHV_OK);
        assert_int_equal(shv_curve_table_init(&b.map.line[i].isentropic_efficiency, 6, x, ie, NULL),
                         SHV_OK);
    }
    return b;
}

/* A new cooler of the study with `choices` values of effectiveness from low to high. */
static inline struct shv_cooler *made_add_cooler(struct made *m,
                                                 enum shv_cooler_arrangement arrangement,
                                                 size_t choices, double low, double high)
{
    size_t c = m->study.cooler_count++;
    assert_true(c < sizeof m->coolers / sizeof *m->coolers && choices <= 64);
    for (size_t i = 0; i < choices; i++) {
        double share = choices > 1 ? (double)i / (double)(choices - 1) : 0.0;
        m->effectiveness[c][i] = low + (high - low) * share;
    }
    m->coolers[c] = (struct shv_cooler){.name = "core",
                                        .arrangement = arrangement,
                                        .effectiveness = {m->effectiveness[c], choices},
                                        .rated_flow = 0.15,
                                        .pressure_drop = 5000.0,
                                        .pressure_drop_effectiveness = 0.65,
                                        .rated_density = 1.6,
                                        .ntu_exponent = 0.3,
                                        .coolant_rise = 5.0,
                                        .coolant_temperature = NAN,
                                        .coolant_capacity = INFINITY};
    return &m->coolers[c];
}

static inline struct shv_cooler *made_add_loop_cooler(struct made *m,
                                                      enum shv_cooler_arrangement arrangement,
                                                      size_t choices, double low, double high)
{
    struct shv_cooler *c = made_add_cooler(m, arrangement, choices, low, high);
    c->coolant_capacity = 1250.0;
    c->radiator_effectiveness = 0.5;
    c->radiator_capacity = 700.0;
    return c;
}

static inline void made_add_site(struct made *m, double pressure, double temperature,
                                 double humidity, double weight)
{
    size_t i = m->study.site_count++;
    assert_true(i < sizeof m->sites / sizeof *m->sites);
    m->sites[i] = (struct shv_site){"site", {pressure, temperature, humidity}, weight, NAN};
}

static inline void made_add_blower(struct made *m, struct shv_blower blower)
{
    size_t i = m->study.blower_count++;
    assert_true(i < sizeof m->blowers / sizeof *m->blowers);
    m->blowers[i] = blower;
}

static inline void made_add_fuel(struct made *m, double stoichiometric, double heating_value)
{
    size_t i = m->study.fuel_count++;
    assert_true(i < sizeof m->fuels / sizeof *m->fuels);
    m->fuels[i] = (struct shv_fuel){.name = "fuel",
                                    .stoichiometric = stoichiometric,
                                    .heating_value = heating_value,
                                    .density = 750.0,
                                    .ron = 95.0,
                                    .mon = 85.0,
                                    .vaporisation = 350e3,
                                    .hydrogen_carbon = 1.87,
                                    .oxygen_carbon = 0.0,
                                    .molar_mass = 0.105};
}

/* What a study has that names no injectors and no pump. */
static inline void made_unlimited_supply(struct made *m)
{
    m->study.injectors = m->injectors;
    m->study.injector_count = 1;
    m->injectors[0] = (struct shv_injector_part){
        .name = "unlimited", .is_unlimited = true, .rated_flow = {m->injector_flows[0], 1}};
    m->study.pumps = m->pumps;
    m->study.pump_count = 1;
    m->pumps[0] = (struct shv_pump_part){.name = "unlimited", .is_unlimited = true};
    m->study.rail = (struct shv_fuel_rail){300e3, SHV_RAIL_MANIFOLD, 1};
}

static inline void made_lambdas(struct made *m, size_t count, double low, double high)
{
    assert_true(count <= sizeof m->lambdas / sizeof *m->lambdas);
    m->study.numbers[SHV_DIM_LAMBDA].count = count;
    for (size_t i = 0; i < count; i++) {
        m->lambdas[i] = count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_margins(struct made *m, size_t count, double low, double high)
{
    assert_true(count <= sizeof m->margins / sizeof *m->margins);
    m->study.numbers[SHV_DIM_IGNITION_MARGIN].values = m->margins;
    m->study.numbers[SHV_DIM_IGNITION_MARGIN].count = count;
    for (size_t i = 0; i < count; i++) {
        m->margins[i] = count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_blower_pulleys(struct made *m, size_t count, double low, double high)
{
    assert_true(count <= sizeof m->pulleys / sizeof *m->pulleys);
    m->study.numbers[SHV_DIM_BLOWER_PULLEY].count = count;
    for (size_t i = 0; i < count; i++) {
        m->pulleys[i] = count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_crank_pulleys(struct made *m, size_t count, double low, double high)
{
    assert_true(count <= sizeof m->cranks / sizeof *m->cranks);
    m->study.numbers[SHV_DIM_CRANK_PULLEY].count = count;
    for (size_t i = 0; i < count; i++) {
        m->cranks[i] = count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_speeds(struct made *m, size_t count, double low, double high)
{
    assert_true(count <= sizeof m->speeds / sizeof *m->speeds);
    m->study.engine.speed_count = count;
    for (size_t i = 0; i < count; i++) {
        m->speeds[i] = count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_curve(struct shv_curve_table *table, size_t count, const double *x,
                              const double *y)
{
    shv_curve_table_free(table);
    assert_int_equal(shv_curve_table_init(table, count, x, y, NULL), SHV_OK);
}

/* The closed cycle's defaults, in the engine's own size. */
static inline void made_cycle(struct shv_engine *e)
{
    struct shv_cycle_fuel fuel;
    struct shv_cycle_case at;
    shv_cycle_defaults(&e->cycle, &fuel, &e->knock, &at);
    e->cycle.bore = e->bore;
    e->cycle.stroke = e->stroke;
    e->cycle.compression_ratio = e->compression_ratio;
}

/* How the charge's temperature acts on flow without the closed cycle: 1/K, 1 over the reference
 * temperature there. docs/model.md, section 6. */
static inline double made_warming(const struct shv_engine *e, double temperature)
{
    double share = e->cycle.charge_heating, wall = share * e->cycle.charge_wall_temperature;
    double reference = e->reference_temperature;
    return ((1.0 - share) * reference + wall) / reference / ((1.0 - share) * temperature + wall);
}

static inline void made_engine(struct made *m)
{
    static const double x[] = {25.0, 60.0, 90.0, 115.0};
    static const double ve[] = {0.80, 0.90, 0.92, 0.84};
    static const double torque[] = {118.0, 138.0, 140.0, 116.0};
    struct shv_engine *e = &m->study.engine;
    *e = (struct shv_engine){.cylinders = 4,
                             .bore = 0.0786,
                             .stroke = 0.0824,
                             .displacement = 0.0016,
                             .compression_ratio = 9.6,
                             .speeds = m->speeds,
                             .reference_temperature = 298.15,
                             .residual_correction = true,
                             .residual_gamma = 1.3,
                             .pumping_share = 1.0,
                             .intake = {3000.0, 0.10, 1.18},
                             .exhaust = {16000.0, 0.10, 1150.0},
                             .friction = {.kind = SHV_FRICTION_CHEN_FLYNN,
                                          .fmep_at_rest = 13.7e3,
                                          .per_peak_pressure = 0.005,
                                          .per_piston_speed = 16.2e3,
                                          .peak_pressure_ratio = 60.0,
                                          .mechanical_efficiency = 0.85},
                             .efficiency_kind = SHV_EFFICIENCY_STOCK_TORQUE,
                             .indicated_efficiency = 0.35,
                             .power_per_free_air = 3.0e6 * 0.4,
                             .stock = {101325.0, 298.15, 0.3},
                             .stock_lambda = 0.9};
    made_cycle(e);
    made_speeds(m, 5, 30.0, 110.0);
    made_curve(&e->volumetric_efficiency, 4, x, ve);
    made_curve(&e->stock_torque, 4, x, torque);
}

static inline void made_begin(struct made *m)
{
    *m = (struct made){0};
    struct shv_study *s = &m->study;
    made_engine(m);
    s->intake = (struct shv_loss){3000.0, 0.16, 1.18};
    s->drive = (struct shv_drive){.creep = 0.008, .efficiency = 0.97, .line_offset = 0.0015};
    s->numbers[SHV_DIM_CRANK_PULLEY].values = m->cranks;
    s->numbers[SHV_DIM_BLOWER_PULLEY].values = m->pulleys;
    s->bypass = (struct shv_bypass){INFINITY, SHV_BLEED_TO_INLET};
    s->sites = m->sites;
    s->blowers = m->blowers;
    s->coolers = m->coolers;
    s->fuels = m->fuels;
    s->numbers[SHV_DIM_LAMBDA].values = m->lambdas;
    made_crank_pulleys(m, 1, 0.140, 0.140);
    made_blower_pulleys(m, 5, 0.060, 0.100);
    made_add_site(m, 100000.0, 295.0, 0.5, 1.0);
    made_add_blower(m, made_geometry("straight", 0.9e-3));
    struct shv_cooler *none = made_add_cooler(m, SHV_COOLER_SINGLE_STREAM, 1, 0.0, 0.0);
    none->is_none = true;
    made_add_fuel(m, 14.5, 43.0e6);
    made_lambdas(m, 1, 0.88, 0.88);
    made_margins(m, 1, 0.0, 0.0);
    made_unlimited_supply(m);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        s->limit[i] = shv_limit_info((enum shv_limit)i)->at_least ? -INFINITY : INFINITY;
    }
    s->base.manifold_pressure = s->base.manifold_temperature = INFINITY;
    s->search = (struct shv_search){true};
    s->results.keep = 100;
}

static inline void made_end(struct made *m)
{
    shv_curve_table_free(&m->study.engine.volumetric_efficiency);
    shv_curve_table_free(&m->study.engine.stock_torque);
    shv_curve_table_free(&m->study.retard_curve);
    for (size_t i = 0; i < m->study.blower_count; i++) {
        shv_blower_map_free(&m->blowers[i].map);
    }
    for (size_t i = 0; i < m->study.pump_count; i++) {
        shv_curve_table_free(&m->pumps[i].pump.flow);
    }
}

static inline struct shv_model *made_model(const struct made *m)
{
    struct shv_model *model;
    struct shv_message message = {""};
    if (shv_model_create(&m->study, &model, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return model;
}

/* An ideal kit of the first fuel and lambda. */
static inline struct shv_kit made_kit(size_t blower, double ratio, size_t cooler,
                                      double effectiveness, double lambda)
{
    return (struct shv_kit){.blower = blower,
                            .cooler = cooler,
                            .crank_diameter = NAN,
                            .blower_diameter = NAN,
                            .ratio = ratio,
                            .effectiveness = effectiveness,
                            .lambda = lambda};
}

/* Every kind of part at once, for tests of the lanes and the sweep: a space of
 * 4 blowers x 2 x `pulleys` x coolers of all arrangements x 2 fuels x 3 lambdas, two sites. */
static inline void made_mixed(struct made *m, size_t pulleys, double bleed_above,
                              enum shv_bleed_to bleed_to)
{
    made_begin(m);
    made_add_site(m, 80000.0, 288.0, 0.3, 2.0);
    made_add_blower(m, made_geometry("larger", 1.4e-3));
    made_add_blower(m, made_map("map", 0.8e-3, 320.0, 2.4));
    struct shv_blower inside = made_geometry("inside", 1.1e-3);
    inside.geometry.volume_ratio = 1.15;
    inside.step_up = 1.3;
    made_add_blower(m, inside);
    made_crank_pulleys(m, 2, 0.130, 0.150);
    made_blower_pulleys(m, pulleys, 0.050, 0.260);
    for (int a = SHV_COOLER_SINGLE_STREAM; a <= SHV_COOLER_CROSSFLOW_COOLANT_MIXED; a++) {
        struct shv_cooler *c = made_add_loop_cooler(m, (enum shv_cooler_arrangement)a, 2, 0.5, 0.7);
        c->radiator_effectiveness = a % 2 == 0 ? 0.5 : 0.0;
    }
    made_add_cooler(m, SHV_COOLER_SINGLE_STREAM, 3, 0.4, 0.8);
    made_add_fuel(m, 9.8, 29.3e6);
    made_lambdas(m, 3, 0.82, 0.94);
    m->study.bypass = (struct shv_bypass){bleed_above, bleed_to};
    m->study.limit[SHV_LIMIT_ROTOR_SPEED] = 260.0;
    m->study.limit[SHV_LIMIT_BELT_SPEED] = 52.0;
    m->study.limit[SHV_LIMIT_BOOST] = 95e3;
    m->study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 440.0;
    m->study.limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 400.0;
    m->study.limit[SHV_LIMIT_TORQUE] = 260.0;
    m->study.limit[SHV_LIMIT_FUEL_FLOW] = 0.020;
}

#endif
