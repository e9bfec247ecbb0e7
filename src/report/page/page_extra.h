/* Tables of a results folder as they are, for a page. */
#ifndef SHEAVE_REPORT_PAGE_EXTRA_H
#define SHEAVE_REPORT_PAGE_EXTRA_H

#include <stdio.h>

#include "report/table/results.h"

/* The first rows, in the first columns that say something in them; nothing when there is no row.
 * The first column heads its row. */
void page_extra_table(FILE *out, const struct report_records *records, const char *caption,
                      size_t rows, size_t columns);

/* Where nothing is feasible: what would have to give, a row for each broken limit of the nearest
 * kits. Nothing where that is not known. */
void page_nearest(FILE *out, const struct report_results *results);

#endif
