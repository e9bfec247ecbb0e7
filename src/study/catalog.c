/* Lists of parts (catalog.h). */
#include "study/catalog.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/nearest.h"

/* ---- what kinds of lists there are ---- */

/* Beside what its keys have read. */
static void free_map(void *part)
{
    struct shv_blower_map *map = &((struct shv_blower *)part)->map;
    if (map->line != NULL) {
        shv_blower_map_free(map);
    }
}

/* Having no cooler: one choice, of no effect. */
static bool make_none(void *part)
{
    struct shv_cooler *none = part;
    *none = (struct shv_cooler){.name = strdup("none"),
                                .is_none = true,
                                .effectiveness = {calloc(1, sizeof(double)), 1},
                                .rated_flow = 1.0,
                                .pressure_drop_effectiveness = 0.7,
                                .rated_density = 1.6,
                                .coolant_temperature = NAN,
                                .coolant_capacity = INFINITY,
                                .radiator_capacity = INFINITY};
    return none->name != NULL && none->effectiveness.values != NULL;
}

static bool make_unlimited_injector(void *part)
{
    struct shv_injector_part *injector = part;
    *injector = (struct shv_injector_part){.name = strdup("unlimited"),
                                           .is_unlimited = true,
                                           .rated_flow = {calloc(1, sizeof(double)), 1}};
    return injector->name != NULL && injector->rated_flow.values != NULL;
}

static bool make_unlimited_pump(void *part)
{
    struct shv_pump_part *pump = part;
    *pump = (struct shv_pump_part){.name = strdup("unlimited"), .is_unlimited = true};
    return pump->name != NULL;
}

#define LIST(type, list_of, count_of)                                                              \
    .part_size = sizeof(struct type), .list = offsetof(struct shv_study, list_of),                 \
    .count = offsetof(struct shv_study, count_of)

#define WORTH(...)                                                                                 \
    .worth = {__VA_ARGS__}, .worths = sizeof((size_t[]){__VA_ARGS__}) / sizeof(size_t)

const struct part_kind catalog_kinds[ENTRIES_COUNT] = {
    [ENTRIES_SITES] =
        {
            .group = &site_keys,
            LIST(shv_site, sites, site_count),
            .most = SITES_MAX,
        },
    [ENTRIES_BLOWERS] =
        {
            .group = &blower_keys,
            LIST(shv_blower, blowers, blower_count),
            .most = PARTS_MAX,
            WORTH(offsetof(struct shv_blower, worth)),
            .in_every_kit = true,
            .free_more = free_map,
        },
    [ENTRIES_COOLERS] = {.group = &cooler_keys,
                         LIST(shv_cooler, coolers, cooler_count),
                         .most = PARTS_MAX,
                         WORTH(offsetof(struct shv_cooler, worth),
                               offsetof(struct shv_cooler, per_ntu)),
                         .make_own = make_none,
                         .own_name = "none",
                         .stands_for = "no cooler",
                         .is_always_there = true},
    [ENTRIES_FUELS] =
        {
            .group = &fuel_keys,
            LIST(shv_fuel, fuels, fuel_count),
            .most = PARTS_MAX,
        },
    [ENTRIES_INJECTORS] = {.group = &injector_keys,
                           LIST(shv_injector_part, injectors, injector_count),
                           .most = PARTS_MAX,
                           WORTH(offsetof(struct shv_injector_part, worth)),
                           .in_every_kit = true,
                           .make_own = make_unlimited_injector,
                           .own_name = "unlimited",
                           .stands_for = "a study without injectors"},
    [ENTRIES_PUMPS] = {.group = &pump_keys,
                       LIST(shv_pump_part, pumps, pump_count),
                       .most = PARTS_MAX,
                       WORTH(offsetof(struct shv_pump_part, worth)),
                       .in_every_kit = true,
                       .make_own = make_unlimited_pump,
                       .own_name = "unlimited",
                       .stands_for = "a study without pumps"},
};

_Static_assert(offsetof(struct blower_draft, blower) == 0 &&
                   offsetof(struct cooler_draft, cooler) == 0 &&
                   offsetof(struct fuel_draft, fuel) == 0,
               "a part is the first member of its draft");

/* ---- freeing ---- */

/* Of a part or its draft, which begins with the part. */
static void free_part(const struct part_kind *kind, void *part, size_t size)
{
    reader_free(kind->group, part, size);
    if (kind->free_more != NULL) {
        kind->free_more(part);
    }
}

