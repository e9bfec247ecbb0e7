/* The account of a run for a person at a terminal: the answer in a sentence, the ten best, what
 * holds each of them back, why the others were rejected, and how far real parts fall short of
 * the ideal. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/text/answer.h"
#include "report/text/hardware.h"
#include "report/text/list.h"
#include "report/text/nearest.h"
#include "report/table/objective.h"
#include "report/table/limit_worth.h"
#include "report/table/rows.h"
#include "report/table/sure.h"
#include "report/write/text.h"

#define BEST 10
#define NAME_IN_SENTENCE 32
#define NAME_ROOM REPORT_FIT_MAX(NAME_IN_SENTENCE)
#define REASONS (SHV_OUTCOME_COUNT + SHV_LIMIT_COUNT)
#define REASONS_IN_SENTENCE 3
#define LATER_LEAST 0.05 /* deg that show */

struct table {
    const struct shv_run *run;
    const struct shv_study *study;
    enum shv_unit_system units;
    enum report_measure objective;
    struct report_text text;
    struct shv_summary best[BEST];
    size_t count; /* of best */
};

/* ---- the answer in words ---- */

static void say_parts(struct table *t, const struct shv_summary *s)
{
    char total[REPORT_COUNT_MAX];
    struct report_kit_words w;
    report_words_kit(&w, t->study, &s->kit, NAME_IN_SENTENCE, REPORT_CORE);
    report_text_say(&t->text,
                    "Best of %s combination%s: blower %s with a crank pulley of %s and a blower "
                    "pulley of %s (ratio %.3f), %s, fuel %s at %s%s.",
                    report_thousands(total, t->run->counts->total),
                    t->run->counts->total == 1 ? "" : "s", w.blower, w.crank, w.pulley, s->ratio,
                    w.core, w.fuel, w.mixture, w.supply);
}

/* Where the charge burns at the peak of power. */
static void say_phasing(struct table *t, const struct shv_summary *s)
{
    char phasing[REPORT_WORDS_MAX];
    if (isnan(s->ca50)) {
        return;
    }
    if (s->phasing_retard < LATER_LEAST) {
        report_text_say(&t->text,
                        "Half of the charge is burnt %s there, where it does most: knock does not "
                        "hold it back.",
                        report_words_phasing(phasing, s->ca50));
        return;
    }
    report_text_say(&t->text, "Half of the charge is burnt %s there, a retard of %.1f deg%s.",
                    report_words_phasing(phasing, s->ca50), s->phasing_retard,
                    s->phasing_by == SHV_PHASING_BY_PRESSURE ? " that keeps the peak pressure"
                                                             : "");
}

static void say_power(struct table *t, const struct shv_summary *s)
{
    char peak[REPORT_WORDS_MAX], gain[REPORT_WORDS_MAX], weakest[REPORT_WORDS_MAX];
    char first[NAME_ROOM], where[NAME_ROOM];
    report_text_say(&t->text, "It makes %s at %.0f rpm at %s, %s %s than the stock engine.",
                    report_words_quantity(peak, REPORT_POWER, t->units, s->peak_power),
                    s->peak_power_speed * 60.0,
                    report_fit(first, NAME_IN_SENTENCE, t->study->sites[0].name),
                    report_words_quantity(gain, REPORT_POWER, t->units, fabs(s->gain)),
                    s->gain < 0.0 ? "less" : "more");
    say_phasing(t, s);
    if (t->study->site_count > 1 && s->weakest_site) {
        report_text_say(&t->text, "Weakest site: %s, with %s.",
                        report_fit(where, NAME_IN_SENTENCE, s->weakest_site),
                        report_words_quantity(weakest, REPORT_POWER, t->units, s->weakest_power));
    }
}

