/* Reading by tables (reader.h). Values are rejected, never repaired. */
#include "study/reader.h"

#include <ctype.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/catalog.h"
#include "study/dimension.h"
#include "study/nearest.h"
#include "study/sales.h"

#define ACCEPTS_MAX 1024
#define NAME_MAX_TEXT 200

_Static_assert(sizeof(enum shv_air_kind) == sizeof(int), "words are stored as int");

const config_setting_t *reader_member(const config_setting_t *group, const char *name)
{
    return group == NULL || !config_setting_is_group(group)
               ? NULL
               : config_setting_get_member(group, name);
}

/* With a decimal point, so that it is seen not to be a whole number. */
static void describe_float(double value, char *text, size_t size)
{
    int length = snprintf(text, size, "%.10g", value);
    if (length > 0 && strspn(text, "-0123456789") == (size_t)length) {
        snprintf(text + length, size - (size_t)length, ".0");
    }
}

void reader_describe(const config_setting_t *setting, char text[READER_FOUND_MAX])
{
    const size_t size = READER_FOUND_MAX;
    switch (config_setting_type(setting)) {
    case CONFIG_TYPE_INT:
    case CONFIG_TYPE_INT64:
        snprintf(text, size, "%lld", config_setting_get_int64(setting));
        break;
    case CONFIG_TYPE_FLOAT:
        describe_float(config_setting_get_float(setting), text, size);
        break;
    case CONFIG_TYPE_BOOL:
        snprintf(text, size, "%s", config_setting_get_bool(setting) ? "true" : "false");
        break;
    case CONFIG_TYPE_STRING:
        snprintf(text, size, "\"%.60s\"", config_setting_get_string(setting));
        break;
    case CONFIG_TYPE_GROUP:
        snprintf(text, size, "a group { ... }");
        break;
    case CONFIG_TYPE_ARRAY:
        snprintf(text, size, "an array [ ... ] of %d", config_setting_length(setting));
        break;
    default:
        snprintf(text, size, "a list ( ... ) of %d", config_setting_length(setting));
        break;
    }
    for (; *text != '\0'; text++) {
        if (iscntrl((unsigned char)*text)) {
            *text = '?';
        }
    }
}

void reader_wrong_type(struct reader *reader, const struct key *key,
                       const config_setting_t *setting)
{
    char found[READER_FOUND_MAX], accepts[ACCEPTS_MAX];
    reader_describe(setting, found);
    key_accepts(key, accepts, sizeof accepts);
    reader_error(reader, setting, NULL, "found %s; accepted: %s", found, accepts);
}

const char *reader_text(struct reader *reader, const struct key *key,
                        const config_setting_t *setting)
{
    if (config_setting_type(setting) != CONFIG_TYPE_STRING) {
        reader_wrong_type(reader, key, setting);
        return NULL;
    }
    const char *text = config_setting_get_string(setting);
    size_t length = text == NULL ? 0 : strlen(text);
    size_t printable = 0;
    while (printable < length && !iscntrl((unsigned char)text[printable])) {
        printable++;
    }
    if (length == 0 || length > NAME_MAX_TEXT || printable < length) {
        reader_error(reader, setting, NULL,
                     "found %s; accepted: 1 to %d characters on one line without tabs",
                     length == 0              ? "an empty text"
                     : length > NAME_MAX_TEXT ? "a longer text"
                                              : "a text with control characters",
                     NAME_MAX_TEXT);
        return NULL;
    }
    return text;
}

void reader_no_name(struct reader *reader, const config_setting_t *where, const char *child,
                    const char *name, const char *accepted, const struct nearest *nearest)
{
    const char *meant = nearest_word(nearest, name);
    reader_error(reader, where, child, "found \"%s\"; accepted: %s%s%s%s", name, accepted,
                 meant == NULL ? "" : "; did you mean \"", meant == NULL ? "" : meant,
                 meant == NULL ? "" : "\"?");
}

