/* A kit put together from the choices of a command line (src/cli/pick.h). */
#include "cli/pick.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

/* Parts that are picked by name. */
enum part { BLOWER, COOLER, FUEL, INJECTOR, PUMP, PARTS };
static const char *const part_keys[PARTS] = {"blower", "cooler", "fuel", "injector", "pump"};

/* deg on the blower's pulley that an idler can make, as in a study. */
#define LEAST_WRAP 30.0
#define MOST_WRAP 330.0

/* What has been picked so far; NAN and -1 where nothing was. */
struct picked {
    long part[PARTS];
    double crank, pulley, ratio, effectiveness, lambda, afr, ignition_margin, injector_flow,
        injector_mass, ribs, wrap;
    char open[256]; /* keys that were not picked, for the note about them */
};

static const struct picked nothing = {
    {-1, -1, -1, -1, -1}, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, ""};

static bool twice(const char *key, bool picked)
{
    if (picked) {
        cli_error("point", "--pick %s: given twice", key);
    }
    return picked;
}

static size_t part_count(const struct shv_study *study, enum part part)
{
    const size_t counts[PARTS] = {study->blower_count, study->cooler_count, study->fuel_count,
                                  study->injector_count, study->pump_count};
    return counts[part];
}

static const char *part_name(const struct shv_study *study, enum part part, size_t i)
{
    switch (part) {
    case BLOWER:
        return study->blowers[i].name;
    case COOLER:
        return study->coolers[i].name;
    case FUEL:
        return study->fuels[i].name;
    case INJECTOR:
        return study->injectors[i].name;
    case PUMP:
        return study->pumps[i].name;
    case PARTS:
        break;
    }
    return "";
}

static bool pick_part(const struct shv_study *study, enum part part, const char *value,
                      struct picked *p)
{
    size_t count = part_count(study, part);
    if (twice(part_keys[part], p->part[part] >= 0)) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(part_name(study, part, i), value) == 0) {
            p->part[part] = (long)i;
            return true;
        }
    }
    fprintf(stderr, "sheave point: --pick %s: found \"%s\"; the study has", part_keys[part], value);
    for (size_t i = 0; i < count; i++) {
        fprintf(stderr, "%s \"%s\"", i ? "," : "", part_name(study, part, i));
    }
    fputc('\n', stderr);
    return false;
}

struct number_pick {
    struct pick_range range;
    double *target;
};

bool pick_quantity(const char *command, const struct shv_units *units, const char *option,
                   const struct pick_range *range, const char *value, double *x)
{
    struct shv_message message;
    const char *gap = *range->key ? " " : "";
    char *end, likely[256];
    double plain = strtod(value, &end);
    if (range->quantity != SHV_Q_NUMBER && end != value && *end == '\0' && isfinite(plain)) {
        cli_error(command, "--%s%s%s: found \"%s\", which has no unit; accepted: %s", option, gap,
                  range->key, value,
                  shv_units_spellings(units, range->quantity, plain, range->low, range->high,
                                      likely, sizeof likely));
        return false;
    }
    if (shv_units_read(units, range->quantity, value, x, &message) != SHV_OK) {
        cli_error(command, "--%s%s%s: %s", option, gap, range->key, message.text);
        return false;
    }
    return true;
}

static bool pick_number(const struct shv_units *units, const struct number_pick *n,
                        const char *value)
{
    double x;
    const struct pick_range *range = &n->range;
    if (twice(range->key, !isnan(*n->target)) ||
        !pick_quantity("point", units, "pick", range, value, &x)) {
        return false;
    }
    if (!(x >= range->low && x <= range->high)) {
        const char *unit = shv_quantity_unit(range->quantity);
        cli_error("point", "--pick %s: found \"%s\"; accepted %g to %g%s%s", range->key, value,
                  range->low, range->high, *unit ? " " : "", unit);
        return false;
    }
    *n->target = x;
    return true;
}

/* Injectors are sold by volume or by mass of the test fluid. */
static bool is_mass_flow(const struct shv_units *units, const char *value)
{
    struct shv_message unused;
    double flow;
    return shv_units_read(units, SHV_Q_MASS_FLOW, value, &flow, &unused) == SHV_OK;
}

