/* One kit over the rev range: balances, every reported number recomputed with libm from
 * docs/model.md, and how the answer moves with ratio, leakage, cooler, altitude and humidity. */
#include "model/path/effectiveness.h"
#include "support/balance.h"
#include "model/cylinder/combustion_gas.h"
#include "model/kit/burn.h"
#include "support/random_study.h"

/* ---- independent recomputation ---- */

/* What the page says of a site, by the public functions of air.h only. */
struct place {
    struct shv_gas gas;
    double p0, t0, rho0, w, dry;
};

static struct place place_of(const struct shv_study *study, const struct shv_ambient *a)
{
    struct place p = {.p0 = a->pressure, .t0 = a->temperature};
    double vapour = study->air.kind == SHV_AIR_NASA
                        ? a->relative_humidity * shv_saturation_pressure(a->temperature)
                        : 0.0;
    p.w = 0.621945 * vapour / (p.p0 - vapour);
    p.dry = p.p0 - vapour;
    shv_gas_init(&p.gas, &study->air, p.w);
    p.rho0 = p.p0 / (p.gas.gas_constant * p.t0);
    return p;
}

static double loss(const struct shv_loss *l, double flow, double density)
{
    return l->pressure_drop * pow(flow / l->flow, 2.0) * l->density / density;
}

static void check_blower(const struct shv_study *study, const struct place *at,
                         const struct shv_point *p, double ratio)
{
    const struct shv_blower *b = &study->blowers[0];
    double outside = p->bleeding && study->bypass.bleed_to == SHV_BLEED_TO_ATMOSPHERE
                         ? p->blower_flow
                         : p->air_flow + p->condensed_flow;
    double n = p->engine_speed * ratio * (1.0 - study->drive.creep) * b->step_up;
    assert_relative(p->rotor_speed, n, 1e-12);
    assert_relative(p->inlet_pressure, at->p0 - loss(&study->intake, outside, at->rho0), 1e-9);
    assert_relative(p->drive_power * study->drive.efficiency, p->blower_power, 1e-12);
    double windage =
        2.0 * MADE_PI * n * b->windage_torque * pow(n / b->windage_reference_speed, 2.0);
    assert_relative(p->windage_power, windage, 1e-11);
    assert_relative(p->bearing_power, 2.0 * MADE_PI * n * b->friction_torque, 1e-11);
    if (p->bypass_open) {
        assert_within(p->gas_power, 0.0, 0.0);
        assert_same_bits(p->outlet_pressure, p->inlet_pressure);
        assert_same_bits(p->manifold_pressure, p->inlet_pressure);
        return;
    }
    struct shv_blower_state s;
    shv_blower_state(b, &at->gas, p->inlet_pressure, p->inlet_temperature, n, p->outlet_pressure,
                     &s);
    assert_relative(s.flow, p->blower_flow, 1e-9);
    assert_relative(s.discharge_temperature, p->discharge_temperature, 1e-9);
    assert_within(s.shaft_power, p->blower_power, 1e-8 * p->blower_power);
    assert_within(s.leakage_flow, p->leakage_flow, 1e-9 * s.filled_flow);
    assert_relative(s.volumetric_efficiency, p->blower_volumetric_efficiency, 1e-8);
    assert_relative(s.isentropic_efficiency, p->blower_isentropic_efficiency, 1e-7);
    assert_int_equal(s.outside_map, p->outcome == SHV_POINT_OUTSIDE_MAP);
}

/* What leaves a core that is colder than the dew point is saturated, warmer than if it had stayed
 * dry, and has the water that came with the dry air less what condensed. */
static void check_saturated(const struct place *at, const struct shv_point *p, double dry)
{
    double vapour = shv_saturation_pressure(p->charge_temperature);
    double full = 0.621945 * vapour / (p->manifold_pressure - vapour);
    assert_relative(p->air_flow, p->dry_air_flow * (1.0 + full), 1e-9);
    assert_true(p->charge_temperature > dry && full < at->w);
    if (!p->bleeding) {
        assert_relative(p->condensed_flow, p->dry_air_flow * (at->w - full), 1e-7);
    }
}

