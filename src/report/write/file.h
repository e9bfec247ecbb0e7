/* An output file that appears under its name only when it is whole: written as NAME.part in the
 * same folder, synced, then renamed, and the folder synced. A killed run leaves a NAME.part at the
 * most, which the next run overwrites. */
#ifndef SHEAVE_REPORT_FILE_H
#define SHEAVE_REPORT_FILE_H

#include <stdbool.h>
#include <stdio.h>

#include "sheave/status.h"

struct report_file {
    FILE *stream;               /* NULL when not open */
    char *folder, *path, *part; /* owned */
};

/* What an errno says of a file that was opened without following a symbolic link. */
const char *report_file_reason(int error);

/* Makes a folder of the results where there is none. SHV_IO, also when a symbolic link stands
 * there. */
enum shv_status report_make_folder(const char *path, struct shv_message *message);

/* Opens NAME.part in an existing folder, which must be no symbolic link. SHV_IO or SHV_NO_MEMORY;
 * then nothing is left open or behind. */
enum shv_status report_file_open(struct report_file *file, const char *folder, const char *name,
                                 struct shv_message *message);
/* Ends a file. With `written` true: flush, sync, close, rename, sync the folder. Otherwise, or when
 * one of these fails, removes NAME.part and returns SHV_IO with "cannot write PATH: reason", the
 * reason being errno of the call that failed: call it right after a failed write. */
enum shv_status report_file_finish(struct report_file *file, bool written,
                                   struct shv_message *message);
/* Whether what was written so far is, to the byte, what stands under its name already. */
bool report_file_is_same(struct report_file *file);
/* Removes a result file of an earlier run that this one does not make, so that nobody takes it for
 * one of this run. SHV_OK when there is none. */
enum shv_status report_file_remove(const char *folder, const char *name,
                                   struct shv_message *message);
/* Gives a file up because of trouble that is not its own: removes NAME.part, tells nothing. */
void report_file_discard(struct report_file *file);

#endif
