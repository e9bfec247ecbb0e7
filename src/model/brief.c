/* Verdicts of many combinations at once, as little as a ranking needs. */
#include <math.h>
#include <stdlib.h>

#include "model/model_internal.h"

struct shv_lanes {
    struct lane_block block;
    /* [site * speeds + speed] * SHV_LANES_MAX + lane */
    double *engine_flow, *pm, *pe, *shaft, *power;
    double *store; /* owns all five */
    double worst[SHV_LIMIT_COUNT][SHV_LANES_MAX];
    uint8_t outcome[SHV_LANES_MAX];
    /* the combinations of one call */
    struct shv_kit kit[SHV_AIR_MAX];
    double ntu[SHV_AIR_MAX];
    bool taken[SHV_AIR_MAX];
};

enum shv_status shv_lanes_create(const struct shv_model *model, struct shv_lanes **lanes,
                                 struct shv_message *message)
{
    size_t one = model->sites * model->speeds * SHV_LANES_MAX;
    *lanes = calloc(1, sizeof **lanes);
    double *store = calloc(5 * one, sizeof *store);
    if (!*lanes || !store) {
        free(*lanes);
        free(store);
        *lanes = NULL;
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the lanes of a thread");
    }
    (*lanes)->store = store;
    (*lanes)->engine_flow = store;
    (*lanes)->pm = store + one;
    (*lanes)->pe = store + 2 * one;
    (*lanes)->shaft = store + 3 * one;
    (*lanes)->power = store + 4 * one;
    return SHV_OK;
}

void shv_lanes_free(struct shv_lanes *lanes)
{
    if (lanes) {
        free(lanes->store);
        free(lanes);
    }
}

static void raise_to(double *worst, double value)
{
    *worst = value > *worst ? value : *worst;
}

/* Keeps what the engine side needs and the worst value of each limit of the air side. */
static void keep_point(const struct shv_model *model, struct shv_lanes *w, size_t site,
                       size_t speed)
{
    const struct lane_block *b = &w->block;
    const struct model_speed *at = &model->speed[speed];
    size_t row = (site * model->speeds + speed) * SHV_LANES_MAX;
    double p0 = model->site[site].p0;
    for (size_t i = 0; i < b->count; i++) {
        /* Without a match nothing of the engine side is known: NAN compares as beyond no limit. */
        w->engine_flow[row + i] = b->state[i].found ? b->engine_flow[i] : NAN;
        w->pm[row + i] = b->pm[i];
        w->pe[row + i] = b->pe[i];
        w->shaft[row + i] = b->shaft[i];
        raise_to(&w->worst[SHV_LIMIT_ROTOR_SPEED][i], b->rotor_speed[i]);
        raise_to(&w->worst[SHV_LIMIT_BELT_SPEED][i],
                 shv_drive_belt_speed(b->crank[i], model->study->drive.line_offset, at->speed));
        raise_to(&w->worst[SHV_LIMIT_PISTON_SPEED][i], at->piston_speed);
        if (w->outcome[i] == SHV_POINT_OK) {
            w->outcome[i] = b->outcome[i];
        }
        if (!b->state[i].found) {
            continue;
        }
        raise_to(&w->worst[SHV_LIMIT_PRESSURE_RATIO][i], b->p2[i] / b->p1[i]);
        raise_to(&w->worst[SHV_LIMIT_PRESSURE_RISE][i], b->p2[i] - b->p1[i]);
        raise_to(&w->worst[SHV_LIMIT_BOOST][i], b->pm[i] - p0);
        raise_to(&w->worst[SHV_LIMIT_DISCHARGE_TEMPERATURE][i], b->t2[i]);
        raise_to(&w->worst[SHV_LIMIT_CHARGE_TEMPERATURE][i], b->tm[i]);
        raise_to(&w->worst[SHV_LIMIT_BLOWER_POWER][i], b->shaft[i]);
    }
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
            block_match(b, model, site, speed, false);
            keep_point(model, w, site, speed);
        }
    }
}

