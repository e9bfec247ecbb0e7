/* Lists of parts (catalog.h). */
#include "study/catalog.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "study/nearest.h"

void catalog_free_blower(struct shv_blower *blower)
{
    free(blower->name);
    if (blower->map.line != NULL) {
        shv_blower_map_free(&blower->map);
    }
}

/* Frees one entry, whatever part of it was read. */
static void free_draft(enum entries entries, void *draft)
{
    struct site_draft *site = draft;
    struct blower_draft *blower = draft;
    struct cooler_draft *cooler = draft;
    struct fuel_draft *fuel = draft;
    switch (entries) {
    case ENTRIES_SITES:
        free(site->site.name);
        return;
    case ENTRIES_BLOWERS:
        catalog_free_blower(&blower->blower);
        free(blower->map_file);
        return;
    case ENTRIES_COOLERS:
        free(cooler->cooler.name);
        free(cooler->effectiveness.values);
        return;
    case ENTRIES_FUELS:
        free(fuel->fuel.name);
        return;
    }
}

static size_t draft_size(enum entries entries)
{
    static const struct key_group *const groups[] = {&site_keys, &blower_keys, &cooler_keys,
                                                     &fuel_keys};
    return groups[entries]->size;
}

static void free_parts(enum entries entries, struct parts *parts)
{
    for (size_t i = 0; i < parts->count; i++) {
        free_draft(entries, parts->drafts + i * draft_size(entries));
    }
    free(parts->drafts);
    free((void *)parts->names);
    *parts = (struct parts){0};
}

void catalog_free(struct reader *reader)
{
    for (int i = ENTRIES_SITES; i <= ENTRIES_FUELS; i++) {
        free_parts((enum entries)i, &reader->catalogue[i]);
        free_parts((enum entries)i, &reader->chosen[i]);
    }
}

/* Index of a name among the parts, or their count. */
static size_t find_part(const struct parts *parts, const char *name)
{
    size_t i = 0;
    while (i < parts->count && (parts->names[i] == NULL || strcmp(parts->names[i], name) != 0)) {
        i++;
    }
    return i;
}

