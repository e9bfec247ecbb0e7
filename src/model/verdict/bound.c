/* Upper bounds on the objective by intervals: docs/model.md, appendix B.3.
 *
 * The range of ratios is halved until it is proven or too small. In each part, at each site and
 * speed, the states of the charge (manifold pressure and temperature) are cut into cells, those of
 * the cycle's table where there is one. A cell is left out when no state in it can be reached with
 * a ratio of the piece or can keep the limits; the highest brake power that the others could make,
 * everything taken at the better end of its cell, bounds the power there.
 */
#include "model/verdict/bound.h"

#include <math.h>

#include "model/kit/hardware.h"
#include "model/kit/model_internal.h"

/* How often a range of ratios is halved at the most. */
#define HALVINGS 5
/* A bound so much above what is asked for, as a share of it, is not worth halving for. */
#define FAR_ABOVE 0.2
/* Cells of the charge without a table; with one each of its own is cut into so many. */
#define PRESSURE_CELLS 96
#define TEMPERATURE_CELLS 24
#define PRESSURE_CUTS 2
#define TEMPERATURE_CUTS 1
#define SLACK (1.0 + 1e-9)
#define FILL_LEAST 0.05 /* as block_begin_speed holds it */
/* The nozzle function is below this for any gas of the model: 0.73 at gamma = 1.67. */
#define NOZZLE_MOST 0.73
/* No temperature of a state with an answer is higher. */
#define HOTTEST SHV_GAS_T_MAX

struct range {
    double low, high;
};

/* What holds for a kit at one site and speed and a piece of the ratios. */
struct bounds {
    const struct shv_model *model;
    const struct shv_kit *kit;
    const struct shv_blower *blower;
    const struct shv_cooler *cooler;
    const struct model_speed *at;
    const double *limit;
    struct path_shared s;
    struct brake_case c;
    struct range fill, swept; /* m3/s */
    double bleed;             /* Pa, manifold pressure at which the bypass bleeds */
    double coldest;           /* K, at the blower's inlet */
    double source;            /* K, of the coolant; ambient without one */
    double cap;               /* kg/s that the blower can give */
    double fixed_power;       /* W at the rotor shaft, windage and bearings at the least speed */
    double ntu, drop_k;       /* of the largest core */
    struct range isentropic;  /* efficiency of a map; its high end counts */
};

/* ---- blower ---- */

static double fill_at(const struct shv_blower *b, double n)
{
    double r = n / b->geometry.reference_speed;
    return b->displacement * n * shv_max(FILL_LEAST, 1.0 - b->geometry.filling_loss * r * r);
}

/* Over a range of speeds: its ends, the top of the parabola and where it is held. */
static struct range fill_over(const struct shv_blower *b, double low, double high)
{
    double loss = b->geometry.filling_loss, reference = b->geometry.reference_speed;
    double turns[] = {low, high, low, low};
    if (loss > 0.0) {
        turns[2] = shv_min(shv_max(reference / sqrt(3.0 * loss), low), high);
        turns[3] = shv_min(shv_max(reference * sqrt((1.0 - FILL_LEAST) / loss), low), high);
    }
    struct range f = {INFINITY, 0.0};
    for (size_t i = 0; i < sizeof turns / sizeof *turns; i++) {
        f.low = shv_min(f.low, fill_at(b, turns[i]));
        f.high = shv_max(f.high, fill_at(b, turns[i]));
    }
    return f;
}

/* Values of a map lie between those of its points. */
static void widen(const struct shv_curve_table *t, struct range *r)
{
    for (size_t i = 0; i < t->count; i++) {
        r->low = shv_min(r->low, t->y[i]);
        r->high = shv_max(r->high, t->y[i]);
    }
}

static void set_blower(struct bounds *b, double n_low, double n_high)
{
    const struct shv_blower *blower = b->blower;
    const double two_pi = 6.28318530717958647692;
    double w = n_low / blower->windage_reference_speed;
    b->fixed_power = two_pi * n_low * (blower->windage_torque * w * w + blower->friction_torque);
    b->swept = (struct range){blower->displacement * n_low, blower->displacement * n_high};
    if (!b->s.is_map) {
        b->fill = fill_over(blower, n_low, n_high);
        return;
    }
    struct range ve = {INFINITY, 0.0};
    b->isentropic = (struct range){INFINITY, 0.0};
    for (size_t i = 0; i < blower->map.lines; i++) {
        widen(&blower->map.line[i].volumetric_efficiency, &ve);
        widen(&blower->map.line[i].isentropic_efficiency, &b->isentropic);
    }
    b->fill = (struct range){b->swept.low * ve.low, b->swept.high * ve.high};
}

