/* The closed cycle inside the model: which table, what it is made of, and the direct cycle where
 * there is none. docs/model.md, section 8. */
#include "model/kit/burn.h"

#include <math.h>
#include <stdlib.h>

#include "model/cylinder/knock_delay.h"
#include "model/kit/model_internal.h"

/* How far the tables reach beyond the limits that bound pressure and temperature, so that a search
 * can step over a limit and see what lies there. */
#define BEYOND_PRESSURE 0.25 /* of the boost */
#define BEYOND_TEMPERATURE 30.0
/* Where no limit says how far: about the most that the model's gas data and engines are for. */
#define PRESSURE_MOST 4e5
#define TEMPERATURE_MOST 480.0
/* Bounds of the cycle itself. */
#define CYCLE_PRESSURE_LEAST 1.5e4
#define CYCLE_PRESSURE_MOST 1e6
#define CYCLE_TEMPERATURE_LEAST 225.0
#define CYCLE_TEMPERATURE_MOST 590.0
/* deg between the two phasings that give the slope beyond the last one. */
#define SLOPE_STEP 1.0
#define SLOPE_LEAST 0.004
#define FAR 400.0

/* J per kg of charge by which a fuel cools the rating more than isooctane, which sets its scale. */
static double more_cooling(const struct shv_fuel *f)
{
    const double isooctane = 308e3 / (1.0 + 15.13);
    return f->vaporisation / (1.0 + f->stoichiometric) - isooctane;
}

/* A cycle that cools the charge by itself must not count again what the fuel's number owes to the
 * cooling in its rating. */
struct shv_cycle_fuel burn_fuel(const struct shv_fuel *f)
{
    double more = more_cooling(f), ron = f->ron - KNOCK_RATING_COOLING * more;
    return (struct shv_cycle_fuel){
        .stoichiometric = f->stoichiometric,
        .heating_value = f->heating_value,
        .hydrogen_carbon = f->hydrogen_carbon,
        .oxygen_carbon = f->oxygen_carbon,
        .molar_mass = f->molar_mass,
        .vaporisation = f->vaporisation,
        .ron = ron,
        .mon = isnan(f->mon) ? ron : f->mon,
        .rating_temperature = KNOCK_RATING_COMPRESSED - KNOCK_RATING_PER_NUMBER * (f->ron - 100.0) -
                              KNOCK_RATING_COOLED * more};
}

struct shv_cycle_case burn_cycle_case(double humidity_ratio, double speed, double lambda)
{
    struct shv_cycle_engine engine;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_knock knock;
    struct shv_cycle_case at;
    shv_cycle_defaults(&engine, &fuel, &knock, &at);
    at.humidity_ratio = humidity_ratio;
    at.speed = speed;
    at.lambda = lambda;
    return at;
}

/* ---- kinds of sites, and tables ---- */

size_t shv_model_table_count(const struct shv_model *model)
{
    return model->by_cycle ? model->kinds * model->study->fuel_count *
                                 model->study->numbers[SHV_DIM_LAMBDA].count
                           : 0;
}

static size_t table_index(const struct shv_model *model, size_t kind, size_t fuel, size_t lambda)
{
    return (kind * model->study->fuel_count + fuel) * model->study->numbers[SHV_DIM_LAMBDA].count +
           lambda;
}

struct shv_table_place shv_model_table_place(const struct shv_model *model, size_t index)
{
    const struct shv_study *study = model->study;
    size_t rest = index / study->numbers[SHV_DIM_LAMBDA].count;
    size_t kind = rest / study->fuel_count, site = 0;
    while (model->site[site].kind != kind) {
        site++;
    }
    return (struct shv_table_place){site, rest % study->fuel_count,
                                    index % study->numbers[SHV_DIM_LAMBDA].count};
}