/* The belt as far as it is known; what is not known is not spoken of. */
static void say_belt(struct table *t, const struct shv_summary *s)
{
    char length[REPORT_WORDS_MAX], words[REPORT_WORDS_MAX], life[REPORT_WORDS_MAX];
    char is_long[REPORT_WORDS_MAX + 8] = "", lasts[REPORT_WORDS_MAX + 32] = "";
    if (isnan(s->static_tension)) {
        return;
    }
    if (!isnan(s->belt_length)) {
        (void)snprintf(is_long, sizeof is_long, ", %s long",
                       report_words_quantity(length, REPORT_LENGTH, t->units, s->belt_length));
    }
    if (isfinite(s->bearing_life)) {
        (void)snprintf(lasts, sizeof lasts, "; the nose bearing is good for %s",
                       report_words_quantity(life, REPORT_LIFE, t->units, s->bearing_life));
    }
    report_text_say(&t->text, "Belt of %.0f rib%s%s, with a static tension of %s%s.", s->ribs,
                    s->ribs == 1.0 ? "" : "s", is_long,
                    report_words_quantity(words, REPORT_FORCE, t->units, s->static_tension), lasts);
}

static void say_worth(struct table *t, const struct shv_summary *s)
{
    char price[REPORT_WORDS_MAX], mass[REPORT_WORDS_MAX];
    (void)report_words_money(price, t->study, s->price);
    (void)report_words_quantity(mass, REPORT_MASS, t->units, s->mass);
    if (!isnan(s->price) && !isnan(s->mass)) {
        report_text_say(&t->text, "The kit costs %s and weighs %s.", price, mass);
    } else if (!isnan(s->price)) {
        report_text_say(&t->text, "The kit costs %s.", price);
    } else if (!isnan(s->mass)) {
        report_text_say(&t->text, "The kit weighs %s.", mass);
    }
}

static void say_binding(struct table *t, const struct shv_summary *s)
{
    char site[NAME_ROOM];
    if (!s->binding_title) {
        report_text_say(&t->text, "No limit is set that could hold it back.");
        return;
    }
    if (!s->binding_site) { /* a property of the whole kit */
        report_text_say(&t->text, "Nearest limit: %s, with a room of %.1f %%.", s->binding_title,
                        100.0 * s->binding_share);
        return;
    }
    report_text_say(&t->text, "Nearest limit: %s, with a room of %.1f %% at %.0f rpm at %s.",
                    s->binding_title, 100.0 * s->binding_share, s->binding_speed * 60.0,
                    report_fit(site, NAME_IN_SENTENCE, s->binding_site));
}

/* ---- reasons ---- */

struct reason {
    uint64_t count;
    int order; /* of equal counts, the one looked for first */
    char words[64];
};

static int by_count(const void *a, const void *b)
{
    const struct reason *x = a, *y = b;
    if (x->count != y->count) {
        return x->count > y->count ? -1 : 1;
    }
    return x->order - y->order;
}

static const char *rejected_by(enum shv_limit limit)
{
    return shv_limit_info(limit)->at_least ? "short of the limit of" : "over the limit of";
}

/* Those that rejected anything, largest first; returns how many. */
static size_t list_reasons(const struct shv_sweep_counts *counts, struct reason list[REASONS])
{
    size_t used = 0;
    for (int i = 0; i < REASONS; i++) {
        bool failure = i < SHV_OUTCOME_COUNT;
        int which = failure ? i : i - SHV_OUTCOME_COUNT;
        struct reason r = {.count = failure ? counts->failed[which] : counts->first[which],
                           .order = i};
        (void)snprintf(r.words, sizeof r.words, "%s %s",
                       failure ? "no answer:" : rejected_by((enum shv_limit)which),
                       failure ? shv_outcome_name((enum shv_outcome)which)
                               : shv_limit_info((enum shv_limit)which)->title);
        if (r.count > 0) {
            list[used++] = r;
        }
    }
    qsort(list, used, sizeof *list, by_count);
    return used;
}

static void say_nothing_feasible(struct table *t)
{
    struct reason list[REASONS];
    size_t count = list_reasons(t->run->counts, list);
    char total[REPORT_COUNT_MAX], words[REASONS_IN_SENTENCE * 100] = "";
    for (size_t i = 0; i < count && i < REASONS_IN_SENTENCE; i++) {
        char number[REPORT_COUNT_MAX];
        size_t used = strlen(words);
        (void)snprintf(words + used, sizeof words - used, "%s%s (%s)", i > 0 ? ", " : "",
                       list[i].words, report_thousands(number, list[i].count));
    }
    const char *reasons = count > 0 ? words : "none";
    if (t->run->counts->total == 1) {
        report_text_say(&t->text,
                        "Nothing is feasible: the 1 combination does not keep every limit at every "
                        "site and speed. Reason: %s.",
                        reasons);
        return;
    }
    report_text_say(&t->text,
                    "Nothing is feasible: none of the %s combinations keeps every limit at every "
                    "site and speed. Commonest reasons: %s.",
                    report_thousands(total, t->run->counts->total), reasons);
}

