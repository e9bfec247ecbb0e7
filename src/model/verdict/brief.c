/* Verdicts of many combinations at once, as little as a ranking needs. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/kit/hardware.h"
#include "model/kit/model_internal.h"
#include "model/kit/vector_loops.h"

/* The rotors' drag at cruise, which no cooler and no fuel changes. */
#define DRAGS 64
struct drag {
    double ratio; /* NAN: none yet */
    size_t blower;
    double value;
};

struct shv_lanes {
    struct lane_block block;
    /* [site * speeds + speed] * SHV_LANES_MAX + lane */
    double *engine_flow, *pm, *tm, *pe, *shaft, *power, *fuel;
    double *store; /* owns all of them */
    double worst[SHV_LIMIT_COUNT][SHV_LANES_MAX];
    /* The numbers that `worst` is the worst of, [limit][the index above], owned; NULL: not kept. */
    double *everywhere;
    double bound[SHV_LIMIT_COUNT]; /* of the kits evaluated last, as kit_bounds() gives them */
    uint8_t outcome[SHV_LANES_MAX];
    bool no_cycle[SHV_LANES_MAX]; /* somewhere the closed cycle has no answer */
    double value[SHV_LANES_MAX];  /* objective_power() of the present burn; NAN: not yet known */
    bool skips;
    const bool *only;          /* points to look at, [site * speeds + speed]; NULL: all */
    bool dead[SHV_LANES_MAX];  /* turned down by its air side, so that the rest need not be known */
    bool spent[SHV_LANES_MAX]; /* the same by its air side or the present burn */
    shv_limit_set spent_by[SHV_LANES_MAX]; /* limits known to be broken then */
    /* Of each lane: its air side, and what the belt comes to with each choice of ribs and wrap. */
    struct shv_kit lane_kit[SHV_LANES_MAX];
    struct hardware_belt *belt; /* [belt choice * SHV_LANES_MAX + lane], owned */
    size_t belts;               /* choices; 0 without a belt */
    double *pump;               /* worst share of each pump, [pump * SHV_LANES_MAX + lane], owned */
    struct hardware_room room;
    struct drag drag[DRAGS]; /* those found of late, each in the place of its ratio */
    shv_lanes_found found;
    void *found_data;
    const double *demand; /* NULL: rooms are not found */
    /* the combinations of one call */
    struct shv_kit kit[SHV_AIR_MAX];
    double ntu[SHV_AIR_MAX];
    bool taken[SHV_AIR_MAX];
};

#define ROWS 7

/* Choices of all that is chosen of the belt; 0 without one. */
static size_t belt_choices(const struct shv_study *study)
{
    size_t count = 1;
    for (size_t d = SHV_DIM_RIBS; d < SHV_DIM_COUNT; d++) {
        count *= study->numbers[d].count;
    }
    return count;
}

/* Gives a kit a choice of them, numbered as in the space. */
static void pick_belt(const struct shv_study *study, size_t choice, struct shv_kit *kit)
{
    for (size_t d = SHV_DIM_COUNT; d-- > SHV_DIM_RIBS;) {
        const struct shv_numbers *n = &study->numbers[d];
        shv_dim_set_number((enum shv_dim)d, kit, n->values[choice % n->count]);
        choice /= n->count;
    }
}

/* Which of them a kit has. */
static size_t belt_choice(const struct shv_study *study, const struct shv_kit *kit)
{
    size_t choice = 0;
    for (size_t d = SHV_DIM_RIBS; d < SHV_DIM_COUNT; d++) {
        const struct shv_numbers *n = &study->numbers[d];
        choice = choice * n->count + shv_numbers_index(n, shv_dim_number((enum shv_dim)d, kit));
    }
    return choice;
}

static enum shv_status hardware_of_lanes(const struct shv_model *model, struct shv_lanes *w)
{
    const struct shv_study *study = model->study;
    w->belts = belt_choices(study);
    w->belt = calloc(w->belts * SHV_LANES_MAX + 1, sizeof *w->belt);
    w->pump = calloc(study->pump_count * SHV_LANES_MAX + 1, sizeof *w->pump);
    return w->belt && w->pump ? hardware_room_init(&w->room, model) : SHV_NO_MEMORY;
}

static void forget_drags(struct shv_lanes *w)
{
    for (size_t i = 0; i < DRAGS; i++) {
        w->drag[i].ratio = NAN;
    }
}

enum shv_status shv_lanes_create(const struct shv_model *model, struct shv_lanes **lanes,
                                 struct shv_message *message)
{
    size_t one = model->sites * model->speeds * SHV_LANES_MAX;
    *lanes = calloc(1, sizeof **lanes);
    double *store = calloc(ROWS * one, sizeof *store);
    if (!*lanes || !store || hardware_of_lanes(model, *lanes) != SHV_OK) {
        shv_lanes_free(*lanes);
        free(store);
        *lanes = NULL;
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the lanes of a thread");
    }
    (*lanes)->store = store;
    forget_drags(*lanes);
    (*lanes)->engine_flow = store;
    (*lanes)->pm = store + one;
    (*lanes)->pe = store + 2 * one;
    (*lanes)->shaft = store + 3 * one;
    (*lanes)->power = store + 4 * one;
    (*lanes)->tm = store + 5 * one;
    (*lanes)->fuel = store + 6 * one;
    return SHV_OK;
}

