/* Belt geometry, grip and tensions: docs/model.md, sections 4.1 to 4.5. */
#include "sheave/belt.h"

#include <math.h>

#include "model/cylinder/cycle_internal.h"
#include "model/path/elementary.h"
#include "model/path/input.h"
#include "model/path/solve.h"
#include "sheave/drive.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define PI 3.14159265358979323846

/* ---- input ---- */

static enum shv_status check_pulleys(const struct shv_belt_layout *l, struct shv_message *message)
{
    const struct range row[] = {
        {"diameter of the crank pulley, m,", l->crank_diameter, false, INFINITY},
        {"diameter of the blower pulley, m,", l->blower_diameter, false, INFINITY},
        {"offset of the belt's pitch line, m,", l->line_offset, true, INFINITY},
    };
    return check_ranges(COUNT(row), row, message);
}

static enum shv_status check_wraps(const struct shv_belt_layout *l, struct shv_message *message)
{
    const struct range row[] = {
        {"wrap on the crank pulley, rad,", l->crank_wrap, true, 2.0 * PI},
        {"wrap on the blower pulley, rad,", l->blower_wrap, true, 2.0 * PI},
    };
    return check_ranges(COUNT(row), row, message);
}

static enum shv_status check_drive(const struct shv_belt_drive *d, struct shv_message *message)
{
    const struct shv_belt *b = &d->belt;
    const struct range row[] = {
        {"pitch of the ribs, m,", b->rib_pitch, true, INFINITY},
        {"groove angle, rad,", b->groove_angle, false, PI},
        {"friction of the belt", b->friction, false, INFINITY},
        {"mass of a rib, kg/m,", b->rib_mass, true, INFINITY},
        {"allowed tension of a rib, N,", b->allowed_tension, false, INFINITY},
        {"smallest diameter of a pulley, m,", b->min_diameter, true, INFINITY},
        {"static tension, N,", d->static_tension, true, INFINITY},
        {"margin against slip", d->slip_margin, true, INFINITY},
    };
    if (b->ribs == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "a belt needs at least one rib");
    }
    if (d->tensioner != SHV_TENSION_FIXED && d->tensioner != SHV_TENSION_SPRING) {
        return shv_fail(message, SHV_BAD_INPUT, "there is no tensioner %d", (int)d->tensioner);
    }
    return check_ranges(COUNT(row), row, message);
}

static enum shv_status check_demand(const struct shv_belt_demand *demand,
                                    struct shv_message *message)
{
    const struct range row[] = {
        {"engine speed, rev/s,", demand->engine_speed, false, INFINITY},
        {"power of the belt, W,", demand->power, true, INFINITY},
    };
    return check_ranges(COUNT(row), row, message);
}

/* ---- geometry ---- */

struct belt_path {
    double crank, blower; /* pitch radii */
    bool crossed;
    double length; /* sought by length_error */
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

static double length_error(void *data, double centre)
{
    const struct belt_path *p = (const struct belt_path *)data;
    return length_at(p, centre) - p->length;
}

static enum shv_status geometry_of_layout(const struct shv_belt_layout *l,
                                          struct shv_belt_geometry *g, struct shv_message *message)
{
    struct belt_path p = path_of(l);
    double touching = p.crank + p.blower;
    if (!isfinite(l->centre) || l->centre <= touching) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "distance of the shafts, m, is %.6g; more than %.6g is needed for the "
                        "pulleys to clear each other",
                        l->centre, touching);
    }
    double angle = span_angle(&p, l->centre);
    g->crank_wrap = crank_wrap(angle);
    g->blower_wrap = blower_wrap(&p, angle);
    g->span = l->centre * cosine(angle);
    g->length = length_at(&p, l->centre);
    return SHV_OK;
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

enum shv_status shv_belt_geometry(const struct shv_belt_layout *l,
                                  struct shv_belt_geometry *geometry, struct shv_message *message)
{
    enum shv_status status = check_pulleys(l, message);
    if (status == SHV_OK) {
        status = check_wraps(l, message);
    }
    struct shv_belt_geometry g = {0};
    if (status == SHV_OK && (l->crank_wrap == 0.0 || l->blower_wrap == 0.0)) {
        status = geometry_of_layout(l, &g, message);
    }
    if (status == SHV_OK) {
        take_given_wraps(l, &g);
        *geometry = g;
    }
    return status;
}

/* A belt is longer than twice the distance of the shafts, and its length rises with it: the answer
 * lies between touching pulleys and half the length. */
