/* Solving the match of one combination without lanes: docs/model.md, section 7.
 *
 * At a given outlet pressure the flow that the blower gives less the trial flow is concave over the
 * trial flow: with less flow to carry the heat away leakage is hotter and displaces more, until
 * nothing is left. Of its two roots the larger is that of a blower in service. Along it engine flow
 * minus blower flow rises with outlet pressure. Both are bracketed.
 */
#include "model/path/solve.h"

#include <math.h>

double bracket_root(double (*f)(void *data, double x), void *data, double low, double high)
{
    double f_low = f(data, low), f_high = f(data, high);
    if (f_low == 0.0) {
        return low;
    }
    if (f_high == 0.0) {
        return high;
    }
    if (!(f_low * f_high < 0.0)) {
        return NAN;
    }
    int side = 0;
    for (int i = 0; i < 200 && fabs(high - low) > 2e-16 * fabs(high); i++) {
        double x = (low * f_high - high * f_low) / (f_high - f_low);
        if (i % 4 == 3 || !(x > fmin(low, high) && x < fmax(low, high))) {
            x = 0.5 * (low + high);
        }
        double y = f(data, x);
        if (y == 0.0) {
            return x;
        }
        if (y * f_high > 0.0) {
            high = x;
            f_high = y;
            f_low *= side == 1 ? 0.5 : 1.0;
            side = 1;
        } else {
            low = x;
            f_low = y;
            f_high *= side == -1 ? 0.5 : 1.0;
            side = -1;
        }
    }
    return fabs(f_low) < fabs(f_high) ? low : high;
}

double bracket_flow(double (*gap)(void *data, double m), void *data, double most)
{
    const double step = 0.9, least = 1e-7;
    double high = most;
    for (double low = step * most; low > least * most; low *= step) {
        if (gap(data, low) >= 0.0) {
            return bracket_root(gap, data, low, high);
        }
        high = low;
    }
    return NAN;
}

/* Outlet pressures, as shares of ambient, between which the match is looked for, from below: with
 * strong thermal closing there can be several answers, and the lowest counts. */
static const double outlet_steps[] = {0.2, 0.6, 1.0, 1.2, 1.4, 1.6, 1.8,  2.0,
                                      2.3, 2.7, 3.2, 4.0, 5.0, 7.0, 12.0, 20.0};
/* Flows that differ by more stand on both sides of the highest pressure that the blower reaches. */
#define AGREED 1e-6
#define OUTLET_STEPS (sizeof outlet_steps / sizeof outlet_steps[0])

struct nest {
    const struct path_shared *s;
    const struct path_lane *l;
    struct path_inlet inlet;
    double p2, flow;
    struct path_out out;
};

static double flow_gap(void *data, double m)
{
    struct nest *n = data;
    path_run_wet(n->s, n->l, &n->inlet, m, m, m, n->p2, n->s->is_map, n->l->loop > 0.0, &n->out);
    return n->out.blower_flow - m;
}

/* What engine and core take less blower flow on the blower's curve at this outlet pressure. Beyond
 * the highest that the blower reaches it stands for a blower that gives nothing. */
static double match_gap(void *data, double p2)
{
    struct nest *n = data;
    double most = 1.6 * n->l->swept * n->s->p0 / (n->s->gas.gas_constant * n->s->t0);
    n->p2 = p2;
    n->flow = bracket_flow(flow_gap, n, most);
    if (isnan(n->flow)) {
        return most;
    }
    (void)flow_gap(n, n->flow);
    return n->out.engine_flow + n->out.water - n->flow;
}

void solve_nested(const struct path_shared *s, const struct path_lane *l, struct match_state *m)
{
    struct nest n = {.s = s, .l = l, .inlet = path_inlet_of(s, s->t0, s->h0)};
    double low = outlet_steps[0] * s->p0;
    /* A blower too slow to fill the engine even there: far below the pressure where the bypass
     * opens. */
    m->p2 = match_gap(&n, low) > 0.0 ? low : NAN;
    for (size_t i = 1; i < OUTLET_STEPS && isnan(m->p2); i++) {
        double high = outlet_steps[i] * s->p0;
        if (match_gap(&n, high) >= 0.0) {
            m->p2 = bracket_root(match_gap, &n, low, high);
        }
        low = high;
    }
    m->found = !isnan(m->p2);
    if (m->found) {
        double gap = match_gap(&n, m->p2);
        bool agree = m->p2 == outlet_steps[0] * s->p0 || fabs(gap) <= AGREED * n.flow;
        m->found = !isnan(n.flow) && agree;
        m->blower_flow = m->drawn = n.flow;
        m->inlet = n.inlet;
    }
}

