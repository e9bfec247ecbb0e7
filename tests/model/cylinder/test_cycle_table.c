/* Cycle tables: errors against the direct cycle, shape of the interpolation, refusals. */
#include "model/cylinder/cycle_table_internal.h"
#include "model/cylinder/cycle_lookup.h"
#include "sheave/cycle_table.h"
#include "support/cycle_table_fixture.h"

static struct shv_cycle_table built(const struct shv_cycle_table_spec *spec,
                                    const struct shv_cycle_table_options *options)
{
    struct shv_cycle_table t;
    struct shv_message message = {{0}};
    if (shv_cycle_table_build(&t, spec, options, NULL, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return t;
}

/* The small table, which most tests only read. */
static struct shared {
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    struct shv_cycle_table table;
} shared;

static int build_shared(void **state)
{
    (void)state;
    small_table(&shared.spec, &shared.options);
    shared.table = built(&shared.spec, &shared.options);
    return 0;
}

static int free_shared(void **state)
{
    (void)state;
    shv_cycle_table_free(&shared.table);
    return 0;
}

/* Warmer at more pressure, so that one line over pressures goes from no knock to too much. */
static double warmed(double pm)
{
    return 300.0 + 100.0 * (pm - 0.7e5) / 1.3e5;
}

static struct shv_cycle_result direct(const struct shv_cycle_table_spec *spec, size_t speed,
                                      double pm, double tm)
{
    struct cycle_case u = {spec->engine, spec->fuel, spec->knock,
                           shv_cycle_table_case(spec, speed, pm, tm), NAN};
    return limit_case(&u);
}

/* ---- against the direct cycle ---- */

static void assert_close(const struct shv_cycle_table *t, const struct shv_cycle_table_spec *spec,
                         int points)
{
    uint64_t state = 88172645463325252u;
    int limited = 0, free_of_knock = 0;
    for (int i = 0; i < points; i++) {
        size_t speed = (size_t)i % t->speed_count;
        double pm = spec->pressure_least +
                    next_share(&state) * (spec->pressure_most - spec->pressure_least);
        double tm = spec->temperature_least +
                    next_share(&state) * (spec->temperature_most - spec->temperature_least);
        struct shv_cycle_value v = cycle_lookup(t, speed, pm, tm, 0.0);
        struct shv_cycle_result r = direct(spec, speed, pm, tm);
        assert_relative(v.gross_efficiency, r.gross_efficiency, 1e-3);
        assert_within(v.ca50, r.ca50, 0.3);
        assert_relative(v.peak_pressure, r.peak_pressure, 5e-3);
        assert_within(v.exhaust_temperature, r.exhaust_temperature, 3.0);
        assert_relative(v.knock_integral, r.knock_integral, 1e-2);
        if (fabs(v.wanted_ca50 - spec->knock.limit_ca50) > 0.3) {
            assert_int_equal(v.outcome == SHV_CYCLE_TABLE_KNOCK_LIMITED,
                             r.outcome == SHV_CYCLE_KNOCK_LIMITED);
        }
        limited += r.outcome == SHV_CYCLE_KNOCK_LIMITED;
        free_of_knock += r.ca50 <= spec->knock.best_ca50;
    }
    /* Else the clamps were not looked at. */
    assert_true(limited > points / 50 && free_of_knock > points / 50);
}

static void close_at_points_that_did_not_refine_it(void **state)
{
    (void)state;
    const struct shv_cycle_table t = shared.table;
    const struct shv_cycle_table_spec spec = shared.spec;
    assert_close(&t, &spec, 600);
    assert_true(t.quality.compared == 200 && t.quality.silent == 0 && t.quality.answerless == 0);
    assert_true(t.quality.cycles > 10000);
}

/* Another fuel, back pressure that grows with flow, humid air, another engine. */
static void close_for_another_case(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    small_table(&spec, &options);
    spec.exhaust_loss = 2.0 * 101325.0 * 0.4e5 / (0.1 * 0.1);
    spec.at.humidity_ratio = 0.015;
    spec.at.lambda = 0.82;
    spec.engine.compression_ratio = 11.5;
    spec.fuel.ron = 98.0;
    struct shv_cycle_table t = built(&spec, &options);
    assert_close(&t, &spec, 300);
    shv_cycle_table_free(&t);
}

static void measures_at_points_of_another_seed(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    small_table(&spec, &options);
    struct shv_cycle_table t = built(&spec, &options);
    struct shv_cycle_table_quality same, other;
    assert_int_equal(cycle_measure(&t, &spec, 120, 5, CYCLE_ANYWHERE, NULL, &same, NULL), SHV_OK);
    assert_int_equal(cycle_measure(&t, &spec, 120, 6, CYCLE_ANYWHERE, NULL, &other, NULL), SHV_OK);
    assert_int_equal(same.compared, 120);
    assert_true(same.random.efficiency != other.random.efficiency);
    assert_true(other.random.efficiency > 0.0 && other.random.efficiency < 1e-3);
    /* A table that is off is seen to be off. */
    for (size_t i = 0; i < volume_count(&t); i += SHV_CYCLE_FIELDS) {
        t.volumes[i] *= 1.02;
    }
    assert_int_equal(cycle_measure(&t, &spec, 120, 5, CYCLE_ANYWHERE, NULL, &other, NULL), SHV_OK);
    assert_within(other.random.efficiency, 0.02, 1e-3);
    assert_true(other.random.ca50 == same.random.ca50);
    shv_cycle_table_free(&t);
}

/* ---- refining ---- */

static void refines_from_a_coarse_grid(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    small_table(&spec, &options);
    options.samples = 300;
    options.efficiency = 1e-5;
    options.ca50 = 1e-2;
    options.peak_pressure = 1e-2;
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        options.first_nodes[d] = 4;
    }
    struct shv_cycle_table t = built(&spec, &options);
    assert_true(t.quality.rounds > 2);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        assert_true(t.axis[d].nodes > 4 && t.axis[d].nodes <= options.most_nodes[d]);
    }
    assert_less(t.quality.random.efficiency, options.efficiency);
    assert_less(t.quality.random.ca50, options.ca50);
    assert_less(t.quality.random.peak_pressure, options.peak_pressure);
    assert_close(&t, &spec, 200);
    shv_cycle_table_free(&t);
}

