/* Derivatives of limits and objective (judge.c): docs/model.md, appendix B. */
#include <math.h>

#include "model/kit/hardware.h"
#include "model/verdict/gradient_internal.h"

/* ---- what the objective takes from a site ---- */

static size_t hottest_of(const struct shv_curves *curves)
{
    size_t hottest = 0;
    for (size_t i = 1; i < curves->sites * curves->speeds; i++) {
        if (curves->point[i].charge_temperature > curves->point[hottest].charge_temperature) {
            hottest = i;
        }
    }
    return hottest;
}

/* Mean power and torque are linear in the powers; `peak` picks one of them else. With the
 * derivatives of the points instead of the points it is the derivative. */
static double from_site(const struct shv_model *model, const struct shv_point *p, size_t peak)
{
    const struct shv_objective *o = &model->study->objective;
    double area = 0.0;
    if (o->kind == SHV_OBJECTIVE_TORQUE) {
        for (size_t i = 0; i < model->speeds; i++) {
            if (model->speed[i].speed == o->at) {
                return p[i].torque;
            }
        }
        return NAN;
    }
    if (o->kind != SHV_OBJECTIVE_MEAN_POWER) {
        return p[peak].brake_power;
    }
    for (size_t i = 1; i < model->speeds; i++) {
        double n = model->speed[i].speed, before = model->speed[i - 1].speed;
        if (n <= o->to && before >= o->from) {
            area += 0.5 * (n - before) * (p[i].brake_power + p[i - 1].brake_power);
        }
    }
    return area / (o->to - o->from);
}

static double over_sites(const struct shv_model *model, const double *at_site, size_t worst)
{
    double sum = 0.0;
    if (model->study->objective.over_sites == SHV_OVER_SITES_WORST) {
        return at_site[worst];
    }
    for (size_t site = 0; site < model->sites; site++) {
        sum += model->study->sites[site].weight * at_site[site];
    }
    return sum / model->weight_sum;
}

static void take_sites(const struct shv_model *model, const struct shv_curves *curves,
                       struct shv_gradient *g)
{
    g->worst_site = 0;
    for (size_t site = 0; site < model->sites; site++) {
        size_t row = site * model->speeds;
        g->peak[site] = shv_curves_peak_power(curves, site);
        g->at_site[site] = from_site(model, &curves->point[row], g->peak[site]);
        for (int k = 0; k < SHV_FREE_COUNT; k++) {
            g->d_at_site[k][site] = from_site(model, &g->point[k][row], g->peak[site]);
        }
        if (g->at_site[site] < g->at_site[g->worst_site]) {
            g->worst_site = site;
        }
    }
}

static double change_objective(const struct shv_model *model, const struct shv_curves *curves,
                               const struct shv_gradient *g, int k)
{
    const struct shv_weights *w = &model->study->weights;
    const struct shv_hardware *h = &g->hardware[k];
    double value = over_sites(model, g->d_at_site[k], g->worst_site);
    double charge = g->point[k][g->hottest].charge_temperature;
    switch (model->study->objective.kind) {
    case SHV_OBJECTIVE_LEAST_PRICE:
        return -h->price;
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        return (value -
                over_sites(model, g->at_site, g->worst_site) * h->price / curves->hardware.price) /
               curves->hardware.price;
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        return -charge;
    case SHV_OBJECTIVE_WEIGHTED:
        return w->power * value - w->price * h->price - w->mass * h->mass -
               w->charge_temperature * charge;
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_MEAN_POWER:
    case SHV_OBJECTIVE_TORQUE:
        break;
    }
    return value;
}

/* ---- limits ---- */

/* Peak power over the sites, whatever the objective. */
static double change_power(const struct shv_model *model, const struct shv_curves *curves,
                           const struct shv_gradient *g, int k)
{
    double sum = 0.0, least = INFINITY, of_least = NAN;
    for (size_t site = 0; site < model->sites; site++) {
        size_t i = site * model->speeds + g->peak[site];
        double power = curves->point[i].brake_power, d = g->point[k][i].brake_power;
        sum += model->study->sites[site].weight * d;
        of_least = power < least ? d : of_least;
        least = shv_min(least, power);
    }
    bool worst = model->study->objective.over_sites == SHV_OVER_SITES_WORST;
    return worst ? of_least : sum / model->weight_sum;
}

static double change_kit(const struct shv_model *model, const struct shv_curves *curves,
                         const struct shv_gradient *g, int k, enum shv_limit limit)
{
    return limit == SHV_LIMIT_POWER ? change_power(model, curves, g, k)
                                    : hardware_limit(&g->hardware[k], limit);
}

double shv_gradient_share(const struct shv_gradient *gradient, const struct shv_curves *curves,
                          enum shv_free choice, size_t point, enum shv_limit limit, double bound)
{
    double span = shv_limit_span(limit, bound, curves->point[point].ambient_temperature);
    double d = shv_point_limit_value(&gradient->point[choice][point], limit) / span;
    return shv_limit_info(limit)->at_least ? d : -d;
}

static double change_share(const struct shv_model *model, const struct shv_curves *curves,
                           const struct shv_gradient *g, int k, enum shv_limit limit)
{
    const struct shv_limit_result *r = &curves->verdict.limit[limit];
    if (isnan(r->share)) {
        return NAN;
    }
    if (!shv_limit_info(limit)->of_kit) {
        size_t point = r->site * curves->speeds + r->speed;
        return shv_gradient_share(g, curves, (enum shv_free)k, point, limit, r->bound);
    }
    double d = g->kit[k][limit] / shv_limit_span(limit, r->bound, model->site[0].t0);
    return shv_limit_info(limit)->at_least ? d : -d;
}

void gradient_verdict(const struct shv_model *model, const struct shv_curves *curves,
                      struct shv_gradient *g)
{
    take_sites(model, curves, g);
    g->hottest = hottest_of(curves);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        g->objective[k] = change_objective(model, curves, g, k);
        for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
            g->kit[k][i] = change_kit(model, curves, g, k, (enum shv_limit)i);
            g->share[k][i] = change_share(model, curves, g, k, (enum shv_limit)i);
        }
    }
}
