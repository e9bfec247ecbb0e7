/* What the direct cycle says at one node of a table, made smooth: the limits of phasing are not
 * applied, and the peak of compression is kept apart from the peak of combustion. */
#include "model/cycle_lookup.h"
#include "model/cycle_table_internal.h"

/* deg beyond the limits of phasing within which the root is sought, so that no cell with a phasing
 * that matters reaches into the continuation. */
#define BEYOND 8.0
/* Ends of what cycle.h accepts for best_ca50 and limit_ca50. */
#define CA50_LEAST (-20.0)
#define CA50_MOST 80.0
/* Least slope of the integral's logarithm over phasing, 1/deg, and greatest distance, deg, in the
 * continuation. */
#define SLOPE_LEAST 0.004
#define FAR 400.0
/* Release of heat that counts as none but is in the accepted range. */
#define NO_FIRE 1e-12
#define INTEGRAL_LEAST 1e-200
/* deg and logarithm within which a peak is that of compression: more than colder residual gas moves
 * it, less than combustion does. */
#define SAME_ANGLE 0.5
#define SAME_LOG_PRESSURE 3e-3

struct node {
    const struct shv_cycle_table_spec *spec;
    const struct shv_cycle_axis *ca50;
    struct shv_cycle_case at;
    const double *volume;
    double duration;     /* deg, of burning */
    double *peak_angles; /* deg, at each phasing */
    double target;       /* logarithm of the integral allowed */
    uint64_t *cycles;
    struct shv_message *message;
};

static double log_integral(const struct shv_cycle_result *r)
{
    return shv_log(shv_max(r->knock_integral, INTEGRAL_LEAST));
}

static enum shv_status run_at(const struct node *n, double ca50, struct shv_cycle_result *r)
{
    struct shv_cycle_case at = n->at;
    at.ca50 = ca50;
    const struct shv_cycle_table_spec *s = n->spec;
    enum shv_status status =
        shv_cycle_run(&s->engine, &s->fuel, &s->knock, &at, NULL, r, n->message);
    *n->cycles += status == SHV_OK ? (uint64_t)r->cycles : 0;
    return status;
}

static enum shv_status limit_within(const struct node *n, double lo, double hi,
                                    struct shv_cycle_result *r)
{
    struct shv_cycle_knock knock = n->spec->knock;
    knock.best_ca50 = lo;
    knock.limit_ca50 = hi;
    enum shv_status status =
        shv_cycle_knock_limit(&n->spec->engine, &n->spec->fuel, &knock, &n->at, r, n->message);
    *n->cycles += status == SHV_OK ? (uint64_t)r->cycles : 0;
    return status;
}

/* ---- phasing ---- */

/* Beyond the end of the range of roots: on the tangent of the integral's logarithm there, which
 * meets the roots with the same slope. `inward` is a phasing 1 deg inside. */
static enum shv_status continued(const struct node *n, const struct shv_cycle_result *end,
                                 double inward, double *ca50)
{
    struct shv_cycle_result r;
    enum shv_status status = run_at(n, inward, &r);
    if (status != SHV_OK) {
        return status;
    }
    double at_end = log_integral(end);
    double falls = (at_end - log_integral(&r)) / (inward - end->ca50);
    falls = r.outcome == SHV_CYCLE_DONE ? shv_max(falls, SLOPE_LEAST) : SLOPE_LEAST;
    double way = (at_end - n->target) / falls;
    *ca50 = end->ca50 + shv_min(shv_max(way, -FAR), FAR);
    return SHV_OK;
}

/* How far the range of roots can be widened: burning must start between the valves. */
static void widen(const struct node *n, double *lo, double *hi)
{
    double best = n->spec->knock.best_ca50, limit = n->spec->knock.limit_ca50;
    double earliest = shv_max(CA50_LEAST, n->spec->engine.inlet_closing + n->duration);
    double latest = shv_min(CA50_MOST, n->spec->engine.exhaust_opening);
    *lo = shv_min(best, shv_max(best - BEYOND, earliest));
    *hi = shv_max(limit, shv_min(limit + BEYOND, latest));
}

/* Where the integral does not fall all the way, the widened range may hide what lies in the range
 * itself; then that end goes back. */
static bool misled(const struct node *n, const struct shv_cycle_result *r, double *lo, double *hi)
{
    double best = n->spec->knock.best_ca50, limit = n->spec->knock.limit_ca50;
    const double *first = n->volume + SHV_CYCLE_FIELDS; /* after the outer row */
    const double *last = first + (n->ca50->nodes - 1) * SHV_CYCLE_FIELDS;
    bool low = r->outcome == SHV_CYCLE_NO_ANSWER ||
               (r->outcome == SHV_CYCLE_DONE && r->ca50 <= *lo && first[CYCLE_KNOCK] > n->target);
    bool high = r->outcome == SHV_CYCLE_NO_ANSWER ||
                (r->outcome == SHV_CYCLE_KNOCK_LIMITED && last[CYCLE_KNOCK] <= n->target);
    bool back = (low && *lo < best) || (high && *hi > limit);
    *lo = low ? best : *lo;
    *hi = high ? limit : *hi;
    return back;
}

