/* Checking the numbers that a library function is given, one row for each. */
#ifndef SHEAVE_MODEL_INPUT_H
#define SHEAVE_MODEL_INPUT_H

#include <math.h>

#include "sheave/status.h"

/* A number, whether 0 is accepted, and the most that is; INFINITY for no bound. */
struct range {
    const char *what;
    double value;
    bool zero;
    double most;
};

/* The first row that is out of its range, named in the message; SHV_OK when there is none. */
static inline enum shv_status check_ranges(size_t count, const struct range *row,
                                           struct shv_message *message)
{
    for (size_t i = 0; i < count; i++) {
        const struct range *r = &row[i];
        bool low = r->zero ? r->value >= 0.0 : r->value > 0.0;
        if (!isfinite(r->value) || !low) {
            return shv_fail(message, SHV_BAD_INPUT, "%s is %.6g; a number %s is needed", r->what,
                            r->value, r->zero ? "of 0 or more" : "above 0");
        }
        if (r->value > r->most) {
            return shv_fail(message, SHV_BAD_INPUT, "%s is %.6g; at most %.6g is possible", r->what,
                            r->value, r->most);
        }
    }
    return SHV_OK;
}

#endif