static void check_cooler(const struct shv_study *study, const struct place *at,
                         const struct shv_point *p, const struct shv_kit *kit)
{
    const struct shv_cooler *c = &study->coolers[kit->cooler];
    if (c->is_none || p->bypass_open) {
        assert_same_bits(p->charge_temperature, p->discharge_temperature);
        assert_same_bits(p->manifold_pressure, p->outlet_pressure);
        assert_true(isnan(p->coolant_temperature) && p->cooler_heat == 0.0);
        return;
    }
    double share = p->blower_flow / c->rated_flow;
    double rated = c->rated_flow * 1006.0 / c->coolant_capacity;
    double rated_ntu = shv_cooler_ntu(c->arrangement, kit->effectiveness, rated);
    double reference = shv_cooler_ntu(c->arrangement, c->pressure_drop_effectiveness, rated);
    double e =
        effectiveness_of(c->arrangement, rated_ntu * pow(share, -c->ntu_exponent), rated * share);
    double source =
        isnan(c->coolant_temperature) ? at->t0 + c->coolant_rise : c->coolant_temperature;
    double coolant = source + shv_cooler_loop_resistance(c) * p->cooler_heat;
    double rho2 = p->outlet_pressure / (at->gas.gas_constant * p->discharge_temperature);
    double drop =
        c->pressure_drop * rated_ntu / reference * share * share * c->rated_density / rho2;
    double cooled = p->discharge_temperature - e * (p->discharge_temperature - coolant);
    assert_relative(p->effectiveness, e, 1e-9);
    assert_relative(p->coolant_temperature, coolant, 1e-9);
    if (p->condensed_flow > 0.0) {
        check_saturated(at, p, cooled);
    } else {
        assert_relative(p->charge_temperature, cooled, 1e-9);
    }
    assert_within(p->cooler_drop, drop, 1e-8 * drop + 1e-6);
    assert_relative(p->manifold_pressure, p->outlet_pressure - p->cooler_drop, 1e-12);
}

/* What the fuel of the stock mixture takes: volume over that of the air, and K. */
static void fuel_takes(const struct shv_study *study, const struct place *at, size_t fuel,
                       double *volume, double *cooled)
{
    const struct shv_engine *e = &study->engine;
    *volume = 1.0, *cooled = 0.0;
    if (e->efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        return;
    }
    struct shv_cycle_fuel f = burn_fuel(&study->fuels[fuel]);
    struct cgas_amounts fresh = cgas_fresh(&f, e->stock_lambda, at->w);
    struct cgas gas = cgas_of(&fresh, &f);
    double vapour =
        e->cycle.evaporated_share / ((1.0 + at->w) * e->stock_lambda * f.stoichiometric);
    *volume += vapour * CGAS_MOLAR_R / f.molar_mass / at->gas.gas_constant;
    *cooled = vapour * f.vaporisation / cgas_cp(&gas, 298.15) /
              (1.0 + vapour / e->cycle.evaporated_share);
}

/* 1/J: air that fills, per J of pressure and volume, at a charge temperature. */
static double warming(const struct shv_study *study, const struct place *stock,
                      const struct place *at, size_t fuel, double temperature)
{
    const struct shv_engine *e = &study->engine;
    double share = e->cycle.charge_heating, wall = share * e->cycle.charge_wall_temperature;
    double stock_volume, stock_cooled, volume, cooled;
    fuel_takes(study, stock, e->stock_fuel, &stock_volume, &stock_cooled);
    fuel_takes(study, at, fuel, &volume, &cooled);
    double reference = (1.0 - share) * e->reference_temperature + wall - stock_cooled;
    return reference * stock_volume /
           (e->reference_temperature * at->gas.gas_constant * volume *
            ((1.0 - share) * temperature + wall - cooled));
}

