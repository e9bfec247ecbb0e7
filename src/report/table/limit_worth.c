/* limit_worth.csv: what moving each limit would bring each ideal kit. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/limit_worth.h"

struct worth_row {
    const char *blower, *fuel, *kind, *name, *title, *unit, *active;
    const char *site, *next_limit, *next_site;
    double bound, step, speed, share, gain, next_speed, next_steps;
};

#define AT(member) offsetof(struct worth_row, member)

static const struct report_column worth_columns[] = {
    {"blower", REPORT_TEXT, 0, AT(blower), REPORT_ALWAYS, "Name of the blower."},
    {"fuel", REPORT_TEXT, 0, AT(fuel), REPORT_ALWAYS, "Name of the fuel."},
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS,
     "`limit`; `range`, an end of what pulleys or cores reach that holds the ideal back; or "
     "`choice`, a "
     "neighbour in a list of the study."},
    {"name", REPORT_TEXT, 0, AT(name), REPORT_ALWAYS,
     "Of the limit as in rejected.csv, else `ratio_high`, `ratio_low`, `effectiveness_high`, "
     "`effectiveness_low`, `lambda`, `ignition_margin`, `crank_pulley`, `ribs` or `wrap`."},
    {"title", REPORT_TEXT, 0, AT(title), REPORT_ALWAYS, "The same for people."},
    {"active", REPORT_TEXT, 0, AT(active), REPORT_ALWAYS,
     "`yes` when it holds the ideal back; empty for a choice."},
    {"bound", REPORT_NUMBER, 7, AT(bound), REPORT_ALWAYS,
     "The limit, the end of the range, or the ideal's own choice."},
    {"step", REPORT_NUMBER, 6, AT(step), REPORT_ALWAYS,
     "How far it is moved: outwards for limits and ranges, to the neighbour for a choice."},
    {"unit", REPORT_TEXT, 0, AT(unit), REPORT_ALWAYS,
     "Unit of bound and step; the step of a temperature is a difference."},
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS,
     "Where the limit is tightest; empty for what is of the whole kit."},
    {"speed", REPORT_ROTATION, 6, AT(speed), REPORT_ALWAYS, "Engine speed there."},
    {"share", REPORT_PERCENT, 6, AT(share), REPORT_ALWAYS,
     "What is left of the limit's span there."},
    {"gain", REPORT_OBJECTIVE_CHANGE, 6, AT(gain), REPORT_ALWAYS,
     "What the step brings when the ideal is solved again with it, better above 0; empty where no "
     "kit keeps every limit or the model can't say."},
    {"next_limit", REPORT_TEXT, 0, AT(next_limit), REPORT_ALWAYS,
     "The limit that would hold the ideal back next on that way; empty when none is seen."},
    {"next_site", REPORT_TEXT, 0, AT(next_site), REPORT_ALWAYS, "Where."},
    {"next_speed", REPORT_ROTATION, 6, AT(next_speed), REPORT_ALWAYS, "Engine speed there."},
    {"next_steps", REPORT_NUMBER, 4, AT(next_steps), REPORT_ALWAYS,
     "After how many such steps, in a straight line from the first: up to 1 when within it."},
};

static enum report_measure measure_of(const struct shv_limit_worth *p)
{
    if (p->kind == SHV_WORTH_LIMIT) {
        return report_value_measure((enum shv_limit)p->of);
    }
    switch ((enum shv_limit_worth_of)p->of) {
    case SHV_WORTH_OF_IGNITION_MARGIN:
    case SHV_WORTH_OF_WRAP:
        return REPORT_ANGLE;
    case SHV_WORTH_OF_CRANK_PULLEY:
        return REPORT_LENGTH;
    default:
        return REPORT_NUMBER;
    }
}

enum report_measure report_worth_step_measure(const struct shv_limit_worth *p)
{
    return p->kind == SHV_WORTH_LIMIT ? report_room_measure((enum shv_limit)p->of) : measure_of(p);
}

static const char *unit_of(const struct shv_study *study, enum report_measure measure)
{
    if (measure == REPORT_MONEY) {
        return study->currency ? study->currency : "";
    }
    return report_unit(measure, study->results.units)->label;
}

static void make_row(const struct shv_run *run, const struct shv_limit_worth *p,
                     struct worth_row *row)
{
    static const char *const kinds[] = {
        [SHV_WORTH_LIMIT] = "limit", [SHV_WORTH_RANGE] = "range", [SHV_WORTH_CHOICE] = "choice"};
    const struct shv_study *study = run->study;
    const struct shv_optimum *o = &run->optima[p->optimum];
    enum shv_unit_system units = study->results.units;
    *row = (struct worth_row){.blower = study->blowers[o->blower].name,
                              .fuel = study->fuels[o->fuel].name,
                              .kind = kinds[p->kind],
                              .name = shv_limit_worth_name(p),
                              .title = shv_limit_worth_title(p),
                              .unit = unit_of(study, measure_of(p)),
                              .active = p->kind == SHV_WORTH_CHOICE ? ""
                                        : p->active                 ? "yes"
                                                                    : "no",
                              .bound = report_shown(measure_of(p), units, p->bound),
                              .step = report_shown(report_worth_step_measure(p), units, p->step),
                              .share = p->share,
                              .gain = p->gain,
                              .speed = NAN,
                              .next_speed = NAN,
                              .next_steps = p->next_steps};
    if (p->of_point) {
        row->site = study->sites[p->site].name;
        row->speed = study->engine.speeds[p->speed];
    }
    if (p->next >= 0) {
        row->next_limit = shv_limit_info((enum shv_limit)p->next)->name;
        row->next_site = p->next_of_point ? study->sites[p->next_site].name : NULL;
        row->next_speed = p->next_of_point ? study->engine.speeds[p->next_speed] : NAN;
    }
}

static void write_worth(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->worth_count; i++) {
        struct worth_row row;
        make_row(run, &run->limit_worths[i], &row);
        report_csv_row(csv, &row);
    }
}

bool report_was_searched(const struct shv_run *run)
{
    return run->search == SHV_STAGE_NONE || run->search == SHV_STAGE_DONE;
}

const struct report_table report_limit_worth = {
    .file = "limit_worth.csv",
    .about = "limit_worth.csv: what moving each limit would bring each ideal kit",
    REPORT_COLUMNS(worth_columns),
    .write = write_worth,
    .is_there = report_was_searched};

/* ---- sentences ---- */

