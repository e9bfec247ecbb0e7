/* The coolant loop as one heat capacity: docs/model.md, section 11.6. */
#include "sheave/soak.h"

#include <math.h>

#include "model/path/elementary.h"

#include "model/path/input.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static enum shv_status check_loop(const struct shv_soak_loop *l, double start,
                                  struct shv_message *message)
{
    const struct range row[] = {
        {"heat capacity of the coolant loop, J/K,", l->capacity, false, INFINITY},
        /* no radiator at all is accepted */
        {"resistance of the coolant loop, K/W,", l->resistance == INFINITY ? 0.0 : l->resistance,
         true, INFINITY},
        {"source temperature of the coolant, K,", l->source, false, INFINITY},
        {"heat into the coolant, W,", l->heat, true, INFINITY},
        {"conductance into the coolant, W/K,", l->conductance, true, INFINITY},
        {"temperature of the hot side, K,", l->conductance > 0.0 ? l->hot : 1.0, false, INFINITY},
        {"temperature of the coolant at the start, K,", start, false, INFINITY},
    };
    return check_ranges(COUNT(row), row, message);
}

/* 1 - exp(-x), x >= 0, the same bits everywhere: the match takes the share. */
static double share_reached(double x)
{
    if (x > 0.1) {
        return 1.0 - shv_exp(-fmin(x, 700.0));
    }
    double sum = 0.0;
    for (int k = 12; k >= 1; k--) { /* x (1 - x/2 (1 - x/3 (1 - ...))) */
        sum = 1.0 - x / (k + 1) * sum;
    }
    return x * sum;
}

double shv_soak_loop_share(double time, double time_constant)
{
    if (time == 0.0 || time_constant == INFINITY) {
        return 0.0;
    }
    return time_constant == 0.0 ? 1.0 : share_reached(time / time_constant);
}

double shv_soak_recovery_time(double time_constant, double left)
{
    return left >= 1.0 ? 0.0 : -time_constant * log(left);
}

/* Written with the resistance in the numerator, so that a resistance of 0 needs no case. */
static double time_constant_of(const struct shv_soak_loop *l)
{
    if (isinf(l->resistance)) {
        return l->conductance > 0.0 ? l->capacity / l->conductance : INFINITY;
    }
    return l->capacity * l->resistance / (1.0 + l->conductance * l->resistance);
}

static double steady_of(const struct shv_soak_loop *l, double start)
{
    if (isfinite(l->resistance)) {
        double drive = l->heat + l->conductance * (l->hot - l->source);
        return l->source + l->resistance * drive / (1.0 + l->conductance * l->resistance);
    }
    if (l->conductance > 0.0) {
        return l->hot + l->heat / l->conductance;
    }
    return l->heat > 0.0 ? INFINITY : start;
}

enum shv_status shv_soak_at(const struct shv_soak_loop *loop, double start, double time,
                            struct shv_soak_state *state, struct shv_message *message)
{
    enum shv_status status = check_loop(loop, start, message);
    if (status != SHV_OK) {
        return status;
    }
    if (!(time >= 0.0)) {
        return shv_fail(message, SHV_BAD_INPUT, "time, s, is %.6g; a number of 0 or more is needed",
                        time);
    }
    struct shv_soak_loop l = *loop;
    l.hot = l.conductance > 0.0 ? l.hot : l.source; /* where it is not read it may be anything */
    struct shv_soak_state s = {.steady = steady_of(&l, start),
                               .time_constant = time_constant_of(&l)};
    if (isinf(s.steady)) {
        s.temperature = start + l.heat * time / l.capacity;
    } else {
        s.temperature = start + (s.steady - start) * shv_soak_loop_share(time, s.time_constant);
    }
    s.heat = l.heat + (l.conductance > 0.0 ? l.conductance * (l.hot - s.temperature) : 0.0);
    s.loop_resistance = s.heat != 0.0 ? (s.temperature - l.source) / s.heat : NAN;
    *state = s;
    return SHV_OK;
}

enum shv_status shv_soak_time_to(const struct shv_soak_loop *loop, double start, double temperature,
                                 double *time, struct shv_message *message)
{
    struct shv_soak_state end = {.steady = NAN};
    enum shv_status status = shv_soak_at(loop, start, 0.0, &end, message);
    if (status != SHV_OK) {
        return status;
    }
    const struct range row[] = {{"temperature to be reached, K,", temperature, false, INFINITY}};
    status = check_ranges(COUNT(row), row, message);
    if (status != SHV_OK) {
        return status;
    }
    double way = temperature - start, whole = end.steady - start;
    if (way == 0.0) {
        *time = 0.0;
    } else if (way * whole < 0.0) {
        *time = NAN;
    } else if (isinf(whole)) {
        *time = way * loop->capacity / loop->heat;
    } else if (fabs(way) >= fabs(whole)) {
        *time = INFINITY;
    } else {
        *time = -end.time_constant * log1p(-way / whole);
    }
    return SHV_OK;
}