enum shv_status shv_belt_centre(const struct shv_belt_layout *l, double length, double *centre,
                                struct shv_message *message)
{
    const struct range row[] = {{"length of the belt, m,", length, false, INFINITY}};
    enum shv_status status = check_pulleys(l, message);
    if (status == SHV_OK) {
        status = check_ranges(COUNT(row), row, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    struct belt_path p = path_of(l);
    p.length = length;
    double touching = p.crank + p.blower;
    *centre = length_error(&p, touching) < 0.0
                  ? bracket_root(length_error, &p, touching, 0.5 * length)
                  : NAN;
    return SHV_OK;
}

/* ---- grip and tensions ---- */

struct shv_belt shv_belt_pk(size_t ribs)
{
    return (struct shv_belt){.ribs = ribs,
                             .rib_pitch = SHV_PK_RIB_PITCH,
                             .groove_angle = SHV_PK_GROOVE_ANGLE,
                             .min_diameter = SHV_PK_MIN_DIAMETER};
}

/* shv_exp holds its argument to 700, where slip is out of question. */
double shv_belt_grip_ratio(double friction, double groove_angle, double wrap)
{
    return shv_exp(friction * wrap / sine(0.5 * groove_angle));
}

double shv_belt_centrifugal(double mass, double speed)
{
    return mass * speed * speed;
}

double shv_belt_optimum_speed(double tension, double mass)
{
    return sqrt(tension / (3.0 * mass));
}

/* The pulls of the two sides are apart by the supplement of the wrap. The square is never below 0
 * but by rounding. */
static double hub_load(double one_side, double other_side, double wrap_cosine)
{
    double square =
        one_side * one_side + other_side * other_side - 2.0 * one_side * other_side * wrap_cosine;
    return sqrt(shv_max(0.0, square));
}

double shv_belt_hub_load(double one_side, double other_side, double wrap)
{
    return hub_load(one_side, other_side, cosine(wrap));
}

/* What all operating points of a drive share. */
struct prepared {
    struct shv_belt_geometry geometry;
    double grip_ratio, crank_cosine, blower_cosine; /* cosines of the wraps */
};

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

static double static_tension_for(const struct shv_belt_drive *d, const struct shv_belt_state *s)
{
    double pressing = 0.0; /* without pull also where friction is next to nothing */
    if (s->pull > 0.0) {
        pressing = (1.0 + d->slip_margin) * s->pull / grip_factor(d, s->grip_ratio);
    }
    return d->tensioner == SHV_TENSION_FIXED ? pressing + s->centrifugal : pressing;
}

static double tight_side(const struct shv_belt_drive *d, double static_tension, double centrifugal,
                         double pull)
{
    return d->tensioner == SHV_TENSION_FIXED ? shv_max(static_tension, centrifugal) + 0.5 * pull
                                             : static_tension + centrifugal + pull;
}

/* Tight side less centrifugal tension is so many pulls when static tension just keeps the margin.
 */
static double capacity(const struct shv_belt_drive *d, const struct shv_belt_state *s)
{
    double own = d->tensioner == SHV_TENSION_FIXED ? 0.5 : 1.0;
    double pulls = (1.0 + d->slip_margin) / grip_factor(d, s->grip_ratio) + own;
    double left = (double)d->belt.ribs * d->belt.allowed_tension - s->centrifugal;
    return shv_max(0.0, left) / pulls * s->speed;
}

static enum shv_belt_grip judge_grip(const struct shv_belt_drive *d, const struct shv_belt_state *s)
{
    if (s->slip_pull <= 0.0) {
        return SHV_BELT_LIFTS;
    }
    if (s->pull > s->slip_pull) {
        return SHV_BELT_SLIPS;
    }
    return (1.0 + d->slip_margin) * s->pull > s->slip_pull ? SHV_BELT_LACKS_MARGIN : SHV_BELT_HOLDS;
}

static void set_grip(const struct shv_belt_drive *d, const struct shv_belt_demand *demand,
                     double grip_ratio, struct shv_belt_state *s)
{
    s->speed =
        shv_drive_belt_speed(d->layout.crank_diameter, d->layout.line_offset, demand->engine_speed);
    s->centrifugal = shv_belt_centrifugal((double)d->belt.ribs * d->belt.rib_mass, s->speed);
    s->grip_ratio = grip_ratio;
    s->pull = demand->power / s->speed;
    s->slip_pull = pressing_tension(d, s->centrifugal) * grip_factor(d, s->grip_ratio);
    s->slip_power = s->slip_pull * s->speed;
    s->margin = s->pull > 0.0 ? s->slip_pull / s->pull - 1.0 : INFINITY;
    s->grip = judge_grip(d, s);
    s->static_needed = static_tension_for(d, s);
    s->capacity = capacity(d, s);
}

static void set_tensions(const struct shv_belt_drive *d, struct shv_belt_state *s)
{
    double pull = shv_min(s->pull, s->slip_pull);
    s->tight = tight_side(d, d->static_tension, s->centrifugal, pull);
    s->slack = s->tight - pull;
    s->tension_per_rib = s->tight / (double)d->belt.ribs;
    s->overloaded = s->tension_per_rib > d->belt.allowed_tension;
}

static void set_hub_loads(const struct shv_belt_drive *d, const struct prepared *p,
                          struct shv_belt_state *s)
{
    double tight = s->tight - s->centrifugal, slack = s->slack - s->centrifugal;
    s->crank_hub_load = hub_load(tight, slack, p->crank_cosine);
    s->blower_hub_load = hub_load(tight, slack, p->blower_cosine);
    s->blower_hub_still = hub_load(d->static_tension, d->static_tension, p->blower_cosine);
}

static struct shv_belt_state solve_point(const struct shv_belt_drive *d, const struct prepared *p,
                                         const struct shv_belt_demand *demand)
{
    struct shv_belt_state s = {0};
    set_grip(d, demand, p->grip_ratio, &s);
    set_tensions(d, &s);
    set_hub_loads(d, p, &s);
    return s;
}

static enum shv_status prepare(const struct shv_belt_drive *d, struct prepared *p,
                               struct shv_message *message)
{
    struct shv_belt_geometry *g = &p->geometry;
    enum shv_status status = check_drive(d, message);
    if (status == SHV_OK) {
        status = shv_belt_geometry(&d->layout, g, message);
    }
    if (status == SHV_OK) {
        /* Both pulleys carry the same pull and have the same grooves. */
        p->grip_ratio = shv_belt_grip_ratio(d->belt.friction, d->belt.groove_angle,
                                            shv_min(g->crank_wrap, g->blower_wrap));
        p->crank_cosine = cosine(g->crank_wrap);
        p->blower_cosine = cosine(g->blower_wrap);
    }
    return status;
}

enum shv_status shv_belt_at(const struct shv_belt_drive *d, const struct shv_belt_demand *demand,
                            struct shv_belt_state *state, struct shv_message *message)
{
    struct prepared p = {.grip_ratio = 1.0};
    enum shv_status status = prepare(d, &p, message);
    if (status == SHV_OK) {
        status = check_demand(demand, message);
    }
    if (status == SHV_OK) {
        *state = solve_point(d, &p, demand);
    }
    return status;
}

/* ---- many operating points ---- */

static void take_point(size_t i, const struct shv_belt_state *s, struct shv_belt_verdict *v)
{
    bool first = i == 0;
    if (first || s->grip > v->grip || (s->grip == v->grip && s->margin < v->least_margin)) {
        v->grip = s->grip;
        v->least_margin = s->margin;
        v->worst_slip = i;
    }
    if (first || s->tension_per_rib > v->tension_per_rib) {
        v->tension_per_rib = s->tension_per_rib;
        v->worst_tension = i;
    }
    v->overloaded = v->overloaded || s->overloaded;
    v->static_needed = shv_max(v->static_needed, s->static_needed);
    v->highest_hub_load =
        shv_max(v->highest_hub_load, shv_max(s->blower_hub_load, s->blower_hub_still));
}

/* Needs static_needed of all points, hence the second pass. */
static void set_tension_when_set(const struct shv_belt_drive *d, const struct prepared *p,
                                 size_t count, const struct shv_belt_demand *demands,
                                 struct shv_belt_verdict *v)
{
    for (size_t i = 0; i < count; i++) {
        struct shv_belt_state s = solve_point(d, p, &demands[i]);
        double tight = tight_side(d, v->static_needed, s.centrifugal, s.pull);
        v->tension_when_set = shv_max(v->tension_when_set, tight / (double)d->belt.ribs);
    }
    v->needs_more_ribs = v->tension_when_set > d->belt.allowed_tension;
}

enum shv_status shv_belt_over(const struct shv_belt_drive *d, size_t count,
                              const struct shv_belt_demand *demands, struct shv_belt_state *states,
                              struct shv_belt_verdict *verdict, struct shv_message *message)
{
    struct prepared p = {.grip_ratio = 1.0};
    enum shv_status status = prepare(d, &p, message);
    if (status == SHV_OK && count == 0) {
        status = shv_fail(message, SHV_BAD_INPUT, "a belt needs at least one operating point");
    }
    struct shv_belt_verdict v = {0};
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = check_demand(&demands[i], message);
        if (status == SHV_OK) {
            struct shv_belt_state s = solve_point(d, &p, &demands[i]);
            take_point(i, &s, &v);
            if (states) {
                states[i] = s;
            }
        }
    }
    if (status != SHV_OK) {
        return status;
    }
    set_tension_when_set(d, &p, count, demands, &v);
    v.width = (double)d->belt.ribs * d->belt.rib_pitch;
    v.small_pulley =
        shv_min(d->layout.crank_diameter, d->layout.blower_diameter) < d->belt.min_diameter;
    *verdict = v;
    return SHV_OK;
}
