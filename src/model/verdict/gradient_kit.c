/* Derivatives of belt, bearing, cruise and worth: docs/model.md, appendix B; the relations are
 * those of belt.c, bearing.c and hardware.c. */
#include <math.h>

#include "model/cylinder/cycle_internal.h"
#include "model/verdict/gradient_internal.h"
#include "model/path/path_tangent.h"
#include "model/kit/hardware.h"
#include "sheave/bearing.h"

#define DEGREE (3.14159265358979323846 / 180.0)
#define STRIDE (sizeof(struct shv_point) / sizeof(double))

/* What the belt changes by, whatever the point. */
struct belt_change {
    const struct shv_belt_setup *setup;
    const struct hardware_belt *belt;
    double grip;        /* of the grip ratio */
    double blower_wrap; /* rad */
    double static_pull; /* of the static tension */
    double ribs;
};

/* ---- wrap ---- */

/* Changes of both wraps when the blower pulley grows by `diameter`, or its given wrap by `wrap`. */
static void change_wraps(const struct shv_study *study, const struct shv_kit *kit,
                         const struct hardware_belt *belt, double diameter, double wrap,
                         double *crank, double *blower)
{
    double sine, cosine;
    /* crank wrap = pi + 2 angle of the span */
    cycle_sin_cos(0.5 * belt->crank_wrap / DEGREE - 90.0, &sine, &cosine);
    double angle = -0.5 * diameter / (study->drive.belt.centre * cosine);
    *crank = 2.0 * angle;
    *blower = kit->wrap > 0.0 ? wrap : -2.0 * angle;
}

/* Of grip ratio exp(c wrap), from the change of the lesser wrap. */
static double change_grip(double ratio, double wrap, double dwrap)
{
    return ratio * shv_log(ratio) / wrap * dwrap;
}

/* ---- one state ---- */

static bool is_fixed(const struct belt_change *c)
{
    return c->setup->tensioner == SHV_TENSION_FIXED;
}

static double grip_factor(const struct belt_change *c, double ratio)
{
    return is_fixed(c) ? 2.0 * (ratio - 1.0) / (ratio + 1.0) : ratio - 1.0;
}

static double change_factor(const struct belt_change *c, double ratio)
{
    return is_fixed(c) ? 4.0 * c->grip / ((ratio + 1.0) * (ratio + 1.0)) : c->grip;
}

/* Of the least static tension that keeps the margin. */
static double change_needed(const struct belt_change *c, const struct shv_belt_state *s,
                            double dpower)
{
    double factor = grip_factor(c, s->grip_ratio);
    if (!(s->pull > 0.0)) {
        return 0.0;
    }
    double dpull = dpower / s->speed;
    return (1.0 + c->setup->slip_margin) / factor *
           (dpull - s->pull / factor * change_factor(c, s->grip_ratio));
}

/* Of slip share, tension of a rib and hub load. */
struct state_change {
    double slip, tension, hub;
};

static double change_hub(const struct belt_change *c, const struct shv_belt_state *s, double dtight,
                         double dslack)
{
    double sine, cosine, tight = s->tight - s->centrifugal, slack = s->slack - s->centrifugal;
    cycle_sin_cos(c->belt->blower_wrap / DEGREE, &sine, &cosine);
    if (!(s->blower_hub_load > 0.0)) {
        return 0.0;
    }
    return ((tight - slack * cosine) * dtight + (slack - tight * cosine) * dslack +
            tight * slack * sine * c->blower_wrap) /
           s->blower_hub_load;
}

static struct state_change change_state(const struct belt_change *c, const struct shv_belt_state *s,
                                        double dpower)
{
    struct state_change d = {0.0, 0.0, 0.0};
    double factor = grip_factor(c, s->grip_ratio), dpull = dpower / s->speed;
    bool presses = s->slip_pull > 0.0;
    double dpressing = presses ? c->static_pull : 0.0;
    double dslip = dpressing * factor + s->slip_pull / factor * change_factor(c, s->grip_ratio);
    double share = (1.0 + c->setup->slip_margin) * s->pull / s->slip_pull;
    bool held = isnan(c->setup->static_tension) && share > 1.0;
    if (s->pull > 0.0 && presses && !held) {
        d.slip = share * (dpull / s->pull - dslip / s->slip_pull);
    }
    double used = s->pull < s->slip_pull ? dpull : dslip;
    bool lifted = is_fixed(c) && !presses;
    double dtight = (lifted ? 0.0 : c->static_pull) + (is_fixed(c) ? 0.5 : 1.0) * used;
    d.tension = dtight / c->ribs;
    d.hub = change_hub(c, s, dtight, dtight - used);
    return d;
}