/* A limit met only after more steps than these is not told of. */
#define FEW_STEPS 5.0

/* "boost at 5500 rpm, coast start" */
static void say_where(char *text, size_t size, const struct shv_study *study, const char *title,
                      bool of_point, size_t site, size_t speed)
{
    char name[REPORT_FIT_MAX(24)];
    if (!of_point) {
        (void)snprintf(text, size, "%s", title);
        return;
    }
    (void)snprintf(text, size, "%s at %.0f rpm, %s", title, study->engine.speeds[speed] * 60.0,
                   report_fit(name, 24, study->sites[site].name));
}

/* "10.0 kPa more": a change of the bound or of the end of the range. */
static void say_step(char *text, size_t size, const struct shv_study *study,
                     const struct shv_limit_worth *p)
{
    char amount[REPORT_WORDS_MAX];
    (void)report_words_value(amount, study, report_worth_step_measure(p), fabs(p->step));
    (void)snprintf(text, size, "%s %s", amount, p->step > 0.0 ? "more" : "less");
}

/* An amount of the objective; its own zero point does not count. */
static void say_gain(char *text, size_t size, const struct shv_study *study, double gain)
{
    char amount[REPORT_WORDS_MAX];
    bool cooler = report_objective_measure(study) == REPORT_TEMPERATURE;
    (void)snprintf(text, size, "%s%s", report_words_gain(amount, study, gain),
                   cooler ? " less" : "");
}

static void say_worth(struct report_text *out, const struct shv_study *study,
                      const struct shv_limit_worth *p)
{
    char where[256], step[2 * REPORT_WORDS_MAX], gain[2 * REPORT_WORDS_MAX], next[256], then[320];
    say_where(where, sizeof where, study, shv_limit_worth_title(p), p->of_point, p->site, p->speed);
    say_step(step, sizeof step, study, p);
    say_gain(gain, sizeof gain, study, p->gain);
    then[0] = '\0';
    if (p->next >= 0 && p->next_steps <= FEW_STEPS) {
        say_where(next, sizeof next, study, shv_limit_info((enum shv_limit)p->next)->title,
                  p->next_of_point, p->next_site, p->next_speed);
        (void)snprintf(
            then, sizeof then,
            p->next_steps <= 1.0 ? "; %s holds it within that" : "; then %s would hold it", next);
    }
    report_text_say(out, "    %s: %s would give %s%s.", where, step, gain, then);
}

