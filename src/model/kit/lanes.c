/* The match of many combinations at once: docs/model.md, section 7.
 *
 * A block is a structure of arrays over combinations that share a blower. Each loop below runs over
 * its lanes without branches, so that the compiler turns it into vector code; a lane that has
 * converged is frozen, so its bits do not depend on its neighbours. Lanes that need more (open
 * bypass, bleed, no convergence) are finished one by one in scalar code at the end of this file.
 */
#include <math.h>
#include <string.h>

#include "model/kit/lane_step.h"
#include "model/kit/vector_loops.h"

#define MOST_STEPS 30

void block_set(struct lane_block *block, const struct shv_model *model, size_t lane, double ratio,
               double crank_diameter, size_t cooler, double ntu)
{
    block->ratio[lane] = ratio;
    block->crank[lane] = crank_diameter;
    block->cooler[lane] = cooler;
    block->ntu[lane] = ntu;
    enum lane_class class = model->cooler[cooler].class;
    block->class = lane == 0 || block->class == class ? class : LANE_OTHER;
}

static void set_cooler(struct lane_block *b, const struct shv_model *model, size_t site, size_t i)
{
    const struct shv_cooler *c = &model->study->coolers[b->cooler[i]];
    const struct model_cooler *m = &model->cooler[b->cooler[i]];
    b->flow_inverse[i] = 1.0;
    b->exponent[i] = b->drop_k[i] = b->loop[i] = b->capacity_inverse[i] = 0.0;
    b->source[i] = model->site[site].t0;
    if (c->is_none) {
        return;
    }
    b->flow_inverse[i] = 1.0 / c->rated_flow;
    b->exponent[i] = c->ntu_exponent;
    double plain_ntu = b->ntu[i] / model->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS];
    b->drop_k[i] = c->pressure_drop * (plain_ntu / m->ntu_reference) * c->rated_density /
                   (c->rated_flow * c->rated_flow);
    b->loop[i] = m->loop;
    b->capacity_inverse[i] = m->rated_ratio / c->rated_flow;
    b->source[i] = isnan(c->coolant_temperature) ? model->site[site].t0 + c->coolant_rise
                                                 : c->coolant_temperature;
}

void block_begin_site(struct lane_block *block, const struct shv_model *model, size_t site)
{
    for (size_t i = 0; i < block->count; i++) {
        set_cooler(block, model, site, i);
        block->u[i] = block->u_before[i] = -1.0; /* no answer yet */
    }
}

void model_shared(const struct shv_model *model, size_t blower, size_t fuel, size_t site,
                  size_t speed, struct path_shared *s)
{
    const struct shv_study *study = model->study;
    const struct model_site *place = &model->site[site];
    *s = (struct path_shared){
        .gas = place->gas,
        .p0 = place->p0,
        .t0 = place->t0,
        .h0 = place->h0,
        .intake_k = place->intake_k,
        .exhaust = model_exhaust(&study->engine, place, place->exhaust_k),
        .breathing = model_breathing(model, site, fuel, speed),
    };
    path_take_blower(s, &study->blowers[blower]);
}

void block_begin_speed(struct lane_block *b, const struct shv_model *model, size_t site,
                       size_t speed)
{
    const struct shv_blower *blower = &model->study->blowers[b->blower];
    bool is_map = blower->kind == SHV_BLOWER_MAP;
    for (size_t i = 0; i < b->count; i++) {
        double n = shv_drive_rotor_speed(model->speed[speed].speed, b->ratio[i],
                                         model->study->drive.creep, blower->step_up);
        struct rotor rotor = rotor_of(blower, n);
        b->rotor_speed[i] = n;
        b->swept[i] = rotor.swept;
        b->fill_volume[i] = rotor.fill_volume;
        b->windage[i] = rotor.windage;
        b->bearing[i] = rotor.bearing;
        b->scale[i] = b->fill_volume[i] * model->site[site].rho0;
        if (is_map) {
            struct map_place at = map_place_at(&blower->map, n, model->site[site].t0);
            b->map_below[i] = at.below;
            b->map_share[i] = at.share;
            b->map_least[i] = b->map_most[i] = NAN; /* no cubic yet */
        }
    }
}

struct path_lane block_lane(const struct lane_block *b, const struct shv_model *model, size_t i)
{
    struct path_lane lane = class_lane(b, i, LANE_SINGLE); /* the class that uses every array */
    lane.arrangement = model->study->coolers[b->cooler[i]].arrangement;
    return lane;
}