static bool check_range(struct reader *reader, const struct key *key,
                        const config_setting_t *setting, double value)
{
    if (key_in_range(key, value)) {
        return true;
    }
    char found[READER_FOUND_MAX], range[ACCEPTS_MAX];
    reader_describe(setting, found);
    key_range(key, range, sizeof range);
    reader_error(reader, setting, NULL, "found %s; accepted: %s", found, range);
    return false;
}

/* A number where a quantity needs its unit: nobody knows whether 8 is psi, bar or Pa. */
static void tell_bare(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      double number)
{
    char spellings[ACCEPTS_MAX];
    bool bounded = key->min != 0.0 || key->max != 0.0;
    reader_error(reader, setting, NULL, "found %.10g, which has no unit; accepted: %s", number,
                 shv_units_spellings(reader->units, key->quantity, number,
                                     bounded ? key->min : -INFINITY, bounded ? key->max : INFINITY,
                                     spellings, sizeof spellings));
}

/* A quantity from its text; errors of the default texts are errors of the program and seen by
 * tests. */
static double quantity_of_text(struct reader *reader, const struct key *key,
                               const config_setting_t *setting, const char *text)
{
    double value = NAN;
    struct shv_message message;
    char *end;
    double number = strtod(text, &end);
    if (key->quantity != SHV_Q_NUMBER && end != text && *end == '\0' && isfinite(number)) {
        tell_bare(reader, key, setting, number);
        return NAN;
    }
    if (shv_units_read(reader->units, key->quantity, text, &value, &message) != SHV_OK) {
        char accepts[ACCEPTS_MAX];
        struct key single = *key;
        single.type = KEY_QUANTITY;
        key_accepts(&single, accepts, sizeof accepts);
        reader_error(reader, setting, NULL, "%s; accepted: %s", message.text, accepts);
        return NAN;
    }
    return value;
}

double reader_quantity(struct reader *reader, const struct key *key,
                       const config_setting_t *setting)
{
    struct key single = *key;
    single.type = KEY_QUANTITY;
    double value = NAN;
    if (config_setting_is_number(setting)) {
        double number = config_setting_type(setting) == CONFIG_TYPE_FLOAT
                            ? config_setting_get_float(setting)
                            : (double)config_setting_get_int64(setting);
        if (!isfinite(number)) {
            reader_wrong_type(reader, &single, setting);
        } else if (key->quantity != SHV_Q_NUMBER) {
            tell_bare(reader, &single, setting, number);
        } else {
            value = number;
        }
    } else if (config_setting_type(setting) == CONFIG_TYPE_STRING) {
        const char *text = reader_text(reader, &single, setting);
        value = text == NULL ? NAN : quantity_of_text(reader, &single, setting, text);
    } else {
        reader_wrong_type(reader, &single, setting);
    }
    return isfinite(value) && check_range(reader, &single, setting, value) ? value : NAN;
}

static void store_integer(const struct key *key, void *target, long long value)
{
    if (key->width == WIDTH_INT) {
        *(int *)target = (int)value;
    } else if (key->width == WIDTH_SIZE) {
        *(size_t *)target = (size_t)value;
    } else {
        *(unsigned long *)target = (unsigned long)value;
    }
}

static void read_integer(struct reader *reader, const struct key *key,
                         const config_setting_t *setting, void *target)
{
    int type = config_setting_type(setting);
    if (type != CONFIG_TYPE_INT && type != CONFIG_TYPE_INT64) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    long long value = config_setting_get_int64(setting);
    if (check_range(reader, key, setting, (double)value)) {
        store_integer(key, target, value);
    }
}

static int find_word(const struct key *key, const char *text)
{
    for (int i = 0; key_word(key, (size_t)i) != NULL; i++) {
        if (strcmp(key_word(key, (size_t)i), text) == 0) {
            return i;
        }
    }
    return -1;
}

