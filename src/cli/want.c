/* The blower pulley that gives what is wanted (src/cli/want.h): sizes are gone through from the
 * largest, which makes least heat, and where what is wanted lies between two of them their interval
 * is halved. */
#include "cli/want.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "cli/pick.h"
#include "report/table/objective.h"
#include "report/write/text.h"
#include "report/write/words.h"

#define BEYOND 1.5 /* how far beyond the drawer an ideal is looked for, as a ratio */
#define STEPS 96
#define HALVINGS 40
#define REACHED 1e-3 /* of what is wanted; more is a jump over it */

static const struct {
    const char *name;
    enum report_measure measure;
    size_t place;
} numbers[] = {
#define ROW(name, measure, column, meaning)                                                        \
    {column, REPORT_##measure, offsetof(struct shv_point, name)},
#define OTHER(name)
    SHV_POINT_KNOWN(ROW, OTHER) SHV_POINT_ANSWERS(ROW, OTHER)};
#define NUMBERS (sizeof numbers / sizeof *numbers)

/* ---- reading ---- */

static bool find_limit(const char *name, struct want *want)
{
    for (int i = 0; i < SHV_LIMIT_POWER; i++) { /* that one is a number as well */
        if (strcmp(shv_limit_info((enum shv_limit)i)->name, name) == 0) {
            want->limit = i;
            want->measure = report_value_measure((enum shv_limit)i);
            return true;
        }
    }
    return false;
}

static bool find_number(const char *name, struct want *want)
{
    for (size_t i = 0; i < NUMBERS; i++) {
        if (strcmp(numbers[i].name, name) == 0) {
            want->limit = -1;
            want->measure = numbers[i].measure;
            want->place = numbers[i].place;
            return true;
        }
    }
    return false;
}

bool want_read(const struct shv_units *units, const char *text, struct want *want)
{
    const char *equals = strchr(text, '=');
    size_t length = equals ? (size_t)(equals - text) : 0;
    if (length == 0 || length >= sizeof want->title) {
        cli_error("point", "--want: found \"%s\"; NAME=VALUE is needed, such as \"boost=8 psi\"",
                  text);
        return false;
    }
    memcpy(want->title, text, length);
    want->title[length] = '\0';
    if (!find_limit(want->title, want) && !find_number(want->title, want)) {
        cli_error(
            "point",
            "--want: found \"%s\"; accepted: the name of a limit or of a number in curves.csv, "
            "such as boost, power, torque or charge_temperature",
            want->title);
        return false;
    }
    const struct pick_range range = {want->title, report_quantity(want->measure), 0.0, INFINITY};
    bool ok = pick_quantity("point", units, "want", &range, equals + 1, &want->value);
    for (char *c = want->title; *c != '\0'; c++) {
        *c = *c == '_' ? ' ' : *c;
    }
    return ok;
}

/* ---- sizes ---- */

struct size {
    double diameter, value; /* NAN: no answer */
    double drive, charge;   /* highest power taken from the crank, charge temperature */
    double price, objective;
    shv_limit_set broken;
};

struct want_search {
    const struct cli_study *s;
    const struct want *want;
    struct shv_kit kit;
    struct shv_curves curves;
};

static double extreme(const struct want_search *a, int limit, size_t place, bool lowest)
{
    double best = NAN;
    for (size_t i = 0; i < a->curves.sites * a->curves.speeds; i++) {
        const struct shv_point *p = &a->curves.point[i];
        double value;
        memcpy(&value, (const char *)p + place, sizeof value);
        value = limit >= 0 ? shv_point_limit_value(p, (enum shv_limit)limit) : value;
        if (isnan(value) && p->outcome != SHV_POINT_OK) {
            return NAN;
        }
        best = lowest ? fmin(best, value) : fmax(best, value);
    }
    return best;
}

static double wanted_value(const struct want_search *a)
{
    int limit = a->want->limit;
    if (limit >= 0 && shv_limit_info((enum shv_limit)limit)->of_kit) {
        return shv_hardware_limit_value(&a->curves.hardware, (enum shv_limit)limit);
    }
    bool lowest = limit >= 0 && shv_limit_info((enum shv_limit)limit)->at_least;
    return extreme(a, limit, a->want->place, lowest);
}

static struct size try_size(struct want_search *a, double diameter)
{
    struct shv_kit kit = a->kit;
    kit.blower_diameter = diameter;
    kit.ratio = shv_drive_ratio(kit.crank_diameter, diameter, a->s->study.drive.line_offset);
    shv_model_evaluate(a->s->model, &kit, &a->curves);
    const struct shv_verdict *v = &a->curves.verdict;
    return (struct size){
        .diameter = diameter,
        .value =
            v->outcome == SHV_POINT_OK || v->outcome == SHV_POINT_NO_CYCLE ? wanted_value(a) : NAN,
        .drive = extreme(a, -1, offsetof(struct shv_point, drive_power), false),
        .charge = extreme(a, -1, offsetof(struct shv_point, charge_temperature), false),
        .price = a->curves.hardware.price,
        .objective = v->objective,
        .broken = v->broken};
}

/* Between two sizes whose values lie on both sides of what is wanted. */
static struct size halve(struct want_search *a, struct size one, struct size other)
{
    for (int i = 0; i < HALVINGS; i++) {
        struct size middle = try_size(a, 0.5 * (one.diameter + other.diameter));
        if (isnan(middle.value)) {
            break;
        }
        bool same = (middle.value < a->want->value) == (one.value < a->want->value);
        *(same ? &one : &other) = middle;
    }
    return fabs(one.value - a->want->value) < fabs(other.value - a->want->value) ? one : other;
}

/* False when no size does, as far as they are looked at. */
static bool find_ideal(struct want_search *a, struct size *ideal)
{
    const struct shv_numbers *pulleys = &a->s->study.numbers[SHV_DIM_BLOWER_PULLEY];
    double largest = shv_numbers_last(pulleys) * BEYOND;
    double step = pow(pulleys->values[0] / BEYOND / largest, 1.0 / STEPS);
    struct size before = {.value = NAN};
    for (int i = 0; i <= STEPS; i++) {
        struct size here = try_size(a, largest * pow(step, i));
        bool across = (before.value - a->want->value) * (here.value - a->want->value) <= 0.0;
        if (across) { /* false for NAN */
            *ideal = halve(a, before, here);
            if (fabs(ideal->value - a->want->value) <= REACHED * fabs(a->want->value)) {
                return true;
            }
        }
        before = here;
    }
    return false;
}

/* ---- showing ---- */

static void say_size(const struct want_search *a, struct report_text *text, const char *which,
                     const struct size *size)
{
    const struct shv_study *study = &a->s->study;
    char diameter[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX], objective[REPORT_WORDS_MAX];
    char drive[REPORT_WORDS_MAX], charge[REPORT_WORDS_MAX], price[REPORT_WORDS_MAX];
    char breaks[64 * SHV_LIMIT_COUNT] = "";
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        size_t used = strlen(breaks);
        if (size->broken & SHV_LIMIT_BIT(i)) {
            (void)snprintf(breaks + used, sizeof breaks - used, "%s%s", used ? ", " : "",
                           shv_limit_info((enum shv_limit)i)->title);
        }
    }
    report_words_diameter(diameter, study->results.units, size->diameter);
    if (isnan(size->value)) {
        report_text_say(text, "%s %s: no answer.", which, diameter);
        return;
    }
    report_text_say(
        text,
        "%s %s: %s %s; ranking value %s; takes %s from the crank, charge up to %s%s%s; breaks %s.",
        which, diameter, a->want->title,
        report_words_value(value, study, a->want->measure, size->value),
        report_words_objective_value(objective, study,
                                     report_objective_shown(study, size->objective)),
        report_words_value(drive, study, REPORT_POWER, size->drive),
        report_words_value(charge, study, REPORT_TEMPERATURE, size->charge),
        size->price > 0.0 ? ", costs " : "",
        size->price > 0.0 ? report_words_money(price, study, size->price) : "",
        breaks[0] ? breaks : "nothing");
}

