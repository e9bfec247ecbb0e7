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

struct column_finder {
    const struct log_text *text;
    const struct shv_units *units;
    const struct shv_log_rules *rules;
    struct shv_diagnostics *findings;
};

bool log_is_missing(const char *text)
{
    static const char *const words[] = {"",    "-",    "--", "---",  "nan",
                                        "n/a", "n.a.", "na", "#n/a", "null"};
    if (*text >= '0' && *text <= '9') {
        return false; /* as most cells are */
    }
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

/* Factor and origin from two readings; 0 is no absolute pressure. False when it is no unit of the
 * quantity. */
static bool scale_of(const struct shv_units *units, enum shv_quantity quantity, const char *unit,
                     struct log_column *column)
{
    char text[LOG_NAME_MAX + 4];
    double one, two;
    struct shv_message unused;
    (void)snprintf(text, sizeof text, "1 %s", unit);
    if (shv_units_read(units, quantity, text, &one, &unused) != SHV_OK) {
        return false;
    }
    (void)snprintf(text, sizeof text, "2 %s", unit);
    bool has_origin = quantity == SHV_Q_TEMPERATURE;
    bool both = shv_units_read(units, quantity, text, &two, &unused) == SHV_OK;
    column->factor = has_origin ? two - one : one;
    column->origin = has_origin ? one - column->factor : 0.0;
    return both;
}

/* A volume is a unit of an air flow as well. */
static bool unit_of(const struct shv_units *units, enum shv_quantity quantity, const char *unit,
                    struct log_column *column)
{
    if (scale_of(units, quantity, unit, column)) {
        return true;
    }
    column->is_volume =
        quantity == SHV_Q_AIR_FLOW && scale_of(units, SHV_Q_VOLUME_FLOW, unit, column);
    return column->is_volume;
}

static char plain(char c)
{
    return c == '_' || c == '-' ? ' ' : (char)tolower((unsigned char)c);
}

/* What stands behind `name` in a title, whatever the case and with "_" and "-" as blanks; NULL when
 * the title does not begin with it or a word goes on. */
static const char *behind(const char *title, const char *name, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        if (plain(title[i]) != plain(name[i])) {
            return NULL;
        }
    }
    title += length;
    return *title == '\0' ? title : plain(*title) == ' ' ? title + 1 : NULL;
}

/* Whether a title is a name, with a unit behind it or not, which goes to `unit` unless one stood in
 * brackets. */
static bool is_named(const struct column_finder *f, enum shv_quantity quantity, const char *title,
                     const char *name, size_t length, char *unit)
{
    const char *rest = behind(title, name, length);
    struct log_column unused;
    if (rest != NULL && *rest != '\0' && unit[0] == '\0' &&
        unit_of(f->units, quantity, rest, &unused)) {
        memcpy(unit, rest, strlen(rest) + 1);
        return true;
    }
    return rest != NULL && *rest == '\0';
}

static bool is_one_of(const struct column_finder *f, const struct shv_log_want *want,
                      const char *title, char *unit)
{
    bool is = is_named(f, want->quantity, title, want->column, strlen(want->column), unit);
    for (const char *name = want->also; !is && *name != '\0';) {
        size_t length = strcspn(name, "|");
        is = is_named(f, want->quantity, title, name, length, unit);
        name += length + (name[length] == '|' ? 1 : 0);
    }
    return is;
}

/* "rpm" and "engine rpm" name a speed by its unit: the last word of the title, where that reads as
 * one. */
static void unit_of_title(const struct column_finder *f, const struct shv_log_want *want,
                          const char *title, char *unit)
{
    const char *space = strrchr(title, ' '), *word = space == NULL ? title : space + 1;
    struct log_column unused;
    if (unit[0] == '\0' && want->quantity == SHV_Q_ROTATION &&
        scale_of(f->units, SHV_Q_ROTATION, word, &unused)) {
        memcpy(unit, word, strlen(word) + 1);
    }
}