void shv_lanes_free(struct shv_lanes *lanes)
{
    if (lanes) {
        hardware_room_free(&lanes->room);
        free(lanes->everywhere);
        free(lanes->belt);
        free(lanes->pump);
        free(lanes->store);
        free(lanes);
    }
}

static void raise_to(double *worst, double value)
{
    *worst = value > *worst ? value : *worst;
}

/* The worst of a lower bound is kept with its sign turned. */
static void lower_to(double *worst, double value)
{
    raise_to(worst, -value);
}

static size_t row_of(const struct shv_model *model, size_t site, size_t speed)
{
    return (site * model->speeds + speed) * SHV_LANES_MAX;
}

/* A number of one point, `at` its row and lane, into the worst of its lane. */
static void take(const struct shv_model *model, struct shv_lanes *w, enum shv_limit limit,
                 size_t at, double value)
{
    raise_to(&w->worst[limit][at % SHV_LANES_MAX], value);
    if (w->everywhere) {
        w->everywhere[(size_t)limit * row_of(model, model->sites, 0) + at] = value;
    }
}

/* What is only worth finding where it is limited. */
static void keep_rare(const struct shv_model *model, struct shv_lanes *w, size_t site, size_t at)
{
    size_t i = at % SHV_LANES_MAX;
    struct lane_block *b = &w->block;
    const struct shv_blower *blower = &model->study->blowers[b->blower];
    bool closes = blower->kind == SHV_BLOWER_GEOMETRY && blower->geometry.closing_rate > 0.0;
    bool coolant = !isinf(model->study->limit[SHV_LIMIT_COOLANT_TEMPERATURE]);
    if (!closes && !coolant) {
        return;
    }
    if (b->state[i].bypass_open) {
        take(model, w, SHV_LIMIT_CLEARANCE, at, -1.0);
        return;
    }
    if (closes) {
        const struct shv_blower_geometry *g = &blower->geometry;
        take(model, w, SHV_LIMIT_CLEARANCE, at,
             -rotor_clearance(g->closing_rate, g->assembly_temperature, b->t2[i]));
    }
    if (coolant && !model->study->coolers[b->cooler[i]].is_none) {
        const struct shv_gas *gas = &model->site[site].gas;
        double heat =
            b->state[i].blower_flow * (gas_enthalpy(gas, b->t2[i]) - gas_enthalpy(gas, b->tm[i])) +
            b->latent[i];
        take(model, w, SHV_LIMIT_COOLANT_TEMPERATURE, at, b->source[i] + b->loop[i] * heat);
    }
}

/* Keeps what the engine side needs and the worst value of each limit of the air side. */
static void keep_point(const struct shv_model *model, struct shv_lanes *w, size_t site,
                       size_t speed)
{
    const struct lane_block *b = &w->block;
    size_t row = row_of(model, site, speed);
    double p0 = model->site[site].p0;
    for (size_t i = 0; i < b->count; i++) {
        /* Without a match nothing of the engine side is known: NAN compares as beyond no limit. */
        w->engine_flow[row + i] = b->state[i].found ? b->engine_flow[i] : NAN;
        w->pm[row + i] = b->pm[i];
        w->tm[row + i] = b->tm[i];
        w->pe[row + i] = b->pe[i];
        w->shaft[row + i] = b->shaft[i];
        if (w->outcome[i] == SHV_POINT_OK) {
            w->outcome[i] = b->outcome[i];
        }
        if (!b->state[i].found) {
            continue;
        }
        take(model, w, SHV_LIMIT_PRESSURE_RATIO, row + i, b->p2[i] / b->p1[i]);
        take(model, w, SHV_LIMIT_PRESSURE_RISE, row + i, b->p2[i] - b->p1[i]);
        take(model, w, SHV_LIMIT_BOOST, row + i, b->pm[i] - p0);
        take(model, w, SHV_LIMIT_DISCHARGE_TEMPERATURE, row + i, b->t2[i]);
        take(model, w, SHV_LIMIT_CHARGE_TEMPERATURE, row + i, b->tm[i]);
        take(model, w, SHV_LIMIT_BLOWER_POWER, row + i, b->shaft[i]);
        take(model, w, SHV_LIMIT_MANIFOLD_PRESSURE, row + i, b->pm[i] - p0);
        take(model, w, SHV_LIMIT_MANIFOLD_TEMPERATURE, row + i, b->t2[i]);
        if (!b->state[i].bypass_open) {
            take(model, w, SHV_LIMIT_BYPASS_VACUUM, row + i, p0 - b->p1[i]);
        }
        keep_rare(model, w, site, row + i);
    }
}

