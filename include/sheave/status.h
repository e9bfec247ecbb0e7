/* Status codes and messages shared by every public function that can fail.
 *
 * Two channels are kept apart. A `shv_status` says whether a function could do its work. A point of
 * the model that has no physical answer is not an error: it is an outcome (limits.h) and is
 * counted under its reason.
 */
#ifndef SHEAVE_STATUS_H
#define SHEAVE_STATUS_H

#include "sheave/export.h"

#include <stdbool.h>
#include <stddef.h>

enum shv_status {
    SHV_OK = 0,
    SHV_BAD_INPUT, /* the user's files or arguments are wrong; the message says where */
    SHV_IO,        /* a file could not be read, written, synced or renamed */
    SHV_NO_MEMORY, /* an allocation failed */
    SHV_NOTHING,   /* done, but nothing feasible was found */
    SHV_STOPPED    /* interrupted by request */
};

/* Room for one message; always ended by a NUL, cut with "..." when too long. */
struct shv_message {
    char text[1024];
};

/* Sets the message by a printf format. `message` may be NULL. Returns `status`, so that a failing
 * function can end with `return shv_fail(message, SHV_IO, "...", ...)`. */
SHV_API enum shv_status shv_fail(struct shv_message *message, enum shv_status status,
                                 const char *format, ...) __attribute__((format(printf, 3, 4)));

/* One finding about an input file. */
struct shv_diagnostic {
    bool is_warning;
    char *text; /* "file:line: key: what was found; what is accepted", owned */
};

/* A growing list of findings, so that all errors of a file are told in one go. */
struct shv_diagnostics {
    struct shv_diagnostic *items; /* owned */
    size_t count;
    size_t capacity;
    size_t errors; /* how many of them are errors */
    bool out_of_memory;
};

/* Adds a finding. When memory runs out `out_of_memory` is set, `errors` still counts. */
SHV_API void shv_diagnostics_add(struct shv_diagnostics *list, bool is_warning, const char *format,
                                 ...) __attribute__((format(printf, 3, 4)));

/* Frees all findings; safe on a zeroed struct and when called twice. */
SHV_API void shv_diagnostics_free(struct shv_diagnostics *list);

#endif
