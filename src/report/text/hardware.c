/* Belt, bearing, worth and cruise of one kit for people (src/report/text/hardware.h). */
#include "report/text/hardware.h"

#include <math.h>
#include <string.h>

#include "report/text/list.h"
#include "report/write/words.h"

#define LABEL 34
#define VALUE 60
#define CELL 17
#define DEGREES (180.0 / 3.14159265358979323846)
#define NAME_MAX_SHOWN 32
#define NAME_ROOM REPORT_FIT_MAX(NAME_MAX_SHOWN)

struct hardware_block {
    struct report_text *text;
    const struct shv_study *study;
    const struct shv_kit *kit;
    const struct shv_curves *curves;
    enum shv_unit_system units;
    bool begun; /* the title is written */
};

static void line(struct hardware_block *b, const char *label, const char *value)
{
    if (!b->begun) {
        report_text_end(b->text);
        report_text_say(b->text, "Hardware");
        b->begun = true;
    }
    report_text_left(b->text, LABEL, label);
    report_text_left(b->text, VALUE, value);
    report_text_end(b->text);
}

static void line_quantity(struct hardware_block *b, const char *label, enum report_measure measure,
                          double value)
{
    char words[REPORT_WORDS_MAX];
    if (isfinite(value)) {
        line(b, label, report_words_quantity(words, measure, b->units, value));
    }
}

/* ---- belt ---- */

/* A member of the points where it is highest, and the place; the earlier one of equals. */
static void line_highest(struct hardware_block *b, const char *label, enum report_measure measure,
                         size_t offset)
{
    const struct shv_curves *c = b->curves;
    double highest = NAN, value;
    size_t at = 0;
    for (size_t i = 0; i < c->sites * c->speeds; i++) {
        memcpy(&value, (const char *)&c->point[i] + offset, sizeof value);
        if (isfinite(value) && !(value <= highest)) {
            highest = value;
            at = i;
        }
    }
    if (isnan(highest)) {
        return;
    }
    char words[REPORT_WORDS_MAX], site[NAME_ROOM], place[REPORT_WORDS_MAX + NAME_ROOM + 32];
    (void)snprintf(place, sizeof place, "%s at %.0f rpm at %s",
                   report_words_quantity(words, measure, b->units, highest),
                   c->point[at].engine_speed * 60.0,
                   report_fit(site, NAME_MAX_SHOWN, b->study->sites[at / c->speeds].name));
    line(b, label, place);
}

static void lines_belt(struct hardware_block *b)
{
    const struct shv_hardware *h = &b->curves->hardware;
    char words[REPORT_WORDS_MAX], width[REPORT_WORDS_MAX], both[2 * REPORT_WORDS_MAX];
    if (isnan(h->static_tension)) {
        return; /* no belt, or no pulleys for it */
    }
    (void)snprintf(both, sizeof both, "%.0f rib%s, %s wide", b->kit->ribs,
                   b->kit->ribs == 1.0 ? "" : "s",
                   report_words_quantity(width, REPORT_LENGTH, b->units, h->belt_width));
    line(b, "belt", both);
    line_quantity(b, "length at the pitch line", REPORT_LENGTH, h->belt_length);
    (void)snprintf(words, sizeof words, "%.1f and %.1f deg", h->crank_wrap * DEGREES,
                   h->blower_wrap * DEGREES);
    line(b, "wrap on crank and blower pulley", words);
    (void)snprintf(both, sizeof both, "%s%s",
                   report_words_quantity(words, REPORT_FORCE, b->units, h->static_tension),
                   isnan(b->study->drive.belt.static_tension) ? ", as the margin against slip needs"
                                                              : "");
    line(b, "static tension of one side", both);
    line_highest(b, "highest share of the grip", REPORT_PERCENT,
                 offsetof(struct shv_point, belt_slip));
    line_highest(b, "highest tension of one rib", REPORT_FORCE,
                 offsetof(struct shv_point, belt_tension));
    line_quantity(b, "highest hub load", REPORT_FORCE, h->highest_hub_load);
}

void report_show_hardware(struct report_text *text, const struct shv_study *study,
                          const struct shv_kit *kit, const struct shv_curves *curves)
{
    struct hardware_block b = {
        .text = text, .study = study, .kit = kit, .curves = curves, .units = study->results.units};
    const struct shv_hardware *h = &curves->hardware;
    char words[REPORT_WORDS_MAX];
    lines_belt(&b);
    if (isinf(h->bearing_life)) {
        line(&b, "life of the nose bearing", "endless, it carries no load");
    }
    line_quantity(&b, "life of the nose bearing", REPORT_LIFE, h->bearing_life);
    line_quantity(&b, "duty above continuous rotor speed", REPORT_PERCENT, h->over_continuous);
    if (h->price > 0.0) { /* else no part has one */
        line(&b, "price", report_words_money(words, study, h->price));
    }
    if (h->mass > 0.0) {
        line_quantity(&b, "mass", REPORT_MASS, h->mass);
    }
}

/* ---- the best of a run ---- */