/* Carries the answers of the last two speeds on in a straight line, by the ratio of the steps in
 * speed. */
static void carry_on(struct lane_block *b, size_t i, double steps)
{
    double u = b->u[i], v = b->v[i];
    if (b->u_before[i] > 0.0) {
        b->u[i] = u + shv_min(shv_max(steps * (u - b->u_before[i]), -0.2 * u), 0.2 * u);
        b->v[i] = v + shv_min(shv_max(steps * (v - b->v_before[i]), -0.2 * v), 0.2 * v);
    }
    b->u_before[i] = u;
    b->v_before[i] = v;
}

/* Where no answer of a lower speed is at hand: from the filled flow, with a rough charge
 * temperature. */
static void guess_afresh(struct lane_block *b, const struct path_shared *s, size_t i)
{
    double flow = 0.85 * b->scale[i];
    const struct shv_breathing *engine = &s->breathing;
    double filled = breathing_filled(engine, 1.25 * s->t0);
    double pm = (flow / filled + engine->b * s->p0) / engine->a;
    b->u[i] = 0.85;
    b->v[i] = shv_min(shv_max(pm / s->p0, 1.02), 4.0);
    b->u_before[i] = -1.0;
    b->j11[i] = NAN; /* asks for a difference Jacobian */
}

static void first_guess(struct lane_block *b, const struct shv_model *model,
                        const struct path_shared *s, size_t speed)
{
    double steps = 0.0;
    if (speed > 1) {
        const struct model_speed *at = &model->speed[speed];
        steps = (at[0].speed - at[-1].speed) / (at[-1].speed - at[-2].speed);
    }
    for (size_t i = 0; i < b->count; i++) {
        if (b->u[i] > 0.0) {
            carry_on(b, i, steps);
        } else {
            guess_afresh(b, s, i);
        }
    }
}

/* Any cooler and blower, one lane after the other. */
static void start_general(struct lane_block *b, const struct shv_model *model,
                          const struct path_shared *s, const struct path_inlet *in)
{
    for (size_t i = 0; i < b->count; i++) {
        struct path_lane l = block_lane(b, model, i);
        start_lane(b, s, in, &l, i, isnan(b->j11[i]), s->is_map, l.loop > 0.0, false);
    }
}

static void step_general(struct lane_block *b, const struct shv_model *model,
                         const struct path_shared *s, const struct path_inlet *in)
{
    for (size_t i = 0; i < b->count; i++) {
        if (b->done[i] < 0.5) {
            struct path_lane l = block_lane(b, model, i);
            step_lane(b, s, in, &l, i, s->is_map, l.loop > 0.0, false);
        }
    }
}

static bool all_done(const struct lane_block *b)
{
    double left = 0.0;
    for (size_t i = 0; i < b->count; i++) {
        left += 1.0 - b->done[i];
    }
    return left == 0.0;
}

static size_t lanes_without_jacobian(const struct lane_block *b)
{
    size_t without = 0;
    for (size_t i = 0; i < b->count; i++) {
        without += isnan(b->j11[i]) ? 1 : 0;
    }
    return without;
}

/* Vector loops run over whole vectors: the last lane is repeated in the empty places. */
static size_t pad(struct lane_block *b)
{
    const size_t vector = 8;
    size_t last = b->count - 1;
    size_t width = (b->count + vector - 1) / vector * vector;
    for (size_t i = b->count; i < width; i++) {
        b->ntu[i] = b->ntu[last];
        b->flow_inverse[i] = b->flow_inverse[last];
        b->exponent[i] = b->exponent[last];
        b->drop_k[i] = b->drop_k[last];
        b->loop[i] = b->loop[last];
        b->capacity_inverse[i] = b->capacity_inverse[last];
        b->source[i] = b->source[last];
        b->rotor_speed[i] = b->rotor_speed[last];
        b->swept[i] = b->swept[last];
        b->fill_volume[i] = b->fill_volume[last];
        b->windage[i] = b->windage[last];
        b->bearing[i] = b->bearing[last];
        b->scale[i] = b->scale[last];
        b->u[i] = b->u[last];
        b->v[i] = b->v[last];
        b->j11[i] = b->j11[last];
        b->j12[i] = b->j12[last];
        b->j21[i] = b->j21[last];
        b->j22[i] = b->j22[last];
        b->map_below[i] = b->map_below[last];
        b->map_share[i] = b->map_share[last];
        b->map_least[i] = b->map_most[i] = NAN; /* none yet */
        b->done[i] = 0.0;
    }
    return width;
}

