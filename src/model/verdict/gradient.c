/* Derivatives of a kit's points: docs/model.md, appendix B.
 *
 * At a solved point F(z; x) = 0, with z the flows, the outlet pressure and, where the bypass
 * bleeds, the inlet temperature; so dz/dx = -F_z^-1 F_x. Both F_z and F_x come from path_tangent.h,
 * and so does, with dz, everything that follows from z.
 */
#include "sheave/gradient.h"

#include <math.h>
#include <stdlib.h>

#include "model/cylinder/cycle_tangent.h"
#include "model/verdict/gradient_internal.h"

static const char *const names[SHV_FREE_COUNT] = {[SHV_FREE_RATIO] = "ratio",
                                                  [SHV_FREE_EFFECTIVENESS] = "effectiveness",
                                                  [SHV_FREE_LAMBDA] = "lambda",
                                                  [SHV_FREE_IGNITION_MARGIN] = "ignition_margin",
                                                  [SHV_FREE_WRAP] = "wrap"};

const char *shv_free_name(enum shv_free choice)
{
    return names[choice];
}

enum shv_status shv_gradient_init(struct shv_gradient *g, const struct shv_model *model,
                                  struct shv_message *message)
{
    size_t points = model->sites * model->speeds;
    *g = (struct shv_gradient){.sites = model->sites, .speeds = model->speeds};
    g->piece = calloc(points, sizeof *g->piece);
    g->peak = calloc(model->sites, sizeof *g->peak);
    g->at_site = calloc(model->sites, sizeof *g->at_site);
    bool ok = g->piece && g->peak && g->at_site;
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        g->point[k] = calloc(points, sizeof *g->point[k]);
        g->d_at_site[k] = calloc(model->sites, sizeof *g->d_at_site[k]);
        ok = ok && g->point[k] && g->d_at_site[k];
    }
    if (!ok) {
        shv_gradient_free(g);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the derivatives of a kit");
    }
    return SHV_OK;
}

void shv_gradient_free(struct shv_gradient *g)
{
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        free(g->point[k]);
        free(g->d_at_site[k]);
    }
    free(g->piece);
    free(g->peak);
    free(g->at_site);
    *g = (struct shv_gradient){0};
}

/* ---- one point's match ---- */

/* A solved point as path_tangent.h takes it. */
struct solved {
    const struct path_shared *s;
    const struct path_lane *l;
    const struct shv_blower *blower;
    struct match_state m;
    struct path_out o;
    bool to_inlet;
    double bearing; /* W */
    uint64_t *piece;
};

/* The state of a match from the point that was filled from it. */
static struct match_state state_of(const struct path_shared *s, const struct shv_point *p)
{
    struct match_state m = {.found = true,
                            .bypass_open = p->bypass_open,
                            .bleeding = p->bleeding,
                            .blower_flow = p->bypass_open ? p->air_flow : p->blower_flow,
                            .engine_flow = p->air_flow,
                            .p2 = p->outlet_pressure};
    double t1 = p->inlet_temperature;
    m.inlet = m.bypass_open ? (struct path_inlet){s->t0, s->h0, 0.0}
                            : path_inlet_of(s, t1, gas_enthalpy(&s->gas, t1));
    return m;
}

static void change_path(const struct solved *q, const struct path_seed *x, struct path_out *d)
{
    const struct match_state *m = &q->m;
    if (m->bypass_open) {
        d_open_path(q->s, q->l, m->blower_flow, x, &q->o, d, q->piece);
        return;
    }
    double m_in = m->bleeding && !q->to_inlet ? m->blower_flow : m->engine_flow;
    d_path(q->s, q->l, &m->inlet, m_in, m->blower_flow, m->engine_flow, m->p2, x, &q->o, d,
           q->piece);
}

/* How many unknowns: engine flow alone through an open bypass; with outlet pressure; or both flows,
 * outlet pressure and inlet temperature. */
static int unknowns_of(const struct match_state *m)
{
    return m->bypass_open ? 1 : m->bleeding ? 4 : 2;
}

