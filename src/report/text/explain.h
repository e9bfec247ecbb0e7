/* What one change to a kit would do, in a sentence. */
#ifndef SHEAVE_REPORT_EXPLAIN_H
#define SHEAVE_REPORT_EXPLAIN_H

#include "report/write/text.h"
#include "sheave/changes.h"

/* Of a kit that does not hold: the single change with which it does and makes most, or that there
 * is none among those that were tried. Nothing without any. */
void report_say_mending(struct report_text *out, const struct shv_study *study,
                        const struct shv_change *changes, size_t count);

#endif
