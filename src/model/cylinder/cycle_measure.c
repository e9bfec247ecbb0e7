/* Errors of a cycle table against the direct cycle at seeded random points. */
#include "base/random.h"
#include "model/cylinder/cycle_direct.h"
#include "model/cylinder/cycle_lookup.h"
#include "model/cylinder/cycle_table_internal.h"

#include <stdlib.h>

struct sample {
    struct cycle_item item;
    struct shv_cycle_table_error error;
    bool compared, silent, answerless;
};

struct measuring {
    const struct shv_cycle_table *table;
    const struct shv_cycle_table_spec *spec;
    uint64_t seed;
    size_t kind;
    struct sample *samples;
    size_t count;
};

/* A share in 0..1 of a counter. */
static double random_share(uint64_t seed, uint64_t counter)
{
    return random_unit(random_scatter(seed * 0xd1342543de82ef95u + (counter + 1) * RANDOM_STEP));
}

/* A value along an axis: anywhere, or of a node. */
static double drawn(const struct shv_cycle_axis *a, size_t direction, double share, bool on_node)
{
    double last = (double)a->nodes - 1.0;
    if (on_node) {
        return cycle_axis_value(a, direction, (size_t)(share * (double)a->nodes));
    }
    double x = a->origin + share * last / a->per_unit;
    x = direction == SHV_CYCLE_PRESSURE ? shv_exp(x) : x;
    return shv_min(shv_max(x, a->least), a->most);
}

static double relative(double value, double truth)
{
    double e = fabs(value / truth - 1.0);
    return isfinite(e) ? e : INFINITY;
}

static struct shv_cycle_table_error difference(const struct shv_cycle_value *v,
                                               const struct cycle_direct *d)
{
    return (struct shv_cycle_table_error){
        .efficiency = relative(v->gross_efficiency, d->task.gross_efficiency),
        .ca50 = fabs(v->ca50 - d->task.ca50),
        .peak_pressure = relative(v->peak_pressure, d->task.peak_pressure),
        .exhaust_temperature = fabs(v->exhaust_temperature - d->task.exhaust_temperature),
        .knock_integral = relative(v->knock_integral, d->task.knock_integral),
    };
}

static void compare(struct sample *s, const struct shv_cycle_value *v, const struct cycle_direct *d)
{
    bool known = d->outcome != SHV_CYCLE_NO_ANSWER;
    bool told = v->outcome != SHV_CYCLE_TABLE_NO_ANSWER;
    s->silent = known && !told;
    s->answerless = !known && !told;
    s->compared = told;
    if (told && known) {
        s->error = difference(v, d);
    } else if (told) {
        /* An answer where there is none is as wrong as can be. */
        s->error = (struct shv_cycle_table_error){INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};
    }
}

/* ---- samples ---- */

/* Where a sample lies. */
struct point {
    size_t speed;
    double pressure, temperature, retard;
};

/* One in so many points asks for later ignition, deg. */
#define RETARDED_EVERY 5
#define RETARD 3.0

static struct point point_of(const struct measuring *m, size_t index)
{
    const struct shv_cycle_table *table = m->table;
    size_t kind = m->kind;
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE];
    const struct shv_cycle_axis *at = &table->axis[SHV_CYCLE_TEMPERATURE];
    return (struct point){index % table->speed_count,
                          drawn(ap, SHV_CYCLE_PRESSURE, random_share(m->seed, 2 * (uint64_t)index),
                                kind == SHV_CYCLE_TEMPERATURE || kind == SHV_CYCLE_CA50),
                          drawn(at, SHV_CYCLE_TEMPERATURE,
                                random_share(m->seed, 2 * (uint64_t)index + 1),
                                kind == SHV_CYCLE_PRESSURE || kind == SHV_CYCLE_CA50),
                          index % RETARDED_EVERY == 0 ? RETARD : 0.0};
}

/* What the table says at a point, and what is asked of the cycle. */
static enum shv_status begin_point(const struct measuring *m, size_t index, struct cycle *c,
                                   struct shv_cycle_value *value, struct cycle_direct *direct,
                                   struct shv_message *message)
{
    struct point p = point_of(m, index);
    direct->at = shv_cycle_table_case(m->spec, p.speed, p.pressure, p.temperature);
    enum shv_status status = cycle_check_at(m->spec, &direct->at, c, message);
    if (status != SHV_OK) {
        return status;
    }
    /* The cycle is asked for earlier phasings then, if there are any. */
    double earliest = m->spec->knock.best_ca50 - p.retard;
    bool fits = earliest >= CYCLE_CA50_LEAST && cycle_check_phasing(c, earliest, NULL) == SHV_OK;
    direct->retard = fits ? p.retard : 0.0;
    *value = cycle_lookup(m->table, p.speed, p.pressure, p.temperature, direct->retard);
    direct->guess = value->wanted_ca50 - direct->retard;
    return SHV_OK;
}