/* Adds a change of unknown k, in units of the unknown itself. */
static void seed_unknown(const struct solved *q, int k, double change, struct path_seed *x)
{
    const struct match_state *m = &q->m;
    const bool both = !m->bleeding;
    switch (k) {
    case 0:
        x->m += change * m->blower_flow;
        x->m_in += both || !q->to_inlet ? change * m->blower_flow : 0.0;
        x->m_exhaust += both ? change * m->blower_flow : 0.0;
        return;
    case 1:
        x->p2 += change * m->p2;
        return;
    case 2:
        x->m_exhaust += change * m->engine_flow;
        x->m_in += q->to_inlet ? change * m->engine_flow : 0.0;
        return;
    default:
        x->t1 += change * m->inlet.t1;
    }
}

/* Changes of the residuals of the match, as solve.c has them. */
static void change_residual(const struct solved *q, const struct path_seed *x, double f[SOLVE_MOST])
{
    const struct shv_gas *g = &q->s->gas;
    const struct match_state *m = &q->m;
    struct path_out d;
    change_path(q, x, &d);
    f[0] = m->bypass_open ? d.engine_flow - x->m : d.blower_flow - x->m;
    f[1] = d.engine_flow - x->m_exhaust;
    f[2] = d.pm;
    double mixed = 0.0;
    if (q->to_inlet) {
        mixed = (x->m - x->m_exhaust) * (gas_enthalpy(g, q->o.tm) - q->s->h0) +
                (m->blower_flow - m->engine_flow) * gas_cp(g, q->o.tm) * d.tm;
    }
    f[3] =
        mixed - x->m * (m->inlet.h1 - q->s->h0) - m->blower_flow * gas_cp(g, m->inlet.t1) * x->t1;
}

/* Adds to the changes of a choice those of the unknowns that keep the match. */
static bool keep_match(const struct solved *q, struct path_seed *x)
{
    int n = unknowns_of(&q->m);
    double a[SOLVE_MOST][SOLVE_MOST] = {{0.0}}, b[SOLVE_MOST] = {0.0}, f[SOLVE_MOST];
    for (int k = 0; k < SOLVE_MOST; k++) {
        a[k][k] = 1.0;
    }
    for (int k = 0; k < n; k++) {
        struct path_seed one = {.m = 0.0};
        seed_unknown(q, k, 1.0, &one);
        change_residual(q, &one, f);
        for (int i = 0; i < n; i++) {
            a[i][k] = f[i];
        }
    }
    change_residual(q, x, f);
    for (int i = 0; i < n; i++) {
        b[i] = -f[i];
    }
    if (!solve_linear(a, b)) {
        return false;
    }
    for (int k = 0; k < n; k++) {
        seed_unknown(q, k, b[k], x);
    }
    return true;
}

/* ---- from the path to the point ---- */

static void change_blower(const struct solved *q, const struct path_seed *x,
                          const struct path_out *o, const struct shv_point *p, struct shv_point *d)
{
    const struct path_shared *s = q->s;
    double dbearing = q->bearing * x->lane.rotor_speed / q->l->rotor_speed;
    d->rotor_speed = x->lane.rotor_speed;
    d->clearance_left = o->clearance;
    d->gas_power = o->gas_power;
    d->windage_power = x->lane.windage;
    d->bearing_power = dbearing;
    d->case_heat = (1.0 - s->kept_heat) * (o->gas_power + x->lane.windage);
    d->blower_power = o->gas_power + x->lane.windage + dbearing;
    if (p->bypass_open) {
        d->blower_volumetric_efficiency = d->blower_isentropic_efficiency = NAN;
        d->blower_flow = d->leakage_flow = 0.0;
        return;
    }
    d->blower_flow = x->m;
    d->leakage_flow = o->leakage;
    d->blower_volumetric_efficiency = p->blower_volumetric_efficiency *
                                      (x->m / p->blower_flow - o->p1 / p->inlet_pressure +
                                       x->t1 / p->inlet_temperature - x->lane.swept / q->l->swept);
    double t1 = p->inlet_temperature, ratio = p->pressure_ratio;
    double t = gas_isentropic(&s->gas, t1, ratio);
    double ideal = gas_enthalpy(&s->gas, t) - q->m.inlet.h1;
    double dideal =
        gas_cp(&s->gas, t) * d_isentropic(&s->gas, t, t1, ratio, x->t1, d->pressure_ratio) -
        gas_cp(&s->gas, t1) * x->t1;
    d->blower_isentropic_efficiency = (x->m * ideal + p->blower_flow * dideal -
                                       p->blower_isentropic_efficiency * d->blower_power) /
                                      p->blower_power;
}

