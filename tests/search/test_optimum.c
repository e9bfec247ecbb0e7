/* The continuous optimum of every blower and fuel against a fine grid, and the real parts near it.
 */
#include <omp.h>

#include "support/choose_studies.h"

struct chosen {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_keep keep;
    struct shv_optimum *rows;
    size_t count;
};

static void sweep(struct chosen *c, size_t keep)
{
    struct shv_sweep_counts counts;
    c->m.study.search.enabled = true;
    assert_int_equal(shv_keep_init(&c->keep, &c->m.study, NULL), SHV_OK);
    struct shv_sweep_options options = {.threads = 1, .keep = &c->keep};
    c->model = made_model(&c->m);
    assert_int_equal(shv_space_init(&c->space, &c->m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&c->ranking, keep, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(c->model, &c->space, &options, &c->ranking, &counts, NULL),
                     SHV_OK);
}

static void search(struct chosen *c)
{
    struct shv_message message = {""};
    free(c->rows);
    c->rows = NULL;
    if (shv_optimum_search(c->model, &c->space, &c->keep, NULL, &c->rows, &c->count, &message)) {
        fail_msg("%s", message.text);
    }
}

static void clean(struct chosen *c)
{
    free(c->rows);
    c->rows = NULL;
    shv_keep_free(&c->keep);
    shv_ranking_free(&c->ranking);
    shv_model_free(c->model);
    made_end(&c->m);
}

/* The grid over every cooler and lambda; steps ten times finer than the parts'. */
static double finest(const struct chosen *c, const struct shv_optimum *o)
{
    double ratio[2], best = -INFINITY;
    ratio_ends(&c->m.study, ratio);
    for (size_t k = 0; k < c->m.study.cooler_count; k++) {
        const struct shv_cooler *core = &c->m.coolers[k];
        for (size_t i = 0; i < c->m.study.numbers[SHV_DIM_LAMBDA].count; i++) {
            struct shv_kit kit = made_kit(o->blower, 0.0, k, 0.0, c->m.lambdas[i]);
            kit.fuel = o->fuel;
            double eff[2] = {core->effectiveness.values[0], shv_numbers_last(&core->effectiveness)};
            int effs =
                core->effectiveness.count > 1 ? 10 * (int)(core->effectiveness.count - 1) + 1 : 1;
            int ratios = 10 * (int)(c->m.study.numbers[SHV_DIM_BLOWER_PULLEY].count - 1) + 1;
            best = fmax(best, grid_best(c->model, kit, ratio, ratios, eff, effs));
        }
    }
    return best;
}

static void check_ideal(const struct chosen *c, const struct shv_optimum *o)
{
    struct shv_curves v;
    assert_int_equal(shv_curves_init(&v, c->model, NULL), SHV_OK);
    shv_model_evaluate(c->model, &o->ideal, &v);
    assert_true(v.verdict.feasible);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_result *r = &v.verdict.limit[i];
        assert_true(isnan(r->share) ||
                    (r->share >= 0.0 && !shv_limit_breaks((enum shv_limit)i, r->value, r->bound)));
    }
    assert_same_bits(v.verdict.objective, o->objective);
    /* a limit with plenty of room is near but does not hold the optimum back */
    if (o->binding >= 0) {
        assert_same_bits(v.verdict.limit[o->binding].share, o->binding_share);
        assert_true(o->binding == SHV_LIMIT_ROTOR_DUTY ||
                    (o->binding == v.verdict.binding && o->binding_share < 1e-3));
    } else {
        assert_true(isnan(o->binding_share));
        assert_true(v.verdict.binding < 0 || v.verdict.limit[v.verdict.binding].share >= 1e-3);
    }
    assert_true(o->plain_difference < 1e-9);
    /* A limit of the belt asks for a real crank pulley. */
    bool belt = !isinf(c->m.study.limit[SHV_LIMIT_BELT_SPEED]);
    assert_true(isnan(o->ideal.crank_diameter) != belt && o->evaluations > 100);
    shv_curves_free(&v);
}