/* Names are told apart in file names and tables, so each may be used once. */
static bool is_taken(struct reader *reader, const struct key *key, const struct parts *parts,
                     const config_setting_t *where, const char *name)
{
    if (key->entries == ENTRIES_COOLERS && config_setting_is_group(where) &&
        strcmp(name, "none") == 0) {
        reader_error(reader, where, "name",
                     "found \"none\", which stands for no cooler; accepted: another name");
        return true;
    }
    if (find_part(parts, name) < parts->count) {
        reader_error(reader, where, config_setting_is_group(where) ? "name" : NULL,
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
    bool good = text != NULL && !is_taken(reader, key, parts, entry, text);
    parts->names[parts->count] = good ? text : NULL;
    parts->count++;
}

static void tell_no_part(struct reader *reader, const struct key *key,
                         const config_setting_t *entry, const char *name)
{
    const struct parts *known = &reader->catalogue[key->entries];
    struct nearest nearest = {NULL, SIZE_MAX};
    for (size_t i = 0; i < known->count; i++) {
        if (known->names[i] != NULL) {
            nearest_offer(&nearest, name, known->names[i]);
        }
    }
    if (key->entries == ENTRIES_COOLERS) {
        nearest_offer(&nearest, name, "none");
    }
    const char *meant = nearest_word(&nearest, name);
    reader_error(reader, entry, NULL, "found \"%s\"; accepted: a name in catalogue.%s%s%s%s", name,
                 key->name, meant == NULL ? "" : "; did you mean \"", meant == NULL ? "" : meant,
                 meant == NULL ? "" : "\"?");
}

static void read_name(struct reader *reader, const struct key *key, struct parts *parts,
                      const config_setting_t *entry, bool *none)
{
    struct parts *known = &reader->catalogue[key->entries];
    const char *name = reader_text(reader, key, entry);
    if (name == NULL) {
        return;
    }
    if (key->entries == ENTRIES_COOLERS && strcmp(name, "none") == 0) {
        if (*none) {
            reader_error(reader, entry, NULL, "found \"none\" twice; accepted: each name once");
        }
        *none = true;
        return;
    }
    if (is_taken(reader, key, parts, entry, name)) {
        return;
    }
    size_t from = find_part(known, name);
    if (from == known->count) {
        tell_no_part(reader, key, entry, name);
        return;
    }
    size_t size = key->group->size;
    memcpy(parts->drafts + parts->count * size, known->drafts + from * size, size);
    memset(known->drafts + from * size, 0, size);
    parts->names[parts->count] = known->names[from];
    parts->count++;
}

static bool check_length(struct reader *reader, const struct key *key,
                         const config_setting_t *setting)
{
    int most = key->entries == ENTRIES_SITES ? SITES_MAX : PARTS_MAX;
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
    parts->names = calloc(count + 1, sizeof *parts->names);
    return parts->drafts != NULL && parts->names != NULL;
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
    bool none = false;
    for (int i = 0; i < count; i++) {
        const config_setting_t *entry = config_setting_get_elem(setting, (unsigned)i);
        if (config_setting_is_group(entry)) {
            read_inline(reader, key, parts, entry);
        } else if (key->by_name && config_setting_type(entry) == CONFIG_TYPE_STRING) {
            read_name(reader, key, parts, entry, &none);
        } else {
            struct key one = {.type = KEY_GROUP};
            reader_wrong_type(reader, &one, entry);
        }
    }
}

/* Having no cooler: one choice, of no effect. */
static bool make_none(struct shv_cooler *none)
{
    *none = (struct shv_cooler){.is_none = true,
                                .choices = 1,
                                .rated_flow = 1.0,
                                .pressure_drop_effectiveness = 0.7,
                                .rated_density = 1.6,
                                .coolant_temperature = NAN,
                                .coolant_capacity = INFINITY,
                                .radiator_capacity = INFINITY};
    none->name = malloc(sizeof "none");
    none->effectiveness = calloc(1, sizeof *none->effectiveness);
    if (none->name != NULL) {
        memcpy(none->name, "none", sizeof "none");
    }
    return none->name != NULL && none->effectiveness != NULL;
}

static bool move_sites(struct parts *parts, struct shv_study *study)
{
    struct site_draft *drafts = (struct site_draft *)(void *)parts->drafts;
    study->sites = calloc(parts->count + 1, sizeof *study->sites);
    for (size_t i = 0; study->sites != NULL && i < parts->count; i++) {
        study->sites[study->site_count++] = drafts[i].site;
        drafts[i] = (struct site_draft){0};
    }
    return study->sites != NULL;
}

static bool move_blowers(struct parts *parts, struct shv_study *study)
{
    struct blower_draft *drafts = (struct blower_draft *)(void *)parts->drafts;
    study->blowers = calloc(parts->count + 1, sizeof *study->blowers);
    for (size_t i = 0; study->blowers != NULL && i < parts->count; i++) {
        study->blowers[study->blower_count++] = drafts[i].blower;
        drafts[i].blower = (struct shv_blower){0};
    }
    return study->blowers != NULL;
}

static bool move_coolers(struct parts *parts, struct shv_study *study)
{
    struct cooler_draft *drafts = (struct cooler_draft *)(void *)parts->drafts;
    study->coolers = calloc(parts->count + 1, sizeof *study->coolers);
    if (study->coolers == NULL) {
        return false;
    }
    study->cooler_count = 1;
    if (!make_none(&study->coolers[0])) {
        return false;
    }
    for (size_t i = 0; i < parts->count; i++) {
        struct shv_cooler *cooler = &study->coolers[study->cooler_count++];
        *cooler = drafts[i].cooler;
        cooler->effectiveness = drafts[i].effectiveness.values;
        cooler->choices = drafts[i].effectiveness.count;
        drafts[i] = (struct cooler_draft){0};
    }
    return true;
}

static bool move_fuels(struct parts *parts, struct shv_study *study)
{
    struct fuel_draft *drafts = (struct fuel_draft *)(void *)parts->drafts;
    study->fuels = calloc(parts->count + 1, sizeof *study->fuels);
    for (size_t i = 0; study->fuels != NULL && i < parts->count; i++) {
        study->fuels[study->fuel_count++] = drafts[i].fuel;
        drafts[i] = (struct fuel_draft){0};
    }
    return study->fuels != NULL;
}

bool catalog_finish(struct reader *reader, struct shv_study *study)
{
    return move_sites(&reader->chosen[ENTRIES_SITES], study) &&
           move_blowers(&reader->chosen[ENTRIES_BLOWERS], study) &&
           move_coolers(&reader->chosen[ENTRIES_COOLERS], study) &&
           move_fuels(&reader->chosen[ENTRIES_FUELS], study);
}
