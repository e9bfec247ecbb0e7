/* No kit that keeps its limits is better than the bound says, and the bound says something. */
#include "support/cycle_model.h"
#include "support/random_study.h"

#include "model/verdict/bound.h"

struct tally {
    size_t kits, feasible, ranges, tight, empty;
};

/* Random kits between two ratios: none of them is denied, and a little above the best of them is.
 */
static void check_range(const struct shv_model *model, struct shv_kit kit, double low, double high,
                        const double eff[2], double above, uint64_t *seed, struct tally *t)
{
    static double power[64];
    double best = -INFINITY;
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    for (int n = 0; n < 40; n++) {
        kit.ratio = n < 2 ? (n == 0 ? low : high) : random_in(seed, low, high);
        kit.effectiveness = kit.cooler > 0 ? random_in(seed, eff[0], eff[1]) : 0.0;
        shv_model_evaluate(model, &kit, &c);
        t->kits++;
        t->feasible += c.verdict.feasible;
        best = c.verdict.feasible ? fmax(best, c.verdict.objective) : best;
    }
    shv_curves_free(&c);
    if (best == -INFINITY) {
        t->empty += bound_below(model, &kit, low, high, -INFINITY, power);
        return;
    }
    t->ranges++;
    if (bound_below(model, &kit, low, high, best - 1e-9 * fabs(best), power)) {
        fail_msg("an objective of %.12g is there, yet denied between ratios %.6g and %.6g", best,
                 low, high);
    }
    t->tight += bound_below(model, &kit, low, high, best + above * fabs(best), power);
}

static void print_tally(const struct tally *t)
{
    print_message(
        "%zu kits, %zu feasible; a little above the best denied in %zu of %zu ranges; %zu "
        "proven empty\n",
        t->kits, t->feasible, t->tight, t->ranges, t->empty);
}

static void random_limits(struct made *m, uint64_t *seed)
{
    double *limit = m->study.limit;
    limit[SHV_LIMIT_BOOST] = random_in(seed, 20e3, 120e3);
    limit[SHV_LIMIT_CHARGE_TEMPERATURE] = random_in(seed, 340.0, 430.0);
    limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = random_in(seed, 380.0, 460.0);
    if (random_chance(seed, 0.5)) {
        limit[SHV_LIMIT_ROTOR_SPEED] = random_in(seed, 150.0, 350.0);
        limit[SHV_LIMIT_BLOWER_POWER] = random_in(seed, 5e3, 40e3);
        limit[SHV_LIMIT_FUEL_FLOW] = random_in(seed, 0.004, 0.04);
        limit[SHV_LIMIT_TORQUE] = random_in(seed, 100.0, 600.0);
        limit[SHV_LIMIT_PRESSURE_RATIO] = random_in(seed, 1.3, 2.2);
    }
}

static void random_objective(struct made *m, uint64_t *seed)
{
    struct shv_objective *o = &m->study.objective;
    o->kind = (enum shv_objective_kind)(random_next(seed) % 7);
    o->over_sites = random_chance(seed, 0.5) ? SHV_OVER_SITES_MEAN : SHV_OVER_SITES_WORST;
    o->from = m->speeds[1];
    o->to = m->speeds[2];
    o->at = m->speeds[1];
    m->study.weights = (struct shv_weights){1.0, 2.0, 3.0, 4.0};
    m->coolers[1].per_ntu = (struct shv_worth){200.0, 1.5};
    m->study.base.worth = (struct shv_worth){3000.0, 20.0};
}

static void random_studies(void **state)
{
    (void)state;
    static struct made m;
    struct tally t = {0};
    uint64_t seed = 12;
    const double eff[2] = {0.3, 0.6};
    for (int n = 0; n < 150; n++) {
        random_study(&m, &seed);
        random_limits(&m, &seed);
        random_objective(&m, &seed);
        if (random_chance(&seed, 0.5)) {
            made_add_site(&m, random_in(&seed, 75e3, 95e3), 285.0, 0.4, 2.0);
        }
        struct shv_model *model = made_model(&m);
        struct shv_kit kit = random_kit(&seed);
        double low = random_in(&seed, 0.5, 2.5), high = low + random_in(&seed, 0.05, 0.8);
        check_range(model, kit, low, high, eff, 0.08, &seed, &t);
        shv_model_free(model);
        made_end(&m);
    }
    print_tally(&t);
    assert_true(t.feasible > 500 && t.tight > 30 && t.empty > 0);
}

static void with_the_closed_cycle(void **state)
{
    (void)state;
    static struct made m;
    struct tally t = {0};
    uint64_t seed = 4;
    const double eff[2] = {0.4, 0.7};
    cycle_begin(&m, 95.0);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 2, 0.4, 0.7);
    m.study.limit[SHV_LIMIT_PHASING_RETARD] = 18.0;
    m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = 8.5e6;
    struct shv_model *model = made_model(&m);
    give_table(model, 0);
    for (int n = 0; n < 40; n++) {
        struct shv_kit kit = made_kit(0, 1.0, (size_t)(n % 2), 0.4, m.lambdas[0]);
        kit.ignition_margin = random_in(&seed, 0.0, 4.0);
        double low = random_in(&seed, 0.8, 2.3);
        check_range(model, kit, low, low + random_in(&seed, 0.02, 0.5), eff, 0.25, &seed, &t);
    }
    print_tally(&t);
    assert_true(t.feasible > 200 && t.tight > 3);
    shv_model_free(model);
    made_end(&m);
}

static void nothing_is_proven_without_a_table(void **state)
{
    (void)state;
    static struct made m;
    double power[2];
    cycle_begin(&m, 95.0);
    struct shv_model *model = made_model(&m);
    struct shv_kit kit = made_kit(0, 1.0, 0, 0.0, m.lambdas[0]);
    assert_false(bound_below(model, &kit, 1.0, 2.0, 1e9, power));
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_studies),
        cmocka_unit_test(with_the_closed_cycle),
        cmocka_unit_test(nothing_is_proven_without_a_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
