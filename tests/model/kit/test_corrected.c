/* Models with corrections: neutral ones change no bit, each of the others does what it says, and
 * the study's own come to the same as those put on a model. */
#include "model/kit/model_internal.h"
#include "support/balance.h"
#include "support/cycle_model.h"

struct pair {
    struct shv_model *base, *model;
    struct shv_curves before, after;
};

static struct shv_corrections only(enum shv_correction which, double value)
{
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[which] = value;
    return c;
}

static void correct(struct pair *p, const struct shv_corrections *c)
{
    struct shv_message message = {{0}};
    shv_model_free(p->model);
    if (shv_model_correct(p->base, c, &p->model, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
}

static void begin(struct pair *p, const struct made *m)
{
    *p = (struct pair){.base = made_model(m)};
    assert_int_equal(shv_curves_init(&p->before, p->base, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&p->after, p->base, NULL), SHV_OK);
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    correct(p, &c);
}

static void end(struct pair *p)
{
    shv_curves_free(&p->before);
    shv_curves_free(&p->after);
    shv_model_free(p->model);
    shv_model_free(p->base);
}

static void evaluate(struct pair *p, const struct shv_kit *kit)
{
    shv_model_evaluate(p->base, kit, &p->before);
    shv_model_evaluate(p->model, kit, &p->after);
}

static void same_curves(const struct shv_curves *a, const struct shv_curves *b)
{
    assert_memory_equal(a->point, b->point, a->sites * a->speeds * sizeof *a->point);
    assert_memory_equal(&a->verdict.limit, &b->verdict.limit, sizeof a->verdict.limit);
    assert_same_bits(a->verdict.objective, b->verdict.objective);
}

/* A study with everything that a correction touches. */
static void full(struct made *m)
{
    cycle_begin(m, 95.0);
    made_speeds(m, 3, 30.0, 90.0);
    made_add_site(m, 82e3, 285.0, 0.4, 1.0);
    made_add_cooler(m, SHV_COOLER_COUNTERFLOW, 2, 0.5, 0.8);
    m->study.intake = (struct shv_loss){3e3, 0.15, 1.2};
    m->study.engine.exhaust = (struct shv_exhaust){15e3, 0.15, 1200.0};
}

static void neutral_changes_no_bit(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    begin(&p, &m);
    give_table(p.base, 0);
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    correct(&p, &c); /* now with the table */
    for (double ratio = 0.9; ratio < 3.0; ratio += 0.3) {
        struct shv_kit kit = made_kit(0, ratio, ratio > 1.5, ratio > 1.5 ? 0.6 : 0.0, 0.88);
        evaluate(&p, &kit);
        same_curves(&p.before, &p.after);
    }
    shv_model_evaluate_stock(p.base, &p.before);
    shv_model_evaluate_stock(p.model, &p.after);
    same_curves(&p.before, &p.after);
    end(&p);
    made_end(&m);
}

/* A blower's own tolerance: off by its own share of the departure from the study's correction. */
static void blowers_by_their_own_width(void **state)
{
    (void)state;
    static struct made m, other;
    static double spread[8][SHV_CORRECTION_COUNT];
    struct pair p, plain;
    full(&m);
    full(&other);
    begin(&plain, &other);
    for (size_t i = 0; i < 8; i++) {
        for (int k = 0; k < SHV_CORRECTION_COUNT; k++) {
            spread[i][k] = k == SHV_CORRECT_LEAKAGE           ? 3.0
                           : k == SHV_CORRECT_BLOWER_FRICTION ? 0.0
                                                              : 1.0;
        }
    }
    assert_true(m.study.blower_count <= 8);
    m.study.tolerances.spread = spread;
    begin(&p, &m);
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_LEAKAGE] = 1.125; /* three times as far is 1.375, to the bit */
    c.value[SHV_CORRECT_BLOWER_FRICTION] = 1.5;
    correct(&p, &c);
    c.value[SHV_CORRECT_LEAKAGE] = 1.375;
    c.value[SHV_CORRECT_BLOWER_FRICTION] = 1.0;
    correct(&plain, &c);
    struct shv_kit kit = made_kit(0, 1.9, 0, 0.0, 0.88);
    evaluate(&p, &kit);
    evaluate(&plain, &kit);
    same_curves(&p.after, &plain.after);
    assert_true(p.after.point[0].blower_power != p.before.point[0].blower_power);
    end(&p);
    end(&plain);
    m.study.tolerances.spread = NULL;
    made_end(&m);
    made_end(&other);
}

/* Most corrections are another study, but for the tie, which needs no stock torque here. */
static void as_if_the_study_said_so(void **state)
{
    (void)state;
    static struct made m, other;
    struct pair p;
    full(&m);
    full(&other);
    shv_curve_table_free(&m.study.engine.stock_torque);
    shv_curve_table_free(&other.study.engine.stock_torque);
    begin(&p, &m);
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_LEAKAGE] = 1.5;
    c.value[SHV_CORRECT_BLOWER_FRICTION] = 1.25;
    c.value[SHV_CORRECT_INTAKE_LOSS] = 2.0;
    c.value[SHV_CORRECT_CREEP] = 0.01;
    c.value[SHV_CORRECT_KNOCK] = 0.9;
    c.value[SHV_CORRECT_OCTANE] = -2.0;
    correct(&p, &c);
    for (size_t i = 0; i < other.study.blower_count; i++) {
        other.blowers[i].geometry.leakage_area *= 1.5;
        other.blowers[i].friction_torque *= 1.25;
        other.blowers[i].windage_torque *= 1.25;
    }
    other.study.intake.pressure_drop *= 2.0;
    other.study.drive.creep += 0.01;
    other.study.engine.knock.scale *= 0.9;
    /* the maker mapped the engine with the fuel as it should be */
    made_add_fuel(&other, 14.5, 43e6);
    other.fuels[other.study.fuel_count - 1] = other.fuels[0];
    other.study.engine.stock_fuel = other.study.fuel_count - 1;
    other.fuels[0].ron -= 2.0;
    other.fuels[0].mon -= 2.0;
    struct shv_model *said = made_model(&other);
    struct shv_kit kit = made_kit(0, 1.9, 0, 0.0, 0.88);
    evaluate(&p, &kit);
    shv_model_evaluate(said, &kit, &p.before);
    for (size_t i = 0; i < p.after.sites * p.after.speeds; i++) {
        const struct shv_point *a = &p.after.point[i], *b = &p.before.point[i];
        assert_int_equal(a->outcome, b->outcome);
        assert_relative(a->manifold_pressure, b->manifold_pressure, 1e-12);
        assert_relative(a->charge_temperature, b->charge_temperature, 1e-12);
        assert_relative(a->blower_power, b->blower_power, 1e-11);
        assert_within(a->ca50, b->ca50, 1e-5);
        assert_relative(a->cycle_efficiency, b->cycle_efficiency, 1e-7);
    }
    shv_model_free(said);
    end(&p);
    made_end(&m);
    made_end(&other);
}

