/* What the direct cycle says at nodes of a table, made smooth: the limits of phasing are not
 * applied, and the peak of compression is kept apart from the peak of combustion. Nodes that differ
 * in charge temperature only are done together, so that cycles run side by side. */
#include "model/cylinder/cycle_lanes.h"
#include "model/cylinder/cycle_lookup.h"
#include "model/cylinder/cycle_table_internal.h"

/* Release of heat that counts as none. */
#define NO_FIRE 1e-12
/* deg and logarithm within which a peak is that of compression: more than colder residual gas moves
 * it, less than combustion does. */
#define SAME_ANGLE 0.5
#define SAME_LOG_PRESSURE 3e-3

struct node {
    struct shv_cycle_case at;
    double *motored, *first; /* of the table, without the outer row */
    bool answered;
    double cold_log_pressure, cold_angle; /* of compression alone */
};

/* Of a node and phasing: K; of struct cycle_task; deg. */
struct at_phasing {
    double residual, slope, peak_angle;
};

struct nodes {
    const struct shv_cycle_table_spec *spec;
    const struct shv_cycle_axis *ca50;
    struct cycle c;
    struct node node[CYCLE_NODES_MOST];
    size_t count;
    uint64_t cycles;
    struct at_phasing found[CYCLE_NODES_MOST][SHV_CYCLE_TABLE_NODES_MOST];
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

/* Nodes over temperature are done in two waves, so that the second finds its residual temperatures
 * between those of the first: its ends and its middle. */
#define IN_FIRST ((size_t)3)

static size_t first_wave(size_t count, size_t which)
{
    return which * (count - 1) / (IN_FIRST - 1);
}

static bool is_first(size_t count, size_t node)
{
    bool is = false;
    for (size_t k = 0; k < IN_FIRST; k++) {
        is = is || node == first_wave(count, k);
    }
    return is;
}

/* What the first wave says at a node and phasing, on the parabola; the residual temperature is 0
 * when it doesn't. */
static struct at_phasing foretold(const struct nodes *n, size_t node, size_t c)
{
    struct at_phasing sum = {0.0, 0.0, 0.0};
    for (size_t k = 0; k < IN_FIRST; k++) {
        size_t at = first_wave(n->count, k);
        if (!n->node[at].answered) {
            return (struct at_phasing){0.0, 0.0, 0.0};
        }
        double weight = 1.0;
        for (size_t other = 0; other < IN_FIRST; other++) {
            double from = (double)first_wave(n->count, other);
            weight *= other == k ? 1.0 : ((double)node - from) / ((double)at - from);
        }
        sum.residual += weight * n->found[at][c].residual;
        sum.slope += weight * n->found[at][c].slope;
    }
    return sum;
}

static void keep_phasing(struct nodes *n, size_t node, size_t c, const struct cycle_task *t)
{
    double *v = n->node[node].first + c * SHV_CYCLE_FIELDS;
    v[CYCLE_EFFICIENCY] = t->gross_efficiency;
    v[CYCLE_FIRED] = shv_log(t->peak_pressure);
    v[CYCLE_EXHAUST] = t->exhaust_temperature;
    v[CYCLE_KNOCK] = shv_log(shv_max(t->knock_integral, CYCLE_INTEGRAL_LEAST));
    n->found[node][c] = (struct at_phasing){t->residual, t->residual_slope, t->peak_angle};
}

/* A node where the cycle has no answer at one of its phasings has none. */
static void keep_node(struct nodes *n, size_t node, const struct cycle_task *tasks)
{
    struct node *at = &n->node[node];
    at->answered = true;
    for (size_t c = 0; c < n->ca50->nodes; c++) {
        at->answered = at->answered && tasks[c].answered;
    }
    for (size_t c = 0; c < n->ca50->nodes && at->answered; c++) {
        keep_phasing(n, node, c, &tasks[c]);
    }
}

/* The cycle at each phasing of each node of a wave. */
static void fill_wave(struct nodes *n, bool first)
{
    struct cycle_task tasks[CYCLE_NODES_MOST * SHV_CYCLE_TABLE_NODES_MOST];
    size_t phasings = n->ca50->nodes, count = 0;
    for (size_t i = 0; i < n->count; i++) {
        for (size_t c = 0; c < phasings && is_first(n->count, i) == first; c++) {
            struct at_phasing guess = {0.0, 0.0, 0.0};
            guess = first ? guess : foretold(n, i, c);
            tasks[count++] = task_from(n, &n->node[i], cycle_axis_value(n->ca50, SHV_CYCLE_CA50, c),
                                       guess.residual, guess.slope);
        }
    }
    solve(n, tasks, count);
    const struct cycle_task *done = tasks;
    for (size_t i = 0; i < n->count; i++) {
        if (is_first(n->count, i) == first) {
            keep_node(n, i, done);
            done += phasings;
        }
    }
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
        bool is_cold = fabs(n->found[node][c].peak_angle - at->cold_angle) < SAME_ANGLE &&
                       fabs(*v - at->cold_log_pressure) < SAME_LOG_PRESSURE;
        if (!is_cold) {
            continue;
        }
        const ptrdiff_t f = SHV_CYCLE_FIELDS;
        double next = c >= 3   ? 3.0 * v[-f] - 3.0 * v[-2 * f] + v[-3 * f]
                      : c == 2 ? 2.0 * v[-f] - v[-2 * f]
                               : *v;
        *v = next;
    }
}

/* ---- the nodes ---- */

static void no_answer(const struct node *at, size_t nodes)
{
    *at->motored = NAN;
    for (size_t k = 0; k < nodes * SHV_CYCLE_FIELDS; k++) {
        at->first[k] = NAN;
    }
}

static void finish(const struct nodes *n, size_t node)
{
    const struct node *at = &n->node[node];
    if (at->answered && isfinite(at->cold_log_pressure)) {
        *at->motored = at->cold_log_pressure;
        carry_on_fired(n, node);
    } else {
        no_answer(at, n->ca50->nodes);
    }
}

static void fill_all(struct nodes *n)
{
    fill_wave(n, true);
    fill_wave(n, false);
    fill_cold(n);
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
                                  .motored = places[i].motored,
                                  .first = places[i].volume + SHV_CYCLE_FIELDS};
    }
    fill_all(&n);
    *cycles = n.cycles;
    return SHV_OK;
}
