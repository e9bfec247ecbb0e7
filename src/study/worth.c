/* Limits and objectives that need what a study may leave out: belt, use, prices (checks.h). */
#include "study/checks.h"

#include <math.h>

#include "study/catalog.h"
#include "study/reader.h"

/* ---- what the chosen parts have ---- */

static const struct blower_draft *blower_at(const struct reader *reader, size_t index)
{
    return (const struct blower_draft *)(const void *)reader->chosen[ENTRIES_BLOWERS].drafts +
           index;
}

/* True without blowers, which are required: that they are missing is told by itself. */
static bool any_blower(const struct reader *reader, bool (*has)(const struct shv_blower *))
{
    if (reader->chosen[ENTRIES_BLOWERS].count == 0) {
        return true;
    }
    for (size_t i = 0; i < reader->chosen[ENTRIES_BLOWERS].count; i++) {
        if (has(&blower_at(reader, i)->blower)) {
            return true;
        }
    }
    return false;
}

static bool has_bearing(const struct shv_blower *blower)
{
    return blower->bearing.given;
}

/* Also one that is wrong, which is told by itself. */
static bool has_continuous_speed(const struct shv_blower *blower)
{
    return blower->continuous_speed != 0.0;
}

static bool any_loop(const struct reader *reader)
{
    const struct parts *coolers = &reader->chosen[ENTRIES_COOLERS];
    const struct cooler_draft *drafts = (const void *)coolers->drafts;
    for (size_t i = 0; i < coolers->count; i++) {
        if (drafts[i].cooler.loop_heat != 0.0) {
            return true;
        }
    }
    return false;
}

/* ---- prices and masses ---- */

enum worth { WORTH_PRICE, WORTH_MASS };

/* A wrong one counts as given: it is told by itself. */
static bool has(const struct shv_worth *worth, enum worth which)
{
    return !((which == WORTH_PRICE ? worth->price : worth->mass) == 0.0);
}

static size_t count_with(const struct reader *reader, size_t entries, size_t place,
                         enum worth which)
{
    const struct parts *parts = &reader->chosen[entries];
    size_t with = 0;
    for (size_t i = 0; i < parts->count; i++) {
        const unsigned char *part = parts->drafts + i * catalog_kinds[entries].group->size;
        with += has((const void *)(part + place), which);
    }
    return with;
}

static bool fixed_parts_have(const struct shv_study *study, enum worth which)
{
    return has(&study->base.worth, which) || has(&study->base.pulley, which) ||
           has(&study->base.manifold, which) || has(&study->drive.worth, which) ||
           has(&study->drive.belt.rib, which) || has(&study->bypass_part.worth, which);
}

static bool some_part_has(const struct reader *reader, const struct shv_study *study,
                          enum worth which)
{
    bool found = fixed_parts_have(study, which);
    for (size_t k = 0; k < ENTRIES_COUNT; k++) {
        for (size_t i = 0; i < catalog_kinds[k].worths; i++) {
            found |= count_with(reader, k, catalog_kinds[k].worth[i], which) > 0;
        }
    }
    return found;
}

static bool every_kit_has(const struct reader *reader, const struct shv_study *study,
                          enum worth which)
{
    bool found = fixed_parts_have(study, which);
    for (size_t k = 0; k < ENTRIES_COUNT; k++) {
        size_t parts = reader->chosen[k].count;
        found |= catalog_kinds[k].in_every_kit && parts > 0 &&
                 count_with(reader, k, catalog_kinds[k].worth[0], which) == parts;
    }
    return found;
}

/* ---- limits ---- */

/* A kind of efficiency that is wrong is told by itself. */
static bool has_cycle(const struct reader *reader, const config_setting_t *setting,
                      const struct shv_study *study)
{
    (void)reader, (void)setting;
    enum shv_efficiency_kind kind = study->engine.efficiency_kind;
    return (int)kind < 0 || kind == SHV_EFFICIENCY_CYCLE;
}

static bool has_injectors(const struct reader *reader, const config_setting_t *setting,
                          const struct shv_study *study)
{
    (void)reader, (void)study;
    return names_parts(setting, "injectors");
}

static bool has_pumps(const struct reader *reader, const config_setting_t *setting,
                      const struct shv_study *study)
{
    (void)reader, (void)study;
    return names_parts(setting, "pumps");
}

static bool has_coolers(const struct reader *reader, const config_setting_t *setting,
                        const struct shv_study *study)
{
    (void)reader, (void)study;
    return names_parts(setting, "coolers");
}

static bool has_belt(const struct reader *reader, const config_setting_t *setting,
                     const struct shv_study *study)
{
    (void)reader, (void)study;
    return is_given(reader_member(setting, "drive"), "belt");
}

static bool has_duty(const config_setting_t *setting)
{
    return is_given(reader_member(setting, "use"), "duty");
}

static bool has_life(const struct reader *reader, const config_setting_t *setting,
                     const struct shv_study *study)
{
    return has_belt(reader, setting, study) && has_duty(setting) && any_blower(reader, has_bearing);
}

static bool has_speeding(const struct reader *reader, const config_setting_t *setting,
                         const struct shv_study *study)
{
    (void)study;
    return has_duty(setting) && any_blower(reader, has_continuous_speed);
}

