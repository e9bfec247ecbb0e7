/* The path of the air from site to cylinder at a trial flow and outlet pressure, as inline code.
 *
 * One piece of code serves the lanes, the nested bracketing and the point that is reported, so the
 * three cannot disagree. Equations: docs/model.md, sections 2 to 7. SI, absolute pressures.
 */
#ifndef SHEAVE_MODEL_PATH_H
#define SHEAVE_MODEL_PATH_H

#include <stdbool.h>

#include "model/path/breathing.h"
#include "model/path/condense.h"
#include "model/path/effectiveness.h"
#include "model/path/exhaust.h"
#include "model/path/gas.h"
#include "model/path/map.h"
#include "sheave/blower.h"

/* What does not change between the combinations of a block: one site, one engine speed, one blower,
 * one fuel. */
struct path_shared {
    struct shv_gas gas;
    double p0, t0, h0; /* ambient */
    double intake_k;   /* drop = k m^2 */
    struct exhaust_law exhaust;
    struct shv_breathing breathing; /* of the site's air */
    const struct shv_blower *blower;
    bool is_map;
    double area, closing, assembly, volume_ratio;
    double kept_heat;  /* 1 - case loss */
    double slip_added; /* of a map */
};

/* One combination at this site and speed. */
struct path_lane {
    double rotor_speed;  /* rev/s */
    double swept;        /* Vs n, m3/s */
    double fill_volume;  /* swept times filling efficiency */
    double windage;      /* W */
    double ntu;          /* of the cooler at rated flow; 0 without one */
    double flow_inverse; /* 1 / rated flow */
    double ntu_exponent;
    double drop_k;           /* cooler drop = k m^2 / rho2 */
    double loop;             /* K/W of the coolant loop */
    double source;           /* K, coolant source */
    double capacity_inverse; /* cp_ratio / C_coolant: capacity ratio = m * this */
    enum shv_cooler_arrangement arrangement;
};

/* State of the gas at the blower's inlet: ambient, or mixed with recirculated bleed. */
struct path_inlet {
    double t1, h1;
    double work_p1;  /* (vi^(g-1) - 1)/(g-1) - 1 at gamma(t1) */
    double warming;  /* 1 / (cp t1): what leakage displaces goes with its heat over this */
    double humidity; /* kg of water per kg of dry air */
};

/* All that follows from a trial flow and outlet pressure. */
struct path_out {
    double p1, gas_power, t2, h2, clearance, leakage, blower_flow;
    double effectiveness, tm, cooler_drop, pm, pe, engine_flow;
    /* Of the gas behind the cooler: humidity ratio and gas constant, only set where water may
     * condense; kg/s that does. */
    double humidity, gas_constant, water;
};

/* However fast they turn, rotors fill to at least this share of their swept volume. */
#define ROTOR_LEAST_FILLING 0.05

/* What of a blower follows from its speed alone: volumes in m3/s, powers in W. */
struct rotor {
    double swept, fill_volume;
    double windage, bearing;
};

SHV_INLINE struct rotor rotor_of(const struct shv_blower *blower, double speed)
{
    const double two_pi = 6.28318530717958647692;
    bool is_map = blower->kind == SHV_BLOWER_MAP; /* whose efficiency says how far they fill */
    double loss = is_map ? 0.0 : blower->geometry.filling_loss;
    double r = speed / (is_map ? 1.0 : blower->geometry.reference_speed);
    double w = speed / blower->windage_reference_speed;
    double swept = blower->displacement * speed;
    return (struct rotor){.swept = swept,
                          .fill_volume = swept * shv_max(ROTOR_LEAST_FILLING, 1.0 - loss * r * r),
                          .windage = two_pi * speed * blower->windage_torque * w * w,
                          .bearing = two_pi * speed * blower->friction_torque};
}

/* Share of the clearances left once the rotors have grown; at 0 they touch. */
SHV_INLINE double rotor_clearance(double closing, double assembly, double t2)
{
    return shv_max(0.0, 1.0 - closing * (t2 - assembly));
}

/* Net flow of rotors that would take up `filled` kg/s of the gas ahead of them. Leakage comes back
 * hotter by `rise` J/kg and mixes with it: it displaces its own mass and what its heat expands. */
SHV_INLINE double rotor_net_flow(double filled, double leakage, double rise, double warming)
{
    return filled - leakage * (1.0 + rise * warming);
}