/* Found once of kits that differ in their cooler or fuel. */
static double cruise_drag(const struct shv_model *model, struct shv_lanes *w,
                          const struct shv_kit *kit)
{
    struct shv_bypass_state state;
    struct drag *d = &w->drag[(size_t)(kit->ratio * 4096.0) % DRAGS];
    if (d->ratio != kit->ratio || d->blower != kit->blower) {
        bool known = hardware_cruise(model, kit, model->study->bypass_part.area, &state);
        *d = (struct drag){kit->ratio, kit->blower, known ? hardware_drag(&state) : NAN};
    }
    return d->value;
}

/* Belt, duty and cruise of every lane. */
static void run_hardware(const struct shv_model *model, struct shv_lanes *w)
{
    for (size_t i = 0; i < w->block.count; i++) {
        struct shv_kit kit = w->lane_kit[i];
        if (w->dead[i]) {
            continue;
        }
        w->worst[SHV_LIMIT_ROTOR_DUTY][i] = hardware_over_continuous(model, &kit);
        w->worst[SHV_LIMIT_PULLEY_DIAMETER][i] = -hardware_pulley(&kit);
        if (!isinf(model->study->limit[SHV_LIMIT_CRUISE_DRAG])) {
            w->worst[SHV_LIMIT_CRUISE_DRAG][i] = cruise_drag(model, w, &kit);
        }
        for (size_t k = 0; k < w->belts; k++) {
            pick_belt(model->study, k, &kit);
            hardware_belt(model, &kit, w->shaft + i, SHV_LANES_MAX, &w->room,
                          &w->belt[k * SHV_LANES_MAX + i]);
        }
    }
}

/* The limits that are a formula of the kit are worst at the highest speed, where the block stands
 * last. */
static void take_formulas(const struct shv_model *model, struct shv_lanes *w)
{
    const struct lane_block *b = &w->block;
    const struct model_speed *top = &model->speed[model->speeds - 1];
    double offset = model->study->drive.line_offset;
    for (size_t i = 0; i < b->count; i++) {
        raise_to(&w->worst[SHV_LIMIT_ROTOR_SPEED][i], b->rotor_speed[i]);
        raise_to(&w->worst[SHV_LIMIT_BELT_SPEED][i], /* not known of an ideal kit */
                 shv_drive_belt_speed(b->crank[i], offset, top->speed));
        raise_to(&w->worst[SHV_LIMIT_PISTON_SPEED][i], top->piston_speed);
    }
}

static bool looks_at(const struct shv_model *model, const struct shv_lanes *w, size_t site,
                     size_t speed)
{
    return !w->only || w->only[site * model->speeds + speed];
}

static void run_air(const struct shv_model *model, struct shv_lanes *w)
{
    struct lane_block *b = &w->block;
    for (size_t i = 0; i < b->count; i++) {
        w->outcome[i] = SHV_POINT_OK;
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            w->worst[k][i] = -INFINITY;
        }
    }
    for (size_t site = 0; site < model->sites; site++) {
        block_begin_site(b, model, site);
        for (size_t speed = 0; speed < model->speeds; speed++) {
            if (looks_at(model, w, site, speed)) {
                block_match(b, model, site, speed, false);
                keep_point(model, w, site, speed);
            }
        }
    }
    take_formulas(model, w);
}

/* ---- fuel side ---- */

/* Those of the limits first .. last - 1. */
static void forget_worst(struct shv_lanes *w, int first, int last)
{
    for (int k = first; k < last; k++) {
        for (size_t i = 0; i < w->block.count; i++) {
            w->worst[k][i] = -INFINITY;
        }
    }
}

/* The burn of all lanes at one site and speed, from one row of the block on. */
struct burn_row {
    double efficiency[SHV_LANES_MAX], peak_pressure[SHV_LANES_MAX], wanted_ca50[SHV_LANES_MAX];
    double exhaust_temperature[SHV_LANES_MAX];
    uint8_t answered[SHV_LANES_MAX];
};

/* Of the first `count` limits. */
static shv_limit_set broken_of_first(const struct shv_lanes *w, const double bound[SHV_LIMIT_COUNT],
                                     int count, size_t lane)
{
    shv_limit_set broken = 0;
    for (int k = 0; k < count; k++) {
        broken |= w->worst[k][lane] > bound[k] ? SHV_LIMIT_BIT(k) : 0;
    }
    return broken;
}

/* Lanes whose reason is known without their fuel side: a failure, or a limit that stands before all
 * those of the fuel side. True when no other is left. */
