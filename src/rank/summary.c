/* One row from the curves of a kit (sheave/summary.h). */
#include "sheave/summary.h"

#include <math.h>
#include <stddef.h>

double shv_fuel_aki(const struct shv_study *study, size_t fuel)
{
    return 0.5 * (study->fuels[fuel].ron + study->fuels[fuel].mon);
}

static void name_parts(const struct shv_study *study, const struct shv_kit *kit,
                       struct shv_summary *s)
{
    const struct shv_injector_part *injector = &study->injectors[kit->injector];
    const struct shv_pump_part *pump = &study->pumps[kit->pump];
    s->kit = *kit;
    s->blower = study->blowers[kit->blower].name;
    s->cooler = study->coolers[kit->cooler].name;
    s->fuel = study->fuels[kit->fuel].name;
    s->crank_pulley = kit->crank_diameter;
    s->blower_pulley = kit->blower_diameter;
    s->ratio = kit->ratio;
    s->effectiveness = kit->effectiveness;
    s->lambda = kit->lambda;
    s->air_fuel_ratio = kit->lambda * study->fuels[kit->fuel].stoichiometric;
    s->aki = shv_fuel_aki(study, kit->fuel);
    s->ignition_margin = kit->ignition_margin;
    s->injector = injector->is_unlimited ? NULL : injector->name;
    s->injector_flow = injector->is_unlimited ? NAN : kit->injector_flow;
    s->injector_mass_flow = s->injector_flow * injector->test_density;
    s->pump = pump->is_unlimited ? NULL : pump->name;
    s->ribs = study->drive.belt.given && kit->ribs > 0.0 ? kit->ribs : NAN;
    s->wrap = study->drive.belt.given && kit->wrap > 0.0 ? kit->wrap : NAN;
}

void shv_summarise_kit(const struct shv_study *study, const struct shv_kit *kit,
                       struct shv_summary *summary)
{
    *summary = (struct shv_summary){.rank = UINT64_MAX,
                                    .index = UINT64_MAX,
                                    .crank_pulley = NAN,
                                    .blower_pulley = NAN,
                                    .ratio = NAN,
                                    .effectiveness = NAN,
                                    .lambda = NAN,
                                    .ignition_margin = NAN,
                                    .aki = NAN,
                                    .air_fuel_ratio = NAN,
                                    .injector_flow = NAN,
                                    .injector_mass_flow = NAN,
                                    .ribs = NAN,
                                    .wrap = NAN,
                                    .objective = NAN};
    if (kit) {
        name_parts(study, kit, summary);
    }
}

/* The point of highest power at a site, NULL when the model has no answer there. */
static const struct shv_point *power_peak(const struct shv_curves *curves, size_t site)
{
    const struct shv_point *p =
        &curves->point[site * curves->speeds + shv_curves_peak_power(curves, site)];
    return p->outcome == SHV_POINT_OK ? p : NULL;
}

static void take_first_site(const struct shv_curves *curves, const struct shv_curves *stock,
                            struct shv_summary *s)
{
    const struct shv_point *p = power_peak(curves, 0),
                           *before = stock ? power_peak(stock, 0) : NULL;
    s->peak_power = p ? p->brake_power : NAN;
    s->peak_power_speed = p ? p->engine_speed : NAN;
    s->gain = p && before ? p->brake_power - before->brake_power : NAN;
    s->bsfc = p ? p->bsfc : NAN;
    s->power_j1349 = p ? p->power_j1349 : NAN;
    s->power_iso1585 = p ? p->power_iso1585 : NAN;
    s->ca50 = p ? p->ca50 : NAN;
    s->phasing_retard = p ? p->phasing_retard : NAN;
    s->phasing_by = p ? p->phasing_by : SHV_PHASING_BEST;
    const struct shv_point *t = &curves->point[shv_curves_peak_torque(curves, 0)];
    bool answered = t->outcome == SHV_POINT_OK;
    s->peak_torque = answered ? t->torque : NAN;
    s->peak_torque_speed = answered ? t->engine_speed : NAN;
}

static void take_weakest_site(const struct shv_study *study, const struct shv_curves *curves,
                              struct shv_summary *s)
{
    s->weakest_site = NULL;
    s->weakest_power = NAN;
    for (size_t site = 0; site < curves->sites; site++) {
        const struct shv_point *p = power_peak(curves, site);
        if (p && (!s->weakest_site || p->brake_power < s->weakest_power)) {
            s->weakest_power = p->brake_power;
            s->weakest_site = study->sites[site].name;
        }
    }
}

/* Where a value of points, at `offset` in them, is highest; the earlier place of equals. */
static void take_place(const struct shv_study *study, const struct shv_curves *curves,
                       size_t offset, double *value, double *speed, const char **site)
{
    *value = *speed = NAN;
    *site = NULL;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        double here = *(const double *)((const char *)p + offset);
        if (p->outcome == SHV_POINT_OK && !isnan(here) && (!*site || here > *value)) {
            *value = here;
            *speed = p->engine_speed;
            *site = study->sites[i / curves->speeds].name;
        }
    }
}