/* Brake power at every point for one fuel and mixture; torque and fuel flow at their worst. */
static void run_engine(const struct shv_model *model, struct shv_lanes *w, size_t fuel,
                       double lambda)
{
    const double two_pi = 6.28318530717958647692;
    size_t count = w->block.count;
    for (size_t i = 0; i < count; i++) {
        w->worst[SHV_LIMIT_TORQUE][i] = w->worst[SHV_LIMIT_FUEL_FLOW][i] = -INFINITY;
    }
    for (size_t site = 0; site < model->sites; site++) {
        for (size_t speed = 0; speed < model->speeds; speed++) {
            const struct model_speed *at = &model->speed[speed];
            struct brake_case c = brake_case_of(model, site, speed, fuel, lambda);
            size_t row = (site * model->speeds + speed) * SHV_LANES_MAX;
            for (size_t i = 0; i < count; i++) {
                struct brake_out o;
                brake_run(model, at, &c, w->engine_flow[row + i], w->pm[row + i], w->pe[row + i],
                          w->shaft[row + i], &o);
                w->power[row + i] = o.brake;
                raise_to(&w->worst[SHV_LIMIT_TORQUE][i], o.brake / (two_pi * at->speed));
                raise_to(&w->worst[SHV_LIMIT_FUEL_FLOW][i], o.fuel);
            }
        }
    }
}

static struct shv_brief brief_of(const struct shv_model *model, const struct shv_lanes *w,
                                 const double bound[SHV_LIMIT_COUNT], size_t lane)
{
    struct shv_brief brief = {.objective = NAN, .outcome = w->outcome[lane]};
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        brief.broken |= w->worst[k][lane] > bound[k] ? 1u << k : 0u;
    }
    if (brief.outcome == SHV_POINT_OK) {
        brief.objective = objective_of(model, w->power + lane, SHV_LANES_MAX);
    }
    return brief;
}

static void block_bounds(const struct shv_model *model, size_t blower,
                         double bound[SHV_LIMIT_COUNT])
{
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        bound[k] = shv_limit_bound(model->study, &model->study->blowers[blower], (enum shv_limit)k);
    }
}

/* Judges the block with every fuel-side choice. brief[place[i] * fuel_size + j] is lane i with
 * choice j. */
static void run_block(const struct shv_model *model, const struct shv_space *space,
                      struct shv_lanes *w, const size_t *place, struct shv_brief *brief)
{
    const struct shv_study *study = model->study;
    double bound[SHV_LIMIT_COUNT];
    block_bounds(model, w->block.blower, bound);
    run_air(model, w);
    for (uint64_t j = 0; j < space->fuel_size; j++) {
        struct shv_kit kit;
        shv_space_kit(space, study, j, &kit);
        run_engine(model, w, kit.fuel, kit.lambda);
        for (size_t i = 0; i < w->block.count; i++) {
            brief[place[i] * space->fuel_size + j] = brief_of(model, w, bound, i);
        }
    }
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
        place[b->count++] = i;
        w->taken[i] = true;
    }
}

void shv_lanes_evaluate(const struct shv_model *model, const struct shv_space *space,
                        struct shv_lanes *lanes, uint64_t first, size_t count,
                        struct shv_brief *brief)
{
    for (size_t i = 0; i < count; i++) {
        uint64_t choice[SHV_DIM_COUNT];
        uint64_t index = (first + i) * space->fuel_size;
        shv_space_split(space, index, choice);
        shv_space_kit(space, model->study, index, &lanes->kit[i]);
        lanes->ntu[i] = model->choice_ntu[choice[SHV_DIM_COOLER]];
        lanes->taken[i] = false;
    }
    size_t place[SHV_LANES_MAX];
    for (size_t done = 0; done < count; done += lanes->block.count) {
        gather(model, lanes, count, place);
        run_block(model, space, lanes, place, brief);
    }
}

void shv_lanes_evaluate_kits(const struct shv_model *model, struct shv_lanes *lanes,
                             const struct shv_kit *kits, size_t count, struct shv_brief *brief)
{
    struct lane_block *b = &lanes->block;
    double bound[SHV_LIMIT_COUNT];
    b->count = count;
    b->blower = kits[0].blower;
    block_bounds(model, b->blower, bound);
    for (size_t i = 0; i < count; i++) {
        block_set(b, model, i, kits[i].ratio, kits[i].crank_diameter, kits[i].cooler,
                  model_cooler_ntu(model, kits[i].cooler, kits[i].effectiveness));
    }
    run_air(model, lanes);
    run_engine(model, lanes, kits[0].fuel, kits[0].lambda);
    for (size_t i = 0; i < count; i++) {
        brief[i] = brief_of(model, lanes, bound, i);
    }
}
