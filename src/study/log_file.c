/* Reads a log (include/sheave/log_file.h). */
#include "sheave/log_file.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/log_head.h"
#include "study/log_rows.h"

#define RUNS_MOST 1000
#define ERRORS_MOST 20 /* told of one log */

struct loader {
    const char *path;
    const struct shv_log_rules *rules;
    struct log_head head;
    struct log_table table;
    struct shv_log *log;
    struct shv_diagnostics *findings;
    size_t errors; /* there were before this log */
};

static enum shv_status no_memory(const struct loader *l)
{
    shv_diagnostics_add(l->findings, false, "out of memory for %s", l->path);
    return SHV_NO_MEMORY;
}

/* Whether more errors would be too many; says so once. */
static bool is_enough(const struct loader *l)
{
    bool enough = l->findings->errors - l->errors >= ERRORS_MOST;
    if (enough) {
        shv_diagnostics_add(l->findings, false, "%s: what else may be wrong is not told", l->path);
    }
    return enough;
}

/* The text of a column in a record. */
static char *cell_text(const struct loader *l, const struct log_record *record, size_t want,
                       char text[LOG_NAME_MAX])
{
    return log_cell_copy(log_cell_of(&l->table, record, l->head.column[want].cell), text,
                         LOG_NAME_MAX);
}

/* ---- decimal comma or point ---- */

struct marks {
    size_t comma_line, point_line; /* where the first of each stands, 0: none */
    char comma[LOG_NAME_MAX], point[LOG_NAME_MAX];
};

static void note_mark(struct marks *m, const char *text, size_t line)
{
    bool comma = strchr(text, ',') != NULL;
    size_t *where = comma ? &m->comma_line : &m->point_line;
    if (*where == 0 && (comma || strchr(text, '.') != NULL)) {
        *where = line;
        memcpy(comma ? m->comma : m->point, text, strlen(text) + 1);
    }
}

static void find_mark(struct loader *l)
{
    struct marks m = {0};
    for (size_t r = l->head.first; r < l->table.records; r++) {
        const struct log_record *record = &l->table.record[r];
        for (size_t i = 0; i < l->rules->wants; i++) {
            char text[LOG_NAME_MAX];
            if (l->rules->want[i].role != SHV_LOG_RUN &&
                log_is_number(cell_text(l, record, i, text))) {
                note_mark(&m, text, record->line);
            }
        }
    }
    if (m.comma_line > 0 && m.point_line > 0) {
        shv_diagnostics_add(l->findings, false,
                            "%s:%zu: found \"%s\" here and \"%s\" on line %zu; accepted: decimal "
                            "commas or decimal points, not both, and nothing between thousands",
                            l->path, m.comma_line, m.comma, m.point, m.point_line);
    }
    l->log->decimal_comma = m.comma_line > 0;
}

/* ---- rows ---- */

static double read_value(const struct loader *l, const struct log_record *record, size_t want)
{
    char text[LOG_NAME_MAX];
    const struct log_column *column = &l->head.column[want];
    cell_text(l, record, want, text);
    if (log_is_missing(text)) {
        return NAN;
    }
    char *comma = strchr(text, ',');
    if (log_is_number(text)) {
        if (comma != NULL) {
            *comma = '.';
        }
        double value = column->factor * strtod(text, NULL) + column->origin;
        if (isfinite(value)) {
            return value;
        }
    }
    shv_diagnostics_add(l->findings, false,
                        "%s:%zu: column \"%s\" (cell %zu): found \"%s\"; accepted: a number, or "
                        "nothing where there is none",
                        l->path, record->line, l->rules->want[want].column, column->cell + 1, text);
    return NAN;
}

/* A shift of cells must not pass for numbers: what stands beyond the header is told. */
static bool has_width(const struct loader *l, const struct log_record *record)
{
    size_t header = l->table.record[l->head.record].cells;
    for (size_t i = header; i < record->cells; i++) {
        if (log_cell_of(&l->table, record, i).length > 0) {
            shv_diagnostics_add(
                l->findings, false, "%s:%zu: found %zu cells where the header has %zu%s", l->path,
                record->line, record->cells, header,
                l->head.delimiter == ','
                    ? "; decimal commas need cells in quotes or that end at semicolons"
                    : "");
            return false;
        }
    }
    return true;
}