static void take_highest_burn(const struct shv_curves *curves, struct shv_summary *s)
{
    s->fuel_flow = s->fuel_volume = s->knock_integral = s->peak_pressure = NAN;
    s->exhaust_temperature = s->injector_duty = s->pump_flow = NAN;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        if (p->outcome != SHV_POINT_OK) {
            continue;
        }
        s->fuel_flow = fmax(s->fuel_flow, p->fuel_flow); /* fmax passes over a NAN */
        s->fuel_volume = fmax(s->fuel_volume, p->fuel_volume_flow);
        s->knock_integral = fmax(s->knock_integral, p->knock_integral);
        s->peak_pressure = fmax(s->peak_pressure, p->peak_pressure);
        s->exhaust_temperature = fmax(s->exhaust_temperature, p->exhaust_temperature);
        s->injector_duty = fmax(s->injector_duty, p->injector_duty);
        s->pump_flow = fmax(s->pump_flow, p->pump_flow);
    }
}

static void take_highest(const struct shv_curves *curves, struct shv_summary *s)
{
    s->boost = s->rotor_speed = s->pressure_ratio = s->discharge_temperature = NAN;
    s->charge_temperature = s->blower_power = NAN;
    s->bypass_open_points = 0;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        if (p->outcome != SHV_POINT_OK) {
            continue;
        }
        s->boost = fmax(s->boost, p->boost);
        s->rotor_speed = fmax(s->rotor_speed, p->rotor_speed);
        s->pressure_ratio = fmax(s->pressure_ratio, p->pressure_ratio);
        s->discharge_temperature = fmax(s->discharge_temperature, p->discharge_temperature);
        s->charge_temperature = fmax(s->charge_temperature, p->charge_temperature);
        s->blower_power = fmax(s->blower_power, p->blower_power);
        s->bypass_open_points += p->bypass_open;
    }
}

#define DEGREE (3.14159265358979323846 / 180.0)

static void take_worst_hardware(const struct shv_curves *curves, struct shv_summary *s)
{
    s->coolant_temperature = s->bypass_vacuum = s->clearance_left = s->belt_slip = NAN;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        if (p->outcome != SHV_POINT_OK) {
            continue;
        }
        s->coolant_temperature = fmax(s->coolant_temperature, p->coolant_temperature);
        s->bypass_vacuum =
            fmax(s->bypass_vacuum, shv_point_limit_value(p, SHV_LIMIT_BYPASS_VACUUM));
        s->clearance_left = fmin(s->clearance_left, p->clearance_left);
        s->belt_slip = fmax(s->belt_slip, p->belt_slip);
    }
}

/* What a study does not describe is 0 in a sum of worths. */
static double given(double sum)
{
    return sum > 0.0 ? sum : NAN;
}

static void take_cruise(const struct shv_study *study, const struct shv_hardware *h,
                        struct shv_summary *s)
{
    const struct shv_bypass_state *state =
        study->bypass_part.area > 0.0 ? &h->cruise_open : &h->cruise_shut;
    bool known = study->use.cruises && state->outcome == SHV_BYPASS_SOLVED;
    s->cruise_drag = known ? h->cruise_drag : NAN;
    s->cruise_fuel = known ? h->cruise_cost.litres_per_hour * 1e-3 / 3600.0 : NAN;
    s->cruise_fuel_distance = known ? h->cruise_cost.litres_per_100_km * 1e-3 / 100e3 : NAN;
}

static void take_hardware(const struct shv_study *study, const struct shv_curves *curves,
                          struct shv_summary *s)
{
    const struct shv_hardware *h = &curves->hardware;
    take_place(study, curves, offsetof(struct shv_point, belt_tension), &s->belt_tension,
               &s->belt_tension_speed, &s->belt_tension_site);
    take_worst_hardware(curves, s);
    take_cruise(study, h, s);
    s->wrap = h->blower_wrap / DEGREE;
    s->belt_length = h->belt_length;
    s->belt_to_order = shv_belt_to_order(&study->drive.belt, h->belt_length);
    s->static_tension = h->static_tension;
    s->hub_load = h->highest_hub_load;
    s->bearing_life = h->bearing_life;
    s->over_continuous = h->over_continuous;
    s->price = given(h->price);
    s->mass = given(h->mass);
}

static void take_limits(const struct shv_study *study, const struct shv_curves *curves,
                        struct shv_summary *s)
{
    const struct shv_verdict *v = &curves->verdict;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        s->margin[i] = v->limit[i].margin;
    }
    s->binding_limit = s->binding_title = s->binding_site = NULL;
    s->binding_share = s->binding_speed = NAN;
    if (v->binding >= 0) {
        const struct shv_limit_result *r = &v->limit[v->binding];
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)v->binding);
        s->binding_limit = info->name;
        s->binding_title = info->title;
        s->binding_share = r->share;
        if (!info->of_kit) {
            s->binding_site = study->sites[r->site].name;
            s->binding_speed = curves->point[r->site * curves->speeds + r->speed].engine_speed;
        }
    }
}

void shv_summarise(const struct shv_study *study, const struct shv_kit *kit,
                   const struct shv_curves *curves, const struct shv_curves *stock,
                   struct shv_summary *summary)
{
    shv_summarise_kit(study, kit, summary);
    summary->objective = curves->verdict.objective;
    take_first_site(curves, stock, summary);
    take_weakest_site(study, curves, summary);
    take_highest(curves, summary);
    take_highest_burn(curves, summary);
    take_place(study, curves, offsetof(struct shv_point, phasing_retard), &summary->highest_retard,
               &summary->highest_retard_speed, &summary->highest_retard_site);
    take_hardware(study, curves, summary);
    take_limits(study, curves, summary);
}
