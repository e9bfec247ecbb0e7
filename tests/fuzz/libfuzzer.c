/* The target that FUZZ names, for clang's libFuzzer. */
#include <stdlib.h>

#include "fuzz/targets.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
const char *__lsan_default_suppressions(void);

/* The lexer of UDUNITS-2 2.2.28 loses the word before one that it does not know ("1e -0Fd4m"): a
 * few bytes of a program that then says what is wrong and ends. */
const char *__lsan_default_suppressions(void)
{
    return "leak:utlex\n";
}

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