/* An enum may be unsigned; its bytes are those of an int. */
static void store_word(void *target, int word)
{
    memcpy(target, &word, sizeof word);
}

static void read_word(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      void *target)
{
    store_word(target, -1);
    const char *text = reader_text(reader, key, setting);
    if (text == NULL) {
        return;
    }
    int word = find_word(key, text);
    store_word(target, word);
    if (word < 0) {
        char accepts[ACCEPTS_MAX];
        struct nearest nearest = {NULL, SIZE_MAX};
        for (size_t i = 0; key_word(key, i) != NULL; i++) {
            nearest_offer(&nearest, text, key_word(key, i));
        }
        key_accepts(key, accepts, sizeof accepts);
        reader_no_name(reader, setting, NULL, text, accepts, &nearest);
    }
}

static void store_text(struct reader *reader, void *target, const char *text)
{
    *(char **)target = strdup(text);
    reader->out_of_memory |= *(char **)target == NULL;
}

static void read_text(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      void *target)
{
    const char *text = reader_text(reader, key, setting);
    if (text != NULL) {
        store_text(reader, target, text);
    }
}

static void read_bool(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      void *target)
{
    if (config_setting_type(setting) != CONFIG_TYPE_BOOL) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    *(bool *)target = config_setting_get_bool(setting) != 0;
}

static void read_subgroup(struct reader *reader, const struct key *key,
                          const config_setting_t *setting, void *target)
{
    if (!config_setting_is_group(setting)) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    reader_group(reader, key->group, setting, target);
}

static const char *text_of(const config_setting_t *list, int entry, const char *name)
{
    const config_setting_t *setting =
        reader_member(config_setting_get_elem(list, (unsigned)entry), name);
    return setting == NULL ? NULL : config_setting_get_string(setting);
}

static void check_once(struct reader *reader, const char *name, const config_setting_t *list)
{
    for (int i = 0; i < config_setting_length(list); i++) {
        const char *text = text_of(list, i, name), *other = NULL;
        for (int k = 0; text != NULL && k < i && (other == NULL || strcmp(other, text) != 0); k++) {
            other = text_of(list, k, name);
        }
        if (other != NULL && strcmp(other, text) == 0) {
            reader_error(reader, config_setting_get_elem(list, (unsigned)i), name,
                         "found \"%s\" twice; accepted: each %s once", text, name);
        }
    }
}

/* Every entry is read, also after one that is wrong. */
static void read_list(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      unsigned char *base)
{
    if (!config_setting_is_list(setting)) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    int count = config_setting_length(setting);
    if (count < (int)key->min || count > (int)key->max) {
        reader_error(reader, setting, NULL, "found a list of %d; accepted: %.10g to %.10g entries",
                     count, key->min, key->max);
        return;
    }
    unsigned char *items = calloc((size_t)count + 1, key->group->size);
    if (items == NULL) {
        reader->out_of_memory = true;
        return;
    }
    memcpy(base + key->place, &items, sizeof items); /* whatever the type of the pointer there */
    *(size_t *)(void *)(base + key->count) = (size_t)count;
    for (int i = 0; i < count; i++) {
        const config_setting_t *entry = config_setting_get_elem(setting, (unsigned)i);
        struct key one = {.type = KEY_GROUP, .group = key->group};
        read_subgroup(reader, &one, entry, items + (size_t)i * key->group->size);
    }
    for (size_t i = 0; i < key->group->count; i++) {
        struct key of = key_at(key->group, i);
        if (of.once) {
            check_once(reader, of.name, setting);
        }
    }
}

