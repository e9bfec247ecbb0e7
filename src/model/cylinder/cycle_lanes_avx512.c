/* Cycles side by side, AVX-512; the build passes the instruction set. */
#if defined(__x86_64__)
#define CYCLE_LANES_NAME cycle_lanes_avx512
#define CYCLE_LANES_SET "AVX-512"
#include "model/cylinder/cycle_lane_body.h"
#endif
