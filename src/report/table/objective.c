/* The objective for people (src/report/table/objective.h). */
#include "report/table/objective.h"

#include <math.h>
#include <stdio.h>

#include "report/write/columns.h"

static const struct report_objective_kind *kind_of(const struct shv_study *study)
{
    return report_objective_kind(study->objective.kind);
}

enum report_measure report_objective_measure(const struct shv_study *study)
{
    return kind_of(study)->measure;
}

enum report_measure report_objective_change(const struct shv_study *study)
{
    return kind_of(study)->change;
}

report_when_set report_when_units(enum shv_unit_system units)
{
    return units == SHV_US ? REPORT_WHEN_US : 0;
}

/* Whether any part has the price, or the mass, that `of` looks at. */
static bool any_worth(const struct shv_study *study, double (*of)(const struct shv_worth *worth))
{
    const struct shv_worth *const fixed[] = {&study->base.worth,     &study->base.pulley,
                                             &study->base.manifold,  &study->drive.worth,
                                             &study->drive.belt.rib, &study->bypass_part.worth};
    bool any = false;
    for (size_t i = 0; i < sizeof fixed / sizeof fixed[0]; i++) {
        any = any || of(fixed[i]) > 0.0;
    }
    for (size_t i = 0; i < study->blower_count; i++) {
        any = any || of(&study->blowers[i].worth) > 0.0;
    }
    for (size_t i = 0; i < study->cooler_count; i++) {
        any = any || of(&study->coolers[i].worth) > 0.0 || of(&study->coolers[i].per_ntu) > 0.0;
    }
    for (size_t i = 0; i < study->injector_count; i++) {
        any = any || of(&study->injectors[i].worth) > 0.0;
    }
    for (size_t i = 0; i < study->pump_count; i++) {
        any = any || of(&study->pumps[i].worth) > 0.0;
    }
    return any;
}

static double price_of(const struct shv_worth *worth)
{
    return worth->price;
}

static double mass_of(const struct shv_worth *worth)
{
    return worth->mass;
}

report_when_set report_when(const struct shv_study *study)
{
    const struct {
        report_when_set when;
        bool applies;
    } uses[] = {
        {REPORT_WHEN_CYCLE, study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE},
        {REPORT_WHEN_INJECTORS, !study->injectors[0].is_unlimited},
        {REPORT_WHEN_US_INJECTORS,
         study->results.units == SHV_US && !study->injectors[0].is_unlimited},
        {REPORT_WHEN_PUMPS, !study->pumps[0].is_unlimited},
        {REPORT_WHEN_BELT, study->drive.belt.given},
        {REPORT_WHEN_BELT_SOLD, study->drive.belt.lengths.count > 0},
        {REPORT_WHEN_DUTY, study->use.duty_parts > 0},
        {REPORT_WHEN_CRUISE, study->use.cruises},
        {REPORT_WHEN_COOLERS, study->cooler_count > 1 || !study->coolers[0].is_none},
        {REPORT_WHEN_PRICED, any_worth(study, price_of)},
        {REPORT_WHEN_WEIGHED, any_worth(study, mass_of)},
        {REPORT_WHEN_SITES, study->site_count > 1},
    };
    report_when_set when = kind_of(study)->when | report_when_units(study->results.units);
    for (size_t i = 0; i < sizeof uses / sizeof *uses; i++) {
        when |= uses[i].applies ? uses[i].when : 0;
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        double low, high;
        bool is_set = shv_limit_bounds(study, (enum shv_limit)i, &low, &high);
        when |= is_set ? REPORT_WHEN_LIMIT(i) : 0;
    }
    return when;
}

double report_objective_shown(const struct shv_study *study, double value)
{
    return kind_of(study)->least ? 0.0 - value : value; /* no -0 */
}

double report_objective_loss(const struct shv_study *study, double best, double value)
{
    if (study->objective.kind == SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE) {
        return NAN;
    }
    return (best - value) / fabs(best);
}

char *report_words_objective(char words[REPORT_WORDS_MAX], const struct shv_study *study)
{
    const struct shv_objective *o = &study->objective;
    char unit[REPORT_CURRENCY_MAX];
    const char *over = study->site_count == 1                  ? ""
                       : o->over_sites == SHV_OVER_SITES_WORST ? ", at the worst site"
                                                               : ", mean over the sites";
    switch (o->kind) {
    case SHV_OBJECTIVE_MEAN_POWER:
        (void)snprintf(words, REPORT_WORDS_MAX, "mean power from %.0f to %.0f rpm%s",
                       o->from * 60.0, o->to * 60.0, over);
        break;
    case SHV_OBJECTIVE_TORQUE:
        (void)snprintf(words, REPORT_WORDS_MAX, "torque at %.0f rpm%s", o->at * 60.0, over);
        break;
    case SHV_OBJECTIVE_LEAST_PRICE:
        (void)snprintf(words, REPORT_WORDS_MAX, "least price");
        break;
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        (void)snprintf(words, REPORT_WORDS_MAX, "peak power per %s%s",
                       report_words_currency(unit, study, "unit of money"), over);
        break;
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        (void)snprintf(words, REPORT_WORDS_MAX, "lowest peak of the charge temperature");
        break;
    case SHV_OBJECTIVE_WEIGHTED:
        (void)snprintf(words, REPORT_WORDS_MAX,
                       "weighted sum of peak power, price, mass and charge temperature%s", over);
        break;
    case SHV_OBJECTIVE_PEAK_POWER:
        (void)snprintf(words, REPORT_WORDS_MAX, "peak power%s", over);
        break;
    }
    return words;
}

char *report_words_objective_unit(char words[REPORT_WORDS_MAX], const struct shv_study *study)
{
    char unit[REPORT_CURRENCY_MAX];
    enum report_measure measure = report_objective_measure(study);
    if (measure == REPORT_MONEY) {
        (void)snprintf(words, REPORT_WORDS_MAX, "%s", report_words_currency(unit, study, ""));
    } else if (measure == REPORT_POWER_PER_MONEY) {
        (void)snprintf(words, REPORT_WORDS_MAX, "W/%s", report_words_currency(unit, study, "unit"));
    } else {
        (void)snprintf(words, REPORT_WORDS_MAX, "%s",
                       report_unit(measure, study->results.units)->label);
    }
    return words;
}

char *report_words_objective_value(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                                   double shown)
{
    char unit[REPORT_WORDS_MAX];
    enum report_measure measure = report_objective_measure(study);
    if (!isfinite(shown) || measure != REPORT_POWER_PER_MONEY) {
        return measure == REPORT_MONEY
                   ? report_words_money(words, study, shown)
                   : report_words_quantity(words, measure, study->results.units, shown);
    }
    (void)report_words_objective_unit(unit, study);
    (void)snprintf(words, REPORT_WORDS_MAX, "%.*f %.40s",
                   report_unit(measure, study->results.units)->decimals, shown, unit);
    return words;
}

char *report_words_ranked(char words[REPORT_WORDS_MAX], const struct shv_study *study, double value)
{
    return report_words_objective_value(words, study, report_objective_shown(study, value));
}

char *report_words_gain(char words[REPORT_WORDS_MAX], const struct shv_study *study, double gain)
{
    enum report_measure change = report_objective_change(study);
    return change == report_objective_measure(study)
               ? report_words_objective_value(words, study, gain)
               : report_words_quantity(words, change, study->results.units, gain);
}
