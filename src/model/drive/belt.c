/* Belt geometry, grip and tensions: docs/model.md, sections 4.1 to 4.5. */
#include "sheave/belt.h"

#include <math.h>

#include "model/cylinder/cycle_internal.h"
#include "model/path/elementary.h"
#include "sheave/drive.h"

#define PI 3.14159265358979323846

/* ---- geometry ---- */

struct belt_path {
    double crank, blower; /* pitch radii */
    bool crossed;
};

static struct belt_path path_of(const struct shv_belt_layout *l)
{
    return (struct belt_path){.crank = 0.5 * l->crank_diameter + l->line_offset,
                              .blower = 0.5 * l->blower_diameter + l->line_offset,
                              .crossed = l->crossed};
}

/* The C library's may give other bits on another machine. */
static double sine(double angle)
{
    double s, c;
    cycle_sin_cos(angle * (180.0 / PI), &s, &c);
    return s;
}

static double cosine(double angle)
{
    double s, c;
    cycle_sin_cos(angle * (180.0 / PI), &s, &c);
    return c;
}

#define ARC_ROUNDS 60
#define ARC_ENOUGH 1e-16

/* Newton's method; it only slows down where pulleys touch each other, at 1. */
static double arc_sine(double x)
{
    double angle = x;
    for (int i = 0; i < ARC_ROUNDS; i++) {
        double step = (x - sine(angle)) / shv_max(cosine(angle), 1e-8);
        angle += step;
        if (fabs(step) < ARC_ENOUGH) {
            break;
        }
    }
    return angle;
}

/* Angle of a span to the line of centres, positive when it adds wrap to the crank pulley. */
static double span_angle(const struct belt_path *p, double centre)
{
    double rise = p->crossed ? p->crank + p->blower : p->crank - p->blower;
    return arc_sine(shv_min(1.0, rise / centre)); /* rounding may exceed 1 where pulleys touch */
}

static double crank_wrap(double angle)
{
    return PI + 2.0 * angle;
}

static double blower_wrap(const struct belt_path *p, double angle)
{
    return p->crossed ? PI + 2.0 * angle : PI - 2.0 * angle;
}

static double length_at(const struct belt_path *p, double centre)
{
    double angle = span_angle(p, centre);
    return 2.0 * centre * cosine(angle) + p->crank * crank_wrap(angle) +
           p->blower * blower_wrap(p, angle);
}

/* False where the pulleys would touch each other. */
static bool geometry_of_layout(const struct shv_belt_layout *l, struct shv_belt_geometry *g)
{
    struct belt_path p = path_of(l);
    if (l->centre <= p.crank + p.blower) {
        return false;
    }
    double angle = span_angle(&p, l->centre);
    g->crank_wrap = crank_wrap(angle);
    g->blower_wrap = blower_wrap(&p, angle);
    g->span = l->centre * cosine(angle);
    g->length = length_at(&p, l->centre);
    return true;
}

static void take_given_wraps(const struct shv_belt_layout *l, struct shv_belt_geometry *g)
{
    if (l->crank_wrap > 0.0) {
        g->crank_wrap = l->crank_wrap;
    }
    if (l->blower_wrap > 0.0) {
        g->blower_wrap = l->blower_wrap;
    }
    if (l->crank_wrap > 0.0 || l->blower_wrap > 0.0) {
        g->span = g->length = NAN;
    }
}

bool shv_belt_geometry(const struct shv_belt_layout *l, struct shv_belt_geometry *geometry)
{
    struct shv_belt_geometry g = {0};
    if ((l->crank_wrap == 0.0 || l->blower_wrap == 0.0) && !geometry_of_layout(l, &g)) {
        return false;
    }
    take_given_wraps(l, &g);
    *geometry = g;
    return true;
}

/* ---- grip and tensions ---- */

/* shv_exp holds its argument to 700, where slip is out of question. */
double shv_belt_grip_ratio(double friction, double groove_angle, double wrap)
{
    return shv_exp(friction * wrap / sine(0.5 * groove_angle));
}

