/* Keys with many values: choices of a dimension, and curves. */
#ifndef SHEAVE_STUDY_DIMENSION_H
#define SHEAVE_STUDY_DIMENSION_H

#include "study/reader.h"

#define DIMENSION_MAX 1000000
#define PAIRS_MAX 1000

/* Reads one value, a list or { from, to, step } into ascending values; nothing when it is wrong. */
void dimension_read(struct reader *reader, const struct key *key, const config_setting_t *setting,
                    struct shv_numbers *dimension);
/* Whether values are of the other quantity of their key, and read as that. */
bool dimension_is_other(const struct reader *reader, const struct key *key,
                        const config_setting_t *setting);
/* Adds a value; false without memory. */
bool dimension_add(struct shv_numbers *dimension, double value);
/* Reads pairs ((x, y), ...) into a curve; empty when they are wrong. */
void pairs_read(struct reader *reader, const struct key *key, const config_setting_t *setting,
                struct shv_curve_table *table);
/* The smallest of equal numbers differ by rounding only: 1e-9 of their size. */
bool nearly_equal(double a, double b);

#endif
