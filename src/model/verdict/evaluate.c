/* One kit over the rev range: fills every state and judges. Equations: docs/model.md. */
#include <math.h>
#include <stdlib.h>

#include "model/kit/hardware.h"
#include "model/kit/model_internal.h"

#define PI 3.14159265358979323846

enum shv_status shv_curves_init(struct shv_curves *curves, const struct shv_model *model,
                                struct shv_message *message)
{
    *curves = (struct shv_curves){.sites = model->sites, .speeds = model->speeds};
    curves->point = calloc(model->sites * model->speeds, sizeof *curves->point);
    curves->room = calloc(1, sizeof *curves->room);
    if (!curves->point || !curves->room || hardware_room_init(curves->room, model) != SHV_OK) {
        shv_curves_free(curves);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the curves of a kit");
    }
    return SHV_OK;
}

void shv_curves_free(struct shv_curves *curves)
{
    free(curves->point);
    if (curves->room) {
        hardware_room_free(curves->room);
        free(curves->room);
    }
    *curves = (struct shv_curves){0};
}

/* Blower and air path. */
static void fill_air(const struct shv_model *model, size_t site, const struct lane_block *b,
                     const struct path_shared *s, struct shv_point *p)
{
    const struct match_state *m = &b->state[0];
    struct path_lane l = block_lane(b, model, 0);
    bool to_inlet = model->study->bypass.bleed_to == SHV_BLEED_TO_INLET;
    struct path_out o;
    state_path(s, &l, m, to_inlet, &o);
    p->bypass_open = m->bypass_open;
    p->bleeding = m->bleeding;
    p->inlet_pressure = o.p1;
    p->inlet_temperature = m->inlet.t1;
    p->outlet_pressure = m->p2;
    p->pressure_ratio = m->p2 / o.p1;
    p->discharge_temperature = o.t2;
    p->manifold_pressure = o.pm;
    p->boost = o.pm - s->p0;
    p->charge_temperature = o.tm;
    p->blower_flow = m->blower_flow;
    p->leakage_flow = o.leakage;
    p->bleed_flow = m->bleeding ? m->blower_flow - m->drawn : 0.0;
    p->condensed_flow = o.water;
    p->air_flow = m->drawn - o.water;
    p->dry_air_flow = b->engine_flow[0] / (1.0 + model->site[site].humidity_ratio);
    p->exhaust_pressure = o.pe;
    p->clearance_left = o.clearance;
    p->gas_power = o.gas_power;
    p->windage_power = l.windage;
    p->bearing_power = b->bearing[0];
    p->case_heat = (1.0 - s->kept_heat) * (o.gas_power + l.windage);
    p->blower_power = o.gas_power + l.windage + b->bearing[0];
    p->drive_power = p->blower_power / model->study->drive.efficiency;
    double rho1 = o.p1 / (s->gas.gas_constant * m->inlet.t1);
    p->blower_volumetric_efficiency = m->blower_flow / (rho1 * l.swept);
    double ideal = gas_enthalpy(&s->gas, gas_isentropic(&s->gas, m->inlet.t1, p->pressure_ratio)) -
                   m->inlet.h1;
    p->blower_isentropic_efficiency = m->blower_flow * ideal / p->blower_power;
    if (m->bypass_open) {
        p->blower_volumetric_efficiency = p->blower_isentropic_efficiency = NAN;
        p->blower_flow = p->leakage_flow = 0.0;
    }
}

static void fill_cooler(const struct shv_model *model, const struct lane_block *b,
                        const struct path_shared *s, struct shv_point *p)
{
    bool none = model->study->coolers[b->cooler[0]].is_none;
    p->coolant_temperature = NAN;
    if (none || p->bypass_open) {
        return;
    }
    struct path_lane l = block_lane(b, model, 0);
    double ntu = l.ntu * shv_exp(-l.ntu_exponent * shv_log(p->blower_flow * l.flow_inverse));
    p->effectiveness = effectiveness_of(l.arrangement, ntu, p->blower_flow * l.capacity_inverse);
    p->cooler_drop = p->outlet_pressure - p->manifold_pressure;
    p->cooler_heat = p->blower_flow * (gas_enthalpy(&s->gas, p->discharge_temperature) -
                                       gas_enthalpy(&s->gas, p->charge_temperature)) +
                     b->latent[0];
    p->coolant_temperature = l.source + l.loop * p->cooler_heat;
}