static enum shv_status unclamped(const struct node *n, double *ca50)
{
    struct shv_cycle_result r;
    double lo, hi;
    widen(n, &lo, &hi);
    enum shv_status status = limit_within(n, lo, hi, &r);
    while (status == SHV_OK && misled(n, &r, &lo, &hi)) {
        status = limit_within(n, lo, hi, &r);
    }
    if (status != SHV_OK) {
        return status;
    }
    *ca50 = r.outcome == SHV_CYCLE_NO_ANSWER ? NAN : r.ca50;
    if (r.outcome == SHV_CYCLE_KNOCK_LIMITED) {
        return continued(n, &r, hi - 1.0, ca50);
    }
    if (r.outcome == SHV_CYCLE_DONE && r.ca50 <= lo) {
        return continued(n, &r, lo + 1.0, ca50);
    }
    return SHV_OK;
}

/* ---- peak pressure ---- */

struct peak {
    double log_pressure, angle;
};

/* The peak of compression alone, with the residual gas of the latest phasing. Earlier ones have
 * colder residual gas, which moves it by about 0.1 %. */
static enum shv_status motored(const struct node *n, double residual_temperature, struct peak *peak)
{
    struct node cold = *n;
    struct shv_cycle_result r;
    cold.at.combustion_efficiency = NO_FIRE;
    cold.at.residual_temperature = shv_max(residual_temperature, 300.0);
    enum shv_status status = run_at(&cold, n->ca50->most, &r);
    if (status == SHV_OK) {
        peak->log_pressure = r.outcome == SHV_CYCLE_DONE ? shv_log(r.peak_pressure) : NAN;
        peak->angle = r.peak_angle;
    }
    return status;
}

/* From the phasing on at which compression alone is the peak, combustion's is not to be had from
 * the cycle; it is carried on as it fell before, and never matters again. */
static void carry_on_fired(const struct node *n, double *first, const struct peak *cold)
{
    for (size_t c = 0; c < n->ca50->nodes; c++) {
        double *v = first + c * SHV_CYCLE_FIELDS + CYCLE_FIRED;
        bool is_cold = fabs(n->peak_angles[c] - cold->angle) < SAME_ANGLE &&
                       fabs(*v - cold->log_pressure) < SAME_LOG_PRESSURE;
        if (!is_cold) {
            continue;
        }
        const ptrdiff_t f = SHV_CYCLE_FIELDS;
        double next = c >= 3   ? 3.0 * v[-f] - 3.0 * v[-2 * f] + v[-3 * f]
                      : c == 2 ? 2.0 * v[-f] - v[-2 * f]
                               : *v;
        *v = shv_min(next, *v);
    }
}

/* ---- the node ---- */

/* The cycle at each phasing. `*answered` false: it has no answer at one of them. */
static enum shv_status fill_volume(struct node *n, double *first, double *residual, bool *answered)
{
    *answered = true;
    for (size_t c = 0; c < n->ca50->nodes && *answered; c++) {
        struct shv_cycle_result r;
        enum shv_status status = run_at(n, cycle_axis_value(n->ca50, SHV_CYCLE_CA50, c), &r);
        if (status != SHV_OK) {
            return status;
        }
        *answered = r.outcome == SHV_CYCLE_DONE;
        double *v = first + c * SHV_CYCLE_FIELDS;
        v[CYCLE_EFFICIENCY] = r.gross_efficiency;
        v[CYCLE_FIRED] = *answered ? shv_log(r.peak_pressure) : NAN;
        v[CYCLE_EXHAUST] = r.exhaust_temperature;
        v[CYCLE_KNOCK] = *answered ? log_integral(&r) : NAN;
        *residual = r.residual_temperature;
        n->duration = r.burn_duration;
        n->peak_angles[c] = r.peak_angle;
    }
    return SHV_OK;
}

static void no_answer(double surfaces[SHV_CYCLE_SURFACES], double *first, size_t nodes)
{
    for (size_t k = 0; k < SHV_CYCLE_SURFACES; k++) {
        surfaces[k] = NAN;
    }
    for (size_t k = 0; k < nodes * SHV_CYCLE_FIELDS; k++) {
        first[k] = NAN;
    }
}

enum shv_status cycle_node_fill(const struct shv_cycle_table_spec *spec,
                                const struct shv_cycle_axis *ca50, const struct shv_cycle_case *at,
                                double surfaces[SHV_CYCLE_SURFACES], double *volume,
                                uint64_t *cycles, struct shv_message *message)
{
    double peak_angles[SHV_CYCLE_TABLE_NODES_MOST];
    struct peak cold = {NAN, NAN};
    struct node n = {.spec = spec,
                     .ca50 = ca50,
                     .at = *at,
                     .volume = volume,
                     .target = shv_log(1.0 - spec->knock.margin),
                     .peak_angles = peak_angles,
                     .cycles = cycles,
                     .message = message};
    double *first = volume + SHV_CYCLE_FIELDS;
    double residual = 0.0;
    bool answered;
    enum shv_status status = fill_volume(&n, first, &residual, &answered);
    if (status == SHV_OK && answered) {
        status = motored(&n, residual, &cold);
    }
    if (status == SHV_OK && answered) {
        status = unclamped(&n, &surfaces[CYCLE_UNCLAMPED]);
    }
    if (status != SHV_OK) {
        return status;
    }
    answered = answered && isfinite(cold.log_pressure + surfaces[CYCLE_UNCLAMPED]);
    if (answered) {
        surfaces[CYCLE_MOTORED] = cold.log_pressure;
        carry_on_fired(&n, first, &cold);
    } else {
        no_answer(surfaces, first, ca50->nodes);
    }
    return SHV_OK;
}
