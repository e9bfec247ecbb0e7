/* Levenshtein, Soviet Physics Doklady 10 (1966) 707, by the usual table one row at a time. */
#include "study/nearest.h"

#include <ctype.h>
#include <stdint.h>
#include <string.h>

#define LONGEST 63

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t edit_distance(const char *a, const char *b)
{
    size_t m = strlen(a), n = strlen(b);
    if (m > LONGEST || n > LONGEST) {
        return SIZE_MAX;
    }
    size_t row[LONGEST + 1];
    for (size_t j = 0; j <= n; j++) {
        row[j] = j;
    }
    for (size_t i = 1; i <= m; i++) {
        size_t corner = row[0];
        row[0] = i;
        for (size_t j = 1; j <= n; j++) {
            int same = tolower((unsigned char)a[i - 1]) == tolower((unsigned char)b[j - 1]);
            size_t changed = corner + (same ? 0 : 1);
            corner = row[j];
            row[j] = least(changed, least(row[j], row[j - 1]) + 1);
        }
    }
    return row[n];
}

void nearest_offer(struct nearest *best, const char *wanted, const char *known)
{
    size_t distance = edit_distance(wanted, known);
    if (distance < best->distance) {
        *best = (struct nearest){known, distance};
    }
}

const char *nearest_word(const struct nearest *best, const char *wanted)
{
    size_t limit = strlen(wanted) / 3;
    return best->distance <= (limit > 2 ? limit : 2) && best->distance < strlen(wanted) ? best->word
                                                                                        : NULL;
}
