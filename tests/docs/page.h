/* Pages of docs that are a text with parts from the code's tables. */
#ifndef SHEAVE_TESTS_DOCS_PAGE_H
#define SHEAVE_TESTS_DOCS_PAGE_H

#include <stdio.h>

/* Stands for a line of the text. What can't be written is seen by ferror() at the end. */
struct page_part {
    const char *line; /* NULL behind the last */
    void (*write)(FILE *out);
};

extern const struct page_part config_parts[], columns_parts[];

#endif
