/* One kit over the rev range for a person at a terminal: per site three narrow tables that follow
 * the air from filter to flywheel, then the kit as hardware, its limits and the verdict. Or the
 * same as CSV. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/text/explain.h"
#include "report/text/hardware.h"
#include "report/table/objective.h"
#include "report/write/text.h"
#include "sheave/report.h"

#define NAME_MAX_SHOWN 32
#define NAME_ROOM REPORT_FIT_MAX(NAME_MAX_SHOWN)

struct point_row {
    struct shv_point p;
    double inlet_vacuum;
};

struct view {
    const char *title[2]; /* two lines above the unit */
    enum report_measure measure;
    size_t offset; /* of a double in struct point_row */
};

#define IN(member) offsetof(struct point_row, p.member)

static const struct view air_path[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"inlet", "pressure"}, REPORT_PRESSURE, IN(inlet_pressure)},
    {{"inlet", "temp"}, REPORT_TEMPERATURE, IN(inlet_temperature)},
    {{"outlet", "pressure"}, REPORT_PRESSURE, IN(outlet_pressure)},
    {{"pressure", "ratio"}, REPORT_NUMBER, IN(pressure_ratio)},
    {{"disch.", "temp"}, REPORT_TEMPERATURE, IN(discharge_temperature)},
    {{"cooler", "drop"}, REPORT_PRESSURE_CHANGE, IN(cooler_drop)},
    {{"cooler", "heat"}, REPORT_POWER, IN(cooler_heat)},
    {{"manifold", "pressure"}, REPORT_PRESSURE, IN(manifold_pressure)},
    {{"", "boost"}, REPORT_GAUGE, IN(boost)},
    {{"charge", "temp"}, REPORT_TEMPERATURE, IN(charge_temperature)},
};

static const struct view blower[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"rotor", "speed"}, REPORT_ROTATION, IN(rotor_speed)},
    {{"belt", "speed"}, REPORT_SPEED, IN(belt_speed)},
    {{"blower", "air"}, REPORT_AIR_FLOW, IN(blower_flow)},
    {{"leakage", "air"}, REPORT_AIR_FLOW, IN(leakage_flow)},
    {{"bleed", "air"}, REPORT_AIR_FLOW, IN(bleed_flow)},
    {{"vol.", "eff."}, REPORT_NUMBER, IN(blower_volumetric_efficiency)},
    {{"isentr.", "eff."}, REPORT_NUMBER, IN(blower_isentropic_efficiency)},
    {{"clear.", "left"}, REPORT_NUMBER, IN(clearance_left)},
    {{"shaft", "power"}, REPORT_POWER, IN(blower_power)},
    {{"drive", "power"}, REPORT_POWER, IN(drive_power)},
};

static const struct view engine[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"engine", "air"}, REPORT_AIR_FLOW, IN(air_flow)},
    {{"vol.", "eff."}, REPORT_NUMBER, IN(volumetric_efficiency)},
    {{"", "fuel"}, REPORT_FUEL_FLOW, IN(fuel_flow)},
    {{"indic.", "power"}, REPORT_POWER, IN(indicated_power)},
    {{"pumping", "power"}, REPORT_POWER, IN(pumping_power)},
    {{"friction", "power"}, REPORT_POWER, IN(friction_power)},
    {{"brake", "power"}, REPORT_POWER, IN(brake_power)},
    {{"SAE", "J1349"}, REPORT_POWER, IN(power_j1349)},
    {{"", "torque"}, REPORT_TORQUE, IN(torque)},
    {{"", "bsfc"}, REPORT_SPECIFIC_CONSUMPTION, IN(bsfc)},
};

/* With the closed cycle, or with injectors or a pump. */
static const struct view burning[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"half", "burnt"}, REPORT_ANGLE, IN(ca50)},
    {{"later", "by"}, REPORT_ANGLE, IN(phasing_retard)},
    {{"knock", "integral"}, REPORT_NUMBER, IN(knock_integral)},
    {{"peak", "pressure"}, REPORT_CYLINDER, IN(peak_pressure)},
    {{"exhaust", "temp"}, REPORT_TEMPERATURE, IN(exhaust_temperature)},
    {{"cycle", "eff."}, REPORT_NUMBER, IN(cycle_efficiency)},
    {{"fuel", "volume"}, REPORT_FUEL_VOLUME, IN(fuel_volume_flow)},
    {{"injector", "duty"}, REPORT_PERCENT, IN(injector_duty)},
    {{"of pump", "flow"}, REPORT_PERCENT, IN(pump_flow)},
};

