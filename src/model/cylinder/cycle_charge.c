/* Geometry, gases and what is fixed for a case: docs/model.md, sections 8.1 to 8.4. */
#include "model/cylinder/blend.h"
#include "model/cylinder/cycle_physics.h"

#include "sheave/engine.h"
#include "sheave/fuel.h"

/* ---- geometry ---- */

void cycle_sin_cos(double degrees, double *sine, double *cosine)
{
    cycle_turn(degrees, sine, cosine);
}

struct cycle_place cycle_place_at(const struct shv_cycle_engine *e, double clearance, double angle)
{
    struct cycle_crank k = cycle_crank_of(e, clearance);
    return cycle_place_of(&k, angle);
}

static double swept_volume(const struct shv_cycle_engine *e)
{
    return 0.25 * CYCLE_PI * e->bore * e->bore * e->stroke;
}

/* ---- burning and heat transfer ---- */

double shv_cycle_wiebe(double s, double a, double m)
{
    return s > 0.0 ? 1.0 - shv_exp(-a * shv_pow(s, m + 1.0)) : 0.0;
}

/* Share of the duration after which `burned` has burned, of a function that is scaled to reach 1.
 */
static double wiebe_share(const struct shv_cycle_engine *e, double all, double burned)
{
    return shv_pow(-shv_log(1.0 - burned * all) / e->wiebe_a, 1.0 / (e->wiebe_m + 1.0));
}

static double woschni_of_bore(double bore)
{
    return 3.26 * shv_pow(bore, -0.2);
}

/* ---- what is fixed for a case ---- */

double cycle_fresh_enthalpy(const struct cycle *c, double charge_temperature)
{
    const struct shv_cycle_engine *e = c->in.engine;
    double warmed =
        charge_temperature + e->charge_heating * (e->charge_wall_temperature - charge_temperature);
    return cgas_enthalpy(&c->fresh, warmed) -
           c->fuel_in_fresh * e->evaporated_share * c->in.fuel->vaporisation;
}

static void prepare_gases(struct cycle *c)
{
    const struct shv_cycle_fuel *f = c->in.fuel;
    const struct shv_cycle_case *at = c->in.at;
    struct cgas_amounts fresh = cgas_fresh(f, at->lambda, at->humidity_ratio);
    c->fuel_in_fresh = fresh.fuel / fresh.mass;
    c->fresh_mass = at->air_mass * fresh.mass / (1.0 + at->humidity_ratio);
    if (at->gas == SHV_CYCLE_MIXTURE) {
        struct cgas_amounts burned = cgas_burned(f, at->lambda, at->humidity_ratio);
        c->fresh = cgas_of(&fresh, f);
        c->burned = cgas_of(&burned, f);
    } else {
        c->fresh = at->gas == SHV_CYCLE_AIR ? cgas_air()
                                            : cgas_constant(at->gas_constant, at->heat_capacity);
        c->burned = c->fresh;
    }
    c->fresh_enthalpy = cycle_fresh_enthalpy(c, at->charge_temperature);
    c->efficiency = at->combustion_efficiency > 0.0 ? at->combustion_efficiency
                                                    : shv_fuel_mixture_efficiency(at->lambda);
}

static void prepare_walls(struct cycle *c)
{
    const struct shv_cycle_engine *e = c->in.engine;
    double area = 0.25 * CYCLE_PI * e->bore * e->bore;
    c->fixed_area = area * (e->chamber_area + e->crown_area);
    c->fixed_area_t =
        area * (e->chamber_area * e->chamber_temperature + e->crown_area * e->crown_temperature);
    /* Woschni takes kPa; a degree lasts 1/(360 N). */
    c->heat_factor =
        e->heat_factor * woschni_of_bore(e->bore) * shv_pow(1e-3, 0.8) / (360.0 * c->in.at->speed);
}

static void prepare_knock(struct cycle *c)
{
    const struct shv_cycle_knock *k = c->in.knock;
    const struct shv_cycle_fuel *f = c->in.fuel;
    const struct shv_cycle_case *at = c->in.at;
    c->octane = knock_octane(k, f, at->lambda, at->humidity_ratio);
    c->octane_slope = knock_octane_slope(k, f);
    /* At 1 Pa, without exp(3800/T). */
    double delay = shv_knock_delay(c->octane, 1.0, KNOCK_TEMPERATURE) / shv_exp(1.0);
    c->knock_factor = 1.0 / (k->scale * at->delay_factor * delay * 360.0 * at->speed);
}

static void prepare_flame(struct cycle *c)
{
    const struct shv_cycle_engine *e = c->in.engine;
    const struct shv_cycle_case *at = c->in.at;
    c->duration =
        e->burn_duration * shv_pow(at->speed / e->burn_reference_speed, e->burn_speed_exponent);
    c->flame = cycle_flame_of(c->in.fuel, at->lambda);
    c->log_reference = at->burn_reference > 0.0 ? shv_log(at->burn_reference) : NAN;
}

void cycle_prepare(struct cycle *c, const struct cycle_inputs *in)
{
    const struct shv_cycle_engine *e = in->engine;
    c->in = *in;
    c->swept = swept_volume(e);
    c->clearance = c->swept / (e->compression_ratio - 1.0);
    c->ivc_volume = cycle_place_at(e, c->clearance, e->inlet_closing).volume;
    c->piston_speed = shv_engine_piston_speed(e->stroke, in->at->speed);
    c->all_burned = shv_cycle_wiebe(1.0, e->wiebe_a, e->wiebe_m);
    c->half_share = wiebe_share(e, c->all_burned, 0.5);
    c->watched_share = wiebe_share(e, c->all_burned, CYCLE_WATCHED);
    prepare_gases(c);
    prepare_walls(c);
    prepare_flame(c);
    prepare_knock(c);
}
