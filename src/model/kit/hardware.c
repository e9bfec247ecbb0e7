/* Belt, bearing, cruise and worth of a kit (hardware.h). */
#include "model/kit/hardware.h"

#include <math.h>
#include <stdlib.h>

#include "model/kit/model_internal.h"
#include "model/drive/bearing.h"

#define DEGREE (3.14159265358979323846 / 180.0)

enum shv_status hardware_room_init(struct hardware_room *room, const struct shv_model *model)
{
    room->state = calloc(model->sites * model->speeds + 1, sizeof *room->state);
    room->part = calloc(model->study->use.duty_parts + 1, sizeof *room->part);
    return room->state && room->part ? SHV_OK : SHV_NO_MEMORY;
}

void hardware_room_free(struct hardware_room *room)
{
    free(room->state);
    free(room->part);
    *room = (struct hardware_room){0};
}

/* ---- belt ---- */

struct shv_belt_drive hardware_drive(const struct shv_study *study, const struct shv_kit *kit)
{
    const struct shv_belt_setup *setup = &study->drive.belt;
    struct shv_belt_drive d = {.belt = setup->belt,
                               .layout = {.crank_diameter = kit->crank_diameter,
                                          .blower_diameter = kit->blower_diameter,
                                          .line_offset = study->drive.line_offset,
                                          .centre = setup->centre,
                                          .blower_wrap = kit->wrap * DEGREE},
                               .tensioner = setup->tensioner,
                               .static_tension =
                                   isnan(setup->static_tension) ? 0.0 : setup->static_tension,
                               .slip_margin = setup->slip_margin};
    d.belt.ribs = (size_t)kit->ribs;
    return d;
}

/* Power that the belt takes from the crank. */
static struct shv_belt_demand demand_of(const struct shv_study *study, size_t speed, double shaft)
{
    double power = shaft > 0.0 ? shaft / study->drive.efficiency : 0.0;
    return (struct shv_belt_demand){study->engine.speeds[speed], power};
}

double hardware_slip(const struct shv_belt_setup *setup, const struct shv_belt_state *state)
{
    if (!(state->pull > 0.0)) {
        return 0.0;
    }
    double share = (1.0 + setup->slip_margin) * state->pull / state->slip_pull;
    /* A static tension as high as is needed leaves no more than rounding above 1. */
    return isnan(setup->static_tension) ? shv_min(share, 1.0) : share;
}

static const struct hardware_belt no_belt = {.known = false,
                                             .crank_wrap = NAN,
                                             .blower_wrap = NAN,
                                             .length = NAN,
                                             .static_tension = NAN,
                                             .width = NAN,
                                             .slip = NAN,
                                             .tension = NAN,
                                             .hub = NAN,
                                             .highest_hub = NAN,
                                             .life = NAN};

double hardware_life_at(const struct shv_model *model, const struct shv_kit *kit,
                        const struct shv_belt_drive *drive, const struct shv_belt_fitted *fitted,
                        const double *shaft, size_t stride, struct hardware_room *room)
{
    const struct shv_study *study = model->study;
    const struct shv_nose_bearing *b = &study->blowers[kit->blower].bearing;
    size_t parts = study->use.duty_parts;
    for (size_t i = 0; i < parts; i++) {
        const struct shv_duty_part *d = &study->use.duty[i];
        struct shv_belt_demand demand =
            demand_of(study, d->speed, d->load * shaft[d->speed * stride]);
        double load = shv_belt_at(drive, fitted, &demand).blower_hub_load;
        if (b->overhang > 0.0) {
            load = shv_bearing_overhung(load, b->overhang, b->span).near;
        }
        if (!isfinite(load)) {
            return NAN;
        }
        double turns = study->engine.speeds[d->speed] * kit->ratio * (1.0 - study->drive.creep);
        room->part[i] = (struct shv_bearing_part){d->time, turns, load};
    }
    return 3600.0 * shv_bearing_over(b->type, b->rating, parts, room->part).hours;
}

