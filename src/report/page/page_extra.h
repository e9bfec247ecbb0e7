/* Tables of a results folder on a page, in words. */
#ifndef SHEAVE_REPORT_PAGE_EXTRA_H
#define SHEAVE_REPORT_PAGE_EXTRA_H

#include <stdio.h>

#include "report/table/files.h"
#include "report/table/results.h"

/* A column of a file as a page shows it: its name without the unit, also without the kind of the
 * ranking value where it is one. Units and decimals follow from the file's own table. */
struct page_column {
    const char *stem, *title;
};
/* Those of what a kit is made of. */
#define PAGE_HARDWARE                                                                              \
    {"blower", "blower"}, {"crank_pulley", "crank pulley"}, {"blower_pulley", "blower pulley"},    \
        {"cooler", "cooler"},                                                                      \
    {                                                                                              \
        "effectiveness", "effectiveness"                                                           \
    }

/* Those of the columns that are there and say something in the first `most` rows; nothing when
 * there is no row. The first column heads its row. The row `lead` goes first, unless it is
 * REPORT_NO_COLUMN. What is cut is told, with the file that has it. */
void page_extra_table(FILE *out, const struct report_results *results,
                      const struct report_records *records, const struct report_table *table,
                      const char *caption, const struct page_column *columns, size_t count,
                      size_t most, size_t lead);

/* Cells of a row with their titles and units, as entries of a list; none for what is empty or 0. */
void page_facts(FILE *out, const struct report_results *results,
                const struct report_records *records, const struct report_table *table, size_t row,
                const struct page_column *columns, size_t count);

/* What a little more of each limit would bring to the best ideal of each blower, most first. */
void page_limit_worth(FILE *out, const struct report_results *results);

/* Where nothing is feasible: what would have to give, a row for each broken limit of the nearest
 * kits. Nothing where that is not known. */
void page_nearest(FILE *out, const struct report_results *results);

#endif
