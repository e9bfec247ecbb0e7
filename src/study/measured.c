/* Reads logs as a study describes them (include/sheave/measured.h). */
#include "sheave/measured.h"

#include <math.h>
#include <stdint.h>

/* Bounds are met after a conversion of units: rounding is let pass. */
#define ROUNDING 1e-9
#define SHARE_MOST 1.2

size_t shv_measured_find(const struct shv_measured_log *plan, enum shv_channel channel)
{
    for (size_t i = 0; i < plan->columns; i++) {
        if (plan->column[i].channel == channel) {
            return i;
        }
    }
    return SIZE_MAX;
}

/* The air around and the mixture may be logged now and then; whatever else the model is asked at
 * must be there. */
static enum shv_log_role role_of(enum shv_log_kind kind, enum shv_channel channel)
{
    if (channel == SHV_CHANNEL_RUN) {
        return SHV_LOG_RUN;
    }
    if (shv_channel_info(channel)->use[kind] == SHV_CHANNEL_MEASURED) {
        return SHV_LOG_MEASURED;
    }
    bool may_lack = channel == SHV_CHANNEL_AMBIENT_PRESSURE ||
                    channel == SHV_CHANNEL_AMBIENT_TEMPERATURE || channel == SHV_CHANNEL_HUMIDITY ||
                    channel == SHV_CHANNEL_LAMBDA || channel == SHV_CHANNEL_AIR_FUEL_RATIO ||
                    channel == SHV_CHANNEL_IGNITION;
    return may_lack ? SHV_LOG_EXTRA : SHV_LOG_NEEDED;
}

/* A share that nobody said is in per cent. */
static enum shv_status check_shares(const struct shv_measured_log *plan, const struct shv_log *log,
                                    struct shv_diagnostics *findings)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < plan->columns; i++) {
        enum shv_channel channel = plan->column[i].channel;
        bool share = channel == SHV_CHANNEL_THROTTLE || channel == SHV_CHANNEL_HUMIDITY;
        for (size_t row = 0; share && row < log->rows; row++) {
            double value = log->value[row * log->wants + i];
            if (value > SHARE_MOST) {
                shv_diagnostics_add(findings, false,
                                    "%s:%zu: column \"%s\": found a %s of %.4g; accepted: a share "
                                    "up to 1, or \"%%\" as its unit",
                                    log->path, log->row[row].line, plan->column[i].column,
                                    shv_channel_info(channel)->title, value);
                status = SHV_BAD_INPUT;
                break; /* once a column */
            }
        }
    }
    return status;
}

struct shv_measured_mixture shv_measured_mixture(const struct shv_measured_log *plan,
                                                 const struct shv_log *log)
{
    struct shv_measured_mixture m = {NAN, INFINITY, -INFINITY};
    size_t of_lambda = shv_measured_find(plan, SHV_CHANNEL_LAMBDA), count = 0;
    size_t column =
        of_lambda != SIZE_MAX ? of_lambda : shv_measured_find(plan, SHV_CHANNEL_AIR_FUEL_RATIO);
    double unit = of_lambda != SIZE_MAX ? 1.0 : plan->stoichiometric, sum = 0.0;
    for (size_t row = 0; column != SIZE_MAX && row < log->rows; row++) {
        double value = log->value[row * log->wants + column] / unit;
        if (!isnan(value)) {
            sum += value;
            count++;
            m.least = fmin(m.least, value);
            m.most = fmax(m.most, value);
        }
    }
    m.mean = count > 0 ? sum / (double)count : NAN;
    return m;
}

/* A value of a row, or what stands for it where the log has none. */
static double value_or(const struct shv_measured_log *plan, const struct shv_log *log, size_t row,
                       enum shv_channel channel, double otherwise)
{
    size_t column = shv_measured_find(plan, channel);
    double value = column == SIZE_MAX ? NAN : log->value[row * log->wants + column];
    return isnan(value) ? otherwise : value;
}

