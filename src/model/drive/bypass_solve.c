/* The cruise point: docs/model.md, section 11.2.
 *
 * The unknown is u with p1 = p2 (1 - u^2) for gas that goes round through the valve and
 * p1 = p2 / (1 - u^2) at negative u, where the engine draws past the rotors: the share u^2 of the
 * higher pressure that is lost over the valve. Flow through a valve goes with the square root of a
 * small drop, so everything is smooth in u, and u^2 stays exact where p2 - p1 would be all
 * rounding. */
#include "model/path/gas.h"
#include "model/drive/bypass_solve.h"

#include <math.h>

#include "model/path/solve.h"

/* How far apart inlet pressures are tried, from the highest down. */
#define PRESSURE_STEP 0.9
#define LEAST_PRESSURE_RATIO 1e-6
#define DOUBLINGS 60
#define MIXING_ROUNDS 12
#define MIXING_SETTLED 1e-15 /* share of the temperature: 4 times rounding */

/* ---- valve and clearances ---- */

double opening_flow(const struct shv_gas *gas, double area, double p, double t, double lost)
{
    return nozzle_flow(gas, area, p, t, nozzle_function_of_loss(lost, gas_gamma(gas, t)));
}

/* ---- one trial ---- */

struct trial {
    const struct cruise *c;
    double u;
    double p1, t1, t2;
    double net;     /* kg/s, blower */
    double leakage; /* kg/s, towards the inlet */
    double valve;   /* kg/s, towards the inlet */
    double gas_power, clearance;
    double h_manifold;
};

static double swept_flow(const struct trial *t, double volume)
{
    return volume * t->p1 / (t->c->gas->gas_constant * t->t1);
}

/* Work on the gas, and for a map the flow, from the state at the inlet alone. */
static void set_power(struct trial *t)
{
    const struct cruise *c = t->c;
    const struct shv_blower *b = c->blower;
    if (b->kind == SHV_BLOWER_GEOMETRY) {
        double gamma = gas_gamma(c->gas, t->t1);
        t->gas_power =
            c->speed * shv_blower_work_per_revolution(b->displacement, b->geometry.volume_ratio,
                                                      gamma, t->p1, c->p2);
        return;
    }
    double ratio = c->p2 / t->p1;
    struct map_value v = map_at(&b->map, c->speed, t->t1, ratio);
    double ideal = shv_gas_enthalpy(c->gas, shv_gas_isentropic_temperature(c->gas, t->t1, ratio)) -
                   shv_gas_enthalpy(c->gas, t->t1);
    t->net = v.volumetric_efficiency * swept_flow(t, b->displacement * c->speed);
    t->gas_power = t->net * ideal / v.isentropic_efficiency;
}

/* Net flow of a blower by geometry, once T2 is known. */
static void set_net(struct trial *t, double lost)
{
    const struct cruise *c = t->c;
    t->clearance = 1.0;
    t->leakage = 0.0;
    if (c->blower->kind == SHV_BLOWER_MAP) {
        return;
    }
    const struct shv_blower_geometry *g = &c->blower->geometry;
    t->clearance = rotor_clearance(g->closing_rate, g->assembly_temperature, t->t2);
    double area = g->leakage_area * t->clearance;
    t->leakage = t->u >= 0.0 ? opening_flow(c->gas, area, c->p2, t->t2, lost)
                             : -opening_flow(c->gas, area, t->p1, t->t1, lost);
    double cold = swept_flow(t, c->fill_volume);
    if (t->u < 0.0) { /* goes on to the outlet as cold as it is */
        t->net = cold - t->leakage;
        return;
    }
    double rise = gas_enthalpy(c->gas, t->t2) - gas_enthalpy(c->gas, t->t1);
    double warming = 1.0 / (gas_cp(c->gas, t->t1) * t->t1);
    t->net = rotor_net_flow(cold, t->leakage, rise, warming);
}

/* Heat of the rotors leaves with the engine's flow alone, wherever the rest goes round. */
static double manifold_rise(const struct trial *t)
{
    return t->c->kept_heat * (t->gas_power + t->c->windage) / t->c->engine_flow;
}