/* The drawer's that comes nearest, NULL when none has an answer. */
static const struct size *nearest_of(const struct want_search *a, const struct size *drawer,
                                     size_t count)
{
    const struct size *best = NULL;
    for (size_t i = 0; i < count; i++) {
        double away = fabs(drawer[i].value - a->want->value);
        if (!isnan(away) && (!best || away < fabs(best->value - a->want->value))) {
            best = &drawer[i];
        }
    }
    return best;
}

static void say_none(const struct want_search *a, struct report_text *text,
                     const struct size *drawer, size_t count)
{
    char words[REPORT_WORDS_MAX];
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        low = fmin(low, drawer[i].value);
        high = fmax(high, drawer[i].value);
    }
    report_text_say(
        text, "No size up to %g times beyond the drawer gives that: its pulleys make it %s.",
        BEYOND, report_words_span(words, a->want->measure, a->s->study.results.units, low, high));
}

static const struct size *show_sizes(struct want_search *a, struct size *drawer,
                                     struct report_text *text)
{
    const struct shv_numbers *pulleys = &a->s->study.numbers[SHV_DIM_BLOWER_PULLEY];
    struct size ideal;
    char words[REPORT_WORDS_MAX];
    for (size_t i = 0; i < pulleys->count; i++) {
        drawer[i] = try_size(a, pulleys->values[i]);
    }
    const struct size *nearest = nearest_of(a, drawer, pulleys->count);
    report_text_say(text, "Wanted: %s %s, with the rest of the kit as it is.", a->want->title,
                    report_words_value(words, &a->s->study, a->want->measure, a->want->value));
    if (!nearest) {
        return NULL;
    }
    if (find_ideal(a, &ideal)) {
        say_size(a, text, "  Ideal blower pulley", &ideal);
    } else {
        say_none(a, text, drawer, pulleys->count);
    }
    say_size(a, text, "  Nearest of the drawer", nearest);
    bool less = nearest->value < a->want->value;
    for (int way = -1; way <= 1; way += 2) { /* the neighbour on the other side of it */
        size_t next = (size_t)(nearest - drawer) + (size_t)way; /* wraps below the first */
        if (next < pulleys->count && (drawer[next].value < a->want->value) != less) {
            say_size(a, text, "  On the other side", &drawer[next]);
        }
    }
    report_text_end(text);
    return nearest;
}

enum shv_status want_pulley(const struct cli_study *s, const struct want *want, struct shv_kit *kit,
                            struct shv_message *message)
{
    struct want_search a = {.s = s, .want = want, .kit = *kit};
    struct report_text text;
    struct size *drawer = calloc(s->study.numbers[SHV_DIM_BLOWER_PULLEY].count, sizeof *drawer);
    enum shv_status status = drawer ? shv_curves_init(&a.curves, s->model, message)
                                    : shv_fail(message, SHV_NO_MEMORY, "out of memory for pulleys");
    if (status == SHV_OK) {
        report_text_init(&text, stdout);
        const struct size *nearest = show_sizes(&a, drawer, &text);
        status = report_text_finish(&text, "what is wanted", message);
        if (status == SHV_OK && nearest) {
            kit->blower_diameter = nearest->diameter;
            kit->ratio =
                shv_drive_ratio(kit->crank_diameter, nearest->diameter, s->study.drive.line_offset);
        } else if (status == SHV_OK) {
            status =
                shv_fail(message, SHV_NOTHING,
                         "--want: no pulley of the drawer has an answer in the rest of the kit");
        }
    }
    shv_curves_free(&a.curves);
    free(drawer);
    return status;
}
