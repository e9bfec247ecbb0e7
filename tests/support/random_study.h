/* Random but plausible studies: engines of 0.8 to 6 litres, sites from the sea to 3,000 m, blowers
 * of both kinds, coolers of every arrangement, bleed to either side. The same seed gives the same
 * study. */
#ifndef SHEAVE_TESTS_SUPPORT_RANDOM_STUDY_H
#define SHEAVE_TESTS_SUPPORT_RANDOM_STUDY_H

#include "support/study_fixture.h"

static inline void random_engine(struct made *m, uint64_t *seed)
{
    struct shv_engine *e = &m->study.engine;
    e->displacement = random_in(seed, 0.8e-3, 6e-3);
    e->stroke = random_in(seed, 0.06, 0.1);
    e->compression_ratio = random_in(seed, 8.0, 12.0);
    e->cycle.charge_heating = random_in(seed, 0.0, 0.7);
    e->cycle.charge_wall_temperature = random_in(seed, 350.0, 450.0);
    e->residual_correction = random_chance(seed, 0.7);
    e->residual_gamma = random_in(seed, 1.25, 1.4);
    e->pumping_share = random_in(seed, 0.0, 1.0);
    e->stock = (struct shv_ambient){random_in(seed, 90e3, 102e3), random_in(seed, 285.0, 305.0),
                                    random_in(seed, 0.0, 1.0)};
    e->stock_lambda = random_in(seed, 0.82, 1.05);
    double top = random_in(seed, 75.0, 130.0), x[3], ve[3], torque[3];
    made_speeds(m, 3, 25.0, top);
    for (int i = 0; i < 3; i++) {
        x[i] = m->speeds[i];
        ve[i] = random_in(seed, 0.75, 0.98);
        torque[i] = ve[i] * random_in(seed, 0.9e6, 1.1e6) * e->displacement / (4.0 * MADE_PI);
    }
    made_curve(&e->volumetric_efficiency, 3, x, ve);
    made_curve(&e->stock_torque, 3, x, torque);
    double flow = 1.1 * e->displacement * top / 2.0;
    e->intake = (struct shv_loss){random_in(seed, 0.0, 4e3), flow, 1.18};
    e->exhaust = (struct shv_exhaust){random_in(seed, 0.0, 20e3), flow, 1150.0};
    m->study.intake = (struct shv_loss){random_in(seed, 0.0, 4e3), 1.5 * flow, 1.18};
    e->friction.kind = random_chance(seed, 0.5) ? SHV_FRICTION_CHEN_FLYNN : SHV_FRICTION_EFFICIENCY;
    e->friction.per_piston_speed_squared = random_in(seed, 0.0, 100.0);
    e->efficiency_kind = (enum shv_efficiency_kind)(random_next(seed) % 3);
}

/* Swept volume that at a pulley ratio of 2 is `share` times what the engine sweeps. */
static inline void random_blower(struct made *m, uint64_t *seed)
{
    double size = m->study.engine.displacement / 4.0 * random_in(seed, 0.7, 1.9);
    struct shv_blower *b = &m->blowers[0];
    *b = random_chance(seed, 0.3)
             ? made_map("map", size, random_in(seed, 250.0, 350.0), random_in(seed, 1.8, 2.8))
             : made_geometry("geometry", size);
    b->step_up = random_chance(seed, 0.3) ? random_in(seed, 0.8, 1.4) : 1.0;
    b->friction_torque = 1200.0 * size;
    b->windage_torque = 800.0 * size * random_in(seed, 0.0, 1.5);
    if (b->kind == SHV_BLOWER_GEOMETRY) {
        b->geometry.leakage_area = size * random_in(seed, 0.02, 0.07);
        b->geometry.closing_rate = random_in(seed, 0.0, 0.004);
        b->geometry.volume_ratio = random_chance(seed, 0.5) ? 1.0 : random_in(seed, 1.0, 1.3);
        b->geometry.filling_loss = random_in(seed, 0.0, 0.08);
        b->geometry.case_loss = random_in(seed, 0.0, 0.1);
    }
}

static inline void random_cooler(struct made *m, uint64_t *seed)
{
    enum shv_cooler_arrangement a =
        (enum shv_cooler_arrangement)(random_next(seed) % (SHV_COOLER_CROSSFLOW_COOLANT_MIXED + 1));
    double flow = m->study.engine.displacement * 100.0;
    struct shv_cooler *c = random_chance(seed, 0.5) ? made_add_loop_cooler(m, a, 3, 0.3, 0.6)
                                                    : made_add_cooler(m, a, 3, 0.3, 0.6);
    c->coolant_capacity *= flow / 0.15;
    c->radiator_capacity *= flow / 0.15;
    c->rated_flow = flow;
    c->pressure_drop = random_in(seed, 0.0, 8e3);
    c->pressure_drop_effectiveness = 0.5;
    c->ntu_exponent = random_in(seed, 0.1, 0.5);
    c->coolant_temperature = random_chance(seed, 0.3) ? random_in(seed, 275.0, 330.0) : NAN;
}

static inline void random_study(struct made *m, uint64_t *seed)
{
    made_begin(m);
    random_engine(m, seed);
    random_blower(m, seed);
    random_cooler(m, seed);
    double pressure = random_in(seed, 70e3, 104e3), temperature = random_in(seed, 258.0, 316.0);
    m->sites[0].ambient = (struct shv_ambient){pressure, temperature, random_in(seed, 0.0, 1.0)};
    if (random_chance(seed, 0.2)) {
        m->study.air = (struct shv_air_model){SHV_AIR_CONSTANT, 287.0, 1005.0, 1.4};
    }
    if (random_chance(seed, 0.4)) {
        m->study.bypass.bleed_above = random_in(seed, 5e3, 50e3);
        m->study.bypass.bleed_to =
            random_chance(seed, 0.5) ? SHV_BLEED_TO_INLET : SHV_BLEED_TO_ATMOSPHERE;
    }
    m->fuels[0].stoichiometric = random_in(seed, 9.0, 15.0);
    m->fuels[0].heating_value = 3e6 * m->fuels[0].stoichiometric;
}

/* A ratio from far too slow to plenty, with or without the cooler. */
static inline struct shv_kit random_kit(uint64_t *seed)
{
    bool cooled = random_chance(seed, 0.6);
    return made_kit(0, random_in(seed, 0.5, 3.2), cooled ? 1 : 0,
                    cooled ? random_in(seed, 0.3, 0.6) : 0.0, random_in(seed, 0.8, 1.1));
}

#endif