/* Set in the study or put on its model, the numbers are the same. */
static void study_or_model(void **state)
{
    (void)state;
    static struct made m, set;
    struct pair p;
    struct shv_corrections c;
    full(&m);
    full(&set);
    begin(&p, &m);
    shv_corrections_neutral(&c);
    for (int i = 0; i < SHV_CORRECT_IN_STUDY; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        c.value[i] += 0.02 * (info->most - info->least);
    }
    correct(&p, &c);
    set.study.corrected = true;
    set.study.corrections = c;
    struct shv_model *own = made_model(&set);
    struct shv_kit kit = made_kit(0, 1.7, 1, 0.6, 0.88);
    evaluate(&p, &kit);
    shv_model_evaluate(own, &kit, &p.before);
    same_curves(&p.before, &p.after);
    /* and neutral ones put on it take them off again */
    struct shv_model *off;
    shv_corrections_neutral(&c);
    assert_int_equal(shv_model_correct(own, &c, &off, NULL), SHV_OK);
    shv_model_evaluate(off, &kit, &p.after);
    shv_model_evaluate(p.base, &kit, &p.before);
    for (size_t i = 0; i < p.after.sites * p.after.speeds; i++) {
        assert_relative(p.after.point[i].brake_power, p.before.point[i].brake_power, 1e-12);
    }
    shv_model_free(off);
    shv_model_free(own);
    end(&p);
    made_end(&m);
    made_end(&set);
}