/* A quantity, or the curve that may stand for it. */
static void read_quantity(struct reader *reader, const struct key *key,
                          const config_setting_t *setting, unsigned char *base)
{
    double *target = (void *)(base + key->place);
    if (key->or_curve == 0 || !config_setting_is_list(setting)) {
        *target = reader_quantity(reader, key, setting);
        return;
    }
    struct key pairs = *key;
    pairs.type = KEY_PAIRS;
    struct shv_curve_table *curve = (void *)(base + key->or_curve);
    pairs_read(reader, &pairs, setting, curve);
    *target = NAN; /* unless there is a point */
    for (size_t i = 0; i < curve->count; i++) {
        *target = fmax(*target, curve->y[i]);
    }
}

static void read_key(struct reader *reader, const struct key *key, const config_setting_t *setting,
                     unsigned char *base)
{
    void *target = base + key->place;
    switch (key->type) {
    case KEY_QUANTITY:
        read_quantity(reader, key, setting, base);
        return;
    case KEY_ERROR:
        return;
    case KEY_INTEGER:
        read_integer(reader, key, setting, target);
        return;
    case KEY_BOOL:
        read_bool(reader, key, setting, target);
        return;
    case KEY_TEXT:
        read_text(reader, key, setting, target);
        return;
    case KEY_WORD:
        read_word(reader, key, setting, target);
        return;
    case KEY_PAIRS:
        pairs_read(reader, key, setting, target);
        return;
    case KEY_DIMENSION:
        dimension_read(reader, key, setting, target);
        return;
    case KEY_SALES:
        sales_read(reader, key, setting, target);
        return;
    case KEY_GROUP:
        read_subgroup(reader, key, setting, target);
        return;
    case KEY_LIST:
        read_list(reader, key, setting, base);
        return;
    case KEY_ENTRIES:
        catalog_read(reader, key, setting);
        return;
    }
}

/* The default: its text is read like one of the file. */
static void use_default(struct reader *reader, const struct key *key, const config_setting_t *group,
                        void *target)
{
    if (key->type == KEY_GROUP) {
        if (!key->group->optional) {
            reader_group(reader, key->group, NULL, target);
        }
    } else if (key->type == KEY_QUANTITY) {
        *(double *)target = key->fallback == NULL
                                ? key->absent_value
                                : quantity_of_text(reader, key, group, key->fallback);
    } else if (key->fallback == NULL) {
        return;
    } else if (key->type == KEY_INTEGER) {
        store_integer(key, target, strtoll(key->fallback, NULL, 10));
    } else if (key->type == KEY_BOOL) {
        *(bool *)target = strcmp(key->fallback, "true") == 0;
    } else if (key->type == KEY_WORD) {
        store_word(target, find_word(key, key->fallback));
    } else if (key->type == KEY_TEXT) {
        store_text(reader, target, key->fallback);
    } else if (key->type == KEY_DIMENSION) {
        double value = quantity_of_text(reader, key, group, key->fallback);
        reader->out_of_memory |= !dimension_add(target, value);
    }
}

/* A required key is not there; its value is left as one that is wrong. */
static void tell_missing(struct reader *reader, const struct key *key,
                         const config_setting_t *group, void *target)
{
    char accepts[ACCEPTS_MAX];
    key_accepts(key, accepts, sizeof accepts);
    reader_error(reader, group, key->name, "found nothing; accepted: %s", accepts);
    if (key->type == KEY_QUANTITY) {
        *(double *)target = NAN;
    } else if (key->type == KEY_WORD) {
        store_word(target, -1);
    }
}

static const struct key_renamed *new_name(const struct key_group *group, const char *name)
{
    for (const struct key_renamed *r = group->renamed; r != NULL && r->was != NULL; r++) {
        if (strcmp(r->was, name) == 0) {
            return r;
        }
    }
    return NULL;
}

