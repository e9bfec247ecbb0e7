/* The kits that are listed: rows of the ranking, and the kit to sell beside them. */
#include "support/choose_studies.h"

#include "sheave/sweep.h"
#include "sheave/tolerance.h"

struct found {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_keep keep;
    struct shv_sure_list list;
};

static void begin(struct found *f, double hold, size_t rows)
{
    struct shv_sweep_counts counts;
    double *demand;
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
    assert_int_equal(shv_keep_init(&f->keep, &f->m.study, NULL), SHV_OK);
    assert_int_equal(shv_tolerance_demand(f->model, &f->space, &demand, NULL), SHV_OK);
    const struct shv_sweep_options options = {.keep = &f->keep, .demand = demand};
    assert_int_equal(shv_sweep_run(f->model, &f->space, &options, &f->ranking, &counts, NULL),
                     SHV_OK);
    free(demand);
    assert_true(f->ranking.count > rows);
}

static void end(struct found *f)
{
    shv_sure_free(&f->list);
    shv_keep_free(&f->keep);
    shv_ranking_free(&f->ranking);
    shv_model_free(f->model);
    made_end(&f->m);
}

static bool within(void *data, size_t done, size_t total)
{
    *(bool *)data &= done <= total;
    return true;
}

static void search(struct found *f)
{
    bool good = true;
    const struct shv_watch watch = {within, &good};
    struct shv_message message = {{0}};
    if (shv_sure_search(f->model, &f->space, &f->ranking, &f->keep, NULL, 0, &watch, &f->list,
                        &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_true(good); /* no more samples than were foretold */
}

static void beside_the_rows(void **state)
{
    (void)state;
    static struct found f;
    begin(&f, 0.9, 1);
    search(&f);
    assert_true(f.list.asked && f.list.count == 2 && f.list.best == 1 && f.list.complete);
    const struct shv_sure *first = &f.list.row[0], *sure = &f.list.row[1];
    assert_int_equal(first->kind, SHV_SURE_RANKED);
    assert_int_equal(first->index, f.ranking.item[0].index);
    assert_same_bits(first->nominal, f.ranking.item[0].objective);
    assert_true(first->nominal_feasible && !first->is_sure && first->all.value < 0.9);
    assert_int_equal(sure->kind, SHV_SURE_SOUGHT);
    assert_true(sure->is_sure && sure->all.value >= 0.9 && sure->nominal_feasible);
    assert_true(sure->nominal < first->nominal && sure->all.error > 0.0);
    end(&f);
}

/* When it is one of them it is listed once. */
static void one_of_the_rows(void **state)
{
    (void)state;
    static struct found f;
    begin(&f, 0.2, 3);
    search(&f);
    assert_true(f.list.count == 3 && f.list.best < 3 && f.list.row[f.list.best].is_sure);
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
    const struct CMUnitTest tests[] = {cmocka_unit_test(beside_the_rows),
                                       cmocka_unit_test(one_of_the_rows),
                                       cmocka_unit_test(not_asked)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
