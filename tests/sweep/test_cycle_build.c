/* Tables on many threads, kept from run to run. What the file itself does: test_cycle_cache.c. */
#include "sheave/cycle_build.h"
#include "support/cycle_place.h"

#include <sys/stat.h>

static struct shv_cycle_build_report build_in(const struct place *p, const char *folder,
                                              struct shv_cycle_table *t)
{
    struct shv_cycle_build_options build = {.threads = 2, .folder = folder};
    struct shv_cycle_build_report report;
    struct shv_message message = {{0}};
    if (shv_cycle_build(t, &p->spec, &p->options, &build, &report, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return report;
}

/* ---- threads ---- */

static void same_bits_for_any_number_of_threads(void **state)
{
    struct place *p = *state;
    p->options.efficiency = 1e-5; /* so that it refines */
    struct shv_cycle_table plain, t;
    assert_int_equal(shv_cycle_table_build(&plain, &p->spec, &p->options, NULL, NULL), SHV_OK);
    assert_true(plain.quality.rounds > 1);
    for (int threads = 1; threads <= 3; threads++) {
        struct shv_cycle_build_options build = {.threads = threads};
        struct shv_cycle_build_report report;
        assert_int_equal(shv_cycle_build(&t, &p->spec, &p->options, &build, &report, NULL), SHV_OK);
        assert_same_tables(&plain, &t);
        assert_true(!report.from_file && report.key[0] == '\0' && report.note[0] == '\0');
        shv_cycle_table_free(&t);
    }
    shv_cycle_table_free(&plain);
}

static void many_cases(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table_spec specs[3] = {p->spec, p->spec, p->spec};
    struct shv_cycle_table tables[3], alone;
    struct shv_cycle_build_options build = {.threads = 2};
    struct shv_cycle_build_report report;
    specs[1].at.lambda = 0.95;
    specs[2].fuel.ron = 98.0;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(shv_cycle_build(&tables[i], &specs[i], &p->options, &build, &report, NULL),
                         SHV_OK);
        assert_int_equal(shv_cycle_table_build(&alone, &specs[i], &p->options, NULL, NULL), SHV_OK);
        assert_same_tables(&tables[i], &alone);
        shv_cycle_table_free(&alone);
    }
    assert_true(tables[0].motored[100] != tables[1].motored[100]);
    const size_t knock = 100 * SHV_CYCLE_FIELDS + SHV_CYCLE_FIELDS - 1;
    assert_true(isfinite(tables[0].volumes[knock]) && isfinite(tables[2].volumes[knock]));
    assert_true(tables[0].volumes[knock] != tables[2].volumes[knock]);
    for (size_t i = 0; i < 3; i++) {
        shv_cycle_table_free(&tables[i]);
    }
}

static void a_bad_case_leaves_nothing(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table_spec bad = p->spec;
    struct shv_cycle_table table;
    struct shv_cycle_build_options build = {.threads = 2, .folder = p->folder};
    struct shv_cycle_build_report report;
    struct shv_message message = {{0}};
    bad.engine.stroke = 7.0;
    assert_int_equal(shv_cycle_build(&table, &bad, &p->options, &build, &report, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "engine.stroke is 7"));
    assert_empty_table(&table);
    build.threads = -1;
    assert_int_equal(shv_cycle_build(&table, &p->spec, &p->options, &build, &report, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "-1 threads"));
    assert_empty_table(&table);
}

/* ---- files ---- */

static void a_file_gives_the_same_bits(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table first, second;
    struct shv_cycle_build_report report = build_in(p, p->folder, &first);
    assert_false(report.from_file);
    assert_string_equal(report.key, p->key);
    assert_string_equal(report.note, "");
    assert_int_equal(files_in(p->folder, false), 1);
    report = build_in(p, p->folder, &second);
    assert_true(report.from_file);
    assert_string_equal(report.note, "");
    assert_same_tables(&first, &second);
    assert_same_tables(&p->table, &second);
    shv_cycle_table_free(&first);
    shv_cycle_table_free(&second);
}

/* A damaged file is told; the table is built, kept in its place and found the next time. */
static void a_damaged_file_is_begun_anew(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table t;
    stored(p);
    assert_int_equal(truncate(p->path, 5000), 0);
    struct shv_cycle_build_report report = build_in(p, p->folder, &t);
    assert_false(report.from_file);
    assert_non_null(strstr(report.note, "damaged"));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    report = build_in(p, p->folder, &t);
    assert_true(report.from_file);
    assert_string_equal(report.note, "");
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 1);
}

/* A folder of that name is neither read nor removed. */
static void a_folder_in_its_place(void **state)
{
    struct place *p = *state;
    assert_int_equal(mkdir(p->path, 0777), 0);
    struct shv_cycle_table t;
    struct shv_cycle_build_report report = build_in(p, p->folder, &t);
    assert_non_null(strstr(report.note, "cannot be written: "));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 1);
}

static void a_table_of_other_inputs_is_another(void **state)
{
    struct place *p = *state, q = *p;
    stored(p);
    q.spec.at.lambda = 0.9;
    assert_int_equal(cycle_cache_key(&q.spec, &q.options, q.key, NULL), SHV_OK);
    struct shv_cycle_table t, u;
    assert_false(build_in(&q, q.folder, &t).from_file);
    assert_true(build_in(p, p->folder, &u).from_file);
    assert_same_tables(&u, &p->table);
    shv_cycle_table_free(&u);
    assert_true(build_in(&q, q.folder, &u).from_file);
    assert_same_tables(&u, &t);
    shv_cycle_table_free(&t);
    shv_cycle_table_free(&u);
}

static void a_folder_that_cannot_be_written_is_a_note(void **state)
{
    struct place *p = *state;
    char missing[128];
    (void)snprintf(missing, sizeof missing, "%s/missing", p->folder);
    struct shv_cycle_table t;
    struct shv_cycle_build_report report = build_in(p, missing, &t);
    assert_false(report.from_file);
    assert_non_null(strstr(report.note, "cannot be written: No such file"));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(same_bits_for_any_number_of_threads), TEST(many_cases),
        TEST(a_bad_case_leaves_nothing),           TEST(a_file_gives_the_same_bits),
        TEST(a_damaged_file_is_begun_anew),        TEST(a_folder_in_its_place),
        TEST(a_table_of_other_inputs_is_another),  TEST(a_folder_that_cannot_be_written_is_a_note),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