static void free_parts(const struct part_kind *kind, struct parts *parts)
{
    for (size_t i = 0; i < parts->count; i++) {
        if (!parts->part[i].is_taken) {
            free_part(kind, parts->drafts + i * kind->group->size, kind->group->size);
        }
    }
    free(parts->drafts);
    free(parts->part);
    *parts = (struct parts){0};
}

void catalog_free(struct reader *reader)
{
    for (size_t i = 0; i < ENTRIES_COUNT; i++) {
        free_parts(&catalog_kinds[i], &reader->catalogue[i]);
        free_parts(&catalog_kinds[i], &reader->chosen[i]);
    }
}

/* A list of the study, whatever the type of its parts. */
static unsigned char *get_list(const struct part_kind *kind, const struct shv_study *study)
{
    unsigned char *list;
    memcpy(&list, (const unsigned char *)study + kind->list, sizeof list);
    return list;
}

static void set_list(const struct part_kind *kind, struct shv_study *study, unsigned char *list)
{
    memcpy((unsigned char *)study + kind->list, &list, sizeof list);
}

static size_t *list_count(const struct part_kind *kind, struct shv_study *study)
{
    return (size_t *)(void *)((unsigned char *)study + kind->count);
}

void catalog_free_study(struct shv_study *study)
{
    for (size_t k = 0; k < ENTRIES_COUNT; k++) {
        unsigned char *list = get_list(&catalog_kinds[k], study);
        size_t count = *list_count(&catalog_kinds[k], study);
        for (size_t i = 0; i < count; i++) {
            free_part(&catalog_kinds[k], list + i * catalog_kinds[k].part_size,
                      catalog_kinds[k].part_size);
        }
        free(list);
        set_list(&catalog_kinds[k], study, NULL);
        *list_count(&catalog_kinds[k], study) = 0;
    }
}

/* ---- reading ---- */

size_t catalog_find(const struct parts *parts, const char *name)
{
    size_t i = 0;
    while (i < parts->count &&
           (parts->part[i].name == NULL || strcmp(parts->part[i].name, name) != 0)) {
        i++;
    }
    return i;
}

/* Names are told apart in file names and tables, so each may be used once. */
static bool is_used(struct reader *reader, const struct key *key, const struct parts *parts,
                    const config_setting_t *where, const char *name)
{
    const struct part_kind *kind = &catalog_kinds[key->entries];
    bool is_group = config_setting_is_group(where);
    if (kind->own_name != NULL && is_group && strcmp(name, kind->own_name) == 0) {
        reader_error(reader, where, "name",
                     "found \"%s\", which stands for %s; accepted: another name", name,
                     kind->stands_for);
        return true;
    }
    if (catalog_find(parts, name) < parts->count) {
        reader_error(reader, where, is_group ? "name" : NULL,
                     "found \"%s\" twice; accepted: each name once", name);
        return true;
    }
    return false;
}

static void read_inline(struct reader *reader, const struct key *key, struct parts *parts,
                        const config_setting_t *entry)
{
    void *draft = parts->drafts + parts->count * key->group->size;
    reader_group(reader, key->group, entry, draft);
    const config_setting_t *name = reader_member(entry, "name");
    const char *text = name == NULL ? NULL : config_setting_get_string(name);
    bool good = text != NULL && !is_used(reader, key, parts, entry, text);
    parts->part[parts->count] = (struct part){.name = good ? text : NULL, .setting = entry};
    parts->count++;
}

static struct nearest nearest_of(const struct parts *parts, const char *name)
{
    struct nearest nearest = {NULL, SIZE_MAX};
    for (size_t i = 0; i < parts->count; i++) {
        if (parts->part[i].name != NULL) {
            nearest_offer(&nearest, name, parts->part[i].name);
        }
    }
    return nearest;
}

size_t catalog_choose(struct reader *reader, const config_setting_t *where, const char *child,
                      enum entries entries, const char *name, const char *accepted)
{
    const struct parts *parts = &reader->chosen[entries];
    size_t found = catalog_find(parts, name);
    if (found < parts->count) {
        return found;
    }
    struct nearest nearest = nearest_of(parts, name);
    reader_no_name(reader, where, child, name, accepted, &nearest);
    return SIZE_MAX;
}

static void tell_no_part(struct reader *reader, const struct key *key,
                         const config_setting_t *entry, const char *name)
{
    struct nearest nearest = nearest_of(&reader->catalogue[key->entries], name);
    char accepted[64];
    if (catalog_kinds[key->entries].is_always_there) {
        nearest_offer(&nearest, name, catalog_kinds[key->entries].own_name);
    }
    (void)snprintf(accepted, sizeof accepted, "a name in catalogue.%s", key->name);
    reader_no_name(reader, entry, NULL, name, accepted, &nearest);
}