static void says_when_the_largest_grid_is_too_coarse(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    struct shv_message message = {{0}};
    struct shv_cycle_table t;
    small_table(&spec, &options);
    options.efficiency = 1e-5;
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        options.first_nodes[d] = 4;
        options.most_nodes[d] = 5;
    }
    assert_int_equal(shv_cycle_table_build(&t, &spec, &options, NULL, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "of at most 5 x 5 x 5, it is off by"));
    assert_empty_table(&t);
}

/* The default's density over any range. */
static void nodes_follow_the_ranges(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options, usual;
    shv_cycle_table_defaults(&spec, &options);
    usual = options;
    shv_cycle_table_nodes(&spec, &options);
    assert_memory_equal(&options, &usual, sizeof options);
    spec.pressure_least = 0.8e5;
    spec.pressure_most = 0.8e5 * sqrt(10.0);
    spec.temperature_least = 300.0;
    spec.temperature_most = 350.0;
    shv_cycle_table_nodes(&spec, &options);
    const size_t first[] = {6, 4, 12}, most[] = {25, 9, 41};
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        assert_int_equal(options.first_nodes[d], first[d]);
        assert_int_equal(options.most_nodes[d], most[d]);
    }
    spec.pressure_most = 0.8001e5;
    spec.temperature_most = NAN;
    shv_cycle_table_nodes(&spec, &options);
    assert_true(options.first_nodes[0] == 4 && options.first_nodes[1] == 4);
    assert_true(options.most_nodes[0] == 4 && options.most_nodes[1] == 4);
    spec.pressure_most = INFINITY;
    shv_cycle_table_nodes(&spec, &options);
    assert_int_equal(options.first_nodes[0], SHV_CYCLE_TABLE_NODES_MOST);
}

