/* Quantities as text, through UDUNITS-2 (include/sheave/units.h). */
#include "sheave/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <udunits2.h>

#include "sheave/air.h"
#include "study/unit_names.h"

#define UNIT_TEXT_MAX 63

#define LIKELY_MAX 4
#define UNITS_OF_MAX 128

struct kind {
    const char *noun; /* "which is not <noun>" */
    const char *unit; /* as UDUNITS-2 reads it and as the documentation writes it */
    const char *accepts;
    const char *likely[LIKELY_MAX]; /* units that a number without one may have been meant in */
};

/* Rows are kept together by hand: a quantity a row. */
/* clang-format off */

/* Noun, unit, what such a quantity may look like, units that are likely. */
#define KIND(noun, unit, such, ...)                                                                \
    {noun, unit, noun " with a unit, such as " such, {__VA_ARGS__}}

static const struct kind kinds[SHV_Q_COUNT] = {
    [SHV_Q_NUMBER] =
        {"a number", "", "a number, such as 0.8 or \"80 %\"",
         {NULL}},
    [SHV_Q_LENGTH] = KIND("a length", "m", "\"86 mm\" or \"2.75 in\"", "mm", "in", "m", "ft"),
    [SHV_Q_AREA] = KIND("an area", "m2", "\"12 mm2\"", "mm2", "in2", "cm2"),
    [SHV_Q_VOLUME] = KIND("a volume", "m3", "\"1.9 l\" or \"116 in3\"", "L", "cc", "in3"),
    [SHV_Q_DISPLACEMENT] =
        KIND("a volume per turn", "m3", "\"1.9 L/rev\", or \"1.9 L\" or \"116 in3\"",
             "L", "cc", "in3", "L/rev"),
    [SHV_Q_SPEED] = KIND("a speed", "m/s", "\"40 m/s\"", "m/s", "km/h", "mph"),
    [SHV_Q_ROTATION] = KIND("a speed of rotation", "rpm", "\"6500 rpm\"", "rpm"),
    [SHV_Q_TIME] = KIND("a time", "s", "\"3 s\", \"5 min\" or \"2000 h\"", "s", "ms", "min", "h"),
    [SHV_Q_MASS] = KIND("a mass", "kg", "\"12 kg\"", "kg", "lb"),
    [SHV_Q_MASS_FLOW] =
        KIND("a mass flow", "kg/s", "\"0.3 kg/s\" or \"40 lb/min\"",
             "kg/s", "kg/h", "lb/min", "lb/h"),
    [SHV_Q_AIR_FLOW] =
        KIND("an air flow", "kg/s", "\"0.3 kg/s\", \"40 lb/min\" or \"350 cfm at 14.7 psi, 77 degF\"",
             "kg/s", "kg/h", "lb/min", "lb/h"),
    [SHV_Q_VOLUME_FLOW] =
        KIND("a volume flow", "m3/s", "\"20 l/min\"", "cc/min", "L/min", "L/h", "cfm"),
    [SHV_Q_DENSITY] = KIND("a density", "kg/m3", "\"1.2 kg/m3\"", "kg/m3", "lb/ft3"),
    [SHV_Q_PRESSURE_ABSOLUTE] =
        {"a pressure", "Pa", "an absolute pressure with a unit, such as \"101.325 kPa\" or \"14.7 psi absolute\"",
         {"kPa", "bar", "psi"}},
    [SHV_Q_PRESSURE_GAUGE] =
        {"a pressure", "Pa", "a pressure above ambient with a unit, such as \"14 psi\" or \"0.9 bar gauge\"",
         {"psi", "bar", "kPa"}},
    [SHV_Q_PRESSURE_DIFFERENCE] =
        KIND("a pressure difference", "Pa", "\"3 kPa\"", "kPa", "bar", "psi"),
    [SHV_Q_TEMPERATURE] =
        KIND("a temperature", "K", "\"25 degC\", \"77 degF\" or \"298.15 K\"", "degC", "degF", "K"),
    [SHV_Q_TEMPERATURE_DIFFERENCE] =
        KIND("a temperature difference", "K", "\"5 K\" or \"9 degR\"", "K", "degR"),
    [SHV_Q_PER_KELVIN] = KIND("a change per kelvin", "1/K", "\"0.002 1/K\"", "1/K"),
    [SHV_Q_TORQUE] = KIND("a torque", "N m", "\"180 N m\" or \"133 lbf.ft\"", "N m", "lbf.ft"),
    [SHV_Q_POWER] = KIND("a power", "W", "\"45 kW\" or \"60 hp\"", "kW", "hp"),
    [SHV_Q_SPECIFIC_ENERGY] =
        KIND("an energy per mass", "J/kg", "\"42.9 MJ/kg\"", "MJ/kg", "kJ/kg"),
    [SHV_Q_HEAT_CAPACITY] =
        KIND("a heat capacity", "J/(kg K)", "\"3600 J/(kg K)\"", "J/(kg K)", "kJ/(kg K)"),
    [SHV_Q_CAPACITY_RATE] = KIND("a capacity rate", "W/K", "\"900 W/K\"", "W/K", "kW/K"),
    [SHV_Q_ENERGY_PER_VOLUME] =
        KIND("an energy per volume", "J/m3", "\"12.5 kW.min/m3\"", "kW.min/m3", "MJ/m3"),
    [SHV_Q_PRESSURE_PER_SPEED] =
        KIND("a pressure per speed", "Pa s/m", "\"16.2 kPa s/m\"", "kPa s/m", "Pa s/m"),
    [SHV_Q_PRESSURE_PER_SPEED2] =
        KIND("a pressure per speed squared", "Pa s2/m2", "\"150 Pa s2/m2\"", "Pa s2/m2"),
    [SHV_Q_ANGLE] = KIND("an angle", "deg", "\"12 deg\"", "deg"),
    [SHV_Q_MOLAR_MASS] = KIND("a molar mass", "kg/mol", "\"105 g/mol\"", "g/mol"),
    [SHV_Q_FORCE] = KIND("a force", "N", "\"110 N\" or \"25 lbf\"", "N", "lbf"),
    [SHV_Q_LINEAR_DENSITY] = KIND("a mass per length", "kg/m", "\"0.02 kg/m\"", "kg/m", "g/m"),
    [SHV_Q_STIFFNESS] = KIND("a force per length", "N/m", "\"2 N/mm\"", "N/mm", "lbf/in"),
    [SHV_Q_HEAT_PER_KELVIN] = KIND("a heat per kelvin", "J/K", "\"20 kJ/K\"", "kJ/K", "J/K"),
    [SHV_Q_SPECIFIC_CONSUMPTION] =
        KIND("a fuel mass per work", "kg/J", "\"260 g/kWh\"", "g/kWh", "lb/hp/h"),
};

