/* sure.csv, sensitivities.csv and how sure a kit is in words, from estimates made by hand. */
#include "report/pages.h"

#include "report/table/sure.h"

static struct shv_sure row[2];
static struct shv_sure_list list;

static struct shv_sampled sampled(double value, double error)
{
    return (struct shv_sampled){value, error};
}

/* The first is ranked and stands at its limits, the second is the kit to sell. */
static void give(struct fixture *f)
{
    struct shv_tolerances *t = &f->study.tolerances;
    t->given = true;
    t->samples = 512;
    t->hold = 0.9;
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.15, NAN};
    t->of[SHV_CORRECT_BLOWER_PULLEY] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 1e-4};
    memset(row, 0, sizeof row);
    for (size_t r = 0; r < 2; r++) {
        struct shv_sure *s = &row[r];
        shv_space_kit(&f->space, &f->study, f->ranking.item[r].index, &s->kit);
        s->kind = r == 0 ? SHV_SURE_RANKED : SHV_SURE_SOUGHT;
        s->rank = 1 + r;
        s->index = f->ranking.item[r].index;
        s->nominal = 100e3 - 4e3 * (double)r;
        s->nominal_feasible = r == 1;
        s->is_sure = r == 1;
        s->percentile[SHV_SURE_P5] = sampled(90e3, 111.0);
        s->percentile[SHV_SURE_P50] = sampled(99e3, 50.0);
        s->percentile[SHV_SURE_P95] = sampled(108e3, 222.0);
        s->all = sampled(r == 0 ? 0.4567 : 0.9321, 0.0123);
        s->answer = sampled(0.998, 0.001);
        for (size_t k = 0; k < SHV_LIMIT_COUNT; k++) {
            s->holds[k] = sampled(NAN, NAN);
        }
        s->holds[SHV_LIMIT_BOOST] = sampled(0.6543, 0.021);
        s->fails_most = r == 0 ? SHV_LIMIT_BOOST : SHV_SURE_NO_ANSWER;
        for (size_t i = 0; i < SHV_CORRECTION_COUNT; i++) {
            for (size_t q = 0; q < SHV_SURE_QUANTITIES; q++) {
                s->effect[i][q] = (struct shv_sure_effect){NAN, NAN, NAN};
            }
        }
        s->effect[SHV_CORRECT_LEAKAGE][0] = (struct shv_sure_effect){-8000.0, -1200.0, 0.62};
        s->effect[SHV_CORRECT_BLOWER_PULLEY][0] = (struct shv_sure_effect){9e6, 500.0, 0.38};
        s->effect[SHV_CORRECT_LEAKAGE][1 + SHV_LIMIT_BOOST] =
            (struct shv_sure_effect){20e3, 3000.0, 0.25};
        s->effect[SHV_CORRECT_BLOWER_PULLEY][1 + SHV_LIMIT_BOOST] =
            (struct shv_sure_effect){-7e7, -4000.0, 0.75};
    }
    list = (struct shv_sure_list){
        .row = row, .count = 2, .asked = true, .best = 1, .looked = 37, .complete = true};
    f->study.drive.belt.given = true; /* of so many ribs */
    f->run.sure = &list;
}

static struct csv *file(struct fixture *f, const char *name)
{
    assert_int_equal(shv_report_file(&f->run, name, f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, name));
    assert_even(csv);
    return csv;
}

static void rows_are_written(void **state)
{
    struct fixture *f = *state;
    give(f);
    row[1].kit.cooler = 0;
    row[1].kit.ribs = 6.0;
    struct csv *csv = file(f, "sure.csv");
    assert_int_equal(csv->records, 3);
    static const char *const texts[][3] = {{"kind", "ranked", "sought"},
                                           {"rank", "1", "2"},
                                           {"feasible", "no", "yes"},
                                           {"holds", "no", "yes"},
                                           {"fails_most", "boost", "no_answer"}};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        assert_string_equal(csv_at(csv, 1, texts[i][0]), texts[i][1]);
        assert_string_equal(csv_at(csv, 2, texts[i][0]), texts[i][2]);
    }
    assert_string_equal(csv_at(csv, 1, "blower"), f->blowers[row[0].kit.blower].name);
    assert_string_equal(csv_at(csv, 1, "cooler"), f->coolers[row[0].kit.cooler].name);
    assert_string_equal(csv_at(csv, 2, "cooler"), "none");
    assert_string_equal(csv_at(csv, 1, "ribs"), "");
    const struct {
        const char *name;
        double value;
    } numbers[] = {{"index", (double)row[0].index},
                   {"crank_pulley_mm", 1e3 * row[0].kit.crank_diameter},
                   {"blower_pulley_mm", 1e3 * row[0].kit.blower_diameter},
                   {"ratio", row[0].kit.ratio},
                   {"lambda", row[0].kit.lambda},
                   {"all_hold_pct", 45.67},
                   {"all_hold_error_pct", 1.23},
                   {"answered_pct", 99.8},
                   {"objective_power_kW", 100.0},
                   {"objective_p5_power_kW", 90.0},
                   {"objective_p5_power_error_kW", 0.111},
                   {"objective_p50_power_kW", 99.0},
                   {"objective_p50_power_error_kW", 0.05},
                   {"objective_p95_power_kW", 108.0},
                   {"objective_p95_power_error_kW", 0.222}};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        const char *cell = NULL;
        for (size_t k = 0; k < csv->fields[0] && !cell; k++) { /* whatever the unit's spelling */
            cell = strcmp(csv->cell[0][k], numbers[i].name) == 0 ? csv->cell[1][k] : NULL;
        }
        if (!cell) {
            fail_msg("no column %s", numbers[i].name);
            return;
        }
        assert_close(strtod(cell, NULL), numbers[i].value, 1e-4);
    }
    assert_string_equal(csv_at(csv, 2, "ribs"), "6");
    csv_free(csv);
    f->study.tolerances.hold = NAN; /* nothing was asked for */
    csv = file(f, "sure.csv");
    assert_string_equal(csv_at(csv, 2, "holds"), "");
    csv_free(csv);
}

