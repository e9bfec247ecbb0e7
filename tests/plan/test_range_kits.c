/* src/plan/range_kits.c: candidates from a sweep lose nothing, parts are known again across
 * studies. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "sheave/range_kits.h"

#define RANGE "tests/cli/studies/range.cfg"

static struct shv_range_file range;

static int load_range(void **state)
{
    (void)state;
    struct shv_diagnostics findings = {0};
    int status = chdir(SHEAVE_SOURCE_DIR);
    assert_int_equal(shv_range_file_load(RANGE, &range, &findings), SHV_OK);
    shv_diagnostics_free(&findings);
    return status;
}

static int free_range(void **state)
{
    (void)state;
    shv_range_file_free(&range);
    return 0;
}

struct swept {
    struct shv_range_variant variant;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
};

static void sweep(struct swept *s, size_t vehicle, size_t market, int threads)
{
    struct shv_diagnostics findings = {0};
    struct shv_message message;
    assert_int_equal(shv_range_variant_load(&range, vehicle, market, &s->variant, &findings),
                     SHV_OK);
    shv_diagnostics_free(&findings);
    assert_int_equal(shv_space_init(&s->space, &s->variant.study, &message), SHV_OK);
    assert_int_equal(shv_model_create(&s->variant.study, &s->model, &message), SHV_OK);
    assert_int_equal(
        shv_ranking_init(&s->ranking, (size_t)shv_range_kits_rows(&s->space), &message), SHV_OK);
    const struct shv_sweep_options how = {.threads = threads, .rows = SHV_ROWS_PARTS};
    assert_int_equal(shv_sweep_run(s->model, &s->space, &how, &s->ranking, &s->counts, &message),
                     SHV_OK);
}

static void free_swept(struct swept *s)
{
    shv_ranking_free(&s->ranking);
    shv_model_free(s->model);
    shv_range_variant_free(&s->variant);
}

/* A number for what is priced of a combination: all but fuel, lambda, margin and wrap. */
static uint64_t parts_of(const struct shv_space *space, uint64_t index)
{
    uint64_t choice[SHV_DIM_COUNT];
    shv_space_split(space, index, choice);
    choice[SHV_DIM_FUEL] = choice[SHV_DIM_LAMBDA] = choice[SHV_DIM_IGNITION_MARGIN] = 0;
    choice[SHV_DIM_WRAP] = 0;
    return shv_space_join(space, choice);
}

/* Against every combination, one by one: the best of each set of parts, and no set missing. */
static void test_best_of_each_set_of_parts(void **state)
{
    (void)state;
    struct swept s;
    struct shv_message message;
    struct shv_curves curves;
    sweep(&s, 0, 1, 2);
    double *best = calloc((size_t)s.space.size, sizeof *best);
    assert_non_null(best);
    assert_int_equal(shv_curves_init(&curves, s.model, &message), SHV_OK);
    size_t sets = 0;
    for (uint64_t i = 0; i < s.space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&s.space, &s.variant.study, i, &kit);
        shv_model_evaluate(s.model, &kit, &curves);
        double *most = &best[parts_of(&s.space, i)];
        if (curves.verdict.feasible) {
            sets += *most == 0.0;
            *most = curves.verdict.objective > *most ? curves.verdict.objective : *most;
        }
    }
    assert_true(sets > 10 && sets < s.counts.feasible); /* else it shows nothing */
    assert_int_equal(s.ranking.count, sets);
    for (size_t i = 0; i < s.ranking.count; i++) {
        assert_true(s.ranking.item[i].objective ==
                    best[parts_of(&s.space, s.ranking.item[i].index)]);
    }
    shv_curves_free(&curves);
    free(best);
    free_swept(&s);
}

static void add(struct shv_range_kits *kits, struct swept *s, size_t vehicle, size_t market)
{
    struct shv_message message;
    sweep(s, vehicle, market, 1);
    assert_int_equal(shv_range_kits_add(kits, vehicle, market, s->model, &s->space, &s->ranking,
                                        &s->counts, &message),
                     SHV_OK);
}

static void test_parts_are_shared(void **state)
{
    (void)state;
    struct shv_range_kits kits;
    struct shv_message message;
    struct swept s[4];
    assert_int_equal(shv_range_kits_init(&kits, &range, &message), SHV_OK);
    for (size_t i = 0; i < 4; i++) {
        add(&kits, &s[i], i / 2, i % 2);
    }
    assert_int_equal(shv_range_kits_finish(&kits, &message), SHV_OK);
    const struct shv_range_problem *p = &kits.problem;
    assert_int_equal(p->group_count, 8);
    assert_string_equal(p->group[0].name, "wagon, coast, simple");
    assert_true(p->group[1].sales == 6.0);
    size_t blowers = 0, cranks = 0;
    for (size_t i = 0; i < p->part_count; i++) {
        blowers += p->part[i].kind == SHV_STOCK_BLOWER;
        cranks += p->part[i].kind == SHV_STOCK_CRANK_PULLEY;
        assert_true(i == 0 || p->part[i - 1].kind <= p->part[i].kind);
        for (size_t k = 0; k < i; k++) {
            assert_false(p->part[i].kind == p->part[k].kind &&
                         strcmp(p->part[i].name, p->part[k].name) == 0);
        }
    }
    assert_true(blowers <= 2 && cranks == 2);
    for (size_t i = 0; i < 4; i++) {
        free_swept(&s[i]);
    }
    shv_range_kits_free(&kits);
}

/* The same name for another blower. */
static void test_another_part_of_the_same_name(void **state)
{
    (void)state;
    struct shv_range_kits kits;
    struct shv_message message;
    struct swept a, b;
    assert_int_equal(shv_range_kits_init(&kits, &range, &message), SHV_OK);
    add(&kits, &a, 0, 1);
    sweep(&b, 1, 1, 1);
    for (size_t i = 0; i < b.variant.study.blower_count; i++) {
        b.variant.study.blowers[i].displacement *= 1.01;
    }
    assert_int_equal(
        shv_range_kits_add(&kits, 1, 1, b.model, &b.space, &b.ranking, &b.counts, &message),
        SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "blower \"short\""));
    free_swept(&a);
    free_swept(&b);
    shv_range_kits_free(&kits);
}

/* Injectors, pumps and ribs for each blower, pulleys and core; wrap costs nothing. */
static void test_rows_of_sets_of_parts(void **state)
{
    (void)state;
    struct shv_space space = {.air_size = 1000, .supply_size = 24};
    space.count[SHV_DIM_WRAP] = 2;
    assert_int_equal(shv_range_kits_rows(&space), 12000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_best_of_each_set_of_parts),
        cmocka_unit_test(test_rows_of_sets_of_parts),
        cmocka_unit_test(test_parts_are_shared),
        cmocka_unit_test(test_another_part_of_the_same_name),
    };
    return cmocka_run_group_tests(tests, load_range, free_range);
}
