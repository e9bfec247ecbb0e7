/* Values and choices in words (src/report/write/words.h). */
#include "report/write/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/write/text.h"
#include "sheave/summary.h"

#define NAME_MAX_SHOWN 32
#define NAME_ROOM REPORT_FIT_MAX(NAME_MAX_SHOWN)
#define PLACE_SHOWN 24
#define CURRENCY_SHOWN 13
_Static_assert(REPORT_FIT_MAX(CURRENCY_SHOWN) <= REPORT_CURRENCY_MAX, "room for the word");

char *report_words_quantity(char words[REPORT_WORDS_MAX], enum report_measure measure,
                            enum shv_unit_system system, double value)
{
    return report_words_fine(words, measure, system, value, 0);
}

void report_text_quantity(struct report_text *text, int width, enum report_measure measure,
                          enum shv_unit_system system, double value)
{
    report_text_number(text, width, report_unit(measure, system)->decimals,
                       report_shown(measure, system, value));
}

void report_text_fit_quantity(struct report_text *text, int width, enum report_measure measure,
                              enum shv_unit_system system, double value)
{
    report_text_fitted(text, width, report_unit(measure, system)->decimals,
                       report_shown(measure, system, value));
}

char *report_words_fine(char words[REPORT_WORDS_MAX], enum report_measure measure,
                        enum shv_unit_system system, double value, int more)
{
    const struct report_unit *unit = report_unit(measure, system);
    if (!isfinite(value)) {
        (void)snprintf(words, REPORT_WORDS_MAX, "-");
        return words;
    }
    (void)snprintf(words, REPORT_WORDS_MAX, "%.*f%s%s", unit->decimals + more,
                   report_shown(measure, system, value), unit->label[0] ? " " : "", unit->label);
    return words;
}

char *report_words_span(char words[REPORT_WORDS_MAX], enum report_measure measure,
                        enum shv_unit_system system, double low, double high)
{
    const struct report_unit *unit = report_unit(measure, system);
    if (low == high) {
        return report_words_quantity(words, measure, system, low);
    }
    (void)snprintf(words, REPORT_WORDS_MAX, "%.*f to %.*f%s%s", unit->decimals,
                   report_shown(measure, system, low), unit->decimals,
                   report_shown(measure, system, high), unit->label[0] ? " " : "", unit->label);
    return words;
}

char *report_words_currency(char words[REPORT_CURRENCY_MAX], const struct shv_study *study,
                            const char *otherwise)
{
    bool named = study->currency && study->currency[0] != '\0';
    return report_fit(words, CURRENCY_SHOWN, named ? study->currency : otherwise);
}

char *report_words_money(char words[REPORT_WORDS_MAX], const struct shv_study *study, double value)
{
    char unit[REPORT_CURRENCY_MAX];
    if (!isfinite(value)) {
        return report_words_quantity(words, REPORT_MONEY, study->results.units, value);
    }
    (void)report_words_currency(unit, study, "");
    (void)snprintf(words, REPORT_WORDS_MAX, "%.*f%s%s",
                   report_unit(REPORT_MONEY, study->results.units)->decimals, value,
                   unit[0] ? " " : "", unit);
    return words;
}

char *report_words_value(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                         enum report_measure measure, double value)
{
    return measure == REPORT_MONEY
               ? report_words_money(words, study, value)
               : report_words_quantity(words, measure, study->results.units, value);
}

char *report_words_diameter(char words[REPORT_WORDS_MAX], enum shv_unit_system system,
                            double diameter)
{
    (void)snprintf(words, REPORT_WORDS_MAX, "%.4g %s",
                   report_shown(REPORT_LENGTH, system, diameter),
                   report_unit(REPORT_LENGTH, system)->label);
    return words;
}

char *report_words_supply(char words[REPORT_SUPPLY_MAX], const struct shv_study *study,
                          const struct shv_kit *kit)
{
    const struct shv_injector_part *injector = &study->injectors[kit->injector];
    const struct shv_pump_part *pump = &study->pumps[kit->pump];
    char name[NAME_ROOM], flow[REPORT_WORDS_MAX];
    size_t used = 0;
    words[0] = '\0';
    if (kit->ignition_margin != 0.0) {
        (void)snprintf(words, REPORT_SUPPLY_MAX, ", ignition held %.4g deg back from knock",
                       kit->ignition_margin);
    }
    if (!injector->is_unlimited) {
        char mass[REPORT_WORDS_MAX] = "", by_mass[REPORT_WORDS_MAX + 4] = "";
        used = strlen(words);
        if (study->results.units == SHV_US) {
            (void)snprintf(by_mass, sizeof by_mass, " (%s)",
                           report_words_quantity(mass, REPORT_FUEL_FLOW, SHV_US,
                                                 kit->injector_flow * injector->test_density));
        }
        (void)snprintf(words + used, REPORT_SUPPLY_MAX - used, ", injectors %s of %s%s",
                       report_fit(name, NAME_MAX_SHOWN, injector->name),
                       report_words_quantity(flow, REPORT_INJECTOR_FLOW, study->results.units,
                                             kit->injector_flow),
                       by_mass);
    }
    if (!pump->is_unlimited) {
        used = strlen(words);
        (void)snprintf(words + used, REPORT_SUPPLY_MAX - used, ", pump %s",
                       report_fit(name, NAME_MAX_SHOWN, pump->name));
    }
    return words;
}

