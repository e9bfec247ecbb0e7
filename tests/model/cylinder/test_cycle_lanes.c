/* Cycles side by side: the same bits as one by one, for every instruction set. */
#include "model/cylinder/cycle_lanes.h"
#include "support/cycle_fixture.h"
#include "support/cycle_table_fixture.h"

static size_t versions(const struct cycle_lane_loops *loops[3])
{
    size_t count = 0;
    loops[count++] = &cycle_lanes_baseline;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) {
        loops[count++] = &cycle_lanes_avx2;
    }
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) {
        loops[count++] = &cycle_lanes_avx512;
    }
#endif
    return count;
}

static double between(uint64_t *state, double least, double most)
{
    return least + next_share(state) * (most - least);
}

/* Any engine, also with burning that the exhaust ends, with all kinds of gas and residual. */
static struct cycle_case random_case(uint64_t *state, int number)
{
    struct cycle_case u = usual_case();
    u.engine.compression_ratio = between(state, 3.0, 14.0);
    u.engine.inlet_closing = between(state, -180.0, -100.0);
    u.engine.exhaust_opening = between(state, 120.0, 180.0);
    u.engine.heat_factor = number % 5 ? between(state, 0.2, 2.0) : 0.0;
    u.engine.burn_duration = between(state, 20.0, number % 3 ? 70.0 : 140.0);
    u.engine.wiebe_m = between(state, 1.0, 4.0);
    u.at.speed = between(state, 10.0, 150.0);
    u.at.burn_reference = number % 2 ? between(state, 0.6, 3.0) : 0.0;
    u.at.delay_factor = between(state, 0.5, 2.0);
    u.fuel.mon = u.fuel.ron - between(state, 0.0, 15.0);
    u.at.lambda = between(state, 0.7, 1.4);
    u.at.step = number % 4 ? 4.0 : between(state, 1.0, 9.0);
    u.at.residual_share = number % 6 ? -1.0 : between(state, 0.0, 0.2);
    u.at.gas = number % 7 ? SHV_CYCLE_MIXTURE : SHV_CYCLE_AIR;
    return u;
}

/* Lanes that have little to do with each other; some have no answer. */
static struct cycle_lane_in random_lanes(uint64_t *state, const struct cycle *c)
{
    struct cycle_lane_in in;
    for (size_t i = 0; i < CYCLE_LANES; i++) {
        in.fresh_mass[i] = between(state, 0.3e-4, 1.5e-3);
        in.exhaust_pressure[i] = between(state, 0.9e5, 1.8e5);
        in.charge_temperature[i] = between(state, 230.0, 500.0);
        in.fresh_enthalpy[i] = cycle_fresh_enthalpy(c, in.charge_temperature[i]);
        in.efficiency[i] = i % 4 ? c->efficiency : 1e-12;
        in.ca50[i] = between(state, -5.0, 45.0);
        in.residual[i] = between(state, 500.0, 1900.0);
    }
    return in;
}

static struct shv_cycle_result run_one(const struct cycle *c, const struct cycle_lane_in *in,
                                       size_t i)
{
    struct shv_cycle_case at = *c->in.at;
    struct cycle own = *c;
    at.exhaust_pressure = in->exhaust_pressure[i];
    at.charge_temperature = in->charge_temperature[i];
    at.residual_temperature = in->residual[i];
    own.in.at = &at;
    own.fresh_mass = in->fresh_mass[i];
    own.efficiency = in->efficiency[i];
    own.fresh_enthalpy = in->fresh_enthalpy[i];
    return cycle_solve(&own, in->ca50[i], in->residual[i]);
}

static void assert_bits(double lane, double alone, const char *name, const char *what)
{
    if (memcmp(&lane, &alone, sizeof lane) != 0) {
        fail_msg("%s: %s is %a, alone %a", name, what, lane, alone);
    }
}

static void assert_same(const struct cycle_lane_loops *loops, const struct cycle *c,
                        const struct cycle_lane_in *in, int *answered, int *answerless)
{
    struct cycle_lane_out out;
    loops->run(c, in, &out);
    for (size_t i = 0; i < CYCLE_LANES; i++) {
        struct shv_cycle_result r = run_one(c, in, i);
        bool valid = r.outcome != SHV_CYCLE_NO_ANSWER;
        assert_true(out.valid[i] == (valid ? 1.0 : 0.0));
        if (!valid) {
            ++*answerless;
            continue;
        }
        ++*answered;
        assert_bits(out.gross_efficiency[i], r.gross_efficiency, loops->name, "efficiency");
        assert_bits(out.peak_pressure[i], r.peak_pressure, loops->name, "peak pressure");
        assert_bits(out.peak_angle[i], r.peak_angle, loops->name, "peak angle");
        assert_bits(out.exhaust_temperature[i], r.exhaust_temperature, loops->name, "exhaust");
        assert_bits(out.knock_integral[i], r.knock_integral, loops->name, "integral");
    }
}

