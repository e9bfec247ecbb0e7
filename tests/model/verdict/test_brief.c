/* The sweep's verdicts are those of the reported curves, to the bit. */
#include "support/cycle_model.h"

static void assert_brief_is_verdict(const struct shv_brief *b, const struct shv_verdict *v,
                                    uint64_t index)
{
    if (made_bits(b->objective) != made_bits(v->objective) &&
        !(isnan(b->objective) && isnan(v->objective))) {
        fail_msg("objective of %llu: %.17g and %.17g", (unsigned long long)index, b->objective,
                 v->objective);
    }
    if (b->broken != v->broken || b->outcome != v->outcome) {
        fail_msg("verdict of %llu: broken %#x and %#x, outcome %d and %d",
                 (unsigned long long)index, b->broken, v->broken, b->outcome, (int)v->outcome);
    }
}

struct tally {
    uint64_t outcome[SHV_OUTCOME_COUNT], broken, feasible, open, bleeding;
    shv_limit_set seen; /* limits that broke somewhere */
    /* Feasible kits that burn later for peak pressure somewhere; kits whose retard no bound but
     * that of its own speed forbids. */
    uint64_t give_way, by_curve;
};

static bool gives_way(const struct shv_curves *c)
{
    bool any = false;
    for (size_t i = 0; i < c->sites * c->speeds; i++) {
        any = any || c->point[i].phasing_by == SHV_PHASING_BY_PRESSURE;
    }
    return any;
}

static bool breaks_curve_alone(const struct shv_study *study, const struct shv_verdict *v)
{
    return (v->broken >> SHV_LIMIT_PHASING_RETARD & 1u) &&
           v->limit[SHV_LIMIT_PHASING_RETARD].value < study->limit[SHV_LIMIT_PHASING_RETARD];
}

