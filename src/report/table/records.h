/* Reads back the CSV files of a results folder, also when a spreadsheet has saved them again. */
#ifndef SHEAVE_REPORT_RECORDS_H
#define SHEAVE_REPORT_RECORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "report/write/measure.h"
#include "sheave/status.h"

struct report_records {
    size_t columns, rows; /* rows without the header */
    char **cell; /* [(row + 1) * columns + column] with the header in front; owned, into text */
    char *text;  /* owned */
};

#define REPORT_NO_COLUMN ((size_t)-1)

/* SHV_NOTHING when there is no such file; then and on failure *records is empty, which counts as a
 * table without columns and rows. SHV_BAD_INPUT with file and line when it is no CSV or a record is
 * not as long as the header, SHV_IO, SHV_NO_MEMORY. */
enum shv_status report_records_read(const char *folder, const char *name,
                                    struct report_records *records, struct shv_message *message);
void report_records_free(struct report_records *records);

/* A column by its whole name; REPORT_NO_COLUMN when there is none. */
size_t report_records_find(const struct report_records *records, const char *name);
/* By its stem, with the unit of a measure behind it. */
size_t report_records_column(const struct report_records *records, const char *stem,
                             enum report_measure measure, enum shv_unit_system system);
/* The first whose name begins so: one of the ranking value, whatever it is in. */
size_t report_records_begins(const struct report_records *records, const char *prefix);
const char *report_records_name(const struct report_records *records, size_t column);
/* A cell; "" in a column that is not there. Without the quote that keeps a spreadsheet from taking
 * it for a formula. */
const char *report_records_text(const struct report_records *records, size_t row, size_t column);
/* NAN when empty, no number, or not there. */
double report_records_number(const struct report_records *records, size_t row, size_t column);
/* The same in the column of that whole name. */
const char *report_cell(const struct report_records *records, size_t row, const char *name);
double report_cell_number(const struct report_records *records, size_t row, const char *name);
/* Whether any of the first so many rows has something in a column. */
bool report_records_says(const struct report_records *records, size_t column, size_t rows);

/* Rows in the order of a value: the least first, or that of the largest size; of equals the upper
 * row first, what is not known last. */
struct report_row_value {
    size_t row;
    double value;
};
void report_least_first(struct report_row_value *list, size_t count);
void report_most_first(struct report_row_value *list, size_t count);

#endif