static bool find_dead(struct shv_lanes *w, const double bound[SHV_LIMIT_COUNT])
{
    bool none_left = true;
    for (size_t i = 0; i < w->block.count; i++) {
        w->spent_by[i] = broken_of_first(w, bound, SHV_LIMIT_AIR_COUNT, i);
        w->dead[i] = w->skips && (w->outcome[i] != SHV_POINT_OK || w->spent_by[i] != 0);
        w->spent[i] = w->dead[i];
        none_left = none_left && w->dead[i];
    }
    return none_left;
}

/* The same after the burn, whose limits stand before those of injectors, pump and hardware. */
static bool find_spent(struct shv_lanes *w, const double bound[SHV_LIMIT_COUNT])
{
    bool none_left = true;
    for (size_t i = 0; i < w->block.count; i++) {
        if (!w->dead[i]) {
            w->spent_by[i] = broken_of_first(w, bound, SHV_LIMIT_BURN_COUNT, i);
            w->spent[i] = w->skips && w->spent_by[i] != 0;
        }
        none_left = none_left && w->spent[i];
    }
    return none_left;
}

static void burn_one_by_one(const struct shv_model *model, const struct shv_lanes *w,
                            const struct burn_case *c, size_t row, struct burn_row *r)
{
    for (size_t i = 0; i < w->block.count; i++) {
        struct burn_out o;
        if (w->dead[i]) {
            continue;
        }
        const struct burn_state at = {w->pm[row + i], w->tm[row + i], w->pe[row + i],
                                      w->engine_flow[row + i]};
        burn_at(model, c, &at, &o);
        r->efficiency[i] = o.efficiency;
        r->peak_pressure[i] = o.peak_pressure;
        r->wanted_ca50[i] = o.wanted_ca50;
        r->exhaust_temperature[i] = o.exhaust_temperature;
        r->answered[i] = o.answered;
    }
}

static void burn_row(const struct shv_model *model, const struct shv_lanes *w,
                     const struct burn_case *c, size_t row, struct burn_row *r)
{
    if (!c->table || c->departs) {
        burn_one_by_one(model, w, c, row, r);
        return;
    }
    const struct burn_lanes lanes = {.dead = w->dead,
                                     .pm = w->pm + row,
                                     .tm = w->tm + row,
                                     .efficiency = r->efficiency,
                                     .peak_pressure = r->peak_pressure,
                                     .wanted_ca50 = r->wanted_ca50,
                                     .exhaust_temperature = r->exhaust_temperature,
                                     .answered = r->answered};
    vector_loops_best()->burn(c, &lanes, w->block.count);
}

/* Brake power, fuel and what limits them at one site and speed. */
static void run_engine(const struct shv_model *model, struct shv_lanes *w, size_t site,
                       size_t speed, const struct shv_kit *kit)
{
    const double two_pi = 6.28318530717958647692;
    const struct model_speed *at = &model->speed[speed];
    const double best = model->study->engine.knock.best_ca50;
    struct brake_case c = brake_case_of(model, site, speed, kit);
    size_t row = row_of(model, site, speed);
    struct burn_row r;
    burn_row(model, w, &c.burn, row, &r);
    for (size_t i = 0; i < w->block.count; i++) {
        struct brake_out o;
        if (w->dead[i]) {
            continue;
        }
        brake_run(model, at, &c, r.efficiency[i], r.peak_pressure[i], w->engine_flow[row + i],
                  w->pm[row + i], w->pe[row + i], w->shaft[row + i], &o);
        w->power[row + i] = o.brake;
        w->fuel[row + i] = o.fuel;
        take(model, w, SHV_LIMIT_TORQUE, row + i, o.brake / (two_pi * at->speed));
        take(model, w, SHV_LIMIT_FUEL_FLOW, row + i, o.fuel);
        if (isnan(w->engine_flow[row + i]) || !model->by_cycle) {
            continue;
        }
        w->no_cycle[i] = w->no_cycle[i] || !r.answered[i];
        take(model, w, SHV_LIMIT_PHASING_RETARD, row + i,
             r.wanted_ca50[i] - best + at->retard_less);
        take(model, w, SHV_LIMIT_PEAK_PRESSURE, row + i, r.peak_pressure[i]);
        take(model, w, SHV_LIMIT_EXHAUST_TEMPERATURE, row + i, r.exhaust_temperature[i]);
    }
}

/* One fuel, mixture and ignition margin at every point. */
static void run_burn(const struct shv_model *model, struct shv_lanes *w, const struct shv_kit *kit)
{
    forget_worst(w, SHV_LIMIT_AIR_COUNT, SHV_LIMIT_BURN_COUNT);
    for (size_t i = 0; i < w->block.count; i++) {
        w->no_cycle[i] = false;
        w->value[i] = NAN;
    }
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            if (looks_at(model, w, site, speed)) {
                run_engine(model, w, site, speed, kit);
            }
        }
    }
}

