/* The account of a plan for a person at a terminal: who gets which kit, what is in stock, what each
 * further part buys; or who can't be served, and what would change that. */
#include <math.h>
#include <string.h>

#include "report/text/list.h"
#include "report/text/nearest.h"
#include "report/write/measure.h"
#include "report/write/text.h"
#include "report/write/words.h"
#include "sheave/report.h"

#define CURRENCY_SHOWN 12
#define NEAREST_SAID 2 /* of a group */

/* Columns of names, which share what the numbers leave: each as wide as its longest name, and when
 * that is too much the widest gives way. */
enum name_column { VEHICLE, MARKET, TIER, BLOWER, COOLER, NAMES };
#define NAMES_WIDTH 53
#define SURE_WIDTH 5
#define NAME_LEAST 7

struct range_text {
    const struct shv_range_run *run;
    const struct shv_range_problem *problem;
    struct report_text text;
    enum shv_unit_system units;
    char money[REPORT_FIT_MAX(CURRENCY_SHOWN)]; /* word for it, "" for none */
    int name_width[NAMES];
    bool sure; /* some kits were to hold with a probability */
};

static const char *label(const struct range_text *t, enum report_measure measure)
{
    return measure == REPORT_MONEY ? t->money : report_unit(measure, t->units)->label;
}

/* ---- who gets what ---- */

static double total_sales(const struct range_text *t)
{
    double sum = 0.0;
    for (size_t g = 0; g < t->problem->group_count; g++) {
        sum += t->problem->group[g].sales;
    }
    return sum;
}

/* "2 blowers, 1 crank pulley and 3 blower pulleys" of a point. */
static void list_kinds(const struct range_text *t, const struct shv_range_point *point, char *words,
                       size_t room)
{
    size_t used = 0, count[SHV_STOCK_KINDS], kinds = 0, told = 0;
    shv_range_kits_count(t->run->kits, point, count);
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        kinds += count[k] > 0 ? 1 : 0;
    }
    words[0] = '\0';
    for (size_t k = 0; k < SHV_STOCK_KINDS && used < room; k++) {
        if (count[k] > 0) {
            const char *between = told == 0 ? "" : told + 1 == kinds ? " and " : ", ";
            int length = snprintf(words + used, room - used, "%s%zu %s", between, count[k],
                                  shv_part_kind_words((enum shv_part_kind)k, count[k]));
            used += length > 0 ? (size_t)length : 0;
            told++;
        }
    }
}

static void say_plan(struct range_text *t)
{
    const struct shv_range_result *r = t->run->result;
    const struct shv_range_point *point = &r->point[r->chosen];
    char words[512];
    double lost = 0.0, most = 0.0, sales = total_sales(t);
    size_t worst = 0;
    for (size_t g = 0; g < t->problem->group_count; g++) {
        double now = 1.0 - t->run->row[g].power / t->run->row[g].best_power;
        lost += t->problem->group[g].sales * now / sales;
        worst = now > most ? g : worst;
        most = fmax(most, now);
    }
    list_kinds(t, point, words, sizeof words);
    report_text_say(
        &t->text,
        "%zu different part%s in stock serve %zu group%s of customers who buy %.6g kits "
        "a year: %s.",
        point->parts, point->parts == 1 ? "" : "s", t->problem->group_count,
        t->problem->group_count == 1 ? "" : "s", sales, words);
    report_text_say(
        &t->text,
        "On the mean of all kits sold that costs %.2f %% of the power that each group's "
        "own best kit would make%s%s.",
        100.0 * lost, most > 0.0 ? "; most of all " : "",
        most > 0.0 ? t->problem->group[worst].name : "");
    if (!point->proven) {
        report_text_say(&t->text,
                        "The search was broken off: there may be plans worth up to %.3g %% "
                        "more.",
                        100.0 * (point->bound - point->value) / fabs(point->value));
    }
}

static const char *name_of(const struct shv_range_row *r, enum name_column column)
{
    const char *const names[NAMES] = {r->vehicle, r->market, r->tier, r->s.blower, r->s.cooler};
    return names[column];
}