/* A part of the catalogue; it goes to the list that names it. */
static void take_part(const struct key *key, struct parts *known, size_t from, struct parts *parts)
{
    size_t size = key->group->size;
    memcpy(parts->drafts + parts->count * size, known->drafts + from * size, size);
    parts->part[parts->count++] = known->part[from];
    known->part[from].is_taken = true;
}

/* `own` tells whether the kind's own part was named before. */
static void read_name(struct reader *reader, const struct key *key, struct parts *parts,
                      const config_setting_t *entry, bool *own)
{
    const struct part_kind *kind = &catalog_kinds[key->entries];
    struct parts *known = &reader->catalogue[key->entries];
    const char *name = reader_text(reader, key, entry);
    if (name == NULL) {
        return;
    }
    if (kind->is_always_there && strcmp(name, kind->own_name) == 0) {
        if (*own) {
            reader_error(reader, entry, NULL, "found \"%s\" twice; accepted: each name once", name);
        }
        *own = true;
        return;
    }
    if (is_used(reader, key, parts, entry, name)) {
        return;
    }
    size_t from = catalog_find(known, name);
    if (from == known->count) {
        tell_no_part(reader, key, entry, name);
        return;
    }
    take_part(key, known, from, parts);
}

static bool check_length(struct reader *reader, const struct key *key,
                         const config_setting_t *setting)
{
    int most = catalog_kinds[key->entries].most;
    int least = key->required ? 1 : 0;
    int count = config_setting_length(setting);
    if (count < least || count > most) {
        reader_error(reader, setting, NULL, "found a list of %d; accepted: %d to %d entries", count,
                     least, most);
        return false;
    }
    return true;
}

static bool make_parts(struct parts *parts, size_t count, size_t size)
{
    parts->drafts = calloc(count + 1, size);
    parts->part = calloc(count + 1, sizeof *parts->part);
    return parts->drafts != NULL && parts->part != NULL;
}

void catalog_read(struct reader *reader, const struct key *key, const config_setting_t *setting)
{
    /* [] cannot hold groups, but a list of names may be written so. */
    bool is_list =
        config_setting_is_list(setting) || (key->by_name && config_setting_is_array(setting));
    if (!is_list) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    if (!check_length(reader, key, setting)) {
        return;
    }
    bool own = config_setting_is_root(config_setting_parent(setting));
    struct parts *parts = own ? &reader->chosen[key->entries] : &reader->catalogue[key->entries];
    int count = config_setting_length(setting);
    if (!make_parts(parts, (size_t)count, key->group->size)) {
        reader->out_of_memory = true;
        return;
    }
    bool own_named = false;
    for (int i = 0; i < count; i++) {
        const config_setting_t *entry = config_setting_get_elem(setting, (unsigned)i);
        if (config_setting_is_group(entry)) {
            read_inline(reader, key, parts, entry);
        } else if (key->by_name && config_setting_type(entry) == CONFIG_TYPE_STRING) {
            read_name(reader, key, parts, entry, &own_named);
        } else {
            struct key one = {.type = KEY_GROUP};
            reader_wrong_type(reader, &one, entry);
        }
    }
}

/* ---- into the study ---- */

static bool move_parts(const struct part_kind *kind, struct parts *parts, struct shv_study *study)
{
    bool own = kind->is_always_there || (kind->make_own != NULL && parts->count == 0);
    unsigned char *list = calloc(parts->count + 1, kind->part_size);
    size_t *count = list_count(kind, study);
    if (list == NULL) {
        return false;
    }
    set_list(kind, study, list);
    if (own) {
        *count = 1;
        if (!kind->make_own(list)) {
            return false;
        }
    }
    for (size_t i = 0; i < parts->count; i++) {
        unsigned char *draft = parts->drafts + i * kind->group->size;
        memcpy(list + *count * kind->part_size, draft, kind->part_size);
        memset(draft, 0, kind->part_size);
        (*count)++;
    }
    return true;
}

bool catalog_finish(struct reader *reader, struct shv_study *study)
{
    bool good = true;
    for (size_t i = 0; i < ENTRIES_COUNT && good; i++) {
        good = move_parts(&catalog_kinds[i], &reader->chosen[i], study);
    }
    return good;
}