/* Injectors or pump for the fuel that run_burn found. */
static void run_supply(const struct shv_model *model, struct shv_lanes *w,
                       const struct shv_kit *kit, enum shv_limit limit)
{
    bool of_pump = limit == SHV_LIMIT_PUMP_FLOW;
    forget_worst(w, (int)limit, (int)limit + 1);
    if (of_pump ? model->study->pumps[kit->pump].is_unlimited
                : model->study->injectors[kit->injector].is_unlimited) {
        return;
    }
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            size_t row = row_of(model, site, speed);
            for (size_t i = 0; i < w->block.count; i++) {
                double fuel = w->fuel[row + i], pm = w->pm[row + i];
                if (!w->spent[i]) {
                    take(model, w, limit, row + i,
                         of_pump ? pump_share(model, kit, site, fuel, pm)
                                 : injector_duty(model, kit, site, speed, fuel, pm));
                }
            }
        }
    }
}

/* What a pump comes to does not depend on the injectors: found with the first of them, it is kept
 * for the others. */
static void run_supply_choice(const struct shv_model *model, struct shv_lanes *w,
                              const struct shv_kit *kit, bool first_injector, bool first_pump)
{
    double *kept = w->pump + kit->pump * SHV_LANES_MAX;
    size_t size = sizeof w->worst[SHV_LIMIT_PUMP_FLOW];
    if (first_pump) {
        run_supply(model, w, kit, SHV_LIMIT_INJECTOR_DUTY);
    }
    if (first_injector) {
        run_supply(model, w, kit, SHV_LIMIT_PUMP_FLOW);
        memcpy(kept, w->worst[SHV_LIMIT_PUMP_FLOW], size);
    } else {
        memcpy(w->worst[SHV_LIMIT_PUMP_FLOW], kept, size);
    }
}

/* One choice of ribs and wrap into the worst values. */
static void take_belt(struct shv_lanes *w, size_t choice)
{
    forget_worst(w, SHV_LIMIT_BELT_SLIP, SHV_LIMIT_BEARING_LIFE + 1);
    for (size_t i = 0; choice < w->belts && i < w->block.count; i++) {
        const struct hardware_belt *belt = &w->belt[choice * SHV_LANES_MAX + i];
        if (w->spent[i]) {
            continue;
        }
        raise_to(&w->worst[SHV_LIMIT_BELT_SLIP][i], belt->slip);
        raise_to(&w->worst[SHV_LIMIT_BELT_TENSION][i], belt->tension);
        raise_to(&w->worst[SHV_LIMIT_HUB_LOAD][i], belt->hub);
        lower_to(&w->worst[SHV_LIMIT_BEARING_LIFE][i], belt->life);
    }
}

/* Price, mass and power, which depend on every choice. */
static struct shv_worth take_worth(const struct shv_model *model, struct shv_lanes *w,
                                   const struct shv_kit *kit, size_t lane)
{
    struct shv_kit whole = *kit;
    whole.cooler = w->block.cooler[lane];
    struct shv_worth worth = hardware_worth(model, &whole, w->block.ntu[lane]);
    w->worst[SHV_LIMIT_PRICE][lane] = worth.price;
    w->worst[SHV_LIMIT_MASS][lane] = worth.mass;
    if (!isinf(model->study->limit[SHV_LIMIT_POWER])) {
        w->worst[SHV_LIMIT_POWER][lane] = -peak_of(model, w->power + lane, SHV_LANES_MAX);
    }
    return worth;
}

/* A margin of nothing is a room of nothing. */
static float room_of(const struct shv_lanes *w, const double *demand,
                     const double bound[SHV_LIMIT_COUNT], size_t lane)
{
    double sum = 0.0;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        double strain = demand[k] > 0.0 ? demand[k] / (bound[k] - w->worst[k][lane]) : 0.0;
        double fourth = strain * strain * strain * strain;
        sum += fourth * fourth;
    }
    return (float)(1.0 / sqrt(sqrt(sqrt(sum))));
}

static struct shv_brief brief_of(const struct shv_model *model, struct shv_lanes *w,
                                 const struct shv_kit *kit, const double bound[SHV_LIMIT_COUNT],
                                 size_t lane, struct shv_worth *worth)
{
    struct shv_brief brief = {
        .objective = NAN, .broken = w->spent_by[lane], .outcome = w->outcome[lane]};
    if (w->spent[lane]) {
        return brief;
    }
    *worth = take_worth(model, w, kit, lane);
    brief.broken |= broken_of_first(w, bound, SHV_LIMIT_COUNT, lane);
    if (brief.outcome == SHV_POINT_OK && brief.broken == 0 && w->no_cycle[lane]) {
        brief.outcome = SHV_POINT_NO_CYCLE;
    }
    if (brief.outcome == SHV_POINT_OK) {
        if (isnan(w->value[lane])) {
            w->value[lane] = objective_power(model, w->power + lane, SHV_LANES_MAX);
        }
        brief.objective = objective_of(model, w->value[lane], worth,
                                       w->worst[SHV_LIMIT_CHARGE_TEMPERATURE][lane]);
    }
    if (w->demand && brief.outcome == SHV_POINT_OK && brief.broken == 0) {
        size_t pair = kit->blower * model->study->fuel_count + kit->fuel;
        brief.room = room_of(w, w->demand + pair * SHV_LIMIT_COUNT, bound, lane);
    }
    return brief;
}