static void fit_names(struct range_text *t)
{
    int sum = 0;
    for (int k = 0; k < NAMES; k++) {
        t->name_width[k] = NAME_LEAST;
        for (size_t g = 0; g < t->problem->group_count; g++) {
            int width = report_characters(name_of(&t->run->row[g], (enum name_column)k));
            t->name_width[k] = width > t->name_width[k] ? width : t->name_width[k];
        }
        t->name_width[k] = t->name_width[k] > NAMES_WIDTH ? NAMES_WIDTH : t->name_width[k];
        sum += t->name_width[k];
    }
    for (; sum > NAMES_WIDTH - (t->sure ? SURE_WIDTH + 1 : 0); sum--) {
        int widest = 0;
        for (int k = 1; k < NAMES; k++) {
            widest = t->name_width[k] > t->name_width[widest] ? k : widest;
        }
        t->name_width[widest]--;
    }
}

struct kit_line {
    struct shv_range_row r;
    double lost; /* of the power of its own best kit */
};

#define OF(member) offsetof(struct kit_line, member)
#define COLUMNS 13 /* the last with `sure` */

static void list_kits(struct range_text *t)
{
    const int *w = t->name_width;
    const struct report_list_column columns[COLUMNS] = {
        {"vehicle", -w[VEHICLE], REPORT_TEXT, REPORT_BY_UNIT, OF(r.vehicle)},
        {"market", -w[MARKET], REPORT_TEXT, REPORT_BY_UNIT, OF(r.market)},
        {"tier", -w[TIER], REPORT_TEXT, REPORT_BY_UNIT, OF(r.tier)},
        {"blower", -w[BLOWER], REPORT_TEXT, REPORT_BY_UNIT, OF(r.s.blower)},
        {"crank", 5, REPORT_LENGTH, REPORT_BY_UNIT, OF(r.s.crank_pulley)},
        {"pulley", 6, REPORT_LENGTH, REPORT_BY_UNIT, OF(r.s.blower_pulley)},
        {"cooler", -w[COOLER], REPORT_TEXT, REPORT_BY_UNIT, OF(r.s.cooler)},
        {"eff", 4, REPORT_NUMBER, 2, OF(r.s.effectiveness)},
        {"power", 5, REPORT_POWER, REPORT_BY_UNIT, OF(r.power)},
        {"short", 5, REPORT_PERCENT, REPORT_BY_UNIT, OF(lost)},
        {"price", 6, REPORT_MONEY, 0, OF(r.price)},
        {"room", 5, REPORT_PERCENT, REPORT_BY_UNIT, OF(r.s.binding_share)},
        {"sure", SURE_WIDTH, REPORT_PERCENT, REPORT_BY_UNIT, OF(r.holds.value)}};
    const struct report_list list = {.text = &t->text,
                                     .column = columns,
                                     .count = COLUMNS - (t->sure ? 0 : 1),
                                     .units = t->units,
                                     .money = t->money};
    report_list_head(&list);
    report_text_rule(&t->text, REPORT_WIDTH);
    for (size_t g = 0; g < t->problem->group_count; g++) {
        const struct shv_range_row *r = &t->run->row[g];
        report_list_row(&list, &(struct kit_line){*r, 1.0 - r->power / r->best_power});
    }
}

static void show_kits(struct range_text *t)
{
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "The kit of each group; short: of the power of its own best kit; room: the "
                    "least of all limits%s",
                    t->sure ? "; sure: the probability that all hold under the study's tolerances"
                            : "");
    fit_names(t);
    list_kits(t);
}

/* ---- stock ---- */

static void line_part(struct range_text *t, size_t part)
{
    const struct shv_range_part *p = &t->problem->part[part];
    struct shv_range_use use = shv_range_kits_use(t->run->kits, t->run->result, t->run->row, part);
    report_text_left(&t->text, 15, shv_part_kind_words(p->kind, 1));
    report_text_left(&t->text, 40, p->name);
    report_text_fitted(&t->text, 10, 1, use.kits);
    report_text_fitted(&t->text, 10, 1, use.pieces);
    report_text_number(&t->text, 8, 0, (double)use.groups);
    report_text_end(&t->text);
}

static void show_stock(struct range_text *t)
{
    const struct shv_range_point *point = &t->run->result->point[t->run->result->chosen];
    report_text_end(&t->text);
    report_text_left(&t->text, 15, "in stock");
    report_text_left(&t->text, 40, "part");
    report_text_right(&t->text, 10, "kits/year");
    report_text_right(&t->text, 10, "pieces");
    report_text_right(&t->text, 8, "groups");
    report_text_end(&t->text);
    report_text_rule(&t->text, 87);
    for (size_t i = 0; i < t->problem->part_count; i++) {
        if (point->stocked[i]) {
            line_part(t, i);
        }
    }
}

