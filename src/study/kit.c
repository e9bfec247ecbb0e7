/* The kit as hardware: belt, bearing, coolant loop, bypass and use (checks.h). */
#include "study/checks.h"

#include <math.h>
#include <stdlib.h>

#include "sheave/space.h"
#include "study/dimension.h"
#include "study/reader.h"

#define DEGREE (3.14159265358979323846 / 180.0)

/* ---- belt ---- */

static void check_whole(struct reader *reader, const config_setting_t *setting,
                        const struct shv_numbers *ribs)
{
    for (size_t i = 0; i < ribs->count; i++) {
        if (fabs(ribs->values[i] - round(ribs->values[i])) > 1e-9) {
            reader_error(reader, setting, "ribs", "found %.10g; accepted: whole numbers",
                         ribs->values[i]);
        } else {
            ribs->values[i] = round(ribs->values[i]);
        }
    }
}

/* Pulleys ascend, so the last ones are the largest pair. */
static void check_centre(struct reader *reader, const config_setting_t *setting,
                         const struct draft *draft)
{
    const struct shv_numbers *crank = &draft->study.numbers[SHV_DIM_CRANK_PULLEY];
    const struct shv_numbers *blower = &draft->study.numbers[SHV_DIM_BLOWER_PULLEY];
    double centre = draft->study.drive.belt.centre;
    if (crank->count == 0 || blower->count == 0) {
        return;
    }
    double reach = 0.5 * (shv_numbers_last(crank) + shv_numbers_last(blower)) +
                   2.0 * draft->study.drive.line_offset;
    if (centre <= reach) {
        reader_error(reader, setting, "centre",
                     "found %.10g m; accepted: more than %.10g m, where the largest pulleys touch",
                     centre, reach);
    }
}

void check_belt(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_belt_setup *belt = &draft->study.drive.belt;
    belt->given = true;
    belt->belt.groove_angle *= DEGREE;
    check_whole(reader, setting, &draft->study.numbers[SHV_DIM_RIBS]);
    check_centre(reader, setting, draft);
    if (!is_given(setting, "wrap") && !dimension_add(&draft->study.numbers[SHV_DIM_WRAP], 0.0)) {
        reader->out_of_memory = true;
    }
}

/* ---- blower and cooler ---- */

void check_bearing(struct reader *reader, const config_setting_t *setting, void *base)
{
    static const char *const span[] = {"span", NULL};
    struct shv_nose_bearing *bearing = base;
    bearing->given = true;
    if (bearing->overhang > 0.0) {
        require_given(reader, setting, "span", "an overhang above 0");
    } else if (bearing->overhang == 0.0) {
        reject_given(reader, setting, span, "an overhang above 0");
    }
}

void check_continuous_speed(struct reader *reader, const config_setting_t *setting,
                            const struct shv_blower *blower)
{
    if (blower->continuous_speed > blower->max_speed * (1.0 + 1e-9)) {
        reader_error(reader, setting, "continuous_speed",
                     "found %.10g rpm; accepted: at most max_speed, %.10g rpm",
                     60.0 * blower->continuous_speed, 60.0 * blower->max_speed);
    }
}

void check_loop(struct reader *reader, const config_setting_t *setting, struct cooler_draft *draft)
{
    static const char *const loop[] = {"coolant_volume", "loop_heat", NULL};
    if (draft->cooler.radiator_effectiveness == 0.0) {
        reject_given(reader, setting, loop, "a radiator_effectiveness above 0");
    }
    if (!is_given(setting, "coolant_volume")) {
        return;
    }
    if (is_given(setting, "loop_heat")) {
        reader_error(reader, setting, "coolant_volume",
                     "found together with loop_heat; accepted: one of the two");
    } else {
        draft->cooler.loop_heat =
            draft->coolant_volume * draft->coolant_density * draft->coolant_heat_capacity;
    }
}

/* ---- bypass ---- */

