/* One log and the model of what stood on the dynamometer or the bench. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit_bench.h"
#include "fit/fit_internal.h"

/* Up to so many speeds the model is evaluated at those of the log; with more, at so many evenly
 * spaced ones, and a row's values come from the cubic through the four nearest. */
#define NODES_MOST 60
#define SAME_SPEED 1e-9

/* ---- speeds ---- */

static double speed_of(const struct fit_case *c, size_t row)
{
    size_t column = shv_measured_find(c->plan, SHV_CHANNEL_SPEED);
    return c->log.value[row * c->log.wants + column];
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y ? 1 : 0;
}

static bool same(double a, double b)
{
    return fabs(a - b) <= SAME_SPEED * fabs(b);
}

/* The study's lowest and highest speed are always among them: tilts of curves count from there. */
static enum shv_status choose_speeds(struct fit_case *c, const struct shv_engine *engine,
                                     struct shv_message *message)
{
    double low = engine->speeds[0], high = engine->speeds[engine->speed_count - 1];
    size_t count = c->log.rows + 2, kept = 0;
    double *speeds = calloc(count > NODES_MOST ? count : NODES_MOST, sizeof *speeds);
    if (!speeds) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", c->log.path);
    }
    for (size_t i = 0; i < c->log.rows; i++) {
        speeds[i] = fmin(fmax(speed_of(c, i), low), high);
    }
    speeds[count - 2] = low;
    speeds[count - 1] = high;
    qsort(speeds, count, sizeof *speeds, ascending);
    for (size_t i = 0; i < count; i++) {
        if (kept == 0 || !same(speeds[i], speeds[kept - 1])) {
            speeds[kept++] = speeds[i];
        }
    }
    if (kept > NODES_MOST) {
        kept = NODES_MOST;
        for (size_t i = 0; i < kept; i++) {
            speeds[i] = low + (high - low) * (double)i / (double)(kept - 1);
        }
    }
    c->speeds = speeds;
    c->study.engine.speeds = speeds;
    c->study.engine.speed_count = kept;
    return SHV_OK;
}

/* Lagrange's cubic through the nodes around a speed; a node itself where the speed is one. */
static void place_row(const struct fit_case *c, double speed, struct fit_place *place)
{
    const double *x = c->speeds;
    size_t count = c->study.engine.speed_count, i = 0;
    while (i + 1 < count && x[i + 1] <= speed * (1.0 + SAME_SPEED)) {
        i++;
    }
    if (same(x[i], speed) || count < FIT_STENCIL) {
        place->nodes = 1;
        place->node[0] = i;
        place->weight[0] = 1.0;
        return;
    }
    size_t first = i == 0 ? 0 : i - 1;
    first = first + FIT_STENCIL > count ? count - FIT_STENCIL : first;
    place->nodes = FIT_STENCIL;
    for (size_t k = 0; k < FIT_STENCIL; k++) {
        double weight = 1.0;
        for (size_t l = 0; l < FIT_STENCIL; l++) {
            weight *= k == l ? 1.0 : (speed - x[first + l]) / (x[first + k] - x[first + l]);
        }
        place->node[k] = first + k;
        place->weight[k] = weight;
    }
}

/* ---- air ---- */

/* Mean of a column over a run; `otherwise` where it has no value. */
static double run_mean(const struct fit_case *c, size_t run, enum shv_channel channel,
                       double otherwise)
{
    size_t column = shv_measured_find(c->plan, channel), count = 0;
    double sum = 0.0;
    if (column == SHV_LOG_NO_COLUMN) {
        return otherwise;
    }
    for (size_t i = 0; i < c->log.rows; i++) {
        double value = c->log.value[i * c->log.wants + column];
        if (c->log.row[i].run == run && !isnan(value)) {
            sum += value;
            count++;
        }
    }
    return count > 0 ? sum / (double)count : otherwise;
}

static bool same_air(const struct shv_ambient *a, const struct shv_ambient *b)
{
    return a->pressure == b->pressure && a->temperature == b->temperature &&
           a->relative_humidity == b->relative_humidity;
}

static bool plausible_air(const struct shv_ambient *a)
{
    return a->pressure >= 30e3 && a->pressure <= 120e3 && a->temperature >= 220.0 &&
           a->temperature <= 340.0 && a->relative_humidity >= 0.0 && a->relative_humidity <= 1.0;
}