static void change_cooler(const struct solved *q, const struct path_seed *x,
                          const struct path_out *o, const struct shv_point *p, struct shv_point *d)
{
    const struct shv_gas *g = &q->s->gas;
    d->coolant_temperature = isnan(p->coolant_temperature) ? NAN : 0.0;
    d->effectiveness = d->cooler_drop = d->cooler_heat = 0.0;
    if (isnan(p->coolant_temperature)) {
        return;
    }
    double t2 = p->discharge_temperature, tm = p->charge_temperature;
    d->effectiveness = o->effectiveness;
    d->cooler_drop = o->cooler_drop;
    d->cooler_heat = x->m * (gas_enthalpy(g, t2) - gas_enthalpy(g, tm)) +
                     p->blower_flow * (gas_cp(g, t2) * o->t2 - gas_cp(g, tm) * o->tm);
    d->coolant_temperature = q->l->loop * d->cooler_heat;
}

static void change_air(const struct solved *q, const struct path_seed *x, const struct path_out *o,
                       double dry_share, const struct shv_point *p, struct shv_point *d)
{
    bool open = p->bypass_open;
    double p2 = open ? o->p1 : x->p2;
    d->inlet_pressure = o->p1;
    d->inlet_temperature = open ? 0.0 : x->t1;
    d->outlet_pressure = p2;
    d->pressure_ratio = (p2 - p->pressure_ratio * o->p1) / p->inlet_pressure;
    d->discharge_temperature = o->t2;
    d->manifold_pressure = d->boost = o->pm;
    d->charge_temperature = o->tm;
    d->air_flow = x->m_exhaust;
    d->dry_air_flow = d->air_flow * dry_share;
    d->bleed_flow = p->bleeding ? x->m - x->m_exhaust : 0.0;
    d->exhaust_pressure = o->pe;
    change_blower(q, x, o, p, d);
    d->drive_power = 0.0; /* set by its caller, who knows the drive */
    change_cooler(q, x, o, p, d);
}

/* ---- engine and fuel ---- */

/* What of the brake case changes with lambda and ignition margin. */
struct burn_seed {
    double retard, work, fuel; /* work and fuel per air relative to themselves */
};

/* burn_at; of the direct cycle and of a table's answer that corrections shift nothing is known. */
static struct burn_out change_burn(const struct shv_model *model, const struct burn_case *c,
                                   const struct shv_point *p, const struct shv_point *d,
                                   double dretard, uint64_t *piece)
{
    struct burn_out b = no_burn;
    b.answered = true;
    if (!model->by_cycle) {
        b.efficiency = 0.0;
        b.peak_pressure = d->manifold_pressure;
        return b;
    }
    if (c->table) {
        struct shv_cycle_value v =
            d_cycle_lookup(c->table, c->speed, p->manifold_pressure, p->charge_temperature,
                           c->retard, d->manifold_pressure, d->charge_temperature, dretard, piece);
        b = (struct burn_out){true,          v.gross_efficiency,    v.peak_pressure, v.ca50,
                              v.wanted_ca50, v.exhaust_temperature, v.knock_integral};
    }
    return b;
}

static void change_cycle(const struct shv_model *model, const struct burn_out *b,
                         struct shv_point *d)
{
    d->ca50 = b->ca50;
    d->phasing_retard = b->wanted_ca50;
    d->knock_integral = b->knock_integral;
    d->exhaust_temperature = b->exhaust_temperature;
    d->peak_pressure = model->by_cycle ? b->peak_pressure : NAN;
    d->cycle_efficiency = model->by_cycle ? b->efficiency : NAN;
}

