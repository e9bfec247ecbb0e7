/* rejected.csv: the counts add up and stand under their names. */
#include "report/fixture.h"

static struct csv *written(struct fixture *f)
{
    assert_int_equal(shv_report_file(&f->run, "rejected.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "rejected.csv"));
    assert_even(csv);
    return csv;
}

static size_t row_of(const struct csv *csv, const char *reason)
{
    for (size_t r = 1; r < csv->records; r++) {
        if (strcmp(csv_at(csv, r, "reason"), reason) == 0) {
            return r;
        }
    }
    fail_msg("no reason %s", reason);
    return 0;
}

static void rows_add_up_to_the_total(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = written(f);
    size_t last = csv->records - 1;
    double sum = 0.0, share = 0.0;
    for (size_t r = 1; r < last; r++) {
        sum += csv_value(csv, r, "combinations");
        share += csv_value(csv, r, "share_pct");
    }
    assert_true(sum == 144.0);
    assert_close(share, 100.0, 1e-4);
    assert_string_equal(csv_at(csv, 1, "reason"), "feasible");
    assert_string_equal(csv_at(csv, last, "reason"), "total");
    assert_true(csv_value(csv, last, "combinations") == 144.0);
    csv_free(csv);
}

static void each_reason_has_its_counts(void **state)
{
    struct fixture *f = *state;
    f->counts = (struct shv_sweep_counts){.total = 3000000000000, .feasible = 5};
    for (int i = 1; i < SHV_OUTCOME_COUNT; i++) {
        f->counts.failed[i] = 100 + (uint64_t)i;
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        f->counts.first[i] = 200 + (uint64_t)i;
        f->counts.broken[i] = 300 + (uint64_t)i;
    }
    struct csv *csv = written(f);
    assert_int_equal(csv->records, 1 + 1 + (SHV_OUTCOME_COUNT - 1) + SHV_LIMIT_COUNT + 1);
    for (int i = 1; i < SHV_OUTCOME_COUNT; i++) {
        size_t r = row_of(csv, shv_outcome_name((enum shv_outcome)i));
        assert_string_equal(csv_at(csv, r, "kind"), "failure");
        assert_true(csv_value(csv, r, "combinations") == 100.0 + i);
        assert_string_equal(csv_at(csv, r, "breaking"), "");
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        size_t r = row_of(csv, shv_limit_info((enum shv_limit)i)->name);
        assert_string_equal(csv_at(csv, r, "kind"), "limit");
        assert_true(csv_value(csv, r, "combinations") == 200.0 + i);
        assert_true(csv_value(csv, r, "breaking") == 300.0 + i);
        assert_string_equal(csv_at(csv, r, "meaning"), shv_limit_info((enum shv_limit)i)->meaning);
    }
    assert_string_equal(csv_at(csv, row_of(csv, "total"), "combinations"), "3000000000000");
    csv_free(csv);
}

static void missing_folder_is_told(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "rejected.csv", "/tmp/sheave-not-there", &f->message),
                     SHV_IO);
    assert_non_null(strstr(f->message.text, "rejected.csv"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(rows_add_up_to_the_total, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(each_reason_has_its_counts, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(missing_folder_is_told, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
