/* The belt drive: docs/model.md, section 4. */
#include <math.h>

#include "sheave/drive.h"

double shv_drive_ratio(double crank_diameter, double blower_diameter, double line_offset)
{
    return (crank_diameter + 2.0 * line_offset) / (blower_diameter + 2.0 * line_offset);
}

double shv_drive_blower_pulley(double crank_diameter, double ratio, double line_offset)
{
    return (crank_diameter + 2.0 * line_offset) / ratio - 2.0 * line_offset;
}

double shv_drive_rotor_speed(double engine_speed, double ratio, double creep, double step_up)
{
    return engine_speed * ratio * (1.0 - creep) * step_up;
}

double shv_drive_belt_speed(double crank_diameter, double line_offset, double engine_speed)
{
    const double pi = 3.14159265358979323846;
    return pi * (crank_diameter + 2.0 * line_offset) * engine_speed;
}

double shv_belt_to_order(const struct shv_belt_setup *belt, double length)
{
    for (size_t i = 0; i < belt->lengths.count; i++) {
        if (belt->lengths.values[i] >= length * (1.0 - 1e-6)) { /* false for NAN */
            return belt->lengths.values[i];
        }
    }
    return NAN;
}
