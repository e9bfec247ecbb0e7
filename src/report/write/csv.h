/* Comma separated values as in RFC 4180: records end with CRLF; a text with a comma, a quote or a
 * line break stands in quotes, quotes in it doubled. Two additions, told in docs/columns.md: a text
 * that a spreadsheet would take for a formula gets a leading single quote, and what does not apply
 * is an empty cell. Numbers follow the "C" locale, which is in force as long as nobody calls
 * setlocale.
 *
 * Every function returns false when the write failed; errno tells why. */
#ifndef SHEAVE_REPORT_CSV_H
#define SHEAVE_REPORT_CSV_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

/* A text cell; NULL is an empty one. */
bool report_csv_text(FILE *out, const char *text);
/* A number with so many significant digits; empty when it is not finite. */
bool report_csv_number(FILE *out, double value, int digits);
bool report_csv_count(FILE *out, uint64_t count);
/* Between two cells, and after the last of a record. */
bool report_csv_comma(FILE *out);
bool report_csv_end(FILE *out);

#endif
