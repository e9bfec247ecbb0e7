/* The answer of a run on one screen: two kits, what they are near to, what else comes close, what
 * fuel and cooler are worth, and what holds it back. Everything else is in the long account
 * (table.c) and in the files. Each number says whether it is the value ranked by or a peak of
 * power. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/text/answer.h"
#include "report/text/list.h"
#include "report/table/hangs.h"
#include "report/table/objective.h"
#include "report/table/limit_worth.h"
#include "report/table/rows.h"
#include "report/table/sure.h"
#include "report/table/worth_knowing.h"
#include "report/write/text.h"

#define SCREEN 40 /* lines, with those that the command adds */
#define ADDED 4   /* by the command: where the results are, and what to type next */
#define ROWS_MOST 10
#define ROWS_LEAST 3
#define FUELS_MOST 3
#define NEAREST 3      /* limits that are named */
#define RIGHT_AT 0.02  /* room, as a share of a limit's span */
#define NEAR_TIE 0.015 /* of the value ranked by */
#define NAME 24
#define NAME_ROOM REPORT_FIT_MAX(NAME)

struct answer {
    const struct shv_run *run;
    const struct shv_study *study;
    enum shv_unit_system units;
    struct report_rows rows;
};

/* ---- kits ---- */

/* Of a kit that stands second, `brief`, what does not tell kits apart is left to the page. */
static void say_parts(struct report_text *out, const struct answer *a, const struct shv_summary *s,
                      bool brief)
{
    char belt[32] = "";
    struct report_kit_words w;
    report_words_kit(&w, a->study, &s->kit, NAME, "%s of effectiveness %.3g");
    if (s->ribs > 0.0 && !brief) {
        (void)snprintf(belt, sizeof belt, ", %.0f ribs", s->ribs);
    }
    report_text_say(out, "  Blower %s, pulleys %s on %s (ratio %.3f), %s, %s at %s%s%s.", w.blower,
                    w.crank, w.pulley, s->ratio, w.core, w.fuel, w.mixture, brief ? "" : w.supply,
                    belt);
}

static void say_figures(struct report_text *out, const struct answer *a,
                        const struct shv_summary *s, const struct shv_sure *sure, bool brief)
{
    const struct shv_study *study = a->study;
    char value[REPORT_WORDS_MAX], low[REPORT_WORDS_MAX], high[REPORT_WORDS_MAX];
    char peak[REPORT_WORDS_MAX], gain[REPORT_WORDS_MAX], boost[REPORT_WORDS_MAX];
    char over[REPORT_WORDS_MAX + 16] = "";
    char cases[2 * REPORT_WORDS_MAX + 32] = "", worth[REPORT_WORDS_MAX + 8] = "";
    char site[NAME_ROOM + 8] = "", name[NAME_ROOM];
    bool turned = report_objective_shown(study, 1.0) < 0.0;
    if (sure && !brief) {
        (void)snprintf(
            cases, sizeof cases, " (%s to %s in nine cases of ten)",
            report_words_ranked(low, study,
                                sure->percentile[turned ? SHV_SURE_P95 : SHV_SURE_P5].value),
            report_words_ranked(high, study,
                                sure->percentile[turned ? SHV_SURE_P5 : SHV_SURE_P95].value));
    }
    if (!isnan(s->price)) {
        char money[REPORT_WORDS_MAX];
        (void)snprintf(worth, sizeof worth, "; %s", report_words_money(money, study, s->price));
    }
    if (!brief) {
        (void)snprintf(over, sizeof over, ", %s %s stock",
                       report_words_quantity(gain, REPORT_POWER, a->units, fabs(s->gain)),
                       s->gain < 0.0 ? "under" : "over");
    }
    if (study->site_count > 1 && !brief) {
        (void)snprintf(site, sizeof site, " at %s", report_fit(name, NAME, study->sites[0].name));
    }
    report_text_say(out, "  Ranking value %s%s. Peak power %s at %.0f rpm%s%s; boost %s%s.",
                    report_words_objective_value(value, study, s->objective), cases,
                    report_words_quantity(peak, REPORT_POWER, a->units, s->peak_power),
                    s->peak_power_speed * 60.0, site, over,
                    report_words_quantity(boost, REPORT_GAUGE, a->units, s->boost), worth);
}

