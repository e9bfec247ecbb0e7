/* Lists of parts: sites, blowers, coolers, fuels, injectors and pumps, inline or by their name in
 * the catalogue. */
#ifndef SHEAVE_STUDY_CATALOG_H
#define SHEAVE_STUDY_CATALOG_H

#include "study/reader.h"

#define SITES_MAX 64
#define PARTS_MAX 10000

/* All that is particular to a list. */
struct part_kind {
    const struct key_group *group;
    size_t part_size;   /* of what the study holds; the first member of the draft */
    size_t list, count; /* places in struct shv_study */
    int most;
    size_t worth[2], worths;       /* places of prices and masses in the part, and how many */
    bool in_every_kit;             /* of what has a worth; having no cooler is always a choice */
    void (*free_more)(void *part); /* what it owns besides what its keys say; NULL: nothing */
    /* A part that needs no entry and its name, which no entry may have; NULL for none. */
    bool (*make_own)(void *part);
    const char *own_name, *stands_for;
    bool is_always_there; /* ahead of all others, and may be named; else only in their absence */
};
extern const struct part_kind catalog_kinds[ENTRIES_COUNT];

/* Reads a list into reader->catalogue or, for the study's own lists, reader->chosen. Inline groups
 * are read, names are looked up: a part of the catalogue moves to the study that names it. */
void catalog_read(struct reader *reader, const struct key *key, const config_setting_t *setting);
/* Index of a name among the parts, or their count. */
size_t catalog_find(const struct parts *parts, const char *name);
/* The same among those that the study chose; SIZE_MAX after telling that there is none at the key
 * `child` of `where`. */
size_t catalog_choose(struct reader *reader, const config_setting_t *where, const char *child,
                      enum entries entries, const char *name, const char *accepted);
/* Moves what was chosen into the study: "none" is put ahead of the coolers, "unlimited" where no
 * injectors or no pumps are named. False without memory. */
bool catalog_finish(struct reader *reader, struct shv_study *study);
/* Frees what is left in the reader. */
void catalog_free(struct reader *reader);
/* Frees the lists of a study and what their parts own. */
void catalog_free_study(struct shv_study *study);

#endif
