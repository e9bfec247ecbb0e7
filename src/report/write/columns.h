/* One table of columns makes a file's header, its rows and its section of docs/columns.md, so that
 * the three can't disagree. A row is a struct in SI; a column says where its value stands in it. */
#ifndef SHEAVE_REPORT_COLUMNS_H
#define SHEAVE_REPORT_COLUMNS_H

#include <stdint.h>
#include <stdio.h>

#include "report/write/measure.h"

#define REPORT_COLUMNS_MAX 144
#define REPORT_NAME_MAX 64
#define REPORT_LAYOUT_TEXT 16384
#define REPORT_NO_COUNT UINT64_MAX /* a count that does not apply: an empty cell */

/* When a column is there: any of these, of which a study says which apply (report_when); 0 for
 * always. Of the objectives one applies; of the rest those that the study describes; behind them a
 * bit for each limit that is set. */
typedef uint64_t report_when_set;
#define REPORT_ALWAYS ((report_when_set)0)
#define REPORT_WHEN(bit) (UINT64_C(1) << (bit))
#define REPORT_WHEN_POWER REPORT_WHEN(0) /* the objective is a power */
#define REPORT_WHEN_TORQUE REPORT_WHEN(1)
#define REPORT_WHEN_PRICE REPORT_WHEN(2)
#define REPORT_WHEN_POWER_PER_PRICE REPORT_WHEN(3)
#define REPORT_WHEN_CHARGE_TEMPERATURE REPORT_WHEN(4)
#define REPORT_WHEN_WEIGHTED REPORT_WHEN(5)
#define REPORT_WHEN_CYCLE REPORT_WHEN(7) /* the closed cycle */
#define REPORT_WHEN_INJECTORS REPORT_WHEN(8)
#define REPORT_WHEN_PUMPS REPORT_WHEN(9)
#define REPORT_WHEN_BELT REPORT_WHEN(10)
#define REPORT_WHEN_DUTY REPORT_WHEN(11)
#define REPORT_WHEN_CRUISE REPORT_WHEN(12)
#define REPORT_WHEN_COOLERS REPORT_WHEN(13)
#define REPORT_WHEN_PRICED REPORT_WHEN(14) /* a part has a price */
#define REPORT_WHEN_WEIGHED REPORT_WHEN(15)
#define REPORT_WHEN_SITES REPORT_WHEN(16) /* more than one */
#define REPORT_WHEN_US                                                                             \
    REPORT_WHEN(17) /* units of the US: the mixture as an air-fuel ratio besides */
#define REPORT_WHEN_US_INJECTORS REPORT_WHEN(18) /* and injectors by mass */
#define REPORT_WHEN_BELT_SOLD REPORT_WHEN(19)    /* the lengths that belts are sold in are given */
#define REPORT_WHEN_SCENARIOS REPORT_WHEN(20)    /* sales of a range are not certain */
#define REPORT_WHEN_HOLD REPORT_WHEN(21)         /* a study of a range wants a probability */
#define REPORT_WHEN_LIMIT(limit) REPORT_WHEN(24 + (limit))
#define REPORT_EVERY_COLUMN UINT64_MAX
_Static_assert(24 + SHV_LIMIT_COUNT <= 64, "a bit for each limit");

struct report_column {
    const char *stem;            /* of the name; the unit follows */
    enum report_measure measure; /* REPORT_OBJECTIVE: one for each kind of objective, of which the
                                  * study's is there; its word follows the stem, or is at a '*' */
    int digits;                  /* significant ones of a number */
    size_t offset;               /* in the row: of a double, a uint64_t (REPORT_COUNT) or a
                                  * const char * (REPORT_TEXT) */
    report_when_set when;
    const char *meaning; /* one sentence for docs/columns.md; of an objective "%s" is its kind */
};

/* What a study may rank by, as columns of it are named and shown. */
struct report_objective_kind {
    const char *word; /* "_power" */
    enum report_measure measure, change;
    report_when_set when;
    bool least; /* the less the better: the model has it with the other sign */
    const char *what;
};
const struct report_objective_kind *report_objective_kind(enum shv_objective_kind kind);
#define REPORT_OBJECTIVE_KINDS (SHV_OBJECTIVE_WEIGHTED + 1)

/* What stands beside lambda and the fuel's name in US units. */
#define REPORT_AIR_FUEL_COLUMN(stem, at)                                                           \
    {                                                                                              \
        stem, REPORT_NUMBER, 6, at, REPORT_WHEN_US,                                                \
            "The same as the air-fuel ratio of that fuel, by mass; only in US units."              \
    }
#define REPORT_AKI_COLUMN(at)                                                                      \
    {                                                                                              \
        "aki", REPORT_NUMBER, 6, at, REPORT_WHEN_US,                                               \
            "Antiknock index of the fuel, (RON + MON)/2; only in US units, empty when not known."  \
    }

/* The columns of one file. Holds text of its own that columns point to: do not copy. */
struct report_layout {
    report_when_set when; /* what applies */
    size_t count;
    struct report_column column[REPORT_COLUMNS_MAX];
    size_t used;
    char text[REPORT_LAYOUT_TEXT]; /* stems and meanings that are put together */
};

void report_layout_init(struct report_layout *layout, report_when_set when);
/* Appends those columns of a table that are there. */
#define REPORT_LAYOUT_ADD(layout, table)                                                           \
    report_layout_add(layout, table, sizeof(table) / sizeof *(table))
void report_layout_add(struct report_layout *layout, const struct report_column *table,
                       size_t count);
/* Appends a column under a name with `before` in front of it. */
void report_layout_add_named(struct report_layout *layout, const char *before,
                             struct report_column column);
/* Appends the room to every limit that is set; `offset` is that of a double [SHV_LIMIT_COUNT]. */
void report_layout_add_rooms(struct report_layout *layout, size_t offset);
/* Appends the probability that each limit that is set holds, and its error; in place of room. */
void report_layout_add_chances(struct report_layout *layout, size_t chance, size_t error);

/* Stem and unit, e.g. "boost_kPa". */
void report_column_name(const struct report_column *column, enum shv_unit_system system,
                        char name[REPORT_NAME_MAX]);
/* The column of that name in a file; NULL for one that this version does not know. */
const struct report_column *report_column_find(const struct report_layout *layout,
                                               enum shv_unit_system units, const char *name);
/* What people call it: the stem itself, with "_" in it, where that is the word. */
const char *report_column_title(const char *stem);
/* False when the write failed. */
bool report_header(FILE *out, const struct report_layout *layout, enum shv_unit_system system);
bool report_row(FILE *out, const struct report_layout *layout, enum shv_unit_system system,
                const void *row);

/* A CSV file that is being written. The first failed write is kept; later ones do nothing. */
struct report_csv {
    FILE *out;
    enum shv_unit_system units;
    struct report_layout layout;
    int error; /* errno of the first failed write, 0 so far */
};
void report_csv_head(struct report_csv *csv);
void report_csv_row(struct report_csv *csv, const void *row);
/* Flushes. SHV_IO with "cannot write WHAT: reason" when a write failed. */
enum shv_status report_csv_finish(struct report_csv *csv, const char *what,
                                  struct shv_message *message);

#endif
