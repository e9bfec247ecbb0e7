/* Lists for people: one table of columns makes the two lines of a head and the rows. */
#ifndef SHEAVE_REPORT_LIST_H
#define SHEAVE_REPORT_LIST_H

#include "report/write/measure.h"
#include "report/write/text.h"

#define REPORT_BY_UNIT (-1) /* decimals: as many as mean something in the unit */

struct report_list_column {
    const char *title; /* the unit stands below, unless the title has it */
    int width;         /* below 0: on the left */
    enum report_measure measure;
    int decimals;
    size_t offset; /* in a row: of a const char *, "-" when NULL, for REPORT_TEXT, which on the
                    * right tells of the ranking value; of a uint64_t for REPORT_COUNT; else of a
                    * double, which loses decimals where it is too wide */
};

struct report_list {
    struct report_text *text;
    const struct report_list_column *column;
    size_t count;
    enum shv_unit_system units;
    const char *money;             /* word for it; NULL where no column has any */
    enum report_measure objective; /* what REPORT_OBJECTIVE is shown as, and its unit */
    const char *objective_unit;
};

void report_list_head(const struct report_list *list);
void report_list_row(const struct report_list *list, const void *row);

#endif
