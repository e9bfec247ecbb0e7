/* Nodes of a table against the direct cycle, one by one. */
#include "support/cycle_table_fixture.h"

#include "model/cylinder/cycle_lookup.h"
#include "model/cylinder/cycle_table_internal.h"

#define PHASINGS 9
#define NODES 6

static struct filled {
    struct shv_cycle_table_spec spec;
    struct shv_cycle_axis ca50;
    struct shv_cycle_case at[CYCLE_NODES_MOST];
    double motored[CYCLE_NODES_MOST];
    double volume[CYCLE_NODES_MOST][SHV_CYCLE_ROWS(PHASINGS) * SHV_CYCLE_FIELDS];
    uint64_t cycles;
} f;

/* Phasings from the best to `last`, temperatures from 300 to 400 K, at one speed and pressure. */
static enum shv_status fill_of(size_t phasings, size_t count, double pressure, double last,
                               struct shv_message *message)
{
    struct shv_cycle_table_options options;
    struct cycle_node_place place[CYCLE_NODES_MOST];
    small_table(&f.spec, &options);
    double best = f.spec.knock.best_ca50;
    f.ca50 =
        (struct shv_cycle_axis){best, (double)(phasings - 1) / (last - best), best, last, phasings};
    for (size_t i = 0; i < count; i++) {
        double t = 300.0 + (count > 1 ? 100.0 * (double)i / (double)(count - 1) : 0.0);
        f.at[i] = shv_cycle_table_case(&f.spec, 0, pressure, t);
        f.motored[i] = -1.0;
        for (size_t k = 0; k < SHV_CYCLE_ROWS(PHASINGS) * SHV_CYCLE_FIELDS; k++) {
            f.volume[i][k] = -1.0;
        }
        place[i] = (struct cycle_node_place){f.at[i], &f.motored[i], f.volume[i]};
    }
    return cycle_nodes_fill(&f.spec, &f.ca50, place, count, &f.cycles, message);
}

static enum shv_status fill(size_t count, double pressure, double last, struct shv_message *message)
{
    return fill_of(PHASINGS, count, pressure, last, message);
}

static struct shv_cycle_result direct(size_t node, double ca50)
{
    struct shv_cycle_result r;
    struct shv_cycle_case at = f.at[node];
    at.ca50 = ca50;
    assert_int_equal(
        shv_cycle_run(&f.spec.engine, &f.spec.fuel, &f.spec.knock, &at, NULL, &r, NULL), SHV_OK);
    return r;
}

static const double *fields(size_t node, size_t phasing)
{
    return f.volume[node] + (phasing + 1) * SHV_CYCLE_FIELDS;
}

static double phasing_at(size_t c)
{
    return cycle_axis_value(&f.ca50, SHV_CYCLE_CA50, c);
}

