/* worth_knowing.csv: what knowing each tolerance, and each measurement that a shop can make, is
 * worth before the kit is chosen; and the best of them in words. */
#include "report/table/worth_knowing.h"

#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/objective.h"

/* Gains that are no more than this share of the strongest's ranking value are not worth a word. */
#define LEAST_SHARE 1e-3
#define TELLS 256

struct knowing_row {
    const char *kind, *name, *tells;
    double gain, error, changes;
};

#define AT(member) offsetof(struct knowing_row, member)

/* clang-format off */
static const struct report_column columns[] = {
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS,
     "`tolerance` for one known exactly, `measurement` for one that a shop can make, with its usual error."},
    {"name", REPORT_TEXT, 0, AT(name), REPORT_ALWAYS,
     "Name of the tolerance, as in the study, or of the measurement (docs/model.md, section 13.9)."},
    {"tells", REPORT_TEXT, 0, AT(tells), REPORT_ALWAYS,
     "Tolerances of the study that it tells something of."},
    {"gain", REPORT_OBJECTIVE_CHANGE, 4, AT(gain), REPORT_ALWAYS,
     "How much better the kit to sell is in the mean by its ranking value, every limit as sure as before: more, of a "
     "price or temperature less."},
    {"gain*_error", REPORT_OBJECTIVE_CHANGE, 2, AT(error), REPORT_ALWAYS,
     "Its standard error over what may come out."},
    {"other_kit", REPORT_PERCENT, 4, AT(changes), REPORT_ALWAYS,
     "How often another kit is sold than without it."},
};
/* clang-format on */

/* Names or titles of tolerances. */
static void list_tells(char words[TELLS], shv_correction_set tells, bool titles,
                       const char *between)
{
    words[0] = '\0';
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        size_t used = strlen(words);
        if (tells & SHV_CORRECTION_BIT(i)) {
            (void)snprintf(words + used, TELLS - used, "%s%s", used > 0 ? between : "",
                           titles ? info->title : info->name);
        }
    }
}

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_sure_list *list = ((const struct report_rows *)data)->run->sure;
    for (size_t i = 0; i < list->knowing_count; i++) {
        const struct shv_knowing *k = &list->knowing[i];
        char tells[TELLS];
        list_tells(tells, k->tells, false, " ");
        const struct knowing_row row = {.kind = k->is_measurement ? "measurement" : "tolerance",
                                        .name = k->name,
                                        .tells = tells,
                                        .gain = k->gain.value,
                                        .error = k->gain.error,
                                        .changes = k->changes};
        report_csv_row(csv, &row);
    }
}

static bool is_there(const struct shv_run *run)
{
    return run->sure && run->sure->knowing_count > 0;
}

const struct report_table report_worth_knowing = {
    .file = "worth_knowing.csv",
    .about = "worth_knowing.csv: what knowing more before the kit is chosen is worth, where there "
             "is a kit to sell",
    REPORT_COLUMNS(columns),
    .write = write_rows,
    .is_there = is_there};

/* ---- in words ---- */

/* The measurement that is worth most, but for one; NULL for none that is worth a word. */
static const struct shv_knowing *most_worth(const struct shv_run *run,
                                            const struct shv_knowing * not )
{
    const struct shv_sure_list *list = run->sure;
    const struct shv_knowing *most = NULL;
    for (size_t i = 0; i < list->knowing_count; i++) {
        const struct shv_knowing *k = &list->knowing[i];
        double least =
            most ? most->gain.value
                 : fmax(2.0 * k->gain.error, LEAST_SHARE * fabs(list->row[list->best].nominal));
        most = k->is_measurement && k != not &&k->gain.value > least ? k : most;
    }
    return most;
}

/* "1.2 kW more". */
static void gain_words(char words[REPORT_WORDS_MAX + 8], const struct shv_study *study, double gain)
{
    char value[REPORT_WORDS_MAX];
    bool turned = report_objective_shown(study, 1.0) < 0.0;
    (void)report_words_gain(value, study, gain);
    (void)snprintf(words, REPORT_WORDS_MAX + 8, "%s %s", value, turned ? "less" : "more");
}

bool report_knowing_sentence(const struct shv_run *run, char words[REPORT_KNOWING_MAX])
{
    char tells[TELLS], gain[REPORT_WORDS_MAX + 8];
    if (!is_there(run)) {
        return false;
    }
    const struct shv_knowing *first = most_worth(run, NULL);
    if (!first) {
        (void)snprintf(words, REPORT_KNOWING_MAX,
                       "No measurement that a shop can make would let a better kit be sold.");
        return true;
    }
    const struct shv_knowing *next = most_worth(run, first);
    list_tells(tells, first->tells, true, " and ");
    gain_words(gain, run->study, first->gain.value);
    (void)snprintf(words, REPORT_KNOWING_MAX, "Measure first: %s (%s): %s at the same certainty.",
                   tells, first->title, gain);
    if (next) {
        size_t used = strlen(words);
        list_tells(tells, next->tells, true, " and ");
        gain_words(gain, run->study, next->gain.value);
        *strrchr(gain, ' ') = '\0'; /* "more" was said */
        (void)snprintf(words + used, REPORT_KNOWING_MAX - used, " Next: %s (%s): %s.", tells,
                       next->title, gain);
    }
    return true;
}
