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
    double crank, pulley, ratio, effectiveness, lambda, ignition_margin, injector_flow, ribs, wrap;
};

static const struct picked nothing = {
    {-1, -1, -1, -1, -1}, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};

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

bool pick_quantity(const struct shv_units *units, const char *option,
                   const struct pick_range *range, const char *value, double *x)
{
    struct shv_message message;
    const char *gap = *range->key ? " " : "";
    char *end, likely[256];
    double plain = strtod(value, &end);
    if (range->quantity != SHV_Q_NUMBER && end != value && *end == '\0' && isfinite(plain)) {
        cli_error("point", "--%s%s%s: found \"%s\", which has no unit; accepted: %s", option, gap,
                  range->key, value,
                  shv_units_spellings(units, range->quantity, plain, range->low, range->high,
                                      likely, sizeof likely));
        return false;
    }
    if (shv_units_read(units, range->quantity, value, x, &message) != SHV_OK) {
        cli_error("point", "--%s%s%s: %s", option, gap, range->key, message.text);
        return false;
    }
    return true;
}

static bool pick_number(const struct shv_units *units, const struct number_pick *n,
                        const char *value)
{
    double x;
    const struct pick_range *range = &n->range;
    if (twice(range->key, !isnan(*n->target)) || !pick_quantity(units, "pick", range, value, &x)) {
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
    const struct number_pick numbers[] = {
        {{"crank_pulley", SHV_Q_LENGTH, 0.01, 1.0}, &p->crank},
        {{"blower_pulley", SHV_Q_LENGTH, 0.01, 1.0}, &p->pulley},
        {{"ratio", SHV_Q_NUMBER, 0.05, 20.0}, &p->ratio},
        {{"effectiveness", SHV_Q_NUMBER, 0.05, 0.98}, &p->effectiveness},
        {{"lambda", SHV_Q_NUMBER, 0.7, 1.2}, &p->lambda},
        {{"ignition_margin", SHV_Q_ANGLE, 0.0, 20.0}, &p->ignition_margin},
        {{"injector_flow", SHV_Q_VOLUME_FLOW, 1e-8, 1e-3}, &p->injector_flow},
        {{"ribs", SHV_Q_NUMBER, 1.0, 40.0}, &p->ribs},
        {{"wrap", SHV_Q_ANGLE, 0.0, MOST_WRAP}, &p->wrap}};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        if (strcmp(numbers[i].range.key, key) == 0) {
            return pick_number(units, &numbers[i], value);
        }
    }
    cli_error(
        "point",
        "--pick: unknown key \"%s\"; keys are blower, crank_pulley, blower_pulley, ratio, "
        "cooler, effectiveness, fuel, lambda, ignition_margin, injector, injector_flow, pump, "
        "ribs, wrap",
        key);
    return false;
}

/* A choice left open is fine where the study has only one. */
static bool needs(const char *key, bool picked, size_t count)
{
    if (!picked && count > 1) {
        cli_error("point", "the study has %zu choices for %s: --pick %s=... is needed", count, key,
                  key);
        return true;
    }
    return false;
}

static bool needs_part(const struct shv_study *study, const struct picked *p, enum part part)
{
    return needs(part_keys[part], p->part[part] >= 0, part_count(study, part));
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
    bool open = needs("crank_pulley", !isnan(p->crank), d->crank_count);
    if (needs("blower_pulley", !isnan(p->pulley), d->blower_count) || open) {
        return false;
    }
    kit->crank_diameter = isnan(p->crank) ? d->crank_pulleys[0] : p->crank;
    kit->blower_diameter = isnan(p->pulley) ? d->blower_pulleys[0] : p->pulley;
    kit->ratio = shv_drive_ratio(kit->crank_diameter, kit->blower_diameter, d->line_offset);
    return true;
}

static bool complete_cooler(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    if (needs_part(study, p, COOLER)) {
        return false;
    }
    kit->cooler = part_of(p, COOLER);
    const struct shv_cooler *c = &study->coolers[kit->cooler];
    if (c->is_none) {
        if (!isnan(p->effectiveness)) {
            cli_error("point", "--pick effectiveness: there is no cooler");
            return false;
        }
        return true;
    }
    if (needs("effectiveness", !isnan(p->effectiveness), c->choices)) {
        return false;
    }
    kit->effectiveness = isnan(p->effectiveness) ? c->effectiveness[0] : p->effectiveness;
    double ratio = shv_cooler_rated_ratio(c);
    if (isinf(shv_cooler_ntu(c->arrangement, kit->effectiveness, ratio))) {
        cli_error("point", "--pick effectiveness: %s can't reach %g with its coolant flow", c->name,
                  kit->effectiveness);
        return false;
    }
    return true;
}

static bool complete_injector(const struct shv_study *study, const struct picked *p,
                              struct shv_kit *kit)
{
    if (needs_part(study, p, INJECTOR)) {
        return false;
    }
    kit->injector = part_of(p, INJECTOR);
    const struct shv_injector_part *part = &study->injectors[kit->injector];
    if (part->is_unlimited && !isnan(p->injector_flow)) {
        cli_error("point", "--pick injector_flow: the study names no injectors");
        return false;
    }
    if (needs("injector_flow", !isnan(p->injector_flow), part->choices)) {
        return false;
    }
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
            "--pick wrap: found %.10g deg; accepted %g to %g deg, or 0 for that of the layout",
            p->wrap, LEAST_WRAP, MOST_WRAP);
    }
    return whole && wraps;
}

static bool complete_belt(const struct shv_study *study, const struct picked *p,
                          struct shv_kit *kit)
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
    bool ok = sound_belt(p);
    ok = !needs("ribs", !isnan(p->ribs), b->rib_choices) && ok;
    if (needs("wrap", !isnan(p->wrap), b->wrap_choices) || !ok) {
        return false;
    }
    kit->ribs = isnan(p->ribs) ? b->ribs[0] : p->ribs;
    kit->wrap = isnan(p->wrap) ? b->wraps[0] : listed(b->wraps, b->wrap_choices, p->wrap);
    return true;
}

static bool complete_mixture(const struct shv_study *study, const struct picked *p,
                             struct shv_kit *kit)
{
    bool open = needs_part(study, p, FUEL);
    open = needs("lambda", !isnan(p->lambda), study->lambda_count) || open;
    open = needs("ignition_margin", !isnan(p->ignition_margin), study->margin_count) || open;
    if (open) {
        return false;
    }
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
    /* Each is looked at, so that all that is missing is told at once. */
    bool ok = !needs_part(study, p, BLOWER);
    ok = complete_drive(study, p, kit) && ok;
    ok = complete_cooler(study, p, kit) && ok;
    ok = complete_mixture(study, p, kit) && ok;
    ok = complete_injector(study, p, kit) && ok;
    ok = !needs_part(study, p, PUMP) && ok;
    ok = complete_belt(study, p, kit) && ok;
    kit->blower = part_of(p, BLOWER);
    kit->pump = part_of(p, PUMP);
    return ok;
}

bool pick_kit(const struct shv_study *study, const struct shv_units *units,
              const char *const *choices, size_t count, struct shv_kit *kit)
{
    struct picked p = nothing;
    bool ok = true;
    for (size_t i = 0; i < count; i++) {
        ok = pick(study, units, choices[i], &p) && ok;
    }
    return ok && complete(study, &p, kit);
}
