/* Cycle tables: defaults, checks, memory, building and refining. */
#include "model/cylinder/cycle_internal.h"
#include "model/cylinder/cycle_lookup.h"
#include "model/cylinder/cycle_spline.h"
#include "model/cylinder/cycle_table_internal.h"
#include "model/path/breathing.h"

#include <stdlib.h>

#include "model/path/exhaust.h"

/* Errors at the points measured must be this much below what is accepted, since the greatest error
 * elsewhere is somewhat larger. */
#define AIM 0.5
/* The same for the largest grid, where nothing better is to be had. */
#define AT_LARGEST 0.9
/* Share of AIM that points on grid lines may show before their direction is refined. */
#define OF_ONE 0.6
#define SAMPLES_MOST 100000
/* deg: retards up to about so much are as exact as none. */
#define BEFORE_BEST 8.0
#define NODES_LEAST CYCLE_SPLINE_NODES_LEAST /* in one direction */
#define CYCLE_AIR_LEAST 1e-6                 /* kg, of what the cycle takes */

void shv_cycle_table_defaults(struct shv_cycle_table_spec *spec,
                              struct shv_cycle_table_options *options)
{
    *spec = (struct shv_cycle_table_spec){
        .exhaust_pressure = 101325.0,
        .exhaust_temperature = 1200.0,
        .exhaust_charge = 288.15,
        .pressure_least = 0.3e5,
        .pressure_most = 3e5,
        .temperature_least = 250.0,
        .temperature_most = 450.0,
    };
    shv_cycle_defaults(&spec->engine, &spec->fuel, &spec->knock, &spec->at);
    *options = (struct shv_cycle_table_options){
        .efficiency = 1e-3,
        .ca50 = 0.3,
        .peak_pressure = 5e-3,
        .samples = 600,
        .seed = 1,
        .first_nodes = {10, 7, 12},
        .most_nodes = {49, 33, 41},
    };
}

/* Nodes of a range that is `share` of the one that has `nodes`. A share that is no number gets the
 * least; building says what is wrong with the range. */
static size_t nodes_of(double share, size_t nodes)
{
    double n = ceil(share * ((double)nodes - 1.0) - 1e-9) + 1.0;
    return (size_t)shv_min(shv_max(n, (double)NODES_LEAST), (double)SHV_CYCLE_TABLE_NODES_MOST);
}

void shv_cycle_table_nodes(const struct shv_cycle_table_spec *spec,
                           struct shv_cycle_table_options *options)
{
    struct shv_cycle_table_spec wide;
    struct shv_cycle_table_options usual;
    shv_cycle_table_defaults(&wide, &usual);
    double ratio = spec->pressure_most / spec->pressure_least;
    const double share[] = {shv_log(ratio > 1.0 ? ratio : 1.0) /
                                shv_log(wide.pressure_most / wide.pressure_least),
                            (spec->temperature_most - spec->temperature_least) /
                                (wide.temperature_most - wide.temperature_least)};
    for (size_t d = 0; d < sizeof share / sizeof share[0]; d++) {
        options->first_nodes[d] = nodes_of(share[d], usual.first_nodes[d]);
        options->most_nodes[d] = nodes_of(share[d], usual.most_nodes[d]);
    }
}

/* ---- checks ---- */

static enum shv_status check_range(const char *name, double least, double most, double lo,
                                   double hi, struct shv_message *message)
{
    if (!(least >= lo && most <= hi && least < most)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: %s from %g to %g; accepted: a range within %g..%g", name,
                        least, most, lo, hi);
    }
    return SHV_OK;
}

static enum shv_status check_breathing(const struct shv_cycle_table_spec *s,
                                       struct shv_message *message)
{
    if (!(s->exhaust_loss >= 0.0) || !s->breathing) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: exhaust_loss is %g%s; accepted: 0 or more, and breathing",
                        s->exhaust_loss, s->breathing ? "" : " without breathing");
    }
    if (!(s->exhaust_temperature > 0.0 && s->exhaust_charge > 0.0)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: exhaust_temperature %g, exhaust_charge %g; accepted: above 0",
                        s->exhaust_temperature, s->exhaust_charge);
    }
    for (size_t i = 0; i < s->speed_count; i++) {
        const struct shv_breathing *b = &s->breathing[i];
        double coldest = b->kept * s->temperature_least + b->added;
        if (!(b->capacity > 0.0 && b->a > 0.0 && b->b >= 0.0 && b->cycle_time > 0.0 &&
              coldest > 0.0)) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "cycle table: breathing %zu is %g, %g, %g, %g s, %g K; accepted: above "
                            "0, the third 0 or more",
                            i, b->capacity, b->a, b->b, b->cycle_time, coldest);
        }
    }
    return SHV_OK;
}