static void iterate_vectors(struct lane_block *b, const struct shv_model *model,
                            const struct path_shared *s, const struct path_inlet *in,
                            const struct vector_loops *all)
{
    const struct class_loops *loops = &all->of[b->class];
    size_t width = pad(b);
    size_t without = lanes_without_jacobian(b);
    if (without == b->count) {
        loops->start_jacobian(b, s, in, width);
    } else {
        loops->start(b, s, in, width);
        for (size_t i = 0; without > 0 && i < b->count; i++) {
            if (isnan(b->j11[i])) {
                struct path_lane l = block_lane(b, model, i);
                start_lane(b, s, in, &l, i, true, false, l.loop > 0.0, false);
            }
        }
    }
    for (int i = 0; i < MOST_STEPS && !all_done(b); i++) {
        loops->step(b, s, in, width);
    }
}

_Static_assert(sizeof(struct map_cubic) == MAP_CUBIC_FIELDS * sizeof(double), "its numbers");

static void take_cell(struct lane_block *b, size_t i, const struct map_cell *cell)
{
    double field[2 * MAP_CUBIC_FIELDS];
    memcpy(field, &cell->below, sizeof cell->below);
    memcpy(field + MAP_CUBIC_FIELDS, &cell->above, sizeof cell->above);
    for (size_t k = 0; k < 2 * MAP_CUBIC_FIELDS; k++) {
        b->map_cubic[k][i] = field[k];
    }
    b->map_least[i] = cell->least;
    b->map_most[i] = cell->most;
}

/* The cubics that hold at each lane's pressure ratio, unless the lane is done. */
static void find_cells(struct lane_block *b, const struct path_shared *s, size_t width)
{
    for (size_t i = 0; i < width; i++) {
        bool holds = b->map_ratio[i] >= b->map_least[i] && b->map_ratio[i] < b->map_most[i];
        if (!holds && b->done[i] < 0.5) {
            struct map_cell cell = map_cell_at(&s->blower->map, b->map_below[i], b->map_ratio[i]);
            take_cell(b, i, &cell);
        }
    }
}

static void iterate_maps(struct lane_block *b, const struct shv_model *model,
                         const struct path_shared *s, const struct path_inlet *in,
                         const struct vector_loops *all)
{
    const struct map_loops *loops = &all->map_of[b->class];
    for (size_t i = 0; i < b->count; i++) {
        b->done[i] = 0.0;
    }
    size_t width = pad(b);
    all->map_ratio(b, s, width);
    find_cells(b, s, width);
    loops->start(b, s, in, width);
    for (size_t i = 0; i < b->count; i++) {
        if (isnan(b->j11[i])) {
            struct path_lane l = block_lane(b, model, i);
            start_lane(b, s, in, &l, i, true, true, l.loop > 0.0, false);
        }
    }
    for (int i = 0; i < MOST_STEPS && !all_done(b); i++) {
        all->map_move(b, s, width);
        find_cells(b, s, width);
        loops->step(b, s, in, width);
    }
}

static void iterate_general(struct lane_block *b, const struct shv_model *model,
                            const struct path_shared *s, const struct path_inlet *in)
{
    start_general(b, model, s, in);
    for (int i = 0; i < MOST_STEPS && !all_done(b); i++) {
        step_general(b, model, s, in);
    }
}

/* The flow and pressure that the iteration came to. */
static void take_iterated(struct lane_block *b, const struct path_shared *s)
{
    for (size_t i = 0; i < b->count; i++) {
        b->engine_flow[i] = b->u[i] * b->scale[i];
        b->p2[i] = b->v[i] * s->p0;
        b->latent[i] = 0.0;
    }
}

static void write_answer(struct lane_block *b, const struct path_shared *s, size_t i,
                         const struct path_out *o)
{
    const struct match_state *m = &b->state[i];
    double outside = gas_humidity(&s->gas);
    b->engine_flow[i] = m->drawn;
    b->latent[i] = o->water * water_latent_heat(o->tm);
    if (o->water > 0.0) {
        b->engine_flow[i] = (m->drawn - o->water) * (1.0 + outside) / (1.0 + o->humidity);
    }
    b->pm[i] = o->pm;
    b->pe[i] = o->pe;
    b->p1[i] = o->p1;
    b->p2[i] = m->p2;
    b->t2[i] = o->t2;
    b->tm[i] = o->tm;
    b->shaft[i] = o->gas_power + b->windage[i] + b->bearing[i];
}