static void factors_on_points(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    begin(&p, &m);
    struct shv_kit kit = made_kit(0, 1.6, 1, 0.6, 0.88);
    struct shv_corrections c = only(SHV_CORRECT_EFFICIENCY, 1.1);
    correct(&p, &c);
    evaluate(&p, &kit);
    assert_relative(p.after.point[1].indicated_power, 1.1 * p.before.point[1].indicated_power,
                    1e-14);
    assert_same_bits(p.after.point[1].air_flow, p.before.point[1].air_flow);
    c = only(SHV_CORRECT_FRICTION, 1.3);
    correct(&p, &c);
    evaluate(&p, &kit);
    assert_relative(p.after.point[1].friction_power, 1.3 * p.before.point[1].friction_power, 1e-14);
    c = only(SHV_CORRECT_BLOWER_FRICTION, 2.0);
    correct(&p, &c);
    evaluate(&p, &kit);
    assert_relative(p.after.point[1].bearing_power, 2.0 * p.before.point[1].bearing_power, 1e-14);
    assert_relative(p.after.point[1].windage_power, 2.0 * p.before.point[1].windage_power, 1e-14);
    end(&p);
    made_end(&m);
}

/* At the ends of the rev range the tilt is a factor. */
static void tilt(void **state)
{
    (void)state;
    static struct made m;
    struct pair p, q;
    full(&m);
    begin(&p, &m);
    begin(&q, &m);
    struct shv_kit kit = made_kit(0, 1.6, 0, 0.0, 0.88);
    struct shv_corrections c = only(SHV_CORRECT_VOLUMETRIC_EFFICIENCY_TILT, 0.08);
    correct(&p, &c);
    evaluate(&p, &kit);
    c = only(SHV_CORRECT_VOLUMETRIC_EFFICIENCY, 1.08);
    correct(&q, &c);
    evaluate(&q, &kit);
    assert_relative(p.after.point[2].manifold_pressure, q.after.point[2].manifold_pressure, 1e-11);
    assert_relative(p.after.point[1].manifold_pressure, p.before.point[1].manifold_pressure, 1e-11);
    c = only(SHV_CORRECT_VOLUMETRIC_EFFICIENCY, 0.92);
    correct(&q, &c);
    evaluate(&q, &kit);
    assert_relative(p.after.point[0].manifold_pressure, q.after.point[0].manifold_pressure, 1e-11);
    end(&p);
    end(&q);
    made_end(&m);
}

static void cooler_keeps_drop_and_price(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    m.coolers[1].per_ntu.price = 50.0;
    begin(&p, &m);
    struct shv_corrections c = only(SHV_CORRECT_COOLER_EFFECTIVENESS, 0.6);
    struct shv_kit kit = made_kit(0, 1.9, 1, 0.8, 0.88);
    correct(&p, &c);
    evaluate(&p, &kit);
    const struct shv_point *a = &p.after.point[2], *b = &p.before.point[2];
    assert_true(a->effectiveness < b->effectiveness - 0.02);
    /* the drop as a factor on flow squared over density */
    double ka = a->cooler_drop * a->outlet_pressure /
                (a->blower_flow * a->blower_flow * a->discharge_temperature);
    double kb = b->cooler_drop * b->outlet_pressure /
                (b->blower_flow * b->blower_flow * b->discharge_temperature);
    assert_relative(ka, kb, 1e-12);
    assert_relative(p.after.hardware.price, p.before.hardware.price, 1e-14);
    assert_true(p.before.hardware.price > 50.0);
    end(&p);
    made_end(&m);
}

