/* The head of a log (log_head.h). */
#include "study/log_head.h"

#include <ctype.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "study/nearest.h"

#define HEAD_RECORDS 200 /* among which the header is looked for */
#define NOT_FOUND SIZE_MAX
#define SAME_UNIT 1e-9

struct finder {
    const struct log_text *text;
    const struct shv_units *units;
    const struct shv_log_rules *rules;
    struct shv_message *message;
};

bool log_is_missing(const char *text)
{
    static const char *const words[] = {"",    "-",    "--", "---",  "nan",
                                        "n/a", "n.a.", "na", "#n/a", "null"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        if (strcasecmp(text, words[i]) == 0) {
            return true;
        }
    }
    return false;
}

bool log_is_number(const char *text)
{
    size_t digits = 0, marks = 0;
    text += *text == '+' || *text == '-' ? 1 : 0;
    for (; isdigit((unsigned char)*text) || *text == ',' || *text == '.'; text++) {
        digits += isdigit((unsigned char)*text) ? 1 : 0;
        marks += isdigit((unsigned char)*text) ? 0 : 1;
    }
    if (digits == 0 || marks > 1) {
        return false;
    }
    if (*text == 'e' || *text == 'E') {
        text++;
        text += *text == '+' || *text == '-' ? 1 : 0;
        size_t exponent = strspn(text, "0123456789");
        return exponent > 0 && text[exponent] == '\0';
    }
    return *text == '\0';
}

/* ---- columns ---- */

/* Splits "boost [psi]" and "boost (psi)" in two; the unit is "" where there is none. */
static void split_title(char *title, char *unit)
{
    unit[0] = '\0';
    size_t length = strlen(title);
    char open = length == 0                ? '\0'
                : title[length - 1] == ']' ? '['
                : title[length - 1] == ')' ? '('
                                           : '\0';
    char *start = open == '\0' ? NULL : strrchr(title, open);
    if (start == NULL || start == title) {
        return;
    }
    title[length - 1] = '\0';
    memcpy(unit, start + 1, strlen(start + 1) + 1);
    while (start > title && isspace((unsigned char)start[-1])) {
        start--;
    }
    *start = '\0';
}

/* How often a header has a column by its full text, or by the text ahead of its unit; *cell is the
 * last. */
static size_t count_matches(const struct log_table *table, const struct log_record *record,
                            const char *name, bool whole, size_t *cell)
{
    size_t count = 0;
    for (size_t i = 0; i < record->cells; i++) {
        char title[LOG_NAME_MAX], unit[LOG_NAME_MAX];
        log_cell_copy(log_cell_of(table, record, i), title, sizeof title);
        if (!whole) {
            split_title(title, unit);
        }
        if (strcmp(title, name) == 0) {
            count++;
            *cell = i;
        }
    }
    return count;
}

static size_t find_column(const struct log_table *table, const struct log_record *record,
                          const char *name, size_t *cell)
{
    size_t whole = count_matches(table, record, name, true, cell);
    return whole > 0 ? whole : count_matches(table, record, name, false, cell);
}

static size_t score(const struct finder *f, const struct log_table *table,
                    const struct log_record *record)
{
    size_t found = 0, cell;
    for (size_t i = 0; i < f->rules->wants; i++) {
        found += find_column(table, record, f->rules->want[i].column, &cell) > 0 ? 1 : 0;
    }
    return found;
}

static enum shv_status tell_missing(const struct finder *f, const struct log_table *table,
                                    const struct log_record *record, const char *name)
{
    char meant[LOG_NAME_MAX] = "";
    struct nearest nearest = {meant, SIZE_MAX};
    for (size_t i = 0; i < record->cells; i++) {
        char title[LOG_NAME_MAX], unit[LOG_NAME_MAX];
        log_cell_copy(log_cell_of(table, record, i), title, sizeof title);
        split_title(title, unit);
        size_t distance = edit_distance(name, title);
        if (distance < nearest.distance) {
            nearest.distance = distance;
            memcpy(meant, title, sizeof title);
        }
    }
    bool near = nearest_word(&nearest, name) != NULL;
    return shv_fail(f->message, SHV_BAD_INPUT, "%s:%zu: the header has no column \"%s\"%s%s%s",
                    f->text->path, record->line, name, near ? "; did you mean \"" : "",
                    near ? meant : "", near ? "\"?" : "");
}

static enum shv_status find_columns(const struct finder *f, const struct log_table *table,
                                    struct log_head *head)
{
    const struct log_record *record = &table->record[head->record];
    head->reach = 0;
    for (size_t i = 0; i < f->rules->wants; i++) {
        const char *name = f->rules->want[i].column;
        size_t cell = 0, count = find_column(table, record, name, &cell);
        if (count == 0) {
            return tell_missing(f, table, record, name);
        }
        if (count > 1) {
            return shv_fail(f->message, SHV_BAD_INPUT,
                            "%s:%zu: the header has the column \"%s\" %zu times", f->text->path,
                            record->line, name, count);
        }
        head->column[i] = (struct log_column){.cell = cell, .factor = 1.0};
        head->reach = cell + 1 > head->reach ? cell + 1 : head->reach;
    }
    return SHV_OK;
}