/* Breathing, with the stock state found by substitution. */
static void check_breathing(const struct shv_study *study, const struct place *at, size_t fuel,
                            const struct shv_point *p)
{
    const struct shv_engine *e = &study->engine;
    struct place stock = place_of(study, &e->stock);
    double rate = e->displacement * p->engine_speed / 2.0, r = e->compression_ratio;
    double ve = shv_curve_table_at(&e->volumetric_efficiency, p->engine_speed);
    double g = e->residual_gamma, pms = stock.p0, ms = 0.0;
    for (int i = 0; i < 200; i++) {
        ms = ve * rate * pms * warming(study, &stock, &stock, e->stock_fuel, stock.t0);
        pms = 0.5 * (pms + stock.p0 - loss(&e->intake, ms, stock.rho0));
    }
    double before = 101325.0 + e->exhaust.pressure_drop;
    double back = (before * before - 101325.0 * 101325.0) / pow(e->exhaust.flow, 2.0);
    double pes = sqrt(stock.p0 * stock.p0 + back * ms * ms);
    double hotter = 1.0 + (p->charge_temperature - stock.t0) / e->exhaust.temperature;
    double pe = sqrt(at->p0 * at->p0 + back * hotter * p->air_flow * p->air_flow);
    double phi = 1.0;
    if (e->residual_correction) {
        phi = (r / (r - 1.0) - (pe / p->manifold_pressure + g - 1.0) / (g * (r - 1.0))) /
              (r / (r - 1.0) - (pes / pms + g - 1.0) / (g * (r - 1.0)));
    }
    double r_charge = at->gas.gas_constant;
    if (p->condensed_flow > 0.0) {
        double w = p->air_flow / p->dry_air_flow - 1.0;
        r_charge = (8.314510 / 0.0289651159 + w * 8.314510 / 0.01801528) / (1.0 + w);
    }
    double drawn = ve * rate * phi * p->manifold_pressure *
                   warming(study, &stock, at, fuel, p->charge_temperature) *
                   (at->gas.gas_constant / r_charge);
    double rho = p->manifold_pressure / (r_charge * p->charge_temperature);
    assert_relative(p->exhaust_pressure, pe, 1e-10);
    assert_relative(p->air_flow, drawn, 1e-9);
    assert_relative(p->volumetric_efficiency, p->air_flow / (rho * rate), 1e-10);
    if (p->condensed_flow == 0.0) {
        assert_relative(p->dry_air_flow, p->air_flow / (1.0 + at->w), 1e-12);
    }
}

static double indicated(const struct shv_model *model, const struct shv_study *study,
                        const struct place *at, const struct shv_point *p,
                        const struct shv_kit *kit, size_t speed)
{
    const struct shv_engine *e = &study->engine;
    double heat = p->fuel_flow * study->fuels[kit->fuel].heating_value;
    switch (e->efficiency_kind) {
    case SHV_EFFICIENCY_CONSTANT:
        return e->indicated_efficiency * heat;
    case SHV_EFFICIENCY_FREE_AIR:
        return e->power_per_free_air * p->dry_air_flow * (1.0 + at->w) / at->rho0;
    case SHV_EFFICIENCY_CYCLE:
        return shv_model_tie_factor(model, speed) * p->cycle_efficiency * heat;
    case SHV_EFFICIENCY_STOCK_TORQUE:
        break;
    }
    double mixture =
        shv_fuel_mixture_efficiency(kit->lambda) / shv_fuel_mixture_efficiency(e->stock_lambda);
    return shv_model_tied_efficiency(model, speed) * mixture * heat;
}