/* Hotter air of the same humidity ratio, thinner air likewise; the stock engine feels them too. */
static void air(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    m.sites[0].ambient.relative_humidity = 0.6;
    begin(&p, &m);
    struct shv_corrections c = only(SHV_CORRECT_AMBIENT_TEMPERATURE, 12.0);
    c.value[SHV_CORRECT_AMBIENT_PRESSURE] = 0.97;
    correct(&p, &c);
    struct shv_kit kit = made_kit(0, 1.6, 0, 0.0, 0.88);
    evaluate(&p, &kit);
    for (size_t i = 0; i < p.after.sites * p.after.speeds; i++) {
        const struct shv_point *a = &p.after.point[i], *b = &p.before.point[i];
        assert_relative(a->ambient_temperature, b->ambient_temperature + 12.0, 1e-15);
        assert_relative(a->ambient_pressure, 0.97 * b->ambient_pressure, 1e-15);
        assert_relative(a->air_flow / a->dry_air_flow, b->air_flow / b->dry_air_flow, 1e-15);
        struct balance balance;
        model_balance(p.model, i / p.after.speeds, a, &balance);
        assert_true(fabs(balance.mass) < 1e-9 && fabs(balance.total_energy) < 1e-9);
    }
    shv_model_evaluate_stock(p.base, &p.before);
    shv_model_evaluate_stock(p.model, &p.after);
    assert_true(p.after.point[1].brake_power < 0.97 * p.before.point[1].brake_power);
    end(&p);
    made_end(&m);
}

/* Walls that warm the kit's charge more: less is drawn of a charge colder than they are, by what
 * becomes of it, and it knocks sooner; 0 and 1 are the ends. */
static void warmer_walls(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    const struct shv_cycle_engine *e = &m.study.engine.cycle;
    begin(&p, &m);
    struct shv_corrections c = only(SHV_CORRECT_CHARGE_HEATING, 0.2);
    correct(&p, &c);
    struct shv_breathing of_base = model_breathing(p.base, 0, 0, 1);
    struct shv_breathing b = model_breathing(p.model, 0, 0, 1);
    assert_relative(b.kept, 0.8 - e->charge_heating, 1e-14);
    assert_relative(b.added - of_base.added, 0.2 * e->charge_wall_temperature, 1e-12);
    assert_same_bits(b.capacity, of_base.capacity);
    struct shv_kit kit = made_kit(0, 1.3, 1, 0.7, 0.88);
    evaluate(&p, &kit);
    for (size_t i = 0; i < p.after.sites * p.after.speeds; i++) {
        const struct shv_point *after = &p.after.point[i], *before = &p.before.point[i];
        assert_true(after->charge_temperature < e->charge_wall_temperature);
        assert_true(after->dry_air_flow < before->dry_air_flow);
        assert_true(after->ca50 >= before->ca50);
    }
    c.value[SHV_CORRECT_CHARGE_HEATING] = -0.5;
    correct(&p, &c);
    assert_relative(model_breathing(p.model, 0, 0, 1).kept, 1.0, 1e-15);
    shv_model_evaluate_stock(p.base, &p.before);
    shv_model_evaluate_stock(p.model, &p.after);
    same_curves(&p.before, &p.after);
    end(&p);
    made_end(&m);
}

/* The stock engine makes its stock torque whatever the kit's corrections. */
static void stock_stays(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    begin(&p, &m);
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    for (int i = 0; i < SHV_CORRECT_IN_STUDY; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        c.value[i] += 0.03 * (info->most - info->least);
    }
    correct(&p, &c);
    shv_model_evaluate_stock(p.base, &p.before);
    shv_model_evaluate_stock(p.model, &p.after);
    same_curves(&p.before, &p.after);
    end(&p);
    made_end(&m);
}

static void pulleys(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    full(&m);
    m.study.drive.line_offset = 2e-3;
    begin(&p, &m);
    struct shv_corrections c = only(SHV_CORRECT_BLOWER_PULLEY, -0.5e-3);
    c.value[SHV_CORRECT_CRANK_PULLEY] = 0.2e-3;
    c.value[SHV_CORRECT_INJECTOR_FLOW] = 0.95;
    correct(&p, &c);
    struct shv_kit kit = made_kit(0, 0.0, 0, 0.0, 0.88), actual;
    kit.crank_diameter = 0.150;
    kit.blower_diameter = 0.080;
    kit.ratio = shv_drive_ratio(0.150, 0.080, 2e-3);
    shv_model_kit(p.model, &kit, &actual);
    assert_relative(actual.ratio, (0.1502 + 0.004) / (0.0795 + 0.004), 1e-15);
    assert_relative(actual.injector_flow, 0.95 * kit.injector_flow, 1e-15);
    evaluate(&p, &kit);
    assert_relative(p.after.point[0].rotor_speed / p.before.point[0].rotor_speed,
                    actual.ratio / kit.ratio, 1e-14);
    assert_relative(p.after.hardware.pulley_diameter, 0.0795, 1e-14);
    /* an ideal kit has no pulleys to be off */
    kit.crank_diameter = kit.blower_diameter = NAN;
    shv_model_kit(p.model, &kit, &actual);
    assert_same_bits(actual.ratio, kit.ratio);
    end(&p);
    made_end(&m);
}