/* clang-format on */

struct shv_units {
    ut_system *system;
    ut_unit *target[SHV_Q_COUNT];
};

enum tag { TAG_NONE, TAG_ABSOLUTE, TAG_GAUGE };

const char *shv_quantity_unit(enum shv_quantity quantity)
{
    return kinds[quantity].unit;
}

const char *shv_quantity_accepts(enum shv_quantity quantity)
{
    return kinds[quantity].accepts;
}

const char *shv_quantity_noun(enum shv_quantity quantity)
{
    return kinds[quantity].noun;
}

const char *shv_quantity_likely(enum shv_quantity quantity, size_t index)
{
    return index < LIKELY_MAX ? kinds[quantity].likely[index] : NULL;
}

double shv_units_plain(enum shv_quantity quantity, double number)
{
    return quantity == SHV_Q_ROTATION ? number / 60.0 : number;
}

/* Adds "8 psi" in quotes behind what is there already. */
static void add_spelling(char *text, size_t size, size_t already, bool is_last, double number,
                         const char *unit)
{
    size_t used = strlen(text);
    const char *between = already == 0 ? "" : is_last ? " or " : ", ";
    (void)snprintf(text + used, size - used, "%s\"%.10g %s\"", between, number, unit);
}

const char *shv_units_spellings(const struct shv_units *units, enum shv_quantity quantity,
                                double number, double low, double high, char *text, size_t size)
{
    const char *const *likely = kinds[quantity].likely;
    bool fits[LIKELY_MAX] = {false};
    size_t known = 0, count = 0;
    for (; known < LIKELY_MAX && likely[known] != NULL; known++) {
        char one[64];
        double value;
        struct shv_message unused;
        (void)snprintf(one, sizeof one, "%.17g %s", number, likely[known]);
        fits[known] = shv_units_read(units, quantity, one, &value, &unused) == SHV_OK &&
                      value >= low && value <= high;
        count += fits[known] ? 1 : 0;
    }
    text[0] = '\0';
    for (size_t i = 0, done = 0; i < known; i++) {
        if (fits[i] || count == 0) {
            bool is_last = done + 1 == (count == 0 ? known : count);
            add_spelling(text, size, done, is_last, number, likely[i]);
            done++;
        }
    }
    return text;
}