static bool pick(const struct shv_study *study, const struct shv_units *units, const char *text,
                 struct picked *p)
{
    char key[32];
    const char *equals = strchr(text, '=');
    if (!equals || equals == text || (size_t)(equals - text) >= sizeof key) {
        cli_error("point", "--pick: found \"%s\"; KEY=VALUE is needed", text);
        return false;
    }
    memcpy(key, text, (size_t)(equals - text));
    key[equals - text] = '\0';
    const char *value = equals + 1;
    for (int i = 0; i < PARTS; i++) {
        if (strcmp(key, part_keys[i]) == 0) {
            return pick_part(study, (enum part)i, value, p);
        }
    }
    double least_lambda, most_lambda;
    shv_study_lambda_range(&least_lambda, &most_lambda);
    const struct number_pick numbers[] = {
        {{"crank_pulley", SHV_Q_LENGTH, 0.01, 1.0}, &p->crank},
        {{"blower_pulley", SHV_Q_LENGTH, 0.01, 1.0}, &p->pulley},
        {{"ratio", SHV_Q_NUMBER, 0.05, 20.0}, &p->ratio},
        {{"effectiveness", SHV_Q_NUMBER, 0.05, 0.98}, &p->effectiveness},
        {{"lambda", SHV_Q_NUMBER, least_lambda, most_lambda}, &p->lambda},
        {{"afr", SHV_Q_NUMBER, 3.0, 25.0}, &p->afr},
        {{"ignition_margin", SHV_Q_ANGLE, 0.0, 20.0}, &p->ignition_margin},
        {{"injector_flow", SHV_Q_VOLUME_FLOW, 1e-8, 1e-3}, &p->injector_flow},
        {{"ribs", SHV_Q_NUMBER, 1.0, 40.0}, &p->ribs},
        {{"wrap", SHV_Q_ANGLE, 0.0, MOST_WRAP}, &p->wrap}};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        struct number_pick number = numbers[i];
        if (strcmp(number.range.key, key) == 0) {
            if (number.target == &p->injector_flow && is_mass_flow(units, value)) {
                number.range.quantity = SHV_Q_MASS_FLOW;
                number.target = &p->injector_mass;
            }
            return pick_number(units, &number, value);
        }
    }
    cli_error(
        "point",
        "--pick: unknown key \"%s\"; keys are blower, crank_pulley, blower_pulley, ratio, "
        "cooler, effectiveness, fuel, lambda, afr, ignition_margin, injector, injector_flow, pump, "
        "ribs, wrap",
        key);
    return false;
}

/* Notes a choice that was left open, where the study has more than one. */
static void note_open(struct picked *p, const char *key, bool picked, size_t count)
{
    size_t used = strlen(p->open);
    if (!picked && count > 1) {
        (void)snprintf(p->open + used, sizeof p->open - used, "%s%s", used ? ", " : "", key);
    }
}

static void note_part(const struct shv_study *study, struct picked *p, enum part part)
{
    note_open(p, part_keys[part], p->part[part] >= 0, part_count(study, part));
}

static size_t part_of(const struct picked *p, enum part part)
{
    return p->part[part] < 0 ? 0 : (size_t)p->part[part];
}

/* A listed value stands for one that differs from it by rounding only, so that the same tables
 * serve as in the sweep. */
static double listed(const double *list, size_t count, double value)
{
    for (size_t i = 0; i < count; i++) {
        if (fabs(list[i] - value) <= 1e-9 * fabs(value)) {
            return list[i];
        }
    }
    return value;
}

static bool complete_drive(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    const struct shv_drive *d = &study->drive;
    kit->crank_diameter = kit->blower_diameter = NAN;
    kit->ratio = p->ratio;
    if (!isnan(p->ratio)) {
        if (!isnan(p->crank) || !isnan(p->pulley)) {
            cli_error("point", "--pick: give the ratio or the pulleys, not both");
            return false;
        }
        return true;
    }
    note_open(p, "crank_pulley", !isnan(p->crank), d->crank_count);
    note_open(p, "blower_pulley", !isnan(p->pulley), d->blower_count);
    kit->crank_diameter = isnan(p->crank) ? d->crank_pulleys[0] : p->crank;
    kit->blower_diameter = isnan(p->pulley) ? d->blower_pulleys[0] : p->pulley;
    kit->ratio = shv_drive_ratio(kit->crank_diameter, kit->blower_diameter, d->line_offset);
    return true;
}

static bool complete_cooler(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    note_part(study, p, COOLER);
    kit->cooler = part_of(p, COOLER);
    const struct shv_cooler *c = &study->coolers[kit->cooler];
    if (c->is_none) {
        if (!isnan(p->effectiveness)) {
            cli_error("point", "--pick effectiveness: there is no cooler");
            return false;
        }
        return true;
    }
    note_open(p, "effectiveness", !isnan(p->effectiveness), c->choices);
    kit->effectiveness = isnan(p->effectiveness) ? c->effectiveness[0] : p->effectiveness;
    double ratio = shv_cooler_rated_ratio(c);
    if (isinf(shv_cooler_ntu(c->arrangement, kit->effectiveness, ratio))) {
        cli_error("point", "--pick effectiveness: %s can't reach %g with its coolant flow", c->name,
                  kit->effectiveness);
        return false;
    }
    return true;
}