/* With a belt or an actuator of the bypass. */
static const struct view belt[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"of grip", "used"}, REPORT_PERCENT, IN(belt_slip)},
    {{"tension", "per rib"}, REPORT_FORCE, IN(belt_tension)},
    {{"hub", "load"}, REPORT_FORCE, IN(hub_load)},
    {{"inlet", "vacuum"}, REPORT_VACUUM, offsetof(struct point_row, inlet_vacuum)},
};

/* What a person looks at first. */
static const struct view overview[] = {
    {{"engine", "speed"}, REPORT_ROTATION, IN(engine_speed)},
    {{"rotor", "speed"}, REPORT_ROTATION, IN(rotor_speed)},
    {{"", "boost"}, REPORT_GAUGE, IN(boost)},
    {{"disch.", "temp"}, REPORT_TEMPERATURE, IN(discharge_temperature)},
    {{"charge", "temp"}, REPORT_TEMPERATURE, IN(charge_temperature)},
    {{"", "retard"}, REPORT_ANGLE, IN(phasing_retard)},
    {{"drive", "power"}, REPORT_POWER, IN(drive_power)},
    {{"brake", "power"}, REPORT_POWER, IN(brake_power)},
    {{"", "torque"}, REPORT_TORQUE, IN(torque)},
};

#define CELL 8
/* What stands for a share that has no finite value. */
#define NO_FLOW "no flow"
#define BEYOND_CURVE "beyond"
#define NO_GRIP "no grip"
#define ENDLESS "endless"

struct point_table {
    const struct shv_study *study;
    const struct shv_kit *kit; /* NULL for the stock engine */
    const struct shv_curves *curves;
    enum shv_unit_system units;
    struct report_text text;
};

static void say_kit(struct point_table *t)
{
    const struct shv_study *study = t->study;
    const struct shv_kit *kit = t->kit;
    if (!kit) {
        report_text_say(&t->text, "The engine as it left the factory: no blower, its own intake, "
                                  "fuel and mixture.");
        return;
    }
    char drive[3 * REPORT_WORDS_MAX];
    struct report_kit_words w;
    report_words_kit(&w, study, kit, NAME_MAX_SHOWN, REPORT_CORE);
    if (isnan(kit->crank_diameter)) {
        (void)snprintf(drive, sizeof drive, "pulleys in the ratio %.4f", kit->ratio);
    } else {
        (void)snprintf(drive, sizeof drive,
                       "a crank pulley of %s and a blower pulley of %s (ratio %.4f)", w.crank,
                       w.pulley, kit->ratio);
    }
    report_text_say(&t->text, "Blower %s with %s, %s, fuel %s at %s%s.", w.blower, drive, w.core,
                    w.fuel, w.mixture, w.supply);
}

/* Only a note: what it says holds for the whole line. */
static const char *note(const struct shv_point *p)
{
    return p->outcome == SHV_POINT_NO_CYCLE ? "c" : p->bypass_open ? "b" : p->bleeding ? "l" : "";
}

static void head(struct point_table *t, const struct view *view, size_t columns)
{
    for (int line = 0; line < 3; line++) {
        for (size_t i = 0; i < columns; i++) {
            report_text_right(&t->text, CELL,
                              line < 2 ? view[i].title[line]
                                       : report_unit(view[i].measure, t->units)->label);
        }
        report_text_end(&t->text);
    }
    report_text_rule(&t->text, (int)columns * (CELL + 1) - 1);
}

/* Without a cycle the air is known all the same, and what is not is NAN. */
static bool answered(const struct shv_point *p)
{
    return p->outcome == SHV_POINT_OK || p->outcome == SHV_POINT_NO_CYCLE;
}

static const char *endless(size_t offset)
{
    return offset == IN(pump_flow) ? BEYOND_CURVE : offset == IN(belt_slip) ? NO_GRIP : NO_FLOW;
}

static void line(struct point_table *t, const struct view *view, size_t columns,
                 const struct shv_point *p)
{
    const struct point_row row = {*p, p->ambient_pressure - p->inlet_pressure};
    for (size_t i = 0; i < (answered(p) ? columns : 1); i++) {
        double value;
        memcpy(&value, (const char *)&row + view[i].offset, sizeof value);
        if (isinf(value)) {
            report_text_right(&t->text, CELL, endless(view[i].offset));
            continue;
        }
        report_text_quantity(&t->text, CELL, view[i].measure, t->units, value);
    }
    if (!answered(p)) {
        report_text_left(&t->text, 40, "   no answer:");
        report_text_left(&t->text, 40, shv_outcome_name(p->outcome));
    } else {
        report_text_left(&t->text, 1, note(p));
    }
    report_text_end(&t->text);
}

