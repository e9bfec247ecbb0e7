/* Checks across the keys of a group, run after all of its keys were read (see keys.h). */
#ifndef SHEAVE_STUDY_CHECKS_H
#define SHEAVE_STUDY_CHECKS_H

struct reader;
struct config_setting_t;

void check_air(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_loss(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_friction(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_efficiency(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_stock(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_engine(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_site(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_blower(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_cooler(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_objective(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_results(struct reader *reader, const struct config_setting_t *setting, void *base);
void check_study(struct reader *reader, const struct config_setting_t *setting, void *base);

#endif
