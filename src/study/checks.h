/* Checks across the keys of a group, run after all of its keys were read (see keys.h). */
#ifndef SHEAVE_STUDY_CHECKS_H
#define SHEAVE_STUDY_CHECKS_H

#include <stdbool.h>

struct reader;
struct config_setting_t;
struct draft;

/* ---- words that checks share ---- */

bool is_given(const struct config_setting_t *group, const char *name);
/* Tells of keys that mean something only with what `only` says; `names` is ended by NULL. */
void reject_given(struct reader *reader, const struct config_setting_t *group,
                  const char *const *names, const char *only);
/* Tells of a key that is missing and required because of what another one says. */
void require_given(struct reader *reader, const struct config_setting_t *group, const char *name,
                   const char *because);

/* ---- by group ---- */

void check_air(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_loss(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_friction(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_efficiency(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_cycle(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_knock(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_stock(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_engine(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_site(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_blower(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_cooler(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_fuel(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_injector(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_pump(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_objective(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_results(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_study(struct reader *reader, const struct config_setting_t *setting, void *base);

/* Whether the closed cycle can burn each of the fuels chosen. */
void check_fuels_of_cycle(struct reader *reader, const struct draft *draft);

#endif
