/* Verdicts: limits and objective over the points of a kit. Equations: docs/model.md, section 12. */
#include <math.h>

#include "model/kit/hardware.h"
#include "model/kit/model_internal.h"

#define SAME_SHARE 1e-12 /* of a limit's span: points that are as bad as each other */

static double margin_of(enum shv_limit limit, double value, double bound)
{
    return shv_limit_info(limit)->at_least ? value - bound : bound - value;
}

double shv_point_limit_share(const struct shv_point *point, enum shv_limit limit, double bound)
{
    double span = shv_limit_span(limit, bound, point->ambient_temperature);
    return margin_of(limit, shv_point_limit_value(point, limit), bound) / span;
}

static double kit_value(const struct shv_model *model, const struct shv_curves *curves,
                        enum shv_limit limit)
{
    return limit == SHV_LIMIT_POWER ? peak_of(model, &curves->point[0].brake_power,
                                              sizeof(struct shv_point) / sizeof(double))
                                    : shv_hardware_limit_value(&curves->hardware, limit);
}

static void judge_limit(const struct shv_model *model, const struct shv_curves *curves,
                        enum shv_limit limit, double bound, struct shv_limit_result *r)
{
    *r = (struct shv_limit_result){.bound = bound, .value = NAN, .margin = NAN, .share = NAN};
    if (isinf(bound)) {
        return;
    }
    if (shv_limit_info(limit)->of_kit) {
        double value = kit_value(model, curves, limit);
        double margin = margin_of(limit, value, bound);
        double share = margin / shv_limit_span(limit, bound, model->site[0].t0);
        *r = (struct shv_limit_result){bound, value, margin, share, 0, 0};
        return;
    }
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            const struct shv_point *p = &curves->point[site * model->speeds + speed];
            double value = shv_point_limit_value(p, limit);
            bool varies = limit == SHV_LIMIT_PHASING_RETARD;
            double here = bound - (varies ? model->speed[speed].retard_less : 0.0);
            double share = shv_point_limit_share(p, limit, here);
            if (!isnan(value) && (isnan(r->share) || share < r->share)) {
                double margin = margin_of(limit, value, here);
                /* A bleed holds many points at one pressure: rounding must not say which. */
                bool alike = r->share - share <= SAME_SHARE;
                *r = (struct shv_limit_result){
                    here, value, margin, share, alike ? r->site : site, alike ? r->speed : speed};
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

/* The hottest charge of all points. */
static double highest_charge(const struct shv_curves *curves)
{
    double highest = -INFINITY;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        highest = shv_max(highest, curves->point[i].charge_temperature);
    }
    return highest;
}

void judge(const struct shv_model *model, const struct shv_kit *kit, struct shv_curves *curves)
{
    struct shv_verdict *v = &curves->verdict;
    const struct shv_worth worth = {curves->hardware.price, curves->hardware.mass};
    *v = (struct shv_verdict){.first_broken = -1, .binding = -1, .objective = NAN};
    first_failure(curves, false, v);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        struct shv_limit_result *r = &v->limit[i];
        double bound = shv_limit_bound(model->study, kit, (enum shv_limit)i);
        judge_limit(model, curves, (enum shv_limit)i, bound, r);
        if (isnan(r->share)) {
            continue;
        }
        if (shv_limit_breaks((enum shv_limit)i, r->value, r->bound)) {
            v->broken |= SHV_LIMIT_BIT(i);
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
        double value = objective_power(model, &curves->point[0].brake_power,
                                       sizeof(struct shv_point) / sizeof(double));
        v->objective = objective_of(model, value, &worth, highest_charge(curves));
    }
}

/* The highest brake power at one site. */
static double peak_at(const struct shv_model *model, const double *power, size_t stride,
                      double unused)
{
    (void)unused;
    double best = -INFINITY;
    for (size_t i = 0; i < model->speeds; i++) {
        double p = power[i * stride];
        best = p > best || isnan(p) ? p : best;
    }
    return best;
}

/* Torque at one of the speeds. */
static double torque_at(const struct shv_model *model, const double *power, size_t stride,
                        double speed)
{
    const double two_pi = 6.28318530717958647692;
    size_t i = 0;
    while (i + 1 < model->speeds && model->speed[i].speed < speed) {
        i++;
    }
    return power[i * stride] / (two_pi * model->speed[i].speed);
}

/* Mean over the speeds that the objective asks for. */
static double mean_at(const struct shv_model *model, const double *power, size_t stride)
{
    const struct shv_objective *o = &model->study->objective;
    double area = 0.0;
    for (size_t i = 1; i < model->speeds; i++) {
        double n = model->speed[i].speed, before = model->speed[i - 1].speed;
        if (n <= o->to && before >= o->from) {
            area += 0.5 * (n - before) * (power[i * stride] + power[(i - 1) * stride]);
        }
    }
    return area / (o->to - o->from);
}

/* The objective at one site from the brake power at its speeds. */
static double objective_at(const struct shv_model *model, const double *power, size_t stride,
                           double at)
{
    switch (model->study->objective.kind) {
    case SHV_OBJECTIVE_MEAN_POWER:
        return mean_at(model, power, stride);
    case SHV_OBJECTIVE_TORQUE:
        return torque_at(model, power, stride, at);
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_LEAST_PRICE:
    case SHV_OBJECTIVE_POWER_PER_PRICE:
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
    case SHV_OBJECTIVE_WEIGHTED:
        break;
    }
    return peak_at(model, power, stride, at);
}

/* Over the sites, as the study says. */
static double over_sites(const struct shv_model *model, const double *power, size_t stride,
                         double (*at_site)(const struct shv_model *, const double *, size_t,
                                           double),
                         double speed)
{
    double sum = 0.0, least = INFINITY;
    for (size_t site = 0; site < model->sites; site++) {
        double x = at_site(model, power + site * model->speeds * stride, stride, speed);
        sum += model->study->sites[site].weight * x;
        least = x < least || isnan(x) ? x : least;
    }
    bool worst = model->study->objective.over_sites == SHV_OVER_SITES_WORST;
    return worst ? least : sum / model->weight_sum;
}

double peak_of(const struct shv_model *model, const double *power, size_t stride)
{
    return over_sites(model, power, stride, peak_at, 0.0);
}

double objective_power(const struct shv_model *model, const double *power, size_t stride)
{
    return over_sites(model, power, stride, objective_at, model->study->objective.at);
}

double objective_of(const struct shv_model *model, double value, const struct shv_worth *worth,
                    double charge)
{
    const struct shv_weights *w = &model->study->weights;
    switch (model->study->objective.kind) {
    case SHV_OBJECTIVE_LEAST_PRICE:
        return isnan(value) ? value : -worth->price;
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        return value / worth->price;
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        return isnan(value) ? value : -charge;
    case SHV_OBJECTIVE_WEIGHTED:
        return w->power * value - w->price * worth->price - w->mass * worth->mass -
               w->charge_temperature * charge;
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_MEAN_POWER:
    case SHV_OBJECTIVE_TORQUE:
        break;
    }
    return value;
}

void tradeoff_of(const struct shv_model *model, const struct shv_tradeoff *tradeoff,
                 const double *power, size_t stride, const struct shv_worth *worth, double charge,
                 double objective, double value[SHV_FRONT_DIMS])
{
    for (size_t i = 0; i < SHV_FRONT_DIMS; i++) {
        switch (tradeoff->of[i]) {
        case SHV_TRADE_OBJECTIVE:
            value[i] = objective;
            break;
        case SHV_TRADE_POWER:
            value[i] = peak_of(model, power, stride);
            break;
        case SHV_TRADE_TORQUE:
            value[i] = over_sites(model, power, stride, torque_at, tradeoff->at);
            break;
        case SHV_TRADE_PRICE:
            value[i] = -worth->price;
            break;
        case SHV_TRADE_MASS:
            value[i] = -worth->mass;
            break;
        case SHV_TRADE_CHARGE_TEMPERATURE:
            value[i] = -charge;
            break;
        case SHV_TRADE_COUNT:
            value[i] = 0.0;
            break;
        }
    }
}