/* Every combination; tables are built for the closed cycle. */
static void compare_all(struct made *m, struct tally *t)
{
    struct shv_model *model = made_model(m);
    struct shv_space space;
    struct shv_lanes *lanes;
    struct shv_curves curves;
    for (size_t i = 0; i < shv_model_table_count(model); i++) {
        give_table(model, i);
    }
    assert_int_equal(shv_space_init(&space, &m->study, NULL), SHV_OK);
    assert_int_equal(shv_lanes_create(model, &lanes, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    struct shv_brief *brief = calloc(SHV_LANES_MAX * space.fuel_size, sizeof *brief);
    assert_non_null(brief);
    *t = (struct tally){0};
    for (uint64_t first = 0; first < space.air_size; first += SHV_LANES_MAX) {
        uint64_t left = space.air_size - first;
        size_t count = left < SHV_LANES_MAX ? (size_t)left : SHV_LANES_MAX;
        shv_lanes_evaluate(model, &space, lanes, first, count, brief);
        for (uint64_t k = 0; k < count * space.fuel_size; k++) {
            uint64_t index = first * space.fuel_size + k;
            struct shv_kit kit;
            shv_space_kit(&space, &m->study, index, &kit);
            shv_model_evaluate(model, &kit, &curves);
            assert_brief_is_verdict(&brief[k], &curves.verdict, index);
            t->outcome[curves.verdict.outcome]++;
            t->broken += curves.verdict.broken != 0;
            t->seen |= curves.verdict.broken;
            t->feasible += curves.verdict.feasible;
            t->open += curves.point[0].bypass_open;
            t->bleeding += curves.point[curves.speeds - 1].bleeding;
            t->give_way += curves.verdict.feasible && gives_way(&curves);
            t->by_curve += breaks_curve_alone(&m->study, &curves.verdict);
        }
    }
    free(brief);
    shv_curves_free(&curves);
    shv_lanes_free(lanes);
    shv_model_free(model);
}

static void mixed_space(void **state)
{
    (void)state;
    static struct made m;
    struct tally t;
    made_mixed(&m, 9, INFINITY, SHV_BLEED_TO_INLET);
    compare_all(&m, &t);
    made_end(&m);
    /* all that matters is there */
    assert_true(t.outcome[SHV_POINT_OK] > 1000 && t.outcome[SHV_POINT_OUTSIDE_MAP] > 50);
    assert_true(t.broken > 1000 && t.feasible > 100 && t.open > 100);
}

/* One limit alone: its margin over what its blower and fuel demand. */
static void rooms_against_demands(void **state)
{
    (void)state;
    static struct made m;
    struct shv_space space;
    struct shv_lanes *lanes;
    struct shv_curves curves;
    size_t seen = 0;
    made_mixed(&m, 3, INFINITY, SHV_BLEED_TO_INLET);
    made_add_fuel(&m, 14.0, 42.0e6);
    struct shv_model *model = made_model(&m);
    size_t pairs = m.study.blower_count * m.study.fuel_count;
    double *demand = calloc(pairs * SHV_LIMIT_COUNT, sizeof *demand);
    assert_non_null(demand);
    for (size_t i = 0; i < pairs; i++) {
        demand[i * SHV_LIMIT_COUNT + SHV_LIMIT_BOOST] = 1e3 * (double)(1 + i);
    }
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_lanes_create(model, &lanes, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    struct shv_brief *brief = calloc(SHV_LANES_MAX * space.fuel_size, sizeof *brief);
    assert_non_null(brief);
    shv_lanes_demand(lanes, demand);
    size_t count = space.air_size < SHV_LANES_MAX ? (size_t)space.air_size : SHV_LANES_MAX;
    shv_lanes_evaluate(model, &space, lanes, 0, count, brief);
    for (uint64_t k = 0; k < count * space.fuel_size; k++) {
        struct shv_kit kit;
        shv_space_kit(&space, &m.study, k, &kit);
        if (brief[k].outcome == SHV_POINT_OK && brief[k].broken == 0) {
            size_t pair = kit.blower * m.study.fuel_count + kit.fuel;
            shv_model_evaluate(model, &kit, &curves);
            const struct shv_limit_result *boost = &curves.verdict.limit[SHV_LIMIT_BOOST];
            assert_relative(brief[k].room, boost->margin / (1e3 * (double)(1 + pair)), 1e-5);
            seen |= (size_t)1 << kit.fuel;
        }
    }
    assert_true(seen >= 3);
    free(brief);
    free(demand);
    shv_curves_free(&curves);
    shv_lanes_free(lanes);
    shv_model_free(model);
    made_end(&m);
}

static void with_bleed(void **state)
{
    (void)state;
    static struct made m;
    struct tally t;
    made_mixed(&m, 5, 30e3, SHV_BLEED_TO_INLET);
    m.study.objective =
        (struct shv_objective){SHV_OBJECTIVE_MEAN_POWER, 50.0, 110.0, NAN, SHV_OVER_SITES_WORST};
    compare_all(&m, &t);
    made_end(&m);
    assert_true(t.bleeding > 100);
    made_mixed(&m, 5, 15e3, SHV_BLEED_TO_ATMOSPHERE);
    m.study.objective =
        (struct shv_objective){SHV_OBJECTIVE_TORQUE, NAN, NAN, 70.0, SHV_OVER_SITES_MEAN};
    compare_all(&m, &t);
    made_end(&m);
    assert_true(t.bleeding > 100);
}

/* The closed cycle by table, with ignition margins, injectors of several sizes and pumps. */
static void with_the_cycle(void **state)
{
    (void)state;
    static struct made m;
    struct tally t;
    cycle_begin(&m, 93.0);
    m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    m.study.limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 390.0;
    m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = 75e5;
    m.study.limit[SHV_LIMIT_EXHAUST_TEMPERATURE] = 1500.0;
    m.study.limit[SHV_LIMIT_PHASING_RETARD] = 25.0;
    made_blower_pulleys(&m, 40, 0.060, 0.220);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 2, 0.5, 0.8);
    made_margins(&m, 2, 0.0, 3.0);
    made_injectors(&m, 3, 2.5e-6, 6e-6);
    made_pump(&m, 3.4e-5);
    compare_all(&m, &t);
    made_end(&m);
    assert_true(t.feasible > 30 && t.broken > 300);
}

/* Two fuels, mixtures and margins on the closed cycle: ignition gives way to peak pressure with the
 * better fuel, and less retard is allowed at the upper speed. */
static void retard_begin(struct made *m)
{
    const double speeds[] = {45.0, 90.0}, retard[] = {26.0, 9.0};
    cycle_begin(m, 91.0);
    made_add_fuel(m, 9.8, 29e6);
    m->fuels[1].ron = 106.0;
    m->fuels[1].mon = 90.0;
    m->fuels[1].vaporisation = 840e3;
    m->fuels[1].hydrogen_carbon = 2.77;
    m->fuels[1].oxygen_carbon = 0.40;
    m->fuels[1].molar_mass = 0.0515;
    m->study.engine.knock.scale = 1.2;
    m->study.limit[SHV_LIMIT_BOOST] = 60e3;
    m->study.limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 400.0;
    m->study.limit[SHV_LIMIT_PEAK_PRESSURE] = 52e5;
    m->study.limit[SHV_LIMIT_EXHAUST_TEMPERATURE] = 1600.0;
    m->study.limit[SHV_LIMIT_PHASING_RETARD] = retard[0];
    made_curve(&m->study.retard_curve, 2, speeds, retard);
    m->study.objective =
        (struct shv_objective){SHV_OBJECTIVE_MEAN_POWER, 45.0, 90.0, NAN, SHV_OVER_SITES_MEAN};
    made_blower_pulleys(m, 40, 0.060, 0.220);
    made_lambdas(m, 2, 0.82, 0.92);
    made_margins(m, 3, 0.0, 4.0);
}

static void giving_way_under_a_curve(void **state)
{
    (void)state;
    static struct made m;
    struct tally t;
    retard_begin(&m);
    compare_all(&m, &t);
    made_end(&m);
    assert_true(t.give_way > 20 && t.by_curve > 20);
}

static double rib_choices[] = {4.0, 6.0, 8.0}, wrap_choices[] = {0.0, 200.0};
static struct shv_duty_part duty[] = {{1, 0.7, 0.4}, {3, 0.2, 0.8}, {4, 0.1, 1.0}};

/* A belt, bearings, a duty, a cruise point, prices: every limit of the hardware at once. */
static void add_hardware(struct made *m)
{
    struct shv_study *s = &m->study;
    s->drive.belt = (struct shv_belt_setup){.given = true,
                                            .belt = {.ribs = 1,
                                                     .rib_pitch = SHV_PK_RIB_PITCH,
                                                     .groove_angle = SHV_PK_GROOVE_ANGLE,
                                                     .min_diameter = SHV_PK_MIN_DIAMETER},
                                            .tensioner = SHV_TENSION_SPRING,
                                            .static_tension = NAN,
                                            .slip_margin = 0.2,
                                            .centre = 0.28,
                                            .rib = {3.0, 0.02}};
    s->numbers[SHV_DIM_RIBS] = (struct shv_numbers){rib_choices, 3};
    s->numbers[SHV_DIM_WRAP] = (struct shv_numbers){wrap_choices, 2};
    s->drive.belt.belt.friction = 0.4;
    s->drive.belt.belt.rib_mass = 0.012;
    s->drive.belt.belt.allowed_tension = 110.0;
    s->drive.belt.belt.min_diameter = 0.062;
    s->drive.worth = (struct shv_worth){80.0, 2.0};
    m->blowers[0].bearing = (struct shv_nose_bearing){true, SHV_BEARING_BALL, 12e3, 0.03, 0.12};
    m->blowers[0].continuous_speed = 150.0;
    m->blowers[0].max_hub_load = 1400.0;
    m->blowers[0].least_clearance = 0.8;
    m->blowers[0].worth = (struct shv_worth){900.0, 9.0};
    s->use = (struct shv_use){.duty = duty,
                              .duty_parts = 3,
                              .cruises = true,
                              .cruise_speed = 1,
                              .cruise_pressure = 55e3,
                              .bsfc = 7e-8};
    s->bypass_part = (struct shv_bypass_part){
        .area = 4e-4, .has_actuator = true, .actuator = {4e3, 12e3}, .worth = {60.0, 0.5}};
    s->base = (struct shv_kit_base){
        .worth = {300.0, 5.0}, .manifold_pressure = 90e3, .manifold_temperature = 420.0};
    s->limit[SHV_LIMIT_BEARING_LIFE] = 2e8;
    s->limit[SHV_LIMIT_ROTOR_DUTY] = 0.25;
    s->limit[SHV_LIMIT_CRUISE_DRAG] = 1100.0;
    s->limit[SHV_LIMIT_PRICE] = 1480.0;
    s->limit[SHV_LIMIT_MASS] = 20.0;
    s->limit[SHV_LIMIT_POWER] = 135e3;
    s->limit[SHV_LIMIT_COOLANT_TEMPERATURE] = 330.0;
}

static void with_hardware(void **state)
{
    (void)state;
    const enum shv_objective_kind kinds[] = {
        SHV_OBJECTIVE_PEAK_POWER, SHV_OBJECTIVE_LEAST_PRICE, SHV_OBJECTIVE_POWER_PER_PRICE,
        SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE, SHV_OBJECTIVE_WEIGHTED};
    static struct made m;
    struct tally t;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        made_begin(&m);
        add_hardware(&m);
        made_blower_pulleys(&m, 12, 0.055, 0.120);
        struct shv_cooler *c = made_add_loop_cooler(&m, SHV_COOLER_CROSSFLOW_UNMIXED, 2, 0.5, 0.8);
        c->worth = (struct shv_worth){150.0, 3.0};
        c->per_ntu = (struct shv_worth){40.0, 1.0};
        m.study.objective.kind = kinds[i];
        if (i % 2 == 1) { /* clamped shafts, whose belt pulls most on the hub at rest */
            m.study.drive.belt.tensioner = SHV_TENSION_FIXED;
            m.blowers[0].max_hub_load = 1900.0;
        }
        m.study.weights = (struct shv_weights){1.0, 20.0, 100.0, 50.0};
        compare_all(&m, &t);
        made_end(&m);
        assert_true((i % 2 == 1 || t.feasible > 5) && t.broken > 50);
        /* all of the hardware's limits, but for slip, which a tension as needed prevents */
        assert_int_equal(t.seen | (i % 2 == 1 ? SHV_LIMIT_BIT(SHV_LIMIT_HUB_LOAD) : 0),
                         0x7fff0000u & ~SHV_LIMIT_BIT(SHV_LIMIT_BELT_SLIP));
    }
}

/* Points beyond 200 to 1000 K: a tiny leaky blower driven far too fast. */
static void beyond_the_gas_data(void **state)
{
    (void)state;
    static struct made m;
    struct tally t;
    made_begin(&m);
    m.study.limit[SHV_LIMIT_TORQUE] = 250.0;
    m.study.limit[SHV_LIMIT_FUEL_FLOW] = 0.012;
    m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 800.0;
    m.blowers[0].windage_torque = 40.0;
    m.blowers[0].geometry.closing_rate = 0.0;
    m.blowers[0].geometry.leakage_area = 150e-6;
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 4, 0.3, 0.9);
    made_blower_pulleys(&m, 60, 0.030, 0.150);
    compare_all(&m, &t);
    made_end(&m);
    assert_true(t.outcome[SHV_POINT_OUT_OF_RANGE] > 10 && t.outcome[SHV_POINT_OK] > 10);
}