/* Where less is better values are turned, and the low end is what is high. */
static void less_may_be_better(void **state)
{
    struct fixture *f = *state;
    give(f);
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    row[0].nominal = -330.0;
    row[0].percentile[SHV_SURE_P5] = sampled(-350.0, 1.0);
    row[0].percentile[SHV_SURE_P50] = sampled(-332.0, 2.0);
    row[0].percentile[SHV_SURE_P95] = sampled(-320.0, 3.0);
    row[0].effect[SHV_CORRECT_LEAKAGE][0].effect = -4.0;
    struct csv *csv = file(f, "sure.csv");
    assert_close(csv_value(csv, 1, "objective_charge_temperature_degC"), 330.0 - 273.15, 1e-9);
    assert_close(csv_value(csv, 1, "objective_p5_charge_temperature_degC"), 320.0 - 273.15, 1e-9);
    assert_close(csv_value(csv, 1, "objective_p95_charge_temperature_degC"), 350.0 - 273.15, 1e-9);
    assert_close(csv_value(csv, 1, "objective_p5_charge_temperature_error_K"), 3.0, 1e-9);
    assert_close(csv_value(csv, 1, "objective_p95_charge_temperature_error_K"), 1.0, 1e-9);
    csv_free(csv);
    csv = file(f, "sensitivities.csv");
    assert_close(csv_value(csv, 1, "effect_of_one_deviation"), 4.0, 1e-9);
    csv_free(csv);
}

static void effects_are_written(void **state)
{
    struct fixture *f = *state;
    give(f);
    struct csv *csv = file(f, "sensitivities.csv");
    /* Two kits, two tolerances, objective and boost. */
    assert_int_equal(csv->records, 1 + 8);
    assert_string_equal(csv_at(csv, 1, "kind"), "ranked");
    assert_string_equal(csv_at(csv, 1, "tolerance"), "leakage");
    assert_string_equal(csv_at(csv, 1, "quantity"), "objective");
    assert_string_equal(csv_at(csv, 1, "quantity_unit"), "kW");
    assert_string_equal(csv_at(csv, 1, "tolerance_unit"), "");
    assert_close(csv_value(csv, 1, "standard_deviation"), 0.15, 1e-9);
    assert_close(csv_value(csv, 1, "slope"), -8.0, 1e-9);
    assert_close(csv_value(csv, 1, "effect_of_one_deviation"), -1.2, 1e-9);
    assert_close(csv_value(csv, 1, "share_of_variance_pct"), 62.0, 1e-9);
    assert_string_equal(csv_at(csv, 2, "quantity"), "boost");
    assert_string_equal(csv_at(csv, 2, "quantity_unit"), "kPa");
    assert_close(csv_value(csv, 2, "effect_of_one_deviation"), 3.0, 1e-9);
    /* A pulley in millimetres: 0.1 mm half width of an even spread, kW for a millimetre. */
    assert_string_equal(csv_at(csv, 3, "tolerance"), "blower_pulley");
    assert_string_equal(csv_at(csv, 3, "tolerance_unit"), "mm");
    assert_close(csv_value(csv, 3, "standard_deviation"), 0.1 / sqrt(3.0), 1e-5);
    assert_close(csv_value(csv, 3, "slope"), 9.0, 1e-9);
    assert_string_equal(csv_at(csv, 5, "kind"), "sought");
    csv_free(csv);
}