/* One site for each air among the runs. */
static enum shv_status choose_sites(struct fit_case *c, struct shv_message *message)
{
    const struct shv_ambient *given = &c->plan->ambient;
    c->sites = calloc(c->log.runs + 1, sizeof *c->sites);
    c->site_of_run = calloc(c->log.runs + 1, sizeof *c->site_of_run);
    if (!c->sites || !c->site_of_run) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", c->log.path);
    }
    size_t count = 0;
    for (size_t run = 0; run < c->log.runs; run++) {
        struct shv_ambient air = {
            .pressure = run_mean(c, run, SHV_CHANNEL_AMBIENT_PRESSURE, given->pressure),
            .temperature = run_mean(c, run, SHV_CHANNEL_AMBIENT_TEMPERATURE, given->temperature),
            .relative_humidity = run_mean(c, run, SHV_CHANNEL_HUMIDITY, given->relative_humidity)};
        if (!plausible_air(&air)) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "%s: run \"%s\": found ambient air of %.4g Pa, %.4g K and humidity "
                            "%.4g; accepted: 30000 to 120000 Pa, 220 to 340 K and 0 to 1",
                            c->log.path, c->log.run_name[run], air.pressure, air.temperature,
                            air.relative_humidity);
        }
        size_t site = 0;
        while (site < count && !same_air(&c->sites[site].ambient, &air)) {
            site++;
        }
        c->site_of_run[run] = site;
        if (site == count) {
            c->sites[count++] =
                (struct shv_site){.name = c->study.sites[0].name, .ambient = air, .weight = 1.0};
        }
    }
    c->study.sites = c->sites;
    c->study.site_count = count;
    return SHV_OK;
}

/* ---- making ---- */

/* What a log's model has no use for, and what would hang on the study's own speeds. Limits would
 * keep the tables of the closed cycle small; a fit also looks where no kit is to run, and a direct
 * cycle takes a thousand times as long. That of peak pressure stays: ignition is set for it. */
static void strip(struct shv_study *study)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        study->limit[i] = i == SHV_LIMIT_PEAK_PRESSURE ? study->limit[i] : INFINITY;
    }
    study->tolerances.spread = NULL; /* a fit moves all blowers alike; borrowed, not to be freed */
    study->drive.belt.given = false;
    study->bypass_part.has_actuator = false;
    study->use.cruises = false;
    study->use.duty_parts = 0;
    study->objective.kind = SHV_OBJECTIVE_PEAK_POWER;
}

/* One mixture for all of a log: the mean of its own column, where the study says none. */
static enum shv_status choose_mixture(struct fit_case *c, struct shv_message *message)
{
    if (c->plan->kind != SHV_LOG_OF_KIT || !isnan(c->kit.lambda)) {
        return SHV_OK;
    }
    c->kit.lambda = shv_measured_mixture(c->plan, &c->log).mean;
    return c->kit.lambda >= SHV_LAMBDA_LEAST && c->kit.lambda <= SHV_LAMBDA_MOST
               ? SHV_OK
               : shv_fail(message, SHV_BAD_INPUT,
                          "%s: found a mean lambda of %.4g in its rows; accepted: %g to %g",
                          c->log.path, c->kit.lambda, SHV_LAMBDA_LEAST, SHV_LAMBDA_MOST);
}

static enum shv_status choose_kit(struct fit_case *c, struct shv_message *message)
{
    const struct shv_engine *engine = &c->study.engine;
    c->kit = c->plan->kit;
    if (c->plan->kind == SHV_LOG_OF_STOCK) {
        c->kit.fuel = engine->stock_fuel;
        c->kit.lambda = engine->stock_lambda;
    } else if (c->plan->kind == SHV_LOG_OF_BENCH) {
        c->kit.lambda = c->study.numbers[SHV_DIM_LAMBDA].values[0];
    }
    enum shv_status status = choose_mixture(c, message);
    c->lambda = c->kit.lambda;
    c->study.numbers[SHV_DIM_LAMBDA].values = &c->lambda;
    c->study.numbers[SHV_DIM_LAMBDA].count = 1;
    return status;
}

static enum shv_status make_places(struct fit_case *c, struct shv_message *message)
{
    c->place = calloc(c->log.rows + 1, sizeof *c->place);
    if (!c->place) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", c->log.path);
    }
    for (size_t i = 0; c->plan->kind != SHV_LOG_OF_BENCH && i < c->log.rows; i++) {
        c->place[i].site = c->site_of_run[c->log.row[i].run];
        place_row(c, speed_of(c, i), &c->place[i]);
    }
    return SHV_OK;
}

static enum shv_status make_curves(struct fit_case *c, size_t threads, struct shv_message *message)
{
    c->curves = calloc(threads, sizeof *c->curves);
    if (!c->curves) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", c->log.path);
    }
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < threads && status == SHV_OK; i++) {
        status = shv_curves_init(&c->curves[i], c->model, message);
    }
    return status;
}

enum shv_status fit_case_init(struct fit_case *c, const struct shv_study *study,
                              const struct shv_measured_log *plan, struct shv_log *log,
                              size_t threads, struct shv_message *message)
{
    *c = (struct fit_case){.plan = plan, .log = *log, .study = *study};
    *log = (struct shv_log){0};
    strip(&c->study);
    enum shv_status status = choose_kit(c, message);
    bool bench = plan->kind == SHV_LOG_OF_BENCH;
    if (status == SHV_OK && !bench) {
        status = choose_speeds(c, &study->engine, message);
    }
    if (status == SHV_OK && !bench) {
        status = choose_sites(c, message);
    }
    if (status == SHV_OK) {
        status = shv_model_create(&c->study, &c->model, message);
    }
    if (status == SHV_OK) {
        status = make_places(c, message);
    }
    if (status == SHV_OK && !bench) {
        status = make_curves(c, threads, message);
    }
    double vapour =
        plan->ambient.relative_humidity * shv_saturation_pressure(plan->ambient.temperature);
    shv_gas_init(&c->gas, &study->air, shv_humidity_ratio(vapour, plan->ambient.pressure));
    return status;
}