const struct shv_optimum *report_best_ideal(const struct shv_run *run, size_t fuel, bool uncooled)
{
    const struct shv_optimum *best = NULL;
    for (size_t i = 0; i < run->optimum_count; i++) {
        const struct shv_optimum *o = &run->optima[i];
        if ((fuel != REPORT_ANY_FUEL && o->fuel != fuel) ||
            !(uncooled ? o->uncooled_found : o->found)) {
            continue;
        }
        bool better = !best || (uncooled ? o->uncooled_objective > best->uncooled_objective
                                         : o->objective > best->objective);
        best = better ? o : best;
    }
    return best;
}

static void say_optimum(const struct shv_run *run, const struct shv_optimum *o,
                        struct report_text *out)
{
    char blower[REPORT_FIT_MAX(24)], fuel[REPORT_FIT_MAX(24)];
    size_t held = 0;
    (void)report_fit(blower, 24, run->study->blowers[o->blower].name);
    (void)report_fit(fuel, 24, run->study->fuels[o->fuel].name);
    report_text_say(out, "  %s, %s:", fuel, blower);
    for (size_t i = 0; i < run->worth_count; i++) {
        const struct shv_limit_worth *p = &run->limit_worths[i];
        if (&run->optima[p->optimum] == o && p->active && p->gain > 1e-6 * fabs(o->objective)) {
            say_worth(out, run->study, p);
            held++;
        }
    }
    if (held == 0) {
        report_text_say(out, "    no limit: more of nothing would help.");
    }
}

#define HOLDING 3

/* What cannot be told counts for nothing. */
static double gain_of(const struct shv_limit_worth *p)
{
    return isnan(p->gain) ? 0.0 : p->gain;
}

/* The limit or range with the largest gain that is worth telling, other than those in `told`; -1:
 * none.
 */
static int next_holding(const struct shv_run *run, const struct shv_optimum *optimum,
                        const int *told, int count)
{
    int best = -1;
    double least = 1e-3 * fabs(optimum->objective); /* what nobody would notice */
    for (size_t i = 0; i < run->worth_count; i++) {
        const struct shv_limit_worth *p = &run->limit_worths[i];
        bool known = false;
        for (int k = 0; k < count; k++) {
            known = known || told[k] == (int)i;
        }
        if (!known && &run->optima[p->optimum] == optimum && p->active && gain_of(p) > least &&
            (best < 0 || gain_of(p) > gain_of(&run->limit_worths[best]))) {
            best = (int)i;
        }
    }
    return best;
}

void report_say_holding(const struct shv_run *run, struct report_text *out)
{
    const struct shv_study *study = run->study;
    const struct shv_optimum *best = report_best_ideal(run, REPORT_ANY_FUEL, false);
    int told[HOLDING], count = 0;
    if (!best || run->worth_count == 0) {
        return;
    }
    char blower[REPORT_FIT_MAX(24)], fuel[REPORT_FIT_MAX(24)], words[HOLDING * 400] = "";
    for (; count < HOLDING; count++) {
        told[count] = next_holding(run, best, told, count);
        if (told[count] < 0) {
            break;
        }
        const struct shv_limit_worth *p = &run->limit_worths[told[count]];
        char where[256], step[2 * REPORT_WORDS_MAX], gain[2 * REPORT_WORDS_MAX];
        size_t used = strlen(words);
        say_where(where, sizeof where, study, shv_limit_worth_title(p), p->of_point, p->site,
                  p->speed);
        say_step(step, sizeof step, study, p);
        say_gain(gain, sizeof gain, study, gain_of(p));
        (void)snprintf(words + used, sizeof words - used, "%s%s (%s brings %s)",
                       count > 0 ? ", " : "", where, step, gain);
    }
    report_text_say(out, "The ideal of %s with %s is held back by %s.",
                    report_fit(blower, 24, study->blowers[best->blower].name),
                    report_fit(fuel, 24, study->fuels[best->fuel].name),
                    count > 0 ? words : "no limit: more of nothing would help");
}

void report_say_limit_worth(const struct shv_run *run, struct report_text *out)
{
    if (run->worth_count == 0) {
        return;
    }
    report_text_end(out);
    report_text_say(out, "What holds back the best ideal for each fuel, and what a little more "
                         "would give (all in limit_worth.csv)");
    for (size_t fuel = 0; fuel < run->study->fuel_count; fuel++) {
        const struct shv_optimum *best = report_best_ideal(run, fuel, false);
        if (best) {
            say_optimum(run, best, out);
        }
    }
}
