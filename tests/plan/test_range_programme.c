/* src/plan/range_programme.c: the integer programme against every stock and every set of groups
 * left out, with each of its options; and what its relaxation rules out. */
#include "plan/range_fixture.h"
#include "plan/range_programme.h"

#define PARTS 7
#define GROUPS 4

static uint64_t next(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

static size_t below(uint64_t *state, size_t count)
{
    return (size_t)(next(state) % count);
}

/* Three blowers, three pulleys, a core; the last group is alone, the others may be a family. */
static void random_range(struct fixture *f, uint64_t *state)
{
    static const enum shv_part_kind kind[PARTS] = {
        SHV_STOCK_BLOWER,        SHV_STOCK_BLOWER,        SHV_STOCK_BLOWER, SHV_STOCK_BLOWER_PULLEY,
        SHV_STOCK_BLOWER_PULLEY, SHV_STOCK_BLOWER_PULLEY, SHV_STOCK_COOLER};
    fixture_begin(f);
    for (size_t p = 0; p < PARTS; p++) {
        (void)fixture_part(f, kind[p], 100.0 * (double)below(state, 8));
    }
    f->problem.value = SHV_RANGE_PROFIT;
    for (size_t g = 0; g < GROUPS; g++) {
        struct shv_range_group *group = fixture_group(f, 1.0 + (double)below(state, 5));
        group->sale_price = 400.0;
        group->sale_per_watt = 0.02;
        for (size_t i = 0; i < 7; i++) { /* one draw a line: the same in every compiler */
            double power = 1000.0 * (double)(40 + below(state, 60));
            size_t blower = below(state, 3), pulley = 3 + below(state, 3);
            struct shv_range_candidate *c = fixture_kit(group, power, blower, pulley);
            c->part[SHV_STOCK_COOLER] = below(state, 3) == 0 ? 6 : SHV_NONE;
            c->has_cooler = c->part[SHV_STOCK_COOLER] != SHV_NONE;
        }
    }
    if (below(state, 2) == 0) {
        f->problem.family_count = 1;
        f->group[0].family = f->group[1].family = 0;
    }
}

/* ---- by trying all ---- */

struct trial {
    const struct programme *o;
    unsigned stock, skipped;
    size_t forced_group, forced_item; /* SHV_NONE: none */
};

static bool is_without(const struct programme *o, size_t g, size_t i)
{
    size_t place = i;
    for (size_t k = 0; k < g; k++) {
        place += o->thin->group[k].count;
    }
    return o->without && o->without[place];
}

/* The most that a group brings, of its value and of the objective; false when it gets nothing. */
static bool group_best(const struct trial *t, size_t g, size_t blower, int64_t *value,
                       int64_t *objective)
{
    bool any = false;
    const struct thin_group *group = &t->o->thin->group[g];
    for (size_t i = 0; i < group->count; i++) {
        const struct thin_candidate *c = &group->item[i];
        bool has = !is_without(t->o, g, i) &&
                   (blower == SHV_NONE || c->part[SHV_STOCK_BLOWER] == blower) &&
                   (t->forced_group != g || t->forced_item == i);
        for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
            has = has && (c->part[k] == SHV_NONE || (t->stock >> c->part[k] & 1u));
        }
        int64_t now = t->o->by_value ? c->value : 0;
        now += t->o->other_value && t->o->other == g ? t->o->other_value[i] : 0;
        if (has && (!any || now > *objective || (now == *objective && c->value > *value))) {
            any = true;
            *objective = now;
            *value = c->value;
        }
    }
    return any;
}

/* Groups of one family together (SHV_NONE: those of none), with one blower. */
static bool family_best(const struct trial *t, size_t family, int64_t *value, int64_t *objective)
{
    const struct shv_range_problem *problem = t->o->thin->problem;
    bool found = false;
    int64_t most = 0, worth = 0;
    for (size_t p = 0; p < (family == SHV_NONE ? 1 : PARTS); p++) {
        int64_t all = 0, all_value = 0;
        bool good = family == SHV_NONE || problem->part[p].kind == SHV_STOCK_BLOWER;
        for (size_t g = 0; g < GROUPS && good; g++) {
            int64_t v = 0, o = 0;
            size_t of = t->o->no_families ? SHV_NONE : problem->group[g].family;
            if (of == family && !(t->skipped >> g & 1u)) {
                good = group_best(t, g, family == SHV_NONE ? SHV_NONE : p, &v, &o);
                all += o;
                all_value += v;
            }
        }
        if (good && (!found || all > most || (all == most && all_value > worth))) {
            found = true;
            most = all;
            worth = all_value;
        }
    }
    *value += worth;
    *objective += most;
    return found;
}