/* Highest pressure that the limits let the manifold reach at a site. */
static double pressure_most(const struct shv_model *model, double p0)
{
    const struct shv_study *study = model->study;
    double boost = shv_min(study->limit[SHV_LIMIT_BOOST], study->bypass.bleed_above);
    double of_blower = 0.0;
    for (size_t i = 0; i < study->blower_count; i++) {
        struct shv_kit kit = {.blower = i};
        double rise = shv_min(shv_limit_bound(study, &kit, SHV_LIMIT_PRESSURE_RISE),
                              p0 * (shv_limit_bound(study, &kit, SHV_LIMIT_PRESSURE_RATIO) - 1.0));
        of_blower = shv_max(of_blower, rise);
    }
    boost = shv_min(boost, of_blower);
    double most = p0 + (1.0 + BEYOND_PRESSURE) * boost;
    return shv_min(isfinite(most) ? most : PRESSURE_MOST, CYCLE_PRESSURE_MOST);
}

static double temperature_most(const struct shv_model *model)
{
    const struct shv_study *study = model->study;
    double of_blower = 0.0;
    for (size_t i = 0; i < study->blower_count; i++) {
        struct shv_kit kit = {.blower = i};
        of_blower =
            shv_max(of_blower, shv_limit_bound(study, &kit, SHV_LIMIT_DISCHARGE_TEMPERATURE));
    }
    double bound = shv_min(study->limit[SHV_LIMIT_CHARGE_TEMPERATURE], of_blower);
    return shv_min(isfinite(bound) ? bound + BEYOND_TEMPERATURE : TEMPERATURE_MOST,
                   CYCLE_TEMPERATURE_MOST);
}

/* How much colder the charge must be in the tables where samples have walls that warm it less
 * (burn_shift.h): to the ends of an even tolerance. */
static double colder_alike(const struct shv_study *study, double charge_temperature)
{
    const struct shv_tolerance *t = &study->tolerances.of[SHV_CORRECT_CHARGE_HEATING];
    const struct shv_cycle_engine *e = &study->engine.cycle;
    double less = t->given ? 1.75 * shv_tolerance_deviation(t) : 0.0;
    double colder = less * shv_max(e->charge_wall_temperature - charge_temperature, 0.0);
    return colder > 0.0 ? colder / (1.0 - e->charge_heating) : 0.0;
}

/* The coldest the charge can be: the site's air or a cooler's own coolant. */
static double temperature_least(const struct shv_model *model)
{
    const struct shv_study *study = model->study;
    double least = INFINITY;
    for (size_t i = 0; i < model->sites; i++) {
        least = shv_min(least, model->site[i].t0);
    }
    for (size_t i = 0; i < study->cooler_count; i++) {
        double t = study->coolers[i].coolant_temperature;
        least = isnan(t) ? least : shv_min(least, t);
    }
    return shv_max(least - 5.0 - colder_alike(study, least), CYCLE_TEMPERATURE_LEAST);
}

void shv_model_table_spec(const struct shv_model *model, size_t index,
                          struct shv_cycle_table_spec *spec)
{
    const struct shv_engine *e = &model->study->engine;
    struct shv_table_place place = shv_model_table_place(model, index);
    const struct model_site *s = &model->site[place.site];
    struct shv_cycle_table_options options;
    shv_cycle_table_defaults(spec, &options);
    spec->engine = e->cycle;
    spec->fuel = burn_fuel(&model->study->fuels[place.fuel]);
    spec->knock = e->knock;
    spec->at = burn_cycle_case(s->humidity_ratio, model->speed[0].speed,
                               model->study->numbers[SHV_DIM_LAMBDA].values[place.lambda]);
    spec->exhaust_pressure = s->p0;
    spec->exhaust_loss = s->exhaust_k;
    spec->exhaust_temperature = e->exhaust.temperature;
    spec->exhaust_charge = e->stock.temperature;
    spec->breathing =
        model->breathing + (s->kind * model->study->fuel_count + place.fuel) * model->speeds;
    spec->speeds = e->speeds;
    spec->speed_count = model->speeds;
    spec->pressure_least = shv_max(0.45 * s->p0, CYCLE_PRESSURE_LEAST);
    spec->pressure_most = shv_max(pressure_most(model, s->p0), 1.5 * s->p0);
    spec->temperature_least = temperature_least(model);
    spec->temperature_most = shv_max(temperature_most(model), spec->temperature_least + 60.0);
}

