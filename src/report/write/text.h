/* Lines of text for people in UTF-8, never wider than REPORT_WIDTH characters, whatever the names
 * in a study are. A character is a code point and takes one column: true widths hang on the locale,
 * which the program leaves alone. The first failed write is kept; later ones do nothing. */
#ifndef SHEAVE_REPORT_TEXT_H
#define SHEAVE_REPORT_TEXT_H

#include <stdint.h>
#include <stdio.h>

#include "sheave/status.h"

#define REPORT_WIDTH 100
#define REPORT_FIT_MAX(width) (4 * (width) + 1) /* bytes for so many characters and the end */

struct report_text {
    FILE *out;
    int error;   /* errno of the first failed write, 0 so far */
    size_t used; /* bytes of the line so far */
    int width;   /* its characters */
    char line[REPORT_FIT_MAX(REPORT_WIDTH)];
};

void report_text_init(struct report_text *text, FILE *out);
/* Cells of a line, each of a fixed width and followed by one blank. A cell that is too long is cut
 * and ends in "..."; a number too wide becomes '#'; a number that is not finite becomes "-". */
void report_text_left(struct report_text *text, int width, const char *cell);
void report_text_right(struct report_text *text, int width, const char *cell);
/* A line of cells of these widths; one below 0 is that of a cell on the left. */
void report_text_cells(struct report_text *text, size_t count, const int *widths,
                       const char *const *cells);
void report_text_number(struct report_text *text, int width, int decimals, double value);
/* The same with as many of the decimals as the width holds. */
void report_text_fitted(struct report_text *text, int width, int decimals, double value);
/* Writes the line without blanks at its end. */
void report_text_end(struct report_text *text);
/* A line of dashes under columns `width` wide. */
void report_text_rule(struct report_text *text, int width);
/* A paragraph, broken between words into lines of REPORT_WIDTH. */
void report_text_say(struct report_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Flushes. SHV_IO with "cannot write WHAT: reason" when a write failed. */
enum shv_status report_text_finish(struct report_text *text, const char *what,
                                   struct shv_message *message);

/* A name of at most `width` characters, cut with "..." but never inside a character; a control
 * character or a byte that is no UTF-8 becomes '?'. `fitted` holds REPORT_FIT_MAX(width). Returns
 * fitted. */
char *report_fit(char *fitted, int width, const char *name);
/* Bytes of the character of UTF-8 at `at`, 0 when there is none; *value is its code point. */
size_t report_character(const char *at, uint32_t *value);
/* How many characters a name has when it is shown. */
int report_characters(const char *name);
/* 12345678 as "12,345,678"; room for 27 characters. Returns `text`. */
#define REPORT_COUNT_MAX 28
char *report_thousands(char text[REPORT_COUNT_MAX], uint64_t count);

#endif
