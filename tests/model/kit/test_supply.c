/* Injectors and pump of a kit at a point, and where they end. */
#include "model/kit/model_internal.h"
#include "support/study_fixture.h"

static const double pump_pressure[] = {200e3, 300e3, 400e3, 500e3};
static const double pump_flow[] = {4.0e-5, 3.6e-5, 3.1e-5, 2.4e-5};

static void supply_begin(struct made *m, enum shv_rail_reference reference)
{
    made_begin(m);
    m->injectors[0] = (struct shv_injector_part){.name = "port",
                                                 .rated_flow = {m->injector_flows[0], 1},
                                                 .rated_pressure = 300e3,
                                                 .test_density = 684.0,
                                                 .dead_time = 0.9e-3,
                                                 .max_duty = 0.85};
    m->injector_flows[0][0] = 6e-6;
    m->pumps[0] = (struct shv_pump_part){.name = "tank"};
    assert_int_equal(
        shv_curve_table_init(&m->pumps[0].pump.flow, 4, pump_pressure, pump_flow, NULL), SHV_OK);
    m->pumps[0].pump.line_loss = 12e3;
    m->study.rail = (struct shv_fuel_rail){320e3, reference, 1};
}

static struct shv_kit supply_kit(const struct made *m)
{
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    kit.injector_flow = m->injector_flows[0][0];
    return kit;
}

/* The pressure across injectors and pump is what the rail's reference makes of it. */
static void by_the_rail(void **state)
{
    (void)state;
    static struct made m;
    const double pm = 165e3, fuel = 0.006;
    for (int reference = SHV_RAIL_AMBIENT; reference <= SHV_RAIL_MANIFOLD; reference++) {
        supply_begin(&m, (enum shv_rail_reference)reference);
        struct shv_model *model = made_model(&m);
        struct shv_kit kit = supply_kit(&m);
        double p0 = m.sites[0].ambient.pressure, held = reference == SHV_RAIL_AMBIENT ? p0 : pm;
        for (size_t speed = 0; speed < m.study.engine.speed_count; speed++) {
            const struct shv_injection at = {4.0, m.speeds[speed], fuel, 750.0, held + 320e3 - pm};
            assert_relative(injector_duty(model, &kit, 0, speed, fuel, pm),
                            shv_injector_duty(&m.injectors[0], 6e-6, &at), 1e-12);
            double flow = shv_fuel_pump_flow(&m.pumps[0].pump, held + 332e3 - p0, 750.0);
            assert_relative(pump_share(model, &kit, 0, fuel, pm), fuel / flow, 1e-12);
        }
        shv_model_free(model);
        made_end(&m);
    }
}

static void where_nothing_flows(void **state)
{
    (void)state;
    static struct made m;
    supply_begin(&m, SHV_RAIL_AMBIENT);
    struct shv_model *model = made_model(&m);
    struct shv_kit kit = supply_kit(&m);
    double p0 = m.sites[0].ambient.pressure;
    /* the manifold stands as high as the rail */
    assert_true(isinf(injector_duty(model, &kit, 0, 0, 0.004, p0 + 320e3)));
    assert_true(isfinite(injector_duty(model, &kit, 0, 0, 0.004, p0 + 319e3)));
    shv_model_free(model);
    /* boost on a rail that follows it leaves the pump's curve */
    m.study.rail.reference = SHV_RAIL_MANIFOLD;
    model = made_model(&m);
    assert_true(isfinite(pump_share(model, &kit, 0, 0.004, p0 + 500e3 - 332e3)));
    assert_true(isinf(pump_share(model, &kit, 0, 0.004, p0 + 500e3 - 331e3)));
    assert_true(isnan(pump_share(model, &kit, 0, 0.004, NAN)));
    shv_model_free(model);
    made_end(&m);
}

static void none_named(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    struct shv_model *model = made_model(&m);
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    assert_true(isnan(injector_duty(model, &kit, 0, 0, 0.004, 150e3)));
    assert_true(isnan(pump_share(model, &kit, 0, 0.004, 150e3)));
    assert_true(isinf(shv_limit_bound(&m.study, &kit, SHV_LIMIT_INJECTOR_DUTY)));
    assert_true(isinf(shv_limit_bound(&m.study, &kit, SHV_LIMIT_PUMP_FLOW)));
    shv_model_free(model);
    made_end(&m);
}

/* Too small a size is turned down by its duty, and a weak pump by its share. */
static void limits_of_the_parts(void **state)
{
    (void)state;
    static struct made m;
    supply_begin(&m, SHV_RAIL_MANIFOLD);
    m.study.limit[SHV_LIMIT_INJECTOR_DUTY] = 0.8;
    struct shv_model *model = made_model(&m);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    struct shv_kit kit = supply_kit(&m);
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_INJECTOR_DUTY), 0.8);
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_PUMP_FLOW), 1.0);
    shv_model_evaluate(model, &kit, &c);
    const struct shv_limit_result *duty = &c.verdict.limit[SHV_LIMIT_INJECTOR_DUTY];
    double here = duty->value;
    assert_true(here > 0.3 && here < 1.5);
    kit.injector_flow = 6e-6 * here / 0.5;
    shv_model_evaluate(model, &kit, &c);
    assert_true(!(c.verdict.broken >> SHV_LIMIT_INJECTOR_DUTY & 1u));
    kit.injector_flow = 2e-6;
    shv_model_evaluate(model, &kit, &c);
    assert_true(c.verdict.broken >> SHV_LIMIT_INJECTOR_DUTY & 1u);
    assert_true(c.verdict.limit[SHV_LIMIT_PUMP_FLOW].value > 0.0);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_the_rail),
        cmocka_unit_test(where_nothing_flows),
        cmocka_unit_test(none_named),
        cmocka_unit_test(limits_of_the_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
