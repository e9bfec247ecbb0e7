/* The curves of one kit brought down to one row: peaks, highest values, margins. SI. A value that
 * does not apply is NAN, a text NULL. */
#ifndef SHEAVE_REPORT_SUMMARY_H
#define SHEAVE_REPORT_SUMMARY_H

#include "report/write/columns.h"
#include "sheave/report.h"

struct report_summary {
    uint64_t rank, index;
    struct shv_kit kit;
    const char *role; /* "kit to sell", "strongest on paper", "both"; NULL for another */
    const char *blower, *cooler, *fuel;
    const char *injector, *pump; /* NULL when none are named */
    double crank_pulley, blower_pulley, ratio, effectiveness, lambda, ignition_margin;
    double aki, air_fuel_ratio;               /* of the fuel; the other name of lambda */
    double injector_flow, injector_mass_flow; /* m3/s; kg/s of what it was rated with */
    double objective;                         /* as it is shown: src/report/table/objective.h */
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

/* `stock` are the curves of the stock engine, for the gain. */
void report_summarise(const struct shv_study *study, const struct shv_kit *kit,
                      const struct shv_curves *curves, const struct shv_curves *stock,
                      struct report_summary *summary);

/* What the writers need to make rows of a ranking: room for the curves of a kit, and the stock
 * engine's. */
struct report_rows {
    const struct shv_run *run;
    struct shv_curves curves, stock;
    struct shv_curves *of_thread; /* owned, one for each thread of report_rows_each */
    int threads;
};
enum shv_status report_rows_init(struct report_rows *rows, const struct shv_run *run,
                                 struct shv_message *message);
/* Writes the rows of the ranking into NAME in the folder; `write` returns false when a write
 * failed. */
enum shv_status report_rows_write(const struct shv_run *run, const char *folder, const char *name,
                                  bool (*write)(FILE *out, struct report_rows *rows),
                                  struct shv_message *message);
void report_rows_free(struct report_rows *rows);
/* Kits that get curves, limits and parts: the first of the ranking, as many as the study says, and
 * the kit to sell. Their places in the ranking. */
size_t report_drawn_count(const struct shv_run *run);
size_t report_drawn_place(const struct shv_run *run, size_t drawn);
/* Combinations that get a row each, in order. */
struct report_list {
    size_t count;
    void *data;
    uint64_t (*index)(const void *data, size_t i);
    /* Writes the row at `i`; false when the write failed. */
    bool (*write)(void *data, size_t i, struct report_summary *kit);
};
/* Evaluates them on all threads, some at a time, and writes them; false when a write failed. The
 * rank of a summary is its place in the list, from 1. */
bool report_rows_each(struct report_rows *rows, const struct report_list *list);
/* The place of the kit that goes first: the one to sell, else the best of the ranking. */
size_t report_lead_place(const struct shv_run *run);
/* Evaluates a combination as the row at `place` of whatever is listed; its curves stay in `rows`.
 */
void report_rows_take_index(struct report_rows *rows, uint64_t index, size_t place,
                            struct report_summary *summary);
/* The same of a place of the ranking, 0 for the best. */
void report_rows_take(struct report_rows *rows, size_t place, struct report_summary *summary);

#endif
