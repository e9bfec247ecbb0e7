/* Root finding on known functions, and the scalar solutions of the match by putting them back into
 * the path. */
#include "support/random_study.h"

#include "model/kit/model_internal.h"

/* ---- bracket_root ---- */

struct curve {
    double (*of)(double x);
    int calls;
};

static double call(void *data, double x)
{
    struct curve *c = data;
    c->calls++;
    return c->of(x);
}

static double square_less_two(double x)
{
    return x * x - 2.0;
}

static double falling(double x)
{
    return exp(-x) - 0.01;
}

/* Flat, then steep: plain regula falsi creeps here. */
static double bent(double x)
{
    return pow(x, 15.0) - 1e-3;
}

static double grows(double x)
{
    return exp(x) - 2.0;
}

static double shrinks(double x)
{
    return exp(-x) - 2.0;
}

static double step(double x)
{
    return x < 0.7 ? -1.0 : 1.0;
}

static double line(double x)
{
    return x - 3.0;
}

static void assert_root(double (*of)(double), double low, double high, double root, double within)
{
    struct curve c = {of, 0};
    assert_within(bracket_root(call, &c, low, high), root, within);
    assert_true(c.calls < 120);
}

static int calls_of(double (*of)(double), double low, double high)
{
    struct curve c = {of, 0};
    (void)bracket_root(call, &c, low, high);
    return c.calls;
}

/* An end that stays counts half the next time (Illinois): without that these take 29 and 35 calls.
 */
static void an_end_that_stays_gives_way(void **state)
{
    (void)state;
    assert_true(calls_of(square_less_two, 0.0, 5.0) <= 20);
    assert_true(calls_of(grows, -5.0, 10.0) <= 25);
    assert_true(calls_of(shrinks, -10.0, 5.0) <= 25); /* the other end */
}

static void roots_of_known_functions(void **state)
{
    (void)state;
    assert_root(square_less_two, 0.0, 10.0, sqrt(2.0), 1e-15);
    assert_root(falling, -3.0, 50.0, log(100.0), 1e-13);
    assert_root(bent, 0.0, 10.0, pow(10.0, -0.2), 1e-14);
    assert_root(step, 0.0, 1.0, 0.7, 1e-14);
    assert_root(line, 10.0, -10.0, 3.0, 1e-15); /* ends the wrong way round */
}

static void roots_at_the_ends(void **state)
{
    (void)state;
    assert_root(line, 3.0, 10.0, 3.0, 0.0);
    assert_root(line, -10.0, 3.0, 3.0, 0.0);
}

static void no_root_between_the_ends(void **state)
{
    (void)state;
    struct curve c = {line, 0};
    assert_true(isnan(bracket_root(call, &c, 4.0, 10.0)));
    assert_true(isnan(bracket_root(call, &c, -4.0, 2.0)));
    assert_int_equal(c.calls, 4);
}

/* ---- the match ---- */

struct match_case {
    struct made made;
    struct shv_model *model;
    struct lane_block block;
    struct path_shared s;
    struct path_lane l;
};

static void begin_case(struct match_case *c, struct shv_kit kit, size_t speed)
{
    c->model = made_model(&c->made);
    c->block = (struct lane_block){.count = 1, .blower = kit.blower};
    block_set(&c->block, c->model, 0, kit.ratio, NAN, kit.cooler,
              model_cooler_ntu(c->model, kit.cooler, kit.effectiveness));
    block_begin_site(&c->block, c->model, 0);
    block_match(&c->block, c->model, 0, speed, true);
    model_shared(c->model, kit.blower, kit.fuel, 0, speed, &c->s);
    c->l = block_lane(&c->block, c->model, 0);
}

static void end_case(struct match_case *c)
{
    shv_model_free(c->model);
    made_end(&c->made);
}

/* Flow into the engine less flow of the blower at an outlet pressure, the flow by repeated
 * substitution. */
static double mismatch(const struct match_case *c, const struct path_inlet *in, double flow,
                       double p2, double *blower_flow)
{
    struct path_out o;
    for (int i = 0; i < 200; i++) {
        path_run_wet(&c->s, &c->l, in, flow, flow, flow, p2, c->s.is_map, false, &o);
        flow = 0.5 * (flow + o.blower_flow);
    }
    *blower_flow = flow;
    return o.engine_flow + o.water - flow;
}

static void nested_answer_closes_and_is_the_only_one(void **state)
{
    (void)state;
    static struct match_case c;
    uint64_t seed = 41;
    for (int n = 0; n < 400; n++) {
        random_study(&c.made, &seed);
        begin_case(&c, random_kit(&seed), 1);
        struct match_state m = {0};
        solve_nested(&c.s, &c.l, &m);
        assert_true(m.found && m.p2 > 0.0 && m.blower_flow > 0.0);
        struct path_out o;
        solved_path(&c.s, &c.l, &m, true, &o);
        assert_relative(o.blower_flow, m.blower_flow, 1e-11);
        if (m.p2 > 0.3 * c.s.p0 && o.pm > o.p1) {
            double flow;
            assert_relative(o.engine_flow + o.water, m.drawn, 1e-10);
            assert_true(mismatch(&c, &m.inlet, m.blower_flow, m.p2 * 0.97, &flow) < 0.0);
            assert_true(mismatch(&c, &m.inlet, m.blower_flow, m.p2 * 1.03, &flow) > 0.0);
        }
        end_case(&c);
    }
}

