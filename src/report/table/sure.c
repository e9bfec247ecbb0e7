/* sure.csv and sensitivities.csv: how sure the best kits are, and what each tolerance does to them;
 * and both in words. */
#include "report/table/sure.h"

#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/objective.h"
#include "sheave/summary.h"

struct sure_row {
    const char *kind, *feasible, *holds, *fails_most;
    struct shv_summary kit; /* with rank, index and objective */
    double p5, p50, p95, p5_error, p50_error, p95_error;
    double all, all_error, answer, chance[SHV_LIMIT_COUNT], chance_error[SHV_LIMIT_COUNT];
};

#define AT(member) offsetof(struct sure_row, member)

/* clang-format off */
static const struct report_column first_columns[] = {
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS,
     "`ranked` for a row of ranked.csv, `optimum` for an ideal kit of optimum.csv, `sought` for the best of "
     "all combinations in which every limit holds as surely as `tolerances.hold` asks, when it is none of the rows. "
     "An ideal kit has neither index nor pulleys, and no ribs where the search leaves them open."},
    {"rank", REPORT_COUNT, 0, AT(kit.rank), REPORT_ALWAYS,
     "Place in ranked.csv or row of optimum.csv, from 1; 1 of the kit that was sought."},
};

static const struct report_column sure_columns[] = {
    {"feasible", REPORT_TEXT, 0, AT(feasible), REPORT_ALWAYS,
     "`yes` when every limit holds with nothing off."},
    {"holds", REPORT_TEXT, 0, AT(holds), REPORT_ALWAYS,
     "`yes` when every limit holds with at least the probability `tolerances.hold`; empty when that is not set."},
    {"all_hold", REPORT_PERCENT, 6, AT(all), REPORT_ALWAYS,
     "Probability that every limit holds and the model has an answer everywhere."},
    {"all_hold_error", REPORT_PERCENT, 3, AT(all_error), REPORT_ALWAYS,
     "Its standard error of sampling."},
    {"answered", REPORT_PERCENT, 6, AT(answer), REPORT_ALWAYS,
     "Probability that the model has an answer everywhere."},
    {"fails_most", REPORT_TEXT, 0, AT(fails_most), REPORT_ALWAYS,
     "Name of the limit that holds with the least probability, or `no_answer`; empty when nothing failed."},
    {"objective", REPORT_OBJECTIVE, 9, AT(kit.objective), REPORT_ALWAYS, "The study's objective with nothing off."},
    {"objective_p5", REPORT_OBJECTIVE, 9, AT(p5), REPORT_ALWAYS,
     "What the objective stays below in 5 % of the samples."},
    {"objective_p5*_error", REPORT_OBJECTIVE_CHANGE, 3, AT(p5_error), REPORT_ALWAYS,
     "Standard error of sampling of that."},
    {"objective_p50", REPORT_OBJECTIVE, 9, AT(p50), REPORT_ALWAYS, "The same of half of the samples."},
    {"objective_p50*_error", REPORT_OBJECTIVE_CHANGE, 3, AT(p50_error), REPORT_ALWAYS,
     "Standard error of sampling of that."},
    {"objective_p95", REPORT_OBJECTIVE, 9, AT(p95), REPORT_ALWAYS, "The same of 95 % of the samples."},
    {"objective_p95*_error", REPORT_OBJECTIVE_CHANGE, 3, AT(p95_error), REPORT_ALWAYS,
     "Standard error of sampling of that."},
};
/* clang-format on */

static void add_more(struct report_layout *layout)
{
    report_add_kit_columns(layout, "", AT(kit),
                           "index blower crank_pulley blower_pulley ratio:7 cooler effectiveness "
                           "fuel aki lambda air_fuel_ratio ignition_margin ribs");
    REPORT_LAYOUT_ADD(layout, sure_columns);
    report_layout_add_chances(layout, AT(chance), AT(chance_error));
}

static const char *kind_of(const struct shv_sure *s)
{
    switch (s->kind) {
    case SHV_SURE_RANKED:
        return "ranked";
    case SHV_SURE_OPTIMUM:
        return "optimum";
    case SHV_SURE_SOUGHT:
        return "sought";
    case SHV_SURE_PICKED:
        break;
    }
    return "picked";
}

