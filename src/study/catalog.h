/* Lists of parts: sites, blowers, coolers and fuels, inline or by their name in the catalogue. */
#ifndef SHEAVE_STUDY_CATALOG_H
#define SHEAVE_STUDY_CATALOG_H

#include "study/reader.h"

#define SITES_MAX 64
#define PARTS_MAX 10000

/* Reads a list into reader->catalogue or, for the study's own lists, reader->chosen. Inline groups
 * are read, names are looked up: a part of the catalogue moves to the study that names it. */
void catalog_read(struct reader *reader, const struct key *key, const config_setting_t *setting);
/* Moves what was chosen into the study: "none" is put ahead of the coolers. False without memory.
 */
bool catalog_finish(struct reader *reader, struct shv_study *study);
/* Frees what is left in the reader. */
void catalog_free(struct reader *reader);
/* Frees what a part owns. */
void catalog_free_blower(struct shv_blower *blower);

#endif