const char *report_correction_title(enum shv_unit_system units, enum shv_correction which)
{
    bool aki = units == SHV_US && which == SHV_CORRECT_OCTANE;
    return aki ? "antiknock index (AKI)" : shv_correction_info(which)->title;
}

char *report_words_mixture(char words[REPORT_WORDS_MAX], const struct shv_study *study, size_t fuel,
                           double lambda)
{
    bool us = study->results.units == SHV_US;
    int used = snprintf(words, REPORT_WORDS_MAX, "lambda %.3g", lambda);
    if (us && used > 0) {
        (void)snprintf(words + used, REPORT_WORDS_MAX - (size_t)used, " (AFR %.3g)",
                       lambda * study->fuels[fuel].stoichiometric);
    }
    return words;
}

char *report_words_octane(char words[REPORT_WORDS_MAX], const struct shv_study *study, size_t fuel)
{
    const struct shv_fuel *f = &study->fuels[fuel];
    const struct {
        const char *name;
        double value;
    } numbers[] = {{"RON", f->ron},
                   {"MON", f->mon},
                   {"AKI", study->results.units == SHV_US ? shv_fuel_aki(study, fuel) : NAN}};
    words[0] = '\0';
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        size_t used = strlen(words);
        if (!isnan(numbers[i].value)) {
            (void)snprintf(words + used, REPORT_WORDS_MAX - used, "%s %.4g, ", numbers[i].name,
                           numbers[i].value);
        }
    }
    return words;
}

char *report_words_phasing(char words[REPORT_WORDS_MAX], double ca50)
{
    (void)snprintf(words, REPORT_WORDS_MAX, "%.1f deg %s top dead centre", fabs(ca50),
                   ca50 < 0.0 ? "before" : "after");
    return words;
}

const char *report_limit_title(const char *name)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        if (strcmp(info->name, name) == 0) {
            return info->title;
        }
    }
    return name;
}

void report_words_kit(struct report_kit_words *words, const struct shv_study *study,
                      const struct shv_kit *kit, int width, const char *core)
{
    enum shv_unit_system units = study->results.units;
    char cooler[REPORT_FIT_MAX(REPORT_KIT_NAME)];
    (void)report_fit(words->blower, width, study->blowers[kit->blower].name);
    (void)report_fit(words->fuel, width, study->fuels[kit->fuel].name);
    (void)report_words_diameter(words->crank, units, kit->crank_diameter);
    (void)report_words_diameter(words->pulley, units, kit->blower_diameter);
    (void)report_words_mixture(words->mixture, study, kit->fuel, kit->lambda);
    (void)report_words_supply(words->supply, study, kit);
    (void)snprintf(words->core, sizeof words->core,
                   kit->effectiveness > 0.0 ? core : "no charge cooler",
                   report_fit(cooler, width, study->coolers[kit->cooler].name), kit->effectiveness);
}

int report_next_limit(const struct shv_verdict *verdict, shv_limit_set told)
{
    int next = -1;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_result *r = &verdict->limit[i];
        if (!(told & SHV_LIMIT_BIT(i)) && !isnan(r->share) && !isinf(r->bound) &&
            (next < 0 || r->share < verdict->limit[next].share)) {
            next = i;
        }
    }
    return next;
}

char *report_words_place(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                         const struct shv_limit_result *at, enum shv_limit limit,
                         const char *between)
{
    char site[NAME_ROOM];
    words[0] = '\0';
    if (!shv_limit_info(limit)->of_kit) {
        (void)snprintf(words, REPORT_WORDS_MAX, " at %.0f rpm%s%s",
                       study->engine.speeds[at->speed] * 60.0, between,
                       report_fit(site, PLACE_SHOWN, study->sites[at->site].name));
    }
    return words;
}