/* The rooms of a lane are those of the curves, of each limit that is set in turn; the blower and
 * the belt are worst somewhere. */
static void assert_rooms_are_shares(const struct shv_model *model, const struct shv_lanes *lanes,
                                    size_t lane, const struct shv_kit *kit,
                                    const struct shv_curves *c)
{
    static double room[1000];
    size_t at = 0, points = c->sites * c->speeds;
    assert_true(shv_lanes_room_count(model, lanes) <= 1000);
    shv_lanes_rooms(model, lanes, lane, room);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        double bound = shv_limit_bound(shv_model_study(model), kit, (enum shv_limit)k);
        if (isinf(bound)) {
            continue;
        }
        if (k < SHV_LIMIT_PRESSURE_RATIO || k > SHV_LIMIT_BYPASS_VACUUM ||
            shv_limit_info((enum shv_limit)k)->of_kit) {
            double share = c->verdict.limit[k].share;
            assert_true(isnan(share) ? room[at] == INFINITY : fabs(room[at] - share) <= 1e-9);
            at++;
            continue;
        }
        for (size_t i = 0; i < points; i++, at++) {
            double share = shv_point_limit_share(&c->point[i], (enum shv_limit)k, bound);
            assert_true(isnan(room[at]) == isnan(share));
            assert_true(isnan(share) || fabs(room[at] - share) <= 1e-12);
        }
    }
    assert_int_equal(at, shv_lanes_room_count(model, lanes));
}

