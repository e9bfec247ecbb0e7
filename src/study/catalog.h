/* Lists of parts: sites, blowers, coolers, fuels, injectors and pumps, inline or by their name in
 * the catalogue. */
#ifndef SHEAVE_STUDY_CATALOG_H
#define SHEAVE_STUDY_CATALOG_H

#include "study/reader.h"

#define SITES_MAX 64
#define PARTS_MAX 10000

/* Reads a list into reader->catalogue or, for the study's own lists, reader->chosen. Inline groups
 * are read, names are looked up: a part of the catalogue moves to the study that names it. */
void catalog_read(struct reader *reader, const struct key *key, const config_setting_t *setting);
/* Index of a name among the parts, or their count. */
size_t catalog_find(const struct parts *parts, const char *name);
/* Moves what was chosen into the study: "none" is put ahead of the coolers, "unlimited" where no
 * injectors or no pumps are named. False without memory. */
bool catalog_finish(struct reader *reader, struct shv_study *study);
/* Frees what is left in the reader. */
void catalog_free(struct reader *reader);
/* Frees the lists of a study and what their parts own. */
void catalog_free_study(struct shv_study *study);

#endif
