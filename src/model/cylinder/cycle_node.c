/* What the direct cycle says at nodes of a table, made smooth: the limits of phasing are not
 * applied, and the peak of compression is kept apart from the peak of combustion. Nodes that differ
 * in charge temperature only are done together, so that cycles run side by side. */
#include "model/cylinder/cycle_lookup.h"
#include "model/cylinder/cycle_root.h"
#include "model/cylinder/cycle_table_internal.h"

/* deg beyond the limits of phasing within which the root is sought, so that no cell with a phasing
 * that matters reaches into the continuation. */
#define BEYOND 8.0
/* deg inside the end of that range where the slope of the continuation is taken from. */
#define INWARD 1.0
/* Least slope of the integral's logarithm over phasing, 1/deg, and greatest distance, deg, in the
 * continuation. */
#define SLOPE_LEAST 0.004
#define FAR 400.0
/* Gap within which the root's next estimate is good to 1e-7 deg without another cycle. */
#define NEAR 1e-5
/* Release of heat that counts as none. */
#define NO_FIRE 1e-12
/* deg and logarithm within which a peak is that of compression: more than colder residual gas moves
 * it, less than combustion does. */
#define SAME_ANGLE 0.5
#define SAME_LOG_PRESSURE 3e-3

/* Where the root lies. */
enum side { BETWEEN, EARLIER, LATER };
/* Cycles run beyond the phasings of the table: at the end of the range of roots, inside it, and
 * halfway to the phasings. */
enum { AT_END, AT_INWARD, AT_HALF, BEYONDS };

struct node {
    struct shv_cycle_case at;
    double *surfaces, *first; /* of the table, without the outer row */
    bool answered;
    enum side side;
    struct cycle_root_point beyond[BEYONDS];
    bool rooted; /* `root` is being sought */
    struct cycle_root root;
    double cold_log_pressure, cold_angle; /* of compression alone */
};

struct nodes {
    const struct shv_cycle_table_spec *spec;
    const struct shv_cycle_axis *ca50;
    struct cycle c;
    struct node node[CYCLE_NODES_MOST];
    size_t count;
    uint64_t cycles;
    /* Of each node and phasing. */
    struct cycle_root_point found[CYCLE_NODES_MOST][SHV_CYCLE_TABLE_NODES_MOST];
    double peak_angle[CYCLE_NODES_MOST][SHV_CYCLE_TABLE_NODES_MOST]; /* deg */
};

static void solve(struct nodes *n, struct cycle_task *tasks, size_t count)
{
    cycle_solve_tasks(&n->c, tasks, count);
    for (size_t i = 0; i < count; i++) {
        n->cycles += tasks[i].cycles;
    }
}

static struct cycle_task task_from(const struct nodes *n, const struct node *at, double ca50,
                                   double residual, double slope)
{
    struct cycle_task t = cycle_task_at(&n->c, &at->at, ca50);
    if (!t.given && residual > 0.0) {
        t.residual = residual;
        t.residual_slope = slope;
    }
    return t;
}

/* ---- at the phasings of the table ---- */

/* Residual temperature at a phasing, on the parabola through the three nodes before or what there
 * is of it; 0 when there is none. */
static double foretold(const struct nodes *n, size_t node, size_t c)
{
    size_t before = 0;
    double t[3] = {0.0};
    while (before < 3 && before < node && n->node[node - 1 - before].answered) {
        t[before] = n->found[node - 1 - before][c].residual;
        before++;
    }
    return before == 3 ? 3.0 * (t[0] - t[1]) + t[2] : before == 2 ? 2.0 * t[0] - t[1] : t[0];
}

static void keep_phasing(struct nodes *n, size_t node, size_t c, const struct cycle_task *t)
{
    double *v = n->node[node].first + c * SHV_CYCLE_FIELDS;
    v[CYCLE_EFFICIENCY] = t->gross_efficiency;
    v[CYCLE_FIRED] = shv_log(t->peak_pressure);
    v[CYCLE_EXHAUST] = t->exhaust_temperature;
    v[CYCLE_KNOCK] = shv_log(shv_max(t->knock_integral, CYCLE_INTEGRAL_LEAST));
    n->found[node][c] = cycle_root_point_of(&n->spec->knock, t);
    n->peak_angle[node][c] = t->peak_angle;
}