/* Whether a cell of the header is what is wanted, and the unit that it says, "" for none. */
static bool is_title(const struct column_finder *f, const struct shv_log_want *want,
                     struct log_cell cell, bool whole, char *unit)
{
    char title[LOG_NAME_MAX];
    unit[0] = '\0';
    log_cell_copy(cell, title, sizeof title);
    if (!whole) {
        split_title(title, unit);
    }
    return want->also != NULL ? is_one_of(f, want, title, unit) : strcmp(title, want->column) == 0;
}

/* How often a header has a column by its full text, or else by the text ahead of its unit; *cell is
 * the last. */
static size_t find_column(const struct column_finder *f, const struct log_table *table,
                          const struct log_record *record, const struct shv_log_want *want,
                          size_t *cell)
{
    size_t count = 0;
    for (int whole = want->also != NULL ? 0 : 1; whole >= 0 && count == 0; whole--) {
        for (size_t i = 0; i < record->cells; i++) {
            char unit[LOG_NAME_MAX];
            if (is_title(f, want, log_cell_of(table, record, i), whole == 1, unit)) {
                count++;
                *cell = i;
            }
        }
    }
    return count;
}

static size_t score(const struct column_finder *f, const struct log_table *table,
                    const struct log_record *record)
{
    size_t found = 0, cell;
    for (size_t i = 0; i < f->rules->wants; i++) {
        found += find_column(f, table, record, &f->rules->want[i], &cell) > 0 ? 1 : 0;
    }
    return found;
}

static void tell_missing(const struct column_finder *f, const struct log_table *table,
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
    shv_diagnostics_add(f->findings, false, "%s:%zu: the header has no column \"%s\"%s%s%s",
                        f->text->path, record->line, name, near ? "; did you mean \"" : "",
                        near ? meant : "", near ? "\"?" : "");
}

static void find_columns(const struct column_finder *f, const struct log_table *table,
                         struct log_head *head)
{
    const struct log_record *record = &table->record[head->record];
    head->reach = 0;
    for (size_t i = 0; i < f->rules->wants; i++) {
        const struct shv_log_want *want = &f->rules->want[i];
        size_t cell = SIZE_MAX, count = find_column(f, table, record, want, &cell);
        if (count == 0 && !want->may_lack) {
            tell_missing(f, table, record, want->column);
        } else if (count > 1) {
            shv_diagnostics_add(f->findings, false,
                                "%s:%zu: the header has the column \"%s\" %zu times", f->text->path,
                                record->line, want->column, count);
        }
        head->column[i] = (struct log_column){.cell = cell, .factor = 1.0};
        head->reach = cell != SIZE_MAX && cell + 1 > head->reach ? cell + 1 : head->reach;
    }
}

/* ---- units ---- */

/* "" for one that says that there is none. */
static const char *said_unit(const struct shv_log_want *want, const char *unit)
{
    bool none = strcmp(unit, "-") == 0 || strcmp(unit, "1") == 0;
    return want->quantity == SHV_Q_NUMBER && none ? "" : unit;
}

static void use_unit(const struct column_finder *f, const struct shv_log_want *w, const char *unit,
                     size_t line, struct log_column *column)
{
    unit = said_unit(w, unit);
    (void)snprintf(column->unit, sizeof column->unit, "%s", unit);
    if (unit[0] == '\0' && w->quantity != SHV_Q_NUMBER) {
        shv_diagnostics_add(f->findings, false,
                            "%s:%zu: column \"%s\": no unit is said; accepted: that of %s, in "
                            "brackets behind the title, in a row of units%s",
                            f->text->path, line, w->column, shv_quantity_accepts(w->quantity),
                            w->also != NULL ? "" : ", or as `unit` of the column in the study");
    } else if (unit[0] != '\0' && !unit_of(f->units, w->quantity, unit, column)) {
        shv_diagnostics_add(f->findings, false,
                            "%s:%zu: column \"%s\": found the unit \"%s\"; accepted: that of %s%s",
                            f->text->path, line, w->column, unit, shv_quantity_accepts(w->quantity),
                            w->unit == NULL && w->also == NULL
                                ? ", or say it as `unit` of the column in the study"
                                : "");
    }
}