#define NEAREST_SAID 4

static void say_nearest(struct table *t)
{
    const struct shv_run *run = t->run;
    report_text_end(&t->text);
    report_say_nearest(&t->text, run->study, run->space, run->nearest, run->nearest_count,
                       NEAREST_SAID);
}

static void line_reason(struct table *t, uint64_t count, const char *words)
{
    char number[REPORT_COUNT_MAX];
    report_text_right(&t->text, REPORT_COUNT_MAX - 9, report_thousands(number, count));
    double total = (double)t->run->counts->total;
    report_text_number(&t->text, 7, 2, total > 0.0 ? 100.0 * (double)count / total : NAN);
    report_text_left(&t->text, 2, "%");
    report_text_left(&t->text, 60, words);
    report_text_end(&t->text);
}

static void show_reasons(struct table *t)
{
    struct reason list[REASONS];
    size_t count = list_reasons(t->run->counts, list);
    report_text_end(&t->text);
    report_text_say(&t->text, "Where the combinations went (each counted under the first reason)");
    line_reason(t, t->run->counts->total, "all");
    line_reason(t, t->run->counts->feasible, "feasible");
    for (size_t i = 0; i < count; i++) {
        line_reason(t, list[i].count, list[i].words);
    }
}

/* ---- the ten best ---- */

#define OF(member) offsetof(struct shv_summary, member)

static const struct report_list_column best_columns[] = {
    {"#", 2, REPORT_COUNT, REPORT_BY_UNIT, OF(rank)},
    {"blower", -15, REPORT_TEXT, REPORT_BY_UNIT, OF(blower)},
    {"crank", 6, REPORT_LENGTH, REPORT_BY_UNIT, OF(crank_pulley)},
    {"pulley", 6, REPORT_LENGTH, REPORT_BY_UNIT, OF(blower_pulley)},
    {"ratio", 5, REPORT_NUMBER, REPORT_BY_UNIT, OF(ratio)},
    {"cooler", -13, REPORT_TEXT, REPORT_BY_UNIT, OF(cooler)},
    {"eff", 5, REPORT_NUMBER, REPORT_BY_UNIT, OF(effectiveness)},
    {"fuel", -11, REPORT_TEXT, REPORT_BY_UNIT, OF(fuel)},
    {"lambda", 6, REPORT_NUMBER, REPORT_BY_UNIT, OF(lambda)},
    {"value", 7, REPORT_OBJECTIVE, REPORT_BY_UNIT, OF(objective)},
    {"gain", 6, REPORT_POWER, REPORT_BY_UNIT, OF(gain)},
    {"boost", 6, REPORT_GAUGE, REPORT_BY_UNIT, OF(boost)},
};

/* With the closed cycle the site gives some of its room to the retard. */
#define SITE 4
#define SITE_ALONE (-22)

static const struct report_list_column held_back_columns[] = {
    {"#", 2, REPORT_COUNT, REPORT_BY_UNIT, OF(rank)},
    {"nearest limit", -24, REPORT_TEXT, REPORT_BY_UNIT, OF(binding_title)},
    {"room, %", 8, REPORT_PERCENT, REPORT_BY_UNIT, OF(binding_share)},
    {"rpm", 6, REPORT_ROTATION, REPORT_BY_UNIT, OF(binding_speed)},
    {"site", -14, REPORT_TEXT, REPORT_BY_UNIT, OF(binding_site)},
    {"rotor, rpm", 10, REPORT_ROTATION, REPORT_BY_UNIT, OF(rotor_speed)},
    {"discharge", 9, REPORT_TEMPERATURE, REPORT_BY_UNIT, OF(discharge_temperature)},
    {"charge", 9, REPORT_TEMPERATURE, REPORT_BY_UNIT, OF(charge_temperature)},
    {"retard", 7, REPORT_ANGLE, REPORT_BY_UNIT, OF(highest_retard)},
};
#define HELD_BACK_COLUMNS (sizeof held_back_columns / sizeof *held_back_columns)