static void check_brake(const struct shv_model *model, const struct shv_study *study,
                        const struct place *at, const struct shv_point *p,
                        const struct shv_kit *kit, size_t speed)
{
    const struct shv_engine *e = &study->engine;
    double rate = e->displacement * p->engine_speed / 2.0, sp = 2.0 * e->stroke * p->engine_speed;
    double fuel = p->dry_air_flow / (kit->lambda * study->fuels[kit->fuel].stoichiometric);
    double pi = indicated(model, study, at, p, kit, speed);
    double pumping = e->pumping_share * (p->manifold_pressure - p->exhaust_pressure) * rate;
    const struct shv_friction *f = &e->friction;
    double peak = e->efficiency_kind == SHV_EFFICIENCY_CYCLE
                      ? p->peak_pressure
                      : f->peak_pressure_ratio * p->manifold_pressure;
    double friction =
        f->kind == SHV_FRICTION_EFFICIENCY
            ? (1.0 - f->mechanical_efficiency) * (pi + pumping)
            : rate * (f->fmep_at_rest + f->per_peak_pressure * peak + f->per_piston_speed * sp +
                      f->per_piston_speed_squared * sp * sp);
    double brake = pi + pumping - friction - p->blower_power / study->drive.efficiency;
    double scale = 1e-10 * (fabs(pi) + p->blower_power);
    assert_relative(p->fuel_flow, fuel, 1e-12);
    assert_relative(p->indicated_power, pi, 1e-11);
    assert_within(p->pumping_power, pumping, scale);
    assert_within(p->friction_power, friction, scale);
    assert_within(p->brake_power, brake, scale);
    assert_relative(p->torque * 2.0 * MADE_PI * p->engine_speed, p->brake_power, 1e-12);
    assert_relative(p->bmep * rate, p->brake_power, 1e-12);
    assert_relative(p->piston_speed, sp, 1e-13);
    double j = 1.18 * 99000.0 / at->dry * sqrt(at->t0 / 298.0) - 0.18;
    double iso = pow(99000.0 / at->dry, 1.2) * pow(at->t0 / 298.0, 0.6);
    assert_relative(p->power_j1349, p->brake_power * j, 1e-11);
    assert_relative(p->power_iso1585, p->brake_power * iso, 1e-11);
    if (p->brake_power > 0.0) {
        assert_relative(p->bsfc * p->brake_power, p->fuel_flow, 1e-12);
    } else {
        assert_true(isnan(p->bsfc));
    }
}

/* ---- balances ---- */

struct kinds {
    int points, map, open, to_inlet, to_atmosphere, cooled, looped, condensing, constant_gas;
};

static void count_kind(const struct shv_study *study, const struct shv_point *p, size_t cooler,
                       struct kinds *k)
{
    bool inlet = study->bypass.bleed_to == SHV_BLEED_TO_INLET;
    k->points++;
    k->map += study->blowers[0].kind == SHV_BLOWER_MAP;
    k->open += p->bypass_open;
    k->to_inlet += p->bleeding && inlet;
    k->to_atmosphere += p->bleeding && !inlet;
    k->cooled += p->cooler_heat != 0.0;
    k->condensing += p->condensed_flow > 0.0;
    k->looped += p->cooler_heat != 0.0 && study->coolers[cooler].radiator_effectiveness > 0.0;
    k->constant_gas += study->air.kind == SHV_AIR_CONSTANT;
}

