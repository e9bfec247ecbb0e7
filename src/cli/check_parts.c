/* What sheave check understood of the parts, in the study's units: a slip in a unit shows here. */
#include <math.h>
#include <stdio.h>

#include "cli/cli.h"
#include "report/write/text.h"
#include "report/write/words.h"
#include "sheave/summary.h"

#define NAME_WIDTH 20
#define VALUE_WIDTH 18

static void head(struct report_text *text, const char *what, const char *const *columns,
                 size_t count)
{
    report_text_end(text);
    report_text_left(text, NAME_WIDTH + 2, what);
    for (size_t i = 0; i < count; i++) {
        report_text_right(text, VALUE_WIDTH, columns[i]);
    }
    report_text_end(text);
}

static void name(struct report_text *text, const char *part)
{
    report_text_left(text, 1, "");
    report_text_left(text, NAME_WIDTH, part);
}

static void quantity(struct report_text *text, enum report_measure measure,
                     enum shv_unit_system system, double low, double high)
{
    char words[REPORT_WORDS_MAX];
    report_text_right(text, VALUE_WIDTH, report_words_span(words, measure, system, low, high));
}

static void say_engine(struct report_text *text, const struct shv_study *study)
{
    const struct shv_engine *e = &study->engine;
    enum shv_unit_system system = study->results.units;
    char volume[REPORT_WORDS_MAX], bore[REPORT_WORDS_MAX], stroke[REPORT_WORDS_MAX];
    report_words_quantity(volume, REPORT_DISPLACEMENT, system, e->displacement);
    report_words_quantity(bore, REPORT_LENGTH, system, e->bore);
    report_words_quantity(stroke, REPORT_LENGTH, system, e->stroke);
    report_text_end(text);
    report_text_say(
        text, "Engine: %s in %d cylinder%s, bore %s, stroke %s, compression ratio %.4g.", volume,
        e->cylinders, e->cylinders == 1 ? "" : "s", bore, stroke, e->compression_ratio);
}

/* Least and most of the ratios that the pulleys give. */
static void ratio_range(const struct shv_study *study, double *least, double *most)
{
    const struct shv_numbers *cranks = &study->numbers[SHV_DIM_CRANK_PULLEY];
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double offset = study->drive.line_offset;
    *least = shv_drive_ratio(cranks->values[0], shv_numbers_last(pulleys), offset);
    *most = shv_drive_ratio(shv_numbers_last(cranks), pulleys->values[0], offset);
}

static void span_of(char words[REPORT_WORDS_MAX], const struct shv_study *study, enum shv_dim dim)
{
    const struct shv_numbers *n = &study->numbers[dim];
    report_words_span(words, REPORT_LENGTH, study->results.units, n->values[0],
                      shv_numbers_last(n));
}

static void say_drive(struct report_text *text, const struct shv_study *study)
{
    char crank[REPORT_WORDS_MAX], blower[REPORT_WORDS_MAX], ratio[REPORT_WORDS_MAX];
    double least, most;
    ratio_range(study, &least, &most);
    span_of(crank, study, SHV_DIM_CRANK_PULLEY);
    span_of(blower, study, SHV_DIM_BLOWER_PULLEY);
    report_words_span(ratio, REPORT_NUMBER, study->results.units, least, most);
    report_text_say(text, "Drive: crank pulleys %s, blower pulleys %s, ratio %s.", crank, blower,
                    ratio);
}

static void list_blowers(struct report_text *text, const struct shv_study *study)
{
    enum shv_unit_system system = study->results.units;
    const struct shv_engine *e = &study->engine;
    double top = e->speeds[e->speed_count - 1], least, most;
    char at[32];
    (void)snprintf(at, sizeof at, "rotors at %.0f rpm", top * 60.0);
    const char *const columns[] = {"volume a turn", "leakage area", at};
    ratio_range(study, &least, &most);
    head(text, "Blowers", columns, 3);
    for (size_t i = 0; i < study->blower_count; i++) {
        const struct shv_blower *b = &study->blowers[i];
        name(text, b->name);
        quantity(text, REPORT_DISPLACEMENT, system, b->displacement, b->displacement);
        if (b->kind == SHV_BLOWER_MAP) {
            char lines[REPORT_WORDS_MAX];
            (void)snprintf(lines, sizeof lines, "map of %zu lines", b->map.lines);
            report_text_right(text, VALUE_WIDTH, lines);
        } else {
            quantity(text, REPORT_AREA, system, b->geometry.leakage_area, b->geometry.leakage_area);
        }
        double creep = study->drive.creep;
        quantity(text, REPORT_ROTATION, system,
                 shv_drive_rotor_speed(top, least, creep, b->step_up),
                 shv_drive_rotor_speed(top, most, creep, b->step_up));
        report_text_end(text);
    }
}