/* At inlet temperature t1: enthalpy of the mixture less that of what is mixed, kg/s J/kg. */
static double mixing_gap(void *data, double t1)
{
    struct trial *t = (struct trial *)data;
    const struct cruise *c = t->c;
    t->t1 = t1;
    set_power(t);
    double rise = manifold_rise(t);
    t->t2 = shv_gas_temperature_after(c->gas, c->t0, rise);
    t->valve = opening_flow(c->gas, c->area, c->p2, t->t2, t->u * t->u);
    double mixed = (c->engine_flow + t->valve) * (shv_gas_enthalpy(c->gas, t1) - c->h0);
    return mixed - t->valve * rise;
}

/* The inlet temperature again and again from the mixture that the last one makes. Work and valve
 * hardly depend on it for a blower by geometry, so a few rounds reach rounding; false when they
 * don't. */
static bool mix_in_rounds(struct trial *t)
{
    const struct cruise *c = t->c;
    double t1 = t->t1 >= c->t0 ? t->t1 : c->t0;
    for (int i = 0; i < MIXING_ROUNDS; i++) {
        (void)mixing_gap(t, t1);
        double rise = manifold_rise(t) * t->valve / (c->engine_flow + t->valve);
        double next = shv_gas_temperature_after(c->gas, c->t0, rise);
        bool settled = fabs(next - t1) <= MIXING_SETTLED * next;
        t1 = next;
        if (settled) {
            (void)mixing_gap(t, t1);
            return true;
        }
    }
    return false;
}

/* Gas goes round: the inlet is warmer than the fresh air. */
static void run_round(struct trial *t)
{
    if (mix_in_rounds(t)) {
        set_net(t, t->u * t->u);
        return;
    }
    double low = t->c->t0, width = 1.0;
    double high = low + width;
    for (int i = 0; i < DOUBLINGS && mixing_gap(t, high) < 0.0; i++) {
        width *= 2.0;
        high = low + width;
    }
    (void)mixing_gap(t, bracket_root(mixing_gap, t, low, high));
    set_net(t, t->u * t->u);
}

/* The engine draws past the rotors: fresh air at the inlet, two streams meet in the manifold. */
static void run_past(struct trial *t)
{
    const struct cruise *c = t->c;
    double lost = t->u * t->u;
    t->t1 = c->t0;
    set_power(t);
    t->valve = -opening_flow(c->gas, c->area, t->p1, t->t1, lost);
    double through = c->engine_flow + t->valve;
    if (through <= 0.0) { /* the valve alone is too much already: any positive net flow says so */
        t->t2 = t->t1;
    } else {
        double rise = manifold_rise(t) * c->engine_flow / through;
        t->t2 = shv_gas_temperature_after(c->gas, c->t0, rise);
    }
    set_net(t, lost);
}

/* Blower flow less what engine and valve ask of it; falls with u. */
static double flow_gap(void *data, double u)
{
    struct trial *t = (struct trial *)data;
    const struct cruise *c = t->c;
    t->u = u;
    t->p1 = u >= 0.0 ? c->p2 * (1.0 - u * u) : c->p2 / (1.0 - u * u);
    if (u >= 0.0) {
        run_round(t);
    } else {
        run_past(t);
    }
    return t->net - c->engine_flow - t->valve;
}

/* ---- looking for the answer ---- */

/* From u, where the blower gives enough, towards lower inlet pressures. */
static double root_below(struct trial *t, double u)
{
    double ratio = 1.0 - u * u;
    while (ratio > LEAST_PRESSURE_RATIO) {
        ratio *= PRESSURE_STEP;
        double next = sqrt(1.0 - ratio);
        if (flow_gap(t, next) < 0.0) {
            return bracket_root(flow_gap, t, u, next);
        }
        u = next;
    }
    return NAN;
}

/* From p1 = p2, where the blower gives too little, towards higher inlet pressures, at which both
 * rotors and valve give more. None where p2 is not below the pressure ahead of the throttle. */
