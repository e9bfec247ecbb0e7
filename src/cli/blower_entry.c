/* sheave blower: a catalogue entry from points of a brochure or a bench. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli/cli.h"
#include "cli/pick.h"
#include "report/write/file.h"
#include "report/write/measure.h"
#include "report/write/text.h"
#include "sheave/blower_fit.h"

struct entry_arguments {
    const char *displacement, *name, *pressure, *temperature, *map;
    bool replace;
    struct cli_place to; /* of the map */
};

#define PLACE(member) offsetof(struct entry_arguments, member)
static const struct cli_option options[] = {
    {"displacement", "VOLUME", "swept per turn of the rotors, such as \"2.1 L\" (needed)",
     .place = PLACE(displacement)},
    {"name", "NAME", "of the entry (default: blower)", .place = PLACE(name)},
    {"inlet-pressure", "P", "of the points, where no column says it (default: 101.325 kPa)",
     .place = PLACE(pressure)},
    {"inlet-temperature", "T", "likewise (default: 25 degC)", .place = PLACE(temperature)},
    {"map", "CSV", "write the points as a map as well", .place = PLACE(map)},
    {"replace", NULL, "write over a map that is there", .place = PLACE(replace)},
    {.name = NULL}};

struct inputs {
    double displacement;
    struct shv_ambient inlet;
};

static bool read_one(const struct shv_units *units, const char *option, const char *text,
                     const struct pick_range *range, double *value)
{
    if (!pick_quantity("blower", units, option, range, text, value)) {
        return false;
    }
    if (!(*value >= range->low && *value <= range->high)) {
        cli_error("blower", "--%s: found \"%s\"; accepted %g to %g %s", option, text, range->low,
                  range->high, shv_quantity_unit(range->quantity));
        return false;
    }
    return true;
}

static bool read_options(const struct entry_arguments *a, const struct shv_units *units,
                         struct inputs *in)
{
    static const struct pick_range volume = {"", SHV_Q_DISPLACEMENT, 1e-5, 0.1},
                                   pressure = {"", SHV_Q_PRESSURE_ABSOLUTE, 30e3, 200e3},
                                   temperature = {"", SHV_Q_TEMPERATURE, 250.0, 350.0};
    if (!a->displacement) {
        cli_error("blower", "--displacement is needed, such as --displacement \"2.1 L\"");
        return false;
    }
    bool ok = read_one(units, "displacement", a->displacement, &volume, &in->displacement);
    ok = read_one(units, "inlet-pressure", a->pressure, &pressure, &in->inlet.pressure) && ok;
    return read_one(units, "inlet-temperature", a->temperature, &temperature,
                    &in->inlet.temperature) &&
           ok;
}

/* ---- the entry ---- */

/* How each stands in a study: its unit and what SI is multiplied by. */
static const struct {
    const char *unit;
    double factor;
} shown[SHV_BLOWER_PARAMETERS] = {[SHV_BLOWER_LEAKAGE_AREA] = {" mm2", 1e6},
                                  [SHV_BLOWER_FILLING_LOSS] = {"", 1.0},
                                  [SHV_BLOWER_FRICTION_TORQUE] = {" N m", 1.0},
                                  [SHV_BLOWER_WINDAGE_TORQUE] = {" N m", 1.0},
                                  [SHV_BLOWER_CASE_LOSS] = {"", 1.0}};

static void print_parameter(const struct shv_blower_fit *fit, enum shv_blower_parameter i)
{
    const char *unit = shown[i].unit, *quote = *unit ? "\"" : "";
    double value = fit->value[i] * shown[i].factor, error = fit->error[i] * shown[i].factor;
    if (fit->told[i]) {
        printf("    %s = %s%.4g%s%s; # +- %.2g%s\n", shv_blower_parameter_name(i), quote, value,
               unit, quote, error, unit);
    } else if (error > 0.0 && isfinite(error)) {
        printf("    # %s stays at 0: the points say %.2g +- %.2g%s\n", shv_blower_parameter_name(i),
               value, error, unit);
    } else {
        printf("    # %s stays at 0: the points don't tell it\n", shv_blower_parameter_name(i));
    }
}

