/* What study files and range files have in common as files. */
#ifndef SHEAVE_STUDY_CONFIG_H
#define SHEAVE_STUDY_CONFIG_H

#include "study/reader.h"

/* Reads reader->path and all it includes with libconfig, and then by a table of keys into `base`,
 * which is zeroed. SHV_BAD_INPUT with findings in the reader, SHV_IO, SHV_NO_MEMORY. */
enum shv_status reader_read_file(struct reader *reader, config_t *config,
                                 const struct key_group *keys, void *base);

#endif
