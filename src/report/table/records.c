/* Reading result files back (src/report/table/records.h). */
#include "report/table/records.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/table/whole.h"
#include "study/log_text.h"

/* The text of a cell in place, ended by a NUL, where its end or its quote stood. */
static char *end_cell(struct log_text *text, struct log_cell cell)
{
    char *at = text->bytes + (cell.at - text->bytes), *to = at;
    for (size_t i = 0; i < cell.length; i++) {
        i += cell.quoted && at[i] == '"'; /* doubled inside */
        *to++ = at[i];
    }
    *to = '\0';
    return at;
}

static enum shv_status take_cells(struct report_records *r, struct log_text *text,
                                  const struct log_table *table, struct shv_message *message)
{
    r->columns = table->records > 0 ? table->record[0].cells : 0;
    r->cell = calloc(table->cells + 1, sizeof *r->cell);
    if (!r->cell) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", text->path);
    }
    for (size_t i = 0; i < table->records; i++) {
        if (table->record[i].cells != r->columns) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "%s:%zu: more or fewer cells than the header has; this is no file that "
                            "sheave wrote",
                            text->path, table->record[i].line);
        }
    }
    for (size_t i = 0; i < table->cells; i++) {
        r->cell[i] = end_cell(text, table->cell[i]);
    }
    r->rows = table->records > 0 ? table->records - 1 : 0;
    return r->columns > 0
               ? SHV_OK
               : shv_fail(message, SHV_BAD_INPUT,
                          "%s: there is no header; this is no file that sheave wrote", text->path);
}

enum shv_status report_records_read(const char *folder, const char *name,
                                    struct report_records *records, struct shv_message *message)
{
    *records = (struct report_records){0};
    char *path;
    enum shv_status status = report_whole_read(folder, name, &records->text, &path, message);
    if (status == SHV_OK) {
        struct log_text text = {.path = path,
                                .bytes = records->text,
                                .size = strlen(records->text),
                                .no_comments = true};
        struct log_table table;
        status = log_table_parse(&text, ',', SIZE_MAX, &table, message);
        status = status == SHV_OK ? take_cells(records, &text, &table, message) : status;
        log_table_free(&table);
    }
    free(path);
    if (status != SHV_OK) {
        report_records_free(records);
    }
    return status;
}

void report_records_free(struct report_records *records)
{
    free(records->cell);
    free(records->text);
    *records = (struct report_records){0};
}

size_t report_records_find(const struct report_records *records, const char *name)
{
    for (size_t i = 0; i < records->columns; i++) {
        if (strcmp(records->cell[i], name) == 0) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

size_t report_records_begins(const struct report_records *records, const char *prefix)
{
    for (size_t i = 0; i < records->columns; i++) {
        if (strncmp(records->cell[i], prefix, strlen(prefix)) == 0) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

size_t report_records_column(const struct report_records *records, const char *stem,
                             enum report_measure measure, enum shv_unit_system system)
{
    char name[128];
    (void)snprintf(name, sizeof name, "%s%s", stem, report_unit(measure, system)->suffix);
    return report_records_find(records, name);
}

const char *report_records_name(const struct report_records *records, size_t column)
{
    return column < records->columns ? records->cell[column] : "";
}

const char *report_records_text(const struct report_records *records, size_t row, size_t column)
{
    if (column >= records->columns || row >= records->rows) {
        return "";
    }
    const char *text = records->cell[(row + 1) * records->columns + column];
    return text[0] == '\'' && text[1] != '\0' && strchr("=+-@\t\r", text[1]) ? text + 1 : text;
}

double report_records_number(const struct report_records *records, size_t row, size_t column)
{
    const char *text = report_records_text(records, row, column);
    char *end;
    double value = strtod(text, &end);
    return end != text && *end == '\0' && isfinite(value) ? value : NAN;
}

const char *report_cell(const struct report_records *records, size_t row, const char *name)
{
    return report_records_text(records, row, report_records_find(records, name));
}

double report_cell_number(const struct report_records *records, size_t row, const char *name)
{
    return report_records_number(records, row, report_records_find(records, name));
}

bool report_records_says(const struct report_records *records, size_t column, size_t rows)
{
    for (size_t row = 0; row < rows; row++) {
        if (report_records_text(records, row, column)[0] != '\0') {
            return true;
        }
    }
    return false;
}

static int in_order(const struct report_row_value *x, double a, const struct report_row_value *y,
                    double b)
{
    if (a != b && !(isnan(a) && isnan(b))) {
        return a < b || isnan(b) ? -1 : 1;
    }
    return x->row < y->row ? -1 : 1;
}

static int by_least(const void *a, const void *b)
{
    const struct report_row_value *x = a, *y = b;
    return in_order(x, x->value, y, y->value);
}

static int by_most(const void *a, const void *b)
{
    const struct report_row_value *x = a, *y = b;
    return in_order(x, -fabs(x->value), y, -fabs(y->value));
}

void report_least_first(struct report_row_value *list, size_t count)
{
    qsort(list, count, sizeof *list, by_least);
}

void report_most_first(struct report_row_value *list, size_t count)
{
    qsort(list, count, sizeof *list, by_most);
}
