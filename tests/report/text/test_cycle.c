/* The trace of a closed cycle as CSV. */
#include "model/cylinder/cycle_internal.h"
#include "report/fixture.h"

static double volume_at(const struct shv_cycle_engine *e, double angle)
{
    double swept = 0.25 * CYCLE_PI * e->bore * e->bore * e->stroke;
    return cycle_place_at(e, swept / (e->compression_ratio - 1.0), angle).volume;
}

struct traced {
    struct shv_cycle_fuel fuel;
    struct shv_cycle_case at;
    struct shv_point point;
};

/* The best kit at the first site and second speed. */
static void take(struct fixture *f, struct traced *t)
{
    struct shv_kit kit;
    struct shv_curves curves;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    t->point = curves.point[1];
    assert_true(shv_model_cycle_case(f->model, 0, &kit, &t->point, &t->fuel, &t->at));
    shv_curves_free(&curves);
}

static enum shv_status write_cycle(struct fixture *f, const struct traced *t, FILE *out)
{
    const struct shv_engine *e = &f->study.engine;
    struct shv_cycle_sample *samples;
    size_t count;
    enum shv_status status =
        shv_cycle_samples(&e->cycle, &t->fuel, &e->knock, &t->at, &samples, &count, &f->message);
    if (status == SHV_OK) {
        status = shv_report_cycle(&f->study, samples, count, out, &f->message);
    }
    free(samples);
    return status;
}

static struct csv *written(struct fixture *f, const struct traced *t)
{
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(write_cycle(f, t, out), SHV_OK);
    assert_int_equal(fclose(out), 0);
    struct csv *csv = csv_parse(text);
    assert_even(csv);
    return csv;
}

static void runs_from_closing_to_opening(void **state)
{
    struct fixture *f = *state;
    struct traced t;
    take(f, &t);
    struct csv *csv = written(f, &t);
    size_t last = csv->records - 1;
    assert_true(last > 50);
    assert_true(csv_value(csv, 1, "angle_deg") == f->study.engine.cycle.inlet_closing);
    assert_true(csv_value(csv, last, "angle_deg") == f->study.engine.cycle.exhaust_opening);
    assert_true(csv_value(csv, 1, "burned_share_pct") == 0.0);
    assert_close(csv_value(csv, last, "burned_share_pct"), 100.0, 1e-6);
    assert_close(csv_value(csv, 1, "volume_cm3"), 1e6 * volume_at(&f->study.engine.cycle, -140.0),
                 1e-6);
    assert_true(csv_value(csv, 1, "work_J") == 0.0 && csv_value(csv, last, "work_J") > 0.0);
    assert_true(csv_value(csv, last, "wall_heat_J") > 0.0);
    assert_string_equal(csv_at(csv, last, "end_gas_temperature_degC"), "");
    for (size_t r = 2; r <= last; r++) {
        assert_true(csv_value(csv, r, "angle_deg") > csv_value(csv, r - 1, "angle_deg"));
    }
    csv_free(csv);
}

/* The case is that of the point: without tables the same cycle, to the last digit shown. */
static void is_the_cycle_of_the_point(void **state)
{
    struct fixture *f = *state;
    struct traced t;
    take(f, &t);
    struct csv *csv = written(f, &t);
    double highest = 0.0, integral = 0.0;
    for (size_t r = 1; r < csv->records; r++) {
        highest = fmax(highest, csv_value(csv, r, "pressure_bar_abs"));
        integral = fmax(integral, csv_value(csv, r, "knock_integral"));
    }
    /* The peak lies between two steps of 4 deg. */
    assert_close(highest, t.point.peak_pressure / 1e5, 0.02);
    assert_true(highest <= t.point.peak_pressure / 1e5 * (1.0 + 1e-6));
    assert_close(integral, t.point.knock_integral, 1e-6);
    csv_free(csv);
}

static void us_units(void **state)
{
    struct fixture *f = *state;
    struct traced t;
    take(f, &t);
    struct csv *metric = written(f, &t);
    f->study.results.units = SHV_US;
    struct csv *us = written(f, &t);
    size_t last = us->records - 1;
    assert_close(csv_value(us, last, "volume_in3") * 16.387064,
                 csv_value(metric, last, "volume_cm3"), 1e-6);
    assert_close(csv_value(us, last, "pressure_psia") * 0.0689475729,
                 csv_value(metric, last, "pressure_bar_abs"), 1e-6);
    assert_close(csv_value(us, last, "work_ftlbf") * 1.35581795, csv_value(metric, last, "work_J"),
                 1e-6);
    csv_free(metric);
    csv_free(us);
}

static void no_answer_leaves_nothing_behind(void **state)
{
    struct fixture *f = *state;
    struct traced t;
    take(f, &t);
    t.at.residual_share = -1.0;
    t.at.exhaust_pressure = 9e5; /* more residual gas than the cylinder holds */
    t.at.air_mass = 2e-5;
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(write_cycle(f, &t, out), SHV_NOTHING);
    assert_int_equal(fclose(out), 0);
    assert_string_equal(text, "");
    free(text);
}

static void full_device_is_told(void **state)
{
    struct fixture *f = *state;
    struct traced t;
    take(f, &t);
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    assert_int_equal(write_cycle(f, &t, out), SHV_IO);
    assert_string_equal(f->message.text, "cannot write the cycle: No space left on device");
    (void)fclose(out);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_cycle_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(runs_from_closing_to_opening),    TEST(is_the_cycle_of_the_point), TEST(us_units),
        TEST(no_answer_leaves_nothing_behind), TEST(full_device_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
