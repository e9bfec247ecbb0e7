/* sheave point: one combination over the rev range. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "report/text.h"

static const struct cli_option options[] = {
    {"pick", "KEY=VALUE", "choose a part; may be repeated (see above)"},
    {"combination", "N", "the combination of this number, as in ranked.csv"},
    {"stock", NULL, "the engine as it left the factory instead"},
    {"csv", NULL, "CSV with the columns of curves.csv, rank left out"},
    {NULL, NULL, NULL}};

#define MOST_PICKS 16

struct arguments {
    const char *pick[MOST_PICKS];
    size_t picks;
    const char *combination;
    bool stock, csv;
};

static int on_option(void *data, const char *name, const char *argument)
{
    struct arguments *a = data;
    if (strcmp(name, "pick") == 0) {
        if (a->picks == MOST_PICKS) {
            cli_error("point", "--pick: more than %d choices", MOST_PICKS);
            return CLI_BAD_INPUT;
        }
        a->pick[a->picks++] = argument;
    } else if (strcmp(name, "combination") == 0) {
        a->combination = argument;
    } else if (strcmp(name, "stock") == 0) {
        a->stock = true;
    } else {
        a->csv = true;
    }
    return 0;
}

/* What has been picked so far; NAN and -1 where nothing was. */
struct picked {
    long blower, cooler, fuel;
    double crank, pulley, ratio, effectiveness, lambda;
};

static bool twice(const char *key, bool picked)
{
    if (picked) {
        cli_error("point", "--pick %s: given twice", key);
    }
    return picked;
}

static bool pick_name(const char *key, const char *value, const char *const *names, size_t count,
                      long *choice)
{
    if (twice(key, *choice >= 0)) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        if (strcmp(names[i], value) == 0) {
            *choice = (long)i;
            return true;
        }
    }
    fprintf(stderr, "sheave point: --pick %s: found \"%s\"; the study has", key, value);
    for (size_t i = 0; i < count; i++) {
        fprintf(stderr, "%s \"%s\"", i ? "," : "", names[i]);
    }
    fputc('\n', stderr);
    return false;
}

/* Names of a list of the study's parts; the caller frees the array. */
#define PART_NAMES(list, count, names)                                                             \
    do {                                                                                           \
        for (size_t part = 0; part < (count); part++) {                                            \
            (names)[part] = (list)[part].name;                                                     \
        }                                                                                          \
    } while (0)

static bool pick_part(const struct shv_study *study, const char *key, const char *value,
                      struct picked *p)
{
    size_t most = study->blower_count;
    most = study->cooler_count > most ? study->cooler_count : most;
    most = study->fuel_count > most ? study->fuel_count : most;
    const char **names = calloc(most, sizeof *names);
    if (!names) {
        cli_error("point", "out of memory");
        return false;
    }
    bool ok;
    if (strcmp(key, "blower") == 0) {
        PART_NAMES(study->blowers, study->blower_count, names);
        ok = pick_name(key, value, names, study->blower_count, &p->blower);
    } else if (strcmp(key, "cooler") == 0) {
        PART_NAMES(study->coolers, study->cooler_count, names);
        ok = pick_name(key, value, names, study->cooler_count, &p->cooler);
    } else {
        PART_NAMES(study->fuels, study->fuel_count, names);
        ok = pick_name(key, value, names, study->fuel_count, &p->fuel);
    }
    free(names);
    return ok;
}

struct number_pick {
    const char *key;
    enum shv_quantity quantity;
    double low, high;
    double *target;
};

