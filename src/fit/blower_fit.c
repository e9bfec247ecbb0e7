/* A blower from points (include/sheave/blower_fit.h). */
#include "sheave/blower_fit.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "fit/fit_bench.h"
#include "sheave/least_squares.h"

#define START_AREA 0.004  /* of displacement^(2/3) */
#define SPEED_STEP 1000.0 /* rpm: reference speeds are the next above the highest point */
#define STARTS 3
#define SEED 1

static struct shv_measured_column columns[] = {
    {.channel = SHV_CHANNEL_ROTOR_SPEED, .column = "rotor_speed", .also = "speed|rpm|rotor|n"},
    {.channel = SHV_CHANNEL_PRESSURE_RATIO, .column = "pressure_ratio", .also = "ratio|pr"},
    {.channel = SHV_CHANNEL_BOOST,
     .column = "pressure",
     .also = "boost|gauge_pressure|pressure_rise"},
    {.channel = SHV_CHANNEL_OUTLET_PRESSURE,
     .column = "outlet_pressure",
     .also = "discharge_pressure"},
    {.channel = SHV_CHANNEL_AIR_FLOW,
     .column = "flow",
     .also = "air_flow|volume_flow|mass_flow|air|inlet_flow|inlet_volume"},
    {.channel = SHV_CHANNEL_BLOWER_POWER,
     .column = "power",
     .also = "shaft_power|blower_power|drive_power|input_power"},
    {.channel = SHV_CHANNEL_DISCHARGE_TEMPERATURE,
     .column = "discharge_temperature",
     .also = "discharge_temp|outlet_temperature|outlet_temp|temperature"},
    {.channel = SHV_CHANNEL_INLET_PRESSURE, .column = "inlet_pressure", .also = ""},
    {.channel = SHV_CHANNEL_INLET_TEMPERATURE, .column = "inlet_temperature", .also = "inlet_temp"},
    {.channel = SHV_CHANNEL_HUMIDITY, .column = "humidity", .also = "relative_humidity"},
};

static const struct {
    const char *name;
    double lower, upper; /* the area's in units of displacement^(2/3) */
    double start;
} parameters[SHV_BLOWER_PARAMETERS] = {
    [SHV_BLOWER_LEAKAGE_AREA] = {"leakage_area", 0.0, 0.2, START_AREA},
    [SHV_BLOWER_FILLING_LOSS] = {"filling_loss", 0.0, 0.9, 0.02},
    [SHV_BLOWER_FRICTION_TORQUE] = {"friction_torque", 0.0, 50.0, 0.5},
    [SHV_BLOWER_WINDAGE_TORQUE] = {"windage_torque", 0.0, 50.0, 0.5},
    [SHV_BLOWER_CASE_LOSS] = {"case_loss", 0.0, 0.9, 0.05},
};

const char *shv_blower_parameter_name(enum shv_blower_parameter parameter)
{
    return parameters[parameter].name;
}

static double *place_of(struct shv_blower *b, enum shv_blower_parameter parameter)
{
    double *const places[SHV_BLOWER_PARAMETERS] = {&b->geometry.leakage_area,
                                                   &b->geometry.filling_loss, &b->friction_torque,
                                                   &b->windage_torque, &b->geometry.case_loss};
    return places[parameter];
}

/* ---- points ---- */

double shv_blower_fit_measured(const struct shv_blower_fit *fit, size_t row,
                               enum shv_channel channel)
{
    const struct fit_bench at = fit_bench_at(&fit->plan, &fit->log, row);
    return channel == SHV_CHANNEL_PRESSURE_RATIO
               ? at.p2 / at.p1
               : fit_condition(&fit->plan, &fit->log, row, channel, NAN);
}

void shv_blower_fit_inlet(const struct shv_blower_fit *fit, size_t row, double *pressure,
                          double *temperature)
{
    const struct fit_bench at = fit_bench_at(&fit->plan, &fit->log, row);
    *pressure = at.p1;
    *temperature = at.t1;
}

double shv_blower_fit_modelled(const struct shv_blower_fit *fit, size_t row,
                               enum shv_channel channel)
{
    double values[SHV_CHANNEL_COUNT];
    fit_bench_values(&fit->plan, &fit->log, &fit->gas, &fit->blower, row, values);
    return values[channel];
}

static bool has(const struct shv_blower_fit *fit, size_t row, enum shv_channel channel)
{
    return !isnan(fit_condition(&fit->plan, &fit->log, row, channel, NAN));
}

