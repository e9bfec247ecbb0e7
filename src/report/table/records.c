/* Reading result files back (src/report/table/records.h). */
#include "report/table/records.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/table/whole.h"

struct scan {
    struct report_records *records;
    const char *path;
    char *next;
    size_t line, capacity, used;
    struct shv_message *message;
};

static enum shv_status wrong(const struct scan *s, const char *what)
{
    return shv_fail(s->message, SHV_BAD_INPUT,
                    "%s, line %zu: %s; this is no file that sheave wrote", s->path, s->line, what);
}

static bool add_cell(struct scan *s, char *cell)
{
    if (s->used == s->capacity) {
        size_t capacity = s->capacity ? 2 * s->capacity : 1024;
        char **more = realloc(s->records->cell, capacity * sizeof *more);
        if (!more) {
            return false;
        }
        s->records->cell = more;
        s->capacity = capacity;
    }
    s->records->cell[s->used++] = cell;
    return true;
}

/* Unquotes in place, *cell is what it reads; leaves `next` behind the field. False when a quote is
 * not closed or stands in a bare field. */
static bool read_field(struct scan *s, char **cell)
{
    char *from = s->next, *to = from;
    *cell = from;
    if (*from != '"') {
        s->next += strcspn(from, ",\r\n\"");
        return *s->next != '"';
    }
    for (from++; *from != '"' || from[1] == '"'; from++) {
        if (*from == '\0') {
            return false;
        }
        s->line += *from == '\n';
        from += *from == '"';
        *to++ = *from;
    }
    s->next = from + 1;
    *to = '\0';
    return true;
}

/* Fields up to the end of a record; *count of them. */
static enum shv_status read_record(struct scan *s, size_t *count)
{
    char end;
    *count = 0;
    do {
        char *cell;
        if (!read_field(s, &cell)) {
            return wrong(s, "a quote is out of place");
        }
        end = *s->next;
        if (end != ',' && (end != '\r' || s->next[1] != '\n')) {
            return wrong(s, "a record does not end with CR and LF");
        }
        *s->next = '\0';
        s->next += end == ',' ? 1 : 2;
        if (!add_cell(s, cell)) {
            return shv_fail(s->message, SHV_NO_MEMORY, "out of memory for %s", s->path);
        }
        (*count)++;
    } while (end == ',');
    return SHV_OK;
}

static enum shv_status scan_all(struct scan *s)
{
    struct report_records *r = s->records;
    enum shv_status status = SHV_OK;
    for (s->line = 1; status == SHV_OK && *s->next != '\0'; s->line++) {
        size_t count;
        status = read_record(s, &count);
        if (status == SHV_OK && r->columns == 0) {
            r->columns = count;
        } else if (status == SHV_OK && count != r->columns) {
            status = wrong(s, "more or fewer fields than the header has");
        } else if (status == SHV_OK) {
            r->rows++;
        }
    }
    return status == SHV_OK && r->columns == 0 ? wrong(s, "there is no header") : status;
}

enum shv_status report_records_read(const char *folder, const char *name,
                                    struct report_records *records, struct shv_message *message)
{
    *records = (struct report_records){0};
    char *path;
    enum shv_status status = report_whole_read(folder, name, &records->text, &path, message);
    if (status == SHV_OK) {
        struct scan s = {
            .records = records, .path = path, .next = records->text, .message = message};
        status = scan_all(&s);
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