static void each_node_is_the_direct_cycle(void **state)
{
    (void)state;
    struct shv_message message = {{0}};
    if (fill(NODES, 1.2e5, 30.0, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    for (size_t i = 0; i < NODES; i++) {
        for (size_t c = 0; c < PHASINGS; c++) {
            struct shv_cycle_result r = direct(i, phasing_at(c));
            const double *v = fields(i, c);
            assert_int_equal(r.outcome, SHV_CYCLE_DONE);
            assert_relative(v[CYCLE_EFFICIENCY], r.gross_efficiency, 1e-9);
            assert_within(v[CYCLE_FIRED], log(r.peak_pressure), 1e-9);
            assert_within(v[CYCLE_EXHAUST], r.exhaust_temperature, 1e-5);
            assert_within(v[CYCLE_KNOCK], log(r.knock_integral), 1e-7);
        }
        /* Outer rows and the two behind them are for others to fill. */
        for (size_t k = 0; k < SHV_CYCLE_FIELDS; k++) {
            assert_true(f.volume[i][k] == -1.0 && fields(i, PHASINGS)[k] == -1.0);
        }
        /* Compression alone: far below what fire makes, and falling with the temperature of the
         * charge, of which less is in there; 14 to 25 bar from 1.2 at this compression ratio. */
        assert_true(f.motored[i] < fields(i, 0)[CYCLE_FIRED] - 0.5);
        assert_true(f.motored[i] > log(14e5) && f.motored[i] < log(30e5));
    }
    assert_true(f.cycles >= NODES * (PHASINGS + 1));
}

/* Fewer nodes than waves, down to one: the same numbers, for what is foretold only saves time. */
static void any_number_of_nodes(void **state)
{
    (void)state;
    static struct filled all;
    for (size_t count = 1; count <= 5; count++) {
        assert_int_equal(fill(count, 0.9e5, 30.0, NULL), SHV_OK);
        if (count == 1) {
            all = f;
        }
        for (size_t c = 0; c < PHASINGS; c++) {
            for (size_t k = 0; k < SHV_CYCLE_FIELDS; k++) {
                assert_relative(fields(0, c)[k], all.volume[0][(c + 1) * SHV_CYCLE_FIELDS + k],
                                1e-8);
            }
        }
        for (size_t i = 0; i < count; i++) {
            struct shv_cycle_result r = direct(i, phasing_at(4));
            assert_relative(fields(i, 4)[CYCLE_EFFICIENCY], r.gross_efficiency, 1e-9);
        }
    }
}

/* So late that compression is the peak: combustion's is carried on by the parabola through the
 * three before it, and that of compression is the motored one. */
static void late_phasings_are_carried_on(void **state)
{
    (void)state;
    size_t carried = 0, fired = 0;
    assert_int_equal(fill(3, 0.8e5, 75.0, NULL), SHV_OK);
    for (size_t i = 0; i < 3; i++) {
        for (size_t c = 0; c < PHASINGS; c++) {
            double peak = log(direct(i, phasing_at(c)).peak_pressure);
            double v = fields(i, c)[CYCLE_FIRED];
            if (fabs(peak - f.motored[i]) > 4e-3) {
                fired++;
                assert_within(v, peak, 1e-9);
                continue;
            }
            carried++;
            assert_true(c >= 3);
            double expected = 3.0 * fields(i, c - 1)[CYCLE_FIRED] -
                              3.0 * fields(i, c - 2)[CYCLE_FIRED] + fields(i, c - 3)[CYCLE_FIRED];
            assert_within(v, expected, 1e-12);
            assert_true(v < f.motored[i]);
        }
    }
    assert_true(carried >= 3 && fired >= 9);
}

/* Two phasings that fire above compression, 8 and 36.5 deg: a straight line through them, then the
 * parabola. */
static void carried_on_from_the_second(void **state)
{
    (void)state;
    assert_int_equal(fill_of(4, 1, 0.8e5, 93.5, NULL), SHV_OK);
    for (size_t c = 0; c < 4; c++) {
        double above = log(direct(0, phasing_at(c)).peak_pressure) - f.motored[0];
        assert_true(c < 2 ? above > 0.01 : fabs(above) < 3e-3);
    }
    double v[4];
    for (size_t c = 0; c < 4; c++) {
        v[c] = fields(0, c)[CYCLE_FIRED];
    }
    assert_within(v[2], 2.0 * v[1] - v[0], 1e-12);
    assert_within(v[3], 3.0 * v[2] - 3.0 * v[1] + v[0], 1e-12);
}

/* Next to no air in a hot exhaust at 10 bar: no residual gas fits, so nothing is said. */
static void without_an_answer_nothing_is_said(void **state)
{
    (void)state;
    struct shv_cycle_table_options options;
    struct cycle_node_place place[3];
    small_table(&f.spec, &options);
    assert_int_equal(fill(3, 1e5, 30.0, NULL), SHV_OK);
    for (size_t i = 0; i < 3; i++) {
        if (i == 1) {
            f.at[i].air_mass = 2e-6;
            f.at[i].exhaust_pressure = 1e6;
        }
        place[i] = (struct cycle_node_place){f.at[i], &f.motored[i], f.volume[i]};
    }
    assert_int_equal(direct(1, phasing_at(0)).outcome, SHV_CYCLE_NO_ANSWER);
    assert_int_equal(cycle_nodes_fill(&f.spec, &f.ca50, place, 3, &f.cycles, NULL), SHV_OK);
    for (size_t c = 0; c < PHASINGS; c++) {
        for (size_t k = 0; k < SHV_CYCLE_FIELDS; k++) {
            assert_true(isnan(fields(1, c)[k]) && isfinite(fields(0, c)[k]) &&
                        isfinite(fields(2, c)[k]));
        }
    }
    assert_true(isnan(f.motored[1]) && isfinite(f.motored[0]) && isfinite(f.motored[2]));
}

static void bad_inputs_are_told(void **state)
{
    (void)state;
    struct shv_message message = {{0}};
    struct cycle c;
    assert_int_equal(fill(2, 1e5, 30.0, NULL), SHV_OK);
    struct cycle_node_place place[2] = {{f.at[0], &f.motored[0], f.volume[0]},
                                        {f.at[1], &f.motored[1], f.volume[1]}};
    place[1].at.lambda = 7.0;
    assert_int_equal(cycle_nodes_fill(&f.spec, &f.ca50, place, 2, &f.cycles, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "lambda is 7"));
    assert_int_equal(cycle_check_at(&f.spec, &f.at[0], &c, &message), SHV_OK);
    f.spec.knock.limit_ca50 = 140.0; /* beyond the opening of the exhaust */
    message.text[0] = '\0';
    assert_int_equal(cycle_check_at(&f.spec, &f.at[0], &c, &message), SHV_BAD_INPUT);
    assert_true(message.text[0] != '\0');
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_node_is_the_direct_cycle),
        cmocka_unit_test(any_number_of_nodes),
        cmocka_unit_test(late_phasings_are_carried_on),
        cmocka_unit_test(carried_on_from_the_second),
        cmocka_unit_test(without_an_answer_nothing_is_said),
        cmocka_unit_test(bad_inputs_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