/* The cycle at each phasing. A node where it has no answer at one of them has none. */
static void fill_phasings(struct nodes *n, size_t node)
{
    struct cycle_task tasks[SHV_CYCLE_TABLE_NODES_MOST];
    struct node *at = &n->node[node];
    size_t count = n->ca50->nodes;
    for (size_t c = 0; c < count; c++) {
        double slope = node > 0 ? n->found[node - 1][c].slope : 0.0;
        tasks[c] = task_from(n, at, cycle_axis_value(n->ca50, SHV_CYCLE_CA50, c),
                             foretold(n, node, c), slope);
    }
    solve(n, tasks, count);
    at->answered = true;
    for (size_t c = 0; c < count; c++) {
        at->answered = at->answered && tasks[c].answered;
    }
    for (size_t c = 0; c < count && at->answered; c++) {
        keep_phasing(n, node, c, &tasks[c]);
    }
    at->side = n->found[node][0].gap <= 0.0          ? EARLIER
               : n->found[node][count - 1].gap > 0.0 ? LATER
                                                     : BETWEEN;
}

/* ---- peak of compression ---- */

/* With the residual gas of the latest phasing. Earlier ones have colder residual gas, which moves
 * it by about 0.1 %. */
static void fill_cold(struct nodes *n)
{
    struct cycle_task tasks[CYCLE_NODES_MOST];
    size_t last = n->ca50->nodes - 1;
    for (size_t i = 0; i < n->count; i++) {
        tasks[i] = cycle_task_at(&n->c, &n->node[i].at, n->ca50->most);
        tasks[i].efficiency = NO_FIRE;
        tasks[i].residual =
            n->node[i].answered ? shv_max(n->found[i][last].residual, 300.0) : CYCLE_FIRST_GUESS;
        tasks[i].given = true;
    }
    solve(n, tasks, n->count);
    for (size_t i = 0; i < n->count; i++) {
        n->node[i].answered = n->node[i].answered && tasks[i].answered;
        n->node[i].cold_log_pressure = tasks[i].answered ? shv_log(tasks[i].peak_pressure) : NAN;
        n->node[i].cold_angle = tasks[i].peak_angle;
    }
}

/* From the phasing on at which compression alone is the peak, combustion's is not to be had from
 * the cycle; it is carried on as it fell before, and never matters again. */
