/* src/sweep/tables.c: which tables are built, and what a caller hears of them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "sheave/sheave.h"

#define STUDY SHEAVE_SOURCE_DIR "/tests/cli/studies/knock.cfg"

struct asked {
    struct shv_study study;
    struct shv_model *model;
    size_t steps, done, total;
    bool stops;
};

static void load(struct asked *a)
{
    struct shv_diagnostics findings = {0};
    struct shv_message message;
    *a = (struct asked){.steps = 0};
    assert_int_equal(shv_study_load(STUDY, &a->study, &findings), SHV_OK);
    shv_diagnostics_free(&findings);
    assert_int_equal(shv_model_create(&a->study, &a->model, &message), SHV_OK);
}

static void unload(struct asked *a)
{
    shv_model_free(a->model);
    shv_study_free(&a->study);
}

static void on_step(void *data, size_t done, size_t total)
{
    struct asked *a = data;
    assert_true(done >= a->done && done <= total);
    a->steps++;
    a->done = done;
    a->total = total;
}

static bool on_stop(void *data)
{
    return ((struct asked *)data)->stops;
}

/* A kit wants its own tables, the next caller the rest; each is told, and where it came from. */
static void test_what_is_built_is_told(void **state)
{
    (void)state;
    char folder[] = "/tmp/sheave-tables-XXXXXX", database[64];
    assert_non_null(mkdtemp(folder));
    struct asked a;
    struct shv_message message = {{0}};
    load(&a);
    size_t count = shv_model_table_count(a.model);
    assert_true(count >= 2);
    struct shv_table_report *reports = calloc(count, sizeof *reports);
    assert_non_null(reports);
    struct shv_table_place first = shv_model_table_place(a.model, 0);
    struct shv_kit kit = {.fuel = first.fuel,
                          .lambda = a.study.numbers[SHV_DIM_LAMBDA].values[first.lambda]};
    struct shv_tables_options how = {.threads = 2,
                                     .folder = folder,
                                     .only = &kit,
                                     .progress = on_step,
                                     .stop = on_stop,
                                     .data = &a};
    assert_int_equal(shv_tables_prepare(a.model, &how, reports, &message), SHV_OK);
    size_t wanted = 0;
    for (size_t i = 0; i < count; i++) {
        struct shv_table_place place = shv_model_table_place(a.model, i);
        bool mine = place.fuel == first.fuel && place.lambda == first.lambda;
        assert_int_equal(reports[i].wanted, mine);
        assert_int_equal(shv_model_has_table(a.model, i), mine);
        assert_false(reports[i].build.from_file);
        assert_int_equal(reports[i].build.key[0] != '\0', mine);
        wanted += mine;
    }
    assert_true(wanted > 0 && wanted < count);
    assert_int_equal(a.total, wanted);
    assert_int_equal(a.done, wanted);
    assert_int_equal(a.steps, wanted + 1);
    how.only = NULL;
    a.done = 0;
    assert_int_equal(shv_tables_prepare(a.model, &how, reports, &message), SHV_OK);
    for (size_t i = 0; i < count; i++) {
        struct shv_table_place place = shv_model_table_place(a.model, i);
        bool mine = place.fuel == first.fuel && place.lambda == first.lambda;
        assert_int_equal(reports[i].wanted, !mine); /* what is there is not wanted again */
        assert_true(shv_model_has_table(a.model, i));
    }
    assert_int_equal(a.total, count - wanted);
    unload(&a);

    load(&a); /* another model finds them in the folder */
    how.data = &a;
    assert_int_equal(shv_tables_prepare(a.model, &how, reports, &message), SHV_OK);
    for (size_t i = 0; i < count; i++) {
        assert_true(reports[i].wanted && reports[i].build.from_file);
    }
    unload(&a);
    free(reports);
    (void)snprintf(database, sizeof database, "%s/cycle-tables.db", folder);
    assert_int_equal(unlink(database), 0);
    assert_int_equal(rmdir(folder), 0);
}

static void test_stop_and_no_one_listening(void **state)
{
    (void)state;
    struct asked a;
    struct shv_message message = {{0}};
    load(&a);
    a.stops = true;
    const struct shv_tables_options how = {.threads = 1, .stop = on_stop, .data = &a};
    assert_int_equal(shv_tables_prepare(a.model, &how, NULL, &message), SHV_STOPPED);
    assert_string_equal(message.text, "stopped while the cycle tables were built");
    assert_false(shv_model_has_table(a.model, 0));
    unload(&a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_built_is_told),
        cmocka_unit_test(test_stop_and_no_one_listening),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