/* Least work of the rotors on each kilogram at this manifold pressure, J: swept volume is no less
 * than what is delivered, inlet pressure no more than ambient. */
static double least_work(const struct bounds *b, double pm)
{
    const struct shv_gas *g = &b->s.gas;
    double ratio = pm / b->s.p0;
    if (b->s.is_map) {
        double t = gas_isentropic(g, b->coldest, ratio);
        return (gas_enthalpy(g, t) - gas_enthalpy(g, b->coldest)) / b->isentropic.high;
    }
    double hot = path_inlet_of(&b->s, SHV_GAS_T_MAX, 0.0).work_p1;
    return shv_max(0.0, g->gas_constant * b->coldest * (hot + ratio / b->s.volume_ratio));
}

static double least_discharge(const struct bounds *b, double work)
{
    return gas_temperature_after(&b->s.gas, b->coldest, gas_enthalpy(&b->s.gas, b->coldest),
                                 b->s.kept_heat * work);
}

/* Least flow of a blower that neither bleeds nor lets the engine past, against pressures up to
 * `pm`. */
static double least_flow(const struct bounds *b, double pm_low, double pm, double t2_low)
{
    const struct path_shared *s = &b->s;
    double r = s->gas.gas_constant;
    double p1 = path_inlet_pressure(s, b->cap);
    double filled = b->fill.low * p1 / (r * s->t0);
    if (s->is_map) {
        return filled;
    }
    double hottest = shv_min(HOTTEST, b->limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] * SLACK);
    double p2 = pm + b->drop_k * b->cap * b->cap * r * hottest / pm_low;
    double clearance = shv_max(0.0, 1.0 - s->closing * (t2_low - s->assembly));
    /* Below the choked flow, and below that of a fluid that does not expand. */
    double nozzle = shv_min(NOZZLE_MOST, sqrt(shv_max(0.0, 2.0 * (1.0 - p1 / p2))));
    return filled - s->area * clearance * p2 / sqrt(r * t2_low) * nozzle;
}

/* ---- engine ---- */

static double flow_at(const struct bounds *b, double pm, double t)
{
    const struct path_shared *s = &b->s;
    double warm = shv_pow(t / s->reference_temperature, s->charge_exponent);
    double c = s->breathing_c * warm / (s->gas.gas_constant * (t + s->charge_pickup));
    double push = c * (s->breathing_a * pm - s->breathing_b * s->p0);
    double back = c * s->breathing_b * s->exhaust_k;
    return push > 0.0 ? 2.0 * push / (1.0 + sqrt(1.0 + 4.0 * back * push)) : 0.0;
}

/* Whether flow falls with temperature everywhere, which the bounds take for granted. */
static bool flow_falls(const struct path_shared *s)
{
    double e = s->charge_exponent;
    return e < 1.0 && SHV_GAS_T_MIN * (1.0 - e) > e * s->charge_pickup && s->breathing_b >= 0.0;
}

/* What burns in a cell: the most efficiency, the least peak pressure; false when no state in it has
 * an answer within the limits. */
struct burn_bounds {
    double efficiency, peak_pressure;
};

static bool burn_in_cell(const struct bounds *b, size_t p, size_t t, double pm_low,
                         struct burn_bounds *out)
{
    const struct shv_cycle_table *table = b->c.burn.table;
    if (!table) {
        *out = (struct burn_bounds){1.0, pm_low};
        return true;
    }
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE],
                                *at = &table->axis[SHV_CYCLE_TEMPERATURE],
                                *ac = &table->axis[SHV_CYCLE_CA50];
    size_t nt = at->nodes + 2, nc = ac->nodes + 2;
    double earliest = INFINITY, motored = INFINITY, fired = INFINITY, most = 0.0;
    size_t node[4];
    for (size_t i = 0; i < 4; i++) {
        /* One row of nodes more lies ahead of each axis. */
        size_t row = b->c.burn.speed * (ap->nodes + 2) + p + 1 + i / 2;
        node[i] = row * nt + t + 1 + i % 2;
        const double *surface = table->surfaces + node[i] * SHV_CYCLE_SURFACES;
        if (isnan(surface[CYCLE_UNCLAMPED])) {
            return false;
        }
        earliest = shv_min(earliest, surface[CYCLE_UNCLAMPED]);
        motored = shv_min(motored, surface[CYCLE_MOTORED]);
    }
    double wanted = shv_max(earliest + b->kit->ignition_margin, ac->least);
    double best = b->model->study->engine.knock.best_ca50;
    if (wanted - best > b->limit[SHV_LIMIT_PHASING_RETARD] * SLACK + 1e-9) {
        return false;
    }
    size_t first = cycle_spot_of(ac, shv_min(wanted, ac->most)).cell + 1;
    for (size_t i = 0; i < 4; i++) {
        for (size_t k = first; k < ac->nodes + 1; k++) {
            const double *v = table->volumes + (node[i] * nc + k) * SHV_CYCLE_FIELDS;
            most = v[CYCLE_EFFICIENCY] > most ? v[CYCLE_EFFICIENCY] : most;
            fired = v[CYCLE_FIRED] < fired ? v[CYCLE_FIRED] : fired;
        }
    }
    *out = (struct burn_bounds){most,
                                shv_exp(shv_max(motored, isinf(fired) ? motored : fired)) / SLACK};
    return out->peak_pressure <= b->limit[SHV_LIMIT_PEAK_PRESSURE] * SLACK;
}

