/* Combinations by number (include/sheave/space.h): a number in mixed radix, the last dimension
 * fastest. */
#include "sheave/space.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "sheave/drive.h"

static const char *no_cooler(const struct shv_study *study, size_t entry)
{
    return study->coolers[entry].is_none ? "there is no cooler" : NULL;
}

static const char *no_injector(const struct shv_study *study, size_t entry)
{
    return study->injectors[entry].is_unlimited ? "the study names no injectors" : NULL;
}

static const char *no_belt(const struct shv_study *study, size_t entry)
{
    (void)entry;
    return study->drive.belt.given ? NULL : "the study describes no belt";
}

#define IN_KIT(member) offsetof(struct shv_kit, member)
#define IN_STUDY(member) offsetof(struct shv_study, member)
#define ENTRIES(list_of, count_of, type, index)                                                    \
    .list = IN_STUDY(list_of), .list_count = IN_STUDY(count_of), .part_size = sizeof(struct type), \
    .part_name = offsetof(struct type, name), .entry = IN_KIT(index)
#define NO_ENTRIES .list = SHV_NOWHERE, .entry = SHV_NOWHERE
#define NUMBERS(dim, member)                                                                       \
    .numbers = IN_STUDY(numbers[dim].values), .number_count = IN_STUDY(numbers[dim].count),        \
    .number = IN_KIT(member)
#define NUMBERS_OF(type, list_of, member)                                                          \
    .numbers = offsetof(struct type, list_of.values),                                              \
    .number_count = offsetof(struct type, list_of.count), .number = IN_KIT(member)
#define NO_NUMBERS .numbers = SHV_NOWHERE, .number = SHV_NOWHERE

/* Rows are kept together by hand: a dimension a paragraph. */
/* clang-format off */

static const struct shv_dim_info dimensions[SHV_DIM_COUNT] = {
    [SHV_DIM_BLOWER] =
        {.name = "blower", .another = "Another blower",
         ENTRIES(blowers, blower_count, shv_blower, blower), NO_NUMBERS},
    [SHV_DIM_CRANK_PULLEY] =
        {.name = "crank_pulley", .another = "Another crank pulley", NO_ENTRIES,
         NUMBERS(SHV_DIM_CRANK_PULLEY, crank_diameter),
         .quantity = SHV_Q_LENGTH, .least = 0.01, .most = 1.0},
    [SHV_DIM_BLOWER_PULLEY] =
        {.name = "blower_pulley", .another = "Another blower pulley", NO_ENTRIES,
         NUMBERS(SHV_DIM_BLOWER_PULLEY, blower_diameter),
         .quantity = SHV_Q_LENGTH, .least = 0.01, .most = 1.0},
    [SHV_DIM_COOLER] =
        {.name = "cooler", .another = "Another charge cooler",
         ENTRIES(coolers, cooler_count, shv_cooler, cooler),
         NUMBERS_OF(shv_cooler, effectiveness, effectiveness), .without = no_cooler,
         .number_name = "effectiveness", .quantity = SHV_Q_NUMBER, .least = 0.05, .most = 0.98,
         .format = "%.4g", .nothing = "none"},
    [SHV_DIM_FUEL] =
        {.name = "fuel", .another = "Another fuel", ENTRIES(fuels, fuel_count, shv_fuel, fuel),
         NO_NUMBERS},
    [SHV_DIM_LAMBDA] =
        {.name = "lambda", .another = "Another mixture", NO_ENTRIES,
         NUMBERS(SHV_DIM_LAMBDA, lambda), .quantity = SHV_Q_NUMBER,
         .least = SHV_LAMBDA_LEAST, .most = SHV_LAMBDA_MOST, .format = "lambda %.4g"},
    [SHV_DIM_IGNITION_MARGIN] =
        {.name = "ignition_margin", .another = "Another ignition margin", NO_ENTRIES,
         NUMBERS(SHV_DIM_IGNITION_MARGIN, ignition_margin), .quantity = SHV_Q_ANGLE,
         .least = 0.0, .most = 20.0, .format = "%.4g deg"},
    [SHV_DIM_INJECTOR] =
        {.name = "injector", .another = "Other injectors",
         ENTRIES(injectors, injector_count, shv_injector_part, injector),
         NUMBERS_OF(shv_injector_part, rated_flow, injector_flow), .without = no_injector,
         .number_name = "injector_flow", .quantity = SHV_Q_VOLUME_FLOW, .least = 1e-8,
         .most = 1e-3},
    [SHV_DIM_PUMP] =
        {.name = "pump", .another = "Another pump",
         ENTRIES(pumps, pump_count, shv_pump_part, pump), NO_NUMBERS},
    [SHV_DIM_RIBS] =
        {.name = "ribs", .another = "Another number of ribs", NO_ENTRIES,
         NUMBERS(SHV_DIM_RIBS, ribs), .without = no_belt,
         .quantity = SHV_Q_NUMBER, .least = 1.0, .most = 40.0, .format = "%.0f"},
    [SHV_DIM_WRAP] =
        {.name = "wrap", .another = "Another wrap", NO_ENTRIES,
         NUMBERS(SHV_DIM_WRAP, wrap), .without = no_belt,
         .quantity = SHV_Q_ANGLE, .least = 0.0, .most = SHV_WRAP_MOST, .format = "%.4g deg",
         .nothing = "that of the layout"},
};

/* clang-format on */

const struct shv_dim_info *shv_dim_info(enum shv_dim dim)
{
    return &dimensions[dim];
}

static const void *at(const void *base, size_t offset)
{
    return (const char *)base + offset;
}

static size_t count_at(const void *base, size_t offset)
{
    return *(const size_t *)at(base, offset);
}

