/* Cycles side by side, baseline; the build passes the instruction set. */
#define CYCLE_LANES_NAME cycle_lanes_baseline
#define CYCLE_LANES_SET "baseline"
#include "model/cylinder/cycle_lane_body.h"
