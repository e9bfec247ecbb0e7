/* One cycle by itself, by the lines of those side by side. */
#define CYCLE_ALONE
#include "model/cylinder/cycle_lane_body.h"