/* Whether a text is a unit of something. */
static bool is_unit(const struct column_finder *f, const char *unit)
{
    struct log_column unused;
    for (int i = SHV_Q_NUMBER + 1; i < SHV_Q_COUNT; i++) {
        if (scale_of(f->units, (enum shv_quantity)i, unit, &unused)) {
            return true;
        }
    }
    return false;
}

/* A unit of the log that reads, but says something else than the study, is no matter of taste. */
static void check_said(const struct column_finder *f, const struct shv_log_want *w,
                       const char *unit, size_t line, const struct log_column *column)
{
    struct log_column said = {.factor = 1.0};
    unit = said_unit(w, unit);
    bool reads =
        unit[0] == '\0' ? w->quantity == SHV_Q_NUMBER : unit_of(f->units, w->quantity, unit, &said);
    bool same = reads && fabs(said.factor - column->factor) <= SAME_UNIT * fabs(column->factor) &&
                fabs(said.origin - column->origin) <= SAME_UNIT * fabs(column->origin);
    if (!same && (reads || is_unit(f, unit))) {
        shv_diagnostics_add(f->findings, false,
                            "%s:%zu: column \"%s\": found the unit \"%s\", but the study says "
                            "\"%s\"; accepted: one unit in both, or none in the study",
                            f->text->path, line, w->column, unit, w->unit);
    }
}

/* A row below the header in which no column asked for has a number, but one at least has a text. */
static bool is_units_row(const struct column_finder *f, const struct log_table *table,
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

static void find_units(const struct column_finder *f, const struct log_table *table,
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
        if (want->role == SHV_LOG_RUN || column->cell == SIZE_MAX) {
            continue;
        }
        (void)is_title(f, want, log_cell_of(table, header, column->cell), false, unit);
        if (unit[0] == '\0' && head->units != SIZE_MAX && below != NULL) {
            log_cell_copy(log_cell_of(table, below, column->cell), unit, sizeof unit);
            line = below->line;
        }
        unit_of_title(f, want,
                      log_cell_copy(log_cell_of(table, header, column->cell), title, sizeof title),
                      unit);
        use_unit(f, want, want->unit != NULL ? want->unit : unit, line, column);
        if (want->unit != NULL && unit[0] != '\0') {
            check_said(f, want, unit, line, column);
        }
    }
}

/* ---- the delimiter ---- */

/* The record with most of the columns; its score, 0 for none. */
static size_t best_header(const struct column_finder *f, const struct log_table *table,
                          size_t *record)
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
static enum shv_status find_delimiter(const struct column_finder *f, struct log_head *head)
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
            shv_diagnostics_add(f->findings, false, "out of memory for %s", f->text->path);
            return status;
        }
        if (now > best) {
            best = now;
            head->delimiter = *d;
            head->record = record;
        }
    }
    if (best == 0) {
        shv_diagnostics_add(f->findings, false,
                            "%s: no header: none of the first %d lines that are neither blank nor "
                            "comments has the column \"%s\" or another of those asked for, whether "
                            "cells end at tabs, semicolons or commas",
                            f->text->path, HEAD_RECORDS, f->rules->want[0].column);
    }
    return best == 0 ? SHV_BAD_INPUT : SHV_OK;
}

enum shv_status log_head_find(const struct log_text *text, const struct shv_units *units,
                              const struct shv_log_rules *rules, struct log_head *head,
                              struct log_table *table, struct shv_diagnostics *findings)
{
    const struct column_finder f = {text, units, rules, findings};
    struct shv_message message;
    *head = (struct log_head){.delimiter = ','};
    *table = (struct log_table){0};
    enum shv_status status = find_delimiter(&f, head);
    if (status != SHV_OK) {
        return status;
    }
    status = log_table_parse(text, head->delimiter, SIZE_MAX, table, &message);
    if (status == SHV_OK && table->record == NULL) {
        status = shv_fail(&message, SHV_BAD_INPUT, "%s: no header", text->path);
    }
    if (status != SHV_OK) {
        shv_diagnostics_add(findings, false, "%s", message.text);
        return status;
    }
    find_columns(&f, table, head);
    find_units(&f, table, head);
    return SHV_OK;
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