static const char *fails_most(const struct shv_sure *s)
{
    if (s->fails_most < 0) {
        return NULL;
    }
    return s->fails_most == SHV_SURE_NO_ANSWER
               ? "no_answer"
               : shv_limit_info((enum shv_limit)s->fails_most)->name;
}

/* Where less is better the shown value has the other sign, and the percentiles change places. */
static void take_objective(const struct shv_study *study, const struct shv_sure *s,
                           struct sure_row *row)
{
    bool turned = report_objective_shown(study, 1.0) < 0.0;
    const struct shv_sampled *low = &s->percentile[turned ? SHV_SURE_P95 : SHV_SURE_P5];
    const struct shv_sampled *high = &s->percentile[turned ? SHV_SURE_P5 : SHV_SURE_P95];
    const struct shv_sampled *middle = &s->percentile[SHV_SURE_P50];
    row->kit.objective = report_objective_shown(study, s->nominal);
    row->p5 = report_objective_shown(study, low->value);
    row->p50 = report_objective_shown(study, middle->value);
    row->p95 = report_objective_shown(study, high->value);
    row->p5_error = low->error;
    row->p50_error = middle->error;
    row->p95_error = high->error;
}

static void make_row(const struct shv_study *study, const struct shv_sure *s, struct sure_row *row)
{
    bool asked = !isnan(study->tolerances.hold);
    *row = (struct sure_row){.kind = kind_of(s),
                             .feasible = s->nominal_feasible ? "yes" : "no",
                             .holds = !asked       ? NULL
                                      : s->is_sure ? "yes"
                                                   : "no",
                             .fails_most = fails_most(s),
                             .all = s->all.value,
                             .all_error = s->all.error,
                             .answer = s->answer.value};
    shv_summarise_kit(study, &s->kit, &row->kit);
    row->kit.rank = s->rank;
    row->kit.index = s->index;
    take_objective(study, s, row);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        row->chance[k] = s->holds[k].value;
        row->chance_error[k] = s->holds[k].error;
    }
}

static void write_sure(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->sure->count; i++) {
        struct sure_row row;
        make_row(run->study, &run->sure->row[i], &row);
        report_csv_row(csv, &row);
    }
}

static bool is_there(const struct shv_run *run)
{
    return run->sure && run->study->tolerances.given;
}

const struct report_table report_sure = {
    .file = "sure.csv",
    .about = "sure.csv: how sure the best kits are, with `tolerances` in the study",
    REPORT_COLUMNS(first_columns),
    .more = add_more,
    .write = write_sure,
    .is_there = is_there};

/* ---- sensitivities.csv ---- */

struct effect_row {
    const char *kind, *tolerance, *tolerance_unit, *quantity, *quantity_unit;
    uint64_t rank;
    double deviation, slope, effect, share;
};

#undef AT
#define AT(member) offsetof(struct effect_row, member)

/* clang-format off */
static const struct report_column effect_columns[] = {
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS, "As in sure.csv."},
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_ALWAYS, "As in sure.csv."},
    {"tolerance", REPORT_TEXT, 0, AT(tolerance), REPORT_ALWAYS, "Name of the tolerance, as in the study."},
    {"standard_deviation", REPORT_NUMBER, 6, AT(deviation), REPORT_ALWAYS,
     "Its standard deviation, whatever its distribution, in `tolerance_unit`."},
    {"tolerance_unit", REPORT_TEXT, 0, AT(tolerance_unit), REPORT_ALWAYS,
     "Unit of the tolerance; empty for a plain number."},
    {"quantity", REPORT_TEXT, 0, AT(quantity), REPORT_ALWAYS,
     "`objective`, or the name of a limit, to which the room is meant where it is tightest."},
    {"quantity_unit", REPORT_TEXT, 0, AT(quantity_unit), REPORT_ALWAYS,
     "Unit of the quantity; empty for a plain number or money."},
    {"slope", REPORT_NUMBER, 6, AT(slope), REPORT_ALWAYS,
     "Change of the quantity for a unit of the tolerance with nothing off: `quantity_unit` over `tolerance_unit`."},
    {"effect_of_one_deviation", REPORT_NUMBER, 6, AT(effect), REPORT_ALWAYS,
     "Change of the quantity for one standard deviation, the mean of both sides, in `quantity_unit`."},
    {"share_of_variance", REPORT_PERCENT, 6, AT(share), REPORT_ALWAYS,
     "Share of the quantity's variance by the effects of one deviation and the correlations; all tolerances sum to "
     "100, and a correlation can make one negative."},
};
/* clang-format on */

