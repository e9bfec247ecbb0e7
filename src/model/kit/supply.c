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
    const struct shv_injection at = {
        .count = (double)(study->engine.cylinders * study->rail.injectors_per_cylinder),
        .speed = model->speed[speed].speed,
        .fuel_flow = fuel_flow,
        .fuel_density = study->fuels[kit->fuel].density,
        .pressure = reference_pressure(model, site, pm) + study->rail.pressure - pm};
    return shv_injector_duty(part, kit->injector_flow, &at);
}

double pump_share(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                  double fuel_flow, double pm)
{
    const struct shv_study *study = model->study;
    const struct shv_pump_part *part = &study->pumps[kit->pump];
    if (part->is_unlimited) {
        return NAN;
    }
    double pressure = reference_pressure(model, site, pm) + study->rail.pressure +
                      part->pump.line_loss - model->site[site].p0;
    if (isnan(pressure)) {
        return NAN;
    }
    double flow = shv_fuel_pump_flow(&part->pump, pressure, study->fuels[kit->fuel].density);
    return flow > 0.0 ? fuel_flow / flow : INFINITY;
}
