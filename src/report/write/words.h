/* Values and choices in words, for tables and sentences. */
#ifndef SHEAVE_REPORT_WORDS_H
#define SHEAVE_REPORT_WORDS_H

#include "report/write/measure.h"
#include "report/write/text.h"
#include "sheave/model.h"
#include "sheave/space.h"

#define REPORT_WORDS_MAX 160

/* "231.4 kW"; "-" when not finite. Returns `words`, as all of these do. */
char *report_words_quantity(char words[REPORT_WORDS_MAX], enum report_measure measure,
                            enum shv_unit_system system, double value);
/* A cell of a quantity without its unit; of a narrow one with as many of its decimals as fit. */
void report_text_quantity(struct report_text *text, int width, enum report_measure measure,
                          enum shv_unit_system system, double value);
void report_text_fit_quantity(struct report_text *text, int width, enum report_measure measure,
                              enum shv_unit_system system, double value);
/* "a unit" or "a to b unit". */
char *report_words_span(char words[REPORT_WORDS_MAX], enum report_measure measure,
                        enum shv_unit_system system, double low, double high);
/* The same as the first with so many more decimals, for what is small in its unit. */
char *report_words_fine(char words[REPORT_WORDS_MAX], enum report_measure measure,
                        enum shv_unit_system system, double value, int more);
/* The study's word for money, cut; `otherwise` where it has none. */
#define REPORT_CURRENCY_MAX 56
char *report_words_currency(char words[REPORT_CURRENCY_MAX], const struct shv_study *study,
                            const char *otherwise);
/* "1250.00 EUR" */
char *report_words_money(char words[REPORT_WORDS_MAX], const struct shv_study *study, double value);
/* Of whatever measure: money in the study's, the rest in its units. */
char *report_words_value(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                         enum report_measure measure, double value);
/* "150 mm": a diameter without needless zeros. */
char *report_words_diameter(char words[REPORT_WORDS_MAX], enum shv_unit_system system,
                            double diameter);
/* What a kit has on the fuel side beyond fuel and lambda, to go on with after them: ", ignition
 * held 2 deg back from knock, injectors I of 440 cm3/min, pump P", in US units with the mass flow
 * of the test fluid in lb/h beside it; "" when there is nothing. Names
 * are cut. */
#define REPORT_SUPPLY_MAX 640
char *report_words_supply(char words[REPORT_SUPPLY_MAX], const struct shv_study *study,
                          const struct shv_kit *kit);
/* A correction for sentences: what is added to RON and MON is added to AKI, which US units speak.
 */
const char *report_correction_title(enum shv_unit_system units, enum shv_correction which);
/* "lambda 0.86"; of a study in US units with the air-fuel ratio of that fuel behind it, "lambda
 * 0.86 (AFR 12.6)". */
char *report_words_mixture(char words[REPORT_WORDS_MAX], const struct shv_study *study, size_t fuel,
                           double lambda);
/* "RON 95, MON 85, ", in US units with AKI; what is not known is left out. */
char *report_words_octane(char words[REPORT_WORDS_MAX], const struct shv_study *study, size_t fuel);
/* "17.3 deg after top dead centre", before it when negative. */
char *report_words_phasing(char words[REPORT_WORDS_MAX], double ca50);

/* What a kit consists of, for a sentence; names have `width` characters, at most 40. `core` says
 * what a cooler is by its name and effectiveness, as "cooler %s of effectiveness %.3g". */
#define REPORT_KIT_NAME 40
struct report_kit_words {
    char blower[REPORT_FIT_MAX(REPORT_KIT_NAME)], fuel[REPORT_FIT_MAX(REPORT_KIT_NAME)];
    char crank[REPORT_WORDS_MAX], pulley[REPORT_WORDS_MAX], mixture[REPORT_WORDS_MAX];
    char core[REPORT_FIT_MAX(REPORT_KIT_NAME) + 48], supply[REPORT_SUPPLY_MAX];
};
#define REPORT_CORE "cooler %s of effectiveness %.3g"
void report_words_kit(struct report_kit_words *words, const struct shv_study *study,
                      const struct shv_kit *kit, int width, const char *core);

/* The limit with the least room of those that are not among `told`; -1: none. */
int report_next_limit(const struct shv_verdict *verdict, shv_limit_set told);
/* Where a limit is tightest: " at 5500 rpm", `between`, the site; "" for one of the whole kit. */
char *report_words_place(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                         const struct shv_limit_result *at, enum shv_limit limit,
                         const char *between);

/* The title of a limit by its name in files; another name as it is. */
const char *report_limit_title(const char *name);

#endif