static void without_tolerances_old_files_go(void **state)
{
    struct fixture *f = *state;
    give(f);
    csv_free(file(f, "sure.csv"));
    csv_free(file(f, "sensitivities.csv"));
    f->run.sure = NULL;
    assert_int_equal(shv_report_file(&f->run, "sure.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(shv_report_file(&f->run, "sensitivities.csv", f->folder, &f->message), SHV_OK);
    assert_null(read_whole(f->folder, "sure.csv"));
    assert_null(read_whole(f->folder, "sensitivities.csv"));
}

/* ---- in words ---- */

static char *said(struct fixture *f)
{
    char *words = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&words, &size);
    struct report_text text;
    assert_non_null(out);
    report_text_init(&text, out);
    report_say_sure(&text, &f->run);
    assert_int_equal(report_text_finish(&text, "it", NULL), SHV_OK);
    assert_int_equal(fclose(out), 0);
    for (char *c = words; (c = strchr(c, '\n')); *c = ' ') {
    }
    return words;
}

static void assert_says(struct fixture *f, const char *what, bool is_there)
{
    char *words = said(f);
    if ((strstr(words, what) != NULL) != is_there) {
        fail_msg("\"%s\" is %sin \"%s\"", what, is_there ? "not " : "", words);
    }
    free(words);
}

static void sentences(void **state)
{
    struct fixture *f = *state;
    give(f);
    assert_says(f, "How sure that is (512 samples of the tolerances)", true);
    assert_says(
        f,
        "Strongest on paper: 90.0 kW to 108.0 kW in nine cases of ten, and every limit holds "
        "with a probability of 45.7 % (+- 1.2).",
        true);
    assert_says(f, "Most often it is boost that fails: it holds with 65.4 %.", true);
    assert_says(f, "Most of that comes from leakage (62 % of the variance).", true);
    assert_says(
        f, "The limit of boost feels blower pulley most (75 % of the variance of its room).", true);
    assert_says(f, "Kit to sell, which holds every limit with 90 %: blower ", true);
    assert_says(f, "Most often it is that the model has no answer.", true);
    assert_says(f, "Shortfall of the kit to sell: 4.0 % of the 100.0 kW that the strongest", true);
    assert_says(f, "There may be better ones to sell", false);
    list.complete = false;
    assert_says(f, "There may be better ones to sell", true);
    row[1].all.value = 0.9996;
    assert_says(f, "with a probability of more than 99.9 % (+-", true);
    row[1].kit.effectiveness = 0.0;
    assert_says(f, ", no charge cooler, fuel ", true);
    row[1].kit.effectiveness = 0.75;
    row[1].kit.cooler = 1;
    assert_says(f, ", cooler core-small of effectiveness 0.75, fuel ", true);
    assert_ptr_equal(report_kit_to_sell(&f->run), &row[1]);
    list.best = 2; /* none */
    assert_says(f, "No kit was found that holds every limit with 90 %, among 37 sets", true);
    list.complete = true;
    assert_says(f, "No kit holds every limit with 90 %: none of the 37 sets of parts", true);
    assert_says(f, "Shortfall", false);
    assert_null(report_kit_to_sell(&f->run));
    list.best = 0; /* the strongest itself: nothing is lost */
    assert_says(f, "Kit to sell, which", true);
    assert_says(f, "Shortfall", false);
    list.asked = false;
    assert_says(f, "Kit to sell", false);
    assert_null(report_kit_to_sell(&f->run));
    list.count = 0;
    char *words = said(f);
    assert_string_equal(words, "");
    free(words);
}

static void one_kit(void **state)
{
    struct fixture *f = *state;
    char *text;
    size_t size;
    give(f);
    FILE *out = open_memstream(&text, &size);
    assert_int_equal(shv_report_sure_kit(&f->study, &row[0], out, &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text + 1); /* begins with a blank line */
    static const char *const lines[] = {
        "\nboost                                  65.4      2.1\n",
        "\nall of them                            45.7      1.2\n",
        "\nleakage                                -1.200     62.0          3.000     25.0\n",
        "\nblower pulley                           0.500     38.0         -4.000     75.0\n"};
    for (size_t i = 0; i < 4; i++) {
        if (!strstr(text, lines[i])) {
            fail_msg("\"%s\" is not in%s", lines[i], text);
        }
    }
    assert_null(strstr(text, "\nfriction"));
    free(text);
    out = open_memstream(&text, &size);
    assert_int_equal(shv_report_sure_kit(&f->study, &row[1], out, &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(text, "\nleakage                                -1.200     62.0\n"));
    free(text);
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    assert_int_equal(shv_report_sure_kit(&f->study, &row[0], full, &f->message), SHV_IO);
    assert_non_null(strstr(f->message.text, "cannot write how sure the kit is"));
    (void)fclose(full);
}

static void measures_of_tolerances(void **state)
{
    (void)state;
    assert_int_equal(report_tolerance_measure(SHV_CORRECT_CRANK_PULLEY), REPORT_LENGTH);
    assert_int_equal(report_tolerance_measure(SHV_CORRECT_AMBIENT_TEMPERATURE),
                     REPORT_TEMPERATURE_CHANGE);
    assert_int_equal(report_tolerance_measure(SHV_CORRECT_LEAKAGE), REPORT_NUMBER);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(rows_are_written),
        TEST(less_may_be_better),
        TEST(effects_are_written),
        TEST(without_tolerances_old_files_go),
        TEST(sentences),
        TEST(one_kit),
        cmocka_unit_test(measures_of_tolerances),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