enum report_measure report_tolerance_measure(enum shv_correction which)
{
    enum shv_quantity quantity = shv_correction_info(which)->quantity;
    return quantity == SHV_Q_LENGTH                   ? REPORT_LENGTH
           : quantity == SHV_Q_TEMPERATURE_DIFFERENCE ? REPORT_TEMPERATURE_CHANGE
                                                      : REPORT_NUMBER;
}

/* Quantity 0 is the objective, then margins. */
static const struct report_unit *quantity_unit(const struct shv_study *study, size_t quantity)
{
    return report_unit(quantity == 0 ? report_objective_change(study)
                                     : report_room_measure((enum shv_limit)(quantity - 1)),
                       study->results.units);
}

static void write_effect(struct report_csv *csv, const struct shv_study *study,
                         const struct shv_sure *s, enum shv_correction which, size_t quantity)
{
    const struct shv_sure_effect *e = &s->effect[which][quantity];
    const struct report_unit *of_tolerance =
        report_unit(report_tolerance_measure(which), csv->units);
    const struct report_unit *unit = quantity_unit(study, quantity);
    double sign = quantity == 0 ? report_objective_shown(study, 1.0) : 1.0;
    if (isnan(e->effect)) {
        return;
    }
    struct effect_row row = {
        .kind = kind_of(s),
        .tolerance = shv_correction_info(which)->name,
        .tolerance_unit = of_tolerance->label,
        .quantity =
            quantity == 0 ? "objective" : shv_limit_info((enum shv_limit)(quantity - 1))->name,
        .quantity_unit = unit->label,
        .rank = s->rank,
        .deviation = of_tolerance->factor * shv_tolerance_deviation(&study->tolerances.of[which]) *
                     shv_tolerance_spread(&study->tolerances, s->kit.blower, which),
        .slope = sign * unit->factor / of_tolerance->factor * e->slope,
        .effect = sign * unit->factor * e->effect,
        .share = e->share};
    report_csv_row(csv, &row);
}

static void write_effects(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->sure->count; i++) {
        for (int which = 0; which < SHV_CORRECTION_COUNT; which++) {
            for (size_t q = 0; q < SHV_SURE_QUANTITIES; q++) {
                write_effect(csv, run->study, &run->sure->row[i], (enum shv_correction)which, q);
            }
        }
    }
}

const struct report_table report_sensitivities = {
    .file = "sensitivities.csv",
    .about = "sensitivities.csv: what each tolerance does to each kit of sure.csv",
    REPORT_COLUMNS(effect_columns),
    .write = write_effects,
    .is_there = is_there};

/* ---- in words ---- */

#define NAME_SHOWN 40

/* "94.2 %", "more than 99.9 %" */
static const char *chance_words(char words[REPORT_WORDS_MAX], const struct shv_sampled *chance)
{
    if (chance->value > 0.9995) {
        (void)snprintf(words, REPORT_WORDS_MAX, "more than 99.9 %%");
    } else {
        (void)snprintf(words, REPORT_WORDS_MAX, "%.1f %%", 100.0 * chance->value);
    }
    return words;
}

static const char *failing_title(const struct shv_sure *s)
{
    return s->fails_most == SHV_SURE_NO_ANSWER
               ? "that the model has no answer"
               : shv_limit_info((enum shv_limit)s->fails_most)->title;
}

/* The tolerance with the largest share of a quantity's variance. */
static int largest_share(const struct shv_sure *s, size_t quantity)
{
    int largest = -1;
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        double share = s->effect[i][quantity].share;
        if (!isnan(share) && (largest < 0 || share > s->effect[largest][quantity].share)) {
            largest = i;
        }
    }
    return largest;
}

