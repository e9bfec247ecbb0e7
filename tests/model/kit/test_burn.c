/* The closed cycle inside the model: tied to the stock torque, by table and directly, and what it
 * does to power. */
#include "model/kit/model_internal.h"
#include "support/cycle_fixture.h"
#include "support/cycle_model.h"

static void stock_torque_is_met(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    m.sites[0].ambient = m.study.engine.stock;
    m.study.engine.stock_lambda = 0.9;
    m.study.engine.knock.scale = 1.0; /* with less the stock engine could not burn as it does */
    struct shv_model *model = made_model(&m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    shv_model_evaluate_stock(model, &c);
    for (size_t i = 0; i < c.speeds; i++) {
        struct shv_cycle_result r;
        const struct shv_point *p = &c.point[i];
        assert_relative(p->torque, shv_curve_table_at(&m.study.engine.stock_torque, m.speeds[i]),
                        1e-9);
        assert_true(shv_model_stock_cycle(model, i, &r));
        assert_relative(p->peak_pressure, r.peak_pressure, 1e-9);
        assert_within(p->ca50, r.ca50, 1e-6);
        /* tie times cycle is what the torque asks for */
        assert_relative(p->indicated_efficiency,
                        shv_model_tie_factor(model, i) * p->cycle_efficiency, 1e-9);
        assert_relative(p->indicated_efficiency, shv_model_tied_efficiency(model, i), 1e-9);
        assert_true(isnan(p->injector_duty) && isnan(p->pump_flow));
    }
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

static void without_torque_it_is_not_tied(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    shv_curve_table_free(&m.study.engine.stock_torque);
    struct shv_model *model = made_model(&m);
    for (size_t i = 0; i < 2; i++) {
        assert_true(shv_model_tie_factor(model, i) == 1.0);
    }
    shv_model_free(model);
    made_end(&m);
    /* and another model of efficiency has neither */
    made_begin(&m);
    model = made_model(&m);
    struct shv_cycle_result r;
    assert_true(isnan(shv_model_tie_factor(model, 0)) && !shv_model_stock_cycle(model, 0, &r));
    assert_int_equal(shv_model_table_count(model), 0);
    shv_model_free(model);
    made_end(&m);
}

/* What the tables promise, at the points of kits from idle bypass to more than knock and peak
 * pressure allow. */
static void near_the_direct_cycle(double ron, double scale, double peak)
{
    static struct made m;
    cycle_begin(&m, ron);
    m.study.engine.knock.scale = scale;
    m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = peak;
    struct shv_model *direct = made_model(&m), *model = made_model(&m);
    struct shv_curves a, b;
    give_table(model, 0);
    assert_int_equal(shv_curves_init(&a, model, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&b, direct, NULL), SHV_OK);
    size_t held[3] = {0}, beyond = 0, above = 0;
    for (double ratio = 0.8; ratio < 3.4; ratio += 0.2) {
        struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.88);
        kit.ignition_margin = ratio > 2.0 ? 2.5 : 0.0;
        shv_model_evaluate(model, &kit, &a);
        shv_model_evaluate(direct, &kit, &b);
        for (size_t i = 0; i < a.speeds; i++) {
            const struct shv_point *p = &a.point[i], *q = &b.point[i];
            if (p->outcome != SHV_POINT_OK) {
                assert_int_equal(p->outcome, SHV_POINT_NO_CYCLE);
                continue;
            }
            assert_same_bits(p->manifold_pressure, q->manifold_pressure);
            assert_relative(p->cycle_efficiency, q->cycle_efficiency, 1e-3);
            assert_relative(p->peak_pressure, q->peak_pressure, 5e-3);
            assert_within(p->exhaust_temperature, q->exhaust_temperature, 3.0);
            assert_within(p->ca50, q->ca50, 0.3);
            bool limited = p->phasing_retard > 32.0;
            assert_true(limited == (q->phasing_retard > 32.0));
            if (!limited) {
                assert_within(p->phasing_retard, q->phasing_retard, 0.3);
            }
            assert_relative(p->brake_power, q->brake_power, 2e-3);
            assert_int_equal(p->peak_pressure > peak, q->peak_pressure > peak);
            assert_true(!(p->peak_pressure > peak) || p->ca50 == 40.0);
            held[p->phasing_by] += p->phasing_by == q->phasing_by;
            beyond += limited;
            above += p->peak_pressure > peak;
        }
    }
    if (isinf(peak)) {
        assert_true(held[SHV_PHASING_BY_KNOCK] > 8 && held[SHV_PHASING_BY_PRESSURE] == 0);
        assert_true(beyond > 1);
    } else {
        assert_true(held[SHV_PHASING_BY_PRESSURE] > 8 && above > 1);
    }
    shv_curves_free(&a);
    shv_curves_free(&b);
    shv_model_free(direct);
    shv_model_free(model);
    made_end(&m);
}

static void table_is_near_the_direct_cycle(void **state)
{
    (void)state;
    near_the_direct_cycle(91.0, 0.6, INFINITY);
}

static void ignition_gives_way_to_peak_pressure(void **state)
{
    (void)state;
    near_the_direct_cycle(115.0, 4.0, 34e5);
}

/* The margin moves a knock-limited phasing by itself, and one that knock leaves alone by less. */
static void ignition_margin(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 91.0);
    struct shv_model *model = made_model(&m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    struct shv_kit kit = made_kit(0, 1.15, 0, 0.0, 0.88);
    shv_model_evaluate(model, &kit, &c);
    double free_ca50 = c.point[0].ca50, free_power = c.point[0].brake_power;
    assert_true(free_ca50 > 9.0);
    kit.ignition_margin = 4.0;
    shv_model_evaluate(model, &kit, &c);
    assert_within(c.point[0].ca50, free_ca50 + 4.0, 1e-6);
    assert_true(c.point[0].brake_power < free_power);
    assert_true(c.point[0].peak_pressure > 0.0 && c.point[0].knock_integral < 0.75);
    m.fuels[0].ron = 140.0;
    shv_model_evaluate(model, &kit, &c);
    assert_within(c.point[0].ca50, 8.0, 1e-9); /* 4 deg later than knock is still the best */
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

/* The engine that rates RON (dimensions from memory), at the rating's conditions and borderline; a
 * fuel that cools lets it draw more, up to the same pressure. */
static double rating_integral(const struct shv_fuel *f)
{
    struct cycle_case u = usual_case();
    u.engine.bore = 0.08255;
    u.engine.stroke = 0.1143;
    u.engine.compression_ratio = 7.5;
    u.engine.burn_speed_exponent = 0.0;
    u.at.speed = 10.0;
    u.at.lambda = 0.95;
    u.at.humidity_ratio = 0.0053;
    u.at.charge_temperature = 325.15;
    u.at.ca50 = 12.0;
    u.pressure = 0.96e5;
    u.fuel = burn_fuel(f);
    return run_case(&u).knock_integral;
}

/* Two fuels of one rating, alike but for the heat of vaporisation, knock nearly alike in the
 * rating: of one sensitivity in the cycle, none or that of ethanol. */
static void cooling_is_counted_once(void **state)
{
    (void)state;
    const double sensitivity[] = {0.0, 12.0};
    for (size_t i = 0; i < 2; i++) {
        struct shv_fuel f = {.stoichiometric = 9.0,
                             .heating_value = 26.9e6,
                             .hydrogen_carbon = 3.0,
                             .oxygen_carbon = 0.5,
                             .molar_mass = 0.04607,
                             .ron = 100.0,
                             .mon = 100.0 - sensitivity[i],
                             .vaporisation = 9.0 * 19.1e3};
        double plain = rating_integral(&f);
        f.vaporisation = 840e3;
        double owed = 100.0 - burn_fuel(&f).ron;
        f.mon -= owed;
        double left = 100.0 * (1.0 - pow(rating_integral(&f) / plain, 1.0 / 3.402));
        print_message("sensitivity %.0f: owed %.2f, left %.2f\n", sensitivity[i], owed, left);
        assert_true(owed > 4.0 && fabs(left) < 1.0);
    }
}

/* Without a motor octane number hotter compression takes nothing, however much a fuel cools. */
static void no_sensitivity_without_mon(void **state)
{
    (void)state;
    struct shv_cycle_fuel f = burn_fuel(
        &(struct shv_fuel){.stoichiometric = 9.0, .vaporisation = 840e3, .ron = 106.0, .mon = NAN});
    assert_true(f.ron < 102.0);
    assert_within(f.mon, f.ron, 0.0);
}

/* Samples whose walls warm the charge less ask for a colder one: the tables reach that far. */
static void tables_reach_as_cold_as_samples(void **state)
{
    (void)state;
    static struct made m;
    struct shv_cycle_table_spec without, with;
    cycle_begin(&m, 95.0);
    struct shv_model *model = made_model(&m);
    shv_model_table_spec(model, 0, &without);
    struct shv_tolerance *t = &m.study.tolerances.of[SHV_CORRECT_CHARGE_HEATING];
    *t = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.1};
    shv_model_table_spec(model, 0, &with);
    const struct shv_cycle_engine *e = &m.study.engine.cycle;
    double air = without.temperature_least + 5.0;
    double colder = 0.1 * (e->charge_wall_temperature - air) / (1.0 - e->charge_heating);
    assert_true(without.temperature_least - with.temperature_least > colder);
    assert_true(without.temperature_least - with.temperature_least < 1.1 * colder);
    m.study.engine.cycle.charge_heating = 1.0;
    shv_model_table_spec(model, 0, &with);
    assert_true(with.temperature_least > 200.0);
    shv_model_free(model);
    made_end(&m);
}

/* Where the rating compresses to: isooctane's cooling and number, a number more, more cooling. */
static void rating_temperature(void **state)
{
    (void)state;
    struct shv_fuel f = {
        .stoichiometric = 15.13, .vaporisation = 308e3, .ron = 100.0, .mon = 100.0};
    assert_relative(burn_fuel(&f).rating_temperature, 747.0, 1e-15);
    f.ron = 105.0;
    assert_relative(burn_fuel(&f).rating_temperature, 738.0, 1e-15);
    f.vaporisation += 16.13 * 10e3;
    assert_relative(burn_fuel(&f).rating_temperature, 728.6, 1e-14);
}

struct hill {
    double power[40], ratio[40];
    size_t count, best;
    bool knock_limited_after; /* the ones behind the best break the limit of retard or lose power */
};

/* Power at the upper speed over the pulley ratio while the phasing can be held. */
static void climb(struct made *m, size_t fuel, size_t cooler, double effectiveness, struct hill *h)
{
    struct shv_model *model = made_model(m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    *h = (struct hill){.count = 0};
    for (double ratio = 1.2; ratio < 3.2 && h->count < 40; ratio += 0.1) {
        struct shv_kit kit = made_kit(0, ratio, cooler, effectiveness, 0.88);
        kit.fuel = fuel;
        shv_model_evaluate(model, &kit, &c);
        const struct shv_point *p = &c.point[c.speeds - 1];
        if (p->outcome != SHV_POINT_OK || p->phasing_retard > 32.0) {
            break;
        }
        h->ratio[h->count] = ratio;
        h->power[h->count] = p->brake_power;
        h->best = p->brake_power > h->power[h->best] ? h->count : h->best;
        h->count++;
    }
    shv_curves_free(&c);
    shv_model_free(model);
}

/* Past some boost more pulley makes less power on poor fuel; a cooler moves the top to more boost
 * and higher, and so does octane. */
static void more_pulley_can_make_less_power(void **state)
{
    (void)state;
    static struct made m;
    struct hill poor, cooled, good;
    cycle_begin(&m, 91.0);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 3, 0.5, 0.8);
    made_add_fuel(&m, 14.5, 43e6);
    m.fuels[1] = m.fuels[0];
    m.fuels[1].ron = 100.0;
    climb(&m, 0, 0, 0.0, &poor);
    climb(&m, 0, 1, 0.7, &cooled);
    climb(&m, 1, 0, 0.0, &good);
    made_end(&m);
    assert_true(poor.best > 0 && poor.best + 1 < poor.count);
    /* up to the top and down again, without a second one */
    for (size_t i = 1; i < poor.count; i++) {
        assert_true((poor.power[i] > poor.power[i - 1]) == (i <= poor.best));
    }
    assert_true(cooled.ratio[cooled.best] > poor.ratio[poor.best] + 0.25);
    assert_true(cooled.power[cooled.best] > 1.1 * poor.power[poor.best]);
    assert_true(good.ratio[good.best] > poor.ratio[poor.best]);
    assert_true(good.power[good.best] > poor.power[poor.best]);
}

static void no_cycle_counts_last(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    m.study.limit[SHV_LIMIT_BOOST] = 40e3;
    struct shv_model *model = made_model(&m);
    give_table(model, 0);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    struct shv_kit kit = made_kit(0, 2.2, 0, 0.0, 0.88); /* boost far beyond the table */
    shv_model_evaluate(model, &kit, &c);
    assert_int_equal(c.point[c.speeds - 1].outcome, SHV_POINT_NO_CYCLE);
    assert_int_equal(c.verdict.outcome, SHV_POINT_OK);
    assert_true(!c.verdict.feasible && (c.verdict.broken >> SHV_LIMIT_BOOST & 1u));
    assert_true(isnan(c.verdict.objective));
    m.study.limit[SHV_LIMIT_BOOST] = m.study.limit[SHV_LIMIT_CHARGE_TEMPERATURE] = INFINITY;
    shv_model_evaluate(model, &kit, &c);
    assert_int_equal(c.verdict.outcome, SHV_POINT_NO_CYCLE);
    assert_true(!c.verdict.feasible);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

/* Sites that the cycle can't tell apart share a table. */
static void kinds_of_sites(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    made_add_site(&m, 80e3, 285.0, 0.3, 1.0);
    made_add_site(&m, 100000.0, 295.0, 0.5, 2.0);
    made_add_fuel(&m, 14.5, 43e6);
    made_lambdas(&m, 3, 0.82, 0.9);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_model_table_count(model), 2 * 2 * 3);
    struct shv_table_place p = shv_model_table_place(model, 7);
    assert_true(p.site == 1 && p.fuel == 0 && p.lambda == 1);
    p = shv_model_table_place(model, 5);
    assert_true(p.site == 0 && p.fuel == 1 && p.lambda == 2);
    struct shv_cycle_table_spec spec;
    shv_model_table_spec(model, 7, &spec);
    assert_true(spec.exhaust_pressure == 80e3 && spec.at.lambda == m.lambdas[1]);
    assert_true(spec.pressure_most > 80e3 + 120e3 && spec.temperature_most > 450.0);
    shv_model_free(model);
    made_end(&m);
}

/* The table's exhaust pressure is that of the match. */
static void exhaust_pressure_of_the_match(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    struct shv_model *model = made_model(&m);
    struct shv_cycle_table_spec spec;
    struct shv_curves c;
    shv_model_table_spec(model, 0, &spec);
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    shv_model_evaluate(model, &kit, &c);
    for (size_t i = 0; i < c.speeds; i++) {
        const struct shv_point *p = &c.point[i];
        assert_relative(
            shv_cycle_table_exhaust(&spec, i, p->manifold_pressure, p->charge_temperature),
            p->exhaust_pressure, 1e-10);
    }
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

/* The trace's inputs are those of the point: the same cycle once more. */
static void cycle_case_of_a_point(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 91.0);
    struct shv_model *model = made_model(&m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    struct shv_kit kit = made_kit(0, 1.9, 0, 0.0, 0.88);
    shv_model_evaluate(model, &kit, &c);
    struct shv_cycle_fuel fuel;
    struct shv_cycle_case at;
    struct shv_cycle_result r;
    assert_true(shv_model_cycle_case(model, 0, &kit, &c.point[1], &fuel, &at));
    assert_int_equal(
        shv_cycle_run(&m.study.engine.cycle, &fuel, &m.study.engine.knock, &at, NULL, &r, NULL),
        SHV_OK);
    assert_relative(r.gross_efficiency, c.point[1].cycle_efficiency, 1e-9);
    assert_relative(r.peak_pressure, c.point[1].peak_pressure, 1e-9);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stock_torque_is_met),
        cmocka_unit_test(without_torque_it_is_not_tied),
        cmocka_unit_test(table_is_near_the_direct_cycle),
        cmocka_unit_test(ignition_gives_way_to_peak_pressure),
        cmocka_unit_test(ignition_margin),
        cmocka_unit_test(more_pulley_can_make_less_power),
        cmocka_unit_test(cooling_is_counted_once),
        cmocka_unit_test(no_sensitivity_without_mon),
        cmocka_unit_test(rating_temperature),
        cmocka_unit_test(tables_reach_as_cold_as_samples),
        cmocka_unit_test(no_cycle_counts_last),
        cmocka_unit_test(kinds_of_sites),
        cmocka_unit_test(exhaust_pressure_of_the_match),
        cmocka_unit_test(cycle_case_of_a_point),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
