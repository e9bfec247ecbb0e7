/* The bytes of a study: which files it is made of, their hash, and what libconfig would let pass.
 */
#ifndef SHEAVE_STUDY_SOURCE_H
#define SHEAVE_STUDY_SOURCE_H

#include "sheave/status.h"

#include <stdbool.h>

struct reader;

/* Looks through the study file and all it includes: registers and hashes them, reports includes
 * that cannot be read and whole numbers too large for libconfig, which would wrap them round.
 * Returns SHV_OK when libconfig may read the file; SHV_IO when the study file itself cannot be
 * read. */
enum shv_status source_scan(struct reader *reader);

/* Adds the bytes of a file that the study names to its hash; SHV_IO, SHV_NO_MEMORY, SHV_BAD_INPUT
 * when they are too many. */
enum shv_status source_hash_file(struct reader *reader, const char *path,
                                 struct shv_message *message);

/* Adds the bytes of a file to the text that is kept of a study, under a line with its name. False
 * when out of memory. */
bool source_keep(struct reader *reader, const char *name, const char *bytes, size_t length);

/* Directory of a path with its last slash, "" when there is none; owned by the caller. */
char *source_directory(const char *path);
/* directory + name, or the name alone when it is absolute; owned by the caller. */
char *source_join(const char *directory, const char *name);

#endif