static enum shv_status check_spec(const struct shv_cycle_table_spec *s, struct shv_message *message)
{
    if (!s->speeds || s->speed_count < 1 || s->speed_count > SHV_CYCLE_TABLE_SPEEDS_MOST) {
        return shv_fail(message, SHV_BAD_INPUT, "cycle table: %zu speeds; accepted: 1..%d",
                        s->speed_count, SHV_CYCLE_TABLE_SPEEDS_MOST);
    }
    double best = s->knock.best_ca50, limit = s->knock.limit_ca50;
    if (!(limit >= best + 1.0)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: knock.limit_ca50 is %g; accepted: at least 1 deg after "
                        "knock.best_ca50, %g",
                        limit, best);
    }
    enum shv_status status =
        check_range("pressures", s->pressure_least, s->pressure_most, 1e4, 1e6, message);
    if (status == SHV_OK) {
        status = check_range("temperatures", s->temperature_least, s->temperature_most, 220.0,
                             600.0, message);
    }
    return status == SHV_OK ? check_breathing(s, message) : status;
}

static enum shv_status check_options(const struct shv_cycle_table_options *o,
                                     struct shv_message *message)
{
    if (!(o->efficiency > 0.0 && o->ca50 > 0.0 && o->peak_pressure > 0.0)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: errors accepted are %g, %g deg and %g; accepted: above 0",
                        o->efficiency, o->ca50, o->peak_pressure);
    }
    if (o->samples < 1 || o->samples > SAMPLES_MOST) {
        return shv_fail(message, SHV_BAD_INPUT, "cycle table: %zu samples; accepted: 1..%d",
                        o->samples, SAMPLES_MOST);
    }
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        size_t first = o->first_nodes[d], most = o->most_nodes[d];
        if (first < NODES_LEAST || most > SHV_CYCLE_TABLE_NODES_MOST || first > most) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "cycle table: nodes from %zu to %zu; accepted: 4..%d, in order", first,
                            most, SHV_CYCLE_TABLE_NODES_MOST);
        }
    }
    return SHV_OK;
}

/* ---- grid and memory ---- */

static struct shv_cycle_axis axis_of(size_t direction, double least, double most, size_t nodes)
{
    bool is_log = direction == SHV_CYCLE_PRESSURE;
    double origin = is_log ? shv_log(least) : least;
    double end = is_log ? shv_log(most) : most;
    return (struct shv_cycle_axis){origin, ((double)nodes - 1.0) / (end - origin), least, most,
                                   nodes};
}

double cycle_axis_value(const struct shv_cycle_axis *a, size_t direction, size_t node)
{
    if (node == 0 || node + 1 >= a->nodes) {
        return node == 0 ? a->least : a->most;
    }
    double x = a->origin + (double)node / a->per_unit;
    return direction == SHV_CYCLE_PRESSURE ? shv_exp(x) : x;
}

/* deg, where phasings begin: before the best, as far as burning would still start after inlet
 * closing, so that roots are met that retard brings back. */
static double earliest_phasing(const struct shv_cycle_table_spec *s)
{
    double earliest = shv_max(s->knock.best_ca50 - BEFORE_BEST, CYCLE_CA50_LEAST);
    for (size_t i = 0; i < s->speed_count; i++) {
        struct shv_cycle_case at =
            shv_cycle_table_case(s, i, s->pressure_least, s->temperature_least);
        struct cycle c;
        bool starts = cycle_check_at(s, &at, &c, NULL) == SHV_OK &&
                      cycle_check_phasing(&c, earliest, NULL) == SHV_OK;
        earliest = starts ? earliest : s->knock.best_ca50;
    }
    return earliest;
}