/* The balances written out again, relative to the heat the flow carries per 10 K. */
static void check_balance(const struct shv_model *model, const struct shv_study *study,
                          const struct place *at, const struct shv_point *p)
{
    struct balance b;
    model_balance(model, 0, p, &b);
    assert_true(fabs(b.mass) < 1e-9 && fabs(b.blower_energy) < 1e-9);
    assert_true(fabs(b.cooler_energy) < 1e-9 && fabs(b.total_energy) < 1e-9);
    double through = p->bypass_open ? p->air_flow : p->blower_flow;
    double into = p->gas_power + p->windage_power - p->case_heat;
    bool lost = p->bleeding && study->bypass.bleed_to == SHV_BLEED_TO_ATMOSPHERE;
    double h0 = shv_gas_enthalpy(&at->gas, at->t0);
    double h1 = shv_gas_enthalpy(&at->gas, p->inlet_temperature);
    double h2 = shv_gas_enthalpy(&at->gas, p->discharge_temperature);
    double hm = shv_gas_enthalpy(&at->gas, p->charge_temperature);
    double scale = 1e-9 * (fabs(p->gas_power) + p->windage_power + 1e4 * through);
    double wet = p->condensed_flow * (2501e3 - 2326.0 * (p->charge_temperature - 273.15));
    double drawn = p->air_flow + p->condensed_flow;
    assert_relative(through, drawn + p->bleed_flow, 1e-9);
    assert_within(through * (h2 - h1), into, scale);
    assert_within(through * (h2 - hm) + wet, p->cooler_heat, scale);
    assert_within((lost ? through : drawn) * (hm - h0), into - p->cooler_heat + wet, scale);
    if (p->bleeding) {
        assert_relative(p->boost, study->bypass.bleed_above, 1e-9);
        assert_true(p->bleed_flow > 0.0);
    } else {
        assert_within(p->bleed_flow, 0.0, 0.0);
    }
    assert_within(p->manifold_pressure - at->p0, p->boost, 1e-9 * at->p0);
}

static void check_kit(struct made *m, const struct shv_kit *kit, struct kinds *kinds)
{
    struct shv_model *model = made_model(m);
    struct shv_curves curves;
    struct place at = place_of(&m->study, &m->sites[0].ambient);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    shv_model_evaluate(model, kit, &curves);
    for (size_t i = 0; i < curves.speeds; i++) {
        const struct shv_point *p = &curves.point[i];
        assert_true(p->outcome != SHV_POINT_NO_MATCH);
        assert_same_bits(p->engine_speed, m->speeds[i]);
        assert_same_bits(p->ambient_pressure, at.p0);
        assert_same_bits(p->ambient_temperature, at.t0);
        count_kind(&m->study, p, kit->cooler, kinds);
        check_balance(model, &m->study, &at, p);
        check_blower(&m->study, &at, p, kit->ratio);
        check_cooler(&m->study, &at, p, kit);
        check_breathing(&m->study, &at, kit->fuel, p);
        check_brake(model, &m->study, &at, p, kit, i);
    }
    shv_curves_free(&curves);
    shv_model_free(model);
}

static void balances_and_numbers_of_random_kits(void **state)
{
    (void)state;
    static struct made m;
    struct kinds k = {0};
    uint64_t seed = 71;
    for (int n = 0; n < 2500; n++) {
        random_study(&m, &seed);
        struct shv_kit kit = random_kit(&seed);
        check_kit(&m, &kit, &k);
        made_end(&m);
    }
    assert_true(k.points == 7500 && k.map > 1000 && k.open > 500 && k.to_inlet > 200);
    assert_true(k.to_atmosphere > 200 && k.cooled > 1000 && k.looped > 300 && k.constant_gas > 500);
}

/* The same on the closed cycle, run directly: few, for each point takes a millisecond. */
static void balances_and_numbers_on_the_cycle(void **state)
{
    (void)state;
    static struct made m;
    struct kinds k = {0};
    uint64_t seed = 72;
    for (int n = 0; n < 60; n++) {
        random_study(&m, &seed);
        m.study.engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
        m.study.air.kind = SHV_AIR_NASA;
        m.fuels[0].stoichiometric = 14.5;
        m.fuels[0].heating_value = 43.2e6;
        m.fuels[0].ron = random_in(&seed, 90.0, 110.0);
        struct shv_kit kit = random_kit(&seed);
        kit.ratio = random_in(&seed, 0.8, 1.8);
        kit.ignition_margin = random_chance(&seed, 0.5) ? 2.0 : 0.0;
        check_kit(&m, &kit, &k);
        made_end(&m);
    }
    assert_true(k.points == 180);
}