/* ---- cells ---- */

struct row {
    double low, high;                /* Pa */
    bool closed;                     /* no state in it has the bypass open */
    double work, discharge, coldest; /* least ones: J/kg, K, K of the charge */
    double least_flow;               /* kg/s that the blower gives at least; 0 where it may bleed */
};

/* The coldest charge at this pressure and at least this flow. */
static double least_charge(const struct bounds *b, const struct row *r, double flow)
{
    if (b->cooler->is_none || !r->closed || r->discharge <= b->source) {
        return b->cooler->is_none ? r->discharge : shv_min(r->discharge, b->source);
    }
    double effectiveness = 1.0;
    if (flow > 0.0 && b->cooler->ntu_exponent >= 0.0) {
        double share = flow / b->cooler->rated_flow;
        double ntu = b->ntu * shv_pow(share, -b->cooler->ntu_exponent);
        double ratio = share * b->model->cooler[b->kit->cooler].rated_ratio;
        effectiveness = shv_min(1.0, effectiveness_of(b->cooler->arrangement, ntu, ratio) * SLACK);
    }
    return r->discharge - effectiveness * (r->discharge - b->source);
}

/* Whether a limit forbids all of a row. */
static bool row_breaks(const struct bounds *b, const struct row *r)
{
    const double *limit = b->limit;
    double p0 = b->s.p0, rise = r->low - p0;
    return r->low > b->bleed * SLACK || rise > limit[SHV_LIMIT_BOOST] * SLACK ||
           rise > limit[SHV_LIMIT_MANIFOLD_PRESSURE] * SLACK ||
           rise > limit[SHV_LIMIT_PRESSURE_RISE] * SLACK ||
           r->low / p0 > limit[SHV_LIMIT_PRESSURE_RATIO] * SLACK ||
           r->discharge > limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] * SLACK ||
           r->discharge > limit[SHV_LIMIT_MANIFOLD_TEMPERATURE] * SLACK;
}

/* False when no state of this pressure can be, whatever of the temperatures `tm` its charge has. */
static bool begin_row(const struct bounds *b, struct range tm, struct row *r)
{
    r->closed = r->low >= b->s.p0;
    r->work = r->least_flow = 0.0;
    r->discharge = shv_min(b->coldest, b->source);
    double least = flow_at(b, r->low, tm.high);
    if (r->closed) {
        r->work = least_work(b, r->low) / SLACK;
        r->discharge = least_discharge(b, r->work);
        if (r->high * SLACK < b->bleed) {
            r->least_flow = least_flow(b, r->low, r->high, r->discharge);
        }
    }
    r->coldest = least_charge(b, r, least) / SLACK;
    if (!r->closed) {
        return true;
    }
    double most = flow_at(b, r->high, shv_max(tm.low, r->coldest));
    return !row_breaks(b, r) && least <= b->cap * SLACK && most * SLACK >= r->least_flow;
}