/* Tells of a feasible combination what is traded off. */
static void tell_found(const struct shv_model *model, const struct shv_lanes *w,
                       const struct shv_brief *brief, const struct shv_worth *worth, size_t lane,
                       size_t place)
{
    if (!w->found || brief->outcome != SHV_POINT_OK || brief->broken != 0) {
        return;
    }
    for (size_t i = 0; i < model->study->tradeoff_count; i++) {
        double value[SHV_FRONT_DIMS];
        tradeoff_of(model, &model->study->tradeoffs[i], w->power + lane, SHV_LANES_MAX, worth,
                    w->worst[SHV_LIMIT_CHARGE_TEMPERATURE][lane], brief->objective, value);
        w->found(w->found_data, i, place, value);
    }
}

/* As upper bounds of what `worst` holds. */
static void kit_bounds(const struct shv_model *model, const struct shv_kit *kit,
                       double bound[SHV_LIMIT_COUNT])
{
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        bound[k] = shv_limit_bound(model->study, kit, (enum shv_limit)k);
        if (isinf(bound[k])) {
            bound[k] = INFINITY;
        } else if (shv_limit_info((enum shv_limit)k)->at_least) {
            bound[k] = -bound[k];
        }
    }
}

/* Whether the match of the block as it stands is that of another fuel as well. */
static bool breathes_alike(const struct shv_model *model, size_t a, size_t b)
{
    bool alike = true;
    for (size_t site = 0; model->charge && site < model->sites && alike; site++) {
        const struct fuel_charge *of_site = model->charge + site * model->study->fuel_count;
        alike =
            of_site[a].displaced == of_site[b].displaced && of_site[a].cooled == of_site[b].cooled;
    }
    return alike;
}

/* Judges the block with every fuel-side choice. brief[place[i] * fuel_size + j] is lane i with
 * choice j. */
static void run_block(const struct shv_model *model, const struct shv_space *space,
                      struct shv_lanes *w, const size_t *place, struct shv_brief *brief)
{
    const struct shv_study *study = model->study;
    double bound[SHV_LIMIT_COUNT];
    struct shv_kit kit = {.blower = w->block.blower};
    bool none_left = false;
    for (uint64_t j = 0; j < space->fuel_size; j++) {
        shv_space_kit(space, study, j, &kit);
        shv_model_kit(model, &kit, &kit);
        kit.blower = w->block.blower;
        kit_bounds(model, &kit, bound);
        if (j == 0 || !breathes_alike(model, kit.fuel, w->block.fuel)) {
            w->block.fuel = kit.fuel;
            run_air(model, w);
            none_left = find_dead(w, bound);
            run_hardware(model, w);
        }
        if (j % space->supply_size == 0 && !find_dead(w, bound)) {
            run_burn(model, w, &kit);
            none_left = find_spent(w, bound);
        }
        if (!none_left) {
            if (j % space->belt_size == 0) {
                uint64_t supply = j % space->supply_size, pumps = study->pump_count;
                run_supply_choice(model, w, &kit, supply / space->belt_size < pumps,
                                  supply / space->belt_size % pumps == 0);
            }
            take_belt(w, (size_t)(j % space->belt_size));
        }
        for (size_t i = 0; i < w->block.count; i++) {
            size_t at = place[i] * space->fuel_size + j;
            struct shv_worth worth = {0.0, 0.0};
            brief[at] = brief_of(model, w, &kit, bound, i, &worth);
            tell_found(model, w, &brief[at], &worth, i, at);
        }
    }
}

/* Limits that are a formula of the kit, as bits. */
#define FORMULAS (SHV_LIMIT_BIT(SHV_LIMIT_FORMULA_COUNT) - 1)

static shv_limit_set broken_formulas(const struct shv_model *model, const struct shv_kit *kit)
{
    const struct shv_study *study = model->study;
    const struct model_speed *top = &model->speed[model->speeds - 1];
    const double value[] = {
        [SHV_LIMIT_ROTOR_SPEED] = shv_drive_rotor_speed(top->speed, kit->ratio, study->drive.creep,
                                                        study->blowers[kit->blower].step_up),
        [SHV_LIMIT_BELT_SPEED] =
            shv_drive_belt_speed(kit->crank_diameter, study->drive.line_offset, top->speed),
        [SHV_LIMIT_PISTON_SPEED] = top->piston_speed};
    shv_limit_set broken = 0;
    for (int k = 0; k < SHV_LIMIT_FORMULA_COUNT; k++) {
        double bound = shv_limit_bound(study, kit, (enum shv_limit)k);
        broken |= shv_limit_breaks((enum shv_limit)k, value[k], bound) ? SHV_LIMIT_BIT(k) : 0;
    }
    return broken;
}

