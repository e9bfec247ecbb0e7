/* Sets of numbers as ranges: src/sweep/ranges.h. */
#include "sweep/ranges.h"

#include <stdlib.h>
#include <string.h>

void ranges_free(struct ranges *ranges)
{
    free(ranges->item);
    *ranges = (struct ranges){0};
}

static bool reserve(struct ranges *ranges, size_t count)
{
    if (count <= ranges->capacity) {
        return true;
    }
    size_t capacity = 2 * count + 8;
    struct chunk_range *item = realloc(ranges->item, capacity * sizeof *item);
    if (!item) {
        return false;
    }
    ranges->item = item;
    ranges->capacity = capacity;
    return true;
}

/* Place of the first range that begins behind the number. */
static size_t place_behind(const struct ranges *ranges, uint64_t number)
{
    size_t low = 0, high = ranges->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (ranges->item[middle].first > number) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

static void remove_at(struct ranges *ranges, size_t at)
{
    ranges->count--;
    memmove(&ranges->item[at], &ranges->item[at + 1],
            (ranges->count - at) * sizeof ranges->item[0]);
}

bool ranges_add(struct ranges *ranges, uint64_t number)
{
    if (!reserve(ranges, ranges->count + 1)) {
        return false;
    }
    size_t at = place_behind(ranges, number);
    struct chunk_range *item = ranges->item;
    bool below = at > 0 && item[at - 1].end == number;
    bool above = at < ranges->count && item[at].first == number + 1;
    if (below && above) {
        item[at - 1].end = item[at].end;
        remove_at(ranges, at);
    } else if (below) {
        item[at - 1].end = number + 1;
    } else if (above) {
        item[at].first = number;
    } else {
        memmove(&item[at + 1], &item[at], (ranges->count - at) * sizeof item[0]);
        item[at] = (struct chunk_range){number, number + 1};
        ranges->count++;
    }
    return true;
}

bool ranges_append(struct ranges *ranges, uint64_t first, uint64_t end)
{
    bool behind = ranges->count == 0 || ranges->item[ranges->count - 1].end < first;
    if (first >= end || !behind || !reserve(ranges, ranges->count + 1)) {
        return false;
    }
    ranges->item[ranges->count++] = (struct chunk_range){first, end};
    return true;
}

bool ranges_copy(struct ranges *copy, const struct ranges *ranges)
{
    if (!reserve(copy, ranges->count)) {
        return false;
    }
    if (ranges->count > 0) {
        memcpy(copy->item, ranges->item, ranges->count * sizeof ranges->item[0]);
    }
    copy->count = ranges->count;
    return true;
}

bool ranges_gaps(const struct ranges *ranges, uint64_t end, struct ranges *gaps)
{
    uint64_t from = 0;
    for (size_t i = 0; i < ranges->count; i++) {
        const struct chunk_range *r = &ranges->item[i];
        if (r->first > from && !ranges_append(gaps, from, r->first)) {
            return false;
        }
        from = r->end;
    }
    return from >= end || ranges_append(gaps, from, end);
}

uint64_t ranges_total(const struct ranges *ranges)
{
    uint64_t total = 0;
    for (size_t i = 0; i < ranges->count; i++) {
        total += ranges->item[i].end - ranges->item[i].first;
    }
    return total;
}

uint64_t ranges_at(const struct ranges *ranges, uint64_t place)
{
    size_t i = 0;
    while (place >= ranges->item[i].end - ranges->item[i].first) {
        place -= ranges->item[i].end - ranges->item[i].first;
        i++;
    }
    return ranges->item[i].first + place;
}
