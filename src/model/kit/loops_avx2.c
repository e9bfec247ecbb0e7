/* Vector loops, AVX2; the build passes the instruction set. */
#if defined(__x86_64__)
#define LOOPS_NAME vector_loops_avx2
#define LOOPS_SET "AVX2"
#include "model/kit/vector_body.h"
#endif
