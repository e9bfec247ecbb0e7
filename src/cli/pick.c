/* A kit put together from the choices of a command line (src/cli/pick.h). */
#include "cli/pick.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

/* What has been picked so far; NAN and -1 where nothing was. */
struct picked {
    long entry[SHV_DIM_COUNT];
    double number[SHV_DIM_COUNT];
    double ratio, afr, injector_mass; /* in the place of pulleys, lambda, a flow by volume */
    char open[256];                   /* keys that were not picked, for the note about them */
};

static struct picked nothing(void)
{
    struct picked p = {.ratio = NAN, .afr = NAN, .injector_mass = NAN};
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        p.entry[d] = -1;
        p.number[d] = NAN;
    }
    return p;
}

/* The key of a dimension's number; NULL in one without. */
static const char *number_key(enum shv_dim dim)
{
    const struct shv_dim_info *info = shv_dim_info(dim);
    return info->number == SHV_NOWHERE ? NULL : info->number_name ? info->number_name : info->name;
}

static bool has_entries(enum shv_dim dim)
{
    return shv_dim_info(dim)->list != SHV_NOWHERE;
}

static void add_key(char *keys, size_t size, const char *between, const char *key)
{
    size_t used = strlen(keys);
    (void)snprintf(keys + used, size - used, "%s%s", used ? between : "", key);
}

char *pick_keys(char *keys, size_t size, const char *between)
{
    *keys = '\0';
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        if (has_entries((enum shv_dim)d)) {
            add_key(keys, size, between, shv_dim_info((enum shv_dim)d)->name);
        }
        if (number_key((enum shv_dim)d)) {
            add_key(keys, size, between, number_key((enum shv_dim)d));
        }
        if (d == SHV_DIM_BLOWER_PULLEY) {
            add_key(keys, size, between, "ratio");
        } else if (d == SHV_DIM_LAMBDA) {
            add_key(keys, size, between, "afr");
        }
    }
    return keys;
}

static bool twice(const char *key, bool picked)
{
    if (picked) {
        cli_error("point", "--pick %s: given twice", key);
    }
    return picked;
}

static bool pick_entry(const struct shv_study *study, enum shv_dim dim, const char *value,
                       struct picked *p)
{
    size_t count = shv_dim_entries(dim, study);
    const char *key = shv_dim_info(dim)->name;
    if (twice(key, p->entry[dim] >= 0)) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(shv_dim_entry_name(dim, study, i), value) == 0) {
            p->entry[dim] = (long)i;
            return true;
        }
    }
    fprintf(stderr, "sheave point: --pick %s: found \"%s\"; the study has", key, value);
    for (size_t i = 0; i < count; i++) {
        fprintf(stderr, "%s \"%s\"", i ? "," : "", shv_dim_entry_name(dim, study, i));
    }
    fputc('\n', stderr);
    return false;
}

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

static bool pick_number(const struct shv_units *units, const struct pick_range *range,
                        const char *value, double *number)
{
    double x;
    if (twice(range->key, !isnan(*number)) ||
        !pick_quantity("point", units, "pick", range, value, &x)) {
        return false;
    }
    if (!(x >= range->low && x <= range->high)) {
        const char *unit = shv_quantity_unit(range->quantity);
        cli_error("point", "--pick %s: found \"%s\"; accepted %g to %g%s%s", range->key, value,
                  range->low, range->high, *unit ? " " : "", unit);
        return false;
    }
    *number = x;
    return true;
}

/* Injectors are sold by volume or by mass of the test fluid. */
static bool is_mass_flow(const struct shv_units *units, const char *value)
{
    struct shv_message unused;
    double flow;
    return shv_units_read(units, SHV_Q_MASS_FLOW, value, &flow, &unused) == SHV_OK;
}

static bool pick_dimension(const struct shv_units *units, enum shv_dim dim, const char *value,
                           struct picked *p)
{
    const struct shv_dim_info *info = shv_dim_info(dim);
    struct pick_range range = {number_key(dim), info->quantity, info->least, info->most};
    double *number = &p->number[dim];
    if (dim == SHV_DIM_INJECTOR && is_mass_flow(units, value)) {
        range.quantity = SHV_Q_MASS_FLOW;
        number = &p->injector_mass;
    }
    return pick_number(units, &range, value, number);
}

