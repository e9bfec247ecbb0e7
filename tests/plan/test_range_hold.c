/* src/plan/range_hold.c: the plan with candidates that may fail, asked of as few as have to be,
 * against that with all asked before. */
#include "plan/range_fixture.h"

#define SEEDS 40

static uint64_t next(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

static size_t below(uint64_t *state, size_t count)
{
    return (size_t)(next(state) % count);
}

/* What is true of each candidate: whether it holds, and with what power. */
struct truth {
    struct fixture *f;
    double power[FIXTURE_GROUPS][FIXTURE_KITS]; /* NAN: it fails */
    size_t asked;
};

static void random_range(struct fixture *f, struct truth *truth, uint64_t seed)
{
    uint64_t state = seed * 2654435761u + 99u;
    fixture_begin(f);
    *truth = (struct truth){.f = f};
    size_t blowers = 2, pulleys = 3;
    for (size_t i = 0; i < blowers + pulleys; i++) {
        fixture_part(f, i < blowers ? SHV_STOCK_BLOWER : SHV_STOCK_BLOWER_PULLEY,
                     50.0 * (double)below(&state, 4));
    }
    f->problem.value = (enum shv_range_value)below(&state, 3);
    size_t groups = 2 + below(&state, 3);
    for (size_t g = 0; g < groups; g++) {
        struct shv_range_group *group = fixture_group(f, 1.0 + (double)below(&state, 4));
        group->least_share = below(&state, 2) == 0 ? 0.9 : 0.0;
        group->least_power = below(&state, 6) == 0 ? 60e3 : 0.0;
        group->sale_per_watt = 0.02;
        for (size_t i = 0; i < 20; i++) {
            double power = 1000.0 * (double)(50 + below(&state, 12));
            size_t pulley = below(&state, pulleys + 1);
            struct shv_range_candidate *c =
                fixture_kit(group, power, below(&state, blowers),
                            pulley < pulleys ? blowers + pulley : SHV_NONE);
            c->price = 100.0 * (double)(1 + below(&state, 5));
            c->holds = SHV_RANGE_UNSURE;
            size_t fate = below(&state, 4);
            truth->power[g][i] = fate < 2 ? NAN : fate == 2 ? power : power - 2000.0;
        }
    }
    if (below(&state, 3) == 0) {
        f->problem.family_count = 1;
        f->group[0].family = f->group[1].family = 0;
    }
    f->problem.most_parts = 2 + below(&state, 2);
}

static enum shv_status judge(void *data, size_t group, struct shv_range_candidate *const *list,
                             size_t count, struct shv_message *message)
{
    struct truth *t = data;
    (void)message;
    assert_true(count > 0);
    for (size_t i = 0; i < count; i++) {
        size_t at = (size_t)(list[i] - t->f->kit[group]);
        assert_true(at < t->f->group[group].count && list[i]->holds == SHV_RANGE_UNSURE);
        bool holds = !isnan(t->power[group][at]);
        list[i]->holds = holds ? SHV_RANGE_HOLDS : SHV_RANGE_FAILS;
        list[i]->power = holds ? t->power[group][at] : list[i]->power;
        t->asked++;
    }
    return SHV_OK;
}

/* Without those that fail, and the others with what power they have. */
static void only_what_holds(const struct fixture *f, const struct truth *truth,
                            struct fixture *only)
{
    *only = *f;
    only->problem.part = only->part;
    only->problem.group = only->group;
    for (size_t g = 0; g < f->problem.group_count; g++) {
        only->group[g].candidate = only->kit[g];
        only->group[g].count = 0;
        for (size_t i = 0; i < f->group[g].count; i++) {
            if (!isnan(truth->power[g][i])) {
                struct shv_range_candidate *c = &only->kit[g][only->group[g].count++];
                *c = f->kit[g][i];
                c->power = truth->power[g][i];
                c->holds = SHV_RANGE_HOLDS;
            }
        }
    }
}

static void same_points(const struct fixture *f, const struct shv_range_result *a,
                        const struct fixture *only, const struct shv_range_result *b)
{
    assert_int_equal(a->point_count, b->point_count);
    assert_int_equal(a->chosen, b->chosen);
    for (size_t i = 0; i < a->point_count; i++) {
        const struct shv_range_point *p = &a->point[i], *q = &b->point[i];
        assert_true(p->proven && p->value == q->value);
        assert_memory_equal(p->stocked, q->stocked, f->problem.part_count * sizeof *p->stocked);
        for (size_t g = 0; g < f->problem.group_count; g++) {
            const struct shv_range_candidate *c = &f->kit[g][p->kit[g]];
            assert_int_equal(c->holds, SHV_RANGE_HOLDS);
            assert_int_equal(c->index, only->kit[g][q->kit[g]].index);
            assert_int_equal(f->kit[g][a->best[g]].holds, SHV_RANGE_HOLDS);
            assert_int_equal(a->kept[g], b->kept[g]);
        }
    }
}

static void same_reasons(const struct shv_range_result *a, const struct shv_range_result *b)
{
    assert_int_equal(a->unserved_count, b->unserved_count);
    for (size_t i = 0; i < a->unserved_count; i++) {
        assert_int_equal(a->unserved[i], b->unserved[i]);
    }
    assert_int_equal(a->relief_count, b->relief_count);
    for (size_t i = 0; i < a->relief_count; i++) {
        const struct shv_range_relief *x = &a->relief[i], *y = &b->relief[i];
        assert_true(x->way == y->way && x->need == y->need && x->which == y->which);
        assert_true(x->to == y->to || (isnan(x->to) && isnan(y->to)));
    }
}

static void test_same_as_all_asked_before(void **state)
{
    (void)state;
    static struct fixture f, only;
    static struct truth truth;
    size_t solved = 0, infeasible = 0, asked = 0, all = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        struct shv_range_result r, of_only;
        struct shv_message message;
        random_range(&f, &truth, seed);
        only_what_holds(&f, &truth, &only);
        const struct shv_range_options how = {.judge = judge, .data = &truth};
        enum shv_status status = shv_range_solve(&f.problem, &how, &r, &message);
        assert_int_equal(status, fixture_solve(&only, &of_only, &message));
        if (status == SHV_OK) {
            same_points(&f, &r, &only, &of_only);
            solved++;
            asked += truth.asked;
            all += f.problem.group_count * 20;
        } else {
            assert_int_equal(status, SHV_NOTHING);
            same_reasons(&r, &of_only);
            infeasible++;
        }
        shv_range_result_free(&r);
        shv_range_result_free(&of_only);
    }
    assert_true(solved >= 15 && infeasible >= 5);
    assert_true(asked < all * 3 / 4);
}