static void show(struct point_table *t, size_t site, const char *title, const struct view *view,
                 size_t columns)
{
    report_text_end(&t->text);
    report_text_say(&t->text, "%s", title);
    head(t, view, columns);
    for (size_t i = 0; i < t->curves->speeds; i++) {
        line(t, view, columns, &t->curves->point[site * t->curves->speeds + i]);
    }
}

static bool shows_burning(const struct point_table *t)
{
    const struct shv_study *study = t->study;
    return study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE ||
           (t->kit && (!study->injectors[t->kit->injector].is_unlimited ||
                       !study->pumps[t->kit->pump].is_unlimited));
}

static bool shows_belt(const struct point_table *t)
{
    return t->study->drive.belt.given || t->study->bypass_part.has_actuator;
}

static void show_site(struct point_table *t, size_t site)
{
    const struct shv_site *place = &t->study->sites[site];
    char name[NAME_ROOM], pressure[REPORT_WORDS_MAX], temperature[REPORT_WORDS_MAX];
    report_text_end(&t->text);
    report_text_say(
        &t->text, "== %s: air of %s and %s, relative humidity %.0f %%",
        report_fit(name, NAME_MAX_SHOWN, place->name),
        report_words_quantity(pressure, REPORT_PRESSURE, t->units, place->ambient.pressure),
        report_words_quantity(temperature, REPORT_TEMPERATURE, t->units,
                              place->ambient.temperature),
        100.0 * place->ambient.relative_humidity);
    show(t, site, "Path of the air", air_path, sizeof air_path / sizeof *air_path);
    if (t->kit) {
        show(t, site, "Blower and drive", blower, sizeof blower / sizeof *blower);
    }
    if (t->kit && shows_belt(t)) {
        show(t, site, "Belt and intake", belt, sizeof belt / sizeof *belt);
    }
    show(t, site, "Engine", engine, sizeof engine / sizeof *engine);
    if (shows_burning(t)) {
        show(t, site, "Burning and fuel", burning, sizeof burning / sizeof *burning);
    }
}

static void say_notes(struct point_table *t)
{
    enum { NO_CYCLE, OPEN, BLEEDING, SHUT, BEYOND, SLACK, NOTES };
    static const char *const words[NOTES] = {
        "c: the closed cycle has no answer there, or its tables do not reach so far (no_cycle).",
        "b: the blower can't keep up; the engine breathes through the open bypass.",
        "l: the bypass lets air go to hold the set boost.",
        NO_FLOW ": the manifold's pressure is that of the fuel rail or higher.",
        BEYOND_CURVE ": the pressure lies beyond the last point of the pump's curve.",
        NO_GRIP ": centrifugal tension has used up the static tension of the belt."};
    bool there[NOTES] = {false}, any = false;
    for (size_t i = 0; i < t->curves->sites * t->curves->speeds; i++) {
        const struct shv_point *p = &t->curves->point[i];
        there[NO_CYCLE] |= p->outcome == SHV_POINT_NO_CYCLE;
        there[OPEN] |= p->bypass_open;
        there[BLEEDING] |= p->bleeding;
        there[SHUT] |= isinf(p->injector_duty);
        there[BEYOND] |= isinf(p->pump_flow);
        there[SLACK] |= isinf(p->belt_slip);
    }
    for (int i = 0; i < NOTES; i++) {
        if (there[i]) {
            if (!any) {
                report_text_end(&t->text);
            }
            report_text_say(&t->text, "%s", words[i]);
            any = true;
        }
    }
}

/* Widths of the table of limits. */
#define TITLE 24
#define NUMBER 12

/* Why a limit has no value to show, NULL when it has one. */
static const char *no_value(const struct point_table *t, enum shv_limit limit)
{
    const struct shv_limit_result *r = &t->curves->verdict.limit[limit];
    if (isnan(r->value)) {
        return "not known for this kit";
    }
    if (shv_limit_info(limit)->of_kit) {
        return NULL;
    }
    /* Speeds come first among the limits: they are known without an answer. */
    const struct shv_point *p = &t->curves->point[r->site * t->curves->speeds + r->speed];
    bool unanswered = !answered(p) && !shv_limit_is_formula(limit);
    return unanswered ? "no answer where it is tightest" : NULL;
}

