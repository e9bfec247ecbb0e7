/* What the charge makes of its fuel at a point: the closed cycle by table or directly, or none.
 * docs/model.md, section 8. */
#ifndef SHEAVE_MODEL_BURN_H
#define SHEAVE_MODEL_BURN_H

#include "model/cylinder/cycle_lookup.h"
#include "sheave/model.h"

struct shv_model;
struct model_speed;

/* How one fuel and mixture burns at one site and speed. */
struct burn_case {
    bool by_cycle;
    const struct shv_cycle_table *table; /* NULL: directly */
    size_t site, speed, fuel;
    struct shv_breathing breathing; /* of the model, where the cycle runs directly */
    double lambda;
    double peak;            /* Pa, the pressure that the phasing gives way to; INFINITY: none */
    struct cycle_wish wish; /* both, as the look-up takes them */
    /* Of a corrected model, whose table is that of its base. */
    bool departs;  /* may meet states beyond the table: there it is the direct cycle */
    bool off_rule; /* exhaust pressure */
    const struct burn_shift *shift; /* of the table */
};

/* What flows through the manifold at a point: Pa, K, Pa, kg/s. */
struct burn_state {
    double manifold_pressure, charge_temperature, exhaust_pressure, air_flow;
};

/* Per point. Without the closed cycle the efficiency is 1 and the pressure is that of the manifold:
 * the constants they meet are chosen so. */
struct burn_out {
    bool answered;
    enum shv_phasing_by by;
    double efficiency; /* gross */
    double peak_pressure;
    double ca50, wanted_ca50;
    double exhaust_temperature, knock_integral;
};

extern const struct burn_out no_burn;

/* What many lanes need of it, [lane]. */
struct burn_lanes {
    const bool *dead; /* lanes that nobody asks about */
    const double *pm, *tm;
    double *efficiency, *peak_pressure, *wanted_ca50, *exhaust_temperature;
    uint8_t *answered;
};

struct burn_case burn_case_of(const struct shv_model *model, size_t site, size_t speed, size_t fuel,
                              double lambda, double retard);

/* Lets its phasing give way to a peak pressure, Pa; INFINITY: to none. */
void burn_give_way(struct burn_case *c, double peak);

/* One point; exhaust pressure and flow only matter to the direct cycle and to corrected models: the
 * table has its own rule for them. */
void burn_at(const struct shv_model *model, const struct burn_case *c, const struct burn_state *at,
             struct burn_out *o);

/* The direct cycle at the phasing that knock and peak pressure allow, `retard` later. */
void burn_direct(const struct shv_model *model, const struct burn_case *c,
                 const struct shv_cycle_case *at, struct burn_out *o);

/* Fuel and fixed part of the case as the cycle takes them; the fuel's numbers without what the
 * rating's own cooling of the charge gave them. */
struct shv_cycle_fuel burn_fuel(const struct shv_fuel *fuel);
struct shv_cycle_case burn_cycle_case(double humidity_ratio, double speed, double lambda);

SHV_INLINE bool burn_has_answer(enum shv_cycle_table_outcome outcome)
{
    return outcome == SHV_CYCLE_TABLE_DONE || outcome == SHV_CYCLE_TABLE_KNOCK_LIMITED;
}

#endif