/* One that fails is not offered even where nothing else is there, and no relief lets it through. */
static void test_all_fail(void **state)
{
    (void)state;
    static struct fixture f;
    static struct truth truth;
    struct shv_range_result r;
    struct shv_message message;
    fixture_begin(&f);
    truth = (struct truth){.f = &f};
    size_t blower = fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    struct shv_range_group *group = fixture_group(&f, 1.0);
    group->most_price = 50.0;
    for (size_t i = 0; i < 3; i++) {
        fixture_kit(group, 60e3, blower, SHV_NONE)->holds = SHV_RANGE_UNSURE;
        truth.power[0][i] = NAN;
    }
    const struct shv_range_options how = {.judge = judge, .data = &truth};
    assert_int_equal(shv_range_solve(&f.problem, &how, &r, &message), SHV_NOTHING);
    assert_int_equal(r.unserved_count, 1);
    assert_int_equal(r.relief_count, 0);
    assert_int_equal(truth.asked, 3);
    shv_range_result_free(&r);
}

static enum shv_status refuse(void *data, size_t group, struct shv_range_candidate *const *list,
                              size_t count, struct shv_message *message)
{
    (void)data;
    (void)group;
    (void)list;
    (void)count;
    return shv_fail(message, SHV_STOPPED, "no more");
}

static void test_what_the_judge_fails_with(void **state)
{
    (void)state;
    static struct fixture f;
    static struct truth truth;
    struct shv_range_result r;
    struct shv_message message;
    const struct shv_range_options how = {.judge = refuse};
    random_range(&f, &truth, 1);
    assert_int_equal(shv_range_solve(&f.problem, &how, &r, &message), SHV_STOPPED);
    assert_string_equal(message.text, "no more");
    assert_int_equal(r.chosen, SHV_NONE);
    shv_range_result_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_same_as_all_asked_before),
        cmocka_unit_test(test_all_fail),
        cmocka_unit_test(test_what_the_judge_fails_with),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