static enum shv_status allocate(struct shv_cycle_table *t, const struct shv_cycle_table_spec *s,
                                const size_t nodes[SHV_CYCLE_DIRECTIONS],
                                struct shv_message *message)
{
    *t = (struct shv_cycle_table){.speed_count = s->speed_count};
    t->axis[0] = axis_of(SHV_CYCLE_PRESSURE, s->pressure_least, s->pressure_most, nodes[0]);
    t->axis[1] =
        axis_of(SHV_CYCLE_TEMPERATURE, s->temperature_least, s->temperature_most, nodes[1]);
    t->axis[2] = axis_of(SHV_CYCLE_CA50, earliest_phasing(s), s->knock.limit_ca50, nodes[2]);
    t->best_ca50 = s->knock.best_ca50;
    t->log_allowed = shv_log(1.0 - s->knock.margin);
    /* At most 256 x 259 x 259 x 259 x 4: no overflow. */
    size_t records = s->speed_count * (nodes[0] + 2) * (nodes[1] + 2);
    size_t bytes =
        records * (1 + SHV_CYCLE_ROWS(t->axis[2].nodes) * SHV_CYCLE_FIELDS) * sizeof(double);
    if (bytes > SHV_CYCLE_TABLE_BYTES_MOST) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cycle table: %zu speeds with %zu x %zu x %zu nodes take %zu MB; accepted: "
                        "at most %zu MB",
                        s->speed_count, nodes[0], nodes[1], nodes[2], bytes >> 20,
                        SHV_CYCLE_TABLE_BYTES_MOST >> 20);
    }
    t->speeds = calloc(s->speed_count, sizeof *t->speeds);
    t->motored = calloc(records, sizeof *t->motored);
    t->volumes =
        calloc(records * SHV_CYCLE_ROWS(t->axis[2].nodes) * SHV_CYCLE_FIELDS, sizeof *t->volumes);
    if (!t->speeds || !t->motored || !t->volumes) {
        shv_cycle_table_free(t);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a cycle table");
    }
    memcpy(t->speeds, s->speeds, s->speed_count * sizeof *t->speeds);
    return SHV_OK;
}

void shv_cycle_table_free(struct shv_cycle_table *table)
{
    free(table->speeds);
    free(table->motored);
    free(table->volumes);
    *table = (struct shv_cycle_table){.speed_count = 0};
}

/* ---- filling ---- */

static struct exhaust_law exhaust_of(const struct shv_cycle_table_spec *s)
{
    return (struct exhaust_law){s->exhaust_pressure, s->exhaust_loss, s->exhaust_temperature,
                                s->exhaust_charge};
}

static double flow_at(const struct shv_cycle_table_spec *s, size_t speed, double manifold_pressure,
                      double charge_temperature)
{
    const struct shv_breathing *b = &s->breathing[speed];
    const struct exhaust_law exhaust = exhaust_of(s);
    return exhaust_flow(&exhaust, breathing_filled(b, charge_temperature), b->a * manifold_pressure,
                        b->b, charge_temperature);
}

double shv_cycle_table_exhaust(const struct shv_cycle_table_spec *s, size_t speed,
                               double manifold_pressure, double charge_temperature)
{
    const struct exhaust_law exhaust = exhaust_of(s);
    double m = flow_at(s, speed, manifold_pressure, charge_temperature);
    return exhaust_pressure(&exhaust, m, charge_temperature);
}

double cycle_pressure_of_flow(const struct shv_cycle_table_spec *s, size_t speed,
                              double charge_temperature, double flow)
{
    const struct shv_breathing *b = &s->breathing[speed];
    const struct exhaust_law exhaust = exhaust_of(s);
    double pe = exhaust_pressure(&exhaust, flow, charge_temperature);
    return (flow / breathing_filled(b, charge_temperature) + b->b * pe) / b->a;
}