/* d ln objective / d ln ratio of the ideal, by a step ten times as wide as the search's. */
static void check_elasticity(const struct chosen *c, const struct shv_optimum *o)
{
    const double step = 1e-3;
    double f[2];
    struct shv_curves v;
    assert_int_equal(shv_curves_init(&v, c->model, NULL), SHV_OK);
    for (int i = 0; i < 2; i++) {
        struct shv_kit kit = o->ideal;
        kit.ratio *= 1.0 + (i ? step : -step);
        shv_model_evaluate(c->model, &kit, &v);
        f[i] = v.verdict.objective;
    }
    shv_curves_free(&v);
    double expected = (f[1] - f[0]) / (2.0 * step) / fabs(o->objective);
    if (fabs(o->elasticity[SHV_FREE_RATIO] - expected) > 1e-3 + 0.02 * fabs(expected)) {
        fail_msg("elasticity %g, by hand %g", o->elasticity[SHV_FREE_RATIO], expected);
    }
}

static void check_uncooled(const struct chosen *c, const struct shv_optimum *o)
{
    struct shv_curves v;
    if (!o->uncooled_found) {
        assert_true(isnan(o->uncooled_objective) && isnan(o->uncooled_retard));
        return;
    }
    assert_int_equal(shv_curves_init(&v, c->model, NULL), SHV_OK);
    shv_model_evaluate(c->model, &o->uncooled, &v);
    assert_true(v.verdict.feasible && c->m.coolers[o->uncooled.cooler].is_none);
    assert_same_bits(v.verdict.objective, o->uncooled_objective);
    assert_true(o->uncooled_objective <= o->objective);
    shv_curves_free(&v);
}

static void check_real(const struct chosen *c, const struct shv_optimum *o)
{
    struct shv_curves v;
    struct shv_kit kit;
    assert_true(o->real_found && o->real_index < c->space.size);
    shv_space_kit(&c->space, &c->m.study, o->real_index, &kit);
    assert_memory_equal(&kit, &o->real, sizeof kit);
    assert_int_equal(shv_curves_init(&v, c->model, NULL), SHV_OK);
    shv_model_evaluate(c->model, &kit, &v);
    assert_true(v.verdict.feasible);
    assert_same_bits(v.verdict.objective, o->real_objective);
    assert_int_equal(kit.blower, o->blower);
    assert_int_equal(kit.fuel, o->fuel);
    assert_relative(o->loss, 1.0 - o->real_objective / o->objective, 1e-12);
    assert_true(o->real_objective <= o->objective * (1.0 + 1e-9));
    assert_true(o->loss >= -1e-9 && o->loss < 0.1);
    shv_curves_free(&v);
}

static void check_rows(struct chosen *c)
{
    for (size_t i = 0; i < c->count; i++) {
        const struct shv_optimum *o = &c->rows[i];
        assert_int_equal(o->blower, i / c->m.study.fuel_count);
        assert_int_equal(o->fuel, i % c->m.study.fuel_count);
        assert_true(o->found);
        check_ideal(c, o);
        check_elasticity(c, o);
        check_uncooled(c, o);
        check_real(c, o);
        double grid = finest(c, o);
        if (!(o->objective >= grid * (1.0 - 1e-6))) {
            fail_msg("row %zu: %.12g, but the grid has %.12g", i, o->objective, grid);
        }
    }
}

static void held_by_limits(void **state)
{
    (void)state;
    static struct chosen c;
    study_held_by_limits(&c.m);
    made_add_blower(&c.m, made_geometry("larger", 1.1e-3));
    made_add_fuel(&c.m, 9.8, 29.3e6);
    sweep(&c, 100);
    search(&c);
    assert_int_equal(c.count, 4);
    check_rows(&c);
    for (size_t i = 0; i < c.count; i++) {
        assert_true(c.rows[i].binding >= 0 && c.rows[i].binding_share < 1e-4);
    }
    clean(&c);
}