static bool complete_injector(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    note_part(study, p, INJECTOR);
    kit->injector = part_of(p, INJECTOR);
    const struct shv_injector_part *part = &study->injectors[kit->injector];
    if (!isnan(p->injector_mass)) {
        p->injector_flow = p->injector_mass / part->test_density;
    }
    if (part->is_unlimited && !isnan(p->injector_flow)) {
        cli_error("point", "--pick injector_flow: the study names no injectors");
        return false;
    }
    note_open(p, "injector_flow", !isnan(p->injector_flow), part->choices);
    kit->injector_flow = isnan(p->injector_flow)
                             ? part->rated_flow[0]
                             : listed(part->rated_flow, part->choices, p->injector_flow);
    return true;
}

static bool sound_belt(const struct picked *p)
{
    bool whole = isnan(p->ribs) || p->ribs == floor(p->ribs);
    bool wraps = !(p->wrap > 0.0 && p->wrap < LEAST_WRAP); /* also when none is picked */
    if (!whole) {
        cli_error("point", "--pick ribs: found %.10g; a whole number is needed", p->ribs);
    }
    if (!wraps) {
        cli_error(
            "point",
            "--pick wrap: found %.10g deg; accepted %g to %g deg, or 0 deg for that of the layout",
            p->wrap, LEAST_WRAP, MOST_WRAP);
    }
    return whole && wraps;
}

static bool complete_belt(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    const struct shv_belt_setup *b = &study->drive.belt;
    if (!b->given) {
        if (!isnan(p->ribs) || !isnan(p->wrap)) {
            cli_error("point", "--pick %s: the study describes no belt",
                      isnan(p->ribs) ? "wrap" : "ribs");
            return false;
        }
        return true;
    }
    if (!sound_belt(p)) {
        return false;
    }
    note_open(p, "ribs", !isnan(p->ribs), b->rib_choices);
    note_open(p, "wrap", !isnan(p->wrap), b->wrap_choices);
    kit->ribs = isnan(p->ribs) ? b->ribs[0] : p->ribs;
    kit->wrap = isnan(p->wrap) ? b->wraps[0] : listed(b->wraps, b->wrap_choices, p->wrap);
    return true;
}

/* An air-fuel ratio is one of the fuel picked. */
static bool take_afr(const struct shv_study *study, struct picked *p)
{
    if (isnan(p->afr)) {
        return true;
    }
    if (!isnan(p->lambda)) {
        cli_error("point", "--pick afr: give afr or lambda, not both");
        return false;
    }
    struct shv_message why;
    double stoichiometric = study->fuels[part_of(p, FUEL)].stoichiometric;
    if (shv_study_lambda(p->afr, stoichiometric, &p->lambda, &why) != SHV_OK) {
        cli_error("point", "--pick afr: %s", why.text);
        return false;
    }
    return true;
}

static bool complete_mixture(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    note_part(study, p, FUEL);
    if (!take_afr(study, p)) {
        return false;
    }
    note_open(p, "lambda", !isnan(p->lambda), study->lambda_count);
    note_open(p, "ignition_margin", !isnan(p->ignition_margin), study->margin_count);
    kit->fuel = part_of(p, FUEL);
    kit->lambda = isnan(p->lambda) ? study->lambdas[0]
                                   : listed(study->lambdas, study->lambda_count, p->lambda);
    kit->ignition_margin =
        isnan(p->ignition_margin)
            ? study->ignition_margins[0]
            : listed(study->ignition_margins, study->margin_count, p->ignition_margin);
    return true;
}

static bool complete(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    *kit = (struct shv_kit){0};
    /* Each is looked at, so that all that is wrong is told at once. */
    note_part(study, p, BLOWER);
    bool ok = complete_drive(study, p, kit);
    ok = complete_cooler(study, p, kit) && ok;
    ok = complete_mixture(study, p, kit) && ok;
    ok = complete_injector(study, p, kit) && ok;
    note_part(study, p, PUMP);
    ok = complete_belt(study, p, kit) && ok;
    kit->blower = part_of(p, BLOWER);
    kit->pump = part_of(p, PUMP);
    if (ok && p->open[0]) {
        cli_error("point", "not picked, so the first of the study: %s", p->open);
    }
    return ok;
}

/* ---- what a run has found ---- */

/* Numbers that a kit and what was picked have, by the same place in both. */
enum number { CRANK, PULLEY, RATIO, EFFECTIVENESS, LAMBDA, MARGIN, FLOW, RIBS, WRAP, NUMBERS };
static const char *const number_keys[NUMBERS] = {
    "crank_pulley",    "blower_pulley", "ratio", "effectiveness", "lambda",
    "ignition_margin", "injector_flow", "ribs",  "wrap"};

