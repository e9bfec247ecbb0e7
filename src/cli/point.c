/* sheave point: one combination over the rev range. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/pick.h"
#include "cli/want.h"
#include "report/write/text.h"

#define MOST_PICKS 16

struct point_arguments {
    const char *pick[MOST_PICKS];
    size_t picks;
    const char *combination, *kit, *results, *cycle, *site, *want;
    bool stock, csv, explain, sure, all;
    struct cli_tables tables;
};

#define PLACE(member) offsetof(struct point_arguments, member)
static const struct cli_option options[] = {
    {"pick", "KEY=VALUE", "choose a part; may be repeated (see above)", .place = PLACE(pick),
     .several = "choices", .room = MOST_PICKS, .count = PLACE(picks)},
    {"combination", "N", "the combination of this number, as in ranked.csv",
     .place = PLACE(combination)},
    {"kit", "N", "the kit that ranks N-th in the results", .place = PLACE(kit)},
    {"results", "DIR", "where results are looked for (default: results.folder of the study)",
     .place = PLACE(results)},
    {"want", "NAME=VALUE", "find the blower pulley that gives it (see above)",
     .place = PLACE(want)},
    {"stock", NULL, "the engine as it left the factory instead", .place = PLACE(stock)},
    {"sure", NULL, "how sure it is as well, by the tolerances of the study", .place = PLACE(sure)},
    {"long", NULL, "every site, speed, state and limit", .place = PLACE(all)},
    {"csv", NULL, "CSV with the columns of curves.csv, rank left out", .place = PLACE(csv)},
    {"explain", NULL, "in sentences why it holds or not, and what one change would do",
     .place = PLACE(explain)},
    {"cycle", "SPEED", "CSV of the closed cycle over the crank angle at this engine speed",
     .place = PLACE(cycle)},
    {"site", "NAME", "site of --cycle (default: the first)", .place = PLACE(site)},
    CLI_CACHE(PLACE(tables)),
    {.name = NULL}};

/* -1 when the options go together, else an exit code. */
static int check_options(const struct point_arguments *a)
{
    if ((a->cycle != NULL) + a->csv + a->explain > 1) {
        cli_error("point", "give one of --csv, --cycle and --explain");
        return CLI_BAD_INPUT;
    }
    if (a->explain && a->stock) {
        cli_error("point", "--explain is of a kit, and --stock has none");
        return CLI_BAD_INPUT;
    }
    if (a->sure && (a->csv || a->cycle || a->stock)) {
        cli_error("point", "--sure goes with none of --csv, --cycle and --stock");
        return CLI_BAD_INPUT;
    }
    if (a->want && (a->csv || a->cycle || a->stock)) {
        cli_error("point", "--want goes with none of --csv, --cycle and --stock");
        return CLI_BAD_INPUT;
    }
    for (size_t i = 0; a->want && i < a->picks; i++) {
        if (strncmp(a->pick[i], "blower_pulley=", strlen("blower_pulley=")) == 0) {
            cli_error("point", "--want looks for the blower pulley; leave out --pick %s",
                      a->pick[i]);
            return CLI_BAD_INPUT;
        }
    }
    if (a->site && !a->cycle) {
        cli_error("point", "--site goes with --cycle; without it all sites are shown");
        return CLI_BAD_INPUT;
    }
    return cli_tables_check("point", &a->tables);
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

static int kit_by_rank(const char *text, const struct found *found, struct shv_kit *kit)
{
    long rank;
    if (!cli_number("point", "kit", text, (long)found->count, &rank)) {
        return CLI_BAD_INPUT;
    }
    *kit = found->kit[rank - 1];
    return -1;
}

/* From results, if there are any and they are wanted. */
static int choose_found(const struct cli_study *s, const struct point_arguments *a,
                        const struct shv_units *units, struct shv_kit *kit)
{
    struct found found;
    struct shv_message message;
    const char *folder = a->results ? a->results : s->study.results.folder;
    enum shv_status status = found_read(s, folder, &found, &message);
    int code;
    if (status != SHV_OK && (status != SHV_NOTHING || a->kit || a->results)) {
        cli_error("point", "%s", message.text);
        return status == SHV_NOTHING ? CLI_BAD_INPUT : cli_exit_code(status);
    }
    if (a->kit) {
        code = kit_by_rank(a->kit, &found, kit);
    } else {
        code = pick_kit(&s->study, units, a->pick, a->picks, &found, kit) ? -1 : CLI_BAD_INPUT;
    }
    found_free(&found);
    return code;
}

static int choose(const struct cli_study *s, const struct point_arguments *a,
                  const struct shv_units *units, struct shv_kit *kit)
{
    if ((a->combination != NULL) + a->stock + (a->picks > 0) + (a->kit != NULL) > 1) {
        cli_error("point", "give one of --pick, --kit, --combination and --stock");
        return CLI_BAD_INPUT;
    }
    if (a->combination || a->stock) {
        *kit = (struct shv_kit){.crank_diameter = NAN,
                                .blower_diameter = NAN,
                                .ratio = NAN,
                                .fuel = s->study.engine.stock_fuel,
                                .lambda = s->study.engine.stock_lambda};
        return a->stock || kit_by_number(s, a->combination, kit) ? -1 : CLI_BAD_INPUT;
    }
    return choose_found(s, a, units, kit);
}

/* ---- where the cycle is traced ---- */

#define SAME_SPEED 1e-6 /* relative */

struct place {
    size_t site, speed;
};

static bool find_speed(const struct shv_engine *e, double speed, const char *text, size_t *index)
{
    size_t above = 0;
    for (size_t i = 0; i < e->speed_count; i++) {
        if (fabs(e->speeds[i] - speed) <= SAME_SPEED * speed) {
            *index = i;
            return true;
        }
        above += e->speeds[i] < speed;
    }
    size_t last = e->speed_count - 1;
    if (above == 0 || above > last) {
        cli_error("point", "--cycle: found \"%s\"; the nearest speed of the study is %.10g rpm",
                  text, e->speeds[above == 0 ? 0 : last] * 60.0);
    } else {
        cli_error("point",
                  "--cycle: found \"%s\"; the nearest speeds of the study are %.10g and %.10g rpm",
                  text, e->speeds[above - 1] * 60.0, e->speeds[above] * 60.0);
    }
    return false;
}

static bool find_site(const struct shv_study *study, const char *name, size_t *site)
{
    *site = 0;
    if (!name) {
        return true;
    }
    for (size_t i = 0; i < study->site_count; i++) {
        if (strcmp(study->sites[i].name, name) == 0) {
            *site = i;
            return true;
        }
    }
    fprintf(stderr, "sheave point: --site: found \"%s\"; the study has", name);
    for (size_t i = 0; i < study->site_count; i++) {
        fprintf(stderr, "%s \"%s\"", i ? "," : "", study->sites[i].name);
    }
    fputc('\n', stderr);
    return false;
}

/* Whether there is a place to trace, if a trace is asked for. */
static bool find_place(const struct shv_study *study, const struct point_arguments *a,
                       const struct shv_units *units, struct place *place)
{
    static const struct pick_range range = {"", SHV_Q_ROTATION, 0.0, INFINITY};
    double speed;
    *place = (struct place){0, 0};
    if (!a->cycle) {
        return true;
    }
    if (study->engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        cli_error("point", "--cycle: the study computes no closed cycle; that takes "
                           "engine.efficiency.model = \"cycle\"");
        return false;
    }
    bool ok = pick_quantity("point", units, "cycle", &range, a->cycle, &speed) &&
              find_speed(&study->engine, speed, a->cycle, &place->speed);
    return find_site(study, a->site, &place->site) && ok;
}

static enum shv_status trace(const struct cli_study *s, const struct shv_kit *kit,
                             const struct shv_curves *curves, const struct place *place,
                             struct shv_message *message)
{
    struct shv_cycle_fuel fuel;
    struct shv_cycle_case at;
    const struct shv_point *p = &curves->point[place->site * curves->speeds + place->speed];
    const char *site = s->study.sites[place->site].name;
    if (!shv_model_cycle_case(s->model, place->site, kit, p, &fuel, &at)) {
        return shv_fail(message, SHV_NOTHING, "--cycle: there is no answer at %.0f rpm at %s (%s)",
                        p->engine_speed * 60.0, site, shv_outcome_name(p->outcome));
    }
    struct shv_cycle_sample *samples;
    size_t count;
    const struct shv_engine *engine = &s->study.engine;
    enum shv_status status =
        shv_cycle_samples(&engine->cycle, &fuel, &engine->knock, &at, &samples, &count, message);
    if (status == SHV_OK) {
        status = shv_report_cycle(&s->study, samples, count, stdout, message);
    }
    free(samples);
    return status;
}

/* ---- all of it ---- */

static enum shv_status evaluate(const struct cli_study *s, const struct point_arguments *a,
                                const struct shv_kit *kit, struct shv_curves *curves,
                                struct shv_message *message)
{
    enum shv_status status = shv_curves_init(curves, s->model, message);
    if (status != SHV_OK) {
        return status;
    }
    if (a->stock) {
        shv_model_evaluate_stock(s->model, curves);
    } else {
        shv_model_evaluate(s->model, kit, curves);
    }
    return SHV_OK;
}

static enum shv_status explain(const struct cli_study *s, const struct shv_kit *kit,
                               const struct shv_curves *curves, struct shv_message *message)
{
    struct shv_change *changes;
    size_t count;
    enum shv_status status =
        shv_single_changes(s->model, &s->space, kit, true, &changes, &count, message);
    if (status == SHV_OK) {
        status = shv_report_explanation(&s->study, kit, curves, changes, count, stdout, message);
        free(changes);
    }
    return status;
}

/* A screen; of a kit that does not hold with what would mend it. Tables of the closed cycle are
 * there for its own fuel and lambda alone. */
static enum shv_status show_screen(const struct cli_study *s, const struct shv_kit *kit,
                                   const struct shv_curves *curves, struct shv_message *message)
{
    struct shv_change *changes = NULL;
    size_t count = 0;
    bool burn = shv_model_table_count(s->model) == 0;
    enum shv_status status = SHV_OK;
    if (kit && !curves->verdict.feasible) {
        status = shv_single_changes(s->model, &s->space, kit, burn, &changes, &count, message);
    }
    if (status == SHV_OK) {
        status = shv_report_point_short(&s->study, kit, curves, changes, count, stdout, message);
    }
    free(changes);
    return status;
}

static enum shv_status answer(const struct cli_study *s, const struct point_arguments *a,
                              const struct shv_kit *kit, const struct shv_curves *curves,
                              const struct place *place, struct shv_message *message)
{
    if (a->cycle) {
        return trace(s, kit, curves, place, message);
    }
    if (a->explain) {
        return explain(s, kit, curves, message);
    }
    const struct shv_kit *shown = a->stock ? NULL : kit;
    if (!a->all && !a->csv) {
        return show_screen(s, shown, curves, message);
    }
    double drag = s->study.limit[SHV_LIMIT_CRUISE_DRAG];
    struct shv_bypass_sizing area;
    bool sized = shown && s->study.use.cruises && !isinf(drag) &&
                 shv_model_bypass_area(s->model, kit, drag, &area);
    return shv_report_point(&s->study, shown, curves, sized ? &area : NULL, a->csv, stdout,
                            message);
}

static enum shv_status show_sure(struct cli_study *s, const struct shv_kit *kit,
                                 struct shv_message *message)
{
    struct shv_sure *sure = calloc(1, sizeof *sure);
    if (!sure) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the tolerances");
    }
    sure->kind = SHV_SURE_PICKED;
    enum shv_status status = shv_sure_kits(s->model, kit, 1, NULL, sure, message);
    if (status == SHV_OK) {
        status = shv_report_sure_kit(&s->study, sure, stdout, message);
    }
    free(sure);
    return status;
}