static void list_coolers(struct report_text *text, const struct shv_study *study)
{
    static const char *const columns[] = {"effectiveness", "at charge flow", "pressure drop"};
    enum shv_unit_system system = study->results.units;
    for (size_t i = 1; i < study->cooler_count; i++) {
        const struct shv_cooler *c = &study->coolers[i];
        if (i == 1) {
            head(text, "Coolers", columns, 3);
        }
        name(text, c->name);
        quantity(text, REPORT_NUMBER, system, c->effectiveness.values[0],
                 shv_numbers_last(&c->effectiveness));
        quantity(text, REPORT_AIR_FLOW, system, c->rated_flow, c->rated_flow);
        quantity(text, REPORT_PRESSURE_CHANGE, system, c->pressure_drop, c->pressure_drop);
        report_text_end(text);
    }
}

static void list_fuels(struct report_text *text, const struct shv_study *study)
{
    static const char *const columns[] = {"RON", "MON", "AKI", "stoichiometric"};
    head(text, "Fuels", columns, 4);
    for (size_t i = 0; i < study->fuel_count; i++) {
        const struct shv_fuel *f = &study->fuels[i];
        name(text, f->name);
        report_text_number(text, VALUE_WIDTH, 1, f->ron);
        report_text_number(text, VALUE_WIDTH, 1, f->mon);
        report_text_number(text, VALUE_WIDTH, 1, shv_fuel_aki(study, i));
        report_text_number(text, VALUE_WIDTH, 2, f->stoichiometric);
        report_text_end(text);
        if (f->by_aki) {
            report_text_say(text,
                            "    RON and MON are half of the sensitivity above and below its AKI.");
        }
    }
}

static void list_supply(struct report_text *text, const struct shv_study *study)
{
    static const char *const of_injectors[] = {"flow", "at pressure", "by mass"};
    static const char *const of_pumps[] = {"flow", "up to"};
    enum shv_unit_system system = study->results.units;
    for (size_t i = 0; i < study->injector_count && !study->injectors[i].is_unlimited; i++) {
        const struct shv_injector_part *p = &study->injectors[i];
        if (i == 0) {
            head(text, "Injectors", of_injectors, system == SHV_US ? 3 : 2);
        }
        name(text, p->name);
        quantity(text, REPORT_INJECTOR_FLOW, system, p->rated_flow.values[0],
                 shv_numbers_last(&p->rated_flow));
        quantity(text, REPORT_PRESSURE_CHANGE, system, p->rated_pressure, p->rated_pressure);
        if (system == SHV_US) {
            quantity(text, REPORT_FUEL_FLOW, system, p->rated_flow.values[0] * p->test_density,
                     shv_numbers_last(&p->rated_flow) * p->test_density);
        }
        report_text_end(text);
    }
    for (size_t i = 0; i < study->pump_count && !study->pumps[i].is_unlimited; i++) {
        const struct shv_curve_table *flow = &study->pumps[i].pump.flow;
        if (i == 0) {
            head(text, "Pumps", of_pumps, 2);
        }
        name(text, study->pumps[i].name);
        quantity(text, REPORT_FUEL_VOLUME, system, flow->y[flow->count - 1], flow->y[0]);
        quantity(text, REPORT_PRESSURE_CHANGE, system, flow->x[flow->count - 1],
                 flow->x[flow->count - 1]);
        report_text_end(text);
    }
}

enum shv_status cli_print_parts(const struct shv_study *study, struct shv_message *message)
{
    struct report_text text;
    report_text_init(&text, stdout);
    say_engine(&text, study);
    say_drive(&text, study);
    list_blowers(&text, study);
    list_coolers(&text, study);
    list_fuels(&text, study);
    list_supply(&text, study);
    return report_text_finish(&text, "standard output", message);
}