#define NO_SITE SIZE_MAX

/* The site at which all of the named limits of points are nearest, or NO_SITE. */
static size_t common_site(const struct shv_verdict *v, const int *named, int count)
{
    size_t site = NO_SITE;
    for (int i = 0; i < count; i++) {
        if (shv_limit_info((enum shv_limit)named[i])->of_kit) {
            continue;
        }
        if (site != NO_SITE && site != v->limit[named[i]].site) {
            return NO_SITE;
        }
        site = v->limit[named[i]].site;
    }
    return site;
}

static void say_limits(struct report_text *out, const struct answer *a, bool brief)
{
    const struct shv_verdict *v = &a->rows.of.curves.verdict;
    char words[NEAREST * (NAME_ROOM + 96)] = "", name[NAME_ROOM];
    int named[NEAREST], count = 0;
    shv_limit_set seen = 0;
    for (; count < NEAREST; count++) {
        int next = report_next_limit(v, seen);
        if (next < 0 || !isfinite(v->limit[next].share)) {
            break;
        }
        seen |= SHV_LIMIT_BIT(next);
        named[count] = next;
    }
    size_t site = common_site(v, named, count);
    for (int i = 0; i < count; i++) {
        char where[REPORT_WORDS_MAX];
        size_t used = strlen(words);
        (void)report_words_place(where, a->study, &v->limit[named[i]], (enum shv_limit)named[i],
                                 ", ");
        where[brief ? 0 : site != NO_SITE ? strcspn(where, ",") : strlen(where)] = '\0';
        (void)snprintf(words + used, sizeof words - used, "%s%s %.1f %%%s", i > 0 ? "; " : "",
                       shv_limit_info((enum shv_limit)named[i])->title,
                       100.0 * v->limit[named[i]].share, where);
    }
    if (count == 0) {
        report_text_say(out, "  No limit is set.");
    } else if (site != NO_SITE && a->study->site_count > 1 && !brief) {
        report_text_say(out, "  Nearest limits, by room, at %s: %s.",
                        report_fit(name, NAME, a->study->sites[site].name), words);
    } else {
        report_text_say(out, "  Nearest limits, by room: %s.", words);
    }
}

static void say_kit(struct report_text *out, struct answer *a, uint64_t index,
                    const struct shv_sure *sure, bool brief)
{
    struct shv_summary s;
    report_rows_take_index(&a->rows, index, 0, &s);
    say_parts(out, a, &s, brief);
    say_figures(out, a, &s, sure, brief);
    say_limits(out, a, brief);
}

static const struct shv_sure *strongest_sure(const struct shv_run *run)
{
    const struct shv_sure_list *list = run->sure;
    return list && list->count > 0 && list->row[0].kind == SHV_SURE_RANKED ? &list->row[0] : NULL;
}

static void say_chance(char words[64], const struct shv_sure *sure)
{
    (void)snprintf(words, 64, sure->all.value > 0.9995 ? "more than 99.9 %%" : "%.1f %% (+- %.1f)",
                   100.0 * sure->all.value, 100.0 * sure->all.error);
}

/* Why there is no kit to sell. */
static void say_no_kit_to_sell(struct report_text *out, const struct answer *a)
{
    const struct shv_run *run = a->run;
    if (run->certainty == SHV_STAGE_NONE) {
        const struct shv_verdict *v = &a->rows.of.curves.verdict;
        int nearest = report_next_limit(v, 0);
        bool at_limits = nearest >= 0 && v->limit[nearest].share < RIGHT_AT;
        report_text_say(out,
                        "%sWith tolerances in the study (docs/config.md) a run also finds the kit "
                        "to sell.",
                        at_limits ? "It stands right at its limits. " : "");
    } else if (run->certainty == SHV_STAGE_LEFT_OUT) {
        report_text_say(out, "Whether it holds when parts, engine and weather are off was not "
                             "looked at (--no-certainty).");
    } else if (run->sure && run->sure->asked) {
        report_text_say(out, "No kit to sell was found: none holds every limit with %.4g %%.",
                        100.0 * run->study->tolerances.hold);
    }
}