static bool is_used(const struct programme *o, size_t p)
{
    for (size_t g = 0; g < GROUPS; g++) {
        for (size_t i = 0; i < o->thin->group[g].count; i++) {
            for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
                if (o->thin->group[g].item[i].part[k] == p) {
                    return true;
                }
            }
        }
    }
    return false;
}

static bool number_fits(const struct programme *o, size_t i, size_t count, size_t most,
                        int64_t *objective)
{
    size_t over = most != SHV_NONE && count > most ? count - most : 0;
    *objective += (int64_t)over * o->excess_weight;
    return over == 0 || o->excess[i];
}

static bool stock_fits(const struct trial *t, int64_t *value, int64_t *objective)
{
    const struct programme *o = t->o;
    size_t count[PROGRAMME_EXCESSES] = {0};
    bool fits = true, contains = o->not_this != NULL;
    for (size_t p = 0; p < PARTS; p++) {
        bool in = t->stock >> p & 1u;
        fits = fits && (!in || is_used(o, p));
        fits = fits && !(o->fixed && o->fixed[p] >= 0 && in != (o->fixed[p] > 0) && is_used(o, p));
        contains = contains && (!o->not_this[p] || in);
        count[o->thin->problem->part[p].kind] += in;
        count[SHV_STOCK_KINDS] += in;
        *value -= in ? o->thin->cost[p] : 0;
        *objective -= in && o->by_value ? o->thin->cost[p] : 0;
        *objective += in && o->part_weight ? o->part_weight[p] : 0;
    }
    for (size_t i = 0; i < PROGRAMME_EXCESSES; i++) {
        size_t most = i < SHV_STOCK_KINDS ? o->most[i] : o->most_parts;
        fits = number_fits(o, i, count[i], most, objective) && fits;
    }
    return fits && !contains;
}

/* False when the plan cannot be. */
static bool plan_is(const struct trial *t, int64_t *value, int64_t *objective)
{
    *value = *objective = 0;
    if (!stock_fits(t, value, objective)) {
        return false;
    }
    for (size_t g = 0; g < GROUPS; g++) {
        *objective += (t->skipped >> g & 1u) && t->o->skip_weight ? t->o->skip_weight[g] : 0;
    }
    bool good = family_best(t, SHV_NONE, value, objective);
    if (good && !t->o->no_families && t->o->thin->problem->family_count > 0) {
        good = family_best(t, 0, value, objective);
    }
    return good && !(t->o->has_least_value && *value < t->o->least_value);
}

static bool best_of_all(const struct programme *o, int64_t *best)
{
    bool any = false;
    struct trial t = {.o = o, .forced_group = SHV_NONE};
    for (t.stock = 0; t.stock < 1u << PARTS; t.stock++) {
        for (t.skipped = 0; t.skipped < (o->skips ? 1u << GROUPS : 1u); t.skipped++) {
            int64_t value, objective;
            if (plan_is(&t, &value, &objective) && (!any || objective > *best)) {
                any = true;
                *best = objective;
            }
        }
    }
    return any;
}

/* ---- the checks ---- */