size_t shv_dim_entries(enum shv_dim dim, const struct shv_study *study)
{
    const struct shv_dim_info *info = &dimensions[dim];
    return info->list == SHV_NOWHERE ? 0 : count_at(study, info->list_count);
}

/* The part that is an entry; the study itself in a dimension without entries. */
static const void *part_of(const struct shv_dim_info *info, const struct shv_study *study,
                           size_t entry)
{
    const void *list =
        info->list == SHV_NOWHERE ? study : *(const void *const *)at(study, info->list);
    return at(list, entry * info->part_size);
}

const char *shv_dim_entry_name(enum shv_dim dim, const struct shv_study *study, size_t entry)
{
    const struct shv_dim_info *info = &dimensions[dim];
    return *(const char *const *)at(part_of(info, study, entry), info->part_name);
}

const double *shv_dim_numbers(enum shv_dim dim, const struct shv_study *study, size_t entry,
                              size_t *count)
{
    static const double none[] = {0.0};
    const struct shv_dim_info *info = &dimensions[dim];
    *count = 1;
    if (info->numbers == SHV_NOWHERE) {
        return NULL;
    }
    if (info->list == SHV_NOWHERE && info->without && info->without(study, entry)) {
        return none;
    }
    const void *part = part_of(info, study, entry);
    *count = count_at(part, info->number_count);
    return *(const double *const *)at(part, info->numbers);
}

double shv_dim_number(enum shv_dim dim, const struct shv_kit *kit)
{
    size_t place = dimensions[dim].number;
    return place == SHV_NOWHERE ? NAN : *(const double *)at(kit, place);
}

size_t shv_dim_entry_index(enum shv_dim dim, const struct shv_kit *kit)
{
    size_t place = dimensions[dim].entry;
    return place == SHV_NOWHERE ? 0 : count_at(kit, place);
}

void shv_dim_set_entry(enum shv_dim dim, struct shv_kit *kit, size_t entry)
{
    memcpy((char *)kit + dimensions[dim].entry, &entry, sizeof entry);
}

void shv_dim_set_number(enum shv_dim dim, struct shv_kit *kit, double number)
{
    memcpy((char *)kit + dimensions[dim].number, &number, sizeof number);
}

const char *shv_dim_entry(enum shv_dim dim, const struct shv_study *study,
                          const struct shv_kit *kit)
{
    return dimensions[dim].list == SHV_NOWHERE
               ? NULL
               : shv_dim_entry_name(dim, study, shv_dim_entry_index(dim, kit));
}

bool shv_dim_same(enum shv_dim dim, const struct shv_kit *a, const struct shv_kit *b)
{
    double x = shv_dim_number(dim, a), y = shv_dim_number(dim, b);
    bool alike = x == y || (isnan(x) && isnan(y));
    return alike && shv_dim_entry_index(dim, a) == shv_dim_entry_index(dim, b);
}

uint64_t shv_space_first(const struct shv_study *study, enum shv_dim dim, size_t entry)
{
    const struct shv_dim_info *info = &dimensions[dim];
    size_t count = 1;
    uint64_t sum = 0;
    for (size_t i = 0; i < entry; i++) {
        if (info->numbers != SHV_NOWHERE) {
            (void)shv_dim_numbers(dim, study, i, &count);
        }
        sum += count;
    }
    return sum;
}

uint64_t shv_space_choice(const struct shv_study *study, enum shv_dim dim,
                          const struct shv_kit *kit)
{
    size_t entry = shv_dim_entry_index(dim, kit);
    struct shv_numbers own = {NULL, 1};
    if (dimensions[dim].numbers != SHV_NOWHERE) {
        own.values = (double *)shv_dim_numbers(dim, study, entry, &own.count);
    }
    return shv_space_first(study, dim, entry) + shv_numbers_index(&own, shv_dim_number(dim, kit));
}

/* Numbers of all entries one after the other, where entries have them. */
static uint64_t choices_of(enum shv_dim dim, const struct shv_study *study)
{
    bool listed = dimensions[dim].list != SHV_NOWHERE;
    return shv_space_first(study, dim, listed ? shv_dim_entries(dim, study) : 1);
}

size_t shv_numbers_index(const struct shv_numbers *numbers, double value)
{
    size_t i = 0;
    while (i + 1 < numbers->count && numbers->values[i] != value) {
        i++;
    }
    return i;
}

double shv_numbers_last(const struct shv_numbers *numbers)
{
    return numbers->values[numbers->count - 1];
}

void shv_space_pick(const struct shv_study *study, enum shv_dim dim, uint64_t choice,
                    struct shv_kit *kit)
{
    const struct shv_dim_info *info = &dimensions[dim];
    size_t entry = 0, count;
    if (info->numbers == SHV_NOWHERE) {
        shv_dim_set_entry(dim, kit, (size_t)choice);
        return;
    }
    const double *number = shv_dim_numbers(dim, study, entry, &count);
    while (choice >= count) {
        choice -= count;
        number = shv_dim_numbers(dim, study, ++entry, &count);
    }
    shv_dim_set_number(dim, kit, number[choice]);
    if (info->entry != SHV_NOWHERE) {
        shv_dim_set_entry(dim, kit, entry);
    }
}

enum shv_status shv_space_init(struct shv_space *space, const struct shv_study *study,
                               struct shv_message *message)
{
    *space = (struct shv_space){
        .air_size = 1, .fuel_size = 1, .burn_size = 1, .supply_size = 1, .belt_size = 1, .size = 1};
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        uint64_t count = choices_of((enum shv_dim)d, study);
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
        shv_space_pick(study, (enum shv_dim)d, choice[d], kit);
    }
    kit->ratio =
        shv_drive_ratio(kit->crank_diameter, kit->blower_diameter, study->drive.line_offset);
}
