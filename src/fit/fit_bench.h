/* A blower on a bench at the points of a log. */
#ifndef SHEAVE_FIT_FIT_BENCH_H
#define SHEAVE_FIT_FIT_BENCH_H

#include "sheave/blower.h"
#include "sheave/measured.h"

/* What the model is asked at; NAN where the log does not say. */
struct fit_bench {
    double p1, t1, speed, p2;
};

/* A channel's value in a row, or what stands for it where the log has none. */
double fit_condition(const struct shv_measured_log *plan, const struct shv_log *log, size_t row,
                     enum shv_channel channel, double otherwise);
struct fit_bench fit_bench_at(const struct shv_measured_log *plan, const struct shv_log *log,
                              size_t row);
/* values[SHV_CHANNEL_COUNT]: flow, discharge temperature and power; NAN where there is no answer.
 */
void fit_bench_values(const struct shv_measured_log *plan, const struct shv_log *log,
                      const struct shv_gas *gas, const struct shv_blower *blower, size_t row,
                      double *values);

#endif
