/* Injectors and pump of a kit at a point: docs/model.md, section 10. */
#include <math.h>

#include "model/kit/model_internal.h"

static double reference_pressure(const struct shv_model *model, size_t site, double pm)
{
    bool by_manifold = model->study->rail.reference == SHV_RAIL_MANIFOLD;
    return by_manifold ? pm : model->site[site].p0;
}

double injector_duty(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                     size_t speed, double fuel_flow, double pm)
{
    const struct shv_study *study = model->study;
    const struct shv_injector_part *part = &study->injectors[kit->injector];
    if (part->is_unlimited) {
        return NAN;
    }
    double count = (double)(study->engine.cylinders * study->rail.injectors_per_cylinder);
    double pressure = reference_pressure(model, site, pm) + study->rail.pressure - pm;
    if (pressure <= 0.0) {
        return INFINITY;
    }
    double density = study->fuels[kit->fuel].density;
    double open =
        kit->injector_flow * sqrt(part->test_density * density * pressure / part->rated_pressure);
    return part->dead_time * model->speed[speed].speed / 2.0 + fuel_flow / (count * open);
}

double pump_share(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                  double fuel_flow, double pm)
{
    const struct shv_study *study = model->study;
    const struct shv_pump_part *part = &study->pumps[kit->pump];
    if (part->is_unlimited) {
        return NAN;
    }
    const struct shv_curve_table *curve = &part->pump.flow;
    double pressure = reference_pressure(model, site, pm) + study->rail.pressure +
                      part->pump.line_loss - model->site[site].p0;
    if (!(pressure <= curve->x[curve->count - 1])) {
        return isnan(pressure) ? NAN : INFINITY;
    }
    double flow = study->fuels[kit->fuel].density * shv_curve_table_at(curve, pressure);
    return flow > 0.0 ? fuel_flow / flow : INFINITY;
}
