/* manifest.cfg is read again by libconfig. */
#include <libconfig.h>

#include "report/fixture.h"

static void read_back(struct fixture *f, config_t *config)
{
    char path[128];
    (void)snprintf(path, sizeof path, "%s/manifest.cfg", f->folder);
    config_init(config);
    if (!config_read_file(config, path)) {
        fail_msg("%s:%d: %s", path, config_error_line(config), config_error_text(config));
    }
}

static const char *text_at(const config_t *config, const char *path)
{
    const char *text = NULL;
    assert_true(config_lookup_string(config, path, &text));
    return text;
}

static long long count_at(const config_t *config, const char *path)
{
    long long count = -1;
    assert_true(config_lookup_int64(config, path, &count));
    return count;
}

static void all_of_it_comes_back(void **state)
{
    struct fixture *f = *state;
    config_t config;
    f->counts.total = 5000000000;
    f->study.title = "a \"kit\" \\ for K\xC3\xBChler\n\ttwo lines \x01";
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_string_equal(text_at(&config, "program"), "sheave");
    assert_string_equal(text_at(&config, "version"), shv_version());
    assert_string_equal(text_at(&config, "study.path"), "kits/demo.cfg");
    assert_string_equal(text_at(&config, "study.title"), f->study.title);
    assert_string_equal(text_at(&config, "study.sha256"), f->study.sha256);
    assert_string_equal(text_at(&config, "study.sha256_all"), f->study.sha256_all);
    assert_string_equal(text_at(&config, "study.units"), "metric");
    assert_int_equal(count_at(&config, "space.combinations"), 144);
    assert_int_equal(count_at(&config, "space.sites"), 2);
    assert_true(count_at(&config, "counts.total") == 5000000000);
    assert_int_equal(count_at(&config, "counts.first_broken.boost"),
                     f->counts.first[SHV_LIMIT_BOOST]);
    assert_int_equal(count_at(&config, "counts.broken.boost"), f->counts.broken[SHV_LIMIT_BOOST]);
    assert_int_equal(count_at(&config, "counts.failed.no_match"),
                     f->counts.failed[SHV_POINT_NO_MATCH]);
    assert_string_equal(text_at(&config, "run.options"), "--threads 2");
    assert_int_equal(count_at(&config, "run.threads"), 2);
    double seconds = NAN;
    assert_true(config_lookup_float(&config, "run.seconds_sweep", &seconds));
    assert_true(seconds == 1.5);
    config_destroy(&config);
}

static double number_at(const config_t *config, const char *path)
{
    double number = NAN;
    assert_true(config_lookup_float(config, path, &number));
    return number;
}

static void objective_is_told(void **state)
{
    struct fixture *f = *state;
    config_t config;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_string_equal(text_at(&config, "objective.words"), "peak power, mean over the sites");
    assert_string_equal(text_at(&config, "objective.column"), "objective_power_kW");
    assert_close(number_at(&config, "objective.best"), f->ranking.item[0].objective / 1e3, 1e-9);
    assert_null(config_lookup(&config, "objective.currency"));
    config_destroy(&config);
    f->study.results.units = SHV_US;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_string_equal(text_at(&config, "objective.column"), "objective_power_hp");
    config_destroy(&config);
    f->study.results.units = SHV_METRIC;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    f->study.currency = "crowns";
    f->ranking.item[0].objective = -2500.0;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_string_equal(text_at(&config, "objective.column"), "objective_price");
    assert_string_equal(text_at(&config, "objective.currency"), "crowns");
    assert_true(number_at(&config, "objective.best") == 2500.0);
    config_destroy(&config);
    f->ranking.count = 0;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_null(config_lookup(&config, "objective.best"));
    config_destroy(&config);
}

static void units_are_the_word_of_the_study(void **state)
{
    struct fixture *f = *state;
    config_t config;
    f->study.results.units = SHV_US;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_string_equal(text_at(&config, "study.units"), "US");
    config_destroy(&config);
}

static void every_dimension_has_its_size(void **state)
{
    struct fixture *f = *state;
    config_t config;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    for (int i = 0; i < SHV_DIM_COUNT; i++) {
        char path[64];
        (void)snprintf(path, sizeof path, "space.%s", shv_dim_info((enum shv_dim)i)->name);
        assert_int_equal(count_at(&config, path), f->space.count[i]);
    }
    config_destroy(&config);
}

/* Two runs of one study differ in the group `run` only. */
static void what_varies_stands_apart(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    char *first = read_whole(f->folder, "manifest.cfg");
    f->run.threads = 7;
    f->run.seconds_tables = f->run.seconds_sweep = f->run.seconds_search = 99.0;
    f->run.seconds_total = 999.0;
    f->run.started = "2030-01-01T00:00:00Z";
    f->run.options = "--threads 7";
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    char *second = read_whole(f->folder, "manifest.cfg");
    char *a = strstr(first, "\nrun "), *b = strstr(second, "\nrun ");
    assert_non_null(a);
    assert_non_null(b);
    assert_string_not_equal(a, b);
    *a = *b = '\0';
    assert_string_equal(first, second);
    free(first);
    free(second);
}

