/* The prepared model: the tie to the stock torque curve, the stock engine's closed form, and engine
 * data that cannot be tied. */
#include "support/random_study.h"

#include "model/kit/model_internal.h"

/* The stock engine at its stock conditions gives the torque it was tied to, at every speed. */
static void assert_tied(struct made *m)
{
    struct shv_engine *e = &m->study.engine;
    m->sites[0].ambient = e->stock;
    e->efficiency_kind = SHV_EFFICIENCY_STOCK_TORQUE;
    struct shv_model *model = made_model(m);
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    shv_model_evaluate_stock(model, &curves);
    for (size_t i = 0; i < curves.speeds; i++) {
        const struct shv_point *p = &curves.point[i];
        double torque = shv_curve_table_at(&e->stock_torque, m->speeds[i]);
        double ve = shv_curve_table_at(&e->volumetric_efficiency, m->speeds[i]);
        assert_int_equal(p->outcome, SHV_POINT_OK);
        assert_relative(p->torque, torque, 1e-9);
        /* and breathes as its curve says, against manifold density at the reference temperature */
        double warm = e->stock.temperature * made_warming(e, e->stock.temperature);
        assert_relative(p->volumetric_efficiency, ve * warm, 1e-9);
        assert_relative(p->indicated_efficiency, shv_model_tied_efficiency(model, i), 1e-9);
        assert_true(isnan(p->rotor_speed) && p->blower_power == 0.0);
    }
    shv_curves_free(&curves);
    shv_model_free(model);
}

static void stock_torque_comes_back(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    assert_tied(&m);
    made_end(&m);
    uint64_t seed = 51;
    for (int i = 0; i < 500; i++) {
        random_study(&m, &seed);
        assert_tied(&m);
        made_end(&m);
    }
}

/* p_ms = p_s - K m^2, m = c p_ms, by substitution instead of the closed form. */
static void stock_manifold_pressure(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 52;
    for (int n = 0; n < 200; n++) {
        random_study(&m, &seed);
        m.study.engine.efficiency_kind = SHV_EFFICIENCY_CONSTANT;
        struct shv_model *model = made_model(&m);
        const struct model_speed *s = &model->speed[2];
        const struct shv_engine *e = &m.study.engine;
        struct shv_gas gas;
        double vapour =
            m.study.air.kind == SHV_AIR_NASA
                ? e->stock.relative_humidity * shv_saturation_pressure(e->stock.temperature)
                : 0.0;
        shv_gas_init(&gas, &m.study.air, shv_humidity_ratio(vapour, e->stock.pressure));
        double rho = shv_gas_density(&gas, e->stock.pressure, e->stock.temperature);
        double over = s->stock_flow / e->intake.flow;
        double drop = e->intake.pressure_drop * over * over * e->intake.density / rho;
        assert_relative(s->stock_manifold, e->stock.pressure - drop, 1e-12);
        /* exhaust: pressures squared, from its drop to 101325 Pa, with gas as hot as then */
        double share = s->stock_flow / e->exhaust.flow, p0 = e->stock.pressure;
        double before = 101325.0 + e->exhaust.pressure_drop;
        double squares = (before * before - 101325.0 * 101325.0) * share * share;
        assert_relative(s->stock_exhaust, sqrt(p0 * p0 + squares), 1e-12);
        shv_model_free(model);
        made_end(&m);
    }
}

/* However little the exhaust holds back, it does: a drop of 0.05 Pa a millionth of one of 50 kPa,
 * but that this squeezes the gas. */
static void the_least_exhaust_counts(void **state)
{
    (void)state;
    static struct made m;
    double k[3];
    made_begin(&m);
    for (int i = 0; i < 3; i++) {
        m.study.engine.exhaust.pressure_drop = (const double[]){0.0, 0.05, 50e3}[i];
        struct shv_model *model = made_model(&m);
        k[i] = model->site[0].exhaust_k;
        shv_model_free(model);
    }
    assert_same_bits(k[0], 0.0);
    assert_relative(k[1], 1e-6 * k[2] * (2.0 * 101325.0) / (2.0 * 101325.0 + 50e3), 1e-6);
    made_end(&m);
}

/* The breathing factor is exactly 1 at the stock condition: a p_ms - b p_es = p_ms. */
static void breathing_factor_is_one_at_stock(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 53;
    for (int n = 0; n < 200; n++) {
        random_study(&m, &seed);
        struct shv_model *model = made_model(&m);
        for (size_t i = 0; i < model->speeds; i++) {
            const struct model_speed *s = &model->speed[i];
            double drawn = s->a * s->stock_manifold - s->b * s->stock_exhaust;
            assert_relative(drawn, s->stock_manifold, 1e-12);
            if (!m.study.engine.residual_correction) {
                assert_same_bits(s->a, 1.0);
                assert_same_bits(s->b, 0.0);
            }
        }
        shv_model_free(model);
        made_end(&m);
    }
}

