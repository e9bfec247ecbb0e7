/* What a fit leaves: residuals, how good it is by channel, and what its measurements don't tell. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit_internal.h"

/* A parameter whose standard error is more than this share of its range is poorly known (an even
 * spread over the range has 0.289), and so are two that correlate more than that. */
#define WEAK_ERROR 0.15
#define WEAK_CORRELATION 0.95
/* What a further measurement has to do to be worth telling. */
#define WORTHWHILE 0.8
#define DIFFERENCE 1e-4

/* ---- residuals and channels ---- */

static struct shv_fit_channel *channel_of(struct shv_fit_result *result,
                                          const struct shv_fit_entry *reading)
{
    for (size_t i = 0; i < result->channels; i++) {
        struct shv_fit_channel *c = &result->channel[i];
        if (c->log == reading->log && c->channel == reading->channel) {
            return c;
        }
    }
    struct shv_fit_channel *fresh = &result->channel[result->channels++];
    *fresh = (struct shv_fit_channel){.log = reading->log, .channel = reading->channel};
    return fresh;
}

static void add_entry(const struct shv_fit *fit, struct shv_fit_result *result, size_t i)
{
    struct shv_fit_entry *entry = &result->entry[i];
    *entry = fit->reading[i];
    entry->residual = result->least.r[i];
    entry->weight = result->least.weight[i];
    double off = entry->residual * entry->deviation;
    entry->modelled = entry->measured + off;
    struct shv_fit_channel *channel = channel_of(result, entry);
    channel->count++;
    channel->rms += off * off;
    channel->bias += off;
    channel->chi += entry->residual * entry->residual;
    channel->held += entry->weight < 1.0 ? 1 : 0;
}

enum shv_status fit_account(struct shv_fit *fit, struct shv_fit_result *result,
                            struct shv_message *message)
{
    result->entry = calloc(fit->readings, sizeof *result->entry);
    result->channel = calloc(fit->cases * SHV_CHANNEL_COUNT, sizeof *result->channel);
    if (!result->entry || !result->channel) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the residuals");
    }
    result->entries = fit->readings;
    for (size_t i = 0; i < fit->readings; i++) {
        add_entry(fit, result, i);
    }
    for (size_t i = 0; i < result->channels; i++) {
        struct shv_fit_channel *c = &result->channel[i];
        c->rms = sqrt(c->rms / (double)c->count);
        c->bias /= (double)c->count;
        c->chi = sqrt(c->chi / (double)c->count);
    }
    return SHV_OK;
}

/* ---- what would be worth measuring ---- */

/* Values of every channel at x and derivatives: [parameters + 1][rows * channels]. */
struct slopes {
    size_t cells; /* rows of all logs times channels */
    double *value, *slope;
};

/* One-sided steps into the range: enough to say what would help. The rooms of `s` are there. */
static enum shv_status find_slopes(const struct shv_fit *fit, const struct shv_fit_result *result,
                                   const struct slopes *s)
{
    const struct shv_fit_plan *plan = fit->plan;
    double x[SHV_CORRECTION_COUNT];
    enum shv_status status = fit_values(fit, 0, result->least.x);
    memcpy(s->value, fit->values, s->cells * sizeof *s->value); /* of worker 0 */
    for (size_t k = 0; k < plan->free && status != SHV_NO_MEMORY; k++) {
        const struct shv_freed *freed = &plan->freed[k];
        double step = DIFFERENCE * (freed->to - freed->from);
        memcpy(x, result->least.x, plan->free * sizeof *x);
        step = x[k] + step > freed->to ? -step : step;
        x[k] += step;
        status = fit_values(fit, 0, x);
        double *slope = s->slope + k * s->cells;
        for (size_t i = 0; i < s->cells; i++) {
            slope[i] = status == SHV_OK ? (fit->values[i] - s->value[i]) / step : 0.0;
        }
    }
    return status == SHV_NOTHING ? SHV_OK : status;
}

static bool is_read(const struct fit_case *c, enum shv_channel channel)
{
    return shv_measured_find(c->plan, channel) != SHV_LOG_NO_COLUMN;
}

/* Derivatives of a channel that is not measured, in its usual standard deviations, for each row of
 * a log that has an answer; how many. */
static size_t rows_of(const struct shv_fit *fit, const struct slopes *s, size_t log,
                      enum shv_channel channel, double *more)
{
    const struct shv_channel_info *info = shv_channel_info(channel);
    size_t count = 0, n = fit->plan->free;
    for (size_t row = 0; row < fit->item[log]->log.rows; row++) {
        size_t cell = (fit->first_row[log] + row) * SHV_CHANNEL_COUNT + (size_t)channel;
        double share = info->share * s->value[cell];
        double deviation = sqrt(share * share + info->error * info->error);
        bool answered = isfinite(s->value[cell]) && deviation > 0.0;
        for (size_t k = 0; k < n; k++) {
            double slope = s->slope[k * s->cells + cell];
            answered = answered && isfinite(slope);
            more[count * n + k] = slope / deviation;
        }
        count += answered ? 1 : 0;
    }
    return count;
}

