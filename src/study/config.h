/* What study files and range files have in common as files. */
#ifndef SHEAVE_STUDY_CONFIG_H
#define SHEAVE_STUDY_CONFIG_H

#include "study/reader.h"

/* Reads a file and all it includes with libconfig, and then by a table of keys into `draft`, which
 * is zeroed; where nothing was wrong `finish`, unless NULL, goes on. All findings go to
 * `diagnostics`. SHV_BAD_INPUT, SHV_IO, SHV_NO_MEMORY. */
enum shv_status reader_load(const char *path, const struct key_group *keys, void *draft,
                            enum shv_status (*finish)(struct reader *reader, void *draft),
                            struct shv_diagnostics *diagnostics);

#endif
