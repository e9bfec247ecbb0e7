/* The ranked table of report.html. */
#ifndef SHEAVE_REPORT_PAGE_TABLE_H
#define SHEAVE_REPORT_PAGE_TABLE_H

#include <stdio.h>

#include "report/table/results.h"

#define PAGE_ROWS 200 /* of the best that stand on the page; the rest is in ranked.csv */

#define PAGE_PRINTED 40 /* of them on paper; page.css says so too */

/* All columns that say something; those looked at first are shown without asking. */
void page_table(FILE *out, const struct report_results *results);

#endif
