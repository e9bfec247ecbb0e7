/* Errors of a cycle table against the direct cycle at seeded random points. */
#include "model/cycle_lookup.h"
#include "model/cycle_table_internal.h"

#include <stdlib.h>

/* Kinds of points: on nodes of temperature (what is seen comes from pressure), on nodes of
 * pressure, on both, and anywhere. The first ones are numbered as the directions. */
enum { KIND_ANYWHERE = SHV_CYCLE_DIRECTIONS, KINDS };

struct sample {
    struct cycle_item item;
    struct shv_cycle_table_error error;
    bool compared, silent, answerless;
};

struct measuring {
    const struct shv_cycle_table *table;
    const struct shv_cycle_table_spec *spec;
    uint64_t seed;
    size_t per_kind;
    size_t first_kind;
    struct sample *samples;
};

/* A share in 0..1 of a counter: the output function of splitmix64 (Steele, Lea and Flood 2014). */
static double random_share(uint64_t seed, uint64_t counter)
{
    uint64_t z = seed * 0xd1342543de82ef95u + (counter + 1) * 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
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
                                               const struct shv_cycle_result *r)
{
    return (struct shv_cycle_table_error){
        .efficiency = relative(v->gross_efficiency, r->gross_efficiency),
        .ca50 = fabs(v->ca50 - r->ca50),
        .peak_pressure = relative(v->peak_pressure, r->peak_pressure),
        .exhaust_temperature = fabs(v->exhaust_temperature - r->exhaust_temperature),
        .knock_integral = relative(v->knock_integral, r->knock_integral),
    };
}

static void compare(struct sample *s, const struct shv_cycle_value *v,
                    const struct shv_cycle_result *r)
{
    bool known = r->outcome != SHV_CYCLE_NO_ANSWER;
    bool told = v->outcome != SHV_CYCLE_TABLE_NO_ANSWER;
    s->silent = known && !told;
    s->answerless = !known && !told;
    s->compared = told;
    if (told && known) {
        s->error = difference(v, r);
    } else if (told) {
        /* An answer where there is none is as wrong as can be. */
        s->error = (struct shv_cycle_table_error){INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};
    }
}

static enum shv_status take_sample(const struct measuring *m, size_t index, struct sample *s,
                                   struct shv_message *message)
{
    const struct shv_cycle_table *table = m->table;
    size_t kind = m->first_kind + index / m->per_kind;
    size_t speed = index % table->speed_count;
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE];
    const struct shv_cycle_axis *at = &table->axis[SHV_CYCLE_TEMPERATURE];
    double p = drawn(ap, SHV_CYCLE_PRESSURE, random_share(m->seed, 2 * (uint64_t)index),
                     kind == SHV_CYCLE_TEMPERATURE || kind == SHV_CYCLE_CA50);
    double t = drawn(at, SHV_CYCLE_TEMPERATURE, random_share(m->seed, 2 * (uint64_t)index + 1),
                     kind == SHV_CYCLE_PRESSURE || kind == SHV_CYCLE_CA50);
    struct shv_cycle_case c = cycle_case_at(m->spec, table->speeds[speed], p, t);
    struct shv_cycle_result r;
    enum shv_status status =
        shv_cycle_knock_limit(&m->spec->engine, &m->spec->fuel, &m->spec->knock, &c, &r, message);
    if (status == SHV_OK) {
        struct shv_cycle_value v = cycle_lookup(table, speed, p, t);
        s->item.cycles = (uint64_t)r.cycles;
        compare(s, &v, &r);
    }
    return status;
}

static void sample_item(void *data, size_t index)
{
    struct measuring *m = data;
    struct sample *s = &m->samples[index];
    s->item.status = take_sample(m, index, s, NULL);
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
static enum shv_status gather(const struct measuring *m, size_t count,
                              struct shv_cycle_table_quality *q, struct shv_message *message)
{
    for (size_t i = 0; i < count; i++) {
        const struct sample *s = &m->samples[i];
        if (s->item.status != SHV_OK) {
            struct sample again = {.compared = false};
            return take_sample(m, i, &again, message);
        }
        size_t kind = m->first_kind + i / m->per_kind;
        bool anywhere = kind == KIND_ANYWHERE;
        worsen(anywhere ? &q->random : &q->along[kind], &s->error);
        q->compared += anywhere && s->compared;
        q->silent += anywhere && s->silent;
        q->answerless += anywhere && s->answerless;
        q->cycles += s->item.cycles;
    }
    return SHV_OK;
}

enum shv_status cycle_measure(const struct shv_cycle_table *table,
                              const struct shv_cycle_table_spec *spec, size_t samples,
                              uint64_t seed, bool all_kinds, const struct shv_cycle_runner *runner,
                              struct shv_cycle_table_quality *quality, struct shv_message *message)
{
    *quality = (struct shv_cycle_table_quality){.compared = 0};
    struct measuring m = {.table = table,
                          .spec = spec,
                          .seed = seed,
                          .per_kind = samples,
                          .first_kind = all_kinds ? 0 : KIND_ANYWHERE};
    size_t count = samples * (KINDS - m.first_kind);
    m.samples = calloc(count, sizeof *m.samples);
    if (!m.samples) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory to measure a cycle table");
    }
    cycle_run(runner, count, sample_item, &m);
    enum shv_status status = gather(&m, count, quality, message);
    free(m.samples);
    return status;
}