/* Most brake power of a cell, -INFINITY when nothing in it can be. */
static double power_in_cell(const struct bounds *b, const struct row *r, size_t p, size_t t,
                            struct range tm)
{
    const double *limit = b->limit, eta = b->model->study->drive.efficiency;
    const struct shv_engine *e = &b->model->study->engine;
    struct burn_bounds burn;
    tm.low = shv_max(tm.low, r->coldest);
    if (tm.high < r->coldest || tm.low > limit[SHV_LIMIT_CHARGE_TEMPERATURE] * SLACK) {
        return -INFINITY;
    }
    struct range flow = {flow_at(b, r->low, tm.high),
                         shv_min(flow_at(b, r->high, tm.low),
                                 limit[SHV_LIMIT_FUEL_FLOW] * SLACK / b->c.fuel_per_air)};
    if (r->closed) {
        flow.high = shv_min(flow.high, b->cap);
    }
    if (flow.low > flow.high * SLACK || flow.high * SLACK < r->least_flow ||
        (flow.low * r->work + b->fixed_power) > limit[SHV_LIMIT_BLOWER_POWER] * SLACK ||
        !burn_in_cell(b, p, t, r->low, &burn)) {
        return -INFINITY;
    }
    double pe = b->s.p0 + b->s.exhaust_k * flow.low * flow.low;
    double pumping = e->pumping_share * (r->high - pe) * b->at->cycle_rate;
    double per_flow = b->model->brake_share * b->c.work_per_air * burn.efficiency - r->work / eta;
    double power = per_flow * (per_flow > 0.0 ? flow.high : flow.low) +
                   b->model->brake_share * pumping - b->at->friction_0 -
                   b->at->friction_p * burn.peak_pressure - b->fixed_power / eta;
    double most = limit[SHV_LIMIT_TORQUE] * 6.28318530717958647692 * b->at->speed;
    return shv_min(power, most);
}

/* Edges of the cells, the table's own or even ones. */
static double edge_of(const struct bounds *b, size_t direction, size_t i, size_t cells)
{
    const struct shv_cycle_table *table = b->c.burn.table;
    if (table) {
        const struct shv_cycle_axis *a = &table->axis[direction];
        double cuts = direction == SHV_CYCLE_PRESSURE ? PRESSURE_CUTS : TEMPERATURE_CUTS;
        double x = a->origin + (double)i / cuts / a->per_unit;
        return direction == SHV_CYCLE_PRESSURE ? shv_exp(x) : x;
    }
    double share = (double)i / (double)cells;
    if (direction == SHV_CYCLE_PRESSURE) {
        double most = shv_min(b->bleed, b->s.p0 + shv_min(b->limit[SHV_LIMIT_BOOST],
                                                          b->limit[SHV_LIMIT_PRESSURE_RISE]));
        return shv_min(most, b->s.p0 * b->limit[SHV_LIMIT_PRESSURE_RATIO]) * SLACK * share;
    }
    double low = shv_min(b->coldest, b->source) / SLACK;
    return low + (shv_min(HOTTEST, b->limit[SHV_LIMIT_CHARGE_TEMPERATURE]) * SLACK - low) * share;
}

static double power_at(const struct bounds *b)
{
    const struct shv_cycle_table *table = b->c.burn.table;
    size_t rows = PRESSURE_CELLS, columns = TEMPERATURE_CELLS;
    if (table) {
        rows = (table->axis[SHV_CYCLE_PRESSURE].nodes - 1) * PRESSURE_CUTS;
        columns = (table->axis[SHV_CYCLE_TEMPERATURE].nodes - 1) * TEMPERATURE_CUTS;
    }
    double best = -INFINITY;
    const struct range all = {edge_of(b, SHV_CYCLE_TEMPERATURE, 0, columns),
                              edge_of(b, SHV_CYCLE_TEMPERATURE, columns, columns)};
    for (size_t p = 0; p < rows; p++) {
        struct row r = {.low = edge_of(b, SHV_CYCLE_PRESSURE, p, rows),
                        .high = edge_of(b, SHV_CYCLE_PRESSURE, p + 1, rows)};
        if (!isfinite(r.high)) {
            return INFINITY; /* nothing says how high pressure may go */
        }
        if (!begin_row(b, all, &r)) {
            continue;
        }
        for (size_t t = 0; t < columns; t++) {
            struct range tm = {edge_of(b, SHV_CYCLE_TEMPERATURE, t, columns),
                               edge_of(b, SHV_CYCLE_TEMPERATURE, t + 1, columns)};
            best = shv_max(best, power_in_cell(b, &r, p / PRESSURE_CUTS, t / TEMPERATURE_CUTS, tm));
        }
    }
    return best;
}

/* ---- a kit ---- */

static void set_cooler(struct bounds *b)
{
    const struct shv_cooler *c = b->cooler;
    b->source = b->s.t0;
    b->ntu = b->drop_k = 0.0;
    if (c->is_none) {
        return;
    }
    b->source = isnan(c->coolant_temperature) ? b->s.t0 + c->coolant_rise : c->coolant_temperature;
    b->ntu = model_cooler_ntu(b->model, b->kit->cooler, c->effectiveness[c->choices - 1]);
    b->drop_k = c->pressure_drop * (b->ntu / b->model->cooler[b->kit->cooler].ntu_reference) *
                c->rated_density / (c->rated_flow * c->rated_flow);
}