#define OF(member) offsetof(struct shv_summary, member)
#define OF_BELT 7 /* the columns of it, behind the rank */

static const struct report_list_column list_columns[] = {
    {"#", 2, REPORT_COUNT, 0, OF(rank)},
    {"ribs", 4, REPORT_NUMBER, 0, OF(ribs)},
    {"wrap", 6, REPORT_ANGLE, 1, OF(wrap)},
    {"length", 8, REPORT_LENGTH, 1, OF(belt_length)},
    {"static", 7, REPORT_FORCE, 1, OF(static_tension)},
    {"per rib", 7, REPORT_FORCE, 1, OF(belt_tension)},
    {"hub", 7, REPORT_FORCE, 1, OF(hub_load)},
    {"bearing", 8, REPORT_LIFE, 0, OF(bearing_life)},
    {"cruise", 7, REPORT_POWER, 2, OF(cruise_drag)},
    {"price", 11, REPORT_MONEY, 2, OF(price)},
    {"mass", 7, REPORT_MASS, 1, OF(mass)},
};
#define LIST_COLUMNS (sizeof list_columns / sizeof *list_columns)

void report_list_hardware(struct report_text *text, const struct shv_study *study,
                          const struct shv_summary *best, size_t count)
{
    struct report_list_column column[LIST_COLUMNS] = {list_columns[0]};
    char currency[REPORT_CURRENCY_MAX];
    bool belt = study->drive.belt.given, any = belt;
    struct report_list list = {.text = text,
                               .column = column,
                               .count = 1,
                               .units = study->results.units,
                               .money = report_words_currency(currency, study, "")};
    int width = column[0].width;
    for (size_t i = 0; i < count; i++) {
        any = any || !isnan(best[i].price) || !isnan(best[i].mass);
    }
    if (!any) {
        return;
    }
    for (size_t i = belt ? 1 : 1 + OF_BELT; i < LIST_COLUMNS; i++) {
        column[list.count++] = list_columns[i];
        width += list_columns[i].width + 1;
    }
    report_text_end(text);
    report_text_say(text, "%s",
                    belt ? "Their belts (wrap on the blower pulley, static tension, highest "
                           "tension of a rib and hub load), bearing life, drag at cruise and worth"
                         : "Their drag at cruise, and what they cost and weigh");
    report_list_head(&list);
    report_text_rule(text, width);
    for (size_t i = 0; i < count; i++) {
        report_list_row(&list, &best[i]);
    }
}

/* ---- cruise ---- */

struct cruise_column {
    const char *title;
    struct shv_bypass_state state;
    double fuel;     /* m3/s */
    double distance; /* m3/m */
};

struct cruise_row {
    const char *label;
    enum report_measure measure;
    int more; /* decimals, as everything is small at cruise */
    size_t offset;
};

#define IN(member) offsetof(struct cruise_column, state.member)
#define AT(member) offsetof(struct cruise_column, member)

static const struct cruise_row cruise_rows[] = {
    {"inlet pressure", REPORT_PRESSURE, 0, IN(inlet_pressure)},
    {"pressure across the valve", REPORT_PRESSURE_CHANGE, 1, IN(pressure_drop)},
    {"inlet temperature", REPORT_TEMPERATURE, 0, IN(inlet_temperature)},
    {"discharge temperature", REPORT_TEMPERATURE, 0, IN(discharge_temperature)},
    {"manifold temperature", REPORT_TEMPERATURE, 0, IN(manifold_temperature)},
    {"air through the rotors", REPORT_AIR_FLOW, 0, IN(blower_flow)},
    {"air back through the valve", REPORT_AIR_FLOW, 0, IN(recirculated)},
    {"drag of the rotors", REPORT_POWER, 2, IN(shaft_power)},
    {"fuel for it, by the hour", REPORT_FUEL_VOLUME, 1, AT(fuel)},
    {"fuel for it, by the distance", REPORT_FUEL_DISTANCE, 0, AT(distance)},
};

static const char *trouble(enum shv_bypass_outcome outcome)
{
    switch (outcome) {
    case SHV_BYPASS_STARVED:
        return "even a wide open throttle does not let so much air through";
    case SHV_BYPASS_OUTSIDE_MAP:
        return "pressure ratio or rotor speed lies beyond the blower's map";
    case SHV_BYPASS_OUT_OF_RANGE:
        return "a gas temperature lies beyond 200 to 1000 K";
    case SHV_BYPASS_SOLVED:
        break;
    }
    return "";
}

/* The drag costs what the model says of the one that counts, by the same relation. */
static struct cruise_column column_of(const struct shv_study *study, const struct shv_kit *kit,
                                      const char *title, const struct shv_bypass_state *state)
{
    struct cruise_column c = {.title = title, .state = *state, .fuel = NAN, .distance = NAN};
    const struct shv_bypass_rates rates = {.drive_efficiency = study->drive.efficiency,
                                           .bsfc = study->use.bsfc,
                                           .fuel_density = study->fuels[kit->fuel].density,
                                           .road_speed = study->use.road_speed};
    if (state->outcome == SHV_BYPASS_SOLVED) {
        struct shv_bypass_cost cost = shv_bypass_cost(state->shaft_power, &rates);
        c.fuel = cost.litres_per_hour * 1e-3 / 3600.0;
        c.distance = cost.litres_per_100_km * 1e-3 / 100e3;
    }
    return c;
}