/* Samples of one speed are solved side by side, so many together. */
#define TOGETHER ((size_t)24)

static size_t groups_of_speed(const struct measuring *m)
{
    size_t of_speed = (m->count + m->table->speed_count - 1) / m->table->speed_count;
    return (of_speed + TOGETHER - 1) / TOGETHER;
}

/* Indices of the samples of a group: of its speed, evenly spaced. */
static size_t members_of(const struct measuring *m, size_t group, size_t index[TOGETHER])
{
    size_t groups = groups_of_speed(m), speeds = m->table->speed_count, count = 0;
    size_t speed = group / groups, first = group % groups * TOGETHER;
    for (size_t k = first; k < first + TOGETHER && speed + speeds * k < m->count; k++) {
        index[count++] = speed + speeds * k;
    }
    return count;
}

static enum shv_status take_group(const struct measuring *m, size_t group,
                                  struct shv_message *message)
{
    size_t index[TOGETHER], count = members_of(m, group, index);
    struct cycle_direct direct[TOGETHER];
    struct shv_cycle_value value[TOGETHER];
    struct cycle c;
    for (size_t i = 0; i < count; i++) {
        enum shv_status status = begin_point(m, index[i], &c, &value[i], &direct[i], message);
        if (status != SHV_OK) {
            return status;
        }
    }
    if (count > 0) {
        cycle_direct_solve(&c, direct, count);
    }
    for (size_t i = 0; i < count; i++) {
        m->samples[index[i]].item.cycles = direct[i].cycles;
        compare(&m->samples[index[i]], &value[i], &direct[i]);
    }
    return SHV_OK;
}

static void group_item(void *data, size_t group)
{
    struct measuring *m = data;
    enum shv_status status = take_group(m, group, NULL);
    size_t index[TOGETHER], count = members_of(m, group, index);
    for (size_t i = 0; i < count; i++) {
        m->samples[index[i]].item.status = status;
    }
}

static void worsen(struct shv_cycle_table_error *worst, const struct shv_cycle_table_error *e)
{
    worst->efficiency = shv_max(worst->efficiency, e->efficiency);
    worst->ca50 = shv_max(worst->ca50, e->ca50);
    worst->peak_pressure = shv_max(worst->peak_pressure, e->peak_pressure);
    worst->exhaust_temperature = shv_max(worst->exhaust_temperature, e->exhaust_temperature);
    worst->knock_integral = shv_max(worst->knock_integral, e->knock_integral);
}

/* In order of the points, so that the first failure is the same for any runner. */
static enum shv_status gather(const struct measuring *m, struct shv_cycle_table_quality *q,
                              struct shv_message *message)
{
    for (size_t i = 0; i < m->count; i++) {
        const struct sample *s = &m->samples[i];
        if (s->item.status != SHV_OK) {
            /* once more, for its message */
            size_t speeds = m->table->speed_count;
            return take_group(m, i % speeds * groups_of_speed(m) + i / speeds / TOGETHER, message);
        }
        worsen(&q->random, &s->error);
        q->compared += s->compared;
        q->silent += s->silent;
        q->answerless += s->answerless;
        q->cycles += s->item.cycles;
    }
    return SHV_OK;
}

enum shv_status cycle_measure(const struct shv_cycle_table *table,
                              const struct shv_cycle_table_spec *spec, size_t samples,
                              uint64_t seed, size_t kind, const struct shv_cycle_runner *runner,
                              struct shv_cycle_table_quality *quality, struct shv_message *message)
{
    *quality = (struct shv_cycle_table_quality){.compared = 0};
    struct measuring m = {
        .table = table, .spec = spec, .seed = seed, .kind = kind, .count = samples};
    m.samples = calloc(m.count, sizeof *m.samples);
    if (!m.samples) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory to measure a cycle table");
    }
    cycle_run(runner, table->speed_count * groups_of_speed(&m), group_item, &m);
    enum shv_status status = gather(&m, quality, message);
    free(m.samples);
    return status;
}
