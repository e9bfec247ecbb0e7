/* The kits nearest to being feasible in words, for run and plan. */
#ifndef SHEAVE_REPORT_NEAREST_H
#define SHEAVE_REPORT_NEAREST_H

#include "report/write/text.h"
#include "sheave/nearest.h"

/* At most `most` of them, a paragraph each, with what each broken limit would have to be. Nothing
 * when there are none. */
void report_say_nearest(struct report_text *out, const struct shv_study *study,
                        const struct shv_space *space, const struct shv_nearest *nearest,
                        size_t count, size_t most);

#endif