/* ---- belt ---- */

static double change_power(const struct shv_model *model, double shaft, double dshaft)
{
    return shaft > 0.0 ? dshaft / model->study->drive.efficiency : 0.0;
}

/* Of the static tension: that of the point that asks for most of it. */
static double change_static(const struct shv_model *model, const struct belt_change *c,
                            const struct shv_curves *curves, const struct shv_point *d,
                            size_t *point)
{
    const struct shv_belt_state *state = curves->room->state;
    size_t most = 0;
    *point = 0;
    if (!isnan(c->setup->static_tension)) {
        return 0.0;
    }
    for (size_t i = 1; i < curves->sites * curves->speeds; i++) {
        most = state[i].static_needed > state[most].static_needed ? i : most;
    }
    *point = most;
    return change_needed(
        c, &state[most],
        change_power(model, curves->point[most].blower_power, d[most].blower_power));
}

static void change_points(const struct shv_model *model, const struct belt_change *c,
                          const struct shv_curves *curves, struct shv_point *d)
{
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        const struct shv_belt_state *s = &curves->room->state[i];
        d[i].belt_slip = d[i].belt_tension = d[i].hub_load = NAN;
        if (isnan(p->belt_slip)) {
            continue;
        }
        struct state_change x =
            change_state(c, s, change_power(model, p->blower_power, d[i].blower_power));
        d[i].belt_slip = x.slip;
        d[i].belt_tension = x.tension;
        d[i].hub_load = x.hub;
    }
}

/* Of the life at the hardest site: L = (C / P)^e / mean speed, P the mean of loads over turns. */
static double change_life(const struct shv_model *model, const struct shv_kit *kit,
                          const struct belt_change *c, const struct shv_curves *curves,
                          const struct shv_point *d, double dratio)
{
    const struct shv_study *study = model->study;
    const struct hardware_room *room = curves->room;
    const struct shv_belt_state *state = room->state + model->sites * model->speeds;
    struct shv_belt_drive drive = hardware_drive(study, kit);
    double least = INFINITY, change = 0.0;
    drive.static_tension = c->belt->static_tension;
    for (size_t site = 0; site < model->sites; site++) {
        const struct shv_point *p = &curves->point[site * model->speeds];
        double life = hardware_life_at(model, kit, &drive, &p->blower_power, STRIDE, curves->room);
        double e = shv_bearing_exponent(study->blowers[kit->blower].bearing.type);
        double damage = 0.0, sum = 0.0;
        for (size_t k = 0; k < study->use.duty_parts; k++) {
            const struct shv_duty_part *part = &study->use.duty[k];
            const struct shv_bearing_part *b = &room->part[k];
            double dshaft = part->load * d[site * model->speeds + part->speed].blower_power;
            double dpower = change_power(model, part->load * p[part->speed].blower_power, dshaft);
            if (b->load > 0.0) {
                double own = b->share * b->speed * shv_pow(b->load, e);
                damage += own;
                sum += own * change_state(c, &state[k], dpower).hub / state[k].blower_hub_load;
            }
        }
        if (life < least && damage > 0.0) {
            least = life;
            change = -life * (e * sum / damage + dratio / kit->ratio);
        }
    }
    return isfinite(least) ? change : 0.0;
}

static void change_belt(const struct shv_model *model, const struct shv_kit *kit,
                        const struct hardware_belt *belt, double ratio_slope,
                        const struct shv_curves *curves, enum shv_free choice,
                        struct shv_gradient *g)
{
    const struct shv_study *study = model->study;
    struct shv_hardware *h = &g->hardware[choice];
    struct belt_change c = {.setup = &study->drive.belt, .belt = belt, .ribs = kit->ribs};
    double offset = 2.0 * study->drive.line_offset;
    double dratio = choice == SHV_FREE_RATIO ? ratio_slope : 0.0, dcrank;
    double diameter = -dratio * (kit->crank_diameter + offset) / (kit->ratio * kit->ratio);
    change_wraps(study, kit, belt, diameter, choice == SHV_FREE_WRAP ? DEGREE : 0.0, &dcrank,
                 &c.blower_wrap);
    bool crank = belt->crank_wrap < belt->blower_wrap;
    c.grip =
        change_grip(curves->room->state[0].grip_ratio, crank ? belt->crank_wrap : belt->blower_wrap,
                    crank ? dcrank : c.blower_wrap);
    size_t hardest;
    c.static_pull = change_static(model, &c, curves, g->point[choice], &hardest);
    change_points(model, &c, curves, g->point[choice]);
    h->crank_wrap = dcrank;
    h->blower_wrap = c.blower_wrap;
    h->static_tension = c.static_pull;
    h->bearing_life = NAN;
    if (!isnan(curves->hardware.bearing_life)) {
        h->bearing_life = change_life(model, kit, &c, curves, g->point[choice], dratio);
    }
    for (size_t i = 0; choice == SHV_FREE_RATIO && i < g->sites * g->speeds; i++) {
        piece_note(&g->piece[i], crank);
        piece_note(&g->piece[i], hardest);
        piece_note(&g->piece[i], curves->room->state[i].grip);
    }
}