static double root_above(struct trial *t)
{
    double least = t->c->p2 / t->c->p_ahead, ratio = 1.0, u = 0.0;
    while (ratio > least) {
        ratio = fmax(least, ratio * PRESSURE_STEP);
        double next = -sqrt(1.0 - ratio);
        if (flow_gap(t, next) >= 0.0) {
            return bracket_root(flow_gap, t, next, u);
        }
        u = next;
    }
    return NAN;
}

static double find_root(struct trial *t)
{
    double lost = 1.0 - t->c->p_ahead / t->c->p2;
    double start = lost > 0.0 ? sqrt(lost) : 0.0; /* p1 = p2, or as high as the throttle lets it */
    if (flow_gap(t, start) >= 0.0) {
        return root_below(t, start);
    }
    return root_above(t);
}

static bool in_range(double temperature)
{
    return temperature >= SHV_GAS_T_MIN && temperature <= SHV_GAS_T_MAX;
}

static enum shv_bypass_outcome outcome_of(const struct trial *t, const struct shv_bypass_state *s)
{
    const struct cruise *c = t->c;
    if (c->blower->kind == SHV_BLOWER_MAP &&
        map_at(&c->blower->map, c->speed, t->t1, c->p2 / t->p1).outside) {
        return SHV_BYPASS_OUTSIDE_MAP;
    }
    bool inside = in_range(s->inlet_temperature) && in_range(s->discharge_temperature) &&
                  in_range(s->manifold_temperature);
    return inside ? SHV_BYPASS_SOLVED : SHV_BYPASS_OUT_OF_RANGE;
}

static const struct shv_bypass_state starved = {.outcome = SHV_BYPASS_STARVED,
                                                .inlet_pressure = NAN,
                                                .pressure_drop = NAN,
                                                .inlet_temperature = NAN,
                                                .discharge_temperature = NAN,
                                                .manifold_temperature = NAN,
                                                .blower_flow = NAN,
                                                .recirculated = NAN,
                                                .leakage_flow = NAN,
                                                .gas_power = NAN,
                                                .windage_power = NAN,
                                                .friction_power = NAN,
                                                .shaft_power = NAN,
                                                .clearance_left = NAN};

void cruise_solve(const struct cruise *c, struct shv_bypass_state *state)
{
    struct trial t = {.c = c};
    double u = find_root(&t);
    if (isnan(u)) {
        *state = starved;
        return;
    }
    (void)flow_gap(&t, u);
    double rise = manifold_rise(&t);
    *state = (struct shv_bypass_state){
        .inlet_pressure = t.p1,
        .pressure_drop = u >= 0.0 ? u * u * c->p2 : -u * u * t.p1,
        .inlet_temperature = t.t1,
        .discharge_temperature = t.t2,
        .manifold_temperature = shv_gas_temperature_after(c->gas, c->t0, rise),
        .blower_flow = t.net,
        .recirculated = t.valve,
        .leakage_flow = t.leakage,
        .gas_power = t.gas_power,
        .windage_power = c->windage,
        .friction_power = c->friction,
        .shaft_power = t.gas_power + c->windage + c->friction,
        .clearance_left = t.clearance,
    };
    state->outcome = outcome_of(&t, state);
}

struct cruise cruise_of(const struct shv_bypass_cruise *given)
{
    struct cruise c = {.gas = &given->gas,
                       .blower = given->blower,
                       .speed = given->rotor_speed,
                       .p_ahead = given->pressure_ahead,
                       .p2 = given->manifold_pressure,
                       .t0 = given->temperature,
                       .h0 = shv_gas_enthalpy(&given->gas, given->temperature),
                       .engine_flow = given->engine_flow,
                       .kept_heat = 1.0};
    struct rotor rotor = rotor_of(c.blower, c.speed);
    c.fill_volume = rotor.fill_volume;
    c.windage = rotor.windage;
    c.friction = rotor.bearing;
    if (c.blower->kind == SHV_BLOWER_GEOMETRY) {
        c.kept_heat = 1.0 - c.blower->geometry.case_loss;
    }
    return c;
}