static void optimum_inside_the_range(void **state)
{
    (void)state;
    static struct chosen c;
    study_with_inner_optimum(&c.m);
    sweep(&c, 50);
    search(&c);
    assert_int_equal(c.count, 1);
    check_rows(&c);
    const struct shv_optimum *o = &c.rows[0];
    double ratio[2];
    ratio_ends(&c.m.study, ratio);
    double room = 0.02 * (ratio[1] - ratio[0]);
    assert_true(o->ideal.ratio > ratio[0] + room && o->ideal.ratio < ratio[1] - room);
    assert_true(o->ideal.effectiveness > 0.32 && o->ideal.effectiveness < 0.93);
    assert_int_equal(o->binding, -1);
    clean(&c);
}

/* The same optimum with rotors that may not turn so fast for long: time above a speed is nothing at
 * all up to it, so that the limit has all its room where it holds. */
static void held_by_a_limit_that_jumps(void **state)
{
    (void)state;
    static struct chosen c;
    static struct shv_duty_part duty[] = {{2, 1.0, 1.0}};
    study_with_inner_optimum(&c.m);
    sweep(&c, 50);
    search(&c);
    const double free_ratio = c.rows[0].ideal.ratio, kept = 0.8 * free_ratio;
    clean(&c);
    study_with_inner_optimum(&c.m);
    struct shv_study *s = &c.m.study;
    s->use.duty = duty;
    s->use.duty_parts = 1;
    c.m.blowers[0].continuous_speed =
        shv_drive_rotor_speed(s->engine.speeds[2], kept, s->drive.creep, c.m.blowers[0].step_up);
    s->limit[SHV_LIMIT_ROTOR_DUTY] = 0.25;
    sweep(&c, 50);
    search(&c);
    check_rows(&c);
    const struct shv_optimum *o = &c.rows[0];
    assert_relative(o->ideal.ratio, kept, 1e-5);
    assert_int_equal(o->binding, SHV_LIMIT_ROTOR_DUTY);
    assert_relative(o->binding_share, 1.0, 1e-12);
    clean(&c);
}

/* Least and greatest of many numbers, and what is bought with them: never below the fine grid. */
static void other_objectives(void **state)
{
    (void)state;
    static const struct shv_objective objectives[] = {
        {SHV_OBJECTIVE_PEAK_POWER, 0.0, 0.0, NAN, SHV_OVER_SITES_WORST},
        {SHV_OBJECTIVE_TORQUE, 0.0, 0.0, 70.0, SHV_OVER_SITES_WORST},
        {SHV_OBJECTIVE_POWER_PER_PRICE, 0.0, 0.0, NAN, SHV_OVER_SITES_MEAN},
        {SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE, 0.0, 0.0, NAN, SHV_OVER_SITES_MEAN},
        {SHV_OBJECTIVE_WEIGHTED, 0.0, 0.0, NAN, SHV_OVER_SITES_WORST}};
    for (size_t i = 0; i < sizeof objectives / sizeof *objectives; i++) {
        static struct chosen c;
        study_held_by_limits(&c.m);
        made_lambdas(&c.m, 1, 0.84, 0.84);
        c.m.study.limit[SHV_LIMIT_POWER] = 70e3;
        c.m.study.objective = objectives[i];
        c.m.study.weights = (struct shv_weights){1.0, 10.0, 0.0, 100.0};
        c.m.study.base.worth.price = 2000.0;
        c.m.coolers[1].worth.price = 400.0;
        c.m.coolers[1].per_ntu.price = 150.0;
        sweep(&c, 50);
        search(&c);
        assert_true(c.rows[0].found);
        check_ideal(&c, &c.rows[0]);
        check_elasticity(&c, &c.rows[0]);
        double grid = finest(&c, &c.rows[0]);
        if (!(c.rows[0].objective >= grid - 1e-6 * fabs(grid))) {
            fail_msg("objective %zu: %.12g, but the grid has %.12g", i, c.rows[0].objective, grid);
        }
        clean(&c);
    }
}