void fit_case_free(struct fit_case *c, size_t threads)
{
    for (size_t i = 0; c->curves && i < threads; i++) {
        shv_curves_free(&c->curves[i]);
    }
    free(c->curves);
    shv_model_free(c->model);
    free(c->place);
    free(c->site_of_run);
    free(c->sites);
    free(c->speeds);
    shv_log_free(&c->log);
    *c = (struct fit_case){0};
}

/* ---- values ---- */

/* Where a channel's value stands in a point, plus one; 0: nowhere. */
#define AT(member) (offsetof(struct shv_point, member) + 1)
static const size_t places[SHV_CHANNEL_COUNT] = {
    [SHV_CHANNEL_ROTOR_SPEED] = AT(rotor_speed),
    [SHV_CHANNEL_INLET_PRESSURE] = AT(inlet_pressure),
    [SHV_CHANNEL_OUTLET_PRESSURE] = AT(outlet_pressure),
    [SHV_CHANNEL_MANIFOLD_PRESSURE] = AT(manifold_pressure),
    [SHV_CHANNEL_BOOST] = AT(boost),
    [SHV_CHANNEL_DISCHARGE_TEMPERATURE] = AT(discharge_temperature),
    [SHV_CHANNEL_CHARGE_TEMPERATURE] = AT(charge_temperature),
    [SHV_CHANNEL_COOLANT_TEMPERATURE] = AT(coolant_temperature),
    [SHV_CHANNEL_AIR_FLOW] = AT(air_flow),
    [SHV_CHANNEL_FUEL_FLOW] = AT(fuel_flow),
    [SHV_CHANNEL_TORQUE] = AT(torque),
    [SHV_CHANNEL_POWER] = AT(brake_power),
    [SHV_CHANNEL_POWER_J1349] = AT(power_j1349),
    [SHV_CHANNEL_POWER_ISO1585] = AT(power_iso1585),
    [SHV_CHANNEL_BLOWER_POWER] = AT(blower_power),
    [SHV_CHANNEL_EXHAUST_PRESSURE] = AT(exhaust_pressure),
    [SHV_CHANNEL_EXHAUST_TEMPERATURE] = AT(exhaust_temperature),
    [SHV_CHANNEL_CA50] = AT(ca50),
    [SHV_CHANNEL_PEAK_PRESSURE] = AT(peak_pressure),
};

static double channel_at(const struct fit_case *c, const struct shv_point *p,
                         enum shv_channel channel)
{
    double value = NAN;
    if (places[channel] == 0 ||
        shv_channel_info(channel)->use[c->plan->kind] != SHV_CHANNEL_MEASURED) {
        return NAN;
    }
    memcpy(&value, (const char *)p + places[channel] - 1, sizeof value);
    bool by_dynamometer = channel == SHV_CHANNEL_TORQUE || channel == SHV_CHANNEL_POWER ||
                          channel == SHV_CHANNEL_POWER_J1349 ||
                          channel == SHV_CHANNEL_POWER_ISO1585;
    return by_dynamometer ? value * c->plan->power_share : value;
}

static void row_values(const struct fit_case *c, const struct shv_curves *curves, size_t row,
                       double *values)
{
    const struct fit_place *place = &c->place[row];
    for (int channel = 0; channel < SHV_CHANNEL_COUNT; channel++) {
        values[channel] = 0.0;
        for (size_t k = 0; k < place->nodes; k++) {
            const struct shv_point *p =
                &curves->point[place->site * curves->speeds + place->node[k]];
            double value =
                p->outcome == SHV_POINT_OK ? channel_at(c, p, (enum shv_channel)channel) : NAN;
            values[channel] += place->weight[k] * value;
        }
    }
}

enum shv_status fit_case_values(const struct fit_case *c, size_t worker,
                                const struct shv_corrections *corrections, double *values)
{
    struct shv_model *model;
    enum shv_status status = shv_model_correct(c->model, corrections, &model, NULL);
    if (status != SHV_OK) {
        return status == SHV_BAD_INPUT ? SHV_NOTHING : status;
    }
    if (c->plan->kind == SHV_LOG_OF_KIT) {
        shv_model_evaluate(model, &c->kit, &c->curves[worker]);
    } else if (c->plan->kind == SHV_LOG_OF_STOCK) {
        shv_model_evaluate_bare(model, &c->curves[worker]);
    }
    for (size_t i = 0; i < c->log.rows; i++) {
        double *at = values + i * SHV_CHANNEL_COUNT;
        if (c->plan->kind == SHV_LOG_OF_BENCH) {
            fit_bench_values(c->plan, &c->log, &c->gas,
                             &shv_model_study(model)->blowers[c->kit.blower], i, at);
        } else {
            row_values(c, &c->curves[worker], i, at);
        }
    }
    shv_model_free(model);
    return SHV_OK;
}