/* Through the open bypass: no pressure across the rotors, no cooler in the way. */
static void open_path(const struct path_shared *s, const struct path_lane *l,
                      const struct match_state *m, struct path_out *o)
{
    *o = (struct path_out){.p1 = m->p2, .pm = m->p2, .clearance = 1.0};
    o->tm = o->t2 = open_charge_temperature(s, l, m->drawn);
    path_engine(s, s->gas.gas_constant, m->drawn, o);
    o->blower_flow = m->drawn;
}

void state_path(const struct path_shared *s, const struct path_lane *l, const struct match_state *m,
                bool to_inlet, struct path_out *o)
{
    if (m->bypass_open) {
        open_path(s, l, m, o);
    } else {
        solved_path(s, l, m, to_inlet, o);
    }
}

static bool beyond_map(const struct lane_block *b, size_t i, const struct path_shared *s)
{
    const struct shv_blower_map *map = &s->blower->map;
    struct map_place at = map_place_at(map, b->rotor_speed[i], b->state[i].inlet.t1);
    return map_is_outside(map, &at, b->p2[i] / b->p1[i]);
}

static enum shv_outcome outcome_of(const struct lane_block *b, size_t i,
                                   const struct path_shared *s)
{
    const struct match_state *m = &b->state[i];
    if (!m->found || !(b->engine_flow[i] > 0.0)) {
        return SHV_POINT_NO_MATCH;
    }
    if (s->is_map && !m->bypass_open && beyond_map(b, i, s)) {
        return SHV_POINT_OUTSIDE_MAP;
    }
    double low = shv_min(m->inlet.t1, shv_min(b->t2[i], b->tm[i]));
    double high = shv_max(m->inlet.t1, shv_max(b->t2[i], b->tm[i]));
    bool inside = low >= SHV_GAS_T_MIN && high <= SHV_GAS_T_MAX;
    return inside ? SHV_POINT_OK : SHV_POINT_OUT_OF_RANGE;
}

/* No closed answer: does the engine ask for more than the blower has with no pressure across it?
 * Then the bypass opens, and the state says so. */
static bool gasping(const struct path_shared *s, const struct path_lane *l, struct match_state *m)
{
    solve_open(s, l, m);
    struct match_state flat = *m;
    flat.inlet = path_inlet_of(s, s->t0, s->h0);
    struct path_out o;
    solved_path(s, l, &flat, true, &o);
    m->found = m->found && o.blower_flow < m->drawn;
    return m->found;
}

/* Takes the answer of brackets, or that there is none; the next speed starts from there. */
static void take_bracketed(struct lane_block *b, const struct path_shared *s,
                           const struct path_lane *l, size_t i)
{
    struct match_state *m = &b->state[i];
    b->u[i] = m->found ? m->blower_flow / b->scale[i] : -1.0;
    b->v[i] = m->p2 / s->p0;
    b->j11[i] = NAN;
    if (m->found) {
        struct path_out o;
        solved_path(s, l, m, true, &o);
        write_answer(b, s, i, &o);
    } else {
        m->bypass_open = gasping(s, l, m);
    }
}

/* A lane whose iteration got lost: bracket it. */
static void bracket_lane(struct lane_block *b, const struct path_shared *s,
                         const struct path_lane *l, size_t i)
{
    solve_nested(s, l, &b->state[i]);
    take_bracketed(b, s, l, i);
}

/* With clearances that close a lane may have come to an answer above the lowest: beyond the gas
 * data, or where the flows part again (the determinant's sign). */
static bool may_be_higher(const struct lane_block *b, const struct path_shared *s, size_t i)
{
    bool apart = b->j11[i] * b->j22[i] - b->j12[i] * b->j21[i] > 0.0;
    return !s->is_map && s->blower->geometry.closing_rate > 0.0 &&
           (b->t2[i] > SHV_GAS_T_MAX || apart);
}

/* Takes the lowest answer in place of a higher one, if there is one lower. */
static bool lower_lane(struct lane_block *b, const struct path_shared *s, const struct path_lane *l,
                       size_t i)
{
    const double alike = 1e-6;
    struct match_state lowest = b->state[i];
    solve_nested(s, l, &lowest);
    if (!lowest.found || lowest.p2 >= (1.0 - alike) * b->p2[i]) {
        return false;
    }
    b->state[i] = lowest;
    take_bracketed(b, s, l, i);
    return true;
}

/* Cheaply: whether the charge is far above its dew point. A charge at the dew point of air that was
 * saturated at t0 has p/p0 = exp(L/R (1/t0 - 1/t)) with L/R at least 4500 K up to 420 K. */