static void numbers_picked(struct picked *p, double *number[NUMBERS])
{
    double *const all[NUMBERS] = {&p->crank,         &p->pulley, &p->ratio,
                                  &p->effectiveness, &p->lambda, &p->ignition_margin,
                                  &p->injector_flow, &p->ribs,   &p->wrap};
    memcpy(number, all, sizeof all);
}

static void numbers_of(const struct shv_kit *k, double number[NUMBERS])
{
    const double all[NUMBERS] = {
        k->crank_diameter,  k->blower_diameter, k->ratio, k->effectiveness, k->lambda,
        k->ignition_margin, k->injector_flow,   k->ribs,  k->wrap};
    memcpy(number, all, sizeof all);
}

static void parts_of(const struct shv_kit *k, size_t part[PARTS])
{
    const size_t all[PARTS] = {k->blower, k->cooler, k->fuel, k->injector, k->pump};
    memcpy(part, all, sizeof all);
}

/* Whether a kit has all that was picked; `sizes` false looks at the parts alone. */
static bool fits(struct picked *p, const struct shv_kit *kit, bool sizes)
{
    double *picked[NUMBERS], has[NUMBERS];
    size_t part[PARTS];
    parts_of(kit, part);
    for (int i = 0; i < PARTS; i++) {
        if (p->part[i] >= 0 && (size_t)p->part[i] != part[i]) {
            return false;
        }
    }
    numbers_picked(p, picked);
    numbers_of(kit, has);
    for (int i = 0; sizes && i < NUMBERS; i++) {
        double away = fabs(*picked[i] - has[i]);
        if (!isnan(*picked[i]) && !(away <= 1e-6 * fabs(has[i]))) {
            return false;
        }
    }
    return true;
}

/* The best kit that has all that was picked, else the best with the same parts, whose sizes may be
 * those of no kit. */
static const struct shv_kit *best_like(struct picked *p, const struct found *found)
{
    for (int sizes = 1; sizes >= 0; sizes--) {
        for (size_t i = 0; i < found->count; i++) {
            if (fits(p, &found->kit[i], sizes)) {
                return &found->kit[i];
            }
        }
    }
    return NULL;
}

static bool applies(const struct shv_study *study, const struct shv_kit *kit, int number,
                    bool by_ratio)
{
    switch (number) {
    case CRANK:
    case PULLEY:
        return !by_ratio;
    case RATIO:
        return false;
    case EFFECTIVENESS:
        return !study->coolers[kit->cooler].is_none;
    case FLOW:
        return !study->injectors[kit->injector].is_unlimited;
    case RIBS:
    case WRAP:
        return study->drive.belt.given;
    default:
        return true;
    }
}

/* What is open becomes that of the kit. */
static void take_open(const struct shv_study *study, struct picked *p, const struct shv_kit *kit)
{
    double *picked[NUMBERS], has[NUMBERS];
    size_t part[PARTS];
    bool by_ratio = !isnan(p->ratio);
    parts_of(kit, part);
    for (int i = 0; i < PARTS; i++) {
        note_part(study, p, (enum part)i);
        p->part[i] = (long)part[i];
    }
    numbers_picked(p, picked);
    numbers_of(kit, has);
    const size_t count[NUMBERS] = {study->drive.crank_count,
                                   study->drive.blower_count,
                                   0,
                                   study->coolers[kit->cooler].choices,
                                   study->lambda_count,
                                   study->margin_count,
                                   study->injectors[kit->injector].choices,
                                   study->drive.belt.rib_choices,
                                   study->drive.belt.wrap_choices};
    for (int i = 0; i < NUMBERS; i++) {
        if (isnan(*picked[i]) && applies(study, kit, i, by_ratio)) {
            note_open(p, number_keys[i], false, count[i]);
            *picked[i] = has[i];
        }
    }
}

static void take_found(const struct shv_study *study, struct picked *p, const struct found *found)
{
    const struct shv_kit *kit = best_like(p, found);
    if (kit == NULL) {
        return;
    }
    take_open(study, p, kit);
    if (p->open[0]) {
        cli_error("point", "not picked, so as in kit %zu of %s: %s", (size_t)(kit - found->kit) + 1,
                  found->folder, p->open);
        p->open[0] = '\0';
    }
}

bool pick_kit(const struct shv_study *study, const struct shv_units *units,
              const char *const *choices, size_t count, const struct found *found,
              struct shv_kit *kit)
{
    struct picked p = nothing;
    bool ok = true;
    for (size_t i = 0; i < count; i++) {
        ok = pick(study, units, choices[i], &p) && ok;
    }
    if (ok) {
        take_found(study, &p, found);
    }
    return ok && complete(study, &p, kit);
}