/* The blower's part of what a block shares. */
SHV_INLINE void path_take_blower(struct path_shared *s, const struct shv_blower *blower)
{
    s->blower = blower;
    s->is_map = blower->kind == SHV_BLOWER_MAP;
    s->volume_ratio = 1.0;
    s->kept_heat = 1.0;
    s->slip_added = blower->map.slip_added;
    if (!s->is_map) {
        s->area = blower->geometry.leakage_area;
        s->closing = blower->geometry.closing_rate;
        s->assembly = blower->geometry.assembly_temperature;
        s->volume_ratio = blower->geometry.volume_ratio;
        s->kept_heat = 1.0 - blower->geometry.case_loss;
    }
}

SHV_INLINE struct path_inlet path_inlet_of(const struct path_shared *s, double t1, double h1)
{
    double g1 = gas_gamma(&s->gas, t1) - 1.0;
    double inside = (shv_pow(s->volume_ratio, g1) - 1.0) / g1;
    return (struct path_inlet){t1, h1, inside - 1.0, 1.0 / (gas_cp(&s->gas, t1) * t1),
                               gas_humidity(&s->gas)};
}

SHV_INLINE double path_inlet_pressure(const struct path_shared *s, double flow_in)
{
    return shv_max(s->p0 - s->intake_k * flow_in * flow_in, 0.1 * s->p0);
}

/* Blower by geometry: work, discharge temperature from the energy balance, leakage. */
SHV_INLINE void path_geometry(const struct path_shared *s, const struct path_lane *l,
                              const struct path_inlet *in, double m, double p2, struct path_out *o)
{
    const struct shv_gas *g = &s->gas;
    o->gas_power = l->swept * (o->p1 * in->work_p1 + p2 / s->volume_ratio);
    double rise = s->kept_heat * (o->gas_power + l->windage) / m;
    o->t2 = gas_temperature_after(g, in->t1, in->h1, rise);
    o->clearance = rotor_clearance(s->closing, s->assembly, o->t2);
    double r = shv_min(1.0, o->p1 / p2);
    double psi = nozzle_function(r, gas_gamma(g, o->t2));
    o->leakage = nozzle_flow(g, s->area * o->clearance, p2, o->t2, psi);
    double cold = l->fill_volume * o->p1 / (g->gas_constant * in->t1);
    o->blower_flow = rotor_net_flow(cold, o->leakage, rise, in->warming);
}

/* Blower by map, with the map's values at this speed and pressure ratio. */
SHV_INLINE void path_map(const struct path_shared *s, const struct path_lane *l,
                         const struct path_inlet *in, struct map_value v, double m, double p2,
                         struct path_out *o)
{
    const struct shv_gas *g = &s->gas;
    double isentropic = gas_isentropic(g, in->t1, p2 / o->p1);
    double work = (gas_enthalpy(g, isentropic) - in->h1) / v.isentropic_efficiency;
    o->leakage = 0.0;
    o->clearance = 1.0;
    o->blower_flow = v.volumetric_efficiency * l->swept * o->p1 / (g->gas_constant * in->t1);
    o->gas_power = m * work;
    o->t2 = gas_temperature_after(g, in->t1, in->h1, s->kept_heat * (work + l->windage / m));
}

/* What a pass of path_looped refines: charge temperature and mean heat capacity of the charge. */
struct looped {
    double tm, cp;
};

SHV_INLINE struct looped looped_pass(const struct path_shared *s, const struct path_lane *l,
                                     double m, double effectiveness, double t2, double h2,
                                     double cp)
{
    double k = m * cp * effectiveness * l->loop;
    double drop = effectiveness * (t2 - l->source) / (1.0 + k);
    double mean = (h2 - gas_enthalpy(&s->gas, t2 - drop)) / drop;
    return (struct looped){t2 - drop, fabs(drop) > 1e-6 ? mean : cp};
}

/* Charge temperature with a coolant loop, whose own temperature depends on the heat taken. The mean
 * heat capacity is refined a fixed number of times; each pass gains about four digits. */
