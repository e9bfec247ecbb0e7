/* Knock-limited phasings side by side against shv_cycle_knock_limit(). */
#include "model/cylinder/cycle_direct.h"
#include "support/cycle_fixture.h"
#include "support/cycle_table_fixture.h"

enum { POINTS = 60 };

/* From no knock to knock at the limit; the guess may be good, bad, or no number. */
static void fill(struct cycle_direct points[POINTS], const struct shv_cycle_case *at, double retard,
                 uint64_t *state)
{
    for (size_t i = 0; i < POINTS; i++) {
        points[i] = (struct cycle_direct){.at = *at, .retard = retard};
        points[i].at.air_mass = 0.2e-4 + 1.8e-3 * next_share(state);
        points[i].at.charge_temperature = 280.0 + 120.0 * next_share(state);
        points[i].guess = i % 5 ? 60.0 * next_share(state) : NAN;
    }
}

static struct shv_cycle_result alone(const struct cycle_case *u, const struct cycle_direct *d)
{
    struct cycle_case v = *u;
    v.at = d->at;
    v.pressure = NAN;
    v.knock.best_ca50 -= d->retard;
    v.knock.limit_ca50 -= d->retard;
    struct shv_cycle_result r = limit_case(&v);
    if (d->retard > 0.0 && r.outcome != SHV_CYCLE_NO_ANSWER) {
        enum shv_cycle_outcome outcome = r.outcome;
        v.at.ca50 = r.ca50 + d->retard;
        r = run_case(&v);
        r.outcome = outcome;
    }
    return r;
}

static void assert_same_answers(const struct cycle_case *u, double retard, int seen[3])
{
    uint64_t state = 2463534242u;
    struct cycle_inputs inputs = {&u->engine, &u->fuel, &u->knock, &u->at};
    struct cycle c;
    struct cycle_direct points[POINTS];
    assert_int_equal(cycle_check(&inputs, NULL), SHV_OK);
    cycle_prepare(&c, &inputs);
    fill(points, &u->at, retard, &state);
    cycle_direct_solve(&c, points, POINTS);
    for (size_t i = 0; i < POINTS; i++) {
        struct shv_cycle_result r = alone(u, &points[i]);
        assert_int_equal(points[i].outcome, r.outcome);
        assert_true(points[i].cycles > 0);
        seen[r.outcome]++;
        if (r.outcome == SHV_CYCLE_NO_ANSWER) {
            continue;
        }
        assert_within(points[i].task.ca50, r.ca50, 1e-6);
        assert_relative(points[i].task.gross_efficiency, r.gross_efficiency, 1e-8);
        assert_relative(points[i].task.peak_pressure, r.peak_pressure, 1e-7);
        assert_relative(points[i].task.exhaust_temperature, r.exhaust_temperature, 1e-8);
        assert_relative(points[i].task.knock_integral, r.knock_integral, 1e-7);
    }
}

static void same_as_one_by_one(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    int seen[3] = {0};
    assert_same_answers(&u, 0.0, seen);
    u.engine.compression_ratio = 12.0;
    u.at.lambda = 1.0;
    assert_same_answers(&u, 0.0, seen);
    u.engine.compression_ratio = 2.2; /* residual gas beyond what there may be */
    assert_same_answers(&u, 0.0, seen);
    assert_true(seen[SHV_CYCLE_DONE] > 40 && seen[SHV_CYCLE_KNOCK_LIMITED] > 10 &&
                seen[SHV_CYCLE_NO_ANSWER] > 3);
}

static void same_with_retard(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    int seen[3] = {0};
    assert_same_answers(&u, 3.0, seen);
    assert_true(seen[SHV_CYCLE_DONE] > 20 && seen[SHV_CYCLE_KNOCK_LIMITED] > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_as_one_by_one),
        cmocka_unit_test(same_with_retard),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
