/* What docs/config.md says of keys and units, from their tables. */
#include "docs/page.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "study/keys.h"
#include "study/unit_names.h"

/* The list of units: what a kind is usually written in, and the names that only it has. */
static void write_units(FILE *out)
{
    const char *name;
    fputs("## <a id=\"units\"></a>Units\n\nBesides all that UDUNITS-2 knows; upper and lower case "
          "do not "
          "count in the names of the last column,\nand blanks, points and dashes join words "
          "alike.\n\n"
          "| kind | for instance in | names of it alone |\n|---|---|---|\n",
          out);
    for (int i = 0; i < SHV_Q_COUNT; i++) {
        enum shv_quantity quantity = (enum shv_quantity)i;
        if (shv_quantity_likely(quantity, 0) == NULL) {
            continue;
        }
        fprintf(out, "| %s |", shv_quantity_noun(quantity));
        for (size_t k = 0; (name = shv_quantity_likely(quantity, k)) != NULL; k++) {
            fprintf(out, "%s `%s`", k == 0 ? "" : ",", name);
        }
        fputs(" |", out);
        for (size_t k = 0; (name = unit_names_at(quantity, k)) != NULL; k++) {
            /* The byte of an older encoding is no text here. */
            if ((unsigned char)name[0] != 0xb0) {
                fprintf(out, "%s `%s`", k == 0 ? "" : ",", name);
            }
        }
        fputs(" |\n", out);
    }
    fputs("\nWords of any unit:", out);
    for (size_t k = 0; (name = unit_names_at(SHV_Q_COUNT, k)) != NULL; k++) {
        fprintf(out, "%s`%s`", k == 0 ? " " : k % 12 == 0 ? ",\n" : ", ", name);
    }
    fputs(".\n\n", out);
}

/* Kind and unit, for a table. */
static void describe_kind(const struct key *key, char *text, size_t size)
{
    const char *unit = shv_quantity_unit(key->quantity);
    const char *pressure = key->quantity == SHV_Q_PRESSURE_ABSOLUTE        ? " absolute"
                           : key->quantity == SHV_Q_PRESSURE_GAUGE         ? " gauge"
                           : key->quantity == SHV_Q_PRESSURE_DIFFERENCE    ? " difference"
                           : key->quantity == SHV_Q_TEMPERATURE_DIFFERENCE ? " difference"
                                                                           : "";
    const char *of = unit[0] == '\0' ? "number" : unit;
    switch (key->type) {
    case KEY_QUANTITY:
        snprintf(text, size, "%s%s%s%s", unit[0] == '\0' ? "" : "quantity, ", of, pressure,
                 key->or_curve != 0 ? ", or a curve of it over rpm" : "");
        return;
    case KEY_DIMENSION:
        snprintf(text, size, "choices, %s%s", of, pressure);
        return;
    case KEY_SALES:
        snprintf(text, size, "number, [spread](#spread), or list by scenario");
        return;
    case KEY_PAIRS:
        snprintf(text, size, "curve, %s over %s", of,
                 key->along == SHV_Q_ROTATION ? "rpm" : "Pa difference");
        return;
    case KEY_ERROR:
        snprintf(text, size, "quantity, that of the channel");
        return;
    case KEY_INTEGER:
        snprintf(text, size, "whole number");
        return;
    case KEY_BOOL:
        snprintf(text, size, "true or false");
        return;
    case KEY_TEXT:
        snprintf(text, size, "text");
        return;
    case KEY_WORD:
        snprintf(text, size, "word");
        return;
    case KEY_GROUP:
        snprintf(text, size, "group, see [%s](#%s)", key->group->title, key->group->title);
        return;
    case KEY_LIST:
    case KEY_ENTRIES:
        snprintf(text, size, "list, see [%s](#%s)", key->group->title, key->group->title);
        return;
    }
}

static void describe_range(const struct key *key, char *text, size_t size)
{
    if (key->type == KEY_WORD) {
        key_accepts(key, text, size);
    } else {
        key_range(key, text, size);
    }
}

static void write_row(FILE *out, const struct key_group *group, const struct key *key)
{
    char kind[256], range[1024], with[KEY_ONLY_MAX], needed[KEY_ONLY_MAX + 32];
    const char *only = key->with != NULL ? key_only(group, key, with) : key->only;
    const char *fallback = key->fallback;
    const char *other = key->required         ? "required"
                        : key->with_needed    ? needed
                        : key->absent != NULL ? key->absent
                                              : "the defaults of its keys";
    snprintf(needed, sizeof needed, "none; required with %s", only == NULL ? "" : only);
    describe_kind(key, kind, sizeof kind);
    describe_range(key, range, sizeof range);
    fprintf(out, "| `%s` | %s | %s | %s%s%s | %s%s%s%s%s |\n", key->name, kind, range,
            fallback == NULL ? "" : "`", fallback == NULL ? other : fallback,
            fallback == NULL ? "" : "`", key->meaning, key->note == NULL ? "" : key->note,
            only == NULL ? "" : " Only with ", only == NULL ? "" : only, only == NULL ? "" : ".");
}