static void say_largest(struct report_text *text, const struct shv_study *study,
                        const struct shv_sure *s)
{
    enum shv_unit_system units = study->results.units;
    int of_objective = largest_share(s, 0);
    bool of_limit = s->fails_most >= 0 && s->fails_most < SHV_LIMIT_COUNT;
    int of_margin = of_limit ? largest_share(s, 1 + (size_t)s->fails_most) : -1;
    if (of_objective >= 0) {
        report_text_say(text, "Most of that comes from %s (%.0f %% of the variance).",
                        report_correction_title(units, (enum shv_correction)of_objective),
                        100.0 * s->effect[of_objective][0].share);
    }
    if (of_margin >= 0) {
        report_text_say(text,
                        "The limit of %s feels %s most (%.0f %% of the variance of its room).",
                        shv_limit_info((enum shv_limit)s->fails_most)->title,
                        report_correction_title(units, (enum shv_correction)of_margin),
                        100.0 * s->effect[of_margin][1 + (size_t)s->fails_most].share);
    }
}

static void say_kit(struct report_text *text, const struct shv_study *study, const char *which,
                    const struct shv_sure *s)
{
    char low[REPORT_WORDS_MAX], high[REPORT_WORDS_MAX], all[REPORT_WORDS_MAX];
    char least[REPORT_WORDS_MAX];
    bool turned = report_objective_shown(study, 1.0) < 0.0;
    report_words_ranked(low, study, s->percentile[turned ? SHV_SURE_P95 : SHV_SURE_P5].value);
    report_words_ranked(high, study, s->percentile[turned ? SHV_SURE_P5 : SHV_SURE_P95].value);
    report_text_say(text,
                    "%s: %s to %s in nine cases of ten, and every limit holds with a probability "
                    "of %s (+- %.1f).",
                    which, low, high, chance_words(all, &s->all), 100.0 * s->all.error);
    if (s->fails_most >= 0 && s->fails_most < SHV_LIMIT_COUNT) {
        report_text_say(text, "Most often it is %s that fails: it holds with %s.", failing_title(s),
                        chance_words(least, &s->holds[s->fails_most]));
    } else if (s->fails_most == SHV_SURE_NO_ANSWER) {
        report_text_say(text, "Most often it is %s.", failing_title(s));
    }
}

static void say_best(struct report_text *text, const struct shv_run *run)
{
    const struct shv_study *study = run->study;
    const struct shv_sure_list *list = run->sure;
    char least[REPORT_WORDS_MAX], value[REPORT_WORDS_MAX];
    struct report_kit_words w;
    (void)snprintf(least, sizeof least, "%.4g %%", 100.0 * study->tolerances.hold);
    if (list->best == list->count) {
        report_text_say(text,
                        list->complete
                            ? "No kit holds every limit with %s: none of the %zu sets of "
                              "parts that hold with nothing off."
                            : "No kit was found that holds every limit with %s, among %zu "
                              "sets of parts: the best, and those with about room enough.",
                        least, list->looked);
        return;
    }
    const struct shv_sure *s = &list->row[list->best];
    report_words_kit(&w, study, &s->kit, NAME_SHOWN, REPORT_CORE);
    if (!list->complete) {
        report_text_say(text,
                        "There may be better ones to sell: more sets of parts are better than "
                        "the sweep keeps, and of the rest only those with about room enough "
                        "were sampled.");
    }
    report_text_say(text,
                    "Kit to sell, which holds every limit with %s: blower %s with a crank "
                    "pulley of %s and a blower pulley of %s (ratio %.3f), %s, fuel %s at lambda "
                    "%.3g%s, %s.",
                    least, w.blower, w.crank, w.pulley, s->kit.ratio, w.core, w.fuel, s->kit.lambda,
                    s->kit.ribs > 0.0 ? ", belt as in sure.csv" : "",
                    report_words_ranked(value, study, s->nominal));
}

static void say_cost(struct report_text *text, const struct shv_run *run)
{
    const struct shv_sure_list *list = run->sure;
    const struct shv_study *study = run->study;
    if (list->best == list->count || list->row[0].kind != SHV_SURE_RANKED || list->best == 0) {
        return;
    }
    double loss = report_objective_loss(study, list->row[0].nominal, list->row[list->best].nominal);
    char value[REPORT_WORDS_MAX];
    if (isnan(loss)) {
        return;
    }
    report_text_say(text,
                    "Shortfall of the kit to sell: %.1f %% of the %s that the strongest makes on "
                    "paper.",
                    100.0 * loss, report_words_ranked(value, study, list->row[0].nominal));
}