struct shv_cycle_case shv_cycle_table_case(const struct shv_cycle_table_spec *spec, size_t speed,
                                           double pressure, double temperature)
{
    struct shv_cycle_case at = spec->at;
    const struct shv_breathing *b = &spec->breathing[speed];
    const struct exhaust_law exhaust = exhaust_of(spec);
    double flow = flow_at(spec, speed, pressure, temperature);
    at.speed = spec->speeds[speed];
    at.air_mass = shv_max(flow * b->cycle_time, CYCLE_AIR_LEAST); /* none has no answer */
    at.charge_temperature = temperature;
    at.exhaust_pressure = exhaust_pressure(&exhaust, flow, temperature);
    at.burn_reference = b->burn_reference;
    at.delay_factor = b->delay_factor;
    at.ca50 = spec->knock.best_ca50;
    return at;
}

struct filling {
    struct shv_cycle_table *table;
    const struct shv_cycle_table_spec *spec;
    struct cycle_item *items;
};

/* A row of nodes that differ in temperature only is filled in pieces of nearly the same size. */
static size_t pieces_of_row(const struct shv_cycle_table *t)
{
    return (t->axis[SHV_CYCLE_TEMPERATURE].nodes + CYCLE_NODES_MOST - 1) / CYCLE_NODES_MOST;
}

static size_t fill_count(const struct shv_cycle_table *t)
{
    return t->speed_count * t->axis[SHV_CYCLE_PRESSURE].nodes * pieces_of_row(t);
}

static struct cycle_node_place place_of(const struct filling *f, size_t speed, size_t ip, size_t it)
{
    const struct shv_cycle_table *t = f->table;
    size_t np = t->axis[0].nodes, nt = t->axis[1].nodes;
    size_t place = (speed * (np + 2) + ip + 1) * (nt + 2) + it + 1;
    return (struct cycle_node_place){
        shv_cycle_table_case(f->spec, speed, cycle_axis_value(&t->axis[0], SHV_CYCLE_PRESSURE, ip),
                             cycle_axis_value(&t->axis[1], SHV_CYCLE_TEMPERATURE, it)),
        t->motored + place,
        t->volumes + place * SHV_CYCLE_ROWS(t->axis[SHV_CYCLE_CA50].nodes) * SHV_CYCLE_FIELDS};
}

static enum shv_status fill_piece(const struct filling *f, size_t index, uint64_t *cycles,
                                  struct shv_message *message)
{
    const struct shv_cycle_table *t = f->table;
    size_t np = t->axis[0].nodes, nt = t->axis[1].nodes, pieces = pieces_of_row(t);
    size_t piece = index % pieces, ip = index / pieces % np, speed = index / pieces / np;
    size_t first = nt * piece / pieces, count = nt * (piece + 1) / pieces - first;
    struct cycle_node_place places[CYCLE_NODES_MOST];
    for (size_t i = 0; i < count; i++) {
        places[i] = place_of(f, speed, ip, first + i);
    }
    return cycle_nodes_fill(f->spec, &t->axis[SHV_CYCLE_CA50], places, count, cycles, message);
}

static void fill_item(void *data, size_t index)
{
    struct filling *f = data;
    f->items[index].status = fill_piece(f, index, &f->items[index].cycles, NULL);
}

/* What the directions of an array are, `width` numbers to a node. */
static struct cycle_lines over_pressure(const struct shv_cycle_table *t, size_t width)
{
    size_t row = (t->axis[1].nodes + 2) * width;
    return (struct cycle_lines){t->speed_count, (t->axis[0].nodes + 2) * row, t->axis[0].nodes,
                                row};
}

static struct cycle_lines over_temperature(const struct shv_cycle_table *t, size_t width)
{
    size_t apart = (t->axis[1].nodes + 2) * width;
    return (struct cycle_lines){t->speed_count * (t->axis[0].nodes + 2), apart, t->axis[1].nodes,
                                width};
}

/* Nodes without an answer are carried on first, or they would take all others with them. */
static void spline_states(const struct shv_cycle_table *t, double *numbers, size_t width)
{
    struct cycle_lines pressure = over_pressure(t, width);
    struct cycle_lines temperature = over_temperature(t, width);
    cycle_carry_on(numbers, &pressure);
    cycle_carry_on(numbers, &temperature);
    cycle_spline(numbers, &temperature);
    cycle_spline(numbers, &pressure);
}