static const char *endless_limit(enum shv_limit limit)
{
    switch (limit) {
    case SHV_LIMIT_PUMP_FLOW:
        return BEYOND_CURVE;
    case SHV_LIMIT_BELT_SLIP:
        return NO_GRIP;
    case SHV_LIMIT_INJECTOR_DUTY:
        return NO_FLOW;
    default:
        return ENDLESS;
    }
}

/* A lower bound says so. */
static void cell_bound(struct point_table *t, enum shv_limit limit, double bound)
{
    char words[REPORT_WORDS_MAX], least[REPORT_WORDS_MAX + 4];
    (void)report_words_quantity(words, report_value_measure(limit), t->units, bound);
    (void)snprintf(least, sizeof least, "%s%s", shv_limit_info(limit)->at_least ? ">= " : "",
                   words);
    report_text_right(&t->text, NUMBER, least);
}

/* Money has its word here, as a cell has no room for it. */
static void cell_title(struct point_table *t, enum shv_limit limit)
{
    char unit[REPORT_CURRENCY_MAX], words[REPORT_WORDS_MAX];
    bool money = report_value_measure(limit) == REPORT_MONEY;
    (void)report_words_currency(unit, t->study, "");
    (void)snprintf(words, sizeof words, "%s%s%s", shv_limit_info(limit)->title,
                   money && unit[0] ? ", " : "", money ? unit : "");
    report_text_left(&t->text, TITLE, words);
}

/* Where a limit is tightest; a property of the kit has no such place. */
static void cells_place(struct point_table *t, enum shv_limit limit)
{
    const struct shv_limit_result *r = &t->curves->verdict.limit[limit];
    const struct shv_point *p = &t->curves->point[r->site * t->curves->speeds + r->speed];
    bool of_kit = shv_limit_info(limit)->of_kit;
    report_text_number(&t->text, 5, 0, of_kit ? NAN : p->engine_speed * 60.0);
    report_text_left(&t->text, 15, of_kit ? "whole kit" : t->study->sites[r->site].name);
}

static void line_limit(struct point_table *t, enum shv_limit limit)
{
    const struct shv_limit_result *r = &t->curves->verdict.limit[limit];
    enum report_measure value = report_value_measure(limit), room = report_room_measure(limit);
    char words[REPORT_WORDS_MAX];
    cell_title(t, limit);
    const char *nothing = no_value(t, limit);
    if (nothing) {
        report_text_left(&t->text, 60, nothing);
        report_text_end(&t->text);
        return;
    }
    cell_bound(t, limit, r->bound);
    report_text_right(&t->text, NUMBER,
                      isinf(r->value) ? endless_limit(limit)
                                      : report_words_quantity(words, value, t->units, r->value));
    report_text_right(&t->text, NUMBER, report_words_quantity(words, room, t->units, r->margin));
    report_text_fitted(&t->text, 7, 1, 100.0 * r->share);
    cells_place(t, limit);
    report_text_left(&t->text, 6, shv_limit_breaks(limit, r->value, r->bound) ? "BROKEN" : "");
    report_text_end(&t->text);
}

/* Most studies set few of them. */
static void say_unlimited(struct point_table *t)
{
    char words[SHV_LIMIT_COUNT * 40] = "";
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        if (isinf(t->curves->verdict.limit[i].bound)) {
            size_t used = strlen(words);
            (void)snprintf(words + used, sizeof words - used, "%s%s", used ? ", " : "",
                           shv_limit_info((enum shv_limit)i)->title);
        }
    }
    if (words[0]) {
        report_text_say(&t->text, "Not limited: %s.", words);
    }
}

static void head_limits(struct point_table *t)
{
    report_text_end(&t->text);
    report_text_left(&t->text, TITLE, "limit");
    report_text_right(&t->text, NUMBER, "bound");
    report_text_right(&t->text, NUMBER, "value");
    report_text_right(&t->text, NUMBER, "room");
    report_text_right(&t->text, 7, "room, %");
    report_text_right(&t->text, 5, "rpm");
    report_text_left(&t->text, 15, "site");
    report_text_end(&t->text);
    report_text_rule(&t->text, REPORT_WIDTH - 1);
}

static void show_limits(struct point_table *t)
{
    head_limits(t);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        if (!isinf(t->curves->verdict.limit[i].bound)) {
            line_limit(t, (enum shv_limit)i);
        }
    }
    say_unlimited(t);
}

