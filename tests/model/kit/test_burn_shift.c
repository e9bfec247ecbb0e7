/* What a table of the closed cycle says of a corrected cycle, against the direct cycle: within the
 * errors that are accepted of the table itself. */
#include "model/kit/model_internal.h"
#include "support/cycle_model.h"

struct worst {
    double efficiency, peak, exhaust, ca50, wanted;
    size_t points;
};

static void raise_to(double *worst, double value)
{
    *worst = value > *worst ? value : *worst;
}

static void compare(const struct shv_curves *a, const struct shv_curves *b, struct worst *w)
{
    for (size_t i = 0; i < a->speeds; i++) {
        const struct shv_point *p = &a->point[i], *q = &b->point[i];
        assert_int_equal(p->outcome, q->outcome);
        if (p->outcome != SHV_POINT_OK) {
            continue;
        }
        raise_to(&w->efficiency, fabs(p->cycle_efficiency / q->cycle_efficiency - 1.0));
        raise_to(&w->peak, fabs(p->peak_pressure / q->peak_pressure - 1.0));
        raise_to(&w->exhaust, fabs(p->exhaust_temperature - q->exhaust_temperature));
        raise_to(&w->ca50, fabs(p->ca50 - q->ca50));
        raise_to(&w->wanted,
                 q->phasing_retard < 32.0 ? fabs(p->phasing_retard - q->phasing_retard) : 0.0);
        assert_true((p->phasing_retard > 32.0) == (q->phasing_retard > 32.0));
        w->points++;
    }
}

static struct worst errors(const struct shv_model *tables, const struct shv_model *direct,
                           const struct shv_corrections *c)
{
    struct shv_model *a, *b;
    struct shv_curves of_a, of_b;
    struct worst w = {0};
    assert_int_equal(shv_model_correct(tables, c, &a, NULL), SHV_OK);
    assert_int_equal(shv_model_correct(direct, c, &b, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&of_a, a, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&of_b, b, NULL), SHV_OK);
    for (double margin = 0.0; margin < 6.1; margin += 3.0) {
        for (double ratio = 0.85; ratio < 3.4; ratio += 0.25) {
            struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.88);
            kit.ignition_margin = margin;
            shv_model_evaluate(a, &kit, &of_a);
            shv_model_evaluate(b, &kit, &of_b);
            compare(&of_a, &of_b, &w);
        }
    }
    shv_curves_free(&of_a);
    shv_curves_free(&of_b);
    shv_model_free(a);
    shv_model_free(b);
    return w;
}

struct fixture {
    struct made m;
    struct shv_model *tables, *direct;
};

static int begin(void **state)
{
    static struct fixture f;
    cycle_begin(&f.m, 91.0);
    f.m.study.engine.exhaust = (struct shv_exhaust){16e3, 0.12, 1150.0};
    f.tables = made_model(&f.m);
    f.direct = made_model(&f.m);
    give_table(f.tables, 0);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    struct fixture *f = *state;
    shv_model_free(f->tables);
    shv_model_free(f->direct);
    made_end(&f->m);
    return 0;
}

static void check(const struct worst *w)
{
    print_message("efficiency %.3f %%, peak %.2f %%, exhaust %.1f K, CA50 %.2f and %.2f deg, %zu "
                  "points\n",
                  100.0 * w->efficiency, 100.0 * w->peak, w->exhaust, w->ca50, w->wanted,
                  w->points);
    assert_true(w->points > 30);
    assert_true(w->efficiency < 1e-3 && w->peak < 5e-3 && w->exhaust < 3.0);
    assert_true(w->ca50 < 0.3 && w->wanted < 0.3);
}

static void delay_of_ignition(void **state)
{
    const struct fixture *f = *state;
    const double scale[] = {0.6, 0.9, 1.001, 1.4}, octane[] = {-6.0, 4.0};
    struct shv_corrections c;
    for (size_t i = 0; i < 4; i++) {
        shv_corrections_neutral(&c);
        c.value[SHV_CORRECT_KNOCK] = scale[i];
        struct worst w = errors(f->tables, f->direct, &c);
        check(&w);
    }
    for (size_t i = 0; i < 2; i++) {
        shv_corrections_neutral(&c);
        c.value[SHV_CORRECT_OCTANE] = octane[i];
        struct worst w = errors(f->tables, f->direct, &c);
        check(&w);
    }
}