void shv_model_take_table(struct shv_model *model, size_t index, struct shv_cycle_table *table)
{
    shv_cycle_table_free(&model->table[index]);
    model->table[index] = *table;
    *table = (struct shv_cycle_table){.speed_count = 0};
}

bool shv_model_has_table(const struct shv_model *model, size_t index)
{
    return model->table[index].speed_count > 0;
}

const struct shv_cycle_table *shv_model_table(const struct shv_model *model, size_t index)
{
    return shv_model_has_table(model, index) ? &model->table[index] : NULL;
}

static void find_table(const struct shv_model *model, size_t kind, struct burn_case *c)
{
    for (size_t i = 0; i < model->study->numbers[SHV_DIM_LAMBDA].count; i++) {
        if (model->study->numbers[SHV_DIM_LAMBDA].values[i] == c->lambda) {
            size_t index = table_index(model, kind, c->fuel, i);
            c->table = shv_model_table(model, index);
            c->shift = &model->shift[index];
            return;
        }
    }
}

void burn_give_way(struct burn_case *c, double peak)
{
    c->peak = peak;
    c->wish.log_peak = isinf(peak) ? INFINITY : shv_log(peak) - SHV_CYCLE_PEAK_SHADE;
}

struct burn_case burn_case_of(const struct shv_model *model, size_t site, size_t speed, size_t fuel,
                              double lambda, double retard)
{
    struct burn_case c = {.by_cycle = model->by_cycle,
                          .site = site,
                          .speed = speed,
                          .fuel = fuel,
                          .lambda = lambda,
                          .wish = {.retard = retard}};
    burn_give_way(&c, model->study->limit[SHV_LIMIT_PEAK_PRESSURE] +
                          model->study->moved[SHV_LIMIT_PEAK_PRESSURE]);
    if (model->by_cycle) {
        c.breathing = model_breathing(model, site, fuel, speed);
        find_table(model, model->site[site].kind, &c);
        c.off_rule = model->off_rule;
        c.wish.delay = model->base ? burn_delay_ratio(model, site, fuel, lambda) : 0.0;
        c.departs = model->departs;
    }
    return c;
}

/* ---- one point ---- */

const struct burn_out no_burn = {.answered = false,
                                 .efficiency = NAN,
                                 .peak_pressure = NAN,
                                 .ca50 = NAN,
                                 .wanted_ca50 = NAN,
                                 .exhaust_temperature = NAN,
                                 .knock_integral = NAN};

/* Where knock alone would put the phasing of a cycle that knocks at the last one allowed: on the
 * tangent of the integral's logarithm. Only a sign of how far off it is. */
static double beyond_limit(const struct shv_engine *e, const struct shv_cycle_fuel *fuel,
                           const struct shv_cycle_case *at, const struct shv_cycle_result *last)
{
    struct shv_cycle_result r;
    struct shv_cycle_case before = *at;
    before.ca50 = last->ca50 - SLOPE_STEP;
    if (shv_cycle_run(&e->cycle, fuel, &e->knock, &before, NULL, &r, NULL) != SHV_OK ||
        r.outcome != SHV_CYCLE_DONE) {
        return last->ca50 + FAR;
    }
    double at_last = shv_log(last->knock_integral);
    double falls = shv_max((shv_log(r.knock_integral) - at_last) / SLOPE_STEP, SLOPE_LEAST);
    double way = (at_last - shv_log(1.0 - e->knock.margin)) / falls;
    return last->ca50 + shv_min(shv_max(way, 0.0), FAR);
}

/* The knock-limited cycle, sought from `retard` before the best phasing on: so much may ignition be
 * held later before the best phasing is left. */
static bool find_limit(const struct shv_engine *e, double retard, const struct shv_cycle_fuel *fuel,
                       const struct shv_cycle_case *at, struct shv_cycle_result *r)
{
    struct shv_cycle_knock knock = e->knock;
    knock.best_ca50 -= retard;
    return shv_cycle_knock_limit(&e->cycle, fuel, &knock, at, r, NULL) == SHV_OK &&
           r->outcome != SHV_CYCLE_NO_ANSWER;
}

