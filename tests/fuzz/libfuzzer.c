/* The target that FUZZ names, for clang's libFuzzer. */
#include <stdlib.h>

#include "fuzz/targets.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const struct fuzz_target *target;
    if (!target) {
        const char *name = getenv("FUZZ");
        target = name ? fuzz_find(name) : NULL;
        if (!target) {
            abort();
        }
    }
    target->feed(data, size);
    return 0;
}