/* ---- the curve ---- */

static const char *value_words(const struct range_text *t)
{
    switch (t->problem->value) {
    case SHV_RANGE_POWER:
        return "power of all kits sold in a year";
    case SHV_RANGE_SHARE:
        return "kits sold in a year, each times its share of its group's best power";
    case SHV_RANGE_PROFIT:
        break;
    }
    return "profit of a year";
}

static enum report_measure value_measure(const struct range_text *t)
{
    return t->problem->value == SHV_RANGE_POWER   ? REPORT_POWER
           : t->problem->value == SHV_RANGE_SHARE ? REPORT_NUMBER
                                                  : REPORT_MONEY;
}

/* Widths of the columns of the curve. */
struct curve_widths {
    int kinds, value, percent, note;
};

static struct curve_widths curve_widths(const struct range_text *t)
{
    return t->problem->scenario_count > 0 ? (struct curve_widths){18, 13, 7, 23}
                                          : (struct curve_widths){20, 14, 8, 39};
}

/* What a point is, and how much better there may be. */
static void say_point(struct range_text *t, size_t i)
{
    const struct shv_range_result *r = t->run->result;
    const struct shv_range_point *p = &r->point[i];
    char gap[32] = "", words[80];
    if (!p->proven) {
        (void)snprintf(gap, sizeof gap, "gap %.3g %%",
                       100.0 * (p->bound - p->value) / fabs(p->value));
    }
    const char *is = i == r->chosen && i == r->knee
                         ? gap[0] ? "knee, plan" : "the knee, and the plan"
                     : i == r->chosen ? "the plan"
                     : i == r->knee   ? "the knee"
                                      : "";
    (void)snprintf(words, sizeof words, "%s%s%s", is, is[0] && gap[0] ? ", " : "", gap);
    report_text_left(&t->text, curve_widths(t).note, words);
}

static void line_point(struct range_text *t, size_t i)
{
    const struct shv_range_result *r = t->run->result;
    const struct shv_range_point *p = &r->point[i], *last = &r->point[r->point_count - 1];
    const struct curve_widths w = curve_widths(t);
    double size = fabs(last->value);
    char kinds[256];
    size_t count[SHV_STOCK_KINDS];
    shv_range_kits_count(t->run->kits, p, count);
    (void)snprintf(kinds, sizeof kinds, "%2zu %2zu %2zu %2zu %2zu %2zu", count[0], count[1],
                   count[2], count[3], count[4], count[5]);
    report_text_number(&t->text, 5, 0, (double)p->allowed);
    report_text_left(&t->text, w.kinds, kinds);
    report_text_fit_quantity(&t->text, w.value, value_measure(t), t->units, p->value);
    report_text_number(&t->text, w.percent, 2,
                       i > 0 ? 100.0 * (p->value - r->point[i - 1].value) / size : NAN);
    report_text_number(&t->text, w.percent, 2, 100.0 * (last->value - p->value) / size);
    if (t->problem->scenario_count > 0) {
        double gain = i > 0 ? (p->worst - r->point[i - 1].worst) / fabs(last->worst) : NAN;
        report_text_fit_quantity(&t->text, w.value, value_measure(t), t->units, p->worst);
        report_text_number(&t->text, w.percent, 2, 100.0 * gain);
    }
    say_point(t, i);
    report_text_end(&t->text);
}

/* "value, EUR" */
static void head_value(struct range_text *t, const char *word)
{
    char head[REPORT_WORDS_MAX];
    const char *unit = label(t, value_measure(t));
    (void)snprintf(head, sizeof head, "%s%s%s", word, unit[0] ? ", " : "", unit);
    report_text_right(&t->text, curve_widths(t).value, head);
}

static void head_curve(struct range_text *t)
{
    const struct curve_widths w = curve_widths(t);
    report_text_right(&t->text, 5, "parts");
    report_text_left(&t->text, w.kinds, "bl cp bp co in pu");
    head_value(t, "value");
    report_text_right(&t->text, w.percent, "gain");
    report_text_right(&t->text, w.percent, "lost");
    if (t->problem->scenario_count > 0) {
        head_value(t, "worst");
        report_text_right(&t->text, w.percent, "gain");
    }
    report_text_end(&t->text);
    report_text_rule(&t->text, 87);
}