static void change_output(const struct shv_model *model, size_t site, const struct model_speed *at,
                          const struct shv_point *p, double dbrake, double dfuel,
                          struct shv_point *d)
{
    const double two_pi = 6.28318530717958647692;
    d->fuel_flow = dfuel;
    d->brake_power = dbrake;
    d->torque = dbrake / (two_pi * at->speed);
    d->bmep = dbrake / at->cycle_rate;
    d->bsfc = p->brake_power > 0.0 ? (dfuel - p->bsfc * dbrake) / p->brake_power : NAN;
    d->power_j1349 = dbrake * model->site[site].j1349;
    d->power_iso1585 = dbrake * model->site[site].iso1585;
    d->volumetric_efficiency =
        p->volumetric_efficiency *
        (d->air_flow / p->air_flow - d->manifold_pressure / p->manifold_pressure +
         d->charge_temperature / p->charge_temperature);
}

/* brake_run. */
static void change_engine(const struct shv_model *model, size_t site, size_t speed,
                          const struct brake_case *c, const struct burn_seed *x,
                          const struct shv_point *p, struct shv_point *d, uint64_t *piece)
{
    const struct model_speed *at = &model->speed[speed];
    const struct shv_engine *e = &model->study->engine;
    struct burn_out b = change_burn(model, &c->burn, p, d, x->retard, piece);
    double efficiency = model->by_cycle ? p->cycle_efficiency : 1.0;
    double dflow = d->air_flow / p->air_flow;
    d->indicated_power = p->indicated_power * (x->work + b.efficiency / efficiency + dflow);
    d->pumping_power =
        e->pumping_share * (d->manifold_pressure - d->exhaust_pressure) * at->cycle_rate;
    double gross = d->indicated_power + d->pumping_power;
    d->friction_power = (1.0 - model->brake_share) * gross + at->friction_p * b.peak_pressure;
    d->drive_power = d->blower_power / model->study->drive.efficiency;
    change_cycle(model, &b, d);
    change_output(model, site, at, p, gross - d->friction_power - d->drive_power,
                  p->fuel_flow * (x->fuel + dflow), d);
    d->indicated_efficiency = p->indicated_efficiency * (d->indicated_power / p->indicated_power -
                                                         d->fuel_flow / p->fuel_flow);
}

/* Slope of a curve of the study. */
static double curve_slope(const struct shv_curve_table *curve, double x, uint64_t *piece)
{
    struct shv_curve_cubic c;
    shv_curve_table_cubic(curve, x, &c);
    piece_note(piece, shv_bits(c.start));
    double s = (x - c.start) / c.width;
    return c.c1 + s * (2.0 * c.c2 + s * 3.0 * c.c3);
}

static void change_supply(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                          size_t speed, const struct shv_point *p, struct shv_point *d,
                          uint64_t *piece)
{
    const struct shv_study *study = model->study;
    const struct shv_injector_part *part = &study->injectors[kit->injector];
    const struct shv_fuel_pump *pump = &study->pumps[kit->pump].pump;
    bool by_manifold = study->rail.reference == SHV_RAIL_MANIFOLD;
    double p0 = model->site[site].p0, dreference = by_manifold ? d->manifold_pressure : 0.0;
    double reference = by_manifold ? p->manifold_pressure : p0;
    double dfuel = d->fuel_flow / p->fuel_flow;
    d->fuel_volume_flow = d->fuel_flow / study->fuels[kit->fuel].density;
    d->injector_duty = part->is_unlimited ? NAN : 0.0;
    if (isfinite(p->injector_duty)) {
        double pressure = reference + study->rail.pressure - p->manifold_pressure;
        double open = p->injector_duty - part->dead_time * model->speed[speed].speed / 2.0;
        d->injector_duty = open * (dfuel - 0.5 * (dreference - d->manifold_pressure) / pressure);
    }
    d->pump_flow = study->pumps[kit->pump].is_unlimited ? NAN : 0.0;
    if (isfinite(p->pump_flow)) {
        double pressure = reference + study->rail.pressure + pump->line_loss - p0;
        double flow = shv_curve_table_at(&pump->flow, pressure);
        double dflow = curve_slope(&pump->flow, pressure, piece) * dreference;
        d->pump_flow = p->pump_flow * (dfuel - dflow / flow);
    }
}