double open_charge_temperature(const struct path_shared *s, const struct path_lane *l, double m)
{
    return gas_temperature_after(&s->gas, s->t0, s->h0, s->kept_heat * l->windage / m);
}

static double open_gap(void *data, double m)
{
    struct nest *n = data;
    n->out.pm = path_inlet_pressure(n->s, m);
    n->out.tm = open_charge_temperature(n->s, n->l, m);
    path_engine(n->s, n->s->gas.gas_constant, m, &n->out);
    return n->out.engine_flow - m;
}

void solve_open(const struct path_shared *s, const struct path_lane *l, struct match_state *m)
{
    struct nest n = {.s = s, .l = l};
    double most = 4.0 * breathing_filled(&s->breathing, s->t0) * s->breathing.a * s->p0;
    double flow = bracket_root(open_gap, &n, 1e-4 * most, most);
    m->bypass_open = true;
    m->bleeding = false;
    m->found = !isnan(flow);
    m->blower_flow = m->drawn = flow;
    m->p2 = path_inlet_pressure(s, flow);
    m->inlet = (struct path_inlet){.t1 = s->t0, .h1 = s->h0, .humidity = gas_humidity(&s->gas)};
}

/* ---- boost bleed: Newton with a difference Jacobian, all unknowns scaled to about one ---- */

#define BLEED_N 5

struct bleed {
    const struct path_shared *s;
    const struct path_lane *l;
    double pm;
    bool to_inlet;
    int unknowns; /* the last, humidity, only where gas comes back drier */
    double flow_scale;
    struct path_out out;
};

/* Humidity of what the blower takes in when gas that has lost water in the core comes back to it.
 */
static double mixed_humidity(const struct bleed *b, const double x[BLEED_N])
{
    double outside = gas_humidity(&b->s->gas), back = b->out.humidity;
    if (!b->to_inlet || b->out.water == 0.0) {
        return outside;
    }
    double fresh = x[1] / (1.0 + outside), round = (x[0] - x[1]) / (1.0 + back);
    return (fresh * outside + round * back) / (fresh + round);
}

/* x: blower flow, what the engine draws (by flow_scale), outlet pressure by p0, inlet temperature
 * by t0, humidity of what goes through the blower by that outside. */
static void bleed_residual(struct bleed *b, const double x[BLEED_N], double f[BLEED_N])
{
    const struct path_shared *s = b->s;
    double m_b = x[0] * b->flow_scale, drawn = x[1] * b->flow_scale;
    double t1 = x[3] * s->t0;
    struct path_inlet in = path_inlet_of(s, t1, gas_enthalpy(&s->gas, t1));
    struct path_out *o = &b->out;
    in.humidity = x[4] * gas_humidity(&s->gas);
    path_run_wet(s, b->l, &in, b->to_inlet ? drawn : m_b, m_b, drawn, x[2] * s->p0, s->is_map,
                 b->l->loop > 0.0, o);
    f[0] = (o->blower_flow - m_b) / b->flow_scale;
    f[1] = (o->engine_flow + o->water - drawn) / b->flow_scale;
    f[2] = (o->pm - b->pm) / s->p0;
    double mixed = 0.0;
    if (b->to_inlet) {
        mixed = (m_b - drawn) * (gas_enthalpy(&s->gas, o->tm) - s->h0) / b->flow_scale;
    }
    f[3] = (mixed - x[0] * (in.h1 - s->h0)) / (s->t0 * 1000.0);
    f[4] = b->unknowns < BLEED_N ? 0.0 : mixed_humidity(b, x) / gas_humidity(&s->gas) - x[4];
}

/* Solves a x = b of n unknowns by Gaussian elimination with partial pivoting; x is left in b. False
 * when singular. */
static bool solve_linear(int n, double a[BLEED_N][BLEED_N], double b[BLEED_N])
{
    for (int k = 0; k < n; k++) {
        int best = k;
        for (int i = k + 1; i < n; i++) {
            best = fabs(a[i][k]) > fabs(a[best][k]) ? i : best;
        }
        if (!(fabs(a[best][k]) > 1e-300)) {
            return false;
        }
        for (int j = 0; j < n; j++) {
            double swap = a[k][j];
            a[k][j] = a[best][j];
            a[best][j] = swap;
        }
        double swap = b[k];
        b[k] = b[best];
        b[best] = swap;
        for (int i = k + 1; i < n; i++) {
            double factor = a[i][k] / a[k][k];
            for (int j = k; j < n; j++) {
                a[i][j] -= factor * a[k][j];
            }
            b[i] -= factor * b[k];
        }
    }
    for (int k = n - 1; k >= 0; k--) {
        for (int j = k + 1; j < n; j++) {
            b[k] -= a[k][j] * b[j];
        }
        b[k] /= a[k][k];
    }
    return true;
}