static void check_points(const struct shv_blower_fit *fit, struct shv_diagnostics *findings)
{
    for (size_t row = 0; row < fit->log.rows; row++) {
        const struct fit_bench at = fit_bench_at(&fit->plan, &fit->log, row);
        int given = has(fit, row, SHV_CHANNEL_PRESSURE_RATIO) + has(fit, row, SHV_CHANNEL_BOOST) +
                    has(fit, row, SHV_CHANNEL_OUTLET_PRESSURE);
        const char *wrong = given != 1 ? "found no pressure, or two; accepted: one of pressure "
                                         "(above the inlet's), pressure_ratio and outlet_pressure"
                            : !has(fit, row, SHV_CHANNEL_AIR_FLOW)
                                ? "found no flow; accepted: one of mass, or of volume at the inlet"
                            : !(at.p2 >= at.p1) ? "found a pressure below that of the inlet"
                                                : NULL;
        if (wrong) {
            shv_diagnostics_add(findings, false, "%s:%zu: %s", fit->log.path,
                                fit->log.row[row].line, wrong);
        }
    }
}

static struct shv_measured_log plan_of(const struct shv_ambient *inlet)
{
    return (struct shv_measured_log){.kind = SHV_LOG_OF_BENCH,
                                     .columns = sizeof columns / sizeof *columns,
                                     .column = columns,
                                     .ambient = *inlet};
}

enum shv_status shv_blower_points_are(const char *path, const struct shv_units *units,
                                      bool *are_points, struct shv_message *message)
{
    bool there[SHV_CHANNEL_COUNT];
    const struct shv_measured_log plan = plan_of(&(struct shv_ambient){.pressure = NAN});
    enum shv_status status = shv_measured_columns(&plan, path, units, there, message);
    *are_points = there[SHV_CHANNEL_AIR_FLOW] &&
                  (there[SHV_CHANNEL_PRESSURE_RATIO] || there[SHV_CHANNEL_BOOST] ||
                   there[SHV_CHANNEL_OUTLET_PRESSURE]);
    return status;
}

enum shv_status shv_blower_fit_read(const char *path, const struct shv_units *units,
                                    const struct shv_ambient *inlet, struct shv_blower_fit *fit,
                                    struct shv_diagnostics *findings)
{
    const struct shv_air_model moist = {.kind = SHV_AIR_NASA};
    size_t before = findings->errors;
    *fit = (struct shv_blower_fit){.plan = plan_of(inlet)};
    shv_gas_init(
        &fit->gas, &moist,
        shv_humidity_ratio(inlet->relative_humidity * shv_saturation_pressure(inlet->temperature),
                           inlet->pressure));
    enum shv_status status =
        shv_measured_read(&fit->plan, path, units, 0.0, INFINITY, &fit->log, findings);
    if (status == SHV_OK) {
        check_points(fit, findings);
        status = findings->errors > before ? SHV_BAD_INPUT : SHV_OK;
    }
    if (status != SHV_OK) {
        shv_blower_fit_free(fit);
    }
    return status;
}

void shv_blower_fit_free(struct shv_blower_fit *fit)
{
    shv_log_free(&fit->log);
    *fit = (struct shv_blower_fit){.readings = 0};
}

/* ---- the fit ---- */

struct reading {
    size_t row;
    enum shv_channel channel;
    double measured, deviation;
};

struct problem {
    struct shv_blower_fit *fit;
    struct reading *reading; /* owned */
    size_t readings;
    enum shv_blower_parameter freed[SHV_BLOWER_PARAMETERS];
    size_t free;
    double unit; /* displacement^(2/3), of areas */
};

static void list_readings(struct problem *p)
{
    static const enum shv_channel measured[] = {SHV_CHANNEL_AIR_FLOW, SHV_CHANNEL_BLOWER_POWER,
                                                SHV_CHANNEL_DISCHARGE_TEMPERATURE};
    for (size_t row = 0; row < p->fit->log.rows; row++) {
        for (size_t i = 0; i < 3; i++) {
            double value = shv_blower_fit_measured(p->fit, row, measured[i]);
            const struct shv_channel_info *info = shv_channel_info(measured[i]);
            if (!isnan(value)) {
                p->reading[p->readings++] = (struct reading){
                    row, measured[i], value, hypot(info->error, info->share * value)};
            }
        }
    }
}

static double in_units(const struct problem *p, enum shv_blower_parameter parameter)
{
    return parameter == SHV_BLOWER_LEAKAGE_AREA ? p->unit : 1.0;
}

static enum shv_status residual(void *data, size_t worker, const double *x, double *r)
{
    const struct problem *p = data;
    struct shv_blower blower = p->fit->blower;
    double values[SHV_CHANNEL_COUNT];
    (void)worker; /* there is one */
    for (size_t k = 0; k < p->free; k++) {
        *place_of(&blower, p->freed[k]) = x[k] * in_units(p, p->freed[k]);
    }
    for (size_t i = 0; i < p->readings; i++) {
        const struct reading *reading = &p->reading[i];
        if (i == 0 || reading->row != reading[-1].row) {
            fit_bench_values(&p->fit->plan, &p->fit->log, &p->fit->gas, &blower, reading->row,
                             values);
        }
        r[i] = (values[reading->channel] - reading->measured) / reading->deviation;
        if (!isfinite(r[i])) {
            return SHV_NOTHING;
        }
    }
    return SHV_OK;
}