static void list_best(struct table *t, const struct report_list_column *column, size_t count)
{
    char unit[REPORT_WORDS_MAX];
    const struct report_list list = {.text = &t->text,
                                     .column = column,
                                     .count = count,
                                     .units = t->units,
                                     .objective = t->objective,
                                     .objective_unit = report_words_objective_unit(unit, t->study)};
    report_list_head(&list);
    report_text_rule(&t->text, REPORT_WIDTH - 1);
    for (size_t i = 0; i < t->count; i++) {
        struct shv_summary row = t->best[i];
        row.binding_title = row.binding_title ? row.binding_title : "none";
        report_list_row(&list, &row);
    }
}

static void show_best(struct table *t)
{
    bool cycle = t->study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE;
    char objective[REPORT_WORDS_MAX], site[NAME_ROOM];
    struct report_list_column held_back[HELD_BACK_COLUMNS];
    report_text_end(&t->text);
    report_text_say(
        &t->text,
        "The best, by ranking value (%s); gain in peak power over stock at %s; highest boost",
        report_words_objective(objective, t->study),
        report_fit(site, NAME_IN_SENTENCE, t->study->sites[0].name));
    list_best(t, best_columns, sizeof best_columns / sizeof *best_columns);
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "What holds each of them back, and the highest values over all sites");
    memcpy(held_back, held_back_columns, sizeof held_back);
    held_back[SITE].width = cycle ? held_back[SITE].width : SITE_ALONE;
    list_best(t, held_back, cycle ? HELD_BACK_COLUMNS : HELD_BACK_COLUMNS - 1);
    report_list_hardware(&t->text, t->study, t->best, t->count);
}

/* ---- ideal and real ---- */

/* Columns of words in this table. They share what the columns of numbers leave of a line. */
enum { BLOWER, FUEL, COOLER, HELD_BACK, WORDS };
#define PARTS_ROOM (2 * REPORT_WORDS_MAX + 8)
#define NUMBERS_WIDTH (6 + 5 + 6 + 7 + 6 + 8) /* with a blank between any two columns */

static const char *const words_titles[WORDS] = {"blower", "fuel", "cooler", "held back by"};

struct optima_table {
    struct table *t;
    int width[WORDS];
};

static const char *held_back(const struct shv_optimum *o)
{
    return o->binding >= 0 ? shv_limit_info((enum shv_limit)o->binding)->title : "nothing";
}

/* The crank pulley on the blower pulley. */
static char *real_parts(char words[PARTS_ROOM], const struct table *t, const struct shv_kit *kit)
{
    char crank[REPORT_WORDS_MAX], pulley[REPORT_WORDS_MAX];
    (void)snprintf(words, PARTS_ROOM, "  %s on %s",
                   report_words_diameter(crank, t->units, kit->crank_diameter),
                   report_words_diameter(pulley, t->units, kit->blower_diameter));
    return words;
}

static void widen(int *width, const char *cell)
{
    int needed = report_characters(cell);
    *width = needed > *width ? needed : *width;
}

static void widen_for(struct optima_table *x, const struct shv_optimum *o)
{
    const struct shv_study *study = x->t->study;
    widen(&x->width[BLOWER], study->blowers[o->blower].name);
    widen(&x->width[FUEL], study->fuels[o->fuel].name);
    if (o->found) {
        widen(&x->width[COOLER], study->coolers[o->ideal.cooler].name);
        widen(&x->width[HELD_BACK], held_back(o));
    }
    if (o->real_found) {
        widen(&x->width[COOLER], study->coolers[o->real.cooler].name);
    }
}