static double bearing_life(const struct shv_model *model, const struct shv_kit *kit,
                           const struct shv_belt_drive *drive, const struct shv_belt_fitted *fitted,
                           const double *shaft, size_t stride, struct hardware_room *room)
{
    const struct shv_study *study = model->study;
    double least = INFINITY;
    if (!study->blowers[kit->blower].bearing.given || study->use.duty_parts == 0) {
        return NAN;
    }
    for (size_t site = 0; site < model->sites; site++) {
        double life = hardware_life_at(model, kit, drive, fitted,
                                       shaft + site * model->speeds * stride, stride, room);
        least = life < least || isnan(life) ? life : least;
    }
    return least;
}

/* Of every point, and the static tension that all of them need where none is given. */
static void run_points(const struct shv_model *model, struct shv_belt_drive *drive,
                       const struct shv_belt_fitted *fitted, const double *shaft, size_t stride,
                       struct hardware_room *room)
{
    const struct shv_study *study = model->study;
    bool as_needed = isnan(study->drive.belt.static_tension);
    for (int pass = as_needed ? 0 : 1; pass < 2; pass++) {
        double needed = 0.0;
        for (size_t i = 0; i < model->sites * model->speeds; i++) {
            struct shv_belt_demand demand = demand_of(study, i % model->speeds, shaft[i * stride]);
            room->state[i] = shv_belt_at(drive, fitted, &demand);
            needed = shv_max(needed, room->state[i].static_needed);
        }
        if (pass == 0) {
            drive->static_tension = needed;
        }
    }
}

void hardware_belt(const struct shv_model *model, const struct shv_kit *kit, const double *shaft,
                   size_t stride, struct hardware_room *room, struct hardware_belt *belt)
{
    const struct shv_study *study = model->study;
    const struct shv_belt_setup *setup = &study->drive.belt;
    struct shv_belt_fitted fitted;
    *belt = no_belt;
    if (!setup->given || isnan(kit->crank_diameter) || kit->ribs == 0.0) { /* of an ideal kit */
        return;
    }
    struct shv_belt_drive drive = hardware_drive(study, kit);
    if (!shv_belt_fit(&drive, &fitted)) {
        return; /* pulleys that touch each other: not known, and its limits say so */
    }
    run_points(model, &drive, &fitted, shaft, stride, room);
    *belt = (struct hardware_belt){.known = true,
                                   .crank_wrap = fitted.geometry.crank_wrap,
                                   .blower_wrap = fitted.geometry.blower_wrap,
                                   .length = fitted.geometry.length,
                                   .static_tension = drive.static_tension,
                                   .width = (double)drive.belt.ribs * drive.belt.rib_pitch};
    for (size_t i = 0; i < model->sites * model->speeds; i++) {
        const struct shv_belt_state *s = &room->state[i];
        belt->slip = shv_max(belt->slip, hardware_slip(setup, s));
        belt->tension = shv_max(belt->tension, s->tension_per_rib);
        belt->hub = shv_max(belt->hub, s->blower_hub_load);
    }
    belt->highest_hub = shv_max(belt->hub, shv_belt_hub_load_still(&drive, &fitted));
    belt->life = bearing_life(model, kit, &drive, &fitted, shaft, stride, room);
}

/* ---- duty, worth, cruise ---- */

double hardware_over_continuous(const struct shv_model *model, const struct shv_kit *kit)
{
    const struct shv_study *study = model->study;
    const struct shv_blower *b = &study->blowers[kit->blower];
    if (b->continuous_speed == 0.0 || study->use.duty_parts == 0) {
        return NAN;
    }
    double share = 0.0;
    for (size_t i = 0; i < study->use.duty_parts; i++) {
        const struct shv_duty_part *d = &study->use.duty[i];
        double n = shv_drive_rotor_speed(study->engine.speeds[d->speed], kit->ratio,
                                         study->drive.creep, b->step_up);
        share += n > b->continuous_speed ? d->time : 0.0;
    }
    return share;
}