static void carry_on_fired(const struct nodes *n, size_t node)
{
    const struct node *at = &n->node[node];
    for (size_t c = 0; c < n->ca50->nodes; c++) {
        double *v = at->first + c * SHV_CYCLE_FIELDS + CYCLE_FIRED;
        bool is_cold = fabs(n->peak_angle[node][c] - at->cold_angle) < SAME_ANGLE &&
                       fabs(*v - at->cold_log_pressure) < SAME_LOG_PRESSURE;
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

/* ---- beyond the phasings of the table ---- */

/* How far the range of roots can be widened: burning must start between the valves. */
static double widened(const struct nodes *n, enum side side)
{
    const struct shv_cycle_engine *e = &n->spec->engine;
    double best = n->spec->knock.best_ca50, limit = n->spec->knock.limit_ca50;
    double earliest = shv_max(CYCLE_CA50_LEAST, e->inlet_closing + n->c.duration);
    double latest = shv_min(CYCLE_CA50_MOST, e->exhaust_opening);
    return side == EARLIER ? shv_min(best, shv_max(best - BEYOND, earliest))
                           : shv_max(limit, shv_min(limit + BEYOND, latest));
}

/* The outermost phasing of the table on this side, and the one next to it. */
static const struct cycle_root_point *outermost(const struct nodes *n, size_t node, size_t inside)
{
    size_t last = n->ca50->nodes - 1;
    return &n->found[node][n->node[node].side == EARLIER ? inside : last - inside];
}

static double inward_of(enum side side, double end)
{
    return side == EARLIER ? end + INWARD : end - INWARD;
}

/* Tasks of a node whose root lies beyond; residual temperatures are straight in the phasing. */
static void ask_beyond(const struct nodes *n, size_t node, struct cycle_task tasks[BEYONDS])
{
    const struct node *at = &n->node[node];
    const struct cycle_root_point *edge = outermost(n, node, 0), *next = outermost(n, node, 1);
    double per_degree = (edge->residual - next->residual) / (edge->ca50 - next->ca50);
    double end = widened(n, at->side);
    const double ca50[BEYONDS] = {end, inward_of(at->side, end), 0.5 * (end + edge->ca50)};
    for (size_t k = 0; k < BEYONDS; k++) {
        tasks[k] = task_from(n, at, ca50[k], edge->residual + per_degree * (ca50[k] - edge->ca50),
                             edge->slope);
    }
}

static void fill_beyond(struct nodes *n)
{
    struct cycle_task tasks[CYCLE_NODES_MOST * BEYONDS];
    size_t count = 0;
    for (size_t i = 0; i < n->count; i++) {
        if (n->node[i].answered && n->node[i].side != BETWEEN) {
            ask_beyond(n, i, &tasks[count]);
            count += BEYONDS;
        }
    }
    solve(n, tasks, count);
    count = 0;
    for (size_t i = 0; i < n->count; i++) {
        for (size_t k = 0; n->node[i].answered && n->node[i].side != BETWEEN && k < BEYONDS; k++) {
            n->node[i].beyond[k] = cycle_root_point_of(&n->spec->knock, &tasks[count++]);
        }
    }
}

/* Where the cycle has no answer beyond, the range ends with the phasings of the table. */
static void draw_back(struct nodes *n, size_t node)
{
    struct node *at = &n->node[node];
    const struct cycle_root_point *edge = outermost(n, node, 0);
    struct cycle_task t =
        task_from(n, at, inward_of(at->side, edge->ca50), edge->residual, edge->slope);
    solve(n, &t, 1);
    at->beyond[AT_END] = *edge;
    at->beyond[AT_INWARD] = cycle_root_point_of(&n->spec->knock, &t);
}

/* Beyond the end of the range of roots: on the tangent of the integral's logarithm there, which
 * meets the roots with the same slope. */
static double continued(const struct node *at)
{
    const struct cycle_root_point *end = &at->beyond[AT_END], *in = &at->beyond[AT_INWARD];
    double falls = (end->gap - in->gap) / (in->ca50 - end->ca50);
    falls = isfinite(falls) ? shv_max(falls, SLOPE_LEAST) : SLOPE_LEAST;
    return end->ca50 + shv_min(shv_max(end->gap / falls, -FAR), FAR);
}

/* ---- roots ---- */

/* Known phasings near the root. */
static bool begin_root(struct nodes *n, size_t node)
{
    struct node *at = &n->node[node];
    struct cycle_root_point points[2 * CYCLE_ROOT_POINTS];
    size_t count = 0, last = n->ca50->nodes - 1, c = 0;
    for (size_t k = 0; at->side != BETWEEN && k < BEYONDS; k++) {
        if (!isnan(at->beyond[k].gap)) {
            points[count++] = at->beyond[k];
        }
    }
    while (at->side == BETWEEN && c < last &&
           !(n->found[node][c].gap > 0.0 && n->found[node][c + 1].gap <= 0.0)) {
        c++;
    }
    c = at->side == EARLIER ? 0 : at->side == LATER ? last : c;
    size_t from = c > 2 ? c - 2 : 0;
    for (c = from; c <= last && c < from + CYCLE_ROOT_POINTS; c++) {
        points[count++] = n->found[node][c];
    }
    return cycle_root_start(&at->root, points, count);
}

/* Outside: the continuation, or else a root. */
static void begin_phasing(struct nodes *n, size_t node)
{
    struct node *at = &n->node[node];
    if (at->side != BETWEEN && isnan(at->beyond[AT_END].gap)) {
        draw_back(n, node);
    }
    double end_gap = at->beyond[AT_END].gap;
    if ((at->side == EARLIER && end_gap <= 0.0) || (at->side == LATER && end_gap > 0.0)) {
        at->surfaces[CYCLE_UNCLAMPED] = continued(at);
        return;
    }
    at->rooted = begin_root(n, node);
    at->surfaces[CYCLE_UNCLAMPED] = NAN;
}

/* One phasing more of each root that is not near enough yet. False when there is none. */
static bool refine_roots(struct nodes *n)
{
    struct cycle_task tasks[CYCLE_NODES_MOST];
    size_t count = 0;
    for (size_t i = 0; i < n->count; i++) {
        if (n->node[i].rooted) {
            struct cycle_root_point p = cycle_root_next(&n->node[i].root);
            tasks[count++] = task_from(n, &n->node[i], p.ca50, p.residual, p.slope);
        }
    }
    solve(n, tasks, count);
    const struct cycle_task *t = tasks;
    for (size_t i = 0; i < n->count; i++) {
        struct node *at = &n->node[i];
        if (!at->rooted) {
            continue;
        }
        struct cycle_root_point p = cycle_root_point_of(&n->spec->knock, t++);
        if (!isnan(p.gap)) {
            cycle_root_add(&at->root, &p);
        }
        if (fabs(p.gap) <= NEAR) {
            at->surfaces[CYCLE_UNCLAMPED] = cycle_root_next(&at->root).ca50;
        }
        at->rooted = fabs(p.gap) > NEAR && cycle_root_goes_on(&at->root);
    }
    return count > 0;
}

/* ---- the nodes ---- */

static void no_answer(const struct node *at, size_t nodes)
{
    for (size_t k = 0; k < SHV_CYCLE_SURFACES; k++) {
        at->surfaces[k] = NAN;
    }
    for (size_t k = 0; k < nodes * SHV_CYCLE_FIELDS; k++) {
        at->first[k] = NAN;
    }
}

static void finish(const struct nodes *n, size_t node)
{
    const struct node *at = &n->node[node];
    if (at->answered && isfinite(at->cold_log_pressure + at->surfaces[CYCLE_UNCLAMPED])) {
        at->surfaces[CYCLE_MOTORED] = at->cold_log_pressure;
        carry_on_fired(n, node);
    } else {
        no_answer(at, n->ca50->nodes);
    }
}

static void fill_all(struct nodes *n)
{
    for (size_t i = 0; i < n->count; i++) {
        fill_phasings(n, i);
    }
    fill_cold(n);
    fill_beyond(n);
    for (size_t i = 0; i < n->count; i++) {
        if (n->node[i].answered) {
            begin_phasing(n, i);
        }
    }
    while (refine_roots(n)) {
    }
    for (size_t i = 0; i < n->count; i++) {
        finish(n, i);
    }
}

enum shv_status cycle_check_at(const struct shv_cycle_table_spec *spec,
                               const struct shv_cycle_case *at, struct cycle *c,
                               struct shv_message *message)
{
    struct cycle_inputs in = {&spec->engine, &spec->fuel, &spec->knock, at};
    enum shv_status status = cycle_check(&in, message);
    if (status == SHV_OK) {
        cycle_prepare(c, &in);
        status = cycle_check_phasing(c, spec->knock.best_ca50, message);
    }
    return status == SHV_OK ? cycle_check_phasing(c, spec->knock.limit_ca50, message) : status;
}

enum shv_status cycle_nodes_fill(const struct shv_cycle_table_spec *spec,
                                 const struct shv_cycle_axis *ca50,
                                 const struct cycle_node_place *places, size_t count,
                                 uint64_t *cycles, struct shv_message *message)
{
    struct nodes n = {.spec = spec, .ca50 = ca50, .count = count};
    for (size_t i = count; i-- > 0;) { /* the first is left prepared */
        enum shv_status status = cycle_check_at(spec, &places[i].at, &n.c, message);
        if (status != SHV_OK) {
            return status;
        }
        n.node[i] = (struct node){.at = places[i].at,
                                  .surfaces = places[i].surfaces,
                                  .first = places[i].volume + SHV_CYCLE_FIELDS};
    }
    fill_all(&n);
    *cycles = n.cycles;
    return SHV_OK;
}