static enum shv_status solve(struct problem *p, struct shv_least_squares_result *least,
                             struct shv_message *message)
{
    double start[SHV_BLOWER_PARAMETERS], lower[SHV_BLOWER_PARAMETERS];
    double upper[SHV_BLOWER_PARAMETERS];
    for (size_t k = 0; k < p->free; k++) {
        start[k] = parameters[p->freed[k]].start;
        lower[k] = parameters[p->freed[k]].lower;
        upper[k] = parameters[p->freed[k]].upper;
    }
    const struct shv_least_squares_problem problem = {.parameters = p->free,
                                                      .residuals = p->readings,
                                                      .residual = residual,
                                                      .data = p,
                                                      .start = start,
                                                      .lower = lower,
                                                      .upper = upper,
                                                      .scale = start,
                                                      .loss_threshold = INFINITY};
    const struct shv_least_squares_options how = {.starts = STARTS, .seed = SEED, .workers = 1};
    return shv_least_squares(&problem, &how, least, message);
}

/* Takes over what was found; the place of the one least told, no more than its error from its
 * default, or `free` when all are told. The area always counts as told. */
static size_t take(struct problem *p, const struct shv_least_squares_result *least)
{
    struct shv_blower_fit *fit = p->fit;
    size_t worst = p->free;
    double least_told = 1.0;
    fit->chi_squared = least->chi_squared;
    fit->freedom = least->freedom;
    fit->spread = least->freedom > 0.0 ? fmax(1.0, sqrt(least->chi_squared / least->freedom)) : 1.0;
    for (size_t k = 0; k < p->free; k++) {
        enum shv_blower_parameter which = p->freed[k];
        double unit = in_units(p, which), error = least->error[k] * fit->spread;
        double told = least->at_bound[k] ? 0.0 : least->x[k] / error;
        fit->value[which] = least->x[k] * unit;
        fit->error[which] = error * unit;
        if (which != SHV_BLOWER_LEAKAGE_AREA && !(told > least_told)) {
            least_told = told;
            worst = k;
        }
    }
    return worst;
}

/* One by one what the points don't tell goes back to its default. */
static enum shv_status solve_told(struct problem *p, struct shv_message *message)
{
    for (;;) {
        struct shv_least_squares_result least;
        enum shv_status status = solve(p, &least, message);
        if (status != SHV_OK) {
            return status;
        }
        size_t worst = take(p, &least);
        shv_least_squares_free(&least);
        if (worst == p->free) {
            break;
        }
        p->free--;
        for (size_t k = worst; k < p->free; k++) {
            p->freed[k] = p->freed[k + 1];
        }
    }
    for (size_t k = 0; k < p->free; k++) {
        p->fit->told[p->freed[k]] = true;
        *place_of(&p->fit->blower, p->freed[k]) = p->fit->value[p->freed[k]];
    }
    return SHV_OK;
}

/* Power alone tells of friction, temperature or power of what heats the gas. */
static void choose_free(struct problem *p)
{
    bool power = false, heat = false;
    for (size_t i = 0; i < p->readings; i++) {
        power = power || p->reading[i].channel == SHV_CHANNEL_BLOWER_POWER;
        heat = heat || p->reading[i].channel == SHV_CHANNEL_DISCHARGE_TEMPERATURE;
    }
    const bool seen[SHV_BLOWER_PARAMETERS] = {true, true, power, power || heat, heat};
    for (size_t i = 0; i < SHV_BLOWER_PARAMETERS && p->free < p->readings; i++) {
        if (seen[i]) {
            p->freed[p->free++] = (enum shv_blower_parameter)i;
        }
    }
}

enum shv_status shv_blower_fit_run(struct shv_blower_fit *fit, double displacement,
                                   struct shv_message *message)
{
    struct problem p = {.fit = fit, .unit = cbrt(displacement * displacement)};
    double highest = 0.0;
    for (size_t row = 0; row < fit->log.rows; row++) {
        highest = fmax(highest, shv_blower_fit_measured(fit, row, SHV_CHANNEL_ROTOR_SPEED));
    }
    double reference = ceil(highest * 60.0 / SPEED_STEP - 1e-9) * SPEED_STEP / 60.0;
    fit->blower = (struct shv_blower){.kind = SHV_BLOWER_GEOMETRY,
                                      .displacement = displacement,
                                      .step_up = 1.0,
                                      .windage_reference_speed = reference,
                                      .geometry = {.assembly_temperature = 293.15,
                                                   .volume_ratio = 1.0,
                                                   .reference_speed = reference}};
    p.reading = calloc(3 * fit->log.rows + 1, sizeof *p.reading);
    if (!p.reading) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the points");
    }
    list_readings(&p);
    fit->readings = p.readings;
    choose_free(&p);
    enum shv_status status = solve_told(&p, message);
    free(p.reading);
    return status;
}