static void assert_best(const struct programme *o, const char *what)
{
    bool stocked[PARTS] = {false}, skipped[GROUPS] = {false};
    struct programme_answer a = {.stocked = stocked, .skipped = skipped};
    int64_t best = 0, value, objective;
    bool any = best_of_all(o, &best);
    assert_true(programme_solve(o, &a));
    if (!any) {
        if (a.end != PROGRAMME_INFEASIBLE) {
            fail_msg("%s: there is no plan, and it found one of %g", what, a.objective);
        }
        return;
    }
    if (a.end != PROGRAMME_PROVEN || fabs(a.objective - (double)best) > 0.4) {
        fail_msg("%s: end %d, %g and not %lld", what, (int)a.end, a.objective, (long long)best);
    }
    assert_true(a.bound == a.objective);
    struct trial t = {.o = o, .forced_group = SHV_NONE};
    for (size_t p = 0; p < PARTS; p++) {
        t.stock |= stocked[p] ? 1u << p : 0u;
    }
    size_t count[PROGRAMME_EXCESSES] = {0};
    for (size_t p = 0; p < PARTS; p++) {
        count[o->thin->problem->part[p].kind] += stocked[p];
        count[SHV_STOCK_KINDS] += stocked[p];
    }
    for (size_t i = 0; i < PROGRAMME_EXCESSES && o->excess_weight < 0; i++) {
        size_t most = i < SHV_STOCK_KINDS ? o->most[i] : o->most_parts;
        assert_int_equal(a.excess[i], most != SHV_NONE && count[i] > most ? count[i] - most : 0);
    }
    for (size_t g = 0; g < GROUPS; g++) {
        t.skipped |= skipped[g] ? 1u << g : 0u;
    }
    /* What it gives is a plan of that objective. */
    if (!plan_is(&t, &value, &objective) || objective != best) {
        fail_msg("%s: stock %x is no plan of %lld", what, t.stock, (long long)best);
    }
}

static struct programme by_value(const struct thin *thin)
{
    struct programme o = {.thin = thin, .most_parts = SHV_NONE, .by_value = true};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        o.most[k] = SHV_NONE;
    }
    return o;
}

static void with_options(const struct thin *thin, uint64_t *state)
{
    struct programme o = by_value(thin);
    int64_t best = 0, weights[PARTS], skip_weight[GROUPS];
    assert_best(&o, "by value");
    assert_true(best_of_all(&o, &best));

    o.has_least_value = true;
    o.least_value = best;
    assert_best(&o, "that much by value");
    o.least_value = best + 1;
    assert_best(&o, "more than there is");
    o = by_value(thin);

    o.most[SHV_STOCK_BLOWER_PULLEY] = 1;
    assert_best(&o, "one pulley");
    o.most_parts = 2;
    assert_best(&o, "two parts");
    o.excess[SHV_STOCK_KINDS] = true;
    o.excess_weight = -1 - (int64_t)below(state, 1000);
    assert_best(&o, "more than two parts, which cost");
    o.excess[SHV_STOCK_BLOWER_PULLEY] = true;
    assert_best(&o, "more pulleys too");
    o = by_value(thin);

    o.no_families = true;
    o.most_parts = 4;
    assert_best(&o, "no families");
    o = by_value(thin);

    signed char fixed[PARTS] = {-1, -1, -1, -1, -1, -1, -1};
    fixed[below(state, 3)] = 0;
    fixed[3 + below(state, 3)] = 1;
    o.fixed = fixed;
    assert_best(&o, "fixed parts");
    o = by_value(thin);

    bool not_this[PARTS] = {false};
    not_this[below(state, 3)] = not_this[3 + below(state, 3)] = true;
    o.not_this = not_this;
    assert_best(&o, "not this stock");
    o = by_value(thin);

    bool without[GROUPS * 7] = {false};
    for (size_t i = 0; i < GROUPS * 7; i++) {
        without[i] = below(state, 4) == 0;
    }
    o.without = without;
    assert_best(&o, "without some candidates");

    for (size_t g = 0; g < GROUPS; g++) {
        skip_weight[g] = -(int64_t)below(state, 4);
    }
    for (size_t p = 0; p < PARTS; p++) {
        weights[p] = -1 - (int64_t)below(state, 5);
    }
    o = by_value(thin);
    o.by_value = false;
    o.part_weight = weights;
    assert_best(&o, "fewest parts");
    o.has_least_value = true;
    o.least_value = best - llabs(best) / 20;
    assert_best(&o, "fewest parts that are worth nearly as much");
    o.has_least_value = false;
    o.skips = true;
    o.skip_weight = skip_weight;
    o.most_parts = 3;
    assert_best(&o, "groups left out");
    int64_t other[7];
    for (size_t i = 0; i < 7; i++) {
        other[i] = (int64_t)below(state, 100);
    }
    o = by_value(thin);
    o.by_value = false;
    o.other_value = other;
    o.other = below(state, GROUPS);
    o.most_parts = 3;
    assert_best(&o, "another value of one group");
}

