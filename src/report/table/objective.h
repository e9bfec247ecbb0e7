/* A study's objective as people read it. The model wants the most of it, so a price or a
 * temperature stands there below zero; here it is the price or the temperature itself. */
#ifndef SHEAVE_REPORT_OBJECTIVE_H
#define SHEAVE_REPORT_OBJECTIVE_H

#include "report/write/columns.h"
#include "report/write/words.h"

enum report_measure report_objective_measure(const struct shv_study *study);
/* Of differences of it. */
enum report_measure report_objective_change(const struct shv_study *study);
/* The bit for what US units have besides. */
report_when_set report_when_units(enum shv_unit_system units);
/* That bit, the one for the column of this objective and those for all that the study describes. */
report_when_set report_when(const struct shv_study *study);
/* From the model's value to the one that is shown, in SI or the study's money. */
double report_objective_shown(const struct shv_study *study, double value);
/* How far a model's value falls short of another, as a share of the size of that one; NAN for a
 * temperature, whose share would hang on where its scale begins. */
double report_objective_loss(const struct shv_study *study, double best, double value);

/* "peak power, mean over the sites" */
char *report_words_objective(char words[REPORT_WORDS_MAX], const struct shv_study *study);
/* The unit of a shown value: "kW", a word for money, "" for none. Names are cut. */
char *report_words_objective_unit(char words[REPORT_WORDS_MAX], const struct shv_study *study);
/* A value of the model with its unit, as it is shown. */
char *report_words_ranked(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                          double value);
/* A difference of values, which has no zero point. */
char *report_words_gain(char words[REPORT_WORDS_MAX], const struct shv_study *study, double gain);
/* A shown value with its unit. */
char *report_words_objective_value(char words[REPORT_WORDS_MAX], const struct shv_study *study,
                                   double shown);

#endif