static void show_curve(struct range_text *t)
{
    const struct shv_range_result *r = t->run->result;
    report_text_end(&t->text);
    report_text_say(
        &t->text,
        "What each further part buys: value (%s%s) of the best plan with so many different "
        "parts; blowers, crank pulleys, blower pulleys, cores, injectors, pumps among "
        "them; gain over one part less and loss against no limit on parts, in %%%s",
        t->problem->scenario_count > 0 ? "expected " : "", value_words(t),
        t->problem->scenario_count > 0
            ? "; the same plan's value and gain in the scenario where it is worth least"
            : "");
    head_curve(t);
    for (size_t i = 0; i < r->point_count; i++) {
        line_point(t, i);
    }
    if (!r->is_whole) {
        report_text_say(&t->text, "The curve was broken off.");
    }
}

/* ---- scenarios ---- */

static void line_scenario(struct range_text *t, size_t i)
{
    const struct shv_range_known *k = &t->run->result->known[i];
    report_text_left(&t->text, 30, t->problem->scenario[i].name);
    report_text_number(&t->text, 7, 3, t->problem->scenario[i].weight);
    report_text_fitted(&t->text, 10, 1, k->sales);
    report_text_fit_quantity(&t->text, 13, value_measure(t), t->units, k->value);
    report_text_fit_quantity(&t->text, 13, value_measure(t), t->units, k->best);
    report_text_number(&t->text, 5, 0, (double)k->parts);
    report_text_left(&t->text, 10, k->proven ? "" : "not proven");
    report_text_end(&t->text);
}

static void say_knowing(struct range_text *t)
{
    const struct shv_range_result *r = t->run->result;
    double most, gain = shv_range_knowing(t->problem, r, &most);
    double expected = r->point[r->chosen].value;
    char worth[REPORT_WORDS_MAX];
    const struct report_unit *unit = report_unit(value_measure(t), t->units);
    if (!(most > r->step)) {
        report_text_say(&t->text, "Knowing the sales before would change nothing: the plan is the "
                                  "best in every scenario.");
        return;
    }
    (void)snprintf(worth, sizeof worth, "%.*f%s%s", unit->decimals + (unit->decimals == 0),
                   report_shown(value_measure(t), t->units, gain),
                   label(t, value_measure(t))[0] ? " " : "", label(t, value_measure(t)));
    report_text_say(
        &t->text,
        "Knowing the sales exactly, before the stock is chosen, would be worth %s a year "
        "on the mean%s: %.2g %% of what the plan is worth.",
        worth, t->problem->value == SHV_RANGE_SHARE ? ", in kits of full power" : "",
        100.0 * gain / fabs(expected));
    if (most > gain + r->step) {
        report_text_say(&t->text, "Not all of these plans are proven: it may be up to %.2g %%.",
                        100.0 * most / fabs(expected));
    }
}

static void show_scenarios(struct range_text *t)
{
    if (t->problem->scenario_count == 0 || !t->run->result->known) {
        return;
    }
    report_text_end(&t->text);
    report_text_say(&t->text,
                    "The plan in each scenario of the sales, and the best plan with no more "
                    "parts had they been known");
    report_text_left(&t->text, 30, "scenario");
    report_text_right(&t->text, 7, "weight");
    report_text_right(&t->text, 10, "kits/year");
    report_text_right(&t->text, 13, "the plan");
    report_text_right(&t->text, 13, "known before");
    report_text_right(&t->text, 5, "parts");
    report_text_end(&t->text);
    report_text_rule(&t->text, 87);
    for (size_t i = 0; i < t->problem->scenario_count; i++) {
        line_scenario(t, i);
    }
    say_knowing(t);
}

/* ---- without a plan ---- */

static void say_unserved(struct range_text *t)
{
    const struct shv_range_result *r = t->run->result;
    report_text_say(&t->text, "There is no plan: not every group of customers can be served.");
    for (size_t i = 0; i < r->unserved_count; i++) {
        const struct shv_range_group *g = &t->problem->group[r->unserved[i]];
        if (g->count == 0) {
            const struct shv_range_nearest *n = &t->run->nearest[r->unserved[i]];
            report_text_say(&t->text, "Left out: %s. No kit keeps the limits of its study there.",
                            g->name);
            report_say_nearest(&t->text, n->study, n->space, n->nearest, n->count, NEAREST_SAID);
        } else {
            bool fails = g->candidate[0].holds == SHV_RANGE_FAILS;
            for (size_t k = 1; k < g->count; k++) {
                fails = fails && g->candidate[k].holds == SHV_RANGE_FAILS;
            }
            report_text_say(&t->text, "Left out: %s.%s", g->name,
                            fails ? " Kits keep all limits there with nothing off, but none as "
                                    "surely as its study asks."
                                  : "");
        }
    }
}

