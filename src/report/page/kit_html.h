/* One kit of a ranking as HTML, for the report and for the sheet of a kit. `row` is its row in
 * ranked.csv, from 0; its rank is one more. */
#ifndef SHEAVE_REPORT_KIT_HTML_H
#define SHEAVE_REPORT_KIT_HTML_H

#include <stdio.h>

#include "report/table/results.h"

/* A quantity of ranked.csv with its unit, such as "147.1 kW"; false, and room empty, when the cell
 * is. */
#define KIT_WORDS 96
bool kit_quantity(const struct report_results *results, size_t row, const char *stem,
                  enum report_measure measure, char room[KIT_WORDS]);
double kit_number(const struct report_results *results, size_t row, const char *stem,
                  enum report_measure measure);
const char *kit_text(const struct report_results *results, size_t row, const char *stem);
bool kit_has_cooler(const struct report_results *results, size_t row);

/* Sentences: what it is and what it makes. What holds it back. */
void kit_answer(FILE *out, const struct report_results *results, size_t row);
void kit_held_back(FILE *out, const struct report_results *results, size_t row);
/* The few numbers that are asked for first, as a list. */
void kit_facts(FILE *out, const struct report_results *results, size_t row);
/* Tables, for kits that have curves. */
void kit_parts(FILE *out, const struct report_results *results, size_t row);
/* Of the limits the `most` nearest. */
void kit_limits(FILE *out, const struct report_results *results, size_t row, size_t most);

#endif
