/* The scheme that all published checks share.
 *
 * A `struct published` names where values come from; check() compares one of them with what the
 * model gives. A value out of its tolerance fails the test. When the environment variable
 * SHEAVE_VALIDATION_OUT names a file, every comparison is appended to it as a line of fields parted
 * by tabs; test_validation.c makes docs/validation.md of these lines.
 *
 * Kinds (what they stand for is told to the reader by test_validation.c):
 *   R  printed value of a worked example or a table, arithmetic reproduced
 *   P  published value that is no computable example: a band, a chart, a rule
 *   D  computed from a closed form that is published
 *   M  written down from memory
 *   X  common practice without a source
 */
#ifndef PUBLISHED_H
#define PUBLISHED_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct published {
    const char *topic;
    const char *id; /* of the collection of check values */
    char kind;
    const char *source; /* book, standard or paper, with example or table */
    const char *note;   /* what a reader has to know about the comparison; NULL for nothing */
};

struct tolerance {
    double value;
    bool is_relative;
};

static inline struct tolerance relative(double value)
{
    return (struct tolerance){value, true};
}

static inline struct tolerance absolute(double value)
{
    return (struct tolerance){value, false};
}

/* Of the test function that runs. */
static int published_compared, published_missed;

static inline bool published_within(double expected, double got, struct tolerance allowed)
{
    double most = allowed.is_relative ? allowed.value * fabs(expected) : allowed.value;
    return fabs(got - expected) <= most;
}

static inline void published_write(const struct published *p, const char *what, double expected,
                                   double got, struct tolerance printed, struct tolerance allowed,
                                   const char *reason)
{
    const char *path = getenv("SHEAVE_VALIDATION_OUT");
    if (!path || *path == '\0') {
        return;
    }
    FILE *out = fopen(path, "a");
    assert_non_null(out);
    int written =
        fprintf(out, "%s\t%s\t%c\t%s\t%s\t%s\t%.17g\t%.17g\t%.17g\t%d\t%.17g\t%d\t%s\n", p->topic,
                p->id, p->kind, p->source, p->note ? p->note : "", what, expected, got,
                printed.value, printed.is_relative, allowed.value, allowed.is_relative, reason);
    assert_true(written > 0);
    assert_int_equal(fclose(out), 0);
}

static inline void published_compare(const struct published *p, const char *what, double expected,
                                     double got, struct tolerance printed, struct tolerance allowed,
                                     const char *reason)
{
    published_compared++;
    if (!published_within(expected, got, allowed)) {
        published_missed++;
        print_error("%s: %s: published %.8g, model %.8g (%+.4f %%), allowed %g%s\n", p->id, what,
                    expected, got, 100.0 * (got / expected - 1.0), allowed.value,
                    allowed.is_relative ? " of it" : "");
    }
    published_write(p, what, expected, got, printed, allowed, reason);
}

/* Compares a published value with the model's. `format` says what is compared, with its unit. */
static inline void check(const struct published *p, double expected, double got,
                         struct tolerance allowed, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
static inline void check(const struct published *p, double expected, double got,
                         struct tolerance allowed, const char *format, ...)
{
    char what[256];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    published_compare(p, what, expected, got, allowed, allowed, "");
}

/* A published value that the model does NOT meet within its tolerance but only within a wider band,
 * for a known reason. Also fails when the published tolerance is met after all: then check() is
 * due. */
static inline void check_wider(const struct published *p, double expected, double got,
                               struct tolerance printed, struct tolerance band, const char *reason,
                               const char *format, ...) __attribute__((format(printf, 7, 8)));
static inline void check_wider(const struct published *p, double expected, double got,
                               struct tolerance printed, struct tolerance band, const char *reason,
                               const char *format, ...)
{
    char what[256];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    if (published_within(expected, got, printed)) {
        published_missed++;
        print_error("%s: %s: meets its published tolerance, but is listed as not meeting it\n",
                    p->id, what);
    }
    published_compare(p, what, expected, got, printed, band, reason);
}

/* A published value that the model contradicts: a statement, not a band that is accepted. `guard`,
 * a tenth more than the deviation when it was stated, only shows when it gets worse. */
#define PUBLISHED_DISAGREES "disagrees: "
#define check_disagrees(p, expected, got, printed, guard, reason, ...)                             \
    check_wider(p, expected, got, printed, guard, PUBLISHED_DISAGREES reason, __VA_ARGS__)

static inline int published_begin(void **state)
{
    (void)state;
    published_compared = published_missed = 0;
    return 0;
}

/* Fails the test when a comparison failed, and when there was none. */
static inline int published_end(void **state)
{
    (void)state;
    if (published_compared == 0) {
        print_error("this test compared nothing\n");
    }
    return published_compared > 0 && published_missed == 0 ? 0 : -1;
}

#define published_test(f) cmocka_unit_test_setup_teardown(f, published_begin, published_end)

#endif
