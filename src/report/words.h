/* Values and choices in words, for tables and sentences. */
#ifndef SHEAVE_REPORT_WORDS_H
#define SHEAVE_REPORT_WORDS_H

#include "report/measure.h"

#define REPORT_WORDS_MAX 160

/* "231.4 kW"; "-" when not finite. Returns `words`, as all of these do. */
char *report_words_quantity(char words[REPORT_WORDS_MAX], enum report_measure measure,
                            enum shv_unit_system system, double value);
/* "150 mm": a diameter without needless zeros. */
char *report_words_diameter(char words[REPORT_WORDS_MAX], enum shv_unit_system system,
                            double diameter);
/* "peak power, mean over sites" */
char *report_words_objective(char words[REPORT_WORDS_MAX], const struct shv_study *study);
/* REPORT_POWER or REPORT_TORQUE. */
enum report_measure report_objective_measure(const struct shv_study *study);

#endif