static bool has_actuator(const struct reader *reader, const config_setting_t *setting,
                         const struct shv_study *study)
{
    (void)reader, (void)study;
    const config_setting_t *bypass = reader_member(setting, "bypass");
    return is_given(bypass, "starts") || is_given(bypass, "finishes") || is_given(bypass, "spring");
}

static bool has_cruise(const struct reader *reader, const config_setting_t *setting,
                       const struct shv_study *study)
{
    (void)reader, (void)study;
    return is_given(reader_member(setting, "use"), "cruise");
}

static const struct {
    const char *words;
    bool (*met)(const struct reader *reader, const config_setting_t *setting,
                const struct shv_study *study);
} needs[SHV_NEEDS_COUNT] = {
    [SHV_NEEDS_CYCLE] = {"engine.efficiency.model = \"cycle\"", has_cycle},
    [SHV_NEEDS_INJECTORS] = {"injectors", has_injectors},
    [SHV_NEEDS_PUMPS] = {"pumps", has_pumps},
    [SHV_NEEDS_BELT] = {"drive.belt", has_belt},
    [SHV_NEEDS_BEARING] = {"drive.belt, use.duty and a blower with a bearing", has_life},
    [SHV_NEEDS_CONTINUOUS_SPEED] = {"use.duty and a blower with a continuous_speed", has_speeding},
    [SHV_NEEDS_ACTUATOR] = {"bypass.starts and bypass.finishes, or bypass.spring", has_actuator},
    [SHV_NEEDS_CRUISE] = {"use.cruise", has_cruise},
    [SHV_NEEDS_COOLER] = {"coolers", has_coolers},
};

const char *need_words(enum shv_need need)
{
    return needs[need].words;
}

void check_limits(struct reader *reader, const config_setting_t *setting,
                  const struct shv_study *study)
{
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)k);
        const char *names[] = {info->name, NULL};
        if (info->needs != SHV_NEEDS_NOTHING && !needs[info->needs].met(reader, setting, study)) {
            reject_given(reader, reader_member(setting, "limits"), names, needs[info->needs].words);
        }
    }
}

void check_full_throttle(struct reader *reader, const config_setting_t *setting)
{
    static const char *const time[] = {"full_throttle_time", NULL};
    bool unread = reader->chosen[ENTRIES_COOLERS].count == 0 && names_parts(setting, "coolers");
    if (!unread && !any_loop(reader)) {
        reject_given(reader, reader_member(setting, "use"), time,
                     "a cooler that has loop_heat or coolant_volume");
    }
}

/* A bound or an aim that no choice changes is most likely a mistake, but not a wrong one. */
void warn_of_worth(struct reader *reader, const config_setting_t *setting,
                   const struct shv_study *study)
{
    const config_setting_t *limits = reader_member(setting, "limits");
    const config_setting_t *objective = reader_member(setting, "objective");
    bool price = some_part_has(reader, study, WORTH_PRICE);
    bool mass = some_part_has(reader, study, WORTH_MASS);
    if (!price && is_given(limits, "price")) {
        reader_warning(reader, limits, "price", "no part has a price: every kit costs 0");
    }
    if (!mass && is_given(limits, "mass")) {
        reader_warning(reader, limits, "mass", "no part has a mass: every kit weighs 0 kg");
    }
    if (!price && study->objective.kind == SHV_OBJECTIVE_LEAST_PRICE) {
        reader_warning(reader, objective, "kind", "no part has a price: every kit costs 0");
    }
    if (!price && study->weights.price > 0.0) {
        reader_warning(reader, reader_member(objective, "weights"), "price",
                       "no part has a price: every kit costs 0");
    }
    if (!mass && study->weights.mass > 0.0) {
        reader_warning(reader, reader_member(objective, "weights"), "mass",
                       "no part has a mass: every kit weighs 0 kg");
    }
}

/* ---- objective ---- */

void check_weights(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct shv_weights *weights = &((struct draft *)base)->study.weights;
    double sum = weights->power + weights->price + weights->mass + weights->charge_temperature;
    if (sum == 0.0) {
        reader_error(reader, setting, NULL, "found no weight; accepted: one at least above 0");
    }
    weights->power *= 1e-3; /* per kW in the file, per W in the study */
}

/* Without such a bound the best kit would be the one that does least. */
static void require_power(struct reader *reader, const config_setting_t *setting, const char *word)
{
    const config_setting_t *limits = reader_member(setting, "limits");
    const config_setting_t *where = limits == NULL ? setting : limits;
    if (!is_given(limits, "power")) {
        reader_error(reader, where, limits == NULL ? "limits" : "power",
                     "found nothing; limits.power is required with objective.kind = \"%s\"", word);
    }
}

void check_aim(struct reader *reader, const config_setting_t *setting,
               const struct shv_study *study)
{
    switch (study->objective.kind) {
    case SHV_OBJECTIVE_LEAST_PRICE:
        require_power(reader, setting, "least_price");
        return;
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        require_power(reader, setting, "least_charge_temperature");
        return;
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        if (reader->chosen[ENTRIES_BLOWERS].count > 0 &&
            !every_kit_has(reader, study, WORTH_PRICE)) {
            reader_error(reader, reader_member(setting, "objective"), "kind",
                         "found \"power_per_price\" where a kit may cost nothing; accepted: only "
                         "with a price above 0 of kit, drive, manifold or every blower");
        }
        return;
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_MEAN_POWER:
    case SHV_OBJECTIVE_TORQUE:
    case SHV_OBJECTIVE_WEIGHTED:
        return;
    }
}
