/* The head of a log: which delimiter, which line names the columns, in what units they are. */
#ifndef SHEAVE_STUDY_LOG_HEAD_H
#define SHEAVE_STUDY_LOG_HEAD_H

#include "sheave/log_file.h"
#include "study/log_text.h"

#define LOG_NAME_MAX 128

struct log_column {
    size_t cell;             /* of the header; SIZE_MAX: the log has no such column */
    char unit[LOG_NAME_MAX]; /* read in; "" for a plain number or a text */
    double factor, origin;   /* SI = factor * number + origin */
    bool is_volume;          /* of an air flow: m3/s at the inlet */
};

struct log_head {
    char delimiter;
    size_t record; /* of the header, among those of the table */
    size_t units;  /* of the row of units; SIZE_MAX: none */
    size_t first;  /* of the data */
    size_t reach;  /* cells that a row must have */
    struct log_column column[SHV_LOG_WANTS_MOST];
};

/* Whether a cell's text stands for no value. */
bool log_is_missing(const char *text);
/* Whether a text is a number with at most one decimal comma or point; signs and exponents are let
 * pass. */
bool log_is_number(const char *text);

/* Finds the head in a text and parses all of it with the delimiter found. SHV_BAD_INPUT when that
 * can't be done, SHV_NO_MEMORY; a column that is not there, there twice, or in a unit that is none
 * of its quantity is a finding, and the rest can still be read. The table is the caller's to free,
 * also after an error. */
enum shv_status log_head_find(const struct log_text *text, const struct shv_units *units,
                              const struct shv_log_rules *rules, struct log_head *head,
                              struct log_table *table, struct shv_diagnostics *findings);

/* Whether a record says the same as the header, or as the row of units. */
bool log_head_repeats(const struct log_head *head, const struct log_table *table,
                      const struct log_record *record, size_t wants);

#endif