/* ---- shape ---- */

/* At nodes of pressure and temperature only the spline over phasing is between; at the limit, which
 * is a node of phasing as well, nothing is. */
static void exact_at_nodes(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    small_table(&spec, &options);
    spec.knock.limit_ca50 = 30.0;
    struct shv_cycle_table t = built(&spec, &options);
    int at_limit = 0, between = 0;
    for (size_t i = 0; i < t.axis[0].nodes; i++) {
        for (size_t k = 0; k < t.axis[1].nodes; k++) {
            double pm = exp(t.axis[0].origin + (double)i / t.axis[0].per_unit);
            double tm = t.axis[1].origin + (double)k / t.axis[1].per_unit;
            pm = fmin(fmax(pm, spec.pressure_least), spec.pressure_most);
            struct shv_cycle_value v = cycle_lookup(&t, 0, pm, tm, 0.0);
            struct shv_cycle_result r = direct(&spec, 0, pm, tm);
            double near = v.ca50 == 30.0 ? 1e-9 : 1e-4;
            assert_relative(v.gross_efficiency, r.gross_efficiency, near);
            assert_relative(v.exhaust_temperature, r.exhaust_temperature, near);
            assert_relative(v.knock_integral, r.knock_integral, 10.0 * near);
            assert_within(v.ca50, r.ca50, 0.01);
            at_limit += v.ca50 == 30.0;
            between += v.ca50 > 8.0 && v.ca50 < 30.0;
        }
    }
    assert_true(at_limit > 5 && between > 20);
    shv_cycle_table_free(&t);
}

/* Along rising pressure: no knock, then later and later, then the limit. */
static void clamped_at_onset_and_at_the_limit(void **state)
{
    (void)state;
    const struct shv_cycle_table t = shared.table;
    int seen[3] = {0}, part = 0;
    struct shv_cycle_value last = {0};
    for (int i = 0; i < 2600; i++) {
        size_t speed = i < 1300 ? 1 : 0; /* the lower one knocks more */
        double pm = 0.7e5 + 100.0 * (i % 1300);
        struct shv_cycle_value v = cycle_lookup(&t, speed, pm, warmed(pm), 0.0);
        part = i % 1300 ? part : 0;
        last = i % 1300 ? last : v;
        int now = v.wanted_ca50 <= 8.0 ? 0 : v.wanted_ca50 <= 40.0 ? 1 : 2;
        assert_true(now >= part);
        part = now;
        seen[now]++;
        assert_true(v.ca50 == fmin(v.wanted_ca50, 40.0));
        assert_within(v.wanted_ca50, last.wanted_ca50, 0.2);
        assert_int_equal(v.outcome,
                         now == 2 ? SHV_CYCLE_TABLE_KNOCK_LIMITED : SHV_CYCLE_TABLE_DONE);
        /* Kinks are allowed, jumps are not. */
        assert_within(v.gross_efficiency, last.gross_efficiency, 4e-4);
        assert_within(v.ca50, last.ca50, 0.2);
        assert_relative(v.peak_pressure, last.peak_pressure, 4e-3);
        if (now == 1) {
            assert_relative(v.knock_integral, 0.75, 5e-3);
        }
        last = v;
    }
    assert_true(seen[0] > 10 && seen[1] > 100 && seen[2] > 10);
}