/* More of the swept volume is lost, for the same work of the rotors. */
static void leaking_map(void **state)
{
    (void)state;
    struct shv_blower b = made_map("map", 1e-3, 250.0, 2.2);
    struct map_value before = map_at(&b.map, 120.0, 298.15, 1.6);
    b.map.slip_added = 0.3;
    struct map_value after = map_at(&b.map, 120.0, 298.15, 1.6);
    assert_relative(1.0 - after.volumetric_efficiency, 1.3 * (1.0 - before.volumetric_efficiency),
                    1e-14);
    assert_relative(after.volumetric_efficiency / after.isentropic_efficiency,
                    before.volumetric_efficiency / before.isentropic_efficiency, 1e-14);
    shv_blower_map_free(&b.map);
}

static void lanes_agree(void **state)
{
    (void)state;
    static struct made m;
    struct pair p;
    struct shv_lanes *lanes;
    full(&m);
    begin(&p, &m);
    give_table(p.base, 0);
    struct shv_corrections c = only(SHV_CORRECT_KNOCK, 0.93);
    c.value[SHV_CORRECT_BLOWER_PULLEY] = -0.3e-3;
    c.value[SHV_CORRECT_LEAKAGE] = 1.2;
    correct(&p, &c);
    assert_int_equal(shv_lanes_create(p.model, &lanes, NULL), SHV_OK);
    struct shv_kit kits[5];
    struct shv_brief brief[5];
    for (size_t i = 0; i < 5; i++) {
        kits[i] = made_kit(0, 1.3 + 0.1 * (double)i, 0, 0.0, 0.88);
        kits[i].crank_diameter = 0.15;
        kits[i].blower_diameter = 0.15 / kits[i].ratio;
    }
    shv_lanes_evaluate_kits(p.model, lanes, kits, 5, brief);
    for (size_t i = 0; i < 5; i++) {
        shv_model_evaluate(p.model, &kits[i], &p.after);
        assert_int_equal(brief[i].outcome, p.after.verdict.outcome);
        assert_int_equal(brief[i].broken, p.after.verdict.broken);
        assert_same_bits(brief[i].objective, p.after.verdict.objective);
    }
    shv_lanes_free(lanes);
    end(&p);
    made_end(&m);
}

static void wrong_values_are_told(void **state)
{
    (void)state;
    static struct made m;
    struct shv_model *model;
    struct shv_message message;
    full(&m);
    struct shv_model *base = made_model(&m);
    struct shv_corrections c = only(SHV_CORRECT_LEAKAGE, 7.0);
    assert_int_equal(shv_model_correct(base, &c, &model, &message), SHV_BAD_INPUT);
    assert_null(model);
    assert_non_null(strstr(message.text, "leakage"));
    m.study.engine.knock.scale = 8.0;
    c = only(SHV_CORRECT_KNOCK, 1.5);
    assert_int_equal(shv_model_correct(base, &c, &model, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "knock.scale 12"));
    m.study.engine.knock.scale = 1.0;
    m.fuels[0].ron = 138.0;
    c = only(SHV_CORRECT_OCTANE, 5.0);
    assert_int_equal(shv_model_correct(base, &c, &model, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "RON"));
    shv_model_free(base);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(neutral_changes_no_bit),
                                       cmocka_unit_test(as_if_the_study_said_so),
                                       cmocka_unit_test(blowers_by_their_own_width),
                                       cmocka_unit_test(study_or_model),
                                       cmocka_unit_test(factors_on_points),
                                       cmocka_unit_test(tilt),
                                       cmocka_unit_test(cooler_keeps_drop_and_price),
                                       cmocka_unit_test(air),
                                       cmocka_unit_test(warmer_walls),
                                       cmocka_unit_test(stock_stays),
                                       cmocka_unit_test(pulleys),
                                       cmocka_unit_test(leaking_map),
                                       cmocka_unit_test(lanes_agree),
                                       cmocka_unit_test(wrong_values_are_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
