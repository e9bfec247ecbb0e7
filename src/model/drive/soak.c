/* The coolant loop as one heat capacity: docs/model.md, section 11.6. */
#include "model/drive/soak.h"

#include <math.h>

#include "model/path/elementary.h"

/* 1 - exp(-x), x >= 0, the same bits everywhere: the match takes the share. */
static double share_reached(double x)
{
    if (x > 0.1) {
        return 1.0 - shv_exp(-fmin(x, 700.0));
    }
    double sum = 0.0;
    for (int k = 12; k >= 1; k--) { /* x (1 - x/2 (1 - x/3 (1 - ...))) */
        sum = 1.0 - x / (k + 1) * sum;
    }
    return x * sum;
}

double shv_soak_loop_share(double time, double time_constant)
{
    if (time == 0.0 || time_constant == INFINITY) {
        return 0.0;
    }
    return time_constant == 0.0 ? 1.0 : share_reached(time / time_constant);
}