static void tell_unknown(struct reader *reader, const struct key_group *group,
                         const config_setting_t *setting)
{
    const char *name = config_setting_name(setting);
    const struct key_renamed *now = new_name(group, name);
    if (now != NULL) {
        reader_error(reader, setting, NULL,
                     now->means_other ? "found a key that \"%s\" has replaced, which means "
                                        "something else: see docs/config.md"
                                      : "found a key that is now called \"%s\"",
                     now->is);
        return;
    }
    struct nearest nearest = {NULL, SIZE_MAX};
    for (size_t i = 0; i < group->count; i++) {
        nearest_offer(&nearest, name, key_at(group, i).name);
    }
    const char *meant = nearest_word(&nearest, name);
    if (meant != NULL) {
        reader_error(reader, setting, NULL, "found an unknown key; did you mean \"%s\"?", meant);
        return;
    }
    char known[1024];
    size_t used = 0;
    for (size_t i = 0; i < group->count && used < sizeof known; i++) {
        int length = snprintf(known + used, sizeof known - used, "%s%s", i == 0 ? "" : ", ",
                              key_at(group, i).name);
        used += length > 0 ? (size_t)length : 0;
    }
    reader_error(reader, setting, NULL, "found an unknown key; accepted: %s", known);
}

/* A key that goes with a word of another one. A word that is wrong is told already, and is -1. */
static void check_with(struct reader *reader, const struct key_group *group, const struct key *key,
                       const config_setting_t *setting, const unsigned char *base)
{
    int word;
    char only[KEY_ONLY_MAX];
    memcpy(&word, base + key_at(group, key_find(group, key->with)).place, sizeof word);
    bool given = reader_member(setting, key->name) != NULL;
    if (word == key->with_word && key->with_needed && !given) {
        reader_error(reader, setting, key->name, "found nothing; it is required with %s",
                     key_only(group, key, only));
    } else if (word >= 0 && word != key->with_word && given) {
        reader_error(reader, setting, key->name,
                     "found where it has no meaning; accepted: only with %s",
                     key_only(group, key, only));
    }
}

void reader_group(struct reader *reader, const struct key_group *group,
                  const config_setting_t *setting, void *base)
{
    int members = setting == NULL ? 0 : config_setting_length(setting);
    for (int i = 0; i < members; i++) {
        const config_setting_t *member = config_setting_get_elem(setting, (unsigned)i);
        if (key_find(group, config_setting_name(member)) == group->count) {
            tell_unknown(reader, group, member);
        }
    }
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        void *target = (unsigned char *)base + key.place;
        const config_setting_t *member = reader_member(setting, key.name);
        if (member != NULL) {
            read_key(reader, &key, member, base);
        } else if (key.required) {
            tell_missing(reader, &key, setting, target);
        } else {
            use_default(reader, &key, setting, target);
        }
    }
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        if (key.with != NULL) {
            check_with(reader, group, &key, setting, base);
        }
    }
    if (group->check != NULL) {
        group->check(reader, setting, base);
    }
}

/* ---- freeing ---- */

static void free_list(const struct key *key, unsigned char *base)
{
    unsigned char *items;
    memcpy(&items, base + key->place, sizeof items);
    size_t count = *(const size_t *)(const void *)(base + key->count);
    for (size_t i = 0; i < count; i++) {
        reader_free(key->group, items + i * key->group->size, key->group->size);
    }
    free(items);
}

static void free_key(const struct key *key, unsigned char *base, size_t size)
{
    void *at = base + key->place;
    if (key->type == KEY_TEXT) {
        free(*(char **)at);
    } else if (key->type == KEY_DIMENSION) {
        free(((struct shv_numbers *)at)->values);
    } else if (key->type == KEY_PAIRS) {
        shv_curve_table_free(at);
    } else if (key->or_curve != 0) {
        shv_curve_table_free((void *)(base + key->or_curve));
    } else if (key->type == KEY_LIST) {
        free_list(key, base);
    } else if (key->type == KEY_GROUP) {
        reader_free(key->group, at, size - key->place);
    }
}

void reader_free(const struct key_group *group, void *base, size_t size)
{
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        if (key.place < size) {
            free_key(&key, base, size);
        }
    }
}