static int show(struct cli_study *s, struct point_arguments *a, struct shv_kit *kit,
                const struct place *place, const struct want *want)
{
    struct shv_curves curves = {.sites = 0};
    struct shv_message message;
    enum shv_status status = SHV_OK;
    if (!a->stock) { /* the stock engine's cycle runs without tables */
        /* Changes to it may take any other table. */
        status = cli_tables_prepare("point", s, &a->tables, a->explain ? NULL : kit, &message);
    }
    if (status == SHV_OK && a->want) {
        status = want_pulley(s, want, kit, &message);
    }
    if (status == SHV_OK) {
        status = evaluate(s, a, kit, &curves, &message);
    }
    if (status == SHV_OK) {
        status = answer(s, a, kit, &curves, place, &message);
    }
    if (status == SHV_OK && a->sure) {
        status = show_sure(s, kit, &message);
    }
    int code = cli_exit_code(status);
    if (status != SHV_OK) {
        cli_error("point", "%s", message.text);
    } else if (!a->stock && !curves.verdict.feasible) {
        code = CLI_NOTHING_FEASIBLE;
    }
    shv_curves_free(&curves);
    cli_tables_free(&a->tables);
    return code;
}

static int choose_and_show(struct cli_study *s, struct point_arguments *a)
{
    struct shv_units *units;
    struct shv_message message;
    struct shv_kit kit;
    struct place place;
    struct want want;
    enum shv_status status = shv_units_open(&units, &message);
    if (status != SHV_OK) {
        cli_error("point", "%s", message.text);
        return cli_exit_code(status);
    }
    int code = choose(s, a, units, &kit);
    if (!find_place(&s->study, a, units, &place)) {
        code = CLI_BAD_INPUT;
    }
    if (a->want && !want_read(units, a->want, &want)) {
        code = CLI_BAD_INPUT;
    } else if (code < 0 && a->want && isnan(kit.crank_diameter)) {
        cli_error("point", "--want looks for a blower pulley; give pulleys, not their ratio");
        code = CLI_BAD_INPUT;
    }
    shv_units_free(units);
    return code < 0 ? show(s, a, &kit, &place, &want) : code;
}