static void say_kits(struct report_text *out, struct answer *a)
{
    const struct shv_run *run = a->run;
    const struct shv_sure *sell = report_kit_to_sell(run), *sure = strongest_sure(run);
    char chance[64], held[96] = "";
    if (sell) {
        say_chance(chance, sell);
        report_text_say(out,
                        "Kit to sell: holds every limit with %s when parts, engine and weather are "
                        "off.",
                        chance);
        say_kit(out, a, sell->index, sell, false);
    }
    if (sure) {
        say_chance(chance, sure);
        (void)snprintf(held, sizeof held, ": holds every limit with %s", chance);
    }
    report_text_say(out, "Strongest on paper%s.", held);
    say_kit(out, a, run->ranking->item[0].index, sure, sell != NULL);
    if (!sell) {
        say_no_kit_to_sell(out, a);
    }
}

/* ---- rows that differ in something that matters ---- */

/* Rows of the ranking with the same blower, pulleys, cooler family and fuel. */
struct family {
    struct shv_kit kit; /* of the best of them */
    size_t place;       /* of it in the ranking */
    size_t cores;       /* sizes of core among them */
    double low, high;   /* value ranked by */
};

static bool same_family(const struct shv_kit *a, const struct shv_kit *b)
{
    return a->blower == b->blower && a->cooler == b->cooler && a->fuel == b->fuel &&
           a->crank_diameter == b->crank_diameter && a->blower_diameter == b->blower_diameter;
}

/* `met`: room for every core of every cooler for each, cleared. */
static size_t list_families(const struct shv_run *run, struct family list[ROWS_MOST], bool *met)
{
    size_t count = 0, cores = (size_t)run->space->count[SHV_DIM_COOLER];
    for (size_t i = 0; i < run->ranking->count; i++) {
        const struct shv_candidate *c = &run->ranking->item[i];
        struct shv_kit kit;
        size_t at = 0;
        shv_space_kit(run->space, run->study, c->index, &kit);
        while (at < count && !same_family(&list[at].kit, &kit)) {
            at++;
        }
        if (at == count && count == ROWS_MOST) {
            continue;
        }
        if (at == count) {
            list[count++] = (struct family){.kit = kit, .place = i, .high = c->objective};
        }
        list[at].low = c->objective;
        uint64_t choice[SHV_DIM_COUNT];
        shv_space_split(run->space, c->index, choice);
        bool *core = &met[at * cores + choice[SHV_DIM_COOLER]];
        list[at].cores += *core ? 0 : 1;
        *core = true;
    }
    return count;
}

/* What the rows are ranked by. */
static void say_ranked(struct report_text *out, struct answer *a)
{
    char total[REPORT_COUNT_MAX], words[REPORT_WORDS_MAX];
    uint64_t count = a->run->counts->total;
    report_text_say(out, "Ranking value of %s combination%s: %s.", report_thousands(total, count),
                    count == 1 ? "" : "s", report_words_objective(words, a->study));
}

struct family_row {
    struct shv_summary s;
    const char *core, *value;
};

#define OF(member) offsetof(struct family_row, member)

static const struct report_list_column family_columns[] = {
    {"#", 3, REPORT_COUNT, REPORT_BY_UNIT, OF(s.rank)},
    {"blower", -15, REPORT_TEXT, REPORT_BY_UNIT, OF(s.blower)},
    {"crank", 6, REPORT_LENGTH, REPORT_BY_UNIT, OF(s.crank_pulley)},
    {"pulley", 6, REPORT_LENGTH, REPORT_BY_UNIT, OF(s.blower_pulley)},
    {"cooler", -13, REPORT_TEXT, REPORT_BY_UNIT, OF(s.cooler)},
    {"core", -8, REPORT_TEXT, REPORT_BY_UNIT, OF(core)},
    {"fuel", -11, REPORT_TEXT, REPORT_BY_UNIT, OF(s.fuel)},
    {"ranking value", 15, REPORT_TEXT, REPORT_BY_UNIT, OF(value)},
    {"peak", 7, REPORT_POWER, REPORT_BY_UNIT, OF(s.peak_power)},
    {"boost", 6, REPORT_GAUGE, REPORT_BY_UNIT, OF(s.boost)},
};

