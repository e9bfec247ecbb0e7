/* Checks across the keys of a group, run after all of its keys were read (see keys.h). */
#ifndef SHEAVE_STUDY_CHECKS_H
#define SHEAVE_STUDY_CHECKS_H

#include <stdbool.h>

#include "study/keys.h"

/* ---- words that checks share ---- */

bool is_given(const struct config_setting_t *group, const char *name);

/* The excess-air ratio of an air-fuel ratio; NAN after telling that it is none that is accepted. */
double lambda_of_afr(struct reader *reader, const struct config_setting_t *setting, double afr,
                     double stoichiometric);
/* Tells of keys that mean something only with what `only` says; `names` is ended by NULL. */
void reject_given(struct reader *reader, const struct config_setting_t *group,
                  const char *const *names, const char *only);
/* Tells of a key that is missing and required because of what another one says. */
void require_given(struct reader *reader, const struct config_setting_t *group, const char *name,
                   const char *because);
/* Whether a list of parts is there and not empty; one that could not be read counts as well. */
bool names_parts(const struct config_setting_t *setting, const char *name);
/* Makes a speed that the key `name` gives a point of the rev range, or takes the point it nearly
 * is. */
void use_speed(struct reader *reader, const struct config_setting_t *setting, const char *name,
               struct shv_engine *engine, double *speed);

/* "results/" and a file's name without folder and ending, owned by the caller; NULL without memory.
 */
char *default_folder(const char *path);

/* ---- by group ---- */

key_check check_air, check_drive, check_exhaust, check_loss, check_cycle, check_knock, check_stock,
    check_engine, check_site, check_blower, check_cooler, check_fuel, check_injector, check_pump,
    check_belt, check_bearing, check_bypass, check_use, check_cruise, check_weights,
    check_corrections, check_tolerance, check_tolerances, check_objective, check_fit, check_results,
    check_study, check_plan;

/* Tolerances of blowers in a study without any. */
void warn_of_blowers_alone(struct reader *reader, const struct draft *draft);

/* ---- parts of those above ---- */

void check_continuous_speed(struct reader *reader, const struct config_setting_t *setting,
                            const struct shv_blower *blower);
/* The heat of a cooler's coolant loop, given or from its volume. */
void check_loop(struct reader *reader, const struct config_setting_t *setting,
                struct cooler_draft *draft);
/* Indices of the speeds of use, once all speeds are in the rev range. */
void resolve_use(struct reader *reader, struct draft *draft);
/* Index of the study's fuel of a name; an error at the key "fuel" of `setting` when there is none.
 */
bool find_fuel(struct reader *reader, const struct config_setting_t *setting, const char *name,
               size_t *fuel);
/* Trade-offs and the fuels that a kit serves, into the study. */
void resolve_choices(struct reader *reader, const struct config_setting_t *setting,
                     struct draft *draft);
/* What needs something else of the whole study; `setting` is the top level. Limits of what is not
 * described, a time for coolers that do not warm up, objectives that need a bound or prices, and
 * prices or masses that are asked for and not there, which is only warned of. */
void check_limits(struct reader *reader, const struct config_setting_t *setting,
                  const struct shv_study *study);
void check_full_throttle(struct reader *reader, const struct config_setting_t *setting);
void check_aim(struct reader *reader, const struct config_setting_t *setting,
               const struct shv_study *study);
void warn_of_worth(struct reader *reader, const struct config_setting_t *setting,
                   const struct shv_study *study);

/* What a need asks for, NULL of nothing. */
const char *need_words(enum shv_need need);

/* Whether atoms and stoichiometric ratio of the fuels chosen go together, of those that have an
 * octane number: for the closed cycle of studies that are not read yet. */
void check_atoms_of_fuels(struct reader *reader);
/* Whether the closed cycle can burn each of the fuels chosen. */
void check_fuels_of_cycle(struct reader *reader, const struct draft *draft);

#endif