void burn_direct(const struct shv_model *model, const struct burn_case *c,
                 const struct shv_cycle_case *at, struct burn_out *o)
{
    const struct shv_engine *e = &model->study->engine;
    struct shv_cycle_fuel fuel = burn_fuel(&model->study->fuels[c->fuel]);
    struct shv_cycle_result r;
    *o = no_burn;
    if (!find_limit(e, c->wish.retard, &fuel, at, &r)) {
        return;
    }
    double knocks = r.outcome == SHV_CYCLE_KNOCK_LIMITED ? beyond_limit(e, &fuel, at, &r) : r.ca50;
    double wanted = shv_max(e->knock.best_ca50, knocks + c->wish.retard);
    double ca50 = shv_min(wanted, e->knock.limit_ca50);
    if (ca50 != r.ca50) {
        struct shv_cycle_case later = *at;
        later.ca50 = ca50;
        if (shv_cycle_run(&e->cycle, &fuel, &e->knock, &later, NULL, &r, NULL) != SHV_OK ||
            r.outcome == SHV_CYCLE_NO_ANSWER) {
            return;
        }
    }
    enum shv_phasing_by by = wanted > e->knock.best_ca50 ? SHV_PHASING_BY_KNOCK : SHV_PHASING_BEST;
    if (r.peak_pressure > c->peak && ca50 < e->knock.limit_ca50) {
        struct shv_cycle_case later = *at;
        later.ca50 = ca50;
        if (shv_cycle_pressure_limit(&e->cycle, &fuel, &e->knock, &later, c->peak, &r, NULL) !=
                SHV_OK ||
            r.outcome == SHV_CYCLE_NO_ANSWER) {
            return;
        }
        by = SHV_PHASING_BY_PRESSURE;
        wanted = r.ca50;
    }
    *o = (struct burn_out){true,   by,     r.gross_efficiency,    r.peak_pressure,
                           r.ca50, wanted, r.exhaust_temperature, r.knock_integral};
}

/* The case that runs directly at a point. */
static struct shv_cycle_case direct_case(const struct shv_model *model, const struct burn_case *c,
                                         const struct burn_state *state)
{
    struct shv_cycle_case at = burn_cycle_case(model->site[c->site].humidity_ratio,
                                               model->speed[c->speed].speed, c->lambda);
    at.air_mass = state->air_flow * c->breathing.cycle_time;
    at.charge_temperature = state->charge_temperature;
    at.exhaust_pressure = state->exhaust_pressure;
    at.burn_reference = c->breathing.burn_reference;
    at.delay_factor = c->breathing.delay_factor;
    return at;
}

void burn_at(const struct shv_model *model, const struct burn_case *c,
             const struct burn_state *state, struct burn_out *o)
{
    if (!c->by_cycle) {
        *o = no_burn;
        o->answered = true;
        o->efficiency = 1.0;
        o->peak_pressure = state->manifold_pressure;
        return;
    }
    if (c->table) {
        burn_look_up(c, state, o);
        if (o->answered || !c->departs) {
            return;
        }
    }
    struct shv_cycle_case at = direct_case(model, c, state);
    burn_direct(model, c, &at, o);
}

bool shv_model_cycle_case(const struct shv_model *model, size_t site, const struct shv_kit *kit,
                          const struct shv_point *point, struct shv_cycle_fuel *fuel,
                          struct shv_cycle_case *at)
{
    if (!model->by_cycle || isnan(point->ca50)) {
        return false;
    }
    *fuel = burn_fuel(&model->study->fuels[kit->fuel]);
    size_t speed = 0;
    while (model->speed[speed].speed != point->engine_speed) {
        speed++;
    }
    const struct burn_state state = {
        point->manifold_pressure, point->charge_temperature, point->exhaust_pressure,
        point->dry_air_flow * (1.0 + model->site[site].humidity_ratio)};
    const struct burn_case c =
        burn_case_of(model, site, speed, kit->fuel, kit->lambda, kit->ignition_margin);
    *at = direct_case(model, &c, &state);
    at->ca50 = point->ca50;
    return true;
}
