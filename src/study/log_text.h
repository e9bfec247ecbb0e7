/* A delimited text as records of cells, by RFC 4180 and what loggers make of it: any end of line, a
 * byte-order mark, quoted cells over several lines. Nothing is copied: cells point into the text.
 */
#ifndef SHEAVE_STUDY_LOG_TEXT_H
#define SHEAVE_STUDY_LOG_TEXT_H

#include "sheave/status.h"

struct log_cell {
    const char *at; /* into the text, without blanks around it and without its quotes */
    size_t length;
    bool quoted; /* doubled quotes inside are still doubled */
};

/* A record that is not blank and does not begin with '#'. */
struct log_record {
    size_t line;  /* on which it begins, from 1 */
    size_t first; /* of its cells */
    size_t cells;
};

struct log_text {
    const char *path; /* for messages, borrowed */
    char *bytes;      /* owned, ended by a NUL */
    size_t size;
    bool no_comments; /* a line that begins with '#' is a record like others */
};

struct log_table {
    struct log_record *record; /* owned */
    struct log_cell *cell;     /* owned */
    size_t records, cells, record_room, cell_room;
    size_t lines; /* of the text so far */
    size_t blank; /* lines that are blank or a comment */
};

/* Longest text that is read. */
#define LOG_BYTES_MOST ((size_t)256 << 20)
#define LOG_CELLS_MOST 2000 /* of a record */

/* Reads a file whole. SHV_IO when it cannot be read; SHV_BAD_INPUT when it is too long, has zero
 * bytes or a byte-order mark of UTF-16. Free with log_text_free. */
enum shv_status log_text_read(const char *path, struct log_text *text, struct shv_message *message);
void log_text_free(struct log_text *text);

/* Takes it apart with one delimiter, up to `most` records. SHV_BAD_INPUT for a quote that is not
 * closed, text behind a closing quote or a record of too many cells; SHV_NO_MEMORY. Free with
 * log_table_free, also after an error. */
enum shv_status log_table_parse(const struct log_text *text, char delimiter, size_t most,
                                struct log_table *table, struct shv_message *message);
void log_table_free(struct log_table *table);

/* The cell `index` of a record; an empty one beyond its last. */
struct log_cell log_cell_of(const struct log_table *table, const struct log_record *record,
                            size_t index);
/* Copies a cell with its doubled quotes made single; cut to fit. Control characters become '?'.
 * Returns `copy`. */
char *log_cell_copy(struct log_cell cell, char *copy, size_t size);

#endif