static bool pick_number(const struct shv_units *units, const struct number_pick *n,
                        const char *value)
{
    if (twice(n->key, !isnan(*n->target))) {
        return false;
    }
    struct shv_message message;
    double x;
    char *end;
    errno = 0;
    double plain = strtod(value, &end);
    if (end != value && *end == '\0' && errno == 0 && isfinite(plain)) {
        x = shv_units_plain(n->quantity, plain);
    } else if (shv_units_read(units, n->quantity, value, &x, &message) != SHV_OK) {
        cli_error("point", "--pick %s: %s", n->key, message.text);
        return false;
    }
    if (!(x >= n->low && x <= n->high)) {
        const char *unit = shv_quantity_unit(n->quantity);
        cli_error("point", "--pick %s: found \"%s\"; accepted %g to %g%s%s", n->key, value, n->low,
                  n->high, *unit ? " " : "", unit);
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
    if (strcmp(key, "blower") == 0 || strcmp(key, "cooler") == 0 || strcmp(key, "fuel") == 0) {
        return pick_part(study, key, value, p);
    }
    const struct number_pick numbers[] = {
        {"crank_pulley", SHV_Q_LENGTH, 0.01, 1.0, &p->crank},
        {"blower_pulley", SHV_Q_LENGTH, 0.01, 1.0, &p->pulley},
        {"ratio", SHV_Q_NUMBER, 0.05, 20.0, &p->ratio},
        {"effectiveness", SHV_Q_NUMBER, 0.05, 0.98, &p->effectiveness},
        {"lambda", SHV_Q_NUMBER, 0.7, 1.2, &p->lambda}};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        if (strcmp(numbers[i].key, key) == 0) {
            return pick_number(units, &numbers[i], value);
        }
    }
    cli_error("point",
              "--pick: unknown key \"%s\"; keys are blower, crank_pulley, blower_pulley, ratio, "
              "cooler, effectiveness, fuel, lambda",
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
    if (needs("cooler", p->cooler >= 0, study->cooler_count)) {
        return false;
    }
    kit->cooler = p->cooler < 0 ? 0 : (size_t)p->cooler;
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

static bool complete(const struct shv_study *study, struct picked *p, struct shv_kit *kit)
{
    *kit = (struct shv_kit){0};
    /* Each is looked at, so that all that is missing is told at once. */
    bool ok = !needs("blower", p->blower >= 0, study->blower_count);
    ok = complete_drive(study, p, kit) && ok;
    ok = complete_cooler(study, p, kit) && ok;
    ok = !needs("fuel", p->fuel >= 0, study->fuel_count) && ok;
    ok = !needs("lambda", !isnan(p->lambda), study->lambda_count) && ok;
    if (!ok) {
        return false;
    }
    kit->blower = p->blower < 0 ? 0 : (size_t)p->blower;
    kit->fuel = p->fuel < 0 ? 0 : (size_t)p->fuel;
    kit->lambda = isnan(p->lambda) ? study->lambdas[0] : p->lambda;
    return true;
}

static bool kit_by_number(const struct cli_study *s, const char *text, struct shv_kit *kit)
{
    char *end, room[32];
    errno = 0;
    unsigned long long index = strtoull(text, &end, 10);
    if (end == text || *end != '\0' || *text == '-' || errno != 0 || index >= s->space.size) {
        bool one = s->space.size == 1;
        cli_error("point", "--combination: found \"%s\"; the study has %s%s", text,
                  one ? "only combination " : "combinations 0 to ",
                  report_thousands(room, s->space.size - 1));
        return false;
    }
    shv_space_kit(&s->space, &s->study, index, kit);
    return true;
}

static int choose(const struct cli_study *s, const struct arguments *a, struct shv_kit *kit)
{
    if (a->combination || a->stock) {
        if (a->picks > 0 || (a->combination && a->stock)) {
            cli_error("point", "give one of --pick, --combination and --stock");
            return CLI_BAD_INPUT;
        }
        *kit = (struct shv_kit){.crank_diameter = NAN, .blower_diameter = NAN, .ratio = NAN};
        return a->stock || kit_by_number(s, a->combination, kit) ? -1 : CLI_BAD_INPUT;
    }
    struct shv_units *units;
    struct shv_message message;
    enum shv_status status = shv_units_open(&units, &message);
    if (status != SHV_OK) {
        cli_error("point", "%s", message.text);
        return cli_exit_code(status);
    }
    struct picked p = {-1, -1, -1, NAN, NAN, NAN, NAN, NAN};
    bool ok = true;
    for (size_t i = 0; i < a->picks; i++) {
        ok = pick(&s->study, units, a->pick[i], &p) && ok;
    }
    shv_units_free(units);
    return ok && complete(&s->study, &p, kit) ? -1 : CLI_BAD_INPUT;
}

static int show(const struct cli_study *s, const struct arguments *a, const struct shv_kit *kit)
{
    struct shv_curves curves;
    struct shv_message message;
    enum shv_status status = shv_curves_init(&curves, s->model, &message);
    if (status == SHV_OK) {
        if (a->stock) {
            shv_model_evaluate_stock(s->model, &curves);
        } else {
            shv_model_evaluate(s->model, kit, &curves);
        }
        status = shv_report_point(&s->study, s->model, a->stock ? NULL : kit, &curves, a->csv,
                                  stdout, &message);
    }
    int code = cli_exit_code(status);
    if (status != SHV_OK) {
        cli_error("point", "%s", message.text);
    } else if (!a->stock && !curves.verdict.feasible) {
        code = CLI_NOTHING_FEASIBLE;
    }
    shv_curves_free(&curves);
    return code;
}

static int run(int argc, char **argv)
{
    struct arguments a = {0};
    const char *path;
    int code = cli_parse(&cli_point, argc, argv, on_option, &a, &path);
    if (code >= 0) {
        return code;
    }
    struct cli_study s;
    code = cli_load("point", path, &s);
    if (code >= 0) {
        return code;
    }
    struct shv_kit kit;
    code = choose(&s, &a, &kit);
    if (code < 0) {
        code = show(&s, &a, &kit);
    }
    cli_unload(&s);
    return code;
}

const struct cli_command cli_point = {
    "point",
    "STUDY",
    "one combination over the rev range, every state",
    "Evaluates one combination at every site over the rev range and prints every state from filter "
    "to\n"
    "flywheel, and each limit with its margin.\n\n"
    "Keys for --pick: blower, cooler and fuel by name; crank_pulley and blower_pulley as diameters "
    "with\n"
    "a unit (any size, not only those of the study), or ratio instead of both; effectiveness; "
    "lambda.\n"
    "A key may be left out where the study has only one choice.\n\n"
    "    sheave point study.cfg --pick blower=straight-0980 --pick \"blower_pulley=64 mm\"\n\n"
    "Exits with 1 when the combination breaks a limit or has no answer somewhere.\n",
    options,
    false,
    run};