/* ---- how the answer moves ---- */

struct bench {
    struct made m;
    struct shv_model *model;
    struct shv_curves c;
};

static const struct shv_point *run_any(struct bench *b, struct shv_kit kit)
{
    if (b->model) {
        shv_curves_free(&b->c);
        shv_model_free(b->model);
    }
    b->model = made_model(&b->m);
    assert_int_equal(shv_curves_init(&b->c, b->model, NULL), SHV_OK);
    shv_model_evaluate(b->model, &kit, &b->c);
    return b->c.point;
}

static const struct shv_point *run(struct bench *b, struct shv_kit kit)
{
    const struct shv_point *point = run_any(b, kit);
    for (size_t i = 0; i < b->c.sites * b->c.speeds; i++) {
        assert_int_equal(point[i].outcome, SHV_POINT_OK);
    }
    return point;
}

static void bench_end(struct bench *b)
{
    shv_curves_free(&b->c);
    shv_model_free(b->model);
    b->model = NULL;
    made_end(&b->m);
}

static void faster_blower_more_pressure_and_power(void **state)
{
    (void)state;
    static struct bench b;
    for (int cooler = 0; cooler < 2; cooler++) {
        double pm[5] = {0}, power[5] = {0};
        made_begin(&b.m);
        made_add_cooler(&b.m, SHV_COOLER_SINGLE_STREAM, 2, 0.4, 0.7);
        for (double ratio = 0.8; ratio < 3.0; ratio += 0.05) {
            const struct shv_point *p = run(&b, made_kit(0, ratio, (size_t)cooler, 0.6, 0.88));
            for (size_t i = 0; i < 5; i++) {
                /* with the bypass open, pressure is that of the intake, a hair higher as windage
                 * warms */
                double give = p[i].bypass_open ? 1e-4 * p[i].manifold_pressure : 0.0;
                assert_true(p[i].manifold_pressure > pm[i] - give);
                assert_true(p[i].blower_power > power[i]);
                pm[i] = p[i].manifold_pressure;
                power[i] = p[i].blower_power;
            }
        }
        assert_true(pm[4] > 1.5e5);
        bench_end(&b);
    }
}

/* Ratio that gives this boost at speed 1, by bisection. */
static double ratio_for(struct bench *b, double boost)
{
    double low = 0.6, high = 3.5;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        bool enough = run(b, made_kit(0, middle, 0, 0.0, 0.88))[1].boost > boost;
        *(enough ? &high : &low) = middle;
    }
    return 0.5 * (low + high);
}

/* On the same pulleys a leaky blower boosts less. Brought to the same boost by other pulleys, it is
 * hotter and takes more power, since the same gas is pushed out more than once. */
static void leakage_costs_boost_or_heats(void **state)
{
    (void)state;
    static struct bench b;
    double boost = INFINITY, t2 = 0.0, power = 0.0;
    made_begin(&b.m);
    for (double area = 0.0; area < 90e-6; area += 10e-6) {
        b.m.blowers[0].geometry.leakage_area = area;
        double now = run(&b, made_kit(0, 2.2, 0, 0.0, 0.88))[1].boost;
        assert_true(now < boost && now > 0.0);
        boost = now;
        const struct shv_point *p = run(&b, made_kit(0, ratio_for(&b, 30e3), 0, 0.0, 0.88));
        assert_within(p[1].boost, 30e3, 1e-3);
        assert_true(p[1].discharge_temperature > t2 && p[1].blower_power > power);
        t2 = p[1].discharge_temperature;
        power = p[1].blower_power;
    }
    bench_end(&b);
}

