/* The engine's small relations: docs/model.md, sections 2, 6 and 9. */
#include "sheave/engine.h"

double shv_engine_residual_factor(double compression_ratio, double exhaust_over_manifold,
                                  double gamma)
{
    double r = compression_ratio;
    return r / (r - 1.0) - (exhaust_over_manifold + gamma - 1.0) / (gamma * (r - 1.0));
}

double shv_engine_piston_speed(double stroke, double speed)
{
    return 2.0 * stroke * speed;
}

double shv_engine_fmep(const struct shv_friction *friction, double peak_pressure,
                       double piston_speed)
{
    return friction->fmep_at_rest + friction->per_peak_pressure * peak_pressure +
           friction->per_piston_speed * piston_speed +
           friction->per_piston_speed_squared * piston_speed * piston_speed;
}
