/* Choice of the vector loops for the processor at hand. */
#include "model/kit/vector_loops.h"

const struct vector_loops *vector_loops_best(void)
{
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) {
        return &vector_loops_avx512;
    }
    if (__builtin_cpu_supports("avx2")) {
        return &vector_loops_avx2;
    }
#endif
    return &vector_loops_baseline;
}
