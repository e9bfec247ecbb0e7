/* The kits that hold: against looking at every pulley of the best row's family. */
#include "support/choose_studies.h"

#include "sheave/sweep.h"
#include "sheave/tolerance.h"

struct found {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_sure_list list;
};

static void begin(struct found *f, double hold, size_t rows)
{
    struct shv_sweep_counts counts;
    struct shv_sweep_options options = {.threads = 1};
    *f = (struct found){.list = {.row = NULL}};
    study_held_by_limits(&f->m);
    made_blower_pulleys(&f->m, 40, 0.056, 0.160);
    struct shv_tolerances *t = &f->m.study.tolerances;
    t->given = true;
    t->samples = 256;
    t->seed = 4;
    t->hold = hold;
    t->rows = rows;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    t->of[SHV_CORRECT_AMBIENT_TEMPERATURE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 8.0};
    f->model = made_model(&f->m);
    assert_int_equal(shv_space_init(&f->space, &f->m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&f->ranking, 20, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(f->model, &f->space, &options, &f->ranking, &counts, NULL),
                     SHV_OK);
    assert_true(f->ranking.count > rows);
}

static void end(struct found *f)
{
    shv_sure_free(&f->list);
    shv_ranking_free(&f->ranking);
    shv_model_free(f->model);
    made_end(&f->m);
}

static void search(struct found *f)
{
    struct shv_message message = {{0}};
    if (shv_sure_search(f->model, &f->space, &f->ranking, NULL, 0, NULL, &f->list, &message) !=
        SHV_OK) {
        fail_msg("%s", message.text);
    }
}

static void against_every_pulley(void **state)
{
    (void)state;
    static struct found f;
    begin(&f, 0.9, 1);
    search(&f);
    assert_true(f.list.asked && f.list.count == 2 && f.list.best == 1);
    const struct shv_sure *first = &f.list.row[0], *sure = &f.list.row[1];
    assert_int_equal(first->kind, SHV_SURE_RANKED);
    assert_int_equal(first->index, f.ranking.item[0].index);
    assert_same_bits(first->nominal, f.ranking.item[0].objective);
    assert_true(first->nominal_feasible && !first->is_sure && first->all.value < 0.9);
    assert_int_equal(sure->kind, SHV_SURE_BACKED);
    assert_true(sure->is_sure && sure->all.value >= 0.9);
    double best = -INFINITY;
    uint64_t choice[SHV_DIM_COUNT];
    shv_space_split(&f.space, f.ranking.item[0].index, choice);
    for (uint64_t p = 0; p < f.space.count[SHV_DIM_BLOWER_PULLEY]; p++) {
        struct shv_kit kit;
        static struct shv_sure row;
        choice[SHV_DIM_BLOWER_PULLEY] = p;
        shv_space_kit(&f.space, &f.m.study, shv_space_join(&f.space, choice), &kit);
        assert_int_equal(shv_sure_kits(f.model, &kit, 1, NULL, &row, NULL), SHV_OK);
        if (row.is_sure && row.nominal > best) {
            best = row.nominal;
        }
    }
    assert_same_bits(sure->nominal, best);
    end(&f);
}

static void none_holds(void **state)
{
    (void)state;
    static struct found f;
    begin(&f, 0.9, 2);
    f.m.study.limit[SHV_LIMIT_POWER] = 0.995 * f.ranking.item[0].objective; /* at least */
    search(&f);
    assert_true(f.list.asked && f.list.count == 2 && f.list.best == f.list.count);
    assert_true(f.list.families >= 1 && f.list.tried > 0);
    end(&f);
}

static void not_asked(void **state)
{
    (void)state;
    static struct found f;
    begin(&f, NAN, 3);
    search(&f);
    assert_true(!f.list.asked && f.list.count == 3);
    assert_false(f.list.row[0].is_sure);
    shv_sure_free(&f.list);
    f.m.study.tolerances.given = false;
    search(&f);
    assert_true(f.list.count == 0 && f.list.row == NULL);
    end(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(against_every_pulley),
                                       cmocka_unit_test(none_holds), cmocka_unit_test(not_asked)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