/* A sweep that found nothing to start from: the search must do without. */
static void no_help_from_the_sweep(void **state)
{
    (void)state;
    static struct chosen c;
    study_held_by_limits(&c.m);
    made_add_blower(&c.m, made_geometry("larger", 1.1e-3));
    sweep(&c, 1);
    search(&c);
    double with[2] = {c.rows[0].objective, c.rows[1].objective};
    assert_int_equal(c.rows[0].searches, 4); /* two coolers, two lambdas */
    shv_keep_clear(&c.keep);
    search(&c);
    check_rows(&c);
    for (size_t i = 0; i < 2; i++) {
        assert_relative(with[i], c.rows[i].objective, 1e-7);
    }
    clean(&c);
}

/* More mixtures are more to choose from, not more to search. */
static void bounded_in_mixtures_and_margins(void **state)
{
    (void)state;
    static struct chosen c;
    study_held_by_limits(&c.m);
    made_lambdas(&c.m, 1, 0.84, 0.84);
    sweep(&c, 1);
    search(&c);
    double alone = c.rows[0].objective;
    clean(&c);
    study_held_by_limits(&c.m);
    made_lambdas(&c.m, 16, 0.80, 1.10);
    sweep(&c, 1);
    search(&c);
    assert_true(c.rows[0].searches <= 2 * SHV_NEAR_MOST && c.rows[0].evaluations < 20000);
    assert_true(c.rows[0].objective >= alone * (1.0 - 1e-3));
    check_rows(&c);
    clean(&c);
}

static void assert_same_rows(const struct shv_optimum *a, const struct shv_optimum *b, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(a[i].found, b[i].found);
        assert_memory_equal(&a[i].ideal, &b[i].ideal, sizeof a[i].ideal);
        assert_same_bits(a[i].objective, b[i].objective);
        assert_int_equal(a[i].binding, b[i].binding);
        assert_same_bits(a[i].binding_share, b[i].binding_share);
        assert_true(a[i].real_index == b[i].real_index);
        assert_same_bits(a[i].real_objective, b[i].real_objective);
        assert_same_bits(a[i].loss, b[i].loss);
        assert_same_bits(a[i].plain_difference, b[i].plain_difference);
        assert_int_equal(a[i].evaluations, b[i].evaluations);
    }
}

static void same_bytes_again_and_on_any_number_of_threads(void **state)
{
    (void)state;
    static struct chosen c;
    made_mixed(&c.m, 9, INFINITY, SHV_BLEED_TO_INLET);
    c.m.study.cooler_count = 2;
    c.m.study.fuel_count = 1;
    c.m.study.numbers[SHV_DIM_LAMBDA].count = 2;
    c.m.study.search = (struct shv_search){true};
    sweep(&c, 100);
    omp_set_num_threads(1);
    search(&c);
    struct shv_optimum *first = c.rows;
    size_t count = c.count;
    const int threads[] = {1, 2, 5};
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        c.rows = NULL;
        omp_set_num_threads(threads[i]);
        search(&c);
        assert_int_equal(c.count, count);
        assert_same_rows(c.rows, first, count);
        free(c.rows);
    }
    c.rows = first;
    clean(&c);
}

static void nothing_feasible(void **state)
{
    (void)state;
    static struct chosen c;
    study_held_by_limits(&c.m);
    c.m.study.limit[SHV_LIMIT_PISTON_SPEED] = 1.0;
    sweep(&c, 10);
    assert_int_equal(c.ranking.count, 0);
    search(&c);
    assert_int_equal(c.count, 1);
    const struct shv_optimum *o = &c.rows[0];
    assert_true(!o->found && !o->real_found);
    assert_int_equal(o->binding, -1);
    assert_true(isnan(o->objective) && isnan(o->loss) && isnan(o->plain_difference));
    assert_true(o->evaluations > 0);
    clean(&c);
}