/* By hand for the fixture's engine without losses, friction and pumping: eta = 2 pi N T / (m_fuel
 * LHV). */
static void tied_efficiency_by_hand(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    struct shv_engine *e = &m.study.engine;
    m.study.air = (struct shv_air_model){SHV_AIR_CONSTANT, 287.0, 1005.0, 1.4};
    e->intake = (struct shv_loss){0};
    e->exhaust = (struct shv_exhaust){.temperature = 1150.0};
    e->friction =
        (struct shv_friction){.kind = SHV_FRICTION_EFFICIENCY, .mechanical_efficiency = 0.8};
    e->cycle.charge_heating = 0.0;
    made_curve(&e->volumetric_efficiency, 1, (const double[]){60.0}, (const double[]){0.9});
    made_curve(&e->stock_torque, 1, (const double[]){60.0}, (const double[]){130.0});
    struct shv_model *model = made_model(&m);
    double n = m.speeds[2], air = 0.9 * 101325.0 / (287.0 * 298.15) * 0.0016 * n / 2.0;
    double fuel = air / (0.9 * 14.5);
    double expected = 2.0 * MADE_PI * n * 130.0 / 0.8 / (fuel * 43.0e6);
    assert_relative(shv_model_tied_efficiency(model, 2), expected, 1e-12);
    shv_model_free(model);
    made_end(&m);
}

static void given_efficiency_is_taken(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    m.study.engine.efficiency_kind = SHV_EFFICIENCY_CONSTANT;
    m.study.engine.indicated_efficiency = 0.37;
    struct shv_model *model = made_model(&m);
    assert_same_bits(shv_model_tied_efficiency(model, 0), 0.37);
    assert_ptr_equal(shv_model_study(model), &m.study);
    shv_model_free(model);
    made_end(&m);
}

/* ---- knock and fuels ---- */

static void by_cycle(struct made *m)
{
    made_begin(m);
    m->study.engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
}

/* Where the maker holds ignition back the stock engine stands at the margin; elsewhere the factor
 * is that of the nearest such speed, unless the engine would then knock. */
static void knock_is_tied_to_the_stock_ignition(void **state)
{
    (void)state;
    static struct made m;
    by_cycle(&m);
    struct shv_engine *e = &m.study.engine;
    made_curve(&e->stock_retard, 4, (const double[]){30.0, 50.0, 90.0, 110.0},
               (const double[]){6.0, 0.0, 0.0, 3.0});
    struct shv_model *model = made_model(&m);
    size_t last = model->speeds - 1;
    assert_relative(model->speed[0].stock_cycle.ca50, 14.0, 1e-12);
    assert_relative(model->speed[last].stock_cycle.ca50, 11.0, 1e-12);
    double first = shv_model_delay_factor(model, 0), end = shv_model_delay_factor(model, last);
    assert_true(first > 1.2 && first != end);
    for (size_t i = 0; i <= last; i++) {
        const struct model_speed *s = &model->speed[i];
        double nearest = s->speed - m.speeds[0] <= m.speeds[last] - s->speed ? first : end;
        if (s->stock_retard == 0.0) {
            assert_true(s->delay_factor >= nearest);
            assert_true(s->delay_factor == nearest ||
                        fabs(s->stock_cycle.knock_integral - 0.75) < 1e-12);
        } else {
            assert_true(s->stock_cycle.knock_integral < 0.75 + 1e-12);
        }
    }
    assert_relative(model->speed[0].stock_cycle.knock_integral, 0.75, 1e-12);
    shv_model_free(model);
    /* scale comes on top */
    e->knock.scale = 0.5;
    model = made_model(&m);
    assert_relative(shv_model_delay_factor(model, 0), first, 1e-14);
    assert_relative(model->speed[0].stock_cycle.knock_integral, 1.5, 1e-12);
    shv_model_free(model);
    made_end(&m);
}

static void ignition_that_is_not_known(void **state)
{
    (void)state;
    static struct made m;
    by_cycle(&m);
    struct shv_model *model = made_model(&m);
    assert_true(model->speed[0].stock_retard == 4.0 && model->speed[1].stock_retard == 0.0);
    shv_model_free(model);
    /* one that is nowhere held back only says what the factor is at least */
    made_curve(&m.study.engine.stock_retard, 1, (const double[]){60.0}, (const double[]){0.0});
    model = made_model(&m);
    for (size_t i = 0; i < model->speeds; i++) {
        assert_true(shv_model_delay_factor(model, i) >= 1.0);
        assert_true(model->speed[i].stock_cycle.knock_integral <= 0.75 + 1e-12);
    }
    shv_model_free(model);
    made_end(&m);
}