void shv_units_free(struct shv_units *units)
{
    if (units == NULL) {
        return;
    }
    for (size_t i = 0; i < SHV_Q_COUNT; i++) {
        ut_free(units->target[i]);
    }
    ut_free_system(units->system);
    free(units);
}

/* Trade names missing from the database, or read there as something else ("mph" as milliphot).
 * Symbols are case-sensitive, so "Nm" leaves the nanometre "nm" alone. */
static bool add_trade_symbols(ut_system *system)
{
    static const char *const symbols[][2] = {
        {"rev", "turn"},      {"deg", "arc_degree"},       {"Nm", "N.m"},  {"cfm", "ft3/min"},
        {"mph", "mile/hour"}, {"PS", "metric_horsepower"}, {"CID", "in3"}, {"Wh", "W.h"},
    };
    for (size_t i = 0; i < sizeof symbols / sizeof symbols[0]; i++) {
        ut_unit *unit = ut_parse(system, symbols[i][1], UT_ASCII);
        ut_status status =
            unit == NULL ? UT_PARSE : ut_map_symbol_to_unit(symbols[i][0], UT_ASCII, unit);
        ut_free(unit);
        if (status != UT_SUCCESS) {
            return false;
        }
    }
    return true;
}

static bool parse_targets(struct shv_units *units)
{
    for (size_t i = 0; i < SHV_Q_COUNT; i++) {
        units->target[i] = ut_parse(units->system, kinds[i].unit, UT_ASCII);
        if (units->target[i] == NULL) {
            return false;
        }
    }
    return true;
}

enum shv_status shv_units_open(struct shv_units **units, struct shv_message *message)
{
    *units = NULL;
    struct shv_units *fresh = calloc(1, sizeof *fresh);
    if (fresh == NULL) {
        return shv_fail(message, SHV_NO_MEMORY, "no memory for the units");
    }
    /* The library would print to stderr by itself. */
    ut_set_error_message_handler(ut_ignore);
    fresh->system = ut_read_xml(NULL);
    if (fresh->system == NULL || !add_trade_symbols(fresh->system) || !parse_targets(fresh)) {
        shv_units_free(fresh);
        return shv_fail(message, SHV_IO, "cannot read the database of units of UDUNITS-2");
    }
    *units = fresh;
    return SHV_OK;
}

/* Reads a finite decimal number; *end is set behind it. Hex, "inf" and "nan" are no numbers here.
 */
static bool read_number(const char *text, double *number, const char **end)
{
    const char *digits = text + strspn(text, " \t");
    digits += (*digits == '+' || *digits == '-') ? 1 : 0;
    if (!isdigit((unsigned char)*digits) && *digits != '.') {
        return false;
    }
    if (digits[0] == '0' && (digits[1] == 'x' || digits[1] == 'X')) {
        return false;
    }
    char *stop;
    *number = strtod(text, &stop);
    *end = stop;
    return stop != text && isfinite(*number);
}

/* Copies the unit without blanks around it; false when it is too long. */
static bool copy_unit(const char *text, char unit[UNIT_TEXT_MAX + 1])
{
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length > 0 && strchr(" \t", text[length - 1]) != NULL) {
        length--;
    }
    if (length > UNIT_TEXT_MAX) {
        return false;
    }
    memcpy(unit, text, length);
    unit[length] = '\0';
    return true;
}

/* Takes the word `word` off the end of `unit`, if it stands there by itself. */
static bool take_word(char *unit, const char *word)
{
    size_t length = strlen(unit), tail = strlen(word);
    if (length <= tail || strcmp(unit + length - tail, word) != 0 ||
        strchr(" \t", unit[length - tail - 1]) == NULL) {
        return false;
    }
    length -= tail;
    while (length > 0 && strchr(" \t", unit[length - 1]) != NULL) {
        length--;
    }
    unit[length] = '\0';
    return true;
}

