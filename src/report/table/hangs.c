/* What the first place hangs on, in sentences. */
#include "report/table/hangs.h"

#include <math.h>

#include "report/table/objective.h"
#include "report/table/sure.h"

#define NAME 24

/* "3.1 less", "12.0 % more" */
static void amount_words(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                         const struct shv_rival *rival)
{
    enum shv_correction which = (enum shv_correction)rival->decides;
    const char *way = rival->departure < 0.0 ? "less" : "more";
    if (shv_correction_info(which)->neutral != 0.0) { /* a factor */
        (void)snprintf(words, REPORT_WORDS_MAX, "%.1f %% %s", 100.0 * fabs(rival->departure), way);
        return;
    }
    const struct report_unit *unit =
        report_unit(report_tolerance_measure(which), study->results.units);
    (void)snprintf(words, REPORT_WORDS_MAX, "%.2g%s%s %s", unit->factor * fabs(rival->departure),
                   *unit->label ? " " : "", unit->label, way);
}

void report_hangs_sentence(const struct shv_study *study, const struct shv_rival *rival,
                           char words[REPORT_HANGS_MAX])
{
    char blower[REPORT_FIT_MAX(NAME)], fuel[REPORT_FIT_MAX(NAME)], kit[3 * REPORT_WORDS_MAX];
    char behind[REPORT_WORDS_MAX], amount[REPORT_WORDS_MAX];
    (void)snprintf(kit, sizeof kit, "%s with %s (row %zu, %s behind)",
                   report_fit(blower, NAME, study->blowers[rival->kit.blower].name),
                   report_fit(fuel, NAME, study->fuels[rival->kit.fuel].name), rival->place + 1,
                   report_words_objective_value(behind, study, fabs(rival->behind)));
    if (rival->decides < 0) {
        (void)snprintf(words, REPORT_HANGS_MAX, "No tolerance alone puts %s ahead, limits aside.",
                       kit);
        return;
    }
    amount_words(amount, study, rival);
    (void)snprintf(
        words, REPORT_HANGS_MAX,
        "First place hangs on %s: %s of it, limits aside, and %s is as good.",
        report_correction_title(study->results.units, (enum shv_correction)rival->decides), amount,
        kit);
}

const struct shv_rival *report_nearest_rival(const struct shv_run *run)
{
    const struct shv_sure_list *list = run->sure;
    const struct shv_rival *nearest = NULL;
    for (size_t i = 0; list && i < list->rivals; i++) {
        bool nearer = !nearest || list->rival[i].deviations < nearest->deviations;
        nearest = nearer ? &list->rival[i] : nearest;
    }
    return nearest;
}
