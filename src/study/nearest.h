/* "did you mean": the known word nearest to a misspelt one. */
#ifndef SHEAVE_STUDY_NEAREST_H
#define SHEAVE_STUDY_NEAREST_H

#include <stddef.h>

/* Least number of letters put in, taken out or changed to get from a to b (Levenshtein 1966), upper
 * and lower case alike. Texts longer than 63 bytes count as SIZE_MAX away. */
size_t edit_distance(const char *a, const char *b);

/* Keeps the better of two guesses: start with {NULL, SIZE_MAX}, offer each known word, then ask. */
struct nearest {
    const char *word;
    size_t distance;
};
void nearest_offer(struct nearest *best, const char *wanted, const char *known);
/* The nearest word if it is near enough to be meant, else NULL. */
const char *nearest_word(const struct nearest *best, const char *wanted);

#endif