/* Takes off what says gauge or absolute. */
static enum tag take_tag(char *unit)
{
    static const struct {
        const char *text, *unit;
        enum tag tag;
    } joined[] = {{"psia", "psi", TAG_ABSOLUTE},
                  {"bara", "bar", TAG_ABSOLUTE},
                  {"psig", "psi", TAG_GAUGE},
                  {"barg", "bar", TAG_GAUGE}};
    if (take_word(unit, "absolute") || take_word(unit, "abs")) {
        return TAG_ABSOLUTE;
    }
    if (take_word(unit, "gauge")) {
        return TAG_GAUGE;
    }
    for (size_t i = 0; i < sizeof joined / sizeof joined[0]; i++) {
        if (strcasecmp(unit, joined[i].text) == 0) {
            memcpy(unit, joined[i].unit, strlen(joined[i].unit) + 1); /* shorter than the text */
            return joined[i].tag;
        }
    }
    return TAG_NONE;
}

static bool is_pressure(enum shv_quantity quantity)
{
    return quantity == SHV_Q_PRESSURE_ABSOLUTE || quantity == SHV_Q_PRESSURE_GAUGE ||
           quantity == SHV_Q_PRESSURE_DIFFERENCE;
}

static enum shv_status check_tag(enum shv_quantity quantity, enum tag tag, const char *text,
                                 struct shv_message *message)
{
    static const char *const needed[SHV_Q_COUNT] = {
        [SHV_Q_PRESSURE_ABSOLUTE] = "an absolute pressure",
        [SHV_Q_PRESSURE_GAUGE] = "a gauge pressure (above ambient)",
        [SHV_Q_PRESSURE_DIFFERENCE] = "a pressure difference"};
    if (tag == TAG_NONE || (tag == TAG_ABSOLUTE && quantity == SHV_Q_PRESSURE_ABSOLUTE) ||
        (tag == TAG_GAUGE && quantity == SHV_Q_PRESSURE_GAUGE)) {
        return SHV_OK;
    }
    return shv_fail(message, SHV_BAD_INPUT, "found \"%s\": this is %s, but %s is needed here", text,
                    tag == TAG_GAUGE ? "a gauge pressure (above ambient)" : "an absolute pressure",
                    needed[quantity]);
}

/* Takes "/rev", "/ turn" or "per revolution" off the end: a volume per turn is that volume. */
static void take_per_turn(char *unit)
{
    static const char *const turns[] = {"rev", "r", "revolution", "turn"};
    static const char *const per[] = {"/", " per"};
    size_t end = strlen(unit);
    for (size_t i = 0; i < sizeof turns / sizeof turns[0]; i++) {
        size_t length = strlen(turns[i]);
        if (end <= length || strcmp(unit + end - length, turns[i]) != 0) {
            continue;
        }
        size_t head = end - length;
        while (head > 0 && unit[head - 1] == ' ') {
            head--;
        }
        for (size_t k = 0; k < sizeof per / sizeof per[0]; k++) {
            size_t word = strlen(per[k]);
            if (head > word && strncmp(unit + head - word, per[k], word) == 0) {
                for (head -= word; head > 0 && unit[head - 1] == ' ';) {
                    head--;
                }
                unit[head] = '\0';
                return;
            }
        }
    }
}

/* Digits are only exponents: UDUNITS-2 would take "psi 5" as five psi, and "s @ 3" has an origin.
 * The one number allowed is the 1 of "1/K". */
static bool is_plain_unit(const char *unit)
{
    const char *next = strncmp(unit, "1/", 2) == 0 ? unit + 1 : unit;
    char before = ' ';
    for (; *next != '\0'; next++) {
        if (*next == '@' || iscntrl((unsigned char)*next)) {
            return false;
        }
        if (isdigit((unsigned char)*next) && !isalnum((unsigned char)before) && before != '^' &&
            before != '-') {
            return false;
        }
        before = *next;
    }
    return true;
}

/* Whether unit and target go through the same angles. UDUNITS-2 takes a radian for the number 1,
 * and would convert "Hz" to a speed of rotation and "L/rev" to a sixth of a litre. */
