/* Errors of cycle tables (src/report/table/quality.h). */
#include "report/table/quality.h"

#include <math.h>

struct shv_cycle_table_error report_worst_along(const struct shv_cycle_table_quality *quality)
{
    struct shv_cycle_table_error worst = quality->along[0];
    for (int i = 1; i < SHV_CYCLE_DIRECTIONS; i++) {
        const struct shv_cycle_table_error *e = &quality->along[i];
        worst.efficiency = fmax(worst.efficiency, e->efficiency);
        worst.ca50 = fmax(worst.ca50, e->ca50);
        worst.peak_pressure = fmax(worst.peak_pressure, e->peak_pressure);
        worst.exhaust_temperature = fmax(worst.exhaust_temperature, e->exhaust_temperature);
        worst.knock_integral = fmax(worst.knock_integral, e->knock_integral);
    }
    return worst;
}
