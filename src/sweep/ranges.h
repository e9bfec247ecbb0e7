/* A set of numbers as ranges in ascending order that neither overlap nor touch: what is done of a
 * sweep takes a handful of them, however long it is. */
#ifndef SHEAVE_SWEEP_RANGES_H
#define SHEAVE_SWEEP_RANGES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct chunk_range {
    uint64_t first, end; /* first <= number < end */
};

struct ranges {
    size_t count, capacity;
    struct chunk_range *item; /* owned */
};

void ranges_free(struct ranges *ranges);
/* Adds a number that is not in the set yet. False when out of memory; then nothing has changed. */
bool ranges_add(struct ranges *ranges, uint64_t number);
/* Adds a range (first < end) behind all others. False when it is not behind them or out of memory.
 */
bool ranges_append(struct ranges *ranges, uint64_t first, uint64_t end);
/* Makes *copy the same set; it may hold another before. False when out of memory. */
bool ranges_copy(struct ranges *copy, const struct ranges *ranges);
/* Makes *gaps, empty before, what is not in the set of 0 .. end-1. False when out of memory. */
bool ranges_gaps(const struct ranges *ranges, uint64_t end, struct ranges *gaps);
uint64_t ranges_total(const struct ranges *ranges);
/* The number at a place (< ranges_total) in ascending order. */
uint64_t ranges_at(const struct ranges *ranges, uint64_t place);

#endif