static void as_if_all_were_tried(void **state)
{
    (void)state;
    uint64_t random = 7;
    for (int i = 0; i < 8; i++) {
        struct fixture f;
        struct thin thin;
        random_range(&f, &random);
        assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, NULL), SHV_OK);
        with_options(&thin, &random);
        thin_free(&thin);
    }
}

/* ---- the relaxation ---- */

/* The best plan that gives a group a candidate, INT64_MIN for none. */
static int64_t with_candidate(const struct programme *o, size_t g, size_t item)
{
    int64_t best = INT64_MIN, value, objective;
    struct trial t = {.o = o, .forced_group = g, .forced_item = item};
    for (t.stock = 0; t.stock < 1u << PARTS; t.stock++) {
        best = plan_is(&t, &value, &objective) && objective > best ? objective : best;
    }
    return best;
}

static int64_t with_part(const struct programme *o, size_t p, bool in)
{
    int64_t best = INT64_MIN, value, objective;
    struct trial t = {.o = o, .forced_group = SHV_NONE};
    for (t.stock = 0; t.stock < 1u << PARTS; t.stock++) {
        if ((t.stock >> p & 1u) == (in ? 1u : 0u)) {
            best = plan_is(&t, &value, &objective) && objective > best ? objective : best;
        }
    }
    return best;
}

static void what_is_ruled_out_is_in_no_plan_of_that_worth(void **state)
{
    (void)state;
    uint64_t random = 11;
    size_t out = 0, never = 0;
    for (size_t i = 0; i < 12; i++) {
        struct fixture f;
        struct thin thin;
        bool without[GROUPS * 7];
        signed char fixed[PARTS];
        struct programme_relaxed r = {.without = without, .fixed = fixed};
        int64_t best = 0;
        random_range(&f, &random);
        assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, NULL), SHV_OK);
        struct programme o = by_value(&thin);
        o.most_parts = 3 + i % 2;
        if (!best_of_all(&o, &best)) {
            thin_free(&thin);
            continue;
        }
        assert_true(programme_relax(&o, best, &r));
        assert_true(r.bound >= (double)best - 0.5);
        size_t place = 0;
        for (size_t g = 0; g < GROUPS; g++) {
            for (size_t k = 0; k < thin.group[g].count; k++, place++) {
                out += without[place];
                assert_true(!without[place] || with_candidate(&o, g, k) < best);
            }
        }
        for (size_t p = 0; p < PARTS; p++) {
            never += fixed[p] == 0;
            assert_true(fixed[p] < 0 || with_part(&o, p, fixed[p] == 0) < best);
        }
        thin_free(&thin);
    }
    assert_true(out > 50 && never > 5);
}

/* Each group can have its own pulley alone, of which none is allowed. */
static void as_many_too_many_as_there_are(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    bool stocked[1 + FIXTURE_GROUPS], skipped[FIXTURE_GROUPS];
    struct programme_answer a = {.stocked = stocked, .skipped = skipped};
    fixture_begin(&f);
    f.problem.value = SHV_RANGE_PROFIT;
    (void)fixture_part(&f, SHV_STOCK_BLOWER, 0.0);
    for (size_t g = 0; g < FIXTURE_GROUPS; g++) {
        size_t pulley = fixture_part(&f, SHV_STOCK_BLOWER_PULLEY, 0.0);
        struct shv_range_group *group = fixture_group(&f, 1.0);
        group->sale_price = 400.0;
        (void)fixture_kit(group, 50e3, 0, pulley);
    }
    assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, NULL), SHV_OK);
    struct programme o = by_value(&thin);
    o.by_value = false;
    o.most[SHV_STOCK_BLOWER_PULLEY] = 0;
    o.excess[SHV_STOCK_BLOWER_PULLEY] = true;
    o.excess_weight = -1;
    assert_true(programme_solve(&o, &a));
    assert_int_equal(a.end, PROGRAMME_PROVEN);
    assert_int_equal(a.excess[SHV_STOCK_BLOWER_PULLEY], FIXTURE_GROUPS);
    thin_free(&thin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_if_all_were_tried),
        cmocka_unit_test(as_many_too_many_as_there_are),
        cmocka_unit_test(what_is_ruled_out_is_in_no_plan_of_that_worth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