static void same_bits_as_one_by_one(void **state)
{
    (void)state;
    uint64_t s = 88172645463325252u;
    const struct cycle_lane_loops *loops[3];
    size_t count = versions(loops);
    int answered = 0, answerless = 0;
    for (int i = 0; i < 60; i++) {
        struct cycle_case u = random_case(&s, i);
        struct cycle_inputs inputs = {&u.engine, &u.fuel, &u.knock, &u.at};
        struct cycle c;
        assert_int_equal(cycle_check(&inputs, NULL), SHV_OK);
        cycle_prepare(&c, &inputs);
        struct cycle_lane_in in = random_lanes(&s, &c);
        for (size_t v = 0; v < count; v++) {
            assert_same(loops[v], &c, &in, &answered, &answerless);
        }
    }
    assert_true(answered > 1000 && answerless > 20);
}

/* The one cycle with a table's answer put in; shv_cycle_run() gives the same numbers. */
static void a_given_residual_temperature_is_that_of_the_cycle(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.at.residual_temperature = 1234.5;
    u.pressure = NAN;
    struct cycle_inputs inputs = {&u.engine, &u.fuel, &u.knock, &u.at};
    struct cycle c;
    cycle_prepare(&c, &inputs);
    struct cycle_task tasks[40];
    for (size_t i = 0; i < COUNT(tasks); i++) {
        tasks[i] = cycle_task_at(&c, &u.at, 5.0 + (double)i);
    }
    cycle_solve_tasks(&c, tasks, COUNT(tasks));
    for (size_t i = 0; i < COUNT(tasks); i++) {
        u.at.ca50 = 5.0 + (double)i;
        struct shv_cycle_result r = run_case(&u);
        assert_true(tasks[i].answered && tasks[i].cycles == 1);
        assert_bits(tasks[i].gross_efficiency, r.gross_efficiency, "task", "efficiency");
        assert_bits(tasks[i].peak_pressure, r.peak_pressure, "task", "peak pressure");
        assert_bits(tasks[i].exhaust_temperature, r.exhaust_temperature, "task", "exhaust");
        assert_bits(tasks[i].knock_integral, r.knock_integral, "task", "integral");
    }
}

/* Iterated from any start, and with burning that goes on when the exhaust opens. */
static void residual_temperatures_are_those_of_the_cycle(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    for (int late = 0; late < 2; late++) {
        u.engine.burn_duration = late ? 140.0 : 60.0;
        struct cycle_inputs inputs = {&u.engine, &u.fuel, &u.knock, &u.at};
        struct cycle c;
        cycle_prepare(&c, &inputs);
        struct cycle_task tasks[50];
        for (size_t i = 0; i < COUNT(tasks); i++) {
            u.pressure = 0.5e5 + 4e3 * (double)i;
            struct shv_cycle_case at = drawn_case(&u);
            tasks[i] = cycle_task_at(&c, &at, 5.0 + (double)i);
            tasks[i].residual = 400.0 + 40.0 * (double)i;
        }
        cycle_solve_tasks(&c, tasks, COUNT(tasks));
        for (size_t i = 0; i < COUNT(tasks); i++) {
            u.pressure = 0.5e5 + 4e3 * (double)i;
            u.at.ca50 = 5.0 + (double)i;
            struct shv_cycle_result r = run_case(&u);
            assert_true(tasks[i].answered && tasks[i].cycles < 8);
            assert_within(tasks[i].residual, r.residual_temperature, 2e-5);
            assert_relative(tasks[i].gross_efficiency, r.gross_efficiency, 1e-9);
            assert_relative(tasks[i].exhaust_temperature, r.exhaust_temperature, 1e-9);
            assert_relative(tasks[i].knock_integral, r.knock_integral, 1e-8);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_bits_as_one_by_one),
        cmocka_unit_test(a_given_residual_temperature_is_that_of_the_cycle),
        cmocka_unit_test(residual_temperatures_are_those_of_the_cycle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
