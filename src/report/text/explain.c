/* Why a kit holds or doesn't, and what one change to it would do, in plain sentences. */
#include "report/text/explain.h"

#include <math.h>
#include <string.h>

#include "report/table/objective.h"
#include "sheave/report.h"

#define NAME_SHOWN 24
#define NAME_ROOM REPORT_FIT_MAX(NAME_SHOWN)
#define NEAREST 3 /* limits told of a kit that holds */

struct explanation {
    struct report_text text;
    const struct shv_study *study;
    const struct shv_kit *kit;
    const struct shv_curves *curves;
    const struct shv_change *change;
    size_t count;
};

/* ---- the limits ---- */

static void say_broken(struct explanation *e, enum shv_limit limit)
{
    const struct shv_limit_info *info = shv_limit_info(limit);
    const struct shv_limit_result *r = &e->curves->verdict.limit[limit];
    enum report_measure measure = report_value_measure(limit);
    char value[REPORT_WORDS_MAX], bound[REPORT_WORDS_MAX], off[REPORT_WORDS_MAX];
    char place[REPORT_WORDS_MAX];
    (void)report_words_value(bound, e->study, measure, r->bound);
    if (isinf(r->value)) {
        report_text_say(&e->text,
                        "- The limit of %s is broken%s: there is no end to what is asked, "
                        "and %s is allowed.",
                        info->title, report_words_place(place, e->study, r, limit, " at "), bound);
        return;
    }
    report_text_say(&e->text,
                    "- The limit of %s is broken%s: %s, where %s %s is allowed, %s too %s.",
                    info->title, report_words_place(place, e->study, r, limit, " at "),
                    report_words_value(value, e->study, measure, r->value),
                    info->at_least ? "no less than" : "no more than", bound,
                    report_words_value(off, e->study, report_room_measure(limit), fabs(r->margin)),
                    info->at_least ? "little" : "much");
}

static void say_infeasible(struct explanation *e)
{
    const struct shv_verdict *v = &e->curves->verdict;
    if (v->outcome != SHV_POINT_OK) {
        char site[NAME_ROOM];
        const struct shv_point *p =
            &e->curves->point[v->failed_site * e->curves->speeds + v->failed_speed];
        report_text_say(&e->text,
                        "This kit is not feasible: there is no answer at %.0f rpm at %s. %s",
                        60.0 * p->engine_speed,
                        report_fit(site, NAME_SHOWN, e->study->sites[v->failed_site].name),
                        shv_outcome_meaning(v->outcome));
    } else {
        int broken = __builtin_popcountll(v->broken);
        report_text_say(&e->text, "This kit is not feasible: it breaks %s.",
                        broken == 1 ? "one limit" : "more than one limit");
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        if (v->broken & SHV_LIMIT_BIT(i)) {
            say_broken(e, (enum shv_limit)i);
        }
    }
}

static void say_feasible(struct explanation *e)
{
    const struct shv_verdict *v = &e->curves->verdict;
    char objective[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX];
    report_text_say(&e->text,
                    "This kit is feasible: it keeps every limit everywhere. Its objective "
                    "(%s) is %s.",
                    report_words_objective(objective, e->study),
                    report_words_ranked(value, e->study, v->objective));
    shv_limit_set told = 0;
    for (int n = 0; n < NEAREST; n++) {
        int limit = report_next_limit(v, told);
        char room[REPORT_WORDS_MAX], place[REPORT_WORDS_MAX];
        if (limit < 0 || !isfinite(v->limit[limit].share)) {
            break;
        }
        told |= SHV_LIMIT_BIT(limit);
        report_text_say(
            &e->text, "- %s: the limit of %s%s, with %s left, %.1f %% of its span.",
            n == 0 ? "Nearest" : "Then", shv_limit_info((enum shv_limit)limit)->title,
            report_words_place(place, e->study, &v->limit[limit], (enum shv_limit)limit, " at "),
            report_words_value(room, e->study, report_room_measure((enum shv_limit)limit),
                               v->limit[limit].margin),
            100.0 * v->limit[limit].share);
    }
}

/* ---- changes ---- */

static char *number_words(char words[REPORT_WORDS_MAX], enum shv_unit_system units,
                          const struct shv_dim_info *info, double number)
{
    if (info->format) {
        (void)snprintf(words, REPORT_WORDS_MAX, info->format, number);
        return words;
    }
    return info->quantity == SHV_Q_LENGTH
               ? report_words_diameter(words, units, number)
               : report_words_quantity(words, REPORT_INJECTOR_FLOW, units, number);
}

/* What a kit has in a dimension: "93 mm", "water-small of 0.75", "premium". */
static char *choice_words(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                          enum shv_dim dim, const struct shv_kit *kit)
{
    const struct shv_dim_info *info = shv_dim_info(dim);
    const char *entry = shv_dim_entry(dim, study, kit);
    double number = shv_dim_number(dim, kit);
    char name[NAME_ROOM], size[REPORT_WORDS_MAX];
    if (info->nothing && !(number > 0.0)) {
        (void)snprintf(words, REPORT_WORDS_MAX, "%s", info->nothing);
    } else if (!entry) {
        (void)number_words(words, study->results.units, info, number);
    } else if (isnan(number)) {
        (void)report_fit(words, NAME_SHOWN, entry);
    } else {
        (void)snprintf(words, REPORT_WORDS_MAX, "%s of %.40s", report_fit(name, NAME_SHOWN, entry),
                       number_words(size, study->results.units, info, number));
    }
    return words;
}