/* Each as wide as its longest cell; when a line can't hold that, the widest give way. */
static void size_words(struct optima_table *x)
{
    const struct shv_run *run = x->t->run;
    char words[PARTS_ROOM];
    int parts = 0, sum = 0;
    for (int i = 0; i < WORDS; i++) {
        widen(&x->width[i], words_titles[i]);
    }
    for (size_t i = 0; i < run->optimum_count; i++) {
        widen_for(x, &run->optima[i]);
        if (run->optima[i].real_found) {
            widen(&parts, real_parts(words, x->t, &run->optima[i].real));
        }
    }
    /* Real parts stand under blower and fuel together. */
    int beside = parts - 1 - x->width[BLOWER];
    x->width[FUEL] = beside > x->width[FUEL] ? beside : x->width[FUEL];
    for (int i = 0; i < WORDS; i++) {
        sum += x->width[i];
    }
    for (; sum > REPORT_WIDTH - NUMBERS_WIDTH; sum--) {
        int widest = 0;
        for (int i = 1; i < WORDS; i++) {
            widest = x->width[i] >= x->width[widest] ? i : widest;
        }
        x->width[widest]--;
    }
}

static void head_optima(struct optima_table *x)
{
    struct report_text *out = &x->t->text;
    const int *width = x->width;
    report_text_left(out, width[BLOWER], words_titles[BLOWER]);
    report_text_left(out, width[FUEL], words_titles[FUEL]);
    report_text_right(out, 6, "ratio");
    report_text_left(out, width[COOLER], words_titles[COOLER]);
    report_text_right(out, 5, "eff");
    report_text_right(out, 6, "lambda");
    report_text_right(out, 7, "value");
    report_text_right(out, 6, "loss");
    report_text_left(out, width[HELD_BACK], words_titles[HELD_BACK]);
    report_text_end(out);
    int words = width[BLOWER] + width[FUEL] + width[COOLER];
    char result[REPORT_WORDS_MAX], unit[REPORT_FIT_MAX(7)];
    report_text_right(out, words + 6 + 5 + 6 + 7 + 6,
                      report_fit(unit, 7, report_words_objective_unit(result, x->t->study)));
    report_text_right(out, 6, "%");
    report_text_end(out);
    report_text_rule(out, words + width[HELD_BACK] + NUMBERS_WIDTH);
}

static void line_kit(struct optima_table *x, const struct shv_kit *kit, double objective,
                     double loss, const char *limit)
{
    struct report_text *out = &x->t->text;
    report_text_number(out, 6, 3, kit->ratio);
    report_text_left(out, x->width[COOLER], x->t->study->coolers[kit->cooler].name);
    report_text_number(out, 5, 3, kit->effectiveness);
    report_text_number(out, 6, 3, kit->lambda);
    report_text_fit_quantity(out, 7, x->t->objective, x->t->units,
                             report_objective_shown(x->t->study, objective));
    report_text_quantity(&x->t->text, 6, REPORT_PERCENT, x->t->units, loss);
    report_text_left(out, x->width[HELD_BACK], limit);
    report_text_end(out);
}

static void lines_optimum(struct optima_table *x, const struct shv_optimum *o)
{
    struct report_text *out = &x->t->text;
    report_text_left(out, x->width[BLOWER], x->t->study->blowers[o->blower].name);
    report_text_left(out, x->width[FUEL], x->t->study->fuels[o->fuel].name);
    if (o->found) {
        line_kit(x, &o->ideal, o->objective, NAN, held_back(o));
    } else {
        report_text_left(out, 60, "no ideal kit keeps every limit");
        report_text_end(out);
    }
    if (o->real_found) {
        char words[PARTS_ROOM];
        report_text_left(out, x->width[BLOWER] + 1 + x->width[FUEL],
                         real_parts(words, x->t, &o->real));
        double loss = report_objective_loss(x->t->study, o->objective, o->real_objective);
        line_kit(x, &o->real, o->real_objective, o->found ? loss : NAN, "");
    } else {
        report_text_left(out, 60, "  no real parts near it keep every limit");
        report_text_end(out);
    }
}

static void show_optima(struct table *t)
{
    if (t->run->optimum_count == 0) {
        return;
    }
    report_text_end(&t->text);
    report_text_say(&t->text, "The ideal for each blower and fuel, and below it the nearest real "
                              "parts (crank pulley on blower pulley) with what they lose");
    struct optima_table x = {.t = t};
    size_words(&x);
    head_optima(&x);
    for (size_t i = 0; i < t->run->optimum_count; i++) {
        lines_optimum(&x, &t->run->optima[i]);
    }
}

/* ---- a pulley worth having made ---- */

#define WORTH_MAKING 1e-3 /* gain as a share of the objective */