/* Later ignition: the phasing moves by so much, but not before best nor after the limit. */
static void retard_moves_the_phasing(void **state)
{
    (void)state;
    const struct shv_cycle_table *t = &shared.table;
    const double retards[] = {0.0, 0.5, 3.0, 7.0};
    int seen[3] = {0};
    for (double pm = 0.7e5; pm <= 2e5; pm += 500.0) {
        double knocks = cycle_lookup(t, 1, pm, warmed(pm), 7.5).wanted_ca50 - 7.5;
        for (size_t i = 0; i < COUNT(retards); i++) {
            double retard = retards[i], wanted = fmax(knocks + retard, 8.0);
            struct shv_cycle_value v = cycle_lookup(t, 1, pm, warmed(pm), retard);
            assert_within(v.wanted_ca50, wanted, 1e-9);
            assert_true(v.ca50 == fmin(v.wanted_ca50, 40.0));
            assert_int_equal(v.outcome,
                             wanted > 40.0 ? SHV_CYCLE_TABLE_KNOCK_LIMITED : SHV_CYCLE_TABLE_DONE);
            seen[wanted <= 8.0 ? 0 : wanted > 40.0 ? 2 : 1]++;
            struct cycle_case u = {shared.spec.engine, shared.spec.fuel, shared.spec.knock,
                                   shv_cycle_table_case(&shared.spec, 1, pm, warmed(pm)), NAN};
            if (i != 2 || fmod(pm, 10e3) > 1.0) {
                continue;
            }
            u.at.ca50 = v.ca50;
            struct shv_cycle_result r = run_case(&u);
            assert_relative(v.gross_efficiency, r.gross_efficiency, 5e-4);
            assert_relative(v.peak_pressure, r.peak_pressure, 2e-3);
            assert_relative(v.knock_integral, r.knock_integral, 5e-3);
        }
    }
    assert_true(seen[0] > 10 && seen[1] > 100 && seen[2] > 10);
}

/* ---- back pressure ---- */

/* The rule holds for the flow that follows from the pressure itself. */
static void exhaust_pressure_agrees_with_its_flow(void **state)
{
    (void)state;
    struct shv_cycle_table_spec s = shared.spec;
    s.exhaust_loss = 4e12;
    s.exhaust_temperature = 1100.0;
    s.exhaust_charge = 290.0;
    struct shv_breathing odd[2] = {small_breathing[0], small_breathing[1]};
    s.breathing = odd;
    for (int i = 0; i < 200; i++) {
        size_t speed = (size_t)i % 2;
        double pm = 0.3e5 + 1.5e3 * i, tm = 250.0 + i;
        odd[1].b = i % 3 ? 0.05 * i : 0.0;
        double pe = shv_cycle_table_exhaust(&s, speed, pm, tm);
        double m =
            odd[speed].capacity * (odd[speed].a * pm - odd[speed].b * pe) / (0.7 * tm + 120.0);
        double k = 4e12 * (1.0 + (tm - 290.0) / 1100.0), drawn = fmax(m, 0.0);
        assert_relative(pe * pe, 101325.0 * 101325.0 + k * drawn * drawn, 1e-11);
    }
    odd[1].b = 100.0; /* nothing gets in */
    assert_true(shv_cycle_table_exhaust(&s, 1, 1e5, 300.0) == 101325.0);
    s.exhaust_loss = 0.0;
    assert_true(shv_cycle_table_exhaust(&s, 1, 1e5, 300.0) == 101325.0);
}

/* ---- outcomes ---- */

static void assert_nothing(struct shv_cycle_value v, enum shv_cycle_table_outcome outcome)
{
    assert_int_equal(v.outcome, outcome);
    assert_true(isnan(v.gross_efficiency) && isnan(v.ca50) && isnan(v.wanted_ca50) &&
                isnan(v.peak_pressure) && isnan(v.exhaust_temperature) && isnan(v.knock_integral));
}