/* What the changes of one dimension come to. */
struct tally {
    size_t all, feasible;
    const struct shv_change *best; /* feasible */
    size_t reason[SHV_LIMIT_COUNT], without_answer;
};

static struct tally tally_of(const struct explanation *e, enum shv_dim dim)
{
    struct tally t = {.best = NULL};
    for (size_t i = 0; i < e->count; i++) {
        const struct shv_change *c = &e->change[i];
        if (c->dim != dim) {
            continue;
        }
        t.all++;
        if (c->feasible) {
            t.feasible++;
            t.best = !t.best || c->objective > t.best->objective ? c : t.best;
        } else if (c->outcome != SHV_POINT_OK || c->first_broken < 0) {
            t.without_answer++;
        } else {
            t.reason[c->first_broken]++;
        }
    }
    return t;
}

/* Why most of those that don't do don't: "belt tension per rib". */
static const char *main_reason(const struct tally *t)
{
    size_t most = 0;
    for (size_t i = 1; i < SHV_LIMIT_COUNT; i++) {
        most = t->reason[i] > t->reason[most] ? i : most;
    }
    return t->reason[most] >= t->without_answer && t->reason[most] > 0
               ? shv_limit_info((enum shv_limit)most)->title
               : "having no answer";
}

static void say_dimension(struct explanation *e, enum shv_dim dim)
{
    struct tally t = tally_of(e, dim);
    const struct shv_verdict *v = &e->curves->verdict;
    char choice[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX], rest[2 * REPORT_WORDS_MAX] = "";
    if (t.all == 0) {
        return;
    }
    if (!t.best) {
        report_text_say(&e->text, "- %s: none of %zu would do, most for %s.",
                        shv_dim_info(dim)->another, t.all, main_reason(&t));
        return;
    }
    if (t.feasible < t.all) {
        (void)snprintf(rest, sizeof rest, " %zu of %zu would not do, most for %s.",
                       t.all - t.feasible, t.all, main_reason(&t));
    }
    (void)choice_words(choice, e->study, dim, &t.best->kit);
    (void)report_words_ranked(value, e->study, t.best->objective);
    if (!v->feasible) {
        report_text_say(&e->text, "- %s: %zu of %zu would do; best %s, which gives %s.%s",
                        shv_dim_info(dim)->another, t.feasible, t.all, choice, value, rest);
    } else if (t.best->objective > v->objective) {
        report_text_say(&e->text, "- %s: %s would be better and give %s.%s",
                        shv_dim_info(dim)->another, choice, value, rest);
    } else if (t.best->objective < v->objective) {
        report_text_say(&e->text, "- %s: none is better; the next is %s with %s.%s",
                        shv_dim_info(dim)->another, choice, value, rest);
    } else {
        report_text_say(&e->text, "- %s: none is better; %s gives as much.%s",
                        shv_dim_info(dim)->another, choice, rest);
    }
}

/* Whether there are other fuels and mixtures, and they were not tried. */
static bool burn_untried(const struct shv_study *study, const struct shv_change *changes,
                         size_t count)
{
    bool burn = study->fuel_count < 2 && study->numbers[SHV_DIM_LAMBDA].count < 2;
    for (size_t i = 0; i < count; i++) {
        burn |= changes[i].dim == SHV_DIM_FUEL || changes[i].dim == SHV_DIM_LAMBDA;
    }
    return !burn;
}

void report_say_mending(struct report_text *out, const struct shv_study *study,
                        const struct shv_change *changes, size_t count)
{
    const struct shv_change *best = NULL;
    char choice[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX];
    for (size_t i = 0; i < count; i++) {
        const struct shv_change *c = &changes[i];
        best = c->feasible && (!best || c->objective > best->objective) ? c : best;
    }
    if (best) {
        report_text_say(out, "%s, %s, would make it hold, with a ranking value of %s.",
                        shv_dim_info(best->dim)->another,
                        choice_words(choice, study, best->dim, &best->kit),
                        report_words_ranked(value, study, best->objective));
    } else if (count > 0) {
        report_text_say(out, "No other single part makes it hold%s.",
                        burn_untried(study, changes, count) ? "; --explain tries fuels and mixtures"
                                                            : "");
    }
}

enum shv_status shv_report_explanation(const struct shv_study *study, const struct shv_kit *kit,
                                       const struct shv_curves *curves,
                                       const struct shv_change *changes, size_t count, FILE *out,
                                       struct shv_message *message)
{
    struct explanation e = {
        .study = study, .kit = kit, .curves = curves, .change = changes, .count = count};
    report_text_init(&e.text, out);
    if (curves->verdict.feasible) {
        say_feasible(&e);
    } else {
        say_infeasible(&e);
    }
    report_text_end(&e.text);
    report_text_say(&e.text, curves->verdict.feasible
                                 ? "One change at a time, the rest as it is"
                                 : "One change that would make it feasible, the rest as it is");
    for (int dim = 0; dim < SHV_DIM_COUNT; dim++) {
        say_dimension(&e, (enum shv_dim)dim);
    }
    return report_text_finish(&e.text, "the explanation", message);
}