static void fill_cycle(const struct shv_model *model, const struct burn_out *burn,
                       struct shv_point *p)
{
    p->ca50 = burn->ca50;
    p->phasing_by = burn->by;
    p->phasing_retard = burn->wanted_ca50 - model->study->engine.knock.best_ca50;
    p->knock_integral = burn->knock_integral;
    p->exhaust_temperature = burn->exhaust_temperature;
    p->peak_pressure = p->cycle_efficiency = NAN;
    if (model->by_cycle) {
        p->peak_pressure = burn->peak_pressure;
        p->cycle_efficiency = burn->efficiency;
    }
    if (!burn->answered && p->outcome == SHV_POINT_OK) {
        p->outcome = SHV_POINT_NO_CYCLE;
    }
}

static void fill_supply(const struct shv_model *model, size_t site, size_t speed,
                        const struct shv_kit *kit, struct shv_point *p)
{
    p->fuel_volume_flow = p->fuel_flow / model->study->fuels[kit->fuel].density;
    p->indicated_efficiency =
        p->indicated_power / (p->fuel_flow * model->study->fuels[kit->fuel].heating_value);
    p->injector_duty = injector_duty(model, kit, site, speed, p->fuel_flow, p->manifold_pressure);
    p->pump_flow = pump_share(model, kit, site, p->fuel_flow, p->manifold_pressure);
}

/* `metered`: the dry air drawn, as moist air of the site, kg/s. */
static void fill_engine(const struct shv_model *model, size_t site, size_t speed,
                        const struct brake_case *c, double metered, struct shv_point *p)
{
    const struct shv_study *study = model->study;
    const struct model_site *place = &model->site[site];
    const struct model_speed *at = &model->speed[speed];
    struct burn_out burn;
    struct brake_out o;
    const struct burn_state state = {p->manifold_pressure, p->charge_temperature,
                                     p->exhaust_pressure, metered};
    burn_at(model, &c->burn, &state, &burn);
    brake_run(model, at, c, burn.efficiency, burn.peak_pressure, metered, p->manifold_pressure,
              p->exhaust_pressure, p->blower_power, &o);
    fill_cycle(model, &burn, p);
    double r = p->condensed_flow > 0.0 ? gas_constant_at(p->air_flow / p->dry_air_flow - 1.0)
                                       : place->gas.gas_constant;
    double density = p->manifold_pressure / (r * p->charge_temperature);
    p->volumetric_efficiency = p->air_flow / (density * at->cycle_rate);
    p->fuel_flow = o.fuel;
    p->indicated_power = o.indicated;
    p->pumping_power = o.pumping;
    p->friction_power = o.friction;
    p->brake_power = o.brake;
    p->torque = o.brake / (2.0 * PI * at->speed);
    p->bmep = o.brake / (study->engine.displacement * at->speed / 2.0);
    p->bsfc = o.brake > 0.0 ? o.fuel / o.brake : NAN;
    p->power_j1349 = o.brake * place->j1349;
    p->power_iso1585 = o.brake * place->iso1585;
}

static void fill_known(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                       size_t speed, const struct lane_block *b, struct shv_point *p)
{
    double n = model->speed[speed].speed;
    *p = (struct shv_point){.engine_speed = n};
    p->outcome = (enum shv_outcome)b->outcome[0];
    p->rotor_speed = b->rotor_speed[0];
    p->belt_speed = NAN;
    if (!isnan(kit->crank_diameter)) {
        p->belt_speed =
            shv_drive_belt_speed(kit->crank_diameter, model->study->drive.line_offset, n);
    }
    p->piston_speed = model->speed[speed].piston_speed;
    p->ambient_pressure = model->site[site].p0;
    p->ambient_temperature = model->site[site].t0;
}

#define FORGET(name, measure, column, meaning) p->name = NAN;

void forget_point(struct shv_point *p)
{
    SHV_POINT_ANSWERS(FORGET, SHV_POINT_NOTHING)
}

static void evaluate(const struct shv_model *model, const struct shv_kit *described,
                     struct shv_curves *curves, bool plain)
{
    struct shv_kit corrected;
    const struct shv_kit *kit = &corrected;
    shv_model_kit(model, described, &corrected);
    struct lane_block b = {.count = 1, .blower = kit->blower, .fuel = kit->fuel};
    block_set(&b, model, 0, kit->ratio, kit->crank_diameter, kit->cooler,
              model_cooler_ntu(model, kit->cooler, kit->effectiveness));
    for (size_t site = 0; site < model->sites; site++) {
        block_begin_site(&b, model, site);
        for (size_t speed = 0; speed < model->speeds; speed++) {
            struct shv_point *p = &curves->point[site * model->speeds + speed];
            struct path_shared s;
            model_shared(model, kit->blower, kit->fuel, site, speed, &s);
            block_match(&b, model, site, speed, plain);
            fill_known(model, kit, site, speed, &b, p);
            if (!b.state[0].found) {
                forget_point(p);
                continue;
            }
            fill_air(model, site, &b, &s, p);
            fill_cooler(model, &b, &s, p);
            struct brake_case c = brake_case_of(model, site, speed, kit);
            fill_engine(model, site, speed, &c, b.engine_flow[0], p);
            fill_supply(model, site, speed, kit, p);
        }
    }
    hardware_fill(model, kit, curves);
    judge(model, kit, curves);
}

