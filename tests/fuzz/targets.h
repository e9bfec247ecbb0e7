/* What is fed to each reader of the program. An input is a whole file, or a text of the command
 * line. */
#ifndef SHEAVE_TESTS_FUZZ_TARGETS_H
#define SHEAVE_TESTS_FUZZ_TARGETS_H

#include <stddef.h>
#include <stdint.h>

struct fuzz_target {
    const char *name;
    void (*feed)(const uint8_t *data, size_t size);
};
extern const struct fuzz_target fuzz_targets[]; /* ended by one without a name */

/* NULL when there is none of that name. */
const struct fuzz_target *fuzz_find(const char *name);

#endif
