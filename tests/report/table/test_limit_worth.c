/* limit_worth.csv and the sentences from it. */
#include "report/fixture.h"

#include "report/table/limit_worth.h"

static const struct shv_limit_worth worths[] = {{.optimum = 0,
                                                 .kind = SHV_WORTH_LIMIT,
                                                 .of = SHV_LIMIT_DISCHARGE_TEMPERATURE,
                                                 .bound = 423.15,
                                                 .step = 5.0,
                                                 .active = true,
                                                 .of_point = true,
                                                 .site = 1,
                                                 .speed = 2,
                                                 .share = 0.0,
                                                 .gain = 2100.0,
                                                 .next = SHV_LIMIT_BOOST,
                                                 .next_of_point = true,
                                                 .next_site = 0,
                                                 .next_speed = 1,
                                                 .next_steps = 0.5},
                                                {.optimum = 0,
                                                 .kind = SHV_WORTH_LIMIT,
                                                 .of = SHV_LIMIT_PRICE,
                                                 .bound = 5000.0,
                                                 .step = 100.0,
                                                 .share = 0.25,
                                                 .gain = 0.0,
                                                 .next = -1,
                                                 .next_steps = NAN},
                                                {.optimum = 0,
                                                 .kind = SHV_WORTH_CHOICE,
                                                 .of = SHV_WORTH_OF_LAMBDA,
                                                 .bound = 0.9,
                                                 .step = -0.05,
                                                 .share = NAN,
                                                 .gain = -1500.0,
                                                 .next = -1,
                                                 .next_steps = NAN}};

static void give(struct fixture *f)
{
    f->run.limit_worths = worths;
    f->run.worth_count = sizeof worths / sizeof *worths;
}

static void rows_are_written(void **state)
{
    struct fixture *f = *state;
    give(f);
    assert_int_equal(shv_report_file(&f->run, "limit_worth.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "limit_worth.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 4);
    assert_string_equal(csv_at(csv, 1, "kind"), "limit");
    assert_string_equal(csv_at(csv, 1, "name"), "discharge_temperature");
    assert_string_equal(csv_at(csv, 1, "active"), "yes");
    assert_close(csv_value(csv, 1, "bound"), 150.0, 1e-9);
    assert_close(csv_value(csv, 1, "step"), 5.0, 1e-9); /* a difference has no zero point */
    assert_string_equal(csv_at(csv, 1, "unit"), "degC");
    assert_close(csv_value(csv, 1, "gain_power_kW"), 2.1, 1e-9);
    assert_string_equal(csv_at(csv, 1, "next_limit"), "boost");
    assert_close(csv_value(csv, 1, "next_steps"), 0.5, 1e-9);
    assert_string_equal(csv_at(csv, 2, "active"), "no");
    assert_string_equal(csv_at(csv, 2, "site"), "");
    assert_string_equal(csv_at(csv, 2, "next_limit"), "");
    assert_string_equal(csv_at(csv, 3, "name"), "lambda");
    assert_string_equal(csv_at(csv, 3, "active"), "");
    assert_close(csv_value(csv, 3, "gain_power_kW"), -1.5, 1e-9);
    csv_free(csv);
}

static char *said(const struct shv_run *run)
{
    char *words = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&words, &size);
    struct report_text text;
    struct shv_message message;
    assert_non_null(out);
    report_text_init(&text, out);
    report_say_limit_worth(run, &text);
    assert_int_equal(report_text_finish(&text, "prices", &message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    return words;
}

static void sentences_say_what_helps(void **state)
{
    struct fixture *f = *state;
    char *words = said(&f->run);
    assert_string_equal(words, "");
    free(words);
    give(f);
    words = said(&f->run);
    assert_non_null(strstr(words, "discharge temperature at "));
    assert_non_null(strstr(words, "5.0 K more would give 2.1 kW; boost at "));
    assert_null(strstr(words, "    price"));
    free(words);
    f->run.limit_worths = worths + 1;
    f->run.worth_count = 1;
    words = said(&f->run);
    assert_non_null(strstr(words, "no limit"));
    free(words);
}

/* Of two ideals with one fuel the better one is told, wherever it stands. */
static void the_best_ideal_of_a_fuel(void **state)
{
    struct fixture *f = *state;
    give(f);
    f->optima[1] = f->optima[0];
    f->optima[1].blower = 0;
    f->optima[1].objective = 149e3;
    char *words = said(&f->run), better[64];
    (void)snprintf(better, sizeof better, ", %s:", f->study.blowers[f->optima[0].blower].name);
    assert_non_null(strstr(words, better));
    assert_non_null(strstr(words, "5.0 K more would give 2.1 kW"));
    free(words);
    f->optima[1].objective = 151e3;
    words = said(&f->run);
    assert_null(strstr(words, better));
    assert_non_null(strstr(words, "no limit"));
    free(words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(rows_are_written, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(sentences_say_what_helps, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(the_best_ideal_of_a_fuel, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
