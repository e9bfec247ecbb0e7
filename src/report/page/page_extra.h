/* Tables of a results folder on a page, in words. */
#ifndef SHEAVE_REPORT_PAGE_EXTRA_H
#define SHEAVE_REPORT_PAGE_EXTRA_H

#include <stdio.h>

#include "report/table/results.h"

/* What the cells of a column hold, where that is not told by its measure. */
enum page_kind {
    PAGE_PLAIN,
    PAGE_RANKED_BY, /* what the study ranks by: its kind and unit follow the stem */
    PAGE_NAME       /* of a limit or an outcome by its title; of anything else its words */
};

/* A column of a file as a page shows it. */
struct page_column {
    const char *stem;
    enum report_measure measure;
    const char *title;
    enum page_kind kind;
};

/* Those of the columns that are there and say something in the first `most` rows; nothing when
 * there is no row. The first column heads its row. The row `lead` goes first, unless it is
 * REPORT_NO_COLUMN. What is cut is told, with the file that has it. */
void page_extra_table(FILE *out, const struct report_results *results,
                      const struct report_records *records, const char *file, const char *caption,
                      const struct page_column *columns, size_t count, size_t most, size_t lead);

/* A cell of a row with its title and unit, as an entry of a list; nothing where it is empty or 0.
 */
void page_fact(FILE *out, const struct report_results *results,
               const struct report_records *records, size_t row, const struct page_column *c);

/* What a little more of each limit would bring to the best ideal of each blower, most first. */
void page_limit_worth(FILE *out, const struct report_results *results);

/* Where nothing is feasible: what would have to give, a row for each broken limit of the nearest
 * kits. Nothing where that is not known. */
void page_nearest(FILE *out, const struct report_results *results);

#endif