static void check_vacuums(struct reader *reader, const config_setting_t *setting,
                          const struct shv_bypass_actuator *actuator)
{
    if (is_given(setting, "finishes")) {
        require_given(reader, setting, "starts", "finishes");
    }
    if (is_given(setting, "starts")) {
        require_given(reader, setting, "finishes", "starts");
    }
    if (is_given(setting, "starts") && is_given(setting, "finishes") &&
        actuator->finishes < actuator->starts) {
        reader_error(reader, setting, "finishes",
                     "found %.10g Pa; accepted: at least starts, %.10g Pa", actuator->finishes,
                     actuator->starts);
    }
}

void check_bypass(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_bypass_part *part = &draft->study.bypass_part;
    bool by_vacuum = is_given(setting, "starts") || is_given(setting, "finishes");
    bool by_spring = is_given(setting, "spring");
    part->has_actuator = by_vacuum || by_spring;
    if (by_vacuum && by_spring) {
        reader_error(reader, setting, "spring",
                     "found together with starts and finishes; accepted: one of the two ways");
    } else if (by_spring) {
        part->actuator = shv_bypass_actuator_of(&draft->spring);
    } else {
        check_vacuums(reader, setting, &part->actuator);
    }
}

/* ---- use ---- */

/* What the limits of bearings take as a whole is 1 within 1e-9; thirds written with a few digits
 * are not, so shares of nearly 1 are brought to it. */
#define DUTY_OFF 1e-6

static void check_shares(struct reader *reader, const config_setting_t *list,
                         const struct draft *draft)
{
    struct duty_draft *duty = draft->duty;
    double sum = 0.0;
    for (size_t i = 0; i < draft->duty_count; i++) {
        sum += duty[i].time;
    }
    if (fabs(sum - 1.0) > DUTY_OFF * (1.0 + 1e-6)) {
        reader_error(reader, list, NULL,
                     "found times that sum to %.10g; accepted: shares of time that sum to 1", sum);
        return;
    }
    for (size_t i = 0; i < draft->duty_count; i++) {
        duty[i].time /= sum;
    }
}

/* Entries that are no groups are told by themselves, and leave zeros. */
static bool all_groups(const config_setting_t *list)
{
    for (int i = 0; i < config_setting_length(list); i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        if (!config_setting_is_group(entry) || !is_given(entry, "time")) {
            return false;
        }
    }
    return true;
}

void check_use(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    const config_setting_t *list = reader_member(setting, "duty");
    if (draft->duty_count == 0) {
        return;
    }
    for (size_t i = 0; i < draft->duty_count; i++) {
        use_speed(reader, config_setting_get_elem(list, (unsigned)i), "speed", &draft->study.engine,
                  &draft->duty[i].speed);
    }
    if (all_groups(list)) {
        check_shares(reader, list, draft);
    }
}

void check_cruise(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    draft->study.use.cruises = true;
    use_speed(reader, setting, "speed", &draft->study.engine, &draft->cruise_speed);
}

static size_t index_of_speed(const struct shv_engine *engine, double speed)
{
    size_t i = 0;
    while (i + 1 < engine->speed_count && engine->speeds[i] < speed) {
        i++;
    }
    return i;
}

void resolve_use(struct reader *reader, struct draft *draft)
{
    struct shv_use *use = &draft->study.use;
    const struct shv_engine *engine = &draft->study.engine;
    use->cruise_speed = use->cruises ? index_of_speed(engine, draft->cruise_speed) : 0;
    if (draft->duty_count == 0) {
        return;
    }
    use->duty = calloc(draft->duty_count, sizeof *use->duty);
    if (use->duty == NULL) {
        reader->out_of_memory = true;
        return;
    }
    use->duty_parts = draft->duty_count;
    for (size_t i = 0; i < use->duty_parts; i++) {
        const struct duty_draft *part = &draft->duty[i];
        use->duty[i] = (struct shv_duty_part){
            .speed = index_of_speed(engine, part->speed), .time = part->time, .load = part->load};
    }
}