/* The pulls of the two sides are apart by the supplement of the wrap. The square is never below 0
 * but by rounding. */
static double hub_load(double one_side, double other_side, double wrap_cosine)
{
    double square =
        one_side * one_side + other_side * other_side - 2.0 * one_side * other_side * wrap_cosine;
    return sqrt(shv_max(0.0, square));
}

/* What presses the belt on the pulleys. A spring-loaded idler feels the belt's momentum as the
 * pulleys do, so its tension comes on top of the centrifugal one. */
static double pressing_tension(const struct shv_belt_drive *d, double centrifugal)
{
    double left =
        d->tensioner == SHV_TENSION_FIXED ? d->static_tension - centrifugal : d->static_tension;
    return shv_max(0.0, left);
}

/* Pull at the point of slip over pressing tension. */
static double grip_factor(const struct shv_belt_drive *d, double ratio)
{
    return d->tensioner == SHV_TENSION_FIXED ? 2.0 * (1.0 - 1.0 / ratio) / (1.0 + 1.0 / ratio)
                                             : ratio - 1.0;
}

static double static_tension_for(const struct shv_belt_drive *d, const struct shv_belt_fitted *f,
                                 const struct shv_belt_state *s)
{
    double pressing = 0.0; /* without pull also where friction is next to nothing */
    if (s->pull > 0.0) {
        pressing = (1.0 + d->slip_margin) * s->pull / grip_factor(d, f->grip_ratio);
    }
    return d->tensioner == SHV_TENSION_FIXED ? pressing + s->centrifugal : pressing;
}

static double tight_side(const struct shv_belt_drive *d, const struct shv_belt_state *s,
                         double pull)
{
    return d->tensioner == SHV_TENSION_FIXED
               ? shv_max(d->static_tension, s->centrifugal) + 0.5 * pull
               : d->static_tension + s->centrifugal + pull;
}

static void set_grip(const struct shv_belt_drive *d, const struct shv_belt_fitted *f,
                     const struct shv_belt_demand *demand, struct shv_belt_state *s)
{
    double mass = (double)d->belt.ribs * d->belt.rib_mass;
    s->speed =
        shv_drive_belt_speed(d->layout.crank_diameter, d->layout.line_offset, demand->engine_speed);
    s->centrifugal = mass * s->speed * s->speed;
    s->pull = demand->power / s->speed;
    s->slip_pull = pressing_tension(d, s->centrifugal) * grip_factor(d, f->grip_ratio);
    s->static_needed = static_tension_for(d, f, s);
}

bool shv_belt_fit(const struct shv_belt_drive *d, struct shv_belt_fitted *fitted)
{
    struct shv_belt_geometry g;
    if (!shv_belt_geometry(&d->layout, &g)) {
        return false;
    }
    /* Both pulleys carry the same pull and have the same grooves. */
    double wrap = shv_min(g.crank_wrap, g.blower_wrap);
    *fitted = (struct shv_belt_fitted){
        .geometry = g,
        .grip_ratio = shv_belt_grip_ratio(d->belt.friction, d->belt.groove_angle, wrap),
        .blower_cosine = cosine(g.blower_wrap)};
    return true;
}

struct shv_belt_state shv_belt_at(const struct shv_belt_drive *d, const struct shv_belt_fitted *f,
                                  const struct shv_belt_demand *demand)
{
    struct shv_belt_state s;
    set_grip(d, f, demand, &s);
    double pull = shv_min(s.pull, s.slip_pull);
    s.tight = tight_side(d, &s, pull);
    s.slack = s.tight - pull;
    s.tension_per_rib = s.tight / (double)d->belt.ribs;
    s.blower_hub_load =
        hub_load(s.tight - s.centrifugal, s.slack - s.centrifugal, f->blower_cosine);
    return s;
}

double shv_belt_hub_load_still(const struct shv_belt_drive *d, const struct shv_belt_fitted *f)
{
    return hub_load(d->static_tension, d->static_tension, f->blower_cosine);
}