/* Of the best real kit of all rows. */
static void say_made_pulley(struct table *t)
{
    const struct shv_optimum *best = NULL;
    for (size_t i = 0; i < t->run->optimum_count; i++) {
        const struct shv_optimum *o = &t->run->optima[i];
        if (o->real_found && (!best || o->real_objective > best->real_objective)) {
            best = o;
        }
    }
    if (!best) {
        return;
    }
    double gain = best->made_found
                      ? report_objective_loss(t->study, best->made_objective, best->real_objective)
                      : 0.0;
    if (gain < WORTH_MAKING) { /* not where the gain of a temperature has no share */
        report_text_end(&t->text);
        report_text_say(&t->text,
                        "No blower pulley is worth having made for the best real kit: to "
                        "a tenth of a millimetre none gains %.1f %%.",
                        100.0 * WORTH_MAKING);
        return;
    }
    char value[REPORT_WORDS_MAX], listed[REPORT_WORDS_MAX];
    const struct report_unit *unit = report_unit(REPORT_LENGTH, t->units);
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "A blower pulley worth having made: %.*f %s on the crank pulley of %.6g %s, "
                    "the rest of the "
                    "best real kit as it is, would come to %s instead of %s.",
                    t->units == SHV_US ? 3 : 1,
                    report_shown(REPORT_LENGTH, t->units, best->made.blower_diameter), unit->label,
                    report_shown(REPORT_LENGTH, t->units, best->made.crank_diameter), unit->label,
                    report_words_ranked(value, t->study, best->made_objective),
                    report_words_ranked(listed, t->study, best->real_objective));
}

/* ---- what one kit everywhere loses ---- */

static void say_site_shortfall(struct table *t, const struct shv_site_shortfall *p)
{
    char site[NAME_ROOM], where[NAME_ROOM], alone[REPORT_WORDS_MAX], common[REPORT_WORDS_MAX];
    const struct shv_study *study = t->study;
    (void)report_fit(site, NAME_IN_SENTENCE, study->sites[p->site].name);
    if (!p->found) {
        report_text_say(&t->text, "  %s: nothing keeps every limit there.", site);
        return;
    }
    (void)report_words_ranked(alone, study, p->alone);
    (void)report_words_ranked(common, study, p->common);
    if (p->holds) {
        report_text_say(&t->text, "  %s: %s instead of %s, with a kit that holds everywhere.", site,
                        alone, isnan(p->common) ? "none" : common);
        return;
    }
    report_text_say(&t->text, "  %s: %s instead of %s; that kit %s %s at %s.", site, alone,
                    isnan(p->common) ? "none" : common,
                    p->broken >= 0 ? "breaks the limit of" : "has no answer:",
                    p->broken >= 0 ? shv_limit_info((enum shv_limit)p->broken)->title
                                   : shv_outcome_name(p->outcome),
                    report_fit(where, NAME_IN_SENTENCE, study->sites[p->broken_site].name));
}

static void show_site_shortfalls(struct table *t)
{
    if (!t->run->site_shortfalls || t->study->site_count < 2) {
        return;
    }
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "What the best kit for one site alone would make there, instead of the "
                    "best for all");
    for (size_t i = 0; i < t->study->site_count; i++) {
        say_site_shortfall(t, &t->run->site_shortfalls[i]);
    }
}

/* Hardware for several fuels: the best of it. */
static void show_serving(struct table *t)
{
    const struct shv_study *study = t->study;
    if (!t->run->keep || study->serve_count == 0) {
        return;
    }
    report_text_end(&t->text);
    if (t->run->serving_count == 0) {
        report_text_say(&t->text, "No hardware does with all the fuels to be served.");
        return;
    }
    const struct shv_serving_kit *kit = &t->run->serving[0];
    struct shv_kit parts;
    struct report_kit_words w;
    char name[NAME_ROOM], cooler[NAME_ROOM];
    shv_space_kit(t->run->space, study, kit->with[0].index, &parts);
    report_words_kit(&w, study, &parts, NAME_IN_SENTENCE, REPORT_CORE);
    report_text_say(&t->text,
                    "One kit for all fuels served: blower %s, pulleys of %s on %s, cooler %s. With "
                    "each fuel, and the best kit for that fuel alone",
                    w.blower, w.crank, w.pulley,
                    report_fit(cooler, NAME_IN_SENTENCE, study->coolers[parts.cooler].name));
    for (size_t i = 0; i < study->serve_count; i++) {
        char here[REPORT_WORDS_MAX], alone[REPORT_WORDS_MAX];
        double best = t->run->keep->of_served[i].item[0].objective;
        report_text_say(
            &t->text, "  %s: %s; alone %s.",
            report_fit(name, NAME_IN_SENTENCE, study->fuels[study->serves[i].fuel].name),
            report_words_ranked(here, study, kit->with[i].objective),
            report_words_ranked(alone, study, best));
    }
}