/* The index of a run's text, which is added when it is new; SIZE_MAX when there is no room. */
static size_t run_of_text(struct shv_log *log, const char *text)
{
    for (size_t i = 0; i < log->runs; i++) {
        if (strcmp(log->run_name[i], text) == 0) {
            return i;
        }
    }
    if (log->runs == RUNS_MOST) {
        return SIZE_MAX;
    }
    log->run_name[log->runs] = strdup(text);
    return log->run_name[log->runs] != NULL ? log->runs++ : SIZE_MAX;
}

static enum shv_status read_row(const struct loader *l, const struct log_record *record)
{
    struct shv_log *log = l->log;
    double *value = log->value + log->rows * log->wants;
    size_t run = log->runs == 0 ? 0 : log->runs - 1;
    bool nameless = false;
    for (size_t i = 0; i < l->rules->wants; i++) {
        if (l->rules->want[i].role != SHV_LOG_RUN) {
            value[i] = read_value(l, record, i);
        } else {
            char text[LOG_NAME_MAX];
            value[i] = NAN;
            nameless = log_is_missing(cell_text(l, record, i, text));
            run = nameless ? 0 : run_of_text(log, text);
            if (run == SIZE_MAX && log->runs == RUNS_MOST) {
                shv_diagnostics_add(l->findings, false, "%s:%zu: more than %d runs", l->path,
                                    record->line, RUNS_MOST);
                return SHV_BAD_INPUT;
            }
            if (run == SIZE_MAX) {
                return no_memory(l);
            }
            if (nameless) {
                return log_note_drop(log, (struct shv_log_drop){record->line, SHV_LOG_MISSING, i});
            }
        }
    }
    log->row[log->rows++] = (struct shv_log_row){.line = record->line, .run = run, .merged = 1};
    return SHV_OK;
}

static bool by_text(const struct loader *l)
{
    for (size_t i = 0; i < l->rules->wants; i++) {
        if (l->rules->want[i].role == SHV_LOG_RUN) {
            return true;
        }
    }
    return false;
}

/* A header in the middle begins a run, unless a column says which run a row belongs to. */
static enum shv_status read_rows(struct loader *l)
{
    struct shv_log *log = l->log;
    bool named = by_text(l), fresh = true;
    for (size_t r = l->head.first; r < l->table.records; r++) {
        const struct log_record *record = &l->table.record[r];
        struct shv_log_drop drop = {.line = record->line, .want = SHV_LOG_NO_COLUMN};
        log->data_lines++;
        enum shv_status status = SHV_OK;
        if (log_head_repeats(&l->head, &l->table, record, l->rules->wants)) {
            drop.reason = SHV_LOG_REPEATED_HEADER;
            status = log_note_drop(log, drop);
            fresh = true;
        } else if (record->cells < l->head.reach) {
            drop.reason = SHV_LOG_CUT_SHORT;
            status = log_note_drop(log, drop);
        } else {
            log->runs += fresh && !named && log->runs < RUNS_MOST ? 1 : 0;
            fresh = false;
            status = has_width(l, record) ? read_row(l, record) : SHV_OK;
        }
        if (status == SHV_NO_MEMORY) {
            return no_memory(l);
        }
        if (status != SHV_OK || is_enough(l)) {
            return SHV_BAD_INPUT;
        }
    }
    return l->findings->errors > l->errors ? SHV_BAD_INPUT : SHV_OK;
}

static enum shv_status make_room(struct loader *l)
{
    struct shv_log *log = l->log;
    size_t rows = l->table.records - l->head.first + 1;
    if (l->rules->wants > SIZE_MAX / sizeof(double) / rows) {
        return no_memory(l);
    }
    log->wants = l->rules->wants;
    log->value = calloc(rows * log->wants, sizeof *log->value);
    log->row = calloc(rows, sizeof *log->row);
    log->run_name = calloc(RUNS_MOST, sizeof *log->run_name);
    log->unit = calloc(log->wants, sizeof *log->unit);
    log->factor = calloc(log->wants, sizeof *log->factor);
    log->origin = calloc(log->wants, sizeof *log->origin);
    log->is_volume = calloc(log->wants, sizeof *log->is_volume);
    log->path = strdup(l->path);
    bool good = log->value && log->row && log->run_name && log->unit && log->factor &&
                log->origin && log->is_volume && log->path;
    for (size_t i = 0; good && i < log->wants; i++) {
        log->unit[i] = strdup(l->head.column[i].unit);
        log->factor[i] = l->head.column[i].factor;
        log->origin[i] = l->head.column[i].origin;
        log->is_volume[i] = l->head.column[i].is_volume;
        good = log->unit[i] != NULL;
    }
    return good ? SHV_OK : no_memory(l);
}