static bool same_angles(const ut_unit *unit, const ut_unit *target)
{
    char text[256];
    ut_unit *left = ut_divide(unit, target);
    int length = left == NULL ? -1 : ut_format(left, text, sizeof text, UT_ASCII | UT_DEFINITION);
    ut_free(left);
    return length >= 0 && (size_t)length < sizeof text && strstr(text, "rad") == NULL;
}

/* Factor and origin of a unit against the target; false when they are not of one kind, or the
 * scale is not straight (decibels). */
static bool scale_of(const ut_unit *unit, const ut_unit *target, double *factor, double *origin)
{
    if (!ut_are_convertible(unit, target)) {
        return false;
    }
    cv_converter *converter = ut_get_converter((ut_unit *)unit, (ut_unit *)target);
    if (converter == NULL) {
        return false;
    }
    *origin = cv_convert_double(converter, 0.0);
    *factor = cv_convert_double(converter, 1.0) - *origin;
    double two = cv_convert_double(converter, 2.0) - *origin;
    cv_free(converter);
    return isfinite(*origin) && isfinite(two) && fabs(two - 2.0 * *factor) <= 1e-9 * fabs(two);
}

/* "; units of it are mm, in, m and ft"; "" for a plain number. Returns `text`. */
static const char *units_of(enum shv_quantity quantity, char text[UNITS_OF_MAX])
{
    const char *const *likely = kinds[quantity].likely;
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < LIKELY_MAX && likely[i] != NULL && used < UNITS_OF_MAX; i++) {
        bool last = i + 1 == LIKELY_MAX || likely[i + 1] == NULL;
        int length = snprintf(text + used, UNITS_OF_MAX - used, "%s%s",
                              i == 0 ? "; it is in "
                              : last ? " or "
                                     : ", ",
                              likely[i]);
        used += length > 0 ? (size_t)length : 0;
    }
    return text;
}

static enum shv_status wrong_kind(enum shv_quantity quantity, const char *text,
                                  struct shv_message *message)
{
    char units[UNITS_OF_MAX];
    return shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which is not %s%s", text,
                    kinds[quantity].noun, units_of(quantity, units));
}

static enum shv_status wrong_angle(enum shv_quantity quantity, const char *text,
                                   struct shv_message *message)
{
    bool needed = quantity == SHV_Q_ROTATION || quantity == SHV_Q_ANGLE;
    return shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which is not %s: its unit has %s", text,
                    kinds[quantity].noun,
                    needed ? "no turn or angle in it" : "a turn or angle too many");
}

/* Converts number * unit with exactly the arithmetic of the library's converter. */
static bool convert(const ut_unit *unit, const ut_unit *target, double number, double *value)
{
    cv_converter *converter = ut_get_converter((ut_unit *)unit, (ut_unit *)target);
    if (converter == NULL) {
        return false;
    }
    *value = cv_convert_double(converter, number);
    cv_free(converter);
    return isfinite(*value);
}

static enum shv_status read_unit(const struct shv_units *units, enum shv_quantity quantity,
                                 const char *text, const char *name, double number, double *value,
                                 struct shv_message *message)
{
    char usual[UNIT_TEXT_MAX + 1], known[UNITS_OF_MAX];
    bool plain = is_plain_unit(name) && unit_names_read(quantity, name, usual, sizeof usual);
    ut_unit *unit = plain ? ut_parse(units->system, usual, UT_UTF8) : NULL;
    if (unit == NULL) {
        return shv_fail(message, SHV_BAD_INPUT, "found \"%s\", whose unit \"%s\" is not known%s",
                        text, name, units_of(quantity, known));
    }
    const ut_unit *target = units->target[quantity];
    double factor, origin, result = NAN;
    enum shv_status status = SHV_OK;
    if (!scale_of(unit, target, &factor, &origin)) {
        status = wrong_kind(quantity, text, message);
    } else if (!same_angles(unit, target)) {
        status = wrong_angle(quantity, text, message);
    } else if (origin != 0.0 && quantity != SHV_Q_TEMPERATURE) {
        status = shv_fail(message, SHV_BAD_INPUT,
                          "found \"%s\": this is a temperature, but a temperature difference is "
                          "needed here; write it as \"5 K\" or \"9 degR\"",
                          text);
    } else if (!convert(unit, target, number, &result)) {
        status = shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which is too large", text);
    } else if (quantity == SHV_Q_TEMPERATURE && !(result > 0.0)) {
        status = shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which is not above absolute zero",
                          text);
    }
    ut_free(unit);
    if (status == SHV_OK) {
        *value = shv_units_plain(quantity, result);
    }
    return status;
}