static void out_of_range_is_an_outcome(void **state)
{
    (void)state;
    const struct shv_cycle_table t = shared.table;
    const struct shv_cycle_table_spec spec = shared.spec;
    const double bad[][2] = {{0.69999e5, 350.0}, {2.00001e5, 350.0}, {1e5, 299.99},
                             {1e5, 400.01},      {NAN, 350.0},       {1e5, NAN},
                             {INFINITY, 350.0},  {1e5, -INFINITY},   {-1e5, 350.0},
                             {0.0, 350.0},       {1e300, 1e300}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_nothing(cycle_lookup(&t, 0, bad[i][0], bad[i][1], 0.0),
                       SHV_CYCLE_TABLE_OUT_OF_RANGE);
    }
    assert_nothing(cycle_lookup(&t, 2, 1e5, 350.0, 0.0), SHV_CYCLE_TABLE_OUT_OF_RANGE);
    assert_nothing(cycle_lookup(&t, 0, 1e5, 350.0, -0.1), SHV_CYCLE_TABLE_OUT_OF_RANGE);
    assert_nothing(cycle_lookup(&t, 0, 1e5, 350.0, NAN), SHV_CYCLE_TABLE_OUT_OF_RANGE);
    const double edge[][2] = {{0.7e5, 300.0}, {0.7e5, 400.0}, {2e5, 300.0}, {2e5, 400.0}};
    for (size_t i = 0; i < COUNT(edge); i++) {
        struct shv_cycle_value v = cycle_lookup(&t, 1, edge[i][0], edge[i][1], 0.0);
        struct shv_cycle_result r = direct(&spec, 1, edge[i][0], edge[i][1]);
        assert_relative(v.gross_efficiency, r.gross_efficiency, 1e-3);
        assert_within(v.ca50, r.ca50, 0.01);
    }
}

/* At low pressure the residual gas of an engine with little compression is more than half. */
static void no_answer_is_an_outcome(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    struct shv_message message = {{0}};
    small_table(&spec, &options);
    spec.engine.compression_ratio = 4.0;
    spec.pressure_least = 0.1e5;
    options.efficiency = options.ca50 = options.peak_pressure = 1e3;
    struct shv_cycle_table t = built(&spec, &options);
    assert_true(t.quality.answerless > 0 && t.quality.compared > 0);
    assert_int_equal(t.quality.answerless + t.quality.compared + t.quality.silent, 200);
    int none = 0;
    for (double pm = 0.1e5; pm < 1e5; pm += 0.02e5) {
        struct shv_cycle_value v = cycle_lookup(&t, 0, pm, 350.0, 0.0);
        if (direct(&spec, 0, pm, 350.0).outcome == SHV_CYCLE_NO_ANSWER) {
            assert_nothing(v, SHV_CYCLE_TABLE_NO_ANSWER);
            none++;
        }
    }
    assert_true(none > 2);
    assert_int_equal(cycle_lookup(&t, 0, 1.9e5, 350.0, 0.0).outcome, SHV_CYCLE_TABLE_DONE);
    shv_cycle_table_free(&t);

    spec.pressure_most = 0.12e5;
    assert_int_equal(shv_cycle_table_build(&t, &spec, &options, NULL, &message), SHV_NOTHING);
    assert_non_null(strstr(message.text, "no answer"));
    assert_empty_table(&t);
}

/* ---- refusals ---- */

static void assert_refused(const struct shv_cycle_table_spec *spec,
                           const struct shv_cycle_table_options *options, const char *text)
{
    struct shv_message message = {{0}};
    struct shv_cycle_table t;
    assert_int_equal(shv_cycle_table_build(&t, spec, options, NULL, &message), SHV_BAD_INPUT);
    if (!strstr(message.text, text)) {
        fail_msg("\"%s\" does not say \"%s\"", message.text, text);
    }
    assert_empty_table(&t);
}

