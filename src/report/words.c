/* Values and choices in words (src/report/words.h). */
#include "report/words.h"

#include <math.h>
#include <stdio.h>

char *report_words_quantity(char words[REPORT_WORDS_MAX], enum report_measure measure,
                            enum shv_unit_system system, double value)
{
    const struct report_unit *unit = report_unit(measure, system);
    if (!isfinite(value)) {
        (void)snprintf(words, REPORT_WORDS_MAX, "-");
        return words;
    }
    (void)snprintf(words, REPORT_WORDS_MAX, "%.*f%s%s", unit->decimals,
                   report_shown(measure, system, value), unit->label[0] ? " " : "", unit->label);
    return words;
}

char *report_words_diameter(char words[REPORT_WORDS_MAX], enum shv_unit_system system,
                            double diameter)
{
    (void)snprintf(words, REPORT_WORDS_MAX, "%.4g %s",
                   report_shown(REPORT_LENGTH, system, diameter),
                   report_unit(REPORT_LENGTH, system)->label);
    return words;
}

char *report_words_objective(char words[REPORT_WORDS_MAX], const struct shv_study *study)
{
    const struct shv_objective *o = &study->objective;
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
    case SHV_OBJECTIVE_PEAK_POWER:
        (void)snprintf(words, REPORT_WORDS_MAX, "peak power%s", over);
        break;
    }
    return words;
}

enum report_measure report_objective_measure(const struct shv_study *study)
{
    return study->objective.kind == SHV_OBJECTIVE_TORQUE ? REPORT_TORQUE : REPORT_POWER;
}