static void say_verdict(struct point_table *t)
{
    const struct shv_verdict *v = &t->curves->verdict;
    char objective[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX], site[NAME_ROOM];
    report_text_end(&t->text);
    if (v->outcome != SHV_POINT_OK) {
        const struct shv_point *p =
            &t->curves->point[v->failed_site * t->curves->speeds + v->failed_speed];
        report_text_say(&t->text,
                        "Verdict: no answer at %.0f rpm at %s (%s). %s Limits do not count "
                        "where there is no answer.",
                        p->engine_speed * 60.0,
                        report_fit(site, NAME_MAX_SHOWN, t->study->sites[v->failed_site].name),
                        shv_outcome_name(v->outcome), shv_outcome_meaning(v->outcome));
        return;
    }
    report_text_say(&t->text, "Verdict: %s. Ranking value (%s): %s.",
                    v->feasible ? "feasible, every limit is kept"
                                : "not feasible, a limit is broken",
                    report_words_objective(objective, t->study),
                    report_words_ranked(value, t->study, v->objective));
}

/* ---- the first screen, 25 lines ---- */

#define SHORT_LIMITS 4
#define SHORT_SPEEDS 6

static void show_nearest(struct point_table *t)
{
    shv_limit_set shown = 0;
    head_limits(t);
    for (int n = 0; n < SHORT_LIMITS; n++) {
        int limit = report_next_limit(&t->curves->verdict, shown);
        if (limit >= 0) {
            line_limit(t, (enum shv_limit)limit);
            shown |= SHV_LIMIT_BIT(limit);
        }
    }
}

/* Ends of the rev range and as many speeds between as there is room for. */
static void show_overview(struct point_table *t)
{
    size_t speeds = t->curves->speeds, lines = speeds < SHORT_SPEEDS ? speeds : SHORT_SPEEDS;
    size_t columns = sizeof overview / sizeof *overview;
    char name[NAME_ROOM];
    report_text_end(&t->text);
    report_text_say(&t->text, "At %s; every site, speed, state and limit with --long",
                    report_fit(name, NAME_MAX_SHOWN, t->study->sites[0].name));
    head(t, overview, columns);
    for (size_t i = 0; i < lines; i++) {
        size_t at = lines < 2 ? 0 : (i * (speeds - 1) + (lines - 1) / 2) / (lines - 1);
        line(t, overview, columns, &t->curves->point[at]);
    }
}

enum shv_status shv_report_point_short(const struct shv_study *study, const struct shv_kit *kit,
                                       const struct shv_curves *curves,
                                       const struct shv_change *changes, size_t count, FILE *out,
                                       struct shv_message *message)
{
    struct point_table t = {
        .study = study, .kit = kit, .curves = curves, .units = study->results.units};
    report_text_init(&t.text, out);
    say_kit(&t);
    if (kit) { /* the stock engine is not judged */
        say_verdict(&t);
        report_say_mending(&t.text, study, changes, count);
        show_nearest(&t);
    }
    show_overview(&t);
    return report_text_finish(&t.text, "the table of this kit", message);
}

static enum shv_status write_csv(const struct shv_study *study, const struct shv_curves *curves,
                                 FILE *out, struct shv_message *message)
{
    struct report_csv csv = {.out = out, .units = study->results.units};
    report_table_layout(&report_stock, &csv.layout, 0);
    report_csv_head(&csv);
    report_curves_rows(&csv, study, 0, curves);
    return report_csv_finish(&csv, "the curves", message);
}

enum shv_status shv_report_point(const struct shv_study *study, const struct shv_kit *kit,
                                 const struct shv_curves *curves,
                                 const struct shv_bypass_sizing *area, bool csv, FILE *out,
                                 struct shv_message *message)
{
    if (csv) {
        return write_csv(study, curves, out, message);
    }
    struct point_table t = {
        .study = study, .kit = kit, .curves = curves, .units = study->results.units};
    report_text_init(&t.text, out);
    say_kit(&t);
    for (size_t site = 0; site < curves->sites; site++) {
        show_site(&t, site);
    }
    say_notes(&t);
    if (kit) { /* the stock engine is not judged */
        report_show_hardware(&t.text, study, kit, curves);
        report_show_cruise(&t.text, study, kit, curves, area);
        show_limits(&t);
        say_verdict(&t);
    }
    return report_text_finish(&t.text, "the table of this kit", message);
}
