/* The residuals of a fit as CSV: units of the log, signs, and what was dropped. */
#include "support/fit_logs.h"
#include "sheave/report.h"

#define PLAN                                                                                       \
    "fit = { logs = ( { name = \"dyno\"; columns = (" FIT_SPEED "," FIT_MAP "," FIT_HOT            \
    "); } );\n"                                                                                    \
    "free = ( { correction = \"leakage\"; from = 0.4; to = 2.5; } ); };\n"

/* Speed in rpm, pressure in bar, temperature in degrees Fahrenheit; the last row has no answer to
 * give, for it stands beyond the engine's speeds. */
static void put_log(void)
{
    FILE *file = fopen("residuals_log.csv", "w");
    assert_non_null(file);
    fputs("speed [rpm],manifold_pressure [bar],discharge_temperature [degF]\n"
          "2000,1.25,212\n3000,1.3,221\n5000,1.4,\n9000,1.4,230\n",
          file);
    assert_int_equal(fclose(file), 0);
}

struct cells {
    char *text, *cell[64][16];
    size_t rows, columns;
};

/* Without quotes, as the names here have none. */
static struct cells read_cells(const char *path)
{
    struct cells c = {.text = calloc(1, 1 << 16)};
    FILE *in = fopen(path, "rb");
    assert_true(c.text && in);
    (void)fread(c.text, 1, (1 << 16) - 1, in);
    assert_int_equal(fclose(in), 0);
    for (char *line = c.text; *line; c.rows++) {
        char *end = strstr(line, "\r\n");
        assert_non_null(end);
        *end = '\0';
        size_t column = 0;
        for (char *at = line; at; column++) {
            char *comma = strchr(at, ',');
            c.cell[c.rows][column] = at;
            if (comma) {
                *comma = '\0';
            }
            at = comma ? comma + 1 : NULL;
        }
        assert_true(c.rows == 0 || column == c.columns);
        c.columns = column;
        line = end + 2;
    }
    return c;
}

static const char *at(const struct cells *c, size_t row, const char *name)
{
    for (size_t i = 0; i < c->columns; i++) {
        if (strcmp(c->cell[0][i], name) == 0) {
            return c->cell[row][i];
        }
    }
    fail_msg("no column %s", name);
    return NULL;
}

static double number(const struct cells *c, size_t row, const char *name)
{
    return strtod(at(c, row, name), NULL);
}

static void every_reading_and_every_drop(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    struct shv_message message;
    fit_study(&study, PLAN);
    put_log();
    assert_int_equal(shv_fit_create(&study, 1, &fit, NULL), SHV_OK);
    fit_take_log(fit, &study, 0, "residuals_log.csv");
    remove("residuals_log.csv");
    if (shv_fit_run(fit, &r, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    const struct shv_fit_report report = {&study, fit, &r, "include.cfg"};
    assert_int_equal(shv_report_fit_residuals(&report, ".", "residuals_test.csv", &message),
                     SHV_OK);
    struct cells c = read_cells("residuals_test.csv");
    remove("residuals_test.csv");
    /* Five readings and a line dropped. */
    const struct shv_log *log = shv_fit_log(fit, 0);
    assert_int_equal(c.rows, 1 + 5 + log->drops);
    assert_int_equal(log->drops, 1);
    for (size_t i = 0; i < 5; i++) {
        const struct shv_fit_entry *e = &r.entry[i];
        bool hot = e->channel == SHV_CHANNEL_DISCHARGE_TEMPERATURE;
        assert_string_equal(at(&c, i + 1, "log"), "dyno");
        assert_string_equal(at(&c, i + 1, "run"), "run 1");
        assert_string_equal(at(&c, i + 1, "dropped"), "");
        assert_string_equal(at(&c, i + 1, "channel"),
                            hot ? "discharge_temperature" : "manifold_pressure");
        assert_string_equal(at(&c, i + 1, "unit"), hot ? "degF" : "bar");
        double scale = hot ? 1.8 : 1e-5, shift = hot ? 459.67 : 0.0;
        assert_relative(number(&c, i + 1, "measured"), scale * e->measured - shift, 1e-7);
        assert_relative(number(&c, i + 1, "modelled"), scale * e->modelled - shift, 1e-7);
        assert_within(number(&c, i + 1, "difference"), scale * (e->modelled - e->measured),
                      2e-5 * fabs(scale * (e->modelled - e->measured)));
        assert_relative(number(&c, i + 1, "deviation"), hot ? 3.6 : 0.01, 1e-6);
        assert_within(number(&c, i + 1, "residual"), e->residual, 1e-4 * fabs(e->residual));
        assert_relative(number(&c, i + 1, "weight"), e->weight, 1e-5);
    }
    assert_within(number(&c, 1, "measured"), 1.25, 1e-9);
    assert_within(number(&c, 2, "measured"), 212.0, 1e-6);
    assert_within(number(&c, 1, "engine_speed_rpm"), 2000.0, 1e-6);
    assert_within(number(&c, 1, "line"), 2.0, 0.0);
    assert_within(number(&c, 5, "line"), 4.0, 0.0);
    assert_within(number(&c, 5, "engine_speed_rpm"), 5000.0, 1e-6);
    /* What was dropped says why, and nothing else. */
    assert_within(number(&c, 6, "line"), 5.0, 0.0);
    assert_string_equal(at(&c, 6, "dropped"), shv_log_drop_words(log->drop[0].reason));
    assert_true(at(&c, 6, "dropped")[0] != '\0');
    assert_string_equal(at(&c, 6, "measured"), "");
    assert_string_equal(at(&c, 6, "weight"), "");
    free(c.text);
    assert_int_equal(shv_report_fit_residuals(&report, "/no/such/folder", "x.csv", &message),
                     SHV_IO);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_reading_and_every_drop)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
