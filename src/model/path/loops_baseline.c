/* Vector loops, baseline; the build passes the instruction set. */
#define LOOPS_NAME vector_loops_baseline
#define LOOPS_SET "baseline"
#include "model/path/vector_body.h"
