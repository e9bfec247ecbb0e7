/* Names of units in the trade (unit_names.h). */
#include "study/unit_names.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

struct unit_name {
    const char *written; /* compared without case; blanks, "-" and "*" between words are points */
    const char *meant;
};

/* A whole unit, where a quantity of this kind is meant. */
static const struct {
    enum shv_quantity quantity;
    struct unit_name name;
} of_quantity[] = {
    {SHV_Q_TORQUE, {"lb.ft", "lbf.ft"}},
    {SHV_Q_TORQUE, {"ft.lb", "lbf.ft"}},
    {SHV_Q_TORQUE, {"ft.lbs", "lbf.ft"}},
    {SHV_Q_TORQUE, {"lbs.ft", "lbf.ft"}},
    {SHV_Q_TORQUE, {"lbft", "lbf.ft"}},
    {SHV_Q_TORQUE, {"ftlb", "lbf.ft"}},
    {SHV_Q_TORQUE, {"ftlbs", "lbf.ft"}},
    {SHV_Q_TORQUE, {"ft.lbf", "lbf.ft"}},
    {SHV_Q_TORQUE, {"in.lb", "lbf.in"}},
    {SHV_Q_TORQUE, {"in.lbs", "lbf.in"}},
    {SHV_Q_TORQUE, {"nm", "N.m"}},
    {SHV_Q_TEMPERATURE, {"C", "degC"}},
    {SHV_Q_TEMPERATURE, {"F", "degF"}},
    {SHV_Q_TEMPERATURE, {"deg.C", "degC"}},
    {SHV_Q_TEMPERATURE, {"deg.F", "degF"}},
    {SHV_Q_TEMPERATURE, {"\xc2\xb0.C", "degC"}},
    {SHV_Q_TEMPERATURE, {"\xc2\xb0.F", "degF"}},
    {SHV_Q_TEMPERATURE,
     {"\xb0"
      "C",
      "degC"}},
    {SHV_Q_TEMPERATURE,
     {"\xb0"
      "F",
      "degF"}},
    {SHV_Q_ANGLE, {"\xb0", "deg"}},
    {SHV_Q_ANGLE, {"deg.BTDC", "deg"}},
    {SHV_Q_ROTATION, {"1/min", "rpm"}},
    {SHV_Q_ROTATION, {"min-1", "rpm"}},
    {SHV_Q_ROTATION, {"U/min", "rpm"}},
    {SHV_Q_ROTATION, {"r/min", "rpm"}},
    {SHV_Q_VOLUME, {"ci", "in3"}},
    {SHV_Q_DISPLACEMENT, {"ci", "in3"}},
    {SHV_Q_MASS_FLOW, {"pph", "lb/h"}},
    {SHV_Q_AIR_FLOW, {"pph", "lb/h"}},
    {SHV_Q_VOLUME_FLOW, {"gph", "gallon/h"}},
    {SHV_Q_VOLUME_FLOW, {"lph", "L/h"}},
    {SHV_Q_VOLUME_FLOW, {"lpm", "L/min"}},
    {SHV_Q_SPEED, {"kph", "km/h"}},
    {SHV_Q_SPEED, {"kmh", "km/h"}},
    {SHV_Q_SPEED, {"fps", "ft/s"}},
    {SHV_Q_LENGTH, {"in.", "in"}},
};

/* A word of any unit. */
static const struct unit_name words[] = {
    {"lbs", "lb"},        {"lbm", "lb"},       {"gal", "gallon"}, {"cid", "in3"},
    {"cuin", "in3"},      {"cu.in", "in3"},    {"cu.ft", "ft3"},  {"sq.in", "in2"},
    {"sqin", "in2"},      {"cfm", "ft3/min"},  {"cc", "cm3"},     {"rpm", "rpm"},
    {"revs", "turn"},     {"psi", "psi"},      {"kpa", "kPa"},    {"in.H2O", "in.H2O"},
    {"inH2O", "in.H2O"},  {"in.Hg", "inHg"},   {"inHg", "inHg"},  {"mmHg", "mmHg"},
    {"mm.H2O", "mm.H2O"}, {"mmH2O", "mm.H2O"}, {"hp", "hp"},      {"bhp", "hp"},
    {"kw", "kW"},         {"PS", "PS"},        {"mph", "mph"},    {"bar", "bar"},
    {"hrs", "h"},         {"sec", "s"},        {"mins", "min"},
};

#define COUNT(table) (sizeof(table) / sizeof *(table))

/* Where words are joined: a blank, a point, a dash ahead of a letter, a times. */
static bool joins(const char *at)
{
    bool dash = *at == '-' && isalpha((unsigned char)at[1]); /* at[1] only where text goes on */
    return *at == ' ' || *at == '*' || *at == '.' || dash;
}

/* Length of what stands at `at` and reads like `name`, 0 when it does not. */
static size_t reads_like(const char *at, const char *name)
{
    const char *start = at;
    for (; *name != '\0'; name++) {
        if (*name == '.' && joins(at)) {
            at += strspn(at, " .*-");
        } else if (tolower((unsigned char)*name) == tolower((unsigned char)*at) && *at != '\0') {
            at++;
        } else {
            return 0;
        }
    }
    return (size_t)(at - start);
}

static bool in_word(char c)
{
    return isalpha((unsigned char)c) || c == '_';
}

/* The word of the table that stands at `at` and ends there; the longest counts. */
static const struct unit_name *word_at(const char *at, size_t *length)
{
    const struct unit_name *best = NULL;
    *length = 0;
    for (size_t i = 0; i < COUNT(words); i++) {
        size_t here = reads_like(at, words[i].written);
        if (here > *length && !in_word(at[here])) {
            best = &words[i];
            *length = here;
        }
    }
    return best;
}

static bool put(char *unit, size_t size, size_t *used, const char *text, size_t length)
{
    if (*used + length >= size) {
        return false;
    }
    memcpy(unit + *used, text, length);
    *used += length;
    unit[*used] = '\0';
    return true;
}

static bool read_words(const char *written, char *unit, size_t size)
{
    size_t used = 0, length;
    bool fits = true;
    unit[0] = '\0';
    for (const char *at = written; fits && *at != '\0';) {
        const struct unit_name *word = in_word(*at) ? word_at(at, &length) : NULL;
        if (word != NULL) {
            fits = put(unit, size, &used, word->meant, strlen(word->meant));
            at += length;
            continue;
        }
        length = 1;
        while (in_word(*at) && in_word(at[length])) {
            length++;
        }
        fits = put(unit, size, &used, at, length);
        at += length;
    }
    return fits;
}

bool unit_names_read(enum shv_quantity quantity, const char *written, char *unit, size_t size)
{
    for (size_t i = 0; i < COUNT(of_quantity); i++) {
        const struct unit_name *name = &of_quantity[i].name;
        size_t used = 0, length = reads_like(written, name->written);
        if (of_quantity[i].quantity == quantity && length > 0 && written[length] == '\0') {
            return put(unit, size, &used, name->meant, strlen(name->meant));
        }
    }
    return read_words(written, unit, size);
}

const char *unit_names_at(enum shv_quantity quantity, size_t index)
{
    if (quantity == SHV_Q_COUNT) {
        return index < COUNT(words) ? words[index].written : NULL;
    }
    for (size_t i = 0; i < COUNT(of_quantity); i++) {
        if (of_quantity[i].quantity == quantity && index-- == 0) {
            return of_quantity[i].name.written;
        }
    }
    return NULL;
}
