/* Values and choices in words, for tables and sentences. */
#ifndef SHEAVE_REPORT_WORDS_H
#define SHEAVE_REPORT_WORDS_H

#include "report/measure.h"
#include "sheave/space.h"

#define REPORT_WORDS_MAX 160

/* "231.4 kW"; "-" when not finite. Returns `words`, as all of these do. */
char *report_words_quantity(char words[REPORT_WORDS_MAX], enum report_measure measure,
                            enum shv_unit_system system, double value);
/* "150 mm": a diameter without needless zeros. */
char *report_words_diameter(char words[REPORT_WORDS_MAX], enum shv_unit_system system,
                            double diameter);
/* What a kit has on the fuel side beyond fuel and lambda, to go on with after them: ", ignition
 * held 2 deg back from knock, injectors I of 440 cm3/min, pump P"; "" when there is nothing. Names
 * are cut. */
#define REPORT_SUPPLY_MAX 640
char *report_words_supply(char words[REPORT_SUPPLY_MAX], const struct shv_study *study,
                          const struct shv_kit *kit);
/* "17.3 deg after top dead centre", before it when negative. */
char *report_words_phasing(char words[REPORT_WORDS_MAX], double ca50);
/* "peak power, mean over sites" */
char *report_words_objective(char words[REPORT_WORDS_MAX], const struct shv_study *study);
/* REPORT_POWER or REPORT_TORQUE. */
enum report_measure report_objective_measure(const struct shv_study *study);

#endif
