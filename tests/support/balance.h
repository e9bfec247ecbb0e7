/* What is left over of the mass and energy balances of a point. */
#ifndef SHEAVE_TESTS_SUPPORT_BALANCE_H
#define SHEAVE_TESTS_SUPPORT_BALANCE_H

#include "model/kit/model_internal.h"

/* Each relative to its own scale: blower flow = engine flow + bleed; power into the gas = enthalpy
 * rise of the streams + heat rejected. */
struct balance {
    double mass, blower_energy, cooler_energy, total_energy;
};

static inline double balance_relative(double left_over, double scale)
{
    return scale > 0.0 ? left_over / scale : left_over;
}

static inline void model_balance(const struct shv_model *model, size_t site,
                                 const struct shv_point *p, struct balance *balance)
{
    const struct model_site *place = &model->site[site];
    const struct shv_gas *g = &place->gas;
    bool to_inlet = model->study->bypass.bleed_to == SHV_BLEED_TO_INLET;
    double through = p->bypass_open ? p->air_flow : p->blower_flow;
    double lost = p->condensed_flow * water_latent_heat(p->charge_temperature);
    double fresh = p->bleeding && !to_inlet ? through : p->air_flow + p->condensed_flow;
    double h0 = place->h0, h1 = gas_enthalpy(g, p->inlet_temperature);
    double h2 = gas_enthalpy(g, p->discharge_temperature);
    double hm = gas_enthalpy(g, p->charge_temperature);
    double into_gas = p->gas_power + p->windage_power - p->case_heat;
    double scale =
        fabs(p->gas_power) + p->windage_power + 1e-3 * through * h2 / p->discharge_temperature;
    balance->mass =
        balance_relative(through - p->air_flow - p->bleed_flow - p->condensed_flow, through);
    balance->blower_energy = balance_relative(into_gas - through * (h2 - h1), scale);
    balance->cooler_energy = balance_relative(p->cooler_heat - through * (h2 - hm) - lost, scale);
    balance->total_energy =
        balance_relative(into_gas - p->cooler_heat - fresh * (hm - h0) + lost, scale);
}

#endif