static void better_cooler_cools_at_the_price_of_pressure(void **state)
{
    (void)state;
    static struct bench b;
    double tm = INFINITY, drop = 0.0;
    made_begin(&b.m);
    made_add_cooler(&b.m, SHV_COOLER_SINGLE_STREAM, 2, 0.3, 0.9);
    for (double e = 0.3; e < 0.9; e += 0.05) {
        const struct shv_point *p = run(&b, made_kit(0, 2.3, 1, e, 0.88));
        assert_true(p[3].charge_temperature < tm && p[3].cooler_drop > drop);
        tm = p[3].charge_temperature;
        drop = p[3].cooler_drop;
    }
    bench_end(&b);
}

static void thin_and_wet_air_cost_power(void **state)
{
    (void)state;
    static struct bench b;
    double power = INFINITY;
    made_begin(&b.m);
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    for (double z = 0.0; z < 3000.0; z += 300.0) {
        b.m.sites[0].ambient = (struct shv_ambient){shv_atmosphere_pressure(z), 295.0, 0.3};
        double now = run(&b, kit)[3].brake_power;
        assert_true(now < power);
        power = now;
    }
    power = INFINITY;
    for (double humidity = 0.0; humidity <= 1.0; humidity += 0.1) {
        b.m.sites[0].ambient = (struct shv_ambient){100e3, 308.0, humidity};
        double now = run(&b, kit)[3].brake_power;
        assert_true(now < power);
        power = now;
    }
    bench_end(&b);
}

/* Air of constant heat capacity and rotors that nothing passes: the rectangle's work heats the gas
 * by 0.29 T1 for each pressure ratio, so that from about 1/0.29 times the engine's flow on no
 * pressure is high enough. */
static void tight_blower(struct bench *b)
{
    made_begin(&b->m);
    b->m.study.air = (struct shv_air_model){SHV_AIR_CONSTANT, 287.0, 1005.0, 1.4};
    b->m.blowers[0].geometry.leakage_area = 0.0;
    b->m.study.engine.cycle.charge_heating = 0.0;
}

/* With a bleed it has its answer also where there is none without; and the answer goes on smoothly
 * from those that have both. */
static void far_too_large_a_blower_still_bleeds(void **state)
{
    (void)state;
    static struct bench b;
    double last = 0.0;
    int alone = 0;
    for (double ratio = 2.6; ratio < 16.0; ratio *= 1.1) {
        struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.88);
        tight_blower(&b);
        alone += run_any(&b, kit)[0].outcome == SHV_POINT_NO_MATCH;
        bench_end(&b);
        tight_blower(&b);
        b.m.study.bypass = (struct shv_bypass){40e3, SHV_BLEED_TO_ATMOSPHERE};
        struct shv_point p = run_any(&b, kit)[0];
        assert_int_equal(p.outcome, SHV_POINT_OK);
        assert_true(p.bleeding && p.blower_flow > last);
        assert_relative(p.boost, 40e3, 1e-9);
        last = p.blower_flow;
        bench_end(&b);
    }
    assert_true(alone > 3);
}

/* Hot gas sent back heats the inlet; sent outside it costs more air through the intake. */
static void bleed_has_its_price(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    struct shv_kit kit = made_kit(0, 2.6, 0, 0.0, 0.88);
    b.m.study.bypass = (struct shv_bypass){40e3, SHV_BLEED_TO_INLET};
    struct shv_point inlet = run(&b, kit)[4];
    b.m.study.bypass.bleed_to = SHV_BLEED_TO_ATMOSPHERE;
    struct shv_point outside = run(&b, kit)[4];
    assert_true(inlet.bleeding && outside.bleeding);
    assert_relative(inlet.boost, outside.boost, 1e-9);
    assert_true(inlet.inlet_temperature > outside.inlet_temperature + 1.0);
    assert_relative(outside.inlet_temperature, outside.ambient_temperature, 1e-12);
    assert_true(inlet.charge_temperature > outside.charge_temperature);
    assert_true(inlet.inlet_pressure > outside.inlet_pressure);
    bench_end(&b);
}