static void line_cruise(struct report_text *text, enum shv_unit_system units,
                        const struct cruise_row *row, const struct cruise_column *column,
                        size_t columns)
{
    char words[REPORT_WORDS_MAX];
    report_text_left(text, LABEL, row->label);
    for (size_t i = 0; i < columns; i++) {
        double value;
        memcpy(&value, (const char *)&column[i] + row->offset, sizeof value);
        /* Beyond a map the numbers are no answer. */
        value = column[i].state.outcome == SHV_BYPASS_SOLVED ? value : NAN;
        report_text_right(text, CELL,
                          report_words_fine(words, row->measure, units, value, row->more));
    }
    report_text_end(text);
}

static void say_cruise(struct report_text *text, const struct shv_study *study)
{
    const struct shv_use *use = &study->use;
    enum shv_unit_system units = study->results.units;
    char pressure[REPORT_WORDS_MAX], speed[REPORT_WORDS_MAX], site[NAME_ROOM];
    char road[REPORT_WORDS_MAX + 16] = "";
    if (use->road_speed > 0.0) {
        (void)snprintf(road, sizeof road, ", %s on the road",
                       report_words_quantity(speed, REPORT_ROAD_SPEED, units, use->road_speed));
    }
    report_text_end(text);
    report_text_say(text, "At cruise: %.0f rpm, %s in the manifold%s, at %s",
                    study->engine.speeds[use->cruise_speed] * 60.0,
                    report_words_quantity(pressure, REPORT_PRESSURE, units, use->cruise_pressure),
                    road, report_fit(site, NAME_MAX_SHOWN, study->sites[0].name));
}

/* At what vacuum the actuator works, given or by its spring. */
static void say_actuator(struct report_text *text, const struct shv_study *study)
{
    const struct shv_bypass_actuator *a = &study->bypass_part.actuator;
    char starts[REPORT_WORDS_MAX], finishes[REPORT_WORDS_MAX];
    if (study->bypass_part.has_actuator && study->bypass_part.area > 0.0) {
        report_text_say(
            text, "The bypass starts to open at a vacuum of %s and is fully open at %s.",
            report_words_quantity(starts, REPORT_VACUUM, study->results.units, a->starts),
            report_words_quantity(finishes, REPORT_VACUUM, study->results.units, a->finishes));
    }
}

/* How large a bypass keeps the drag within its limit. */
static void say_area(struct report_text *text, const struct shv_study *study,
                     const struct shv_bypass_sizing *area)
{
    char words[REPORT_WORDS_MAX];
    (void)report_words_quantity(words, REPORT_POWER, study->results.units,
                                study->limit[SHV_LIMIT_CRUISE_DRAG]);
    switch (area->outcome) {
    case SHV_BYPASS_AREA_FOUND:
        report_text_say(text, "A bypass of %.0f mm2 or more keeps the drag to %s.",
                        1e6 * area->area, words);
        return;
    case SHV_BYPASS_SHUT_DOES:
        report_text_say(text, "The drag is within %s with the bypass shut.", words);
        return;
    case SHV_BYPASS_NONE_DOES:
        report_text_say(
            text, "No bypass keeps the drag to %s: windage and bearings alone take more.", words);
        return;
    case SHV_BYPASS_UNSOLVED:
        break;
    }
    report_text_say(text, "There is no answer to how large a bypass keeps the drag to %s.", words);
}

void report_show_cruise(struct report_text *text, const struct shv_study *study,
                        const struct shv_kit *kit, const struct shv_curves *curves,
                        const struct shv_bypass_sizing *area)
{
    const struct shv_hardware *h = &curves->hardware;
    if (!study->use.cruises) {
        return;
    }
    const struct cruise_column column[] = {
        column_of(study, kit, "bypass shut", &h->cruise_shut),
        column_of(study, kit, "bypass open", &h->cruise_open),
    };
    size_t columns = study->bypass_part.area > 0.0 ? 2 : 1;
    say_cruise(text, study);
    report_text_left(text, LABEL, "");
    for (size_t i = 0; i < columns; i++) {
        report_text_right(text, CELL, column[i].title);
    }
    report_text_end(text);
    for (size_t i = 0; i < sizeof cruise_rows / sizeof *cruise_rows; i++) {
        if (cruise_rows[i].measure != REPORT_FUEL_DISTANCE || study->use.road_speed > 0.0) {
            line_cruise(text, study->results.units, &cruise_rows[i], column, columns);
        }
    }
    for (size_t i = 0; i < columns; i++) {
        if (column[i].state.outcome != SHV_BYPASS_SOLVED) {
            report_text_say(text, "No answer with the %s: %s.", column[i].title,
                            trouble(column[i].state.outcome));
        }
    }
    say_actuator(text, study);
    if (area) {
        say_area(text, study, area);
    }
}