/* ---- choices ---- */

/* What the ratio and NTU that the model takes change by with the ratio and effectiveness of the
 * kit as described: corrections stand between them. */
struct choice_slopes {
    double ratio, ntu;
};

/* Both pulleys may be off by a fixed amount. */
static double ratio_slope(const struct shv_model *model, const struct shv_kit *described,
                          const struct shv_kit *actual)
{
    double offset = 2.0 * model->study->drive.line_offset;
    if (actual->ratio == described->ratio) {
        return 1.0;
    }
    return actual->ratio * (described->crank_diameter + offset) /
           (described->ratio * described->ratio * (actual->blower_diameter + offset));
}

double gradient_ntu(const struct shv_model *model, const struct shv_kit *kit)
{
    const struct shv_cooler *c = &model->study->coolers[kit->cooler];
    uint64_t unused = PIECE_START;
    if (c->is_none) {
        return 0.0;
    }
    double ratio = model->cooler[kit->cooler].rated_ratio;
    double ntu = shv_cooler_ntu(c->arrangement, kit->effectiveness, ratio);
    return 1.0 / d_effectiveness(c->arrangement, ntu, ratio, 1.0, 0.0, &unused);
}

/* What block_begin_speed makes of the rotor speed, all in proportion to it but for filling. */
static void seed_ratio(const struct solved *q, double relative, struct path_lane *dl)
{
    const struct path_lane *l = q->l;
    double dfill = 0.0;
    if (!q->s->is_map) {
        const struct shv_blower_geometry *geometry = &q->blower->geometry;
        double r = l->rotor_speed / geometry->reference_speed;
        bool held = !(1.0 - geometry->filling_loss * r * r > 0.05);
        piece_note(q->piece, held);
        dfill = held ? 0.0 : -2.0 * geometry->filling_loss * r * r * l->swept * relative;
    }
    dl->rotor_speed = l->rotor_speed * relative;
    dl->swept = l->swept * relative;
    dl->fill_volume = l->fill_volume * relative + dfill;
    dl->windage = 3.0 * l->windage * relative;
}

static void seed_effectiveness(const struct solved *q, double slope, struct path_lane *dl)
{
    dl->ntu = slope;
    dl->drop_k = q->l->ntu > 0.0 ? q->l->drop_k / q->l->ntu * slope : 0.0;
}

/* brake_case_of over lambda; not with the closed cycle. */
static struct burn_seed seed_burn(const struct shv_model *model, const struct shv_kit *kit,
                                  enum shv_free choice)
{
    enum shv_efficiency_kind kind = model->study->engine.efficiency_kind;
    struct burn_seed x = {.retard = choice == SHV_FREE_IGNITION_MARGIN ? 1.0 : 0.0};
    if (choice != SHV_FREE_LAMBDA) {
        return x;
    }
    if (model->by_cycle) {
        return (struct burn_seed){NAN, NAN, NAN};
    }
    x.fuel = -1.0 / kit->lambda;
    x.work = kind == SHV_EFFICIENCY_FREE_AIR ? 0.0 : x.fuel;
    if (kind == SHV_EFFICIENCY_STOCK_TORQUE) {
        x.work += shv_fuel_mixture_slope(kit->lambda) / shv_fuel_mixture_efficiency(kit->lambda);
    }
    return x;
}

static void find_known(const struct shv_model *model, const struct shv_kit *kit,
                       struct shv_gradient *g)
{
    const struct shv_study *study = model->study;
    g->known[SHV_FREE_RATIO] = true;
    g->known[SHV_FREE_EFFECTIVENESS] = !study->coolers[kit->cooler].is_none;
    g->known[SHV_FREE_LAMBDA] = !model->by_cycle;
    g->known[SHV_FREE_IGNITION_MARGIN] = true;
    g->known[SHV_FREE_WRAP] =
        study->drive.belt.given && kit->wrap > 0.0 && !isnan(kit->crank_diameter);
}

/* ---- all points ---- */

