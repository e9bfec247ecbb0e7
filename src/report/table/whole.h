/* A file of a results folder as one text. */
#ifndef SHEAVE_REPORT_WHOLE_H
#define SHEAVE_REPORT_WHOLE_H

#include "sheave/status.h"

/* Reads FOLDER/NAME, at most 1 GiB, into *text with a NUL behind it. *path is its path, for
 * messages. The caller frees both, whatever is returned. SHV_NOTHING, without a message, when there
 * is no such file; SHV_BAD_INPUT when it is too large or holds a zero byte; SHV_IO; SHV_NO_MEMORY.
 */
enum shv_status report_whole_read(const char *folder, const char *name, char **text, char **path,
                                  struct shv_message *message);

#endif