const struct shv_sure *report_kit_to_sell(const struct shv_run *run)
{
    const struct shv_sure_list *list = run->sure;
    return list && list->asked && list->best < list->count ? &list->row[list->best] : NULL;
}

void report_say_sure(struct report_text *text, const struct shv_run *run)
{
    const struct shv_sure_list *list = run->sure;
    if (!list || list->count == 0) {
        return;
    }
    report_text_end(text);
    report_text_say(text, "How sure that is (%zu samples of the tolerances)",
                    run->study->tolerances.samples);
    if (list->row[0].kind == SHV_SURE_RANKED) {
        say_kit(text, run->study, "Strongest on paper", &list->row[0]);
        say_largest(text, run->study, &list->row[0]);
    }
    if (!list->asked) {
        return;
    }
    say_best(text, run);
    if (list->best < list->count) {
        say_kit(text, run->study, "Kit to sell", &list->row[list->best]);
        say_cost(text, run);
    }
}

/* ---- one kit ---- */

static void show_chances(struct report_text *text, const struct shv_sure *s)
{
    report_text_end(text);
    report_text_left(text, 30, "limit");
    report_text_right(text, 12, "holds, %");
    report_text_right(text, 8, "+-");
    report_text_end(text);
    report_text_rule(text, 53);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        if (!isnan(s->holds[k].value)) {
            report_text_left(text, 30, shv_limit_info((enum shv_limit)k)->title);
            report_text_number(text, 12, 1, 100.0 * s->holds[k].value);
            report_text_number(text, 8, 1, 100.0 * s->holds[k].error);
            report_text_end(text);
        }
    }
    report_text_left(text, 30, "all of them");
    report_text_number(text, 12, 1, 100.0 * s->all.value);
    report_text_number(text, 8, 1, 100.0 * s->all.error);
    report_text_end(text);
}

static void show_effects(struct report_text *text, const struct shv_study *study,
                         const struct shv_sure *s)
{
    const struct report_unit *unit = quantity_unit(study, 0);
    double sign = report_objective_shown(study, 1.0);
    bool of_limit = s->fails_most >= 0 && s->fails_most < SHV_LIMIT_COUNT;
    size_t limit = of_limit ? 1 + (size_t)s->fails_most : 0;
    report_text_end(text);
    report_text_say(text, "What one standard deviation of each does to the objective%s%s%s",
                    of_limit ? ", and to the room to the limit of " : "",
                    of_limit ? failing_title(s) : "", ", and shares of their variance");
    report_text_left(text, 30, "tolerance");
    report_text_right(text, 14, "objective");
    report_text_right(text, 8, "share, %");
    report_text_right(text, 14, of_limit ? "room" : "");
    report_text_right(text, 8, of_limit ? "share, %" : "");
    report_text_end(text);
    report_text_left(text, 30, "");
    report_text_right(text, 14, unit->label);
    report_text_right(text, 8, "");
    report_text_right(text, 14, of_limit ? quantity_unit(study, limit)->label : "");
    report_text_end(text);
    report_text_rule(text, 79);
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        if (!study->tolerances.of[i].given) {
            continue;
        }
        const struct shv_sure_effect *e = s->effect[i];
        report_text_left(text, 30,
                         report_correction_title(study->results.units, (enum shv_correction)i));
        report_text_number(text, 14, 3, sign * unit->factor * e[0].effect);
        report_text_number(text, 8, 1, 100.0 * e[0].share);
        if (of_limit) {
            report_text_number(text, 14, 3, quantity_unit(study, limit)->factor * e[limit].effect);
            report_text_number(text, 8, 1, 100.0 * e[limit].share);
        }
        report_text_end(text);
    }
}

enum shv_status shv_report_sure_kit(const struct shv_study *study, const struct shv_sure *sure,
                                    FILE *out, struct shv_message *message)
{
    struct report_text text;
    report_text_init(&text, out);
    report_text_end(&text);
    report_text_say(&text, "How sure that is (%zu samples of the tolerances)",
                    study->tolerances.samples);
    say_kit(&text, study, "This kit", sure);
    show_chances(&text, sure);
    show_effects(&text, study, sure);
    return report_text_finish(&text, "how sure the kit is", message);
}