static void print_entry(const struct entry_arguments *a, const struct shv_blower_fit *fit)
{
    printf("# From %zu points, %zu readings of %s. Errors are standard deviations,\n# %.3g times "
           "what readings are taken to be good to (flow and power 2 %%, temperature 3 K).\n",
           fit->log.rows, fit->readings, fit->log.path, fit->spread);
    printf("catalogue = { blowers = ( {\n    name = \"%s\";\n    kind = \"geometry\";\n    "
           "displacement = \"%.5g L\";\n",
           a->name, 1e3 * fit->blower.displacement);
    for (int i = 0; i < SHV_BLOWER_PARAMETERS; i++) {
        print_parameter(fit, (enum shv_blower_parameter)i);
    }
    double rpm = 60.0 * fit->blower.geometry.reference_speed;
    printf("    reference_speed = \"%.0f rpm\";\n    windage_reference_speed = \"%.0f rpm\";\n} ); "
           "};\n",
           rpm, rpm);
}

/* ---- residuals ---- */

static void head(struct report_text *text)
{
    static const char *const title[] = {"#",        "",      "rpm", "pressure ratio",
                                        "measured", "found", "off"};
    static const int widths[] = {-1, -20, 8, 15, 11, 11, 9};
    report_text_cells(text, 7, widths, title);
}

static void show_reading(struct report_text *text, const struct shv_blower_fit *fit, size_t row,
                         enum shv_channel channel, enum report_measure measure)
{
    double measured = shv_blower_fit_measured(fit, row, channel);
    double found = shv_blower_fit_modelled(fit, row, channel);
    const struct report_unit *unit = report_unit(measure, SHV_METRIC);
    char title[64];
    bool heat = measure == REPORT_TEMPERATURE;
    if (isnan(measured)) {
        return;
    }
    (void)snprintf(title, sizeof title, "%s, %s",
                   measure == REPORT_AIR_FLOW ? "flow"
                   : measure == REPORT_POWER  ? "power"
                                              : "temperature",
                   unit->label);
    report_text_left(text, 1, "#"); /* what is printed is a file for a study */
    report_text_left(text, 20, title);
    report_text_number(text, 8, 0,
                       60.0 * shv_blower_fit_measured(fit, row, SHV_CHANNEL_ROTOR_SPEED));
    report_text_number(text, 15, 3, shv_blower_fit_measured(fit, row, SHV_CHANNEL_PRESSURE_RATIO));
    report_text_number(text, 11, unit->decimals, report_shown(measure, SHV_METRIC, measured));
    report_text_number(text, 11, unit->decimals, report_shown(measure, SHV_METRIC, found));
    (void)snprintf(title, sizeof title, "%.1f %s",
                   heat ? found - measured : 100.0 * (found / measured - 1.0), heat ? "K" : "%");
    report_text_right(text, 9, title);
    report_text_end(text);
}

static enum shv_status print_residuals(const struct shv_blower_fit *fit,
                                       struct shv_message *message)
{
    struct report_text text;
    report_text_init(&text, stdout);
    head(&text);
    for (size_t row = 0; row < fit->log.rows; row++) {
        show_reading(&text, fit, row, SHV_CHANNEL_AIR_FLOW, REPORT_AIR_FLOW);
        show_reading(&text, fit, row, SHV_CHANNEL_BLOWER_POWER, REPORT_POWER);
        show_reading(&text, fit, row, SHV_CHANNEL_DISCHARGE_TEMPERATURE, REPORT_TEMPERATURE);
    }
    return report_text_finish(&text, "the points", message);
}

/* ---- the map ---- */

static bool write_rows(const struct shv_blower_fit *fit, FILE *out)
{
    bool good = fprintf(out,
                        "# From points of %s.\nrotor_speed_rpm,pressure_ratio,"
                        "volumetric_efficiency,shaft_power_kW\n",
                        fit->log.path) > 0;
    for (size_t row = 0; row < fit->log.rows && good; row++) {
        double p1, t1, speed = shv_blower_fit_measured(fit, row, SHV_CHANNEL_ROTOR_SPEED);
        shv_blower_fit_inlet(fit, row, &p1, &t1);
        double swept = shv_gas_density(&fit->gas, p1, t1) * fit->blower.displacement * speed;
        good = fprintf(out, "%.9g,%.6g,%.5g,%.6g\n", 60.0 * speed,
                       shv_blower_fit_measured(fit, row, SHV_CHANNEL_PRESSURE_RATIO),
                       shv_blower_fit_measured(fit, row, SHV_CHANNEL_AIR_FLOW) / swept,
                       1e-3 * shv_blower_fit_measured(fit, row, SHV_CHANNEL_BLOWER_POWER)) > 0;
    }
    return good;
}