static void line_family(const struct report_list *out, struct answer *a, const struct family *f)
{
    struct family_row row;
    const struct report_unit *unit = report_unit(out->objective, a->units);
    char core[16], value[48];
    double best = report_shown(out->objective, a->units, report_objective_shown(a->study, f->high));
    double worst = report_shown(out->objective, a->units, report_objective_shown(a->study, f->low));
    report_rows_take(&a->rows, f->place, &row.s);
    bool cooled = row.s.effectiveness > 0.0;
    (void)snprintf(core, sizeof core,
                   f->cores > 1 ? "%.0f cores"
                   : cooled     ? "%.3g"
                                : "-",
                   f->cores > 1 ? (double)f->cores : row.s.effectiveness);
    (void)snprintf(value, sizeof value, "%.*f", unit->decimals, best);
    if (f->low != f->high && f->cores > 1) {
        (void)snprintf(value, sizeof value, "%.*f to %.*f", unit->decimals, fmin(best, worst),
                       unit->decimals, fmax(best, worst));
    }
    row.s.cooler = cooled ? row.s.cooler : "none";
    row.core = core;
    row.value = value;
    report_list_row(out, &row);
}

/* ---- near ties ---- */

/* A kit with another blower that makes nearly as much, and costs less where prices are known. */
static void say_near_tie(struct report_text *out, struct answer *a)
{
    const struct shv_run *run = a->run;
    struct shv_summary first, s;
    struct shv_kit kit;
    report_rows_take(&a->rows, 0, &first);
    for (size_t i = 1; i < run->ranking->count; i++) {
        const struct shv_candidate *c = &run->ranking->item[i];
        double loss =
            report_objective_loss(a->study, run->ranking->item[0].objective, c->objective);
        if (!(loss < NEAR_TIE)) {
            return;
        }
        shv_space_kit(run->space, a->study, c->index, &kit);
        if (kit.blower == first.kit.blower) {
            continue;
        }
        report_rows_take(&a->rows, i, &s);
        if (isnan(s.price) != isnan(first.price) || s.price >= first.price) {
            continue;
        }
        char less[REPORT_WORDS_MAX], money[REPORT_WORDS_MAX], name[NAME_ROOM];
        char saves[REPORT_WORDS_MAX + 32] = "";
        if (!isnan(s.price)) {
            (void)snprintf(saves, sizeof saves, ", %s cheaper",
                           report_words_money(money, a->study, first.price - s.price));
        }
        report_text_say(
            out, "Near tie: blower %s (row %zu) with %s less ranking value%s.",
            report_fit(name, NAME, s.blower), i + 1,
            report_words_objective_value(less, a->study, fabs(s.objective - first.objective)),
            saves);
        return;
    }
}

/* ---- what fuel and cooler are worth ---- */

static void say_fuels(struct report_text *out, const struct answer *a)
{
    const struct shv_study *study = a->study;
    bool coolers = study->cooler_count > 1;
    if (a->run->optimum_count == 0 || (!coolers && study->fuel_count < 2)) {
        return;
    }
    char words[FUELS_MOST * (NAME_ROOM + 2 * REPORT_WORDS_MAX + 8) + 32] = "";
    for (size_t fuel = 0; fuel < study->fuel_count && fuel < FUELS_MOST; fuel++) {
        const struct shv_optimum *any = report_best_ideal(a->run, fuel, false);
        const struct shv_optimum *bare = report_best_ideal(a->run, fuel, true);
        char name[NAME_ROOM], with[REPORT_WORDS_MAX], without[REPORT_WORDS_MAX];
        size_t used = strlen(words);
        (void)snprintf(words + used, sizeof words - used, "%s%s %s", fuel > 0 ? ", " : "",
                       report_fit(name, NAME, study->fuels[fuel].name),
                       any ? report_words_ranked(with, study, any->objective) : "none");
        used = strlen(words);
        if (coolers) {
            (void)snprintf(words + used, sizeof words - used, " (%s)",
                           bare ? report_words_ranked(without, study, bare->uncooled_objective)
                                : "none");
        }
    }
    report_text_say(out, "Ranking value of the best ideal with each fuel%s: %s%s.",
                    coolers ? " (without a cooler)" : "", words,
                    study->fuel_count > FUELS_MOST ? "; other fuels: --long" : "");
}