/* ---- broken off and gone on with ---- */

struct kept {
    struct shv_optimum row[8];
    size_t known, found, stop_after, told;
};

static bool take_known(void *data, size_t row, struct shv_optimum *optimum)
{
    struct kept *k = data;
    if (row < k->known) {
        *optimum = k->row[row];
    }
    return row < k->known;
}

static enum shv_status keep_found(void *data, size_t row, const struct shv_optimum *optimum,
                                  struct shv_message *message)
{
    struct kept *k = data;
    (void)message;
    assert_true(row == k->known + k->found && row < 8);
    k->row[row] = *optimum;
    k->found++;
    return SHV_OK;
}

static bool stop_after(void *data, size_t done, size_t total)
{
    struct kept *k = data;
    assert_true(done >= k->told && done <= total);
    k->told = done;
    return done < k->stop_after;
}

static void gone_on_with_it_ends_the_same(void **state)
{
    (void)state;
    static struct chosen c;
    struct kept k = {.stop_after = 2};
    struct shv_message message = {""};
    made_mixed(&c.m, 9, 45e3, SHV_BLEED_TO_INLET);
    c.m.study.cooler_count = 2;
    c.m.study.numbers[SHV_DIM_LAMBDA].count = 1;
    sweep(&c, 200);
    search(&c);
    assert_true(c.count > 4 && c.count <= 8);
    const struct shv_optimum_options how = {{stop_after, &k}, take_known, keep_found, &k};
    struct shv_optimum *again;
    size_t count;
    omp_set_num_threads(1); /* so that rows come in order */
    assert_int_equal(shv_optimum_search(c.model, &c.space, &c.keep, &how, &again, &count, &message),
                     SHV_STOPPED);
    assert_null(again);
    assert_int_equal(k.found, 2);
    k = (struct kept){.row = {k.row[0], k.row[1]}, .known = 2, .stop_after = SIZE_MAX};
    assert_int_equal(shv_optimum_search(c.model, &c.space, &c.keep, &how, &again, &count, &message),
                     SHV_OK);
    assert_int_equal(k.found, c.count - 2);
    assert_int_equal(count, c.count);
    uint64_t a[256], b[256];
    assert_true(shv_optimum_words() <= 256);
    for (size_t i = 0; i < count; i++) {
        shv_optimum_pack(&again[i], a);
        shv_optimum_pack(&c.rows[i], b);
        assert_memory_equal(a, b, shv_optimum_words() * sizeof *a);
    }
    free(again);
    clean(&c);
}

/* A map, bleed and coolers with a loop: the answer still stands in the plain model. */
static void all_kinds_of_parts(void **state)
{
    (void)state;
    static struct chosen c;
    made_mixed(&c.m, 9, 45e3, SHV_BLEED_TO_INLET);
    c.m.study.cooler_count = 4;
    c.m.study.fuel_count = 1;
    c.m.study.numbers[SHV_DIM_LAMBDA].count = 1;
    sweep(&c, 200);
    search(&c);
    assert_int_equal(c.count, 4);
    for (size_t i = 0; i < c.count; i++) {
        assert_true(c.rows[i].found);
        check_ideal(&c, &c.rows[i]);
        if (c.rows[i].real_found) {
            check_real(&c, &c.rows[i]);
        }
    }
    clean(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(held_by_limits),
        cmocka_unit_test(optimum_inside_the_range),
        cmocka_unit_test(held_by_a_limit_that_jumps),
        cmocka_unit_test(other_objectives),
        cmocka_unit_test(no_help_from_the_sweep),
        cmocka_unit_test(bounded_in_mixtures_and_margins),
        cmocka_unit_test(same_bytes_again_and_on_any_number_of_threads),
        cmocka_unit_test(nothing_feasible),
        cmocka_unit_test(gone_on_with_it_ends_the_same),
        cmocka_unit_test(all_kinds_of_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