void shv_model_evaluate(const struct shv_model *model, const struct shv_kit *kit,
                        struct shv_curves *curves)
{
    evaluate(model, kit, curves, false);
}

void shv_model_evaluate_plain(const struct shv_model *model, const struct shv_kit *kit,
                              struct shv_curves *curves)
{
    evaluate(model, kit, curves, true);
}

/* The engine breathes through its own intake; no blower takes power. As it left the factory
 * (`stock`) it has its own exhaust, and its cycle runs directly, since its mixture need not be one
 * of the study's. */
static void bare_point(const struct shv_model *model, bool stock, size_t site, size_t speed,
                       struct shv_point *p)
{
    const struct shv_engine *e = &model->study->engine;
    struct path_shared s;
    model_shared(model, 0, e->stock_fuel, site, speed, &s);
    s.intake_k = model->site[site].stock_intake_k;
    s.exhaust.k = stock ? model->site[site].stock_exhaust_k : s.exhaust.k;
    struct path_lane none = {0};
    struct match_state m;
    solve_open(&s, &none, &m);
    *p = (struct shv_point){.engine_speed = model->speed[speed].speed};
    p->outcome = m.found ? SHV_POINT_OK : SHV_POINT_NO_MATCH;
    p->rotor_speed = p->belt_speed = p->coolant_temperature = NAN;
    p->blower_volumetric_efficiency = p->blower_isentropic_efficiency = NAN;
    p->clearance_left = p->pressure_ratio = NAN;
    p->belt_slip = p->belt_tension = p->hub_load = NAN;
    p->ambient_pressure = s.p0;
    p->ambient_temperature = s.t0;
    p->piston_speed = model->speed[speed].piston_speed;
    if (!m.found) {
        forget_point(p);
        return;
    }
    p->inlet_pressure = p->outlet_pressure = p->manifold_pressure = m.p2;
    p->inlet_temperature = p->discharge_temperature = p->charge_temperature = s.t0;
    p->boost = m.p2 - s.p0;
    p->air_flow = m.drawn;
    p->dry_air_flow = m.drawn / (1.0 + model->site[site].humidity_ratio);
    p->exhaust_pressure = exhaust_pressure(&s.exhaust, m.drawn, s.t0);
    struct shv_kit kit = {.fuel = e->stock_fuel, .lambda = e->stock_lambda};
    struct brake_case c = brake_case_of(model, site, speed, &kit);
    burn_give_way(&c.burn, INFINITY); /* what the kit's ignition is set for is not its own's */
    if (stock) {
        c.burn.table = NULL;
    }
    fill_engine(model, site, speed, &c, m.drawn, p);
    fill_supply(model, site, speed, &kit, p);
    p->injector_duty = p->pump_flow = NAN; /* its own, not the kit's */
}

static void evaluate_bare(const struct shv_model *model, bool stock, struct shv_curves *curves)
{
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            bare_point(model, stock, site, speed, &curves->point[site * model->speeds + speed]);
        }
    }
    curves->verdict = (struct shv_verdict){.first_broken = -1, .binding = -1};
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        curves->verdict.limit[i] =
            (struct shv_limit_result){.bound = INFINITY, .value = NAN, .margin = NAN, .share = NAN};
    }
    curves->verdict.objective = NAN;
}

void shv_model_evaluate_stock(const struct shv_model *model, struct shv_curves *curves)
{
    const struct shv_model stock = model_of_stock(model);
    evaluate_bare(&stock, true, curves);
}

void shv_model_evaluate_bare(const struct shv_model *model, struct shv_curves *curves)
{
    evaluate_bare(model, false, curves);
}

/* `power` picks brake power, else torque. */
static size_t peak(const struct shv_curves *curves, size_t site, bool power)
{
    size_t best = 0;
    const struct shv_point *p = &curves->point[site * curves->speeds];
    for (size_t i = 1; i < curves->speeds; i++) {
        double now = power ? p[i].brake_power : p[i].torque;
        double then = power ? p[best].brake_power : p[best].torque;
        if (now > then) {
            best = i;
        }
    }
    return best;
}

size_t shv_curves_peak_power(const struct shv_curves *curves, size_t site)
{
    return peak(curves, site, true);
}

size_t shv_curves_peak_torque(const struct shv_curves *curves, size_t site)
{
    return peak(curves, site, false);
}
