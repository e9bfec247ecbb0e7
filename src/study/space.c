/* Combinations by number (include/sheave/space.h): a number in mixed radix, the last dimension
 * fastest. */
#include "sheave/space.h"

#include <math.h>
#include <stddef.h>

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

static const char *blower_name(const struct shv_study *study, size_t entry)
{
    return study->blowers[entry].name;
}

static const char *cooler_name(const struct shv_study *study, size_t entry)
{
    return study->coolers[entry].name;
}

static const char *fuel_name(const struct shv_study *study, size_t entry)
{
    return study->fuels[entry].name;
}

static const char *injector_name(const struct shv_study *study, size_t entry)
{
    return study->injectors[entry].name;
}

static const char *pump_name(const struct shv_study *study, size_t entry)
{
    return study->pumps[entry].name;
}

#define IN(member) offsetof(struct shv_kit, member)

/* Rows are kept together by hand: a dimension a paragraph. */
/* clang-format off */

static const struct shv_dim_info dimensions[SHV_DIM_COUNT] = {
    [SHV_DIM_BLOWER] =
        {.name = "blower", .another = "Another blower", .count = count_blowers,
         .pick = pick_blower, .entry = IN(blower), .entry_name = blower_name,
         .number = SHV_NO_NUMBER},
    [SHV_DIM_CRANK_PULLEY] =
        {.name = "crank_pulley", .another = "Another crank pulley", .count = count_crank_pulleys,
         .pick = pick_crank_pulley, .number = IN(crank_diameter), .quantity = SHV_Q_LENGTH},
    [SHV_DIM_BLOWER_PULLEY] =
        {.name = "blower_pulley", .another = "Another blower pulley",
         .count = count_blower_pulleys, .pick = pick_blower_pulley,
         .number = IN(blower_diameter), .quantity = SHV_Q_LENGTH},
    [SHV_DIM_COOLER] =
        {.name = "cooler", .another = "Another charge cooler", .count = count_coolers,
         .pick = pick_cooler, .entry = IN(cooler), .entry_name = cooler_name,
         .number = IN(effectiveness), .quantity = SHV_Q_NUMBER, .format = "%.4g",
         .nothing = "none"},
    [SHV_DIM_FUEL] =
        {.name = "fuel", .another = "Another fuel", .count = count_fuels, .pick = pick_fuel,
         .entry = IN(fuel), .entry_name = fuel_name, .number = SHV_NO_NUMBER},
    [SHV_DIM_LAMBDA] =
        {.name = "lambda", .another = "Another mixture", .count = count_lambdas,
         .pick = pick_lambda, .number = IN(lambda), .quantity = SHV_Q_NUMBER,
         .format = "lambda %.4g"},
    [SHV_DIM_IGNITION_MARGIN] =
        {.name = "ignition_margin", .another = "Another ignition margin",
         .count = count_ignition_margins, .pick = pick_ignition_margin,
         .number = IN(ignition_margin), .quantity = SHV_Q_ANGLE, .format = "%.4g deg"},
    [SHV_DIM_INJECTOR] =
        {.name = "injector", .another = "Other injectors", .count = count_injectors,
         .pick = pick_injector, .entry = IN(injector), .entry_name = injector_name,
         .number = IN(injector_flow), .quantity = SHV_Q_VOLUME_FLOW},
    [SHV_DIM_PUMP] =
        {.name = "pump", .another = "Another pump", .count = count_pumps, .pick = pick_pump,
         .entry = IN(pump), .entry_name = pump_name, .number = SHV_NO_NUMBER},
    [SHV_DIM_RIBS] =
        {.name = "ribs", .another = "Another number of ribs", .count = count_ribs,
         .pick = pick_ribs, .number = IN(ribs), .quantity = SHV_Q_NUMBER, .format = "%.0f"},
    [SHV_DIM_WRAP] =
        {.name = "wrap", .another = "Another wrap", .count = count_wraps, .pick = pick_wrap,
         .number = IN(wrap), .quantity = SHV_Q_ANGLE, .format = "%.4g deg",
         .nothing = "that of the layout"},
};

/* clang-format on */

const struct shv_dim_info *shv_dim_info(enum shv_dim dim)
{
    return &dimensions[dim];
}

double shv_dim_number(enum shv_dim dim, const struct shv_kit *kit)
{
    size_t place = dimensions[dim].number;
    return place == SHV_NO_NUMBER ? NAN
                                  : *(const double *)(const void *)((const char *)kit + place);
}

static size_t entry_of(enum shv_dim dim, const struct shv_kit *kit)
{
    return *(const size_t *)(const void *)((const char *)kit + dimensions[dim].entry);
}

const char *shv_dim_entry(enum shv_dim dim, const struct shv_study *study,
                          const struct shv_kit *kit)
{
    const struct shv_dim_info *info = &dimensions[dim];
    return info->entry_name ? info->entry_name(study, entry_of(dim, kit)) : NULL;
}

bool shv_dim_same(enum shv_dim dim, const struct shv_kit *a, const struct shv_kit *b)
{
    double x = shv_dim_number(dim, a), y = shv_dim_number(dim, b);
    bool alike = x == y || (isnan(x) && isnan(y));
    return alike && (!dimensions[dim].entry_name || entry_of(dim, a) == entry_of(dim, b));
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