/* Limits of the air side that a kit breaks at every other point. */
static void assert_breaks_at_some(const struct shv_model *model, struct shv_lanes *lanes,
                                  const struct shv_kit *kits, size_t count,
                                  struct shv_curves *curves, uint64_t *broke)
{
    bool only[64];
    struct shv_brief brief[SHV_LANES_MAX];
    const shv_limit_set looked_at =
        SHV_LIMIT_BIT(SHV_LIMIT_AIR_COUNT) - SHV_LIMIT_BIT(SHV_LIMIT_FORMULA_COUNT);
    size_t points = curves->sites * curves->speeds;
    assert_true(points <= 64);
    for (size_t i = 0; i < points; i++) {
        only[i] = i % 2 == 1;
    }
    shv_lanes_only(lanes, only);
    shv_lanes_evaluate_kits(model, lanes, kits, count, brief);
    shv_lanes_only(lanes, NULL);
    for (size_t i = 0; i < count; i++) {
        shv_limit_set broken = 0;
        shv_model_evaluate(model, &kits[i], curves);
        if (curves->verdict.outcome != SHV_POINT_OK) {
            continue;
        }
        for (size_t k = SHV_LIMIT_FORMULA_COUNT; k < SHV_LIMIT_AIR_COUNT; k++) {
            double bound = shv_limit_bound(shv_model_study(model), &kits[i], (enum shv_limit)k);
            for (size_t p = 1; p < points && !isinf(bound); p += 2) {
                double share = shv_point_limit_share(&curves->point[p], (enum shv_limit)k, bound);
                broken |= share < 0.0 ? SHV_LIMIT_BIT(k) : 0;
            }
        }
        assert_true(brief[i].outcome == SHV_POINT_OK && isnan(brief[i].objective));
        assert_true((brief[i].broken & looked_at) == broken);
        assert_true((brief[i].broken & ~curves->verdict.broken) == 0);
        *broke += broken != 0;
    }
}