/* Values at the best and the last phasing are kept beside the coefficients. */
static void spline_phasing(const struct shv_cycle_table *t, size_t records)
{
    const struct shv_cycle_axis *axis = &t->axis[SHV_CYCLE_CA50];
    const size_t F = SHV_CYCLE_FIELDS, node = SHV_CYCLE_ROWS(axis->nodes) * F;
    struct cycle_lines phasing = {records, node, axis->nodes, F};
    for (size_t i = 0; i < records; i++) {
        double *v = t->volumes + i * node;
        memcpy(v + (axis->nodes + 3) * F, v + axis->nodes * F, F * sizeof *v);
    }
    cycle_spline(t->volumes, &phasing);
    struct cycle_spot best = cycle_spot_of(axis, t->best_ca50);
    for (size_t i = 0; i < records; i++) {
        double *v = t->volumes + i * node;
        cycle_weigh(v + best.cell * F, F, F, best.weight, v + (axis->nodes + 2) * F);
    }
}

/* From values of nodes to coefficients; those of nodes without an answer are no numbers. */
static enum shv_status spline_all(struct shv_cycle_table *t, struct shv_message *message)
{
    size_t records = t->speed_count * (t->axis[0].nodes + 2) * (t->axis[1].nodes + 2);
    bool *silent = calloc(records, sizeof *silent);
    if (!silent) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a cycle table");
    }
    for (size_t i = 0; i < records; i++) {
        silent[i] = isnan(t->motored[i]);
    }
    spline_phasing(t, records);
    spline_states(t, t->volumes, SHV_CYCLE_ROWS(t->axis[SHV_CYCLE_CA50].nodes) * SHV_CYCLE_FIELDS);
    spline_states(t, t->motored, 1);
    for (size_t i = 0; i < records; i++) {
        t->motored[i] = silent[i] ? NAN : t->motored[i];
    }
    free(silent);
    return SHV_OK;
}

static enum shv_status fill(struct shv_cycle_table *t, const struct shv_cycle_table_spec *spec,
                            const struct shv_cycle_runner *runner, struct shv_message *message)
{
    size_t count = fill_count(t);
    struct filling f = {t, spec, calloc(count, sizeof *f.items)};
    if (!f.items) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a cycle table");
    }
    cycle_run(runner, count, fill_item, &f);
    enum shv_status status = SHV_OK;
    uint64_t cycles = 0;
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        if (f.items[i].status != SHV_OK) { /* once more, for its message */
            status = fill_piece(&f, i, &cycles, message);
        }
        t->quality.cycles += f.items[i].cycles;
    }
    free(f.items);
    return status == SHV_OK ? spline_all(t, message) : status;
}

void cycle_run(const struct shv_cycle_runner *runner, size_t count,
               void (*item)(void *data, size_t index), void *data)
{
    if (runner) {
        runner->run(runner->self, count, item, data);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        item(data, i);
    }
}

/* ---- refining ---- */

/* The greatest error in units of what is accepted. */
static double ratio(const struct shv_cycle_table_error *e, const struct shv_cycle_table_options *o)
{
    return shv_max(shv_max(e->efficiency / o->efficiency, e->ca50 / o->ca50),
                   e->peak_pressure / o->peak_pressure);
}

/* Chooses what to refine: directions whose own points are too far off, or else the worst. Phasing
 * also shows in the other two, so it is first, and is refined along with them from the second round
 * on. False when one is as large as it may get. */
static bool refine(const double own[SHV_CYCLE_DIRECTIONS], const struct shv_cycle_table_options *o,
                   uint64_t round, size_t nodes[SHV_CYCLE_DIRECTIONS])
{
    double most = shv_max(shv_max(own[0], own[1]), own[2]);
    double enough = shv_min(AIM * OF_ONE, most);
    bool phasing_only = own[SHV_CYCLE_CA50] >= 0.8 * most;
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        bool also = d == SHV_CYCLE_CA50 && round >= 2 && nodes[d] < o->most_nodes[d];
        if (!also && (own[d] < enough || (phasing_only && d != SHV_CYCLE_CA50))) {
            continue;
        }
        if (nodes[d] >= o->most_nodes[d]) {
            return false;
        }
        size_t more = nodes[d] + nodes[d] / 2;
        nodes[d] = more < o->most_nodes[d] ? more : o->most_nodes[d];
    }
    return true;
}

