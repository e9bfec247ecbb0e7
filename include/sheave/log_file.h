/* A log that a dynamometer, an engine control unit or a blower bench has written: delimited text
 * in, rows of numbers in SI out, with an account of every line that is not among them.
 *
 * What is found out and told: the delimiter (tab, semicolon or comma: the one that gives the most
 * of the columns asked for), the line of the header, a row of units right below it, whether
 * decimals are written with a comma. What is let pass: a byte-order mark, any end of line, quoted
 * cells, lines above the header, blank lines, comments (#), cells without a value (empty, "-",
 * "--", "nan", "n/a", "na", "null", in any case), headers that are repeated. Nothing is guessed
 * beyond that: a cell that is no number, a cell too many and a mixture of decimal commas and points
 * are errors with file, line and column.
 */
#ifndef SHEAVE_LOG_FILE_H
#define SHEAVE_LOG_FILE_H

#include <stdint.h>

#include "sheave/units.h"

enum shv_log_role {
    SHV_LOG_NEEDED,   /* a row without it is dropped */
    SHV_LOG_EXTRA,    /* may be missing; a row that has nothing but extras is dropped */
    SHV_LOG_MEASURED, /* may be missing in a row, but not all of them */
    SHV_LOG_RUN       /* a text: rows of the same text belong to one run */
};

/* A column that is asked for. Pointers are borrowed. */
struct shv_log_want {
    /* As in the header, with or without a unit in brackets behind it; upper and lower case count.
     */
    const char *column;
    /* NULL, or further names "a|b" ("" for none): then case does not count, "_" and "-" are blanks,
     * and a unit of its quantity may stand right behind the name. */
    const char *also;
    bool may_lack; /* no error when there is no such column */
    /* As units.h reads it; NULL: that of the header's brackets or of the row of units. Without any
     * only a plain number or a speed in rpm is accepted. */
    const char *unit;
    enum shv_quantity quantity;
    enum shv_log_role role;
};

#define SHV_LOG_WANTS_MOST 32
#define SHV_LOG_NO_COLUMN SIZE_MAX

/* What is asked of a log, and which rows are kept. */
struct shv_log_rules {
    const struct shv_log_want *want; /* [wants], borrowed */
    size_t wants;
    size_t speed;    /* index of the want that is the engine's speed; SHV_LOG_NO_COLUMN: none, and
                      * the rules of speed are off */
    size_t throttle; /* likewise */
    double throttle_least;          /* rows below it are not at full throttle */
    double fall;                    /* rev/s that the speed has to fall below the highest so far
                                     * for a run to be over, and to rise again for the next; 0: off */
    double speed_least, speed_most; /* rev/s; rows outside are dropped */
    double bin; /* rev/s: rows of a run in one bin of this width become their mean; 0: off */
};

/* Why a row is not among those kept. */
enum shv_log_drop_reason {
    SHV_LOG_REPEATED_HEADER,
    SHV_LOG_CUT_SHORT, /* fewer cells than the columns asked for reach to */
    SHV_LOG_MISSING,   /* a cell that is needed has no value; `column` says which */
    SHV_LOG_NOTHING,   /* no measured cell has a value */
    SHV_LOG_THROTTLE,  /* below the least throttle */
    SHV_LOG_FALLING,   /* while the speed falls */
    SHV_LOG_OUTSIDE,   /* speed outside the range asked for */
    SHV_LOG_NO_ANSWER, /* set by whoever compares: the model has no answer there */
    SHV_LOG_REASONS
};

struct shv_log_drop {
    size_t line;
    enum shv_log_drop_reason reason;
    size_t want; /* SHV_LOG_MISSING; else SHV_LOG_NO_COLUMN */
};

struct shv_log_row {
    size_t line;   /* of the file; the first of them after smoothing */
    size_t run;    /* 0 .. runs - 1, in the order met */
    size_t merged; /* lines that it is the mean of, 1 without smoothing */
};

struct shv_log {
    char *path;     /* owned, as are all pointers below */
    char delimiter; /* '\t', ';' or ',' */
    bool decimal_comma;
    size_t header_line; /* 1 is the first */
    size_t units_line;  /* 0: none */
    size_t lines;       /* of the whole file */
    size_t data_lines;  /* records below the header and the units: those kept and those dropped */
    size_t wants, rows, runs, drops;
    double *value; /* [rows][wants] in SI, NAN where there is none; NAN of SHV_LOG_RUN */
    struct shv_log_row *row;
    char **run_name; /* "run 1", or the text of the run's column */
    char **unit;     /* [wants] that each column was read in; "" for a plain number or text */
    double *factor;  /* [wants] SI = factor * number + origin */
    double *origin;  /* [wants] */
    bool *is_volume; /* [wants] an air flow that stands in m3/s, at the state of the inlet */
    struct shv_log_drop *drop;
    size_t dropped[SHV_LOG_REASONS];
};

/* Reads a log. SHV_IO when it can't be read, SHV_BAD_INPUT when it is not what was asked for or no
 * row is left, SHV_NO_MEMORY; *log is empty then, and all errors, up to 20, are added to `findings`
 * with file, line and column. */
enum shv_status shv_log_read(const char *path, const struct shv_units *units,
                             const struct shv_log_rules *rules, struct shv_log *log,
                             struct shv_diagnostics *findings);
/* Which of the columns asked for a log has: there[wants]. No rows are read, and nothing is told of
 * a column that lacks or is in a wrong unit. SHV_IO, SHV_NO_MEMORY, and SHV_BAD_INPUT for a file
 * that is no text. */
enum shv_status shv_log_columns(const char *path, const struct shv_units *units,
                                const struct shv_log_want *want, size_t wants, bool *there,
                                struct shv_message *message);
/* Frees what it owns; safe on a zeroed struct. */
void shv_log_free(struct shv_log *log);

/* What a reason is in words: "falling engine speed". */
const char *shv_log_drop_words(enum shv_log_drop_reason reason);

/* Takes row `index` out and notes its line under the reason. SHV_NO_MEMORY. */
enum shv_status shv_log_drop_row(struct shv_log *log, size_t index, enum shv_log_drop_reason reason,
                                 struct shv_message *message);

#endif