static void back_pressure(void **state)
{
    const struct fixture *f = *state;
    assert_int_equal(shv_model_ready_shift(f->tables, 0, NULL, NULL), SHV_OK);
    assert_int_equal(shv_model_ready_shift(f->direct, 0, NULL, NULL), SHV_OK); /* no table */
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_EXHAUST_LOSS] = 1.5;
    struct worst w = errors(f->tables, f->direct, &c);
    check(&w);
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_AMBIENT_PRESSURE] = 0.95;
    w = errors(f->tables, f->direct, &c);
    check(&w);
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = 1.08;
    c.value[SHV_CORRECT_KNOCK] = 0.85;
    w = errors(f->tables, f->direct, &c);
    check(&w);
}

/* Walls that warm the charge more or less than the table's. */
static void warmer_walls(void **state)
{
    const struct fixture *f = *state;
    const double more[] = {-0.2, -0.03, 0.03, 0.2};
    assert_int_equal(shv_model_ready_shift(f->tables, 0, NULL, NULL), SHV_OK);
    for (size_t i = 0; i < 4; i++) {
        struct shv_corrections c;
        shv_corrections_neutral(&c);
        c.value[SHV_CORRECT_CHARGE_HEATING] = more[i];
        struct worst w = errors(f->tables, f->direct, &c);
        check(&w);
    }
}

/* The pressure to which ignition gives way is met as exactly as without corrections: what was found
 * with slopes of a phasing nearby must not break the limit by their rounding. */
static void peak_pressure_is_held(void **state)
{
    struct fixture *f = *state;
    struct shv_corrections c;
    const double most = 45e5;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_EXHAUST_LOSS] = 1.5;
    c.value[SHV_CORRECT_KNOCK] = 3.0;
    assert_int_equal(shv_model_ready_shift(f->tables, 0, NULL, NULL), SHV_OK);
    f->m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = most;
    struct worst w = errors(f->tables, f->direct, &c);
    check(&w);
    struct shv_model *model;
    struct shv_curves curves;
    assert_int_equal(shv_model_correct(f->tables, &c, &model, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    size_t held = 0;
    for (double ratio = 0.85; ratio < 2.0; ratio += 0.05) {
        struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.88);
        shv_model_evaluate(model, &kit, &curves);
        for (size_t i = 0; i < curves.speeds; i++) {
            const struct shv_point *p = &curves.point[i];
            bool by = p->outcome == SHV_POINT_OK && p->phasing_by == SHV_PHASING_BY_PRESSURE;
            if (by && p->ca50 < 40.0) {
                held++;
                assert_true(p->peak_pressure <= most && p->peak_pressure > most * (1.0 - 1e-7));
            }
        }
    }
    assert_true(held > 5);
    shv_curves_free(&curves);
    shv_model_free(model);
    f->m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = INFINITY;
}

/* Air so cold that the charge lies beyond the table: the direct cycle answers. */
static void beyond_the_table(void **state)
{
    const struct fixture *f = *state;
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_AMBIENT_TEMPERATURE] = -30.0;
    struct worst w = errors(f->tables, f->direct, &c);
    check(&w);
}

/* A step of the delay too small to matter must not jump: derivatives are taken with such steps. */
static void continuous(void **state)
{
    const struct fixture *f = *state;
    const struct shv_kit kit = made_kit(0, 1.5, 0, 0.0, 0.88);
    struct shv_curves a, b;
    struct shv_model *near;
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_KNOCK] = 1.0 + 1e-9;
    assert_int_equal(shv_model_correct(f->tables, &c, &near, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&a, near, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&b, near, NULL), SHV_OK);
    shv_model_evaluate(f->tables, &kit, &a);
    shv_model_evaluate(near, &kit, &b);
    for (size_t i = 0; i < a.speeds; i++) {
        assert_true(a.point[i].ca50 > 9.0);
        assert_within(a.point[i].ca50, b.point[i].ca50, 1e-6);
        assert_relative(a.point[i].cycle_efficiency, b.point[i].cycle_efficiency, 1e-8);
    }
    shv_curves_free(&a);
    shv_curves_free(&b);
    shv_model_free(near);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(delay_of_ignition), cmocka_unit_test(back_pressure),
        cmocka_unit_test(warmer_walls),      cmocka_unit_test(peak_pressure_is_held),
        cmocka_unit_test(beyond_the_table),  cmocka_unit_test(continuous)};
    return cmocka_run_group_tests(tests, begin, end);
}
