/* Verdicts: limits and objective over the points of a kit. Equations: docs/model.md, section 12. */
#include <math.h>

#include "model/model_internal.h"

double shv_limit_bound(const struct shv_study *study, const struct shv_kit *kit,
                       enum shv_limit limit)
{
    double bound = study->limit[limit];
    const struct shv_blower *blower = &study->blowers[kit->blower];
    const struct shv_injector_part *injector = &study->injectors[kit->injector];
    const struct shv_cycle_knock *knock = &study->engine.knock;
    switch (limit) {
    case SHV_LIMIT_ROTOR_SPEED:
        return shv_min(bound, blower->max_speed);
    case SHV_LIMIT_PRESSURE_RATIO:
        return shv_min(bound, blower->max_pressure_ratio);
    case SHV_LIMIT_PRESSURE_RISE:
        return shv_min(bound, blower->max_pressure_rise);
    case SHV_LIMIT_DISCHARGE_TEMPERATURE:
        return shv_min(bound, blower->max_discharge_temperature);
    case SHV_LIMIT_PHASING_RETARD:
        return study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE
                   ? shv_min(bound, knock->limit_ca50 - knock->best_ca50)
                   : bound;
    case SHV_LIMIT_INJECTOR_DUTY:
        return injector->is_unlimited ? bound : shv_min(bound, injector->max_duty);
    case SHV_LIMIT_PUMP_FLOW:
        return study->pumps[kit->pump].is_unlimited ? bound : shv_min(bound, 1.0);
    default:
        return bound;
    }
}

double shv_point_limit_value(const struct shv_point *p, enum shv_limit limit)
{
    switch (limit) {
    case SHV_LIMIT_ROTOR_SPEED:
        return p->rotor_speed;
    case SHV_LIMIT_BELT_SPEED:
        return p->belt_speed;
    case SHV_LIMIT_PISTON_SPEED:
        return p->piston_speed;
    case SHV_LIMIT_PRESSURE_RATIO:
        return p->pressure_ratio;
    case SHV_LIMIT_PRESSURE_RISE:
        return p->outlet_pressure - p->inlet_pressure;
    case SHV_LIMIT_BOOST:
        return p->boost;
    case SHV_LIMIT_DISCHARGE_TEMPERATURE:
        return p->discharge_temperature;
    case SHV_LIMIT_CHARGE_TEMPERATURE:
        return p->charge_temperature;
    case SHV_LIMIT_BLOWER_POWER:
        return p->blower_power;
    case SHV_LIMIT_TORQUE:
        return p->torque;
    case SHV_LIMIT_FUEL_FLOW:
        return p->fuel_flow;
    case SHV_LIMIT_PHASING_RETARD:
        return p->phasing_retard;
    case SHV_LIMIT_PEAK_PRESSURE:
        return p->peak_pressure;
    case SHV_LIMIT_EXHAUST_TEMPERATURE:
        return p->exhaust_temperature;
    case SHV_LIMIT_INJECTOR_DUTY:
        return p->injector_duty;
    case SHV_LIMIT_PUMP_FLOW:
        return p->pump_flow;
    case SHV_LIMIT_COUNT:
        break;
    }
    return NAN;
}

double shv_point_limit_share(const struct shv_point *point, enum shv_limit limit, double bound)
{
    double span = shv_limit_span(limit, bound, point->ambient_temperature);
    return (bound - shv_point_limit_value(point, limit)) / span;
}

static void judge_limit(const struct shv_model *model, const struct shv_curves *curves,
                        enum shv_limit limit, double bound, struct shv_limit_result *r)
{
    *r = (struct shv_limit_result){.bound = bound, .value = NAN, .margin = NAN, .share = NAN};
    if (isinf(bound)) {
        return;
    }
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            const struct shv_point *p = &curves->point[site * model->speeds + speed];
            double value = shv_point_limit_value(p, limit);
            double share = shv_point_limit_share(p, limit, bound);
            if (!isnan(value) && (isnan(r->share) || share < r->share)) {
                *r = (struct shv_limit_result){bound, value, bound - value, share, site, speed};
            }
        }
    }
}

/* The first point that failed; of those without a cycle, or of the others. */
static void first_failure(const struct shv_curves *curves, bool of_cycle, struct shv_verdict *v)
{
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        enum shv_outcome outcome = curves->point[i].outcome;
        if (outcome != SHV_POINT_OK && (outcome == SHV_POINT_NO_CYCLE) == of_cycle) {
            v->outcome = outcome;
            v->failed_site = i / curves->speeds;
            v->failed_speed = i % curves->speeds;
            return;
        }
    }
}

void judge(const struct shv_model *model, const struct shv_kit *kit, struct shv_curves *curves)
{
    struct shv_verdict *v = &curves->verdict;
    *v = (struct shv_verdict){.first_broken = -1, .binding = -1, .objective = NAN};
    first_failure(curves, false, v);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        struct shv_limit_result *r = &v->limit[i];
        double bound = shv_limit_bound(model->study, kit, (enum shv_limit)i);
        judge_limit(model, curves, (enum shv_limit)i, bound, r);
        if (isnan(r->share)) {
            continue;
        }
        if (r->value > bound) {
            v->broken |= 1u << i;
            v->first_broken = v->first_broken < 0 ? i : v->first_broken;
        }
        if (v->binding < 0 || r->share < v->limit[v->binding].share) {
            v->binding = i;
        }
    }
    if (v->outcome == SHV_POINT_OK && v->broken == 0) {
        first_failure(curves, true, v);
    }
    v->feasible = v->outcome == SHV_POINT_OK && v->broken == 0;
    if (v->outcome == SHV_POINT_OK) { /* a broken one without a cycle somewhere has NAN powers */
        v->objective = objective_of(model, &curves->point[0].brake_power,
                                    sizeof(struct shv_point) / sizeof(double));
    }
}

/* The objective at one site from the brake power at its speeds. */
static double objective_at(const struct shv_model *model, const double *power, size_t stride)
{
    const struct shv_objective *o = &model->study->objective;
    const double two_pi = 6.28318530717958647692;
    double best = -INFINITY, area = 0.0, torque = NAN;
    for (size_t i = 0; i < model->speeds; i++) {
        double n = model->speed[i].speed, p = power[i * stride];
        best = p > best || isnan(p) ? p : best;
        if (n == o->at) {
            torque = p / (two_pi * n);
        }
        if (i > 0 && n <= o->to && model->speed[i - 1].speed >= o->from) {
            double before = model->speed[i - 1].speed;
            area += 0.5 * (n - before) * (p + power[(i - 1) * stride]);
        }
    }
    switch (o->kind) {
    case SHV_OBJECTIVE_MEAN_POWER:
        return area / (o->to - o->from);
    case SHV_OBJECTIVE_TORQUE:
        return torque;
    case SHV_OBJECTIVE_PEAK_POWER:
        break;
    }
    return best;
}

double objective_of(const struct shv_model *model, const double *power, size_t stride)
{
    double sum = 0.0, least = INFINITY;
    for (size_t site = 0; site < model->sites; site++) {
        double x = objective_at(model, power + site * model->speeds * stride, stride);
        sum += model->study->sites[site].weight * x;
        least = x < least || isnan(x) ? x : least;
    }
    bool worst = model->study->objective.over_sites == SHV_OVER_SITES_WORST;
    return worst ? least : sum / model->weight_sum;
}
