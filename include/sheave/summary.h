/* The curves of one kit brought down to one row: peaks, highest values, room to limits. SI. A value
 * that does not apply is NAN, a text NULL. */
#ifndef SHEAVE_SUMMARY_H
#define SHEAVE_SUMMARY_H

#include "sheave/model.h"

struct shv_summary {
    uint64_t rank, index; /* for who lists it; UINT64_MAX before */
    struct shv_kit kit;
    const char
        *role; /* for who lists it: "kit to sell", "strongest on paper", "both"; NULL for another */
    const char *blower, *cooler, *fuel;
    const char *injector, *pump; /* NULL when none are named */
    double crank_pulley, blower_pulley, ratio, effectiveness, lambda, ignition_margin;
    double aki, air_fuel_ratio;               /* of the fuel; the other name of lambda */
    double injector_flow, injector_mass_flow; /* m3/s; kg/s of what it was rated with */
    double objective; /* what the ranking is by, as the judge gives it; who lists it may turn its
                         sign */
    /* At the first site of the study. */
    double peak_power, peak_power_speed, peak_torque, peak_torque_speed, gain;
    double bsfc, power_j1349, power_iso1585, ca50, phasing_retard; /* where its power peaks */
    enum shv_phasing_by phasing_by;                                /* there as well */
    /* At the site where the peak of power is lowest. */
    const char *weakest_site;
    double weakest_power;
    /* Highest over sites and speeds. */
    double boost, rotor_speed, pressure_ratio, discharge_temperature, charge_temperature;
    double blower_power, fuel_flow, fuel_volume, knock_integral, peak_pressure;
    double exhaust_temperature, injector_duty, pump_flow;
    double highest_retard, highest_retard_speed;
    const char *highest_retard_site; /* NULL without the closed cycle */
    double coolant_temperature, bypass_vacuum;
    double clearance_left; /* lowest */
    /* Of the belt; ribs are not known without one, the rest not without pulleys either. */
    double ribs, wrap; /* deg on the blower's pulley */
    double belt_length, belt_to_order, static_tension, belt_slip, hub_load;
    double belt_tension, belt_tension_speed; /* of one rib */
    const char *belt_tension_site;
    double bearing_life, over_continuous;
    double price, mass; /* where any part has one */
    /* With the bypass open, shut without one; fuel in m3/s and m3/m. */
    double cruise_drag, cruise_fuel, cruise_fuel_distance;
    uint64_t bypass_open_points;
    double margin[SHV_LIMIT_COUNT];
    /* The name, its title and the site; NULL when there is no limit. A property of the whole kit
     * has no site and no speed. */
    const char *binding_limit, *binding_title, *binding_site;
    double binding_share, binding_speed;
};

/* `stock` are the curves of the stock engine, for the gain; NULL: it is not known. */
void shv_summarise(const struct shv_study *study, const struct shv_kit *kit,
                   const struct shv_curves *curves, const struct shv_curves *stock,
                   struct shv_summary *summary);

/* Only what it consists of, wrap where it is chosen; all else is not known. Of no kit, NULL,
 * nothing is. */
void shv_summarise_kit(const struct shv_study *study, const struct shv_kit *kit,
                       struct shv_summary *summary);
/* The antiknock index of a fuel of the study: the mean of its octane numbers. */
double shv_fuel_aki(const struct shv_study *study, size_t fuel);

#endif