static bool pick(const struct shv_study *study, const struct shv_units *units, const char *text,
                 struct picked *p)
{
    static const struct pick_range ratio = {"ratio", SHV_Q_NUMBER, 0.05, 20.0},
                                   afr = {"afr", SHV_Q_NUMBER, 3.0, 25.0};
    char key[32], keys[256];
    const char *equals = strchr(text, '=');
    if (!equals || equals == text || (size_t)(equals - text) >= sizeof key) {
        cli_error("point", "--pick: found \"%s\"; KEY=VALUE is needed", text);
        return false;
    }
    memcpy(key, text, (size_t)(equals - text));
    key[equals - text] = '\0';
    const char *value = equals + 1;
    for (int i = 0; i < SHV_DIM_COUNT; i++) {
        enum shv_dim dim = (enum shv_dim)i;
        if (has_entries(dim) && strcmp(key, shv_dim_info(dim)->name) == 0) {
            return pick_entry(study, dim, value, p);
        }
        if (number_key(dim) && strcmp(key, number_key(dim)) == 0) {
            return pick_dimension(units, dim, value, p);
        }
    }
    if (strcmp(key, ratio.key) == 0) {
        return pick_number(units, &ratio, value, &p->ratio);
    }
    if (strcmp(key, afr.key) == 0) {
        return pick_number(units, &afr, value, &p->afr);
    }
    cli_error("point", "--pick: unknown key \"%s\"; keys are %s", key,
              pick_keys(keys, sizeof keys, ", "));
    return false;
}

/* Notes a choice that was left open, where the study has more than one. */
static void note_open(struct picked *p, const char *key, bool picked, size_t count)
{
    if (!picked && count > 1) {
        add_key(p->open, sizeof p->open, ", ", key);
    }
}

/* ---- what a run has found ---- */

static bool is_pulley(enum shv_dim dim)
{
    return dim == SHV_DIM_CRANK_PULLEY || dim == SHV_DIM_BLOWER_PULLEY;
}

static bool is_near(double picked, double has)
{
    return isnan(picked) || fabs(picked - has) <= 1e-6 * fabs(has);
}

/* Whether a kit has all that was picked; `sizes` false looks at the parts alone. */
static bool fits(const struct picked *p, const struct shv_kit *kit, bool sizes)
{
    for (int i = 0; i < SHV_DIM_COUNT; i++) {
        enum shv_dim dim = (enum shv_dim)i;
        if (p->entry[i] >= 0 && (size_t)p->entry[i] != shv_dim_entry_index(dim, kit)) {
            return false;
        }
        if (sizes && !is_near(p->number[i], shv_dim_number(dim, kit))) {
            return false;
        }
    }
    return !sizes || is_near(p->ratio, kit->ratio);
}

/* The best kit that has all that was picked, else the best with the same parts, whose sizes may be
 * those of no kit. */
static const struct shv_kit *best_like(const struct picked *p, const struct found *found)
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

/* ---- a kit of what was picked ---- */

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

/* The entry that was picked, else that of the kit `like`, else the first; 0 without entries. */
static size_t complete_entry(const struct shv_study *study, enum shv_dim dim,
                             const struct shv_kit *like, struct picked *p)
{
    if (p->entry[dim] >= 0) {
        return (size_t)p->entry[dim];
    }
    note_open(p, shv_dim_info(dim)->name, false, shv_dim_entries(dim, study));
    return like ? shv_dim_entry_index(dim, like) : 0;
}

static bool complete_number(const struct shv_study *study, enum shv_dim dim, size_t entry,
                            const struct shv_kit *like, struct picked *p, struct shv_kit *kit)
{
    const struct shv_dim_info *info = shv_dim_info(dim);
    const char *without = info->without ? info->without(study, entry) : NULL;
    size_t count;
    const double *list = shv_dim_numbers(dim, study, entry, &count);
    double number = p->number[dim];
    if (without && !isnan(number)) {
        cli_error("point", "--pick %s: %s", number_key(dim), without);
        return false;
    }
    if (!without) {
        note_open(p, number_key(dim), !isnan(number), count);
    }
    number = !isnan(number)     ? listed(list, count, number)
             : like && !without ? shv_dim_number(dim, like)
                                : list[0];
    shv_dim_set_number(dim, kit, number);
    return true;
}

/* A flow by mass is one of the injector picked. */
static void take_mass_flow(const struct shv_study *study, size_t injector, struct picked *p)
{
    if (!isnan(p->injector_mass)) {
        p->number[SHV_DIM_INJECTOR] = p->injector_mass / study->injectors[injector].test_density;
    }
}