/* ---- all of it ---- */

/* What follows the rows, and what goes before them. */
static void say_before(struct report_text *out, struct answer *a)
{
    say_kits(out, a);
    report_text_end(out);
    say_ranked(out, a);
}

/* One line: what alone would put the nearest rival first. */
static void say_hangs(struct report_text *out, const struct answer *a)
{
    const struct shv_rival *rival = report_nearest_rival(a->run);
    char words[REPORT_HANGS_MAX];
    if (rival) {
        report_hangs_sentence(a->study, rival, words);
        report_text_say(out, "%s", words);
    }
}

static void say_knowing(struct report_text *out, const struct answer *a)
{
    char words[REPORT_KNOWING_MAX];
    if (report_knowing_sentence(a->run, words)) {
        report_text_say(out, "%s", words);
    }
}

static void say_after(struct report_text *out, struct answer *a)
{
    say_near_tie(out, a);
    say_knowing(out, a);
    say_hangs(out, a);
    say_fuels(out, a);
    report_say_holding(a->run, out);
}

static size_t lines_of(const char *text)
{
    size_t lines = 0;
    for (; *text; text++) {
        lines += *text == '\n';
    }
    return lines;
}

/* A part of the screen as text, to know how long it is; the caller frees it. NULL: no memory. */
static char *part(struct answer *a, void (*say)(struct report_text *out, struct answer *a))
{
    char *text = NULL;
    size_t size;
    FILE *stream = open_memstream(&text, &size);
    struct report_text out;
    if (!stream) {
        return NULL;
    }
    report_text_init(&out, stream);
    say(&out, a);
    bool good = report_text_finish(&out, "", NULL) == SHV_OK;
    if (fclose(stream) != 0 || !good) {
        free(text);
        return NULL;
    }
    return text;
}

/* Rows as far as the screen holds them. */
static void show_rows(struct report_text *out, struct answer *a, const struct family *list,
                      size_t count, size_t taken)
{
    size_t room = SCREEN > taken + 3 ? SCREEN - taken - 3 : 0; /* two of the head, a blank */
    char unit[REPORT_WORDS_MAX];
    const struct report_list rows = {.text = out,
                                     .column = family_columns,
                                     .count = sizeof family_columns / sizeof *family_columns,
                                     .units = a->units,
                                     .objective = report_objective_measure(a->study),
                                     .objective_unit = report_words_objective_unit(unit, a->study)};
    room = room < ROWS_LEAST ? ROWS_LEAST : room;
    if (count < 2) {
        return;
    }
    report_list_head(&rows);
    for (size_t i = 0; i < count && i < room; i++) {
        line_family(&rows, a, &list[i]);
    }
    report_text_end(out);
}

static enum shv_status print_answer(struct answer *a, FILE *out, struct shv_message *message)
{
    struct report_text text;
    struct family list[ROWS_MOST];
    char *before = part(a, say_before), *after = part(a, say_after);
    bool *met = calloc(ROWS_MOST * (size_t)a->run->space->count[SHV_DIM_COOLER], sizeof *met);
    if (!before || !after || !met) {
        free(before);
        free(after);
        free(met);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the answer");
    }
    report_text_init(&text, out);
    bool good = fputs(before, out) >= 0;
    show_rows(&text, a, list, list_families(a->run, list, met),
              lines_of(before) + lines_of(after) + ADDED);
    good = good && fputs(after, out) >= 0;
    free(before);
    free(after);
    free(met);
    enum shv_status status = report_text_finish(&text, "the answer", message);
    return status == SHV_OK && !good ? shv_fail(message, SHV_IO, "cannot write the answer")
                                     : status;
}

enum shv_status shv_report_answer(const struct shv_run *run, FILE *out, struct shv_message *message)
{
    struct answer a = {.run = run, .study = run->study, .units = run->study->results.units};
    if (run->ranking->count == 0) {
        return report_say_nothing(run, out, message);
    }
    enum shv_status status = report_rows_init(&a.rows, run, message);
    if (status != SHV_OK) {
        return status;
    }
    status = print_answer(&a, out, message);
    report_rows_free(&a.rows);
    return status;
}