/* Density of the air at the inlet in a row: of a bench that ahead of the blower. */
static double inlet_density(const struct shv_measured_log *plan, const struct shv_log *log,
                            size_t row)
{
    const struct shv_air_model moist = {.kind = SHV_AIR_NASA};
    bool bench = plan->kind == SHV_LOG_OF_BENCH;
    struct shv_gas gas;
    double pressure =
        value_or(plan, log, row, bench ? SHV_CHANNEL_INLET_PRESSURE : SHV_CHANNEL_AMBIENT_PRESSURE,
                 plan->ambient.pressure);
    double temperature = value_or(
        plan, log, row, bench ? SHV_CHANNEL_INLET_TEMPERATURE : SHV_CHANNEL_AMBIENT_TEMPERATURE,
        plan->ambient.temperature);
    double humidity =
        value_or(plan, log, row, SHV_CHANNEL_HUMIDITY, plan->ambient.relative_humidity);
    shv_gas_init(&gas, &moist,
                 shv_humidity_ratio(humidity * shv_saturation_pressure(temperature), pressure));
    return shv_gas_density(&gas, pressure, temperature);
}

/* Volume flows are those of the air at the inlet. */
static void weigh_volumes(const struct shv_measured_log *plan, struct shv_log *log)
{
    for (size_t i = 0; i < log->wants; i++) {
        for (size_t row = 0; log->is_volume[i] && row < log->rows; row++) {
            log->value[row * log->wants + i] *= inlet_density(plan, log, row);
        }
    }
}

/* What is asked of a log; the count. */
static size_t make_wants(const struct shv_measured_log *plan,
                         struct shv_log_want want[SHV_LOG_WANTS_MOST])
{
    size_t count = plan->columns < SHV_LOG_WANTS_MOST ? plan->columns : SHV_LOG_WANTS_MOST;
    for (size_t i = 0; i < count; i++) {
        const struct shv_measured_column *column = &plan->column[i];
        bool may_lack = column->also != NULL && column->channel != SHV_CHANNEL_ROTOR_SPEED;
        enum shv_log_role role = role_of(plan->kind, column->channel);
        want[i] = (struct shv_log_want){.column = column->column,
                                        .also = column->also,
                                        .may_lack = may_lack,
                                        .unit = column->unit,
                                        .quantity = shv_channel_info(column->channel)->quantity,
                                        .role = may_lack ? SHV_LOG_EXTRA : role};
    }
    return count;
}

enum shv_status shv_measured_columns(const struct shv_measured_log *plan, const char *path,
                                     const struct shv_units *units, bool there[SHV_CHANNEL_COUNT],
                                     struct shv_message *message)
{
    struct shv_log_want want[SHV_LOG_WANTS_MOST];
    bool has[SHV_LOG_WANTS_MOST] = {false};
    size_t wants = make_wants(plan, want);
    enum shv_status status = shv_log_columns(path, units, want, wants, has, message);
    for (int i = 0; i < SHV_CHANNEL_COUNT; i++) {
        there[i] = false;
    }
    for (size_t i = 0; i < wants; i++) {
        there[plan->column[i].channel] = has[i];
    }
    return status;
}

enum shv_status shv_measured_read(const struct shv_measured_log *plan, const char *path,
                                  const struct shv_units *units, double least, double most,
                                  struct shv_log *log, struct shv_diagnostics *findings)
{
    struct shv_log_want want[SHV_LOG_WANTS_MOST];
    bool bench = plan->kind == SHV_LOG_OF_BENCH;
    (void)make_wants(plan, want);
    size_t speed = shv_measured_find(plan, SHV_CHANNEL_SPEED);
    const struct shv_log_rules rules = {.want = want,
                                        .wants = plan->columns,
                                        .speed = speed,
                                        .throttle = shv_measured_find(plan, SHV_CHANNEL_THROTTLE),
                                        .throttle_least = plan->throttle_least,
                                        .fall = bench ? 0.0 : plan->fall,
                                        .speed_least = least * (1.0 - ROUNDING),
                                        .speed_most = most * (1.0 + ROUNDING),
                                        .bin = bench ? 0.0 : plan->bin};
    enum shv_status status = shv_log_read(path, units, &rules, log, findings);
    if (status == SHV_OK) {
        status = check_shares(plan, log, findings);
        weigh_volumes(plan, log);
        if (status != SHV_OK) {
            shv_log_free(log);
        }
    }
    return status;
}