/* Anchors are made of titles the way renderers of Markdown do: points are left out there, so the
 * anchor is written out. */
static void write_group(FILE *out, const struct key_group *group)
{
    fprintf(out, "## <a id=\"%s\"></a>%s\n\n%s\n\n", group->title, group->title, group->intro);
    fprintf(out, "| key | kind and unit | range | default | meaning |\n|---|---|---|---|---|\n");
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        write_row(out, group, &key);
    }
    fprintf(out, "\n");
}

#define GROUPS_MAX 200

/* Groups that are described already: several keys may have the same. */
struct described {
    const struct key_group *group[GROUPS_MAX];
    size_t count;
};

static bool is_described(struct described *d, const struct key_group *group)
{
    for (size_t i = 0; i < d->count; i++) {
        if (d->group[i] == group) {
            return true;
        }
    }
    assert(d->count < GROUPS_MAX);
    d->group[d->count++] = group;
    return false;
}

/* A group, then those in it; the parts of the catalogue have the tables of the study's own lists.
 */
static void write_tree(FILE *out, struct described *d, const struct key_group *group,
                       bool with_lists)
{
    write_group(out, group);
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        bool is_part = key.type == KEY_ENTRIES;
        if ((key.type == KEY_GROUP || key.type == KEY_LIST || (is_part && with_lists)) &&
            !is_described(d, key.group)) {
            write_tree(out, d, key.group, is_part);
        }
    }
}

/* What it shares with study files, and what several keys share, stands there once. */
static void write_range_tree(FILE *out, const struct key_group *group)
{
    const struct key_group *last = NULL;
    write_group(out, group);
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        bool is_own = key.group != &catalogue_keys && key.group != &site_keys;
        if ((key.type == KEY_GROUP || key.type == KEY_LIST) && is_own && key.group != last) {
            write_range_tree(out, key.group);
            last = key.group;
        }
    }
}

/* ---- the keys that matter ---- */

static const char *const first_keys[] = {
    "engine.cylinders",
    "engine.displacement",
    "engine.compression_ratio",
    "engine.speed",
    "engine.stock_torque",
    "engine.volumetric_efficiency",
    "sites.altitude",
    "sites.temperature",
    "fuels.ron",
    "mixture.lambda",
    "blowers.displacement",
    "blowers.leakage_area",
    "blowers.max_speed",
    "blowers.max_pressure_rise",
    "drive.crank_pulleys",
    "drive.blower_pulleys",
    "coolers.effectiveness",
    "limits.boost",
    "limits.phasing_retard",
    "objective.kind",
};

/* A key two tables deep, as "engine.speed"; false when there is none. */
static bool find_first(const char *path, struct key *key, const struct key_group **group)
{
    char above[64];
    size_t length = strcspn(path, ".");
    snprintf(above, sizeof above, "%.*s", (int)length, path);
    size_t at = key_find(&study_keys, above);
    *group = at < study_keys.count ? key_at(&study_keys, at).group : NULL;
    at = *group == NULL ? 0 : key_find(*group, path + length + 1);
    if (*group == NULL || at == (*group)->count) {
        return false;
    }
    *key = key_at(*group, at);
    return true;
}

static void write_first_keys(FILE *out)
{
    fputs("## The twenty keys that matter\n\nWhat moves the answer most. The rest has defaults "
          "that do for a first study.\n\n| key | kind and unit | meaning |\n|---|---|---|\n",
          out);
    for (size_t i = 0; i < sizeof first_keys / sizeof *first_keys; i++) {
        struct key key;
        const struct key_group *group;
        char kind[256];
        if (find_first(first_keys[i], &key, &group)) {
            describe_kind(&key, kind, sizeof kind);
            fprintf(out, "| [`%s`](#%s) | %s | %s |\n", first_keys[i], group->title, kind,
                    key.meaning);
        }
    }
    fputs("\n", out);
}

static void write_study_keys(FILE *out)
{
    struct described described = {.count = 0};
    write_tree(out, &described, &study_keys, true);
    write_group(out, &range_keys);
}

static void write_range_keys(FILE *out)
{
    write_range_tree(out, &plan_keys);
    write_group(out, &spread_keys);
}

const struct page_part config_parts[] = {{"@first keys@", write_first_keys},
                                         {"@units@", write_units},
                                         {"@keys of a study@", write_study_keys},
                                         {"@keys of a range@", write_range_keys},
                                         {NULL, NULL}};