double hardware_pulley(const struct shv_kit *kit)
{
    return isnan(kit->crank_diameter) ? NAN : shv_min(kit->crank_diameter, kit->blower_diameter);
}

static void add(struct shv_worth *sum, const struct shv_worth *part, double count)
{
    sum->price += count * part->price;
    sum->mass += count * part->mass;
}

struct shv_worth hardware_worth(const struct shv_model *model, const struct shv_kit *kit,
                                double ntu)
{
    const struct shv_study *s = model->study;
    const struct shv_cooler *cooler = &s->coolers[kit->cooler];
    struct shv_worth sum = {0.0, 0.0};
    add(&sum, &s->base.worth, 1.0);
    add(&sum, &s->base.manifold, 1.0);
    add(&sum, &s->base.pulley, 2.0);
    add(&sum, &s->drive.worth, 1.0);
    add(&sum, &s->drive.belt.rib, kit->ribs);
    add(&sum, &s->blowers[kit->blower].worth, 1.0);
    add(&sum, &s->bypass_part.worth, 1.0);
    add(&sum, &cooler->worth, 1.0);
    add(&sum, &cooler->per_ntu, ntu / model->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS]);
    add(&sum, &s->injectors[kit->injector].worth,
        (double)(s->engine.cylinders * s->rail.injectors_per_cylinder));
    add(&sum, &s->pumps[kit->pump].worth, 1.0);
    return sum;
}

struct shv_worth shv_model_worth(const struct shv_model *model, const struct shv_kit *kit)
{
    return hardware_worth(model, kit, model_cooler_ntu(model, kit->cooler, kit->effectiveness));
}

/* What the engine draws of the stock fuel's mixture at a manifold pressure and temperature at a
 * site and speed: docs/model.md, section 6, with the exhaust's drop in closed form. */
static double engine_draws(const struct shv_model *model, size_t site, size_t speed, double pm,
                           double tm)
{
    const struct model_site *s = &model->site[site];
    struct shv_breathing b = model_breathing(model, site, model->study->engine.stock_fuel, speed);
    struct exhaust_law exhaust = model_exhaust(&model->study->engine, s, s->exhaust_k);
    return exhaust_flow(&exhaust, breathing_filled(&b, tm), b.a * pm, b.b, tm);
}

/* The cruise point of a kit at the first site; false when the study has none, or one at which the
 * engine draws nothing. */
static bool cruise_of(const struct shv_model *model, const struct shv_kit *kit,
                      struct shv_bypass_cruise *c)
{
    const struct shv_study *study = model->study;
    const struct shv_use *use = &study->use;
    const struct model_site *s = &model->site[0];
    const struct shv_blower *blower = &study->blowers[kit->blower];
    if (!use->cruises) {
        return false;
    }
    double n = study->engine.speeds[use->cruise_speed];
    *c = (struct shv_bypass_cruise){
        .gas = s->gas,
        .blower = blower,
        .rotor_speed = shv_drive_rotor_speed(n, kit->ratio, study->drive.creep, blower->step_up),
        .pressure_ahead = s->p0, /* filter and duct are part of the throttle's drop here */
        .temperature = s->t0,
        .manifold_pressure = use->cruise_pressure,
        .engine_flow = engine_draws(model, 0, use->cruise_speed, use->cruise_pressure, s->t0)};
    return c->engine_flow > 0.0;
}

bool hardware_cruise(const struct shv_model *model, const struct shv_kit *kit, double area,
                     struct shv_bypass_state *state)
{
    struct shv_bypass_cruise c;
    if (!cruise_of(model, kit, &c)) {
        return false;
    }
    shv_bypass_at(&c, area, state);
    return true;
}