/* ---- what a cooler is worth ---- */

/* "114.8 kW, retard 6.7 deg" */
static void say_worth_of(const struct table *t, char *text, size_t size, double objective,
                         double retard)
{
    char value[REPORT_WORDS_MAX], later[REPORT_WORDS_MAX] = "";
    (void)report_words_ranked(value, t->study, objective);
    if (!isnan(retard)) {
        (void)snprintf(later, sizeof later, ", retard %.1f deg", retard);
    }
    (void)snprintf(text, size, "%s%s", value, later);
}

static void show_cooler_worth(struct table *t)
{
    if (t->run->optimum_count == 0 || t->study->cooler_count < 2) {
        return;
    }
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "What fuel and charge cooler are worth, each with the blower and ratio "
                    "that suit it best");
    for (size_t fuel = 0; fuel < t->study->fuel_count; fuel++) {
        const struct shv_optimum *any = report_best_ideal(t->run, fuel, false);
        const struct shv_optimum *bare = report_best_ideal(t->run, fuel, true);
        char name[NAME_ROOM], with[3 * REPORT_WORDS_MAX] = "no kit keeps every limit";
        char without[3 * REPORT_WORDS_MAX] = "no kit keeps every limit";
        if (any) {
            say_worth_of(t, with, sizeof with, any->objective, any->retard);
        }
        if (bare) {
            say_worth_of(t, without, sizeof without, bare->uncooled_objective,
                         bare->uncooled_retard);
        }
        report_text_say(&t->text, "  %s: %s; without a cooler %s.",
                        report_fit(name, NAME_IN_SENTENCE, t->study->fuels[fuel].name), with,
                        without);
    }
}

/* ---- all of it ---- */

static enum shv_status take_best(struct table *t, struct shv_message *message)
{
    struct report_rows rows;
    enum shv_status status = report_rows_init(&rows, t->run, message);
    if (status != SHV_OK) {
        return status;
    }
    t->count = t->run->ranking->count < BEST ? t->run->ranking->count : BEST;
    for (size_t i = 0; i < t->count; i++) {
        report_rows_take(&rows, i, &t->best[i]);
    }
    report_rows_free(&rows);
    return SHV_OK;
}

enum shv_status shv_report_table(const struct shv_run *run, FILE *out, struct shv_message *message)
{
    struct table t = {.run = run,
                      .study = run->study,
                      .units = run->study->results.units,
                      .objective = report_objective_measure(run->study)};
    enum shv_status status = take_best(&t, message);
    if (status != SHV_OK) {
        return status;
    }
    report_text_init(&t.text, out);
    if (t.count > 0) {
        say_parts(&t, &t.best[0]);
        say_power(&t, &t.best[0]);
        say_belt(&t, &t.best[0]);
        say_worth(&t, &t.best[0]);
        say_binding(&t, &t.best[0]);
        show_best(&t);
    } else {
        say_nothing_feasible(&t);
    }
    show_reasons(&t);
    show_optima(&t);
    say_made_pulley(&t);
    show_site_shortfalls(&t);
    show_serving(&t);
    show_cooler_worth(&t);
    report_say_limit_worth(run, &t.text);
    report_say_sure(&t.text, run);
    return report_text_finish(&t.text, "the table of results", message);
}

enum shv_status report_say_nothing(const struct shv_run *run, FILE *out,
                                   struct shv_message *message)
{
    struct table t = {.run = run, .study = run->study, .units = run->study->results.units};
    report_text_init(&t.text, out);
    say_nothing_feasible(&t);
    say_nearest(&t);
    show_reasons(&t);
    return report_text_finish(&t.text, "why nothing is feasible", message);
}