enum shv_outcome shv_brief_reason(const struct shv_brief *brief, int *limit)
{
    shv_limit_set broken = brief->broken & FORMULAS;
    *limit = -1;
    if (brief->outcome != SHV_POINT_OK && broken == 0) {
        return (enum shv_outcome)brief->outcome;
    }
    broken = broken != 0 ? broken : brief->broken;
    if (broken != 0) {
        *limit = __builtin_ctzll(broken);
    }
    return SHV_POINT_OK;
}

void shv_lanes_watch(struct shv_lanes *lanes, shv_lanes_found found, void *data)
{
    lanes->found = found;
    lanes->found_data = data;
}

void shv_lanes_demand(struct shv_lanes *lanes, const double *demand)
{
    lanes->demand = demand;
}

void shv_lanes_only(struct shv_lanes *lanes, const bool *points)
{
    lanes->only = points;
}

void shv_lanes_skip(struct shv_lanes *lanes, bool skips)
{
    lanes->skips = skips;
}

/* Settles a combination that a formula turns down, with every fuel-side choice. */
static bool settle_by_formula(const struct shv_model *model, const struct shv_space *space,
                              struct shv_lanes *w, size_t i, struct shv_brief *brief)
{
    shv_limit_set broken = w->skips ? broken_formulas(model, &w->kit[i]) : 0;
    for (uint64_t j = 0; broken != 0 && j < space->fuel_size; j++) {
        brief[i * space->fuel_size + j] =
            (struct shv_brief){.objective = NAN, .broken = broken, .outcome = SHV_POINT_OK};
    }
    return broken != 0;
}

/* Takes the first combination that is left and those behind it that can share its block: same
 * blower, same class of cooler. How combinations are grouped changes no bit of their results. */
static void gather(const struct shv_model *model, struct shv_lanes *w, size_t count, size_t *place)
{
    struct lane_block *b = &w->block;
    b->count = 0;
    for (size_t i = 0; i < count && b->count < SHV_LANES_MAX; i++) {
        const struct shv_kit *kit = &w->kit[i];
        if (w->taken[i] || (b->count > 0 && (kit->blower != b->blower ||
                                             model->cooler[kit->cooler].class != b->class))) {
            continue;
        }
        b->blower = kit->blower;
        block_set(b, model, b->count, kit->ratio, kit->crank_diameter, kit->cooler, w->ntu[i]);
        w->lane_kit[b->count] = *kit;
        place[b->count++] = i;
        w->taken[i] = true;
    }
}

void shv_lanes_evaluate(const struct shv_model *model, const struct shv_space *space,
                        struct shv_lanes *lanes, uint64_t first, size_t count,
                        struct shv_brief *brief)
{
    size_t left = count;
    for (size_t i = 0; i < count; i++) {
        uint64_t choice[SHV_DIM_COUNT];
        uint64_t index = (first + i) * space->fuel_size;
        shv_space_split(space, index, choice);
        shv_space_kit(space, model->study, index, &lanes->kit[i]);
        shv_model_kit(model, &lanes->kit[i], &lanes->kit[i]);
        lanes->ntu[i] = model->choice_ntu[choice[SHV_DIM_COOLER]];
        lanes->taken[i] = settle_by_formula(model, space, lanes, i, brief);
        left -= lanes->taken[i] ? 1 : 0;
    }
    size_t place[SHV_LANES_MAX];
    for (; left > 0; left -= lanes->block.count) {
        gather(model, lanes, count, place);
        run_block(model, space, lanes, place, brief);
    }
}

/* Whether two kits of a fuel are alike in all that does not decide the flow of air. */
static bool same_setup(const struct shv_kit *a, const struct shv_kit *b)
{
    bool same = true;
    for (size_t d = SHV_DIM_AIR_COUNT; same && d < SHV_DIM_COUNT; d++) {
        same = shv_dim_same((enum shv_dim)d, a, b);
    }
    return same;
}

/* What is known from some of the points. */
static struct shv_brief brief_of_some(const struct shv_lanes *w, size_t lane)
{
    struct shv_brief brief = {.objective = NAN,
                              .broken = broken_of_first(w, w->bound, SHV_LIMIT_COUNT, lane),
                              .outcome = w->outcome[lane]};
    if (brief.outcome == SHV_POINT_OK && w->no_cycle[lane]) {
        brief.outcome = SHV_POINT_NO_CYCLE;
    }
    return brief;
}