SHV_INLINE double path_looped(const struct path_shared *s, const struct path_lane *l, double m,
                              double effectiveness, double t2)
{
    double h2 = gas_enthalpy(&s->gas, t2);
    struct looped a = {t2, gas_cp(&s->gas, t2)};
    a = looped_pass(s, l, m, effectiveness, t2, h2, a.cp);
    a = looped_pass(s, l, m, effectiveness, t2, h2, a.cp);
    a = looped_pass(s, l, m, effectiveness, t2, h2, a.cp);
    a = looped_pass(s, l, m, effectiveness, t2, h2, a.cp);
    a = looped_pass(s, l, m, effectiveness, t2, h2, a.cp);
    return a.tm;
}

/* Where the charge behind the cooler would be below its dew point, water condenses. */
SHV_INLINE void path_condense(const struct path_shared *s, const struct path_lane *l,
                              const struct path_inlet *in, double m, struct path_out *o)
{
    o->humidity = in->humidity;
    if (condense_begins(in->humidity, o->pm, o->tm)) {
        const struct wet_core core = {.gas = &s->gas,
                                      .flow = m,
                                      .humidity = in->humidity,
                                      .t2 = o->t2,
                                      .p_out = o->pm,
                                      .share = o->effectiveness,
                                      .source = l->source,
                                      .loop = l->loop};
        struct wet_out wet = condense_in(&core);
        o->tm = wet.tm;
        o->humidity = wet.humidity;
        o->water = wet.water;
    }
    o->gas_constant = gas_constant_at(o->humidity);
}

/* Where water can condense at all. */
SHV_INLINE bool path_may_condense(const struct path_shared *s, const struct path_lane *l)
{
    return l->ntu > 0.0 && s->gas.vapour_fraction > 0.0;
}

/* Charge cooler: temperature, drop. `looped` may be false only where the lane has no coolant loop;
 * with a loop of no resistance both give the same bits. */
SHV_INLINE void path_cooler(const struct path_shared *s, const struct path_lane *l, double m,
                            double p2, bool looped, struct path_out *o)
{
    o->water = 0.0;
    double ntu = l->ntu * shv_exp(-l->ntu_exponent * shv_log(m * l->flow_inverse));
    o->effectiveness = effectiveness_of(l->arrangement, ntu, m * l->capacity_inverse);
    o->tm = looped ? path_looped(s, l, m, o->effectiveness, o->t2)
                   : o->t2 - o->effectiveness * (o->t2 - l->source);
    o->cooler_drop = l->drop_k * m * m * s->gas.gas_constant * o->t2 / p2;
    o->pm = p2 - o->cooler_drop;
}

/* Moist air the engine draws from this manifold, of gas constant r; `m_exhaust` sets the exhaust
 * back pressure. */
SHV_INLINE void path_engine(const struct path_shared *s, double r, double m_exhaust,
                            struct path_out *o)
{
    o->pe = exhaust_pressure(&s->exhaust, m_exhaust, o->tm);
    o->engine_flow = breathing_flow(&s->breathing, o->pm, o->pe, o->tm) * (s->gas.gas_constant / r);
}

/* The whole path, dry: nothing condenses. `m_in`: drawn from outside; `m`: through the blower;
 * `drawn`: into the engine. */
SHV_INLINE void path_run(const struct path_shared *s, const struct path_lane *l,
                         const struct path_inlet *in, double m_in, double m, double drawn,
                         double p2, bool is_map, bool looped, struct path_out *o)
{
    o->p1 = path_inlet_pressure(s, m_in);
    if (is_map) {
        struct map_value v = map_at(&s->blower->map, l->rotor_speed, in->t1, p2 / o->p1);
        path_map(s, l, in, v, m, p2, o);
    } else {
        path_geometry(s, l, in, m, p2, o);
    }
    path_cooler(s, l, m, p2, looped, o);
    path_engine(s, s->gas.gas_constant, drawn, o);
}

/* The same where water may condense; `drawn` is what goes into the engine and the water that leaves
 * ahead of it. */
SHV_INLINE void path_run_wet(const struct path_shared *s, const struct path_lane *l,
                             const struct path_inlet *in, double m_in, double m, double drawn,
                             double p2, bool is_map, bool looped, struct path_out *o)
{
    path_run(s, l, in, m_in, m, drawn, p2, is_map, looped, o);
    if (path_may_condense(s, l)) {
        path_condense(s, l, in, m, o);
        path_engine(s, o->gas_constant, drawn - o->water, o);
    }
}

#endif