/* Vapour takes room, evaporation cools: against the stock fuel, by hand. */
static void fuels_breathe_by_themselves(void **state)
{
    (void)state;
    static struct made m;
    by_cycle(&m);
    m.sites[0].ambient = m.study.engine.stock;
    made_add_fuel(&m, 9.0, 26.9e6);
    m.fuels[1] = m.fuels[0];
    m.fuels[1].vaporisation = 2.0 * m.fuels[0].vaporisation;
    struct shv_model *model = made_model(&m);
    struct shv_breathing a = model_breathing(model, 0, 0, 2), b = model_breathing(model, 0, 1, 2);
    assert_same_bits(a.capacity, b.capacity);
    assert_same_bits(a.kept, 0.7);
    double cooled = 120.0 - a.added;
    assert_true(cooled > 5.0 && cooled < 20.0);
    assert_relative(120.0 - b.added, 2.0 * cooled, 1e-12);
    shv_model_free(model);
    m.fuels[1] = m.fuels[0];
    m.fuels[1].molar_mass = 0.5 * m.fuels[0].molar_mass;
    model = made_model(&m);
    a = model_breathing(model, 0, 0, 2), b = model_breathing(model, 0, 1, 2);
    double share = 0.5 / (0.9 * m.fuels[0].stoichiometric * (1.0 + model->site[0].humidity_ratio));
    double room = share * 8.314510 / m.fuels[0].molar_mass / model->site[0].gas.gas_constant;
    assert_relative(a.capacity / b.capacity, (1.0 + 2.0 * room) / (1.0 + room), 1e-9);
    shv_model_free(model);
    made_end(&m);
}

static void assert_refused(struct made *m, const char *part)
{
    struct shv_model *model = (struct shv_model *)m; /* anything but NULL */
    struct shv_message message = {""};
    assert_int_equal(shv_model_create(&m->study, &model, &message), SHV_BAD_INPUT);
    assert_null(model);
    assert_non_null(strstr(message.text, part));
    assert_non_null(strstr(message.text, "rpm"));
    made_end(m);
}

static void engine_data_that_cannot_be_tied(void **state)
{
    (void)state;
    static struct made m;
    const double at[1] = {60.0};
    made_begin(&m);
    made_curve(&m.study.engine.stock_torque, 1, at, (const double[]){1400.0});
    assert_refused(&m, "which no engine has");
    made_begin(&m);
    made_curve(&m.study.engine.stock_torque, 1, at, (const double[]){-100.0});
    assert_refused(&m, "which no engine has");
    made_begin(&m);
    made_curve(&m.study.engine.volumetric_efficiency, 1, at, (const double[]){0.0});
    assert_refused(&m, "draws no air");
    made_begin(&m);
    m.study.engine.stock.pressure = 0.0;
    assert_refused(&m, "");
    made_begin(&m);
    m.study.engine.displacement = NAN;
    assert_refused(&m, "draws no air");
}

/* A stock engine high up and in the heat makes less than at its stock conditions. */
static void stock_engine_loses_power_in_thin_air(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    m.sites[0].ambient = m.study.engine.stock;
    made_add_site(&m, 80000.0, m.study.engine.stock.temperature, 0.3, 1.0);
    made_add_site(&m, 101325.0, 313.0, 0.3, 1.0);
    struct shv_model *model = made_model(&m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    shv_model_evaluate_stock(model, &c);
    for (size_t i = 0; i < c.speeds; i++) {
        /* nearly in proportion to pressure, a bit more since friction stays */
        double thin = c.point[c.speeds + i].torque / c.point[i].torque;
        assert_true(thin < 0.80 && thin > 0.70);
        assert_true(c.point[2 * c.speeds + i].torque < c.point[i].torque);
    }
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

static void freeing_nothing(void **state)
{
    (void)state;
    shv_model_free(NULL);
    struct shv_curves c = {0};
    shv_curves_free(&c);
    shv_curves_free(&c);
    assert_null(c.point);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stock_torque_comes_back),
        cmocka_unit_test(stock_manifold_pressure),
        cmocka_unit_test(the_least_exhaust_counts),
        cmocka_unit_test(breathing_factor_is_one_at_stock),
        cmocka_unit_test(tied_efficiency_by_hand),
        cmocka_unit_test(given_efficiency_is_taken),
        cmocka_unit_test(knock_is_tied_to_the_stock_ignition),
        cmocka_unit_test(ignition_that_is_not_known),
        cmocka_unit_test(fuels_breathe_by_themselves),
        cmocka_unit_test(engine_data_that_cannot_be_tied),
        cmocka_unit_test(stock_engine_loses_power_in_thin_air),
        cmocka_unit_test(freeing_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
