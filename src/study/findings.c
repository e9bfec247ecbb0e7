/* Findings of the reader: where they stand, what they say, and their order. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "study/reader.h"
#include "study/source.h"

#define TEXT_MAX 2048
#define PATH_MAX_TEXT 512
#define FINDINGS_MAX 1000 /* told of one study */

struct finding {
    size_t file; /* index in the reader's files */
    unsigned line;
    size_t order; /* of discovery, to keep the sort stable */
    bool is_warning;
    char *text; /* owned */
};

bool reader_add_file(struct reader *reader, const char *name)
{
    size_t count = reader->file_count;
    char **files = realloc(reader->files, (count + 1) * sizeof *files);
    if (files == NULL) {
        reader->out_of_memory = true;
        return false;
    }
    reader->files = files;
    files[count] = strdup(name);
    if (files[count] == NULL) {
        reader->out_of_memory = true;
        return false;
    }
    reader->file_count++;
    return true;
}

static size_t file_index(const struct reader *reader, const char *name)
{
    size_t i = 0;
    while (i < reader->file_count && strcmp(reader->files[i], name) != 0) {
        i++;
    }
    return i;
}

/* Included files are named relative to the study's folder; libconfig keeps only that name. */
static char *full_path(const struct reader *reader, const char *name)
{
    return source_join(strcmp(name, reader->path) == 0 ? "" : reader->directory, name);
}

const char *reader_place(const struct reader *reader, unsigned whole_line, unsigned *line)
{
    size_t i = reader->stretches;
    while (i > 1 && reader->stretch[i - 1].first > whole_line) {
        i--;
    }
    *line = whole_line == 0 ? 1 : whole_line;
    if (i == 0) {
        return reader->path;
    }
    const struct stretch *stretch = &reader->stretch[i - 1];
    *line = stretch->line + (whole_line > stretch->first ? whole_line - stretch->first : 0);
    return reader->files[stretch->file];
}

char *reader_file_of(const struct reader *reader, const config_setting_t *setting)
{
    unsigned line;
    return full_path(reader, reader_place(reader, config_setting_source_line(setting), &line));
}

static bool make_room(struct reader *reader)
{
    if (reader->finding_count < reader->finding_capacity) {
        return true;
    }
    size_t capacity = reader->finding_capacity == 0 ? 16 : reader->finding_capacity * 2;
    struct finding *findings = realloc(reader->findings, capacity * sizeof *findings);
    if (findings == NULL) {
        return false;
    }
    reader->findings = findings;
    reader->finding_capacity = capacity;
    return true;
}

/* Counts a finding; false when there are so many that it is not told. */
static bool is_told(struct reader *reader, bool is_warning)
{
    reader->errors += is_warning ? 0 : 1;
    return reader->finding_count < FINDINGS_MAX;
}

/* Adds "FILE:LINE: PATH: what", or without "PATH: " when there is none. */
static void add(struct reader *reader, bool is_warning, const char *name, unsigned line,
                const char *path, const char *what)
{
    char *file = full_path(reader, name);
    size_t size = file == NULL ? 0 : strlen(file) + strlen(path) + strlen(what) + 32;
    char *text = file == NULL ? NULL : malloc(size);
    if (text == NULL || !make_room(reader)) {
        reader->out_of_memory = true;
        free(file);
        free(text);
        return;
    }
    snprintf(text, size, "%s:%u: %s%s%s", file, line, path, path[0] == '\0' ? "" : ": ", what);
    free(file);
    reader->findings[reader->finding_count] = (struct finding){.file = file_index(reader, name),
                                                               .line = line,
                                                               .order = reader->finding_count,
                                                               .is_warning = is_warning,
                                                               .text = text};
    reader->finding_count++;
}

static void append(char *path, const char *text)
{
    size_t used = strlen(path);
    snprintf(path + used, PATH_MAX_TEXT - used, "%s", text);
}

/* "engine.stock_torque[2][1]": names joined by points, entries of lists counted from 1. */
static void write_path(const config_setting_t *setting, char *path)
{
    if (setting == NULL || config_setting_is_root(setting)) {
        return;
    }
    write_path(config_setting_parent(setting), path);
    if (config_setting_name(setting) != NULL) {
        append(path, path[0] == '\0' ? "" : ".");
        append(path, config_setting_name(setting));
    } else {
        char index[32];
        snprintf(index, sizeof index, "[%d]", config_setting_index(setting) + 1);
        append(path, index);
    }
}