/* Power and torque say the same, also corrected to a standard. */
static bool says_the_same(const struct fit_case *c, enum shv_channel channel)
{
    static const enum shv_channel power[] = {SHV_CHANNEL_TORQUE, SHV_CHANNEL_POWER,
                                             SHV_CHANNEL_POWER_J1349, SHV_CHANNEL_POWER_ISO1585};
    static const enum shv_channel pressure[] = {SHV_CHANNEL_MANIFOLD_PRESSURE, SHV_CHANNEL_BOOST};
    bool is_power = false, has_power = false, is_pressure = false, has_pressure = false;
    for (size_t i = 0; i < 4; i++) {
        is_power = is_power || channel == power[i];
        has_power = has_power || is_read(c, power[i]);
    }
    for (size_t i = 0; i < 2; i++) {
        is_pressure = is_pressure || channel == pressure[i];
        has_pressure = has_pressure || is_read(c, pressure[i]);
    }
    return is_read(c, channel) || (is_power && has_power) || (is_pressure && has_pressure);
}

static enum shv_status try_channels(const struct shv_fit *fit, const struct shv_fit_result *result,
                                    const struct slopes *s, double *more, struct shv_fit_weak *weak)
{
    for (size_t log = 0; log < fit->cases; log++) {
        const struct fit_case *c = fit->item[log];
        for (int i = 0; i < SHV_CHANNEL_COUNT; i++) {
            enum shv_channel channel = (enum shv_channel)i;
            const struct shv_channel_info *info = shv_channel_info(channel);
            if (info->use[c->plan->kind] != SHV_CHANNEL_MEASURED || says_the_same(c, channel)) {
                continue;
            }
            size_t rows = rows_of(fit, s, log, channel, more);
            double error = rows > 0
                               ? shv_least_squares_with(&result->least, more, rows, weak->among)
                               : INFINITY;
            if (isnan(error)) {
                return SHV_NO_MEMORY;
            }
            if (error < weak->error_then && error < WORTHWHILE * weak->error) {
                weak->has_remedy = true;
                weak->log = log;
                weak->channel = channel;
                weak->deviation = info->error;
                weak->deviation_share = info->share;
                weak->error_then = error;
            }
        }
    }
    return SHV_OK;
}

/* ---- what is weak ---- */

static double share_of_range(const struct shv_fit *fit, const struct shv_fit_result *result,
                             size_t k)
{
    const struct shv_freed *freed = &fit->plan->freed[k];
    return result->least.error[k] / (freed->to - freed->from);
}

/* Joins b to the group of a. */
static void join(size_t *group, size_t n, size_t a, size_t b)
{
    size_t from = group[b], to = group[a];
    for (size_t i = 0; i < n; i++) {
        group[i] = group[i] == from ? to : group[i];
    }
}

/* Whether two parameters take part in a direction that is hardly determined. */
static bool share_direction(const struct shv_least_squares_result *least, size_t a, size_t b)
{
    for (size_t k = 0; k < least->directions; k++) {
        const double *v = least->direction + k * least->parameters;
        bool weak = !(least->singular[k] * WEAK_ERROR > 1.0);
        if (weak && fabs(v[a]) > 0.3 && fabs(v[b]) > 0.3) {
            return true;
        }
    }
    return false;
}

/* Groups of parameters that go together; a weak one by itself is a group of its own. */
static void find_groups(const struct shv_fit *fit, const struct shv_fit_result *result,
                        size_t *group, bool *weak)
{
    const size_t n = fit->plan->free;
    for (size_t a = 0; a < n; a++) {
        group[a] = a;
        weak[a] = share_of_range(fit, result, a) > WEAK_ERROR;
    }
    for (size_t a = 0; a < n; a++) {
        for (size_t b = 0; b < a; b++) {
            bool alike =
                fabs(shv_least_squares_correlation(&result->least, a, b)) > WEAK_CORRELATION;
            if (alike || share_direction(&result->least, a, b)) {
                weak[a] = weak[b] = true;
                join(group, n, a, b);
            }
        }
    }
}

static enum shv_status list_weak(const struct shv_fit *fit, struct shv_fit_result *result,
                                 const struct slopes *s, double *more)
{
    enum shv_status status = SHV_OK;
    const size_t n = fit->plan->free;
    size_t group[SHV_CORRECTION_COUNT];
    bool weak[SHV_CORRECTION_COUNT];
    find_groups(fit, result, group, weak);
    for (size_t g = 0; g < n && status == SHV_OK; g++) {
        struct shv_fit_weak found = {.error = 0.0, .error_then = INFINITY};
        bool any = false;
        for (size_t k = 0; k < n; k++) {
            bool in = group[k] == g && weak[k] && !result->least.at_bound[k];
            found.among[k] = in;
            any = any || in;
            found.error = in ? fmax(found.error, share_of_range(fit, result, k)) : found.error;
        }
        if (any) {
            status = try_channels(fit, result, s, more, &found);
            result->weak[result->weaks++] = found;
        }
    }
    return status;
}

enum shv_status fit_find_weak(struct shv_fit *fit, struct shv_fit_result *result,
                              struct shv_message *message)
{
    const size_t n = fit->plan->free, rows = fit->first_row[fit->cases];
    struct slopes s = {.cells = rows * SHV_CHANNEL_COUNT};
    double *more = calloc(rows * n + 1, sizeof *more);
    s.value = calloc(s.cells + 1, sizeof *s.value);
    s.slope = calloc(n * s.cells + 1, sizeof *s.slope);
    result->weak = calloc(n + 1, sizeof *result->weak);
    bool room = more && s.value && s.slope && result->weak;
    enum shv_status status = room ? find_slopes(fit, result, &s) : SHV_NO_MEMORY;
    if (status == SHV_OK) {
        status = list_weak(fit, result, &s, more);
    }
    free(more);
    free(s.value);
    free(s.slope);
    return fit_failed(status, message);
}