/* ---- units ---- */

/* Factor and origin from two readings; 0 is no absolute pressure. */
static enum shv_status scale_of(const struct shv_units *units, enum shv_quantity quantity,
                                const char *unit, struct log_column *column,
                                struct shv_message *message)
{
    char text[LOG_NAME_MAX + 4];
    double one, two;
    (void)snprintf(text, sizeof text, "1 %s", unit);
    enum shv_status status = shv_units_read(units, quantity, text, &one, message);
    if (status != SHV_OK) {
        return status;
    }
    (void)snprintf(text, sizeof text, "2 %s", unit);
    status = shv_units_read(units, quantity, text, &two, message);
    bool has_origin = quantity == SHV_Q_TEMPERATURE;
    column->factor = has_origin ? two - one : one;
    column->origin = has_origin ? one - column->factor : 0.0;
    return status;
}

static enum shv_status use_unit(const struct finder *f, size_t want, const char *unit, size_t line,
                                struct log_column *column)
{
    struct shv_message why;
    const struct shv_log_want *w = &f->rules->want[want];
    bool none = w->quantity == SHV_Q_NUMBER && (strcmp(unit, "-") == 0 || strcmp(unit, "1") == 0);
    unit = none ? "" : unit;
    (void)snprintf(column->unit, sizeof column->unit, "%s", unit);
    if (unit[0] == '\0' && w->quantity != SHV_Q_NUMBER) {
        return shv_fail(f->message, SHV_BAD_INPUT,
                        "%s:%zu: column \"%s\": no unit is said; accepted: that of %s, in brackets "
                        "behind the title, in a row of units, or as `unit` of the column in the "
                        "study",
                        f->text->path, line, w->column, shv_quantity_accepts(w->quantity));
    }
    if (unit[0] == '\0' || scale_of(f->units, w->quantity, unit, column, &why) == SHV_OK) {
        return SHV_OK;
    }
    column->is_volume = w->quantity == SHV_Q_AIR_FLOW &&
                        scale_of(f->units, SHV_Q_VOLUME_FLOW, unit, column, &why) == SHV_OK;
    if (column->is_volume) {
        return SHV_OK;
    }
    return shv_fail(f->message, SHV_BAD_INPUT,
                    "%s:%zu: column \"%s\": found the unit \"%s\"; accepted: that of %s%s",
                    f->text->path, line, w->column, unit, shv_quantity_accepts(w->quantity),
                    w->unit == NULL ? ", or say it as `unit` of the column in the study" : "");
}

/* "rpm" and "engine rpm" name a speed by its unit: the last word of the title, where that reads as
 * one. */
static void unit_of_title(const struct finder *f, size_t want, const char *title, char *unit)
{
    const char *space = strrchr(title, ' '), *word = space == NULL ? title : space + 1;
    struct log_column column;
    struct shv_message why;
    if (f->rules->want[want].quantity == SHV_Q_ROTATION &&
        scale_of(f->units, SHV_Q_ROTATION, word, &column, &why) == SHV_OK) {
        memcpy(unit, word, strlen(word) + 1);
    }
}

/* A unit of the log that reads, but says something else than the study, is no matter of taste. */
static enum shv_status check_said(const struct finder *f, size_t want, const char *unit,
                                  size_t line, const struct log_column *column)
{
    const struct shv_log_want *w = &f->rules->want[want];
    struct log_column said = {.factor = 1.0};
    struct shv_message ignored;
    struct finder quiet = *f;
    quiet.message = &ignored;
    if (use_unit(&quiet, want, unit, line, &said) != SHV_OK ||
        (fabs(said.factor - column->factor) <= SAME_UNIT * fabs(column->factor) &&
         fabs(said.origin - column->origin) <= SAME_UNIT * fabs(column->origin))) {
        return SHV_OK;
    }
    return shv_fail(
        f->message, SHV_BAD_INPUT,
        "%s:%zu: column \"%s\": found the unit \"%s\", but the study says \"%s\"; accepted: "
        "one unit in both, or none in the study",
        f->text->path, line, w->column, unit, w->unit);
}

/* A row below the header in which no column asked for has a number, but one at least has a text. */
static bool is_units_row(const struct finder *f, const struct log_table *table,
                         const struct log_head *head, const struct log_record *record)
{
    bool text = false;
    for (size_t i = 0; i < f->rules->wants; i++) {
        char cell[LOG_NAME_MAX];
        log_cell_copy(log_cell_of(table, record, head->column[i].cell), cell, sizeof cell);
        bool of_run = f->rules->want[i].role == SHV_LOG_RUN;
        if (!of_run && log_is_number(cell)) {
            return false;
        }
        text = text || (!of_run && !log_is_missing(cell));
    }
    return text;
}

