/* Vector loops, AVX-512; the build passes the instruction set. */
#if defined(__x86_64__)
#define LOOPS_NAME vector_loops_avx512
#define LOOPS_SET "AVX-512"
#include "model/kit/vector_body.h"
#endif