bool shv_model_bypass_area(const struct shv_model *model, const struct shv_kit *kit, double drag,
                           struct shv_bypass_sizing *sizing)
{
    struct shv_bypass_cruise c;
    if (!(drag > 0.0) || !cruise_of(model, kit, &c)) {
        return false;
    }
    shv_bypass_area_for(&c, drag, sizing);
    return true;
}

double hardware_drag(const struct shv_bypass_state *state)
{
    return state->outcome == SHV_BYPASS_SOLVED ? state->shaft_power : NAN;
}

static void fill_cruise(const struct shv_model *model, const struct shv_kit *kit,
                        struct shv_hardware *h)
{
    const struct shv_study *study = model->study;
    const struct shv_fuel *fuel = &study->fuels[kit->fuel];
    if (!hardware_cruise(model, kit, 0.0, &h->cruise_shut)) {
        return;
    }
    h->cruise_drag = hardware_drag(&h->cruise_shut);
    if (study->bypass_part.area > 0.0 &&
        hardware_cruise(model, kit, study->bypass_part.area, &h->cruise_open)) {
        h->cruise_drag = hardware_drag(&h->cruise_open);
    }
    const struct shv_bypass_rates rates = {.drive_efficiency = study->drive.efficiency,
                                           .bsfc = study->use.bsfc,
                                           .fuel_density = fuel->density,
                                           .road_speed = study->use.road_speed};
    h->cruise_cost = shv_bypass_cost(h->cruise_drag, &rates);
}

static void forget_cruise(struct shv_hardware *h)
{
    struct shv_bypass_state none = {.outcome = SHV_BYPASS_SOLVED};
    none.inlet_pressure = none.pressure_drop = none.inlet_temperature = NAN;
    none.discharge_temperature = none.manifold_temperature = none.blower_flow = NAN;
    none.recirculated = none.leakage_flow = none.gas_power = none.windage_power = NAN;
    none.friction_power = none.shaft_power = none.clearance_left = NAN;
    h->cruise_open = h->cruise_shut = none;
    h->cruise_drag = NAN;
    h->cruise_cost = (struct shv_bypass_cost){NAN, NAN, NAN, NAN};
}

/* ---- all of a kit ---- */

static void fill_points(const struct shv_model *model, const struct hardware_belt *belt,
                        const struct hardware_room *room, struct shv_curves *curves)
{
    const struct shv_belt_setup *setup = &model->study->drive.belt;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        struct shv_point *p = &curves->point[i];
        const struct shv_belt_state *s = &room->state[i];
        bool known = belt->known && !isnan(p->blower_power);
        p->belt_slip = known ? hardware_slip(setup, s) : NAN;
        p->belt_tension = known ? s->tension_per_rib : NAN;
        p->hub_load = known ? s->blower_hub_load : NAN;
    }
}

void hardware_fill(const struct shv_model *model, const struct shv_kit *kit,
                   struct shv_curves *curves)
{
    struct shv_hardware *h = &curves->hardware;
    struct hardware_belt belt;
    double ntu = model_cooler_ntu(model, kit->cooler, kit->effectiveness);
    struct shv_worth worth = hardware_worth(model, kit, ntu);
    hardware_belt(model, kit, &curves->point[0].blower_power,
                  sizeof(struct shv_point) / sizeof(double), curves->room, &belt);
    fill_points(model, &belt, curves->room, curves);
    forget_cruise(h);
    h->price = worth.price;
    h->mass = worth.mass;
    h->pulley_diameter = hardware_pulley(kit);
    h->belt_length = belt.length;
    h->crank_wrap = belt.crank_wrap;
    h->blower_wrap = belt.blower_wrap;
    h->belt_width = belt.width;
    h->static_tension = belt.static_tension;
    h->bearing_life = belt.life;
    h->highest_hub_load = belt.highest_hub;
    h->over_continuous = hardware_over_continuous(model, kit);
    fill_cruise(model, kit, h);
}
