/* Vector loops, baseline; the build passes the instruction set. */
#define LOOPS_NAME vector_loops_baseline
#define LOOPS_SET "baseline"
#include "model/kit/vector_body.h"