/* The lanes whose setup is that of lane `first`, which is the first of them. */
static void run_setup(const struct shv_model *model, struct shv_lanes *w, size_t first,
                      struct shv_brief *brief)
{
    const struct shv_kit *kit = &w->lane_kit[first];
    size_t count = w->block.count;
    for (size_t i = 0; i < count; i++) {
        w->dead[i] = w->spent[i] = !same_setup(&w->lane_kit[i], kit);
    }
    kit_bounds(model, kit, w->bound);
    run_burn(model, w, kit);
    if (!w->only) {
        take_belt(w, belt_choice(model->study, kit));
        run_supply(model, w, kit, SHV_LIMIT_INJECTOR_DUTY);
        run_supply(model, w, kit, SHV_LIMIT_PUMP_FLOW);
    }
    for (size_t i = first; i < count; i++) {
        struct shv_worth worth;
        if (!w->spent[i]) {
            brief[i] = w->only ? brief_of_some(w, i) : brief_of(model, w, kit, w->bound, i, &worth);
        }
    }
}

static bool is_first_of_setup(const struct shv_lanes *w, size_t lane)
{
    bool first = true;
    for (size_t i = 0; i < lane && first; i++) {
        first = !same_setup(&w->lane_kit[i], &w->lane_kit[lane]);
    }
    return first;
}

void shv_lanes_evaluate_kits(const struct shv_model *model, struct shv_lanes *lanes,
                             const struct shv_kit *described, size_t count, struct shv_brief *brief)
{
    struct shv_kit *kits = lanes->lane_kit;
    struct lane_block *b = &lanes->block;
    for (size_t k = 0; lanes->everywhere && k < SHV_LIMIT_COUNT * row_of(model, model->sites, 0);
         k++) {
        lanes->everywhere[k] = NAN;
    }
    for (size_t i = 0; i < count; i++) {
        shv_model_kit(model, &described[i], &kits[i]);
        block_set(b, model, i, kits[i].ratio, kits[i].crank_diameter, kits[i].cooler,
                  model_cooler_ntu(model, kits[i].cooler, kits[i].effectiveness));
        lanes->dead[i] = lanes->spent[i] = false;
        lanes->spent_by[i] = 0;
    }
    b->count = count;
    b->blower = kits[0].blower;
    b->fuel = kits[0].fuel;
    forget_drags(lanes); /* the model may be another than last time */
    run_air(model, lanes);
    if (!lanes->only) {
        run_hardware(model, lanes);
    }
    for (size_t i = 0; i < count; i++) {
        if (is_first_of_setup(lanes, i)) {
            run_setup(model, lanes, i, brief);
        }
    }
}

double shv_lanes_peak_power(const struct shv_model *model, const struct shv_lanes *lanes,
                            size_t lane, size_t site)
{
    double peak = NAN;
    for (size_t speed = 0; speed < model->speeds; speed++) {
        double power = lanes->power[row_of(model, site, speed) + lane];
        peak = power > peak || isnan(peak) ? power : peak;
    }
    return peak;
}

enum shv_status shv_lanes_keep_rooms(const struct shv_model *model, struct shv_lanes *lanes,
                                     struct shv_message *message)
{
    lanes->everywhere =
        calloc(SHV_LIMIT_COUNT * row_of(model, model->sites, 0), sizeof *lanes->everywhere);
    return lanes->everywhere
               ? SHV_OK
               : shv_fail(message, SHV_NO_MEMORY, "out of memory for the rooms of a thread");
}

/* Whether a limit is looked at point by point: the first few are worst at the highest speed, and
 * the belt is looked at as a whole. */
static bool by_point(enum shv_limit limit)
{
    bool of_belt = limit >= SHV_LIMIT_BELT_SLIP && limit <= SHV_LIMIT_BEARING_LIFE;
    return !shv_limit_info(limit)->of_kit && !shv_limit_is_formula(limit) && !of_belt;
}

size_t shv_lanes_room_count(const struct shv_model *model, const struct shv_lanes *lanes)
{
    size_t count = 0;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        bool point = by_point((enum shv_limit)k);
        count += isinf(lanes->bound[k]) ? 0 : point ? model->sites * model->speeds : 1;
    }
    return count;
}

void shv_lanes_rooms(const struct shv_model *model, const struct shv_lanes *lanes, size_t lane,
                     double *room)
{
    const size_t all = row_of(model, model->sites, 0);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        enum shv_limit limit = (enum shv_limit)k;
        double bound = lanes->bound[k];
        if (isinf(bound)) {
            continue;
        }
        if (!by_point(limit)) {
            double span = shv_limit_span(limit, fabs(bound), model->site[0].t0);
            *room++ = (bound - lanes->worst[k][lane]) / span;
            continue;
        }
        for (size_t at = lane; at < all; at += SHV_LANES_MAX) {
            size_t site = at / SHV_LANES_MAX / model->speeds;
            double span = shv_limit_span(limit, fabs(bound), model->site[site].t0);
            *room++ = (bound - lanes->everywhere[(size_t)k * all + at]) / span;
        }
    }
}