/* "most_price from 4000.00 to 4210.50 EUR" and the like. */
static void relief_words(const struct range_text *t, const struct shv_range_relief *relief,
                         char *words, size_t room)
{
    static const enum report_measure measures[] = {
        [SHV_NEED_PRICE] = REPORT_MONEY,
        [SHV_NEED_MASS] = REPORT_MASS,
        [SHV_NEED_POWER] = REPORT_POWER,
        [SHV_NEED_SHARE] = REPORT_PERCENT,
    };
    static const char *const keys[] = {[SHV_NEED_COOLER] = "cooler",
                                       [SHV_NEED_PRICE] = "most_price",
                                       [SHV_NEED_MASS] = "most_mass",
                                       [SHV_NEED_POWER] = "least_power",
                                       [SHV_NEED_SHARE] = "least_share"};
    const char *name = relief->need < SHV_GROUP_NEEDS ? t->problem->group[relief->which].name : "";
    if (relief->need == SHV_NEED_COOLER) {
        (void)snprintf(words, room, "cooler = \"any\" for %s", name);
    } else if (relief->need < SHV_GROUP_NEEDS) {
        enum report_measure m = measures[relief->need];
        int digits = report_unit(m, t->units)->decimals + (m == REPORT_MONEY ? 0 : 2);
        double tens = pow(10.0, digits), to = tens * report_shown(m, t->units, relief->to);
        /* Rounded so that it is enough. */
        bool at_least = relief->need == SHV_NEED_POWER || relief->need == SHV_NEED_SHARE;
        (void)snprintf(words, room, "%s of %.*f %s in the place of %.10g for %s",
                       keys[relief->need], digits, (at_least ? floor(to) : ceil(to)) / tens,
                       label(t, m), report_shown(m, t->units, relief->is), name);
    } else if (relief->need == SHV_NEED_FAMILY) {
        (void)snprintf(words, room, "different blowers in the family \"%s\"",
                       t->problem->family[relief->which]);
    } else {
        const char *what = relief->need == SHV_NEED_PARTS
                               ? "parts of all kinds"
                               : shv_part_kind_words((enum shv_part_kind)relief->which, 2);
        (void)snprintf(words, room, "%.0f different %s in the place of %.0f", relief->to, what,
                       relief->is);
    }
}

static void say_reliefs(struct range_text *t)
{
    const struct shv_range_result *r = t->run->result;
    if (r->relief_count == 0) {
        report_text_say(&t->text,
                        "No requirement of the range file stands against it alone: look at "
                        "the limits of the studies.");
        return;
    }
    report_text_say(&t->text, "Any one of these would serve %s:",
                    r->alone ? "the group that it names" : "everybody");
    for (size_t i = 0; i < r->relief_count;) {
        char line[1024] = "", words[400];
        size_t way = r->relief[i].way;
        for (; i < r->relief_count && r->relief[i].way == way; i++) {
            size_t used = strlen(line);
            relief_words(t, &r->relief[i], words, sizeof words);
            (void)snprintf(line + used, sizeof line - used, "%s%s", used > 0 ? ", and " : "",
                           words);
        }
        report_text_say(&t->text, "  - %s", line);
    }
}

enum shv_status shv_report_range_table(const struct shv_range_run *run, FILE *out,
                                       struct shv_message *message)
{
    struct range_text t = {.run = run, .problem = &run->kits->problem, .units = run->file->units};
    for (size_t g = 0; run->row && g < t.problem->group_count; g++) {
        t.sure = t.sure || run->row[g].holds.value > 0.0; /* false for NAN */
    }
    (void)report_fit(t.money, CURRENCY_SHOWN, run->file->currency ? run->file->currency : "");
    report_text_init(&t.text, out);
    if (!run->row) {
        say_unserved(&t);
        say_reliefs(&t);
    } else {
        say_plan(&t);
        show_kits(&t);
        show_stock(&t);
        show_curve(&t);
        show_scenarios(&t);
    }
    return report_text_finish(&t.text, "standard output", message);
}