/* Ideal kits that share blower, fuel and mixture, across coolers of every kind. */
static void kits_side_by_side(void **state)
{
    (void)state;
    static struct made m;
    made_mixed(&m, 5, INFINITY, SHV_BLEED_TO_INLET);
    made_injectors(&m, 3, 2.5e-6, 6e-6);
    struct shv_model *model = made_model(&m);
    struct shv_lanes *lanes;
    struct shv_curves curves;
    assert_int_equal(shv_lanes_create(model, &lanes, NULL), SHV_OK);
    assert_int_equal(shv_lanes_keep_rooms(model, lanes, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    uint64_t seed = 17, feasible = 0, short_of_fuel = 0, broke = 0;
    for (size_t n = 0; n < 200; n++) {
        struct shv_kit kits[SHV_LANES_MAX];
        struct shv_brief brief[SHV_LANES_MAX];
        size_t count = 1 + n % SHV_LANES_MAX;
        for (size_t i = 0; i < count; i++) {
            size_t cooler = (i + n) % m.study.cooler_count;
            bool none = m.study.coolers[cooler].is_none;
            kits[i] = made_kit(n % m.study.blower_count, random_in(&seed, 0.8, 2.6), cooler,
                               none ? 0.0 : m.study.coolers[cooler].effectiveness.values[0], 0.87);
            kits[i].injector_flow = 6e-6;
        }
        shv_lanes_evaluate_kits(model, lanes, kits, count, brief);
        for (size_t i = 0; i < count; i++) {
            shv_model_evaluate(model, &kits[i], &curves);
            assert_brief_is_verdict(&brief[i], &curves.verdict, i);
            assert_rooms_are_shares(model, lanes, i, &kits[i], &curves);
            feasible += curves.verdict.feasible;
        }
        assert_breaks_at_some(model, lanes, kits, count, &curves, &broke);
        /* Several mixtures, margins and sizes of injectors at a time. */
        for (size_t i = 0; i < count; i++) {
            kits[i].lambda = i % 3 ? 0.87 : 0.83;
            kits[i].ignition_margin = i % 2 ? 0.0 : 2.0;
            kits[i].injector_flow = i % 5 ? 6e-6 : 2.5e-6;
        }
        shv_lanes_evaluate_kits(model, lanes, kits, count, brief);
        for (size_t i = 0; i < count; i++) {
            shv_model_evaluate(model, &kits[i], &curves);
            assert_brief_is_verdict(&brief[i], &curves.verdict, i);
            short_of_fuel += brief[i].broken == SHV_LIMIT_BIT(SHV_LIMIT_INJECTOR_DUTY);
        }
    }
    assert_true(feasible > 100 && short_of_fuel > 10 && broke > 100);
    shv_curves_free(&curves);
    shv_lanes_free(lanes);
    shv_model_free(model);
    made_end(&m);
}

/* What ignition comes to at each point of a lane is what the curves have, to the bit; retard by the
 * bound of its own speed. */
static void assert_rooms_of_ignition(const struct shv_study *s, const double *room,
                                     const struct shv_curves *c)
{
    const struct shv_kit kit = {0};
    const double most = s->limit[SHV_LIMIT_PHASING_RETARD];
    size_t points = c->sites * c->speeds, at = 0;
    const enum shv_limit of_burn[] = {SHV_LIMIT_PHASING_RETARD, SHV_LIMIT_PEAK_PRESSURE,
                                      SHV_LIMIT_EXHAUST_TEMPERATURE};
    for (int k = 0; k < SHV_LIMIT_PHASING_RETARD; k++) {
        at += isinf(shv_limit_bound(s, &kit, (enum shv_limit)k)) ? 0 : points;
    }
    for (size_t k = 0; k < 3; k++) {
        for (size_t i = 0; i < points; i++, at++) {
            const struct shv_point *p = &c->point[i];
            double less = shv_limit_retard_less(s, p->engine_speed);
            double expected = k == 0 ? (most - (p->phasing_retard + less)) / most
                                     : shv_point_limit_share(p, of_burn[k], s->limit[of_burn[k]]);
            assert_same_bits(room[at], expected);
        }
    }
}

static void ignition_of_kits_side_by_side(void **state)
{
    (void)state;
    static struct made m;
    static double room[1000];
    struct shv_lanes *lanes;
    struct shv_curves curves;
    size_t by[3] = {0}, later = 0;
    uint64_t seed = 23;
    retard_begin(&m);
    struct shv_model *model = made_model(&m);
    for (size_t i = 0; i < shv_model_table_count(model); i++) {
        give_table(model, i);
    }
    assert_int_equal(shv_lanes_create(model, &lanes, NULL), SHV_OK);
    assert_int_equal(shv_lanes_keep_rooms(model, lanes, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    for (size_t n = 0; n < 60; n++) {
        struct shv_kit kits[SHV_LANES_MAX];
        struct shv_brief brief[SHV_LANES_MAX];
        size_t count = 1 + n % SHV_LANES_MAX;
        for (size_t i = 0; i < count; i++) {
            kits[i] = made_kit(0, random_in(&seed, 1.0, 2.0), 0, 0.0, m.lambdas[i % 2]);
            kits[i].fuel = n % 2;
            kits[i].ignition_margin = random_in(&seed, 0.0, 4.0);
        }
        shv_lanes_evaluate_kits(model, lanes, kits, count, brief);
        for (size_t i = 0; i < count; i++) {
            shv_model_evaluate(model, &kits[i], &curves);
            assert_brief_is_verdict(&brief[i], &curves.verdict, i);
            shv_lanes_rooms(model, lanes, i, room);
            assert_rooms_of_ignition(&m.study, room, &curves);
            for (size_t k = 0; k < curves.speeds; k++) {
                by[curves.point[k].phasing_by]++;
                later += curves.point[k].phasing_retard > 9.0;
            }
        }
    }
    assert_true(by[SHV_PHASING_BY_PRESSURE] > 100 && by[SHV_PHASING_BY_KNOCK] > 100);
    assert_true(by[SHV_PHASING_BEST] > 20 && later > 100);
    shv_curves_free(&curves);
    shv_lanes_free(lanes);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mixed_space),
        cmocka_unit_test(rooms_against_demands),
        cmocka_unit_test(with_bleed),
        cmocka_unit_test(with_the_cycle),
        cmocka_unit_test(with_hardware),
        cmocka_unit_test(beyond_the_gas_data),
        cmocka_unit_test(kits_side_by_side),
        cmocka_unit_test(giving_way_under_a_curve),
        cmocka_unit_test(ignition_of_kits_side_by_side),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