static void refuses_bad_inputs(void **state)
{
    (void)state;
    struct shv_cycle_table_spec good, s;
    struct shv_cycle_table_options fair, o;
    small_table(&good, &fair);
    s = good, s.speed_count = 0;
    assert_refused(&s, &fair, "0 speeds");
    s = good, s.pressure_least = 0.9e4;
    assert_refused(&s, &fair, "pressures from 9000 ");
    s = good, s.temperature_most = NAN;
    assert_refused(&s, &fair, "temperatures from 300 to nan");
    s = good, s.temperature_most = 300.0;
    assert_refused(&s, &fair, "temperatures from 300 to 300");
    s = good, s.knock.limit_ca50 = 8.5;
    assert_refused(&s, &fair, "at least 1 deg after");
    s = good, s.engine.bore = -1.0;
    assert_refused(&s, &fair, "engine.bore is -1");
    s = good, s.breathing = NULL;
    assert_refused(&s, &fair, "exhaust_loss is 0 without breathing");
    s = good, s.exhaust_loss = -1.0;
    assert_refused(&s, &fair, "exhaust_loss is -1;");
    s.exhaust_loss = 1e17;
    assert_refused(&s, &fair, "at.exhaust_pressure");
    s.exhaust_temperature = 0.0;
    assert_refused(&s, &fair, "exhaust_temperature 0");
    struct shv_breathing odd[2] = {small_breathing[0], small_breathing[1]};
    s = good, s.breathing = odd;
    odd[1].added = -300.0;
    assert_refused(&s, &fair, "breathing 1 is ");
    odd[1] = small_breathing[1], odd[1].b = NAN;
    assert_refused(&s, &fair, ", 1.05, nan, ");
    odd[1] = small_breathing[1], odd[1].cycle_time = 0.0;
    assert_refused(&s, &fair, ", 0 s, ");
    o = fair, o.efficiency = 0.0;
    assert_refused(&good, &o, "above 0");
    o = fair, o.samples = 0;
    assert_refused(&good, &o, "0 samples");
    o = fair, o.first_nodes[1] = 3;
    assert_refused(&good, &o, "nodes from 3 to 33");
    o = fair, o.most_nodes[2] = 258;
    assert_refused(&good, &o, "to 258; accepted: 4..257");
    o = fair;
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        o.first_nodes[d] = o.most_nodes[d] = 257;
    }
    assert_refused(&good, &o, "at most 256 MB");
}

static void backwards(void *self, size_t count, void (*item)(void *data, size_t index), void *data)
{
    *(size_t *)self += count;
    while (count > 0) {
        item(data, --count);
    }
}

static void order_of_work_does_not_matter(void **state)
{
    (void)state;
    size_t items = 0;
    struct shv_cycle_runner runner = {backwards, &items};
    struct shv_cycle_table b;
    assert_int_equal(shv_cycle_table_build(&b, &shared.spec, &shared.options, &runner, NULL),
                     SHV_OK);
    assert_true(items > 30);
    assert_same_tables(&shared.table, &b);
    shv_cycle_table_free(&b);
    shv_cycle_table_free(&b);
    assert_empty_table(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(close_at_points_that_did_not_refine_it),
        cmocka_unit_test(close_for_another_case),
        cmocka_unit_test(measures_at_points_of_another_seed),
        cmocka_unit_test(refines_from_a_coarse_grid),
        cmocka_unit_test(says_when_the_largest_grid_is_too_coarse),
        cmocka_unit_test(nodes_follow_the_ranges),
        cmocka_unit_test(exact_at_nodes),
        cmocka_unit_test(clamped_at_onset_and_at_the_limit),
        cmocka_unit_test(retard_moves_the_phasing),
        cmocka_unit_test(exhaust_pressure_agrees_with_its_flow),
        cmocka_unit_test(out_of_range_is_an_outcome),
        cmocka_unit_test(no_answer_is_an_outcome),
        cmocka_unit_test(refuses_bad_inputs),
        cmocka_unit_test(order_of_work_does_not_matter),
    };
    return cmocka_run_group_tests(tests, build_shared, free_shared);
}
