/* Pieces of HTML. Writers return nothing: a failed write shows when the file is finished. */
#ifndef SHEAVE_REPORT_HTML_H
#define SHEAVE_REPORT_HTML_H

#include <stdio.h>

#include "report/table/results.h"

/* From src/report/page, made into arrays by the build. */
extern const char page_css[], page_js[];

/* A text of a user as content or as a value in double quotes: what HTML takes for markup becomes an
 * entity, what is no UTF-8 or a control character U+FFFD. Everything that was not written in this
 * program goes through here. */
void html_text(FILE *out, const char *text);

/* Like printf, every %s a text for html_text; of numbers int, size_t and double, without "*". */
void html_put(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* The head of a document up to the opened body. With `script`, page.js may run, and nothing else.
 */
void html_begin(FILE *out, const char *title, bool script);
void html_end(FILE *out, bool script);

/* A section with a heading of level 2; `id` names it in links. */
void html_section(FILE *out, const char *id, const char *title);
void html_section_end(FILE *out);

/* A drawing of the folder of plots, inside the page, with its caption and words for those who can't
 * see it; a note where gnuplot drew none. Nothing when there is not even a script for it. Ids in it
 * get its name in front, as several stand in one page. SHV_IO and SHV_NO_MEMORY only. */
enum shv_status html_figure(FILE *out, const struct report_results *results, const char *name,
                            const char *script, const char *title, const char *meaning,
                            struct shv_message *message);

/* A name of a limit, an outcome or a column as words: "peak_power" as "peak power". */
void html_words(FILE *out, const char *name);

/* A table with the titles of its columns, "|" between them; "#" before one of numbers. */
void html_table(FILE *out, const char *caption, const char *heads);
void html_table_end(FILE *out);
/* A title of a column with the unit behind it. */
void html_head(FILE *out, const char *title, const char *unit, bool is_number);

/* A cell of a table: a text, or a number with its decimals; nothing in it when it is not finite. */
void html_cell(FILE *out, const char *text);
void html_number_cell(FILE *out, double value, int decimals);

/* A number with four significant digits, all of its whole ones where those are more. */
void html_digits(FILE *out, double value);

/* "1234567" as "1,234,567", rounded to a whole number. */
void html_count(FILE *out, double count);

#endif