/* Density of dry air in the state behind a volume flow: a pressure and a temperature, in any order.
 */
static bool read_state(const struct shv_units *units, const char *text, double *density)
{
    char part[2][UNIT_TEXT_MAX + 1];
    const char *comma = strchr(text, ','), *second = comma == NULL ? NULL : comma + 1;
    struct shv_message unused;
    if (comma == NULL || (size_t)(comma - text) > UNIT_TEXT_MAX || strlen(second) > UNIT_TEXT_MAX) {
        return false;
    }
    (void)snprintf(part[0], sizeof part[0], "%.*s", (int)(comma - text), text);
    (void)snprintf(part[1], sizeof part[1], "%s", second);
    for (size_t i = 0; i < 2; i++) {
        double pressure, temperature;
        if (shv_units_read(units, SHV_Q_PRESSURE_ABSOLUTE, part[i], &pressure, &unused) == SHV_OK &&
            shv_units_read(units, SHV_Q_TEMPERATURE, part[1 - i], &temperature, &unused) ==
                SHV_OK) {
            const struct shv_air_model dry = {.kind = SHV_AIR_NASA};
            struct shv_gas gas;
            shv_gas_init(&gas, &dry, 0.0);
            *density = shv_gas_density(&gas, pressure, temperature);
            return true;
        }
    }
    return false;
}

/* A volume of air is a mass only in a state, which must be said. */
static enum shv_status read_air_flow(const struct shv_units *units, const char *text, char *unit,
                                     double number, double *value, struct shv_message *message)
{
    static const char at[] = " at ";
    char *state = strstr(unit, at);
    struct shv_message unused;
    double flow, density;
    if (state != NULL) {
        *state = '\0';
        state += strlen(at);
    }
    if (read_unit(units, SHV_Q_VOLUME_FLOW, text, unit, number, &flow, &unused) != SHV_OK) {
        return state == NULL ? read_unit(units, SHV_Q_AIR_FLOW, text, unit, number, value, message)
                             : wrong_kind(SHV_Q_AIR_FLOW, text, message);
    }
    if (state == NULL || !read_state(units, state, &density)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "found \"%s\", a volume flow%s; say the state of the air that it is meant "
                        "at, as in \"%.10g %s at 14.7 psi, 77 degF\"",
                        text, state == NULL ? "" : " in a state that does not read", number, unit);
    }
    *value = flow * density;
    return SHV_OK;
}

enum shv_status shv_units_read(const struct shv_units *units, enum shv_quantity quantity,
                               const char *text, double *value, struct shv_message *message)
{
    double number;
    const char *rest;
    char unit[UNIT_TEXT_MAX + 1];
    if (!read_number(text, &number, &rest) || !copy_unit(rest, unit)) {
        return shv_fail(message, SHV_BAD_INPUT, "found \"%.60s\", which does not read as %s", text,
                        kinds[quantity].noun);
    }
    if (quantity == SHV_Q_NUMBER) {
        bool percent = strcmp(unit, "%") == 0 || strcmp(unit, "percent") == 0;
        if (!percent && unit[0] != '\0') {
            return wrong_kind(quantity, text, message);
        }
        *value = percent ? number / 100.0 : number;
        return SHV_OK;
    }
    enum tag tag = is_pressure(quantity) ? take_tag(unit) : TAG_NONE;
    if (unit[0] == '\0') {
        return shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which has no unit", text);
    }
    enum shv_status status = check_tag(quantity, tag, text, message);
    if (status != SHV_OK) {
        return status;
    }
    if (quantity == SHV_Q_DISPLACEMENT) {
        take_per_turn(unit);
    }
    status = quantity == SHV_Q_AIR_FLOW
                 ? read_air_flow(units, text, unit, number, &number, message)
                 : read_unit(units, quantity, text, unit, number, &number, message);
    if (status == SHV_OK && quantity == SHV_Q_PRESSURE_ABSOLUTE && !(number > 0.0)) {
        return shv_fail(message, SHV_BAD_INPUT, "found \"%s\", which is not above zero pressure",
                        text);
    }
    if (status == SHV_OK) {
        *value = number;
    }
    return status;
}