static int run(int argc, char **argv)
{
    struct point_arguments a = {0};
    const char *path;
    int code = cli_parse(&cli_point, argc, argv, &a, &path);
    code = code < 0 ? check_options(&a) : code;
    if (code >= 0) {
        return code;
    }
    struct cli_study s;
    code = cli_load("point", path, &s);
    if (code >= 0) {
        return code;
    }
    if (a.sure && !s.study.tolerances.given) {
        cli_error("point", "--sure: the study has no tolerances");
        cli_unload(&s);
        return CLI_BAD_INPUT;
    }
    code = choose_and_show(&s, &a);
    cli_unload(&s);
    return code;
}

const struct cli_command cli_point = {
    "point",
    "STUDY",
    "one combination over the rev range, every state",
    "Evaluates one combination at every site over the rev range and prints a screen: the kit, "
    "whether it\n"
    "holds, the limits nearest to it and its curve at the first site. --long prints every state "
    "from filter\n"
    "to flywheel at every site, the kit as hardware and at cruise, and each limit with its "
    "room.\n\n"
    "Keys for --pick: blower, cooler and fuel by name; crank_pulley and blower_pulley as diameters "
    "with\n"
    "a unit (any size, not only those of the study), or ratio instead of both; effectiveness; "
    "lambda;\n"
    "afr, the air-fuel ratio of that fuel, instead of lambda; ignition_margin as an angle; "
    "injector and\n"
    "pump by name; injector_flow as a volume flow, or a mass flow such as \"42 lb/h\" (any "
    "size);\n"
    "ribs of the belt (any number); wrap on the blower's pulley as an angle, 0 deg for that of the "
    "layout.\n"
    "A key left out is that of the best kit which fits the rest, where a run of the study has left "
    "its\n"
    "results, else the first choice of the study; what was taken so is said on standard error.\n\n"
    "    sheave point study.cfg --pick blower=straight-medium --pick \"blower_pulley=64 mm\"\n\n"
    "--want finds the blower pulley with which the kit, else as picked, has the value of a limit "
    "or "
    "of a\n"
    "number in curves.csv, its highest over sites and speeds: the ideal size, and the drawer's "
    "next "
    "to it,\n"
    "with what each gives, costs and breaks. The screen is that of the drawer's nearest.\n\n"
    "    sheave point study.cfg --kit 1 --want \"boost=8 psi\"\n\n"
    "--explain says in sentences which limits are broken and by how much, or which are nearest, "
    "and "
    "what\n"
    "exchanging one part for another of the study would do.\n\n"
    "--cycle writes the closed cycle of one cylinder instead, at one of the study's engine speeds, "
    "as CSV:\n"
    "pressure, temperatures, work, heat to the walls and knock integral over the crank angle. With "
    "--stock\n"
    "that of the stock engine.\n\n"
    "    sheave point study.cfg --combination 4711 --cycle \"5000 rpm\" > cycle.csv\n\n"
    "Cycle tables that it needs are kept in $XDG_CACHE_HOME/sheave, else in $HOME/.cache/sheave.\n"
    "Exits with 1 when the combination breaks a limit or has no answer somewhere.\n",
    options,
    false,
    .run = run};