static enum shv_status tell_empty(const struct loader *l)
{
    const struct shv_log *log = l->log;
    char why[256] = "";
    size_t used = 0;
    for (int i = 0; i < SHV_LOG_REASONS; i++) {
        if (log->dropped[i] > 0 && used < sizeof why) {
            int length = snprintf(why + used, sizeof why - used, "%s%zu %s", used > 0 ? ", " : ": ",
                                  log->dropped[i], shv_log_drop_words((enum shv_log_drop_reason)i));
            used += length > 0 ? (size_t)length : 0;
        }
    }
    shv_diagnostics_add(l->findings, false, "%s: no row is left of %zu below the header%s", l->path,
                        log->data_lines, why);
    return SHV_BAD_INPUT;
}

static int by_line(const void *a, const void *b)
{
    size_t x = ((const struct shv_log_drop *)a)->line, y = ((const struct shv_log_drop *)b)->line;
    return x < y ? -1 : x > y ? 1 : 0;
}

static enum shv_status load(struct loader *l)
{
    struct shv_log *log = l->log;
    log->delimiter = l->head.delimiter;
    log->header_line = l->table.record[l->head.record].line;
    log->units_line = l->head.units == SIZE_MAX ? 0 : l->table.record[l->head.units].line;
    log->lines = l->table.lines;
    enum shv_status status = make_room(l);
    if (status == SHV_OK) {
        find_mark(l);
        status = read_rows(l);
    }
    if (status == SHV_OK && log_rows_keep(l->rules, log) != SHV_OK) {
        status = no_memory(l);
    }
    if (status == SHV_OK && log->drops > 0) {
        qsort(log->drop, log->drops, sizeof *log->drop, by_line);
    }
    return status == SHV_OK && log->rows == 0 ? tell_empty(l) : status;
}

enum shv_status shv_log_read(const char *path, const struct shv_units *units,
                             const struct shv_log_rules *rules, struct shv_log *log,
                             struct shv_diagnostics *findings)
{
    struct loader l = {
        .path = path, .rules = rules, .log = log, .findings = findings, .errors = findings->errors};
    struct log_text text;
    struct shv_message message;
    *log = (struct shv_log){0};
    if (rules->wants == 0 || rules->wants > SHV_LOG_WANTS_MOST) {
        shv_diagnostics_add(findings, false, "%s: 1 to %d columns can be asked for", path,
                            SHV_LOG_WANTS_MOST);
        return SHV_BAD_INPUT;
    }
    enum shv_status status = log_text_read(path, &text, &message);
    if (status != SHV_OK) {
        shv_diagnostics_add(findings, false, "%s", message.text);
        return status;
    }
    status = log_head_find(&text, units, rules, &l.head, &l.table, findings);
    status = status == SHV_OK ? load(&l) : status;
    log_table_free(&l.table);
    log_text_free(&text);
    if (status != SHV_OK) {
        shv_log_free(log);
    }
    return status;
}

enum shv_status shv_log_columns(const char *path, const struct shv_units *units,
                                const struct shv_log_want *want, size_t wants, bool *there,
                                struct shv_message *message)
{
    const struct shv_log_rules rules = {
        .want = want, .wants = wants, .speed = SHV_LOG_NO_COLUMN, .throttle = SHV_LOG_NO_COLUMN};
    struct shv_diagnostics unused = {0};
    struct log_text text;
    struct log_table table;
    struct log_head head;
    enum shv_status status = log_text_read(path, &text, message);
    if (status != SHV_OK) {
        return status;
    }
    status = log_head_find(&text, units, &rules, &head, &table, &unused);
    for (size_t i = 0; i < wants; i++) {
        there[i] = status == SHV_OK && head.column[i].cell != SIZE_MAX;
    }
    log_table_free(&table);
    log_text_free(&text);
    shv_diagnostics_free(&unused);
    return status == SHV_NO_MEMORY ? shv_fail(message, status, "out of memory for %s", path)
                                   : SHV_OK;
}

void shv_log_free(struct shv_log *log)
{
    for (size_t i = 0; log->run_name != NULL && i < log->runs; i++) {
        free(log->run_name[i]);
    }
    for (size_t i = 0; log->unit != NULL && i < log->wants; i++) {
        free(log->unit[i]);
    }
    free(log->run_name);
    free(log->unit);
    free(log->factor);
    free(log->origin);
    free(log->is_volume);
    free(log->path);
    free(log->value);
    free(log->row);
    free(log->drop);
    *log = (struct shv_log){0};
}
