/* Combinations by number (include/sheave/space.h): a number in mixed radix, the last dimension
 * fastest. */
#include "sheave/space.h"

#include <math.h>

#include "sheave/drive.h"

static uint64_t count_blowers(const struct shv_study *study)
{
    return study->blower_count;
}

static uint64_t count_crank_pulleys(const struct shv_study *study)
{
    return study->drive.crank_count;
}

static uint64_t count_blower_pulleys(const struct shv_study *study)
{
    return study->drive.blower_count;
}

static uint64_t count_coolers(const struct shv_study *study)
{
    uint64_t count = 0;
    for (size_t i = 0; i < study->cooler_count; i++) {
        count += study->coolers[i].choices;
    }
    return count;
}

static uint64_t count_fuels(const struct shv_study *study)
{
    return study->fuel_count;
}

static uint64_t count_lambdas(const struct shv_study *study)
{
    return study->lambda_count;
}

static uint64_t count_ignition_margins(const struct shv_study *study)
{
    return study->margin_count;
}

static uint64_t count_injectors(const struct shv_study *study)
{
    uint64_t count = 0;
    for (size_t i = 0; i < study->injector_count; i++) {
        count += study->injectors[i].choices;
    }
    return count;
}

static uint64_t count_pumps(const struct shv_study *study)
{
    return study->pump_count;
}

static void pick_blower(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    (void)study;
    kit->blower = (size_t)choice;
}

static void pick_crank_pulley(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    kit->crank_diameter = study->drive.crank_pulleys[choice];
}

static void pick_blower_pulley(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    kit->blower_diameter = study->drive.blower_pulleys[choice];
}

/* The choices of all coolers one after the other. */
static void pick_cooler(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    size_t cooler = 0;
    while (choice >= study->coolers[cooler].choices) {
        choice -= study->coolers[cooler].choices;
        cooler++;
    }
    kit->cooler = cooler;
    kit->effectiveness =
        study->coolers[cooler].is_none ? 0.0 : study->coolers[cooler].effectiveness[choice];
}

static void pick_fuel(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    (void)study;
    kit->fuel = (size_t)choice;
}

static void pick_lambda(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    kit->lambda = study->lambdas[choice];
}

static void pick_ignition_margin(const struct shv_study *study, uint64_t choice,
                                 struct shv_kit *kit)
{
    kit->ignition_margin = study->ignition_margins[choice];
}

/* The sizes of all injectors one after the other. */
static void pick_injector(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    size_t injector = 0;
    while (choice >= study->injectors[injector].choices) {
        choice -= study->injectors[injector].choices;
        injector++;
    }
    kit->injector = injector;
    kit->injector_flow = study->injectors[injector].rated_flow[choice];
}

static void pick_pump(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    (void)study;
    kit->pump = (size_t)choice;
}

/* Without a belt there is one choice, of no ribs. */
static uint64_t count_ribs(const struct shv_study *study)
{
    return study->drive.belt.given ? study->drive.belt.rib_choices : 1;
}

static void pick_ribs(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    kit->ribs = study->drive.belt.given ? study->drive.belt.ribs[choice] : 0.0;
}

static uint64_t count_wraps(const struct shv_study *study)
{
    return study->drive.belt.given ? study->drive.belt.wrap_choices : 1;
}

static void pick_wrap(const struct shv_study *study, uint64_t choice, struct shv_kit *kit)
{
    kit->wrap = study->drive.belt.given ? study->drive.belt.wraps[choice] : 0.0;
}

static const struct {
    const char *name;
    uint64_t (*count)(const struct shv_study *study);
    void (*pick)(const struct shv_study *study, uint64_t choice, struct shv_kit *kit);
} dimensions[SHV_DIM_COUNT] = {
    [SHV_DIM_BLOWER] = {"blower", count_blowers, pick_blower},
    [SHV_DIM_CRANK_PULLEY] = {"crank_pulley", count_crank_pulleys, pick_crank_pulley},
    [SHV_DIM_BLOWER_PULLEY] = {"blower_pulley", count_blower_pulleys, pick_blower_pulley},
    [SHV_DIM_COOLER] = {"cooler", count_coolers, pick_cooler},
    [SHV_DIM_FUEL] = {"fuel", count_fuels, pick_fuel},
    [SHV_DIM_LAMBDA] = {"lambda", count_lambdas, pick_lambda},
    [SHV_DIM_IGNITION_MARGIN] = {"ignition_margin", count_ignition_margins, pick_ignition_margin},
    [SHV_DIM_INJECTOR] = {"injector", count_injectors, pick_injector},
    [SHV_DIM_PUMP] = {"pump", count_pumps, pick_pump},
    [SHV_DIM_RIBS] = {"ribs", count_ribs, pick_ribs},
    [SHV_DIM_WRAP] = {"wrap", count_wraps, pick_wrap},
};

const char *shv_dim_name(enum shv_dim dim)
{
    return dimensions[dim].name;
}

void shv_space_pick(const struct shv_study *study, enum shv_dim dim, uint64_t choice,
                    struct shv_kit *kit)
{
    dimensions[dim].pick(study, choice, kit);
}

enum shv_status shv_space_init(struct shv_space *space, const struct shv_study *study,
                               struct shv_message *message)
{
    *space = (struct shv_space){
        .air_size = 1, .fuel_size = 1, .burn_size = 1, .supply_size = 1, .belt_size = 1, .size = 1};
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        uint64_t count = dimensions[d].count(study);
        if (count == 0) {
            return shv_fail(message, SHV_BAD_INPUT, "the dimension \"%s\" has no values",
                            dimensions[d].name);
        }
        if (count > INT64_MAX / space->size) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "the study has more than %lld combinations; accepted: fewer choices",
                            (long long)INT64_MAX);
        }
        space->count[d] = count;
        space->size *= count;
        if (d < SHV_DIM_AIR_COUNT) {
            space->air_size *= count;
        } else {
            space->fuel_size *= count;
            *(d < SHV_DIM_BURN_COUNT ? &space->burn_size : &space->supply_size) *= count;
            space->belt_size *= d >= SHV_DIM_RIBS ? count : 1;
        }
    }
    return SHV_OK;
}

void shv_space_split(const struct shv_space *space, uint64_t index, uint64_t choice[SHV_DIM_COUNT])
{
    for (size_t d = SHV_DIM_COUNT; d-- > 0;) {
        choice[d] = index % space->count[d];
        index /= space->count[d];
    }
}

uint64_t shv_space_join(const struct shv_space *space, const uint64_t choice[SHV_DIM_COUNT])
{
    uint64_t index = 0;
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        index = index * space->count[d] + choice[d];
    }
    return index;
}

void shv_space_kit(const struct shv_space *space, const struct shv_study *study, uint64_t index,
                   struct shv_kit *kit)
{
    uint64_t choice[SHV_DIM_COUNT];
    *kit = (struct shv_kit){0};
    shv_space_split(space, index, choice);
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        dimensions[d].pick(study, choice[d], kit);
    }
    kit->ratio =
        shv_drive_ratio(kit->crank_diameter, kit->blower_diameter, study->drive.line_offset);
}