/* A blower that hardly turns: no pressure is low enough for its flow to fill the engine, and the
 * point must say "open bypass", not "no match". */
static void a_blower_that_hardly_turns_opens_the_bypass(void **state)
{
    (void)state;
    static struct match_case c;
    struct shv_curves curves;
    for (int map = 0; map < 2; map++) {
        for (double ratio = 0.02; ratio < 0.6; ratio *= 1.5) {
            made_begin(&c.made);
            if (map) {
                c.made.blowers[0] = made_map("map", 0.8e-3, 320.0, 2.4);
            }
            begin_case(&c, made_kit(0, ratio, 0, 0.0, 0.9), 2);
            assert_int_equal(shv_curves_init(&curves, c.model, NULL), SHV_OK);
            struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.9);
            shv_model_evaluate_plain(c.model, &kit, &curves);
            for (size_t i = 0; i < curves.speeds; i++) {
                assert_int_equal(curves.point[i].outcome, SHV_POINT_OK);
                assert_true(curves.point[i].bypass_open);
            }
            shv_curves_free(&curves);
            end_case(&c);
        }
    }
}

static void open_answer_closes(void **state)
{
    (void)state;
    static struct match_case c;
    uint64_t seed = 42;
    for (int n = 0; n < 400; n++) {
        random_study(&c.made, &seed);
        begin_case(&c, random_kit(&seed), 1);
        struct match_state m = {0};
        solve_open(&c.s, &c.l, &m);
        assert_true(m.found && m.bypass_open);
        /* intake loss, windage heat and breathing, from docs/model.md sections 2, 6 and 7 */
        double flow = m.drawn, p1 = c.s.p0 - c.s.intake_k * flow * flow;
        double tm = open_charge_temperature(&c.s, &c.l, flow);
        double heat = flow * (shv_gas_enthalpy(&c.s.gas, tm) - c.s.h0);
        double pe = exhaust_pressure(&c.s.exhaust, flow, tm);
        const struct model_speed *at = &c.model->speed[1];
        double drawn = at->ve * at->cycle_rate * (at->a * p1 - at->b * pe) / c.s.gas.gas_constant *
                       made_warming(&c.made.study.engine, tm);
        assert_relative(m.p2, p1, 1e-12);
        assert_within(heat, c.s.kept_heat * c.l.windage, 1e-9 * flow * 1e5);
        assert_relative(drawn, flow, 1e-10);
        end_case(&c);
    }
}

/* The manifold holds the set pressure, the blower gives more than the engine takes, and the inlet
 * is mixed. */
static void bleed_answer_closes(void **state)
{
    (void)state;
    static struct match_case c;
    uint64_t seed = 43;
    int solved = 0, wet = 0;
    for (int n = 0; n < 1000; n++) {
        random_study(&c.made, &seed);
        begin_case(&c, random_kit(&seed), 1);
        bool to_inlet = random_chance(&seed, 0.5);
        struct match_state m = {0};
        struct path_out o;
        solve_nested(&c.s, &c.l, &m);
        solved_path(&c.s, &c.l, &m, true, &o);
        if (o.pm > c.s.p0 * 1.02 && o.pm > o.p1) {
            double pm = c.s.p0 + random_in(&seed, 0.1, 0.95) * (o.pm - c.s.p0);
            solve_bleed(&c.s, &c.l, pm, to_inlet, &m);
            assert_true(m.found && m.bleeding);
            solved_path(&c.s, &c.l, &m, to_inlet, &o);
            double bleed = m.blower_flow - m.drawn;
            double h0 = c.s.h0, back = to_inlet ? bleed : 0.0;
            double mixed = m.drawn * h0 + back * shv_gas_enthalpy(&c.s.gas, o.tm) +
                           (to_inlet ? 0.0 : bleed * h0);
            assert_relative(o.pm, pm, 1e-10);
            assert_relative(o.blower_flow, m.blower_flow, 1e-10);
            assert_relative(o.engine_flow + o.water, m.drawn, 1e-10);
            assert_true(bleed > 0.0);
            assert_within(m.blower_flow * m.inlet.h1, mixed, 1e-10 * m.blower_flow * 3e5);
            wet += o.water > 0.0;
            /* water that comes in is what condenses and what the engine gets, and what is lost */
            double outside = gas_humidity(&c.s.gas), in = to_inlet ? m.drawn : m.blower_flow;
            double kept = o.engine_flow + (to_inlet ? 0.0 : bleed);
            double water = in * outside / (1.0 + outside);
            double out = o.water + kept * o.humidity / (1.0 + o.humidity);
            assert_within(path_may_condense(&c.s, &c.l) ? out : water, water, 1e-9 * in);
            solved++;
        }
        end_case(&c);
    }
    print_message("%d answers, water condenses in %d\n", solved, wet);
    assert_true(solved > 300);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_end_that_stays_gives_way),
        cmocka_unit_test(roots_of_known_functions),
        cmocka_unit_test(roots_at_the_ends),
        cmocka_unit_test(no_root_between_the_ends),
        cmocka_unit_test(nested_answer_closes_and_is_the_only_one),
        cmocka_unit_test(a_blower_that_hardly_turns_opens_the_bypass),
        cmocka_unit_test(open_answer_closes),
        cmocka_unit_test(bleed_answer_closes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
