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

/* The air around may be logged now and then; whatever else the model is asked at must be there. */
static enum shv_log_role role_of(enum shv_log_kind kind, enum shv_channel channel)
{
    if (channel == SHV_CHANNEL_RUN) {
        return SHV_LOG_RUN;
    }
    if (shv_channel_info(channel)->use[kind] == SHV_CHANNEL_MEASURED) {
        return SHV_LOG_MEASURED;
    }
    bool air = channel == SHV_CHANNEL_AMBIENT_PRESSURE ||
               channel == SHV_CHANNEL_AMBIENT_TEMPERATURE || channel == SHV_CHANNEL_HUMIDITY;
    return air ? SHV_LOG_EXTRA : SHV_LOG_NEEDED;
}

/* A share that nobody said is in per cent. */
static enum shv_status check_shares(const struct shv_measured_log *plan, const struct shv_log *log,
                                    struct shv_message *message)
{
    for (size_t i = 0; i < plan->columns; i++) {
        enum shv_channel channel = plan->column[i].channel;
        bool share = channel == SHV_CHANNEL_THROTTLE || channel == SHV_CHANNEL_HUMIDITY;
        for (size_t row = 0; share && row < log->rows; row++) {
            double value = log->value[row * log->wants + i];
            if (value > SHARE_MOST) {
                return shv_fail(message, SHV_BAD_INPUT,
                                "%s:%zu: column \"%s\": found a %s of %.4g; accepted: a share up "
                                "to 1, or \"%%\" as its unit",
                                log->path, log->row[row].line, plan->column[i].column,
                                shv_channel_info(channel)->title, value);
            }
        }
    }
    return SHV_OK;
}

enum shv_status shv_measured_read(const struct shv_measured_log *plan, const char *path,
                                  const struct shv_units *units, double least, double most,
                                  struct shv_log *log, struct shv_message *message)
{
    struct shv_log_want want[SHV_LOG_WANTS_MOST];
    bool bench = plan->kind == SHV_LOG_OF_BENCH;
    for (size_t i = 0; i < plan->columns && i < SHV_LOG_WANTS_MOST; i++) {
        const struct shv_measured_column *column = &plan->column[i];
        want[i] = (struct shv_log_want){.column = column->column,
                                        .unit = column->unit,
                                        .quantity = shv_channel_info(column->channel)->quantity,
                                        .role = role_of(plan->kind, column->channel)};
    }
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
    enum shv_status status = shv_log_read(path, units, &rules, log, message);
    if (status == SHV_OK) {
        status = check_shares(plan, log, message);
        if (status != SHV_OK) {
            shv_log_free(log);
        }
    }
    return status;
}