/* Read again as a study would: whether there are enough points for a map shows there. */
static enum shv_status read_again(const char *path, const struct shv_blower_fit *fit,
                                  const struct shv_units *units, const struct inputs *in)
{
    struct shv_blower_map map;
    struct shv_diagnostics findings = {0};
    enum shv_status status =
        shv_blower_map_read(path, units, fit->blower.displacement, in->inlet.pressure,
                            in->inlet.temperature, &map, &findings);
    cli_print_findings("blower", &findings, SHV_OK, "");
    if (status == SHV_OK) {
        shv_blower_map_free(&map);
    }
    return status;
}

static enum shv_status write_map(const struct entry_arguments *a, const struct shv_blower_fit *fit,
                                 const struct shv_units *units, const struct inputs *in,
                                 struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, a->to.folder, a->to.name, message);
    if (status != SHV_OK) {
        return status;
    }
    status = report_file_finish(&file, write_rows(fit, file.stream), message);
    if (status == SHV_OK && read_again(a->map, fit, units, in) != SHV_OK) {
        (void)remove(a->map);
        return shv_fail(message, SHV_BAD_INPUT,
                        "--map: the points make no map: that takes two speeds or more of two "
                        "points or more, with power at all of them; %s was taken away again",
                        a->map);
    }
    return status;
}

/* ---- all ---- */

static enum shv_status work(const struct entry_arguments *a, const char *path,
                            const struct shv_units *units, const struct inputs *in,
                            struct shv_message *message)
{
    struct shv_blower_fit fit;
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_blower_fit_read(path, units, &in->inlet, &fit, &findings);
    size_t errors = findings.errors;
    cli_print_findings("blower", &findings, SHV_OK, "");
    if (status != SHV_OK) {
        status = shv_fail(message, status, "%zu error%s in the points; nothing was fitted", errors,
                          errors == 1 ? "" : "s");
    }
    if (status == SHV_OK) {
        status = shv_blower_fit_run(&fit, in->displacement, message);
    }
    if (status == SHV_OK) {
        print_entry(a, &fit);
        status = print_residuals(&fit, message);
    }
    if (status == SHV_OK && a->map) {
        status = write_map(a, &fit, units, in, message);
    }
    shv_blower_fit_free(&fit);
    return status;
}

static int run(int argc, char **argv)
{
    struct entry_arguments a = {
        .name = "blower", .pressure = "101.325 kPa", .temperature = "25 degC"};
    struct shv_message message;
    struct shv_units *units;
    struct inputs in = {.inlet = {.relative_humidity = 0.0}};
    const char *path;
    int code = cli_parse(&cli_blower, argc, argv, &a, &path);
    if (code >= 0) {
        return code;
    }
    if (a.map && !cli_split_path(a.map, &a.to)) {
        cli_error("blower", "--map: found \"%s\"; the name of a file is needed", a.map);
        return CLI_BAD_INPUT;
    }
    if (a.map && !a.replace && access(a.map, F_OK) == 0) {
        cli_error("blower", "%s is there already; --replace writes over it", a.map);
        return CLI_BAD_INPUT;
    }
    enum shv_status status = shv_units_open(&units, &message);
    if (status == SHV_OK && !read_options(&a, units, &in)) {
        shv_units_free(units);
        return CLI_BAD_INPUT;
    }
    if (status == SHV_OK) {
        status = work(&a, path, units, &in, &message);
        shv_units_free(units);
    }
    return cli_finish("blower", status, &message);
}

const struct cli_command cli_blower = {
    "blower",
    "POINTS",
    "a blower's entry from points of a brochure",
    "Reads points of a blower, three or more, as CSV: rotor speed, pressure (above ambient, as "
    "pressure_ratio,\n"
    "or absolute as outlet_pressure), flow (of mass, or of volume at the inlet) and, where they "
    "are "
    "there,\n"
    "power and discharge_temperature, each with its unit. Prints an entry for a study's catalogue: "
    "leakage\n"
    "area, filling loss, friction, windage and case loss by least squares with their standard "
    "errors, what\n"
    "stays at its default because the points don't tell it, and each reading against what was "
    "found.\n\n"
    "    sheave blower brochure.csv --displacement \"2.1 L\" > blower.cfg\n",
    options,
    false,
    .run = run};