static void fronts_are_told(void **state)
{
    struct fixture *f = *state;
    struct shv_tradeoff tradeoff = {{SHV_TRADE_POWER, SHV_TRADE_PRICE, SHV_TRADE_COUNT}, 0.0};
    struct shv_front_point points[] = {{.index = 3, .value = {4.0, 10.0}},
                                       {.index = 5, .value = {5.0, 9.0}},
                                       {.index = 9, .value = {6.0, 7.0}}};
    struct shv_keep keep;
    config_t config;
    f->study.tradeoffs = &tradeoff;
    f->study.tradeoff_count = 1;
    assert_int_equal(shv_keep_init(&keep, &f->study, &f->message), SHV_OK);
    for (size_t i = 0; i < 3; i++) {
        assert_true(shv_front_offer(&keep.front[0], &points[i]));
    }
    f->run.keep = &keep;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_int_equal(count_at(&config, "tradeoffs.[0].points"), 3);
    assert_int_equal(config_setting_length(config_lookup(&config, "tradeoffs.[0].best")), 2);
    assert_int_equal(config_setting_length(config_lookup(&config, "tradeoffs.[0].reference")), 2);
    assert_true(number_at(&config, "tradeoffs.[0].best.[0]") == 6.0);
    assert_true(number_at(&config, "tradeoffs.[0].best.[1]") == 10.0);
    assert_true(number_at(&config, "tradeoffs.[0].reference.[0]") == 4.0);
    assert_true(number_at(&config, "tradeoffs.[0].reference.[1]") == 7.0);
    /* Of the box of 2 by 3 only (5, 9) covers anything: 1 by 2. */
    assert_close(number_at(&config, "tradeoffs.[0].hypervolume"), 2.0, 1e-12);
    assert_close(number_at(&config, "tradeoffs.[0].hypervolume_share"), 2.0 / 6.0, 1e-12);
    config_destroy(&config);
    shv_keep_free(&keep);
}

/* Coarse tables, which take no time. */
static void give_tables(struct fixture *f)
{
    for (size_t i = 0; i < shv_model_table_count(f->model); i++) {
        struct shv_cycle_table_spec spec, unused;
        struct shv_cycle_table_options options;
        struct shv_cycle_table table;
        shv_cycle_table_defaults(&unused, &options);
        shv_model_table_spec(f->model, i, &spec);
        options.efficiency = options.peak_pressure = 10.0;
        options.ca50 = 1e3;
        options.samples = 5;
        for (int k = 0; k < SHV_CYCLE_DIRECTIONS; k++) {
            options.first_nodes[k] = (size_t)(4 + k);
        }
        assert_int_equal(shv_cycle_table_build(&table, &spec, &options, NULL, &f->message), SHV_OK);
        shv_model_take_table(f->model, i, &table);
    }
}

static void cycle_and_its_tables_can_be_traced(void **state)
{
    struct fixture *f = *state;
    struct shv_table_report reports[2] = {{.build = {.from_file = true, .key = "0123abcd"}}};
    config_t config;
    give_tables(f);
    f->run.tables = reports;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    double least = INFINITY;
    for (size_t i = 0; i < 3; i++) {
        least = fmin(least, shv_model_tie_factor(f->model, i));
    }
    assert_close(number_at(&config, "cycle.tie_least"), least, 1e-9);
    assert_true(number_at(&config, "cycle.tie_least") <= number_at(&config, "cycle.tie_most"));
    assert_true(number_at(&config, "cycle.tie_most_rpm") >= 2400.0);
    assert_int_equal(config_setting_length(config_lookup(&config, "cycle.tables")), 2);
    assert_string_equal(text_at(&config, "cycle.tables.[0].fuel"), "pump-95");
    assert_string_equal(text_at(&config, "cycle.tables.[1].site"), "hill");
    assert_close(number_at(&config, "cycle.tables.[0].lambda"), 0.82, 1e-9);
    const struct shv_cycle_table *table = shv_model_table(f->model, 0);
    assert_int_equal(count_at(&config, "cycle.tables.[0].pressure_nodes"), table->axis[0].nodes);
    assert_int_equal(count_at(&config, "cycle.tables.[0].rounds"), table->quality.rounds);
    assert_int_equal(count_at(&config, "cycle.tables.[0].compared"), table->quality.compared);
    assert_close(number_at(&config, "cycle.tables.[0].error_random.efficiency_pct"),
                 100.0 * table->quality.random.efficiency, 1e-9);
    assert_string_equal(text_at(&config, "run.tables.[0].key"), "0123abcd");
    assert_string_equal(text_at(&config, "run.tables.[0].from_file"), "yes");
    assert_string_equal(text_at(&config, "run.tables.[1].from_file"), "no");
    config_destroy(&config);
}

static void other_models_have_no_cycle(void **state)
{
    struct fixture *f = *state;
    config_t config;
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
    read_back(f, &config);
    assert_null(config_lookup(&config, "cycle"));
    assert_null(config_lookup(&config, "run.tables"));
    config_destroy(&config);
}

static void full_disk_leaves_nothing(void **state)
{
    struct fixture *f = *state;
    char part[128];
    (void)snprintf(part, sizeof part, "%s/manifest.cfg.part", f->folder);
    struct rlimit before = limit_files(100);
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_IO);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_non_null(strstr(f->message.text, "File too large"));
    assert_null(read_whole(f->folder, "manifest.cfg"));
    assert_int_not_equal(access(part, F_OK), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(all_of_it_comes_back, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(objective_is_told, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(fronts_are_told, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(units_are_the_word_of_the_study, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(every_dimension_has_its_size, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(every_dimension_has_its_size, fixture_belt_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(what_varies_stands_apart, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(what_varies_stands_apart, fixture_cycle_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(cycle_and_its_tables_can_be_traced, fixture_cycle_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(other_models_have_no_cycle, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(full_disk_leaves_nothing, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