static enum shv_status
build_once(struct shv_cycle_table *t, const struct shv_cycle_table_spec *spec,
           const struct shv_cycle_table_options *o, const size_t nodes[SHV_CYCLE_DIRECTIONS],
           const struct shv_cycle_runner *runner, struct shv_message *message)
{
    enum shv_status status = allocate(t, spec, nodes, message);
    if (status != SHV_OK) {
        return status;
    }
    status = fill(t, spec, runner, message);
    uint64_t cycles = t->quality.cycles;
    if (status == SHV_OK) {
        status = cycle_measure(t, spec, o->samples, o->seed, CYCLE_ANYWHERE, runner, &t->quality,
                               message);
        t->quality.cycles += cycles;
    }
    if (status == SHV_OK && t->quality.compared == 0) {
        status = shv_fail(message, SHV_NOTHING,
                          "cycle table: the cycle has no answer at any of %llu points",
                          (unsigned long long)t->quality.silent + t->quality.answerless);
    }
    return status;
}

/* What each direction contributes to the error, in units of what is accepted. */
static enum shv_status
measure_directions(const struct shv_cycle_table *t, const struct shv_cycle_table_spec *spec,
                   const struct shv_cycle_table_options *o, const struct shv_cycle_runner *runner,
                   double own[SHV_CYCLE_DIRECTIONS], uint64_t *cycles, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS && status == SHV_OK; d++) {
        struct shv_cycle_table_quality q;
        status = cycle_measure(t, spec, o->samples, o->seed, d, runner, &q, message);
        own[d] = ratio(&q.random, o);
        *cycles += q.cycles;
    }
    return status;
}

static enum shv_status too_coarse(const struct shv_cycle_table_quality *q,
                                  const struct shv_cycle_table_options *o, const size_t nodes[],
                                  struct shv_message *message)
{
    const struct shv_cycle_table_error e = q->random;
    return shv_fail(
        message, SHV_BAD_INPUT,
        "cycle table: with %zu x %zu x %zu nodes, of at most %zu x %zu x %zu, it is off "
        "by %.2g %% in efficiency, %.2g deg in CA50 and %.2g %% in peak pressure; "
        "accepted: %g of %g %%, %g deg and %g %%",
        nodes[0], nodes[1], nodes[2], o->most_nodes[0], o->most_nodes[1], o->most_nodes[2],
        100.0 * e.efficiency, e.ca50, 100.0 * e.peak_pressure, AT_LARGEST, 100.0 * o->efficiency,
        o->ca50, 100.0 * o->peak_pressure);
}

enum shv_status shv_cycle_table_build(struct shv_cycle_table *table,
                                      const struct shv_cycle_table_spec *spec,
                                      const struct shv_cycle_table_options *options,
                                      const struct shv_cycle_runner *runner,
                                      struct shv_message *message)
{
    *table = (struct shv_cycle_table){.speed_count = 0};
    enum shv_status status = check_spec(spec, message);
    status = status == SHV_OK ? check_options(options, message) : status;
    size_t nodes[SHV_CYCLE_DIRECTIONS];
    memcpy(nodes, options->first_nodes, sizeof nodes);
    uint64_t cycles = 0;
    for (uint64_t round = 1; status == SHV_OK; round++) {
        status = build_once(table, spec, options, nodes, runner, message);
        table->quality.rounds = round;
        table->quality.cycles = cycles += table->quality.cycles;
        double worst = ratio(&table->quality.random, options), own[SHV_CYCLE_DIRECTIONS];
        if (status != SHV_OK || worst <= AIM) {
            break;
        }
        status = measure_directions(table, spec, options, runner, own, &cycles, message);
        size_t was[SHV_CYCLE_DIRECTIONS];
        memcpy(was, nodes, sizeof was);
        if (status == SHV_OK && refine(own, options, round, nodes)) {
            shv_cycle_table_free(table);
            continue;
        }
        if (status == SHV_OK && !(worst <= AT_LARGEST)) {
            status = too_coarse(&table->quality, options, was, message);
        }
        break;
    }
    if (status != SHV_OK) {
        shv_cycle_table_free(table);
    }
    return status;
}
