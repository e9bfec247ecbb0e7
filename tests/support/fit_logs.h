/* Logs made up by a fit's own model, for tests of the fit: a small study without the closed cycle,
 * one kit, and files of readings with seeded noise. */
#ifndef SHEAVE_TESTS_SUPPORT_FIT_LOGS_H
#define SHEAVE_TESTS_SUPPORT_FIT_LOGS_H

#include "support/study_fixture.h"

#include "fit/fit_internal.h"

#define FIT_STUDY                                                                                  \
    "title = \"trial\";\n"                                                                         \
    "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"          \
    " compression_ratio = 9; speed = { from = \"1500 rpm\"; to = \"6500 rpm\"; step = \"500 "      \
    "rpm\"; };\n"                                                                                  \
    " efficiency = { model = \"stock_torque\"; };\n"                                               \
    " volumetric_efficiency = ((\"1500 rpm\", 0.80), (\"4000 rpm\", 0.92), (\"6500 rpm\", "        \
    "0.84));\n"                                                                                    \
    " stock_torque = ((\"1500 rpm\", \"150 N m\"), (\"4000 rpm\", \"185 N m\"), (\"6500 rpm\", "   \
    "\"155 N m\"));\n"                                                                             \
    " exhaust = { pressure_drop = \"12e3 Pa\"; flow = \"0.13 kg/s\"; };\n"                         \
    " stock = { temperature = \"298.15 K\"; }; };\n"                                               \
    "sites = ( { name = \"coast\"; altitude = \"0 m\"; } );\n"                                     \
    "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.08 m\"; };\n"                      \
    "blowers = ( { name = \"b\"; kind = \"geometry\"; displacement = \"0.0011 m3\"; leakage_area " \
    "= "                                                                                           \
    "\"40e-6 m2\";\n"                                                                              \
    " filling_loss = 0.03; reference_speed = \"14000 rpm\"; friction_torque = \"1.2 N m\"; } );\n" \
    "fuels = ( { name = \"f\"; stoichiometric = 14.6; heating_value = \"42.9e6 J/kg\"; density = " \
    "\"745 kg/m3\"; } "                                                                            \
    ");\n"                                                                                         \
    "limits = { boost = \"1e5 Pa\"; };\n"

#define FIT_COLUMN(channel, error)                                                                 \
    " { channel = \"" channel "\"; column = \"" channel "\"; " error " }"
#define FIT_MAP FIT_COLUMN("manifold_pressure", "error = \"1 kPa\";")
#define FIT_HOT FIT_COLUMN("discharge_temperature", "error = \"2 K\";")
#define FIT_POWER FIT_COLUMN("power", "error = \"1500 W\";")
#define FIT_AIR FIT_COLUMN("air_flow", "error = \"0.002 kg/s\";")
#define FIT_SPEED FIT_COLUMN("speed", "")

/* A study from the text above and a group `fit`. */
static inline void fit_study(struct shv_study *study, const char *fit)
{
    struct shv_diagnostics findings = {0};
    FILE *file = fopen("fit_trial.cfg", "w");
    assert_non_null(file);
    assert_true(fputs(FIT_STUDY, file) >= 0 && fputs(fit, file) >= 0);
    assert_int_equal(fclose(file), 0);
    enum shv_status status = shv_study_load("fit_trial.cfg", study, &findings);
    for (size_t i = 0; status != SHV_OK && i < findings.count; i++) {
        print_error("%s\n", findings.items[i].text);
    }
    assert_int_equal(status, SHV_OK);
    shv_diagnostics_free(&findings);
    remove("fit_trial.cfg");
}

/* Pairs of normal numbers by Box and Muller (1958). */
static inline double random_normal(uint64_t *state)
{
    double u = 1.0 - random_in(state, 0.0, 1.0), v = random_in(state, 0.0, 1.0);
    return sqrt(-2.0 * log(u)) * cos(2.0 * MADE_PI * v);
}

/* Writes a log: `cells` are those of the plan's columns in SI (rpm of speeds), row by row. */
static inline void fit_write_log(const char *path, const struct shv_measured_log *plan,
                                 const double *cells, size_t rows)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    for (size_t i = 0; i < plan->columns; i++) {
        const char *unit = shv_quantity_unit(shv_channel_info(plan->column[i].channel)->quantity);
        fprintf(file, "%s%s [%s]", i ? "," : "", plan->column[i].column, unit);
    }
    fputc('\n', file);
    for (size_t row = 0; row < rows; row++) {
        for (size_t i = 0; i < plan->columns; i++) {
            double cell = cells[row * plan->columns + i];
            if (isnan(cell)) {
                fprintf(file, "%s", i ? "," : "");
            } else {
                fprintf(file, "%s%.17g", i ? "," : "", cell);
            }
        }
        fputc('\n', file);
    }
    assert_int_equal(fclose(file), 0);
}

/* Reads it and adds it to the fit. */
static inline void fit_take_log(struct shv_fit *fit, const struct shv_study *study, size_t index,
                                const char *path)
{
    struct shv_units *units;
    struct shv_log log;
    struct shv_message message;
    struct shv_diagnostics findings = {0};
    const struct shv_engine *e = &study->engine;
    assert_int_equal(shv_units_open(&units, NULL), SHV_OK);
    if (shv_measured_read(&study->fit.log[index], path, units, e->speeds[0],
                          e->speeds[e->speed_count - 1], &log, &findings) != SHV_OK) {
        fail_msg("%s", findings.items[0].text);
    }
    if (shv_fit_add(fit, index, &log, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    shv_units_free(units);
}

/* Puts the model's own values at `truth` into the measured cells of a log whose conditions stand
 * there. */
static inline void fit_fill_cells(const struct shv_study *study, size_t index, const double *truth,
                                  double *cells, size_t rows)
{
    const struct shv_measured_log *plan = &study->fit.log[index];
    struct shv_fit *fit;
    for (size_t i = 0; i < rows * plan->columns; i++) {
        const struct shv_channel_info *info =
            shv_channel_info(plan->column[i % plan->columns].channel);
        cells[i] = info->use[plan->kind] == SHV_CHANNEL_MEASURED ? 1.0 : cells[i];
    }
    fit_write_log("fit_trial.csv", plan, cells, rows);
    assert_int_equal(shv_fit_create(study, 1, &fit, NULL), SHV_OK);
    fit_take_log(fit, study, index, "fit_trial.csv");
    assert_int_equal(fit_values(fit, 0, truth), SHV_OK);
    for (size_t i = 0; i < fit->readings; i++) {
        const struct shv_fit_entry *e = &fit->reading[i];
        cells[e->row * plan->columns + e->column] = fit_value(fit, 0, e->log, e->row, e->channel);
    }
    shv_fit_free(fit);
    remove("fit_trial.csv");
}

/* Runs a fit to one log. */
static inline void fit_one(const struct shv_study *study, const double *cells, size_t rows,
                           struct shv_fit **fit, struct shv_fit_result *result)
{
    struct shv_message message;
    fit_write_log("fit_trial.csv", &study->fit.log[0], cells, rows);
    assert_int_equal(shv_fit_create(study, 1, fit, NULL), SHV_OK);
    fit_take_log(*fit, study, 0, "fit_trial.csv");
    remove("fit_trial.csv");
    if (shv_fit_run(*fit, result, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
}

#endif