/* One site and speed; INFINITY when nothing is proven. */
static double point_bound(const struct shv_model *model, const struct shv_kit *kit,
                          const double *limit, size_t site, size_t speed, struct range ratio)
{
    const struct shv_study *study = model->study;
    struct bounds b = {.model = model,
                       .kit = kit,
                       .blower = &study->blowers[kit->blower],
                       .cooler = &study->coolers[kit->cooler],
                       .at = &model->speed[speed],
                       .limit = limit};
    model_shared(model, kit->blower, site, speed, &b.s);
    b.c = brake_case_of(model, site, speed, kit);
    if (!flow_falls(&b.s) || (model->by_cycle && !b.c.burn.table)) {
        return INFINITY;
    }
    double turns = shv_drive_rotor_speed(b.at->speed, 1.0, study->drive.creep, b.blower->step_up);
    set_cooler(&b);
    set_blower(&b, turns * ratio.low, turns * ratio.high);
    b.bleed = b.s.p0 + study->bypass.bleed_above;
    bool mixes = isfinite(b.bleed) && study->bypass.bleed_to == SHV_BLEED_TO_INLET;
    b.coldest = mixes ? shv_min(b.s.t0, b.source) : b.s.t0;
    b.cap = b.fill.high * b.s.p0 / (b.s.gas.gas_constant * b.coldest) * SLACK;
    return power_at(&b);
}

static double piece_bound(const struct shv_model *model, const struct shv_kit *kit,
                          const double *limit, struct range ratio, double *power)
{
    const struct shv_cooler *c = &model->study->coolers[kit->cooler];
    double coldest = INFINITY;
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            double p = point_bound(model, kit, limit, site, speed, ratio);
            if (isinf(p)) {
                return p;
            }
            power[site * model->speeds + speed] = p;
        }
        coldest = shv_min(coldest, model->site[site].t0);
    }
    coldest = c->is_none || isnan(c->coolant_temperature)
                  ? coldest
                  : shv_min(coldest, c->coolant_temperature);
    double ntu = c->is_none ? 0.0 : model_cooler_ntu(model, kit->cooler, c->effectiveness[0]);
    struct shv_worth worth = hardware_worth(model, kit, ntu);
    if (worth.price > limit[SHV_LIMIT_PRICE] * SLACK ||
        worth.mass > limit[SHV_LIMIT_MASS] * SLACK ||
        peak_of(model, power, 1) * SLACK < limit[SHV_LIMIT_POWER]) {
        return -INFINITY;
    }
    double value = objective_of(model, power, 1, &worth, coldest);
    /* A power below zero over a price is nothing that a bound could be made of. */
    bool by_price = model->study->objective.kind == SHV_OBJECTIVE_POWER_PER_PRICE;
    return by_price ? shv_max(value, 0.0) : value;
}

/* Whether nothing in a range of ratios comes up to `enough`. */
static bool all_below(const struct shv_model *model, const struct shv_kit *kit, const double *limit,
                      struct range ratio, double enough, int halvings, double *power)
{
    double bound = piece_bound(model, kit, limit, ratio, power);
    if (bound < enough || bound == -INFINITY) {
        return true;
    }
    bool far = isfinite(enough) && bound > enough + FAR_ABOVE * fabs(enough);
    if (halvings == 0 || far || bound == INFINITY) {
        return false;
    }
    double middle = 0.5 * (ratio.low + ratio.high);
    const struct range below = {ratio.low, middle}, above = {middle, ratio.high};
    return all_below(model, kit, limit, above, enough, halvings - 1, power) &&
           all_below(model, kit, limit, below, enough, halvings - 1, power);
}

bool bound_below(const struct shv_model *model, const struct shv_kit *kit, double ratio_low,
                 double ratio_high, double enough, double *power)
{
    const struct shv_study *study = model->study;
    double limit[SHV_LIMIT_COUNT];
    if (model->copy) {
        return false;
    }
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        limit[k] = shv_limit_bound(study, kit, (enum shv_limit)k);
    }
    double top = shv_drive_rotor_speed(model->speed[model->speeds - 1].speed, 1.0,
                                       study->drive.creep, study->blowers[kit->blower].step_up);
    struct range ratio = {ratio_low,
                          shv_min(ratio_high, limit[SHV_LIMIT_ROTOR_SPEED] / top * SLACK)};
    return ratio.low > ratio.high || all_below(model, kit, limit, ratio, enough, HALVINGS, power);
}
