/* What a file of the program's language is. */
#ifndef SHEAVE_FILE_KIND_H
#define SHEAVE_FILE_KIND_H

#include "sheave/status.h"

/* By the keys at its top level: a range names vehicles, what a fit writes holds corrections and
 * tolerances alone. */
enum shv_file_kind { SHV_FILE_STUDY, SHV_FILE_RANGE, SHV_FILE_FITTED };

/* Of a file that does not read whole, by what is read of it. SHV_NO_MEMORY, and SHV_IO where the
 * units can't be had. */
enum shv_status shv_file_kind(const char *path, enum shv_file_kind *kind);

#endif
