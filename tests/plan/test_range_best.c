/* src/plan/range_best.c: what exchanges of parts find before any integer programme is asked. */
#include "plan/range_best.h"
#include "plan/range_fixture.h"

struct told {
    size_t count;
    int64_t first; /* value of the first plan */
    bool first_has[FIXTURE_PARTS];
    int64_t last;
    bool settled;
    size_t parts;
    size_t stop_after; /* 0: never */
};

static bool note(void *data, const struct programme_answer *answer)
{
    struct told *t = data;
    if (t->count == 0) {
        t->first = llround(answer->objective);
        memcpy(t->first_has, answer->stocked, t->parts * sizeof *t->first_has);
    }
    t->last = llround(answer->objective);
    t->settled = answer->settled;
    t->count++;
    return t->stop_after == 0 || t->count < t->stop_after;
}

/* Looks for the best plan of at most `most` parts from a stock; what that stock and `better` are
 * worth. */
static bool plan_from(struct fixture *f, size_t most, enum best_start from, const bool *start,
                      const bool *better, int64_t value[2], struct told *told)
{
    struct thin thin;
    struct shv_message message;
    size_t position[FIXTURE_GROUPS];
    assert_int_equal(thin_make(&thin, &f->problem, SHV_NONE, &message), SHV_OK);
    assert_true(thin_assign(&thin, start, position, &value[0]));
    assert_true(thin_assign(&thin, better, position, &value[1]));
    struct best_job job = {
        .programme = {.thin = &thin, .most_parts = most, .by_value = true},
        .from = from,
        .start = start,
    };
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        job.programme.most[k] = SHV_NONE;
    }
    told->parts = f->problem.part_count;
    bool good = best_plan(&job, note, told);
    thin_free(&thin);
    return good;
}

/* Two groups, each best with a pulley of its own: a third part pays, another in the place of the
 * pulley does not. */
static void one_part_more(void **state)
{
    (void)state;
    struct fixture f;
    struct told told = {0};
    int64_t value[2];
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    size_t large = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    size_t little = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    struct shv_range_group *g = fixture_group(&f, 10.0);
    fixture_kit(g, 60e3, blower, large);
    fixture_kit(g, 50e3, blower, little);
    g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, blower, large);
    fixture_kit(g, 70e3, blower, little);
    const bool start[] = {true, true, false}, all[] = {true, true, true};
    assert_true(plan_from(&f, 3, BEST_OF_FEWER_PARTS, start, all, value, &told));
    assert_true(value[1] > value[0]);
    assert_true(told.first == value[1] && told.first_has[little] && told.first_has[large]);
    assert_true(told.last == value[1] && told.settled);
    /* Nor more than are allowed. */
    told = (struct told){0};
    assert_true(plan_from(&f, 2, BEST_OF_LEAST_PARTS, start, all, value, &told));
    assert_true(told.first == value[0] && told.last == value[0] && told.settled);
    assert_false(told.first_has[little]);
}

/* Another part in the place of one, and two for two: a crank pulley that is worth something only
 * with its blower pulley. */
static void parts_for_others(void **state)
{
    (void)state;
    struct fixture f;
    struct told told = {0};
    int64_t value[2];
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    size_t pulley[2] = {fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0),
                        fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0)};
    size_t crank[2] = {fixture_part(&f, SHV_STOCK_CRANK_PULLEY, 0.0),
                       fixture_part(&f, SHV_STOCK_CRANK_PULLEY, 0.0)};
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, blower, pulley[0])->part[SHV_STOCK_CRANK_PULLEY] = crank[0];
    fixture_kit(g, 70e3, blower, pulley[1])->part[SHV_STOCK_CRANK_PULLEY] = crank[1];
    const bool start[] = {true, true, false, true, false},
               better[] = {true, false, true, false, true};
    assert_true(plan_from(&f, 3, BEST_OF_LEAST_PARTS, start, better, value, &told));
    assert_true(value[1] > value[0]);
    assert_true(told.first == value[1] && told.first_has[pulley[1]] && told.first_has[crank[1]]);
    assert_true(told.last == value[1] && told.settled);
}

/* One part in the place of another, where there is no room for both and no second one to exchange.
 */
static void one_for_another(void **state)
{
    (void)state;
    struct fixture f;
    struct told told = {0};
    int64_t value[2];
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    size_t poor = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    size_t good = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, blower, poor);
    fixture_kit(g, 70e3, blower, good);
    const bool start[] = {true, true, false}, better[] = {true, false, true};
    assert_true(plan_from(&f, 2, BEST_OF_LEAST_PARTS, start, better, value, &told));
    assert_true(value[1] > value[0] && told.first == value[1]);
    assert_true(told.first_has[blower] && told.first_has[good] && !told.first_has[poor]);
}

/* Whoever is told may end it. */
static void stopped(void **state)
{
    (void)state;
    struct fixture f;
    struct told told = {.stop_after = 1};
    int64_t value[2];
    fixture_begin(&f);
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    size_t pulley = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    fixture_kit(fixture_group(&f, 1.0), 60e3, blower, pulley);
    const bool start[] = {true, true};
    assert_false(plan_from(&f, 2, BEST_OF_LEAST_PARTS, start, start, value, &told));
    assert_int_equal(told.count, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_part_more),
        cmocka_unit_test(parts_for_others),
        cmocka_unit_test(one_for_another),
        cmocka_unit_test(stopped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