static double norm_of(const double f[BLEED_N])
{
    double worst = 0.0;
    for (int i = 0; i < BLEED_N; i++) {
        worst = fabs(f[i]) > worst || isnan(f[i]) ? fabs(f[i]) : worst;
    }
    return worst;
}

/* One damped Newton step; returns the new norm of the residual. */
static double bleed_step(struct bleed *b, double x[BLEED_N], double f[BLEED_N])
{
    const int n = b->unknowns;
    double a[BLEED_N][BLEED_N], g[BLEED_N], step[BLEED_N] = {0};
    for (int j = 0; j < n; j++) {
        double y[BLEED_N] = {x[0], x[1], x[2], x[3], x[4]};
        double h = 1e-7 * fabs(x[j]);
        y[j] += h;
        bleed_residual(b, y, g);
        for (int i = 0; i < n; i++) {
            a[i][j] = (g[i] - f[i]) / h;
        }
        step[j] = -f[j];
    }
    if (!solve_linear(n, a, step)) {
        return NAN;
    }
    double before = norm_of(f), share = 2.0;
    for (int half = 0; half < 30; half++) {
        share *= 0.5;
        double y[BLEED_N];
        bool inside = true;
        for (int i = 0; i < BLEED_N; i++) {
            y[i] = x[i] + share * step[i];
            inside = inside && y[i] > 0.2 * x[i] && y[i] < 5.0 * x[i];
        }
        if (!inside) {
            continue;
        }
        bleed_residual(b, y, g);
        double after = norm_of(g);
        if (after < before || (before < 1e-13 && after < 1e-13)) {
            for (int i = 0; i < BLEED_N; i++) {
                x[i] = y[i];
                f[i] = g[i];
            }
            return after;
        }
    }
    return before;
}

/* Newton from x; whether it got there. */
static bool bleed_newton(struct bleed *b, double x[BLEED_N])
{
    double f[BLEED_N];
    bleed_residual(b, x, f);
    double left = norm_of(f), last = INFINITY;
    for (int i = 0; i < 60 && left > 1e-15 && left < last; i++) {
        last = left;
        left = bleed_step(b, x, f);
    }
    return fmin(left, last) < 1e-11;
}

/* Dry first, as most are; then with the humidity of what comes back. */
static bool bleed_settled(struct bleed *b, double x[BLEED_N])
{
    b->unknowns = BLEED_N - 1;
    bool good = bleed_newton(b, x);
    if (good && b->to_inlet && b->out.water > 0.0) {
        b->unknowns = BLEED_N;
        good = bleed_newton(b, x);
    }
    return good;
}

/* Where to look for the answer of a blower whose answer without bleed is not known: what the engine
 * draws of warm air, and the rotors filled. */
static void bleed_guess(const struct bleed *b, double x[BLEED_N])
{
    const struct path_shared *s = b->s;
    struct path_out o = {.pm = b->pm, .tm = 1.1 * s->t0};
    path_engine(s, s->gas.gas_constant, 0.0, &o);
    double filled = b->l->fill_volume * s->p0 / (s->gas.gas_constant * s->t0);
    x[0] = filled / b->flow_scale;
    x[1] = shv_min(o.engine_flow, filled) / b->flow_scale;
    x[2] = 1.1 * b->pm / s->p0;
    x[3] = 1.1;
    x[4] = 1.0;
}

void solve_bleed(const struct path_shared *s, const struct path_lane *l, double pm, bool to_inlet,
                 struct match_state *m)
{
    struct bleed b = {.s = s,
                      .l = l,
                      .pm = pm,
                      .to_inlet = to_inlet,
                      .flow_scale = l->fill_volume * s->p0 / (s->gas.gas_constant * s->t0)};
    double x[BLEED_N];
    bleed_guess(&b, x);
    if (m->found) {
        x[0] = x[1] = m->drawn / b.flow_scale;
        x[2] = m->p2 / s->p0;
        x[3] = 1.0;
    }
    m->bleeding = true;
    m->found = bleed_settled(&b, x) && x[0] >= x[1];
    m->blower_flow = x[0] * b.flow_scale;
    m->drawn = x[1] * b.flow_scale;
    m->p2 = x[2] * s->p0;
    m->inlet = path_inlet_of(s, x[3] * s->t0, gas_enthalpy(&s->gas, x[3] * s->t0));
    m->inlet.humidity = x[4] * gas_humidity(&s->gas);
}

void solved_path(const struct path_shared *s, const struct path_lane *l,
                 const struct match_state *m, bool to_inlet, struct path_out *o)
{
    double m_in = m->bleeding && !to_inlet ? m->blower_flow : m->drawn;
    path_run_wet(s, l, &m->inlet, m_in, m->blower_flow, m->drawn, m->p2, s->is_map, l->loop > 0.0,
                 o);
}