/* ---- the rest ---- */

static double drag_at(const struct shv_model *model, const struct shv_kit *kit, double ratio)
{
    struct shv_bypass_state state;
    struct shv_kit moved = *kit;
    moved.ratio = ratio;
    return hardware_cruise(model, &moved, model->study->bypass_part.area, &state)
               ? hardware_drag(&state)
               : NAN;
}

/* By central differences at two steps, the leading error taken off. */
static double change_drag(const struct shv_model *model, const struct shv_kit *kit)
{
    double h = 1e-3 * kit->ratio;
    double near = drag_at(model, kit, kit->ratio + h) - drag_at(model, kit, kit->ratio - h);
    double far =
        drag_at(model, kit, kit->ratio + 2.0 * h) - drag_at(model, kit, kit->ratio - 2.0 * h);
    return (8.0 * near - far) / (12.0 * h);
}

static double change_pulley(const struct shv_study *study, const struct shv_kit *kit)
{
    double offset = 2.0 * study->drive.line_offset;
    if (isnan(kit->crank_diameter)) {
        return NAN;
    }
    return kit->blower_diameter < kit->crank_diameter
               ? -(kit->crank_diameter + offset) / (kit->ratio * kit->ratio)
               : 0.0;
}

static void change_rest(const struct shv_model *model, const struct shv_kit *kit, double ntu_slope,
                        enum shv_free choice, struct shv_hardware *h)
{
    const struct shv_study *study = model->study;
    bool of_ratio = choice == SHV_FREE_RATIO, of_cooler = choice == SHV_FREE_EFFECTIVENESS;
    const struct shv_worth *worth = &study->coolers[kit->cooler].per_ntu;
    h->price = of_cooler ? worth->price * ntu_slope : 0.0;
    h->mass = of_cooler ? worth->mass * ntu_slope : 0.0;
    h->pulley_diameter = change_pulley(study, kit);
    h->cruise_drag = NAN;
    if (study->use.cruises) {
        bool limited = !isinf(study->limit[SHV_LIMIT_CRUISE_DRAG]);
        h->cruise_drag = !of_ratio ? 0.0 : limited ? change_drag(model, kit) : NAN;
    }
    if (!of_ratio && !isnan(h->pulley_diameter)) {
        h->pulley_diameter = 0.0;
    }
}

void gradient_hardware(const struct shv_model *model, const struct shv_kit *kit, double ratio_slope,
                       const struct shv_curves *curves, struct shv_gradient *g)
{
    struct hardware_belt belt;
    double slope = gradient_ntu(model, kit);
    hardware_belt(model, kit, &curves->point[0].blower_power, STRIDE, curves->room, &belt);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        struct shv_hardware *h = &g->hardware[k];
        *h = (struct shv_hardware){.over_continuous = curves->hardware.over_continuous};
        h->over_continuous *= 0.0; /* a share of steps; NAN stays */
        h->crank_wrap = h->blower_wrap = h->static_tension = h->bearing_life = NAN;
        change_rest(model, kit, slope, (enum shv_free)k, h);
        if (k == SHV_FREE_RATIO) {
            h->pulley_diameter *= ratio_slope;
            h->cruise_drag *= ratio_slope;
        }
        if (belt.known) {
            change_belt(model, kit, &belt, ratio_slope, curves, (enum shv_free)k, g);
            continue;
        }
        for (size_t i = 0; i < g->sites * g->speeds; i++) {
            struct shv_point *d = &g->point[k][i];
            d->belt_slip = d->belt_tension = d->hub_load = NAN;
        }
    }
}