static void no_power_no_consumption(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    b.m.study.engine.friction.fmep_at_rest = 20e6;
    b.m.study.engine.efficiency_kind = SHV_EFFICIENCY_CONSTANT;
    const struct shv_point *p = run(&b, made_kit(0, 2.0, 0, 0.0, 0.88));
    assert_true(p[0].brake_power < 0.0);
    assert_true(isnan(p[0].bsfc));
    assert_true(p[0].fuel_flow > 0.0);
    bench_end(&b);
}

/* An absurdly cold coolant and an absurdly stiff blower: answers below 200 K and above 1000 K are
 * marked. */
static void answers_beyond_the_gas_data_are_marked(void **state)
{
    (void)state;
    for (int hot = 0; hot < 2; hot++) {
        static struct made m;
        struct shv_curves c;
        made_begin(&m);
        struct shv_cooler *core = made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 2, 0.4, 0.99);
        core->coolant_temperature = hot ? 300.0 : 120.0;
        m.blowers[0].windage_torque = hot ? 150.0 : 0.0;
        struct shv_model *model = made_model(&m);
        struct shv_kit kit = made_kit(0, 2.0, 1, 0.95, 0.88);
        assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
        shv_model_evaluate(model, &kit, &c);
        const struct shv_point *p = &c.point[hot ? 4 : 0];
        double t = hot ? p->discharge_temperature : p->charge_temperature;
        assert_true(hot ? t > 1000.0 : t < 200.0);
        assert_int_equal(p->outcome, SHV_POINT_OUT_OF_RANGE);
        assert_int_equal(c.verdict.outcome, SHV_POINT_OUT_OF_RANGE);
        assert_false(c.verdict.feasible);
        shv_curves_free(&c);
        shv_model_free(model);
        made_end(&m);
    }
}

/* Gathered by hand: peaks and ties. */
static void peaks_take_the_lower_speed(void **state)
{
    (void)state;
    struct shv_point point[6] = {
        {.brake_power = 1.0, .torque = 5.0}, {.brake_power = 3.0, .torque = 7.0},
        {.brake_power = 3.0, .torque = 7.0}, {.brake_power = 9.0, .torque = 1.0},
        {.brake_power = 8.0, .torque = 2.0}, {.brake_power = 7.0, .torque = 3.0}};
    struct shv_curves c = {.sites = 2, .speeds = 3, .point = point};
    assert_int_equal(shv_curves_peak_power(&c, 0), 1);
    assert_int_equal(shv_curves_peak_torque(&c, 0), 1);
    assert_int_equal(shv_curves_peak_power(&c, 1), 0);
    assert_int_equal(shv_curves_peak_torque(&c, 1), 2);
}

/* A real kit knows its belt, an ideal one does not. */
static void belt_speed_needs_a_pulley(void **state)
{
    (void)state;
    static struct bench b;
    made_begin(&b.m);
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    assert_true(isnan(run(&b, kit)[1].belt_speed));
    kit.crank_diameter = 0.14;
    assert_relative(run(&b, kit)[1].belt_speed, MADE_PI * 0.143 * b.m.speeds[1], 1e-13);
    bench_end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(balances_and_numbers_of_random_kits),
        cmocka_unit_test(balances_and_numbers_on_the_cycle),
        cmocka_unit_test(faster_blower_more_pressure_and_power),
        cmocka_unit_test(leakage_costs_boost_or_heats),
        cmocka_unit_test(better_cooler_cools_at_the_price_of_pressure),
        cmocka_unit_test(thin_and_wet_air_cost_power),
        cmocka_unit_test(bleed_has_its_price),
        cmocka_unit_test(far_too_large_a_blower_still_bleeds),
        cmocka_unit_test(no_power_no_consumption),
        cmocka_unit_test(answers_beyond_the_gas_data_are_marked),
        cmocka_unit_test(peaks_take_the_lower_speed),
        cmocka_unit_test(belt_speed_needs_a_pulley),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