static enum shv_status find_units(const struct finder *f, const struct log_table *table,
                                  struct log_head *head)
{
    const struct log_record *header = &table->record[head->record];
    const struct log_record *below = head->record + 1 < table->records ? header + 1 : NULL;
    head->units =
        below != NULL && is_units_row(f, table, head, below) ? head->record + 1 : SIZE_MAX;
    head->first = head->record + (head->units == SIZE_MAX ? 1 : 2);
    for (size_t i = 0; i < f->rules->wants; i++) {
        const struct shv_log_want *want = &f->rules->want[i];
        struct log_column *column = &head->column[i];
        char title[LOG_NAME_MAX], unit[LOG_NAME_MAX];
        size_t line = header->line;
        if (want->role == SHV_LOG_RUN) {
            continue;
        }
        log_cell_copy(log_cell_of(table, header, column->cell), title, sizeof title);
        split_title(title, unit);
        if (unit[0] == '\0' && head->units != SIZE_MAX && below != NULL) {
            log_cell_copy(log_cell_of(table, below, column->cell), unit, sizeof unit);
            line = below->line;
        }
        if (unit[0] == '\0') {
            unit_of_title(f, i, title, unit);
        }
        enum shv_status status =
            use_unit(f, i, want->unit != NULL ? want->unit : unit, line, column);
        if (status == SHV_OK && want->unit != NULL && unit[0] != '\0') {
            status = check_said(f, i, unit, line, column);
        }
        if (status != SHV_OK) {
            return status;
        }
    }
    return SHV_OK;
}

/* ---- the delimiter ---- */

/* The record with most of the columns; its score, 0 for none. */
static size_t best_header(const struct finder *f, const struct log_table *table, size_t *record)
{
    size_t best = 0;
    for (size_t i = 0; i < table->records; i++) {
        size_t now = score(f, table, &table->record[i]);
        if (now > best) {
            best = now;
            *record = i;
        }
    }
    return best;
}

/* A text that does not parse with one delimiter may with another: what was found up to there still
 * counts. */
static enum shv_status find_delimiter(const struct finder *f, struct log_head *head)
{
    static const char delimiters[] = "\t;,";
    size_t best = 0;
    for (const char *d = delimiters; *d != '\0'; d++) {
        struct log_table table;
        struct shv_message ignored;
        enum shv_status status = log_table_parse(f->text, *d, HEAD_RECORDS, &table, &ignored);
        size_t record = 0, now = status == SHV_NO_MEMORY ? 0 : best_header(f, &table, &record);
        log_table_free(&table);
        if (status == SHV_NO_MEMORY) {
            return shv_fail(f->message, status, "out of memory for %s", f->text->path);
        }
        if (now > best) {
            best = now;
            head->delimiter = *d;
            head->record = record;
        }
    }
    if (best == 0) {
        return shv_fail(f->message, SHV_BAD_INPUT,
                        "%s: no header: none of the first %d lines that are neither blank nor "
                        "comments has the column \"%s\" or another of those asked for, whether "
                        "cells end at tabs, semicolons or commas",
                        f->text->path, HEAD_RECORDS, f->rules->want[0].column);
    }
    return SHV_OK;
}

enum shv_status log_head_find(const struct log_text *text, const struct shv_units *units,
                              const struct shv_log_rules *rules, struct log_head *head,
                              struct log_table *table, struct shv_message *message)
{
    const struct finder f = {text, units, rules, message};
    *head = (struct log_head){.delimiter = ','};
    *table = (struct log_table){0};
    enum shv_status status = find_delimiter(&f, head);
    if (status == SHV_OK) {
        status = log_table_parse(text, head->delimiter, SIZE_MAX, table, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    if (table->record == NULL) {
        return shv_fail(message, SHV_BAD_INPUT, "%s: no header", text->path);
    }
    status = find_columns(&f, table, head);
    return status == SHV_OK ? find_units(&f, table, head) : status;
}

static bool same_cells(const struct log_head *head, const struct log_table *table,
                       const struct log_record *a, const struct log_record *b, size_t wants)
{
    for (size_t i = 0; i < wants; i++) {
        struct log_cell x = log_cell_of(table, a, head->column[i].cell);
        struct log_cell y = log_cell_of(table, b, head->column[i].cell);
        if (x.length != y.length || memcmp(x.at, y.at, x.length) != 0) {
            return false;
        }
    }
    return true;
}

bool log_head_repeats(const struct log_head *head, const struct log_table *table,
                      const struct log_record *record, size_t wants)
{
    return same_cells(head, table, record, &table->record[head->record], wants) ||
           (head->units != SIZE_MAX &&
            same_cells(head, table, record, &table->record[head->units], wants));
}