static bool far_from_dew(const struct path_shared *s, double pm, double tm)
{
    return 4500.0 * (tm - s->t0) > (pm / s->p0 - 1.0) * s->t0 * tm && tm > s->t0;
}

/* A dry answer below the dew point is none: on from there with water condensing. */
static void wet_lane(struct lane_block *b, const struct path_shared *s, const struct path_inlet *in,
                     const struct path_lane *l, size_t i)
{
    struct match_state *m = &b->state[i];
    start_lane(b, s, in, l, i, true, s->is_map, l->loop > 0.0, true);
    for (int step = 0; step < MOST_STEPS && b->done[i] < 0.5; step++) {
        step_lane(b, s, in, l, i, s->is_map, l->loop > 0.0, true);
    }
    b->j11[i] = NAN; /* says nothing of the dry lane of the next speed */
    if (!(b->done[i] > 0.5)) {
        bracket_lane(b, s, l, i);
        return;
    }
    m->blower_flow = m->drawn = b->u[i] * b->scale[i];
    m->p2 = b->v[i] * s->p0;
    struct path_out o;
    solved_path(s, l, m, true, &o);
    write_answer(b, s, i, &o);
}

static void solve_closed(struct lane_block *b, const struct path_shared *s,
                         const struct path_inlet *in, const struct path_lane *l, size_t i,
                         bool plain)
{
    if (plain || !(b->done[i] > 0.5)) {
        bracket_lane(b, s, l, i);
    } else if (may_be_higher(b, s, i) && lower_lane(b, s, l, i)) {
        return;
    } else if (path_may_condense(s, l) && !far_from_dew(s, b->pm[i], b->tm[i]) &&
               condense_begins(in->humidity, b->pm[i], b->tm[i])) {
        wet_lane(b, s, in, l, i);
    }
}

/* Open bypass, bleed and lost lanes; then the outcome. */
static void finish_lane(struct lane_block *b, const struct shv_model *model,
                        const struct path_shared *s, const struct path_inlet *in, size_t i,
                        bool plain)
{
    const struct shv_bypass *bypass = &model->study->bypass;
    bool to_inlet = bypass->bleed_to == SHV_BLEED_TO_INLET;
    struct match_state *m = &b->state[i];
    struct path_lane l = block_lane(b, model, i);
    *m = (struct match_state){.found = true,
                              .blower_flow = b->engine_flow[i],
                              .drawn = b->engine_flow[i],
                              .p2 = b->p2[i],
                              .inlet = *in};
    solve_closed(b, s, in, &l, i, plain);
    bool open = m->bypass_open || (m->found && b->pm[i] < b->p1[i]);
    if (open && !m->bypass_open) {
        solve_open(s, &l, m);
    }
    /* A blower that gives far too much has no answer without bleed. */
    bool too_much = !m->found || b->pm[i] > s->p0 + bypass->bleed_above;
    if (!open && too_much && isfinite(bypass->bleed_above)) {
        solve_bleed(s, &l, s->p0 + bypass->bleed_above, to_inlet, m);
    }
    if (m->found && (m->bypass_open || m->bleeding)) {
        struct path_out o;
        state_path(s, &l, m, to_inlet, &o);
        write_answer(b, s, i, &o);
    }
    b->outcome[i] = (uint8_t)outcome_of(b, i, s);
}

void block_match(struct lane_block *b, const struct shv_model *model, size_t site, size_t speed,
                 bool plain)
{
    block_match_by(b, model, site, speed, plain, vector_loops_best());
}

void block_match_by(struct lane_block *b, const struct shv_model *model, size_t site, size_t speed,
                    bool plain, const struct vector_loops *loops)
{
    struct path_shared s;
    model_shared(model, b->blower, b->fuel, site, speed, &s);
    struct path_inlet in = path_inlet_of(&s, s.t0, s.h0);
    block_begin_speed(b, model, site, speed);
    if (!plain) {
        first_guess(b, model, &s, speed);
        /* Vectors only pay with lanes to fill them; the bits are the same either way. */
        if (b->class == LANE_OTHER || b->count < 4) {
            iterate_general(b, model, &s, &in);
        } else if (s.is_map) {
            iterate_maps(b, model, &s, &in, loops);
        } else {
            iterate_vectors(b, model, &s, &in, loops);
        }
        take_iterated(b, &s);
    }
    for (size_t i = 0; i < b->count; i++) {
        finish_lane(b, model, &s, &in, i, plain);
    }
}