/* An air-fuel ratio is one of the fuel picked. */
static bool take_afr(const struct shv_study *study, size_t fuel, struct picked *p)
{
    double *lambda = &p->number[SHV_DIM_LAMBDA];
    if (isnan(p->afr)) {
        return true;
    }
    if (!isnan(*lambda)) {
        cli_error("point", "--pick afr: give afr or lambda, not both");
        return false;
    }
    struct shv_message why;
    if (shv_study_lambda(p->afr, study->fuels[fuel].stoichiometric, lambda, &why) != SHV_OK) {
        cli_error("point", "--pick afr: %s", why.text);
        return false;
    }
    return true;
}

static bool complete_dimension(const struct shv_study *study, enum shv_dim dim,
                               const struct shv_kit *like, struct picked *p, struct shv_kit *kit)
{
    bool ok = true;
    size_t entry = complete_entry(study, dim, like, p);
    if (has_entries(dim)) {
        shv_dim_set_entry(dim, kit, entry);
    }
    if (dim == SHV_DIM_INJECTOR) {
        take_mass_flow(study, entry, p);
    } else if (dim == SHV_DIM_LAMBDA) {
        ok = take_afr(study, kit->fuel, p);
    }
    if (is_pulley(dim) && !isnan(p->ratio)) {
        shv_dim_set_number(dim, kit, NAN);
        return true;
    }
    return (!number_key(dim) || complete_number(study, dim, entry, like, p, kit)) && ok;
}

static bool sound_drive(const struct shv_study *study, const struct picked *p, struct shv_kit *kit)
{
    bool pulleys =
        !isnan(p->number[SHV_DIM_CRANK_PULLEY]) || !isnan(p->number[SHV_DIM_BLOWER_PULLEY]);
    if (!isnan(p->ratio) && pulleys) {
        cli_error("point", "--pick: give the ratio or the pulleys, not both");
        return false;
    }
    kit->ratio = isnan(p->ratio) ? shv_drive_ratio(kit->crank_diameter, kit->blower_diameter,
                                                   study->drive.line_offset)
                                 : p->ratio;
    return true;
}

static bool sound_cooler(const struct shv_study *study, const struct shv_kit *kit)
{
    const struct shv_cooler *c = &study->coolers[kit->cooler];
    if (!c->is_none &&
        isinf(shv_cooler_ntu(c->arrangement, kit->effectiveness, shv_cooler_rated_ratio(c)))) {
        cli_error("point", "--pick effectiveness: %s can't reach %g with its coolant flow", c->name,
                  kit->effectiveness);
        return false;
    }
    return true;
}

static bool sound_belt(const struct shv_kit *kit)
{
    bool whole = kit->ribs == floor(kit->ribs);
    bool wraps = !(kit->wrap > 0.0 && kit->wrap < SHV_WRAP_LEAST);
    if (!whole) {
        cli_error("point", "--pick ribs: found %.10g; a whole number is needed", kit->ribs);
    }
    if (!wraps) {
        cli_error(
            "point",
            "--pick wrap: found %.10g deg; accepted %g to %g deg, or 0 deg for that of the layout",
            kit->wrap, SHV_WRAP_LEAST, SHV_WRAP_MOST);
    }
    return whole && wraps;
}

/* Each is looked at, so that all that is wrong is told at once. */
static bool complete(const struct shv_study *study, const struct shv_kit *like, struct picked *p,
                     struct shv_kit *kit)
{
    bool ok = true;
    *kit = (struct shv_kit){0};
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        ok = complete_dimension(study, (enum shv_dim)d, like, p, kit) && ok;
    }
    ok = sound_drive(study, p, kit) && ok;
    ok = ok && sound_cooler(study, kit);
    return sound_belt(kit) && ok;
}

bool pick_kit(const struct shv_study *study, const struct shv_units *units,
              const char *const *choices, size_t count, const struct found *found,
              struct shv_kit *kit)
{
    struct picked p = nothing();
    bool ok = true;
    for (size_t i = 0; i < count; i++) {
        ok = pick(study, units, choices[i], &p) && ok;
    }
    const struct shv_kit *like = ok ? best_like(&p, found) : NULL;
    if (!ok || !complete(study, like, &p, kit)) {
        return false;
    }
    if (p.open[0] && like) {
        cli_error("point", "not picked, so as in kit %zu of %s: %s",
                  (size_t)(like - found->kit) + 1, found->folder, p.open);
    } else if (p.open[0]) {
        cli_error("point", "not picked, so the first of the study: %s", p.open);
    }
    return true;
}