static void add_at_setting(struct reader *reader, bool is_warning, const config_setting_t *where,
                           const char *child, const char *format, va_list arguments)
{
    char path[PATH_MAX_TEXT] = "", what[TEXT_MAX];
    if (!is_told(reader, is_warning)) {
        return; /* a path is long to make up: libconfig counts the entries of a list */
    }
    where = where == NULL ? reader->root : where;
    const config_setting_t *member = child == NULL ? NULL : reader_member(where, child);
    if (member != NULL) { /* it has a line of its own */
        where = member;
        child = NULL;
    }
    write_path(where, path);
    if (child != NULL) {
        append(path, path[0] == '\0' ? "" : ".");
        append(path, child);
    }
    if (vsnprintf(what, sizeof what, format, arguments) >= (int)sizeof what) {
        memcpy(what + sizeof what - 4, "...", 4);
    }
    unsigned line = 1;
    const char *file = where == NULL
                           ? reader->path
                           : reader_place(reader, config_setting_source_line(where), &line);
    add(reader, is_warning, file, line, path, what);
}

void reader_error(struct reader *reader, const config_setting_t *where, const char *child,
                  const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_at_setting(reader, false, where, child, format, arguments);
    va_end(arguments);
}

void reader_warning(struct reader *reader, const config_setting_t *where, const char *child,
                    const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_at_setting(reader, true, where, child, format, arguments);
    va_end(arguments);
}

void reader_error_at(struct reader *reader, const char *file, unsigned line, const char *format,
                     ...)
{
    char what[TEXT_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    if (is_told(reader, false)) {
        add(reader, false, file, line, "", what);
    }
}

static int by_place(const void *a, const void *b)
{
    const struct finding *x = a, *y = b;
    if (x->file != y->file) {
        return x->file < y->file ? -1 : 1;
    }
    if (x->line != y->line) {
        return x->line < y->line ? -1 : 1;
    }
    return x->order < y->order ? -1 : x->order > y->order;
}

void reader_report(struct reader *reader)
{
    if (reader->finding_count > 0) {
        qsort(reader->findings, reader->finding_count, sizeof reader->findings[0], by_place);
    }
    for (size_t i = 0; i < reader->finding_count; i++) {
        const struct finding *finding = &reader->findings[i];
        shv_diagnostics_add(reader->diagnostics, finding->is_warning, "%s", finding->text);
    }
    if (reader->finding_count == FINDINGS_MAX) {
        shv_diagnostics_add(reader->diagnostics, true, "%s: more than these %d is not told",
                            reader->path, FINDINGS_MAX);
    }
    reader->diagnostics->out_of_memory |= reader->out_of_memory;
}

enum shv_status reader_begin(struct reader *reader, struct shv_units **units)
{
    struct shv_message message = {"no memory"};
    *units = NULL;
    sha256_init(&reader->hash);
    sha256_init(&reader->own_hash);
    reader->directory = source_directory(reader->path);
    enum shv_status status =
        reader->directory == NULL ? SHV_NO_MEMORY : shv_units_open(units, &message);
    reader->units = *units;
    if (status != SHV_OK) {
        shv_diagnostics_add(reader->diagnostics, false, "%s: %s", reader->path, message.text);
    }
    return status;
}

void reader_end(struct reader *reader, struct shv_units *units, enum shv_status status)
{
    if (status == SHV_NO_MEMORY && reader->diagnostics->errors == 0) {
        shv_diagnostics_add(reader->diagnostics, false, "%s: no memory", reader->path);
    }
    shv_units_free(units);
    for (size_t i = 0; i < reader->finding_count; i++) {
        free(reader->findings[i].text);
    }
    for (size_t i = 0; i < reader->file_count; i++) {
        free(reader->files[i]);
    }
    for (size_t i = 0; i < reader->key_count; i++) {
        free(reader->keys[i].name);
    }
    free(reader->keys);
    free(reader->findings);
    free(reader->files);
    free(reader->directory);
    free(reader->text);
    free(reader->whole);
    free(reader->stretch);
}