/* One point with respect to one choice. */
static void change_point(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                         size_t speed, enum shv_free choice, struct choice_slopes slopes,
                         const struct solved *q, const struct brake_case *c,
                         const struct shv_point *p, struct shv_point *d)
{
    struct path_seed x = {.m = 0.0};
    struct path_out o = {0};
    *d = (struct shv_point){.outcome = p->outcome,
                            .bypass_open = p->bypass_open,
                            .bleeding = p->bleeding,
                            .belt_speed = isnan(p->belt_speed) ? NAN : 0.0};
    if (choice == SHV_FREE_RATIO) {
        seed_ratio(q, slopes.ratio / kit->ratio, &x.lane);
    } else if (choice == SHV_FREE_EFFECTIVENESS) {
        seed_effectiveness(q, slopes.ntu, &x.lane);
    }
    if (choice == SHV_FREE_RATIO || choice == SHV_FREE_EFFECTIVENESS) {
        if (!keep_match(q, &x)) {
            forget_point(d);
            return;
        }
        change_path(q, &x, &o);
    }
    double dry_share = 1.0 / (1.0 + model->site[site].humidity_ratio);
    change_air(q, &x, &o, dry_share, p, d);
    struct burn_seed burn = seed_burn(model, kit, choice);
    change_engine(model, site, speed, c, &burn, p, d, q->piece);
    change_supply(model, kit, site, speed, p, d, q->piece);
}

static void forget_all(const struct shv_point *p, size_t i, struct shv_gradient *g)
{
    g->piece[i] = PIECE_START;
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        g->point[k][i] = (struct shv_point){.outcome = p->outcome};
        forget_point(&g->point[k][i]);
    }
}

static void change_points(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                          size_t speed, struct choice_slopes slopes, const struct lane_block *b,
                          const struct shv_curves *curves, struct shv_gradient *g)
{
    size_t i = site * model->speeds + speed;
    const struct shv_point *p = &curves->point[i];
    if (isnan(p->air_flow)) {
        forget_all(p, i, g);
        return;
    }
    struct path_shared s;
    model_shared(model, kit->blower, kit->fuel, site, speed, &s);
    struct path_lane l = block_lane(b, model, 0);
    struct solved q = {.s = &s,
                       .l = &l,
                       .blower = &model->study->blowers[kit->blower],
                       .m = state_of(&s, p),
                       .to_inlet = model->study->bypass.bleed_to == SHV_BLEED_TO_INLET,
                       .bearing = b->bearing[0],
                       .piece = &g->piece[i]};
    state_path(&s, &l, &q.m, q.to_inlet, &q.o);
    struct brake_case c = brake_case_of(model, site, speed, kit);
    g->piece[i] = PIECE_START;
    piece_note(q.piece, (uint64_t)p->outcome);
    piece_note(q.piece, p->bypass_open);
    piece_note(q.piece, p->bleeding);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        change_point(model, kit, site, speed, (enum shv_free)k, slopes, &q, &c, p, &g->point[k][i]);
    }
}

void shv_model_gradient(const struct shv_model *model, const struct shv_kit *described,
                        const struct shv_curves *curves, struct shv_gradient *gradient)
{
    struct shv_gradient *g = gradient;
    struct shv_kit corrected;
    const struct shv_kit *kit = &corrected;
    shv_model_kit(model, described, &corrected);
    const struct choice_slopes slopes = {
        ratio_slope(model, described, kit),
        gradient_ntu(model, kit) * model->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS]};
    struct lane_block b = {.count = 1, .blower = kit->blower};
    block_set(&b, model, 0, kit->ratio, kit->crank_diameter, kit->cooler,
              model_cooler_ntu(model, kit->cooler, kit->effectiveness));
    find_known(model, kit, g);
    for (size_t site = 0; site < model->sites; site++) {
        block_begin_site(&b, model, site);
        for (size_t speed = 0; speed < model->speeds; speed++) {
            block_begin_speed(&b, model, site, speed);
            change_points(model, kit, site, speed, slopes, &b, curves, g);
        }
    }
    gradient_hardware(model, kit, slopes.ratio, curves, g);
    gradient_verdict(model, curves, g);
}
