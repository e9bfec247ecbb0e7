/* Records and cells of a delimited text (log_text.h). */
#include "study/log_text.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define FIRST_ROOM 4096

/* ---- the file ---- */

static enum shv_status grow(struct log_text *text, size_t *room, struct shv_message *message)
{
    if (*room >= LOG_BYTES_MOST) {
        return shv_fail(message, SHV_BAD_INPUT, "%s: longer than %zu MB", text->path,
                        LOG_BYTES_MOST >> 20);
    }
    size_t wanted = *room == 0 ? FIRST_ROOM : 2 * *room;
    char *grown = realloc(text->bytes, wanted + 1);
    if (grown == NULL) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", text->path);
    }
    text->bytes = grown;
    *room = wanted;
    return SHV_OK;
}

static enum shv_status read_all(FILE *file, struct log_text *text, struct shv_message *message)
{
    size_t room = 0;
    for (;;) {
        if (text->size == room) {
            enum shv_status status = grow(text, &room, message);
            if (status != SHV_OK) {
                return status;
            }
        }
        size_t got = fread(text->bytes + text->size, 1, room - text->size, file);
        text->size += got;
        if (got == 0) {
            break;
        }
    }
    if (ferror(file)) {
        return shv_fail(message, SHV_IO, "%s: cannot read: %s", text->path, strerror(errno));
    }
    text->bytes[text->size] = '\0';
    return SHV_OK;
}

static size_t line_of(const struct log_text *text, size_t at)
{
    size_t line = 1;
    for (size_t i = 0; i < at; i++) {
        char c = text->bytes[i];
        bool ends = c == '\n' || (c == '\r' && text->bytes[i + 1] != '\n');
        line += ends ? 1 : 0;
    }
    return line;
}

/* The marks that spreadsheets write. */
static enum shv_status check_bytes(struct log_text *text, struct shv_message *message)
{
    if (text->size >= 2 &&
        (memcmp(text->bytes, "\xff\xfe", 2) == 0 || memcmp(text->bytes, "\xfe\xff", 2) == 0)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s:1: the text is UTF-16; save it as UTF-8 or plain text", text->path);
    }
    const char *zero = memchr(text->bytes, '\0', text->size);
    if (zero != NULL) {
        return shv_fail(message, SHV_BAD_INPUT, "%s:%zu: a zero byte: this is not a text",
                        text->path, line_of(text, (size_t)(zero - text->bytes)));
    }
    if (text->size >= 3 && memcmp(text->bytes, "\xef\xbb\xbf", 3) == 0) {
        text->size -= 3;
        memmove(text->bytes, text->bytes + 3, text->size + 1);
    }
    return SHV_OK;
}

enum shv_status log_text_read(const char *path, struct log_text *text, struct shv_message *message)
{
    *text = (struct log_text){.path = path};
    struct stat about;
    if (stat(path, &about) == 0 && S_ISDIR(about.st_mode)) {
        return shv_fail(message, SHV_IO, "%s: cannot read: it is a folder", path);
    }
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return shv_fail(message, SHV_IO, "%s: cannot open: %s", path, strerror(errno));
    }
    enum shv_status status = read_all(file, text, message);
    (void)fclose(file); /* opened for reading: nothing can be lost */
    if (status == SHV_OK) {
        status = check_bytes(text, message);
    }
    if (status != SHV_OK) {
        log_text_free(text);
    }
    return status;
}

void log_text_free(struct log_text *text)
{
    free(text->bytes);
    *text = (struct log_text){0};
}

/* ---- cells ---- */

struct cursor {
    const struct log_text *text;
    size_t at, line;
    char delimiter;
    struct shv_message *message;
};

static bool is_end_of_line(char c)
{
    return c == '\n' || c == '\r' || c == '\0';
}

static bool is_blank(const struct cursor *c, char byte)
{
    return (byte == ' ' || byte == '\t') && byte != c->delimiter;
}

static char here(const struct cursor *c)
{
    return c->text->bytes[c->at];
}

static void skip_blanks(struct cursor *c)
{
    while (is_blank(c, here(c))) {
        c->at++;
    }
}

/* Goes over one end of line: LF, CR LF or CR. */
static void skip_end(struct cursor *c)
{
    bool both = here(c) == '\r' && c->text->bytes[c->at + 1] == '\n';
    c->at += both ? 2 : 1;
    c->line++;
}

/* The cursor is behind an opening quote. */
static enum shv_status quoted_cell(struct cursor *c, size_t cells, struct log_cell *cell)
{
    size_t line = c->line;
    cell->at = c->text->bytes + c->at;
    for (;;) {
        char byte = here(c);
        if (byte == '\0') {
            return shv_fail(c->message, SHV_BAD_INPUT,
                            "%s:%zu: cell %zu: a quote is opened and never closed", c->text->path,
                            line, cells + 1);
        }
        if (byte == '"' && c->text->bytes[c->at + 1] != '"') {
            break;
        }
        if (byte == '\n' || byte == '\r') {
            skip_end(c);
        } else {
            c->at += byte == '"' ? 2 : 1;
        }
    }
    cell->length = (size_t)(c->text->bytes + c->at - cell->at);
    cell->quoted = true;
    c->at++;
    skip_blanks(c);
    if (here(c) != c->delimiter && !is_end_of_line(here(c))) {
        return shv_fail(c->message, SHV_BAD_INPUT, "%s:%zu: cell %zu: text behind a closing quote",
                        c->text->path, c->line, cells + 1);
    }
    return SHV_OK;
}

static void plain_cell(struct cursor *c, struct log_cell *cell)
{
    cell->at = c->text->bytes + c->at;
    while (here(c) != c->delimiter && !is_end_of_line(here(c))) {
        c->at++;
    }
    cell->length = (size_t)(c->text->bytes + c->at - cell->at);
    while (cell->length > 0 && is_blank(c, cell->at[cell->length - 1])) {
        cell->length--;
    }
}

static bool has_room(void **items, size_t used, size_t *room, size_t size)
{
    if (used < *room) {
        return true;
    }
    size_t wanted = *room == 0 ? 64 : 2 * *room;
    void *grown = wanted > SIZE_MAX / size ? NULL : realloc(*items, wanted * size);
    if (grown == NULL) {
        return false;
    }
    *items = grown;
    *room = wanted;
    return true;
}

static enum shv_status keep_cell(struct cursor *c, struct log_table *table, struct log_cell cell)
{
    void *cells = table->cell;
    if (!has_room(&cells, table->cells, &table->cell_room, sizeof cell)) {
        return shv_fail(c->message, SHV_NO_MEMORY, "out of memory for %s", c->text->path);
    }
    table->cell = cells;
    table->cell[table->cells++] = cell;
    return SHV_OK;
}

/* Cells up to the end of the record. */
static enum shv_status read_record(struct cursor *c, struct log_table *table,
                                   struct log_record *record)
{
    *record = (struct log_record){.line = c->line, .first = table->cells};
    enum shv_status status = SHV_OK;
    for (bool more = true; more && status == SHV_OK;) {
        struct log_cell cell = {0};
        if (record->cells == LOG_CELLS_MOST) {
            return shv_fail(c->message, SHV_BAD_INPUT, "%s:%zu: more than %d cells", c->text->path,
                            record->line, LOG_CELLS_MOST);
        }
        skip_blanks(c);
        if (here(c) == '"') {
            c->at++;
            status = quoted_cell(c, record->cells, &cell);
        } else {
            plain_cell(c, &cell);
        }
        if (status == SHV_OK) {
            status = keep_cell(c, table, cell);
            record->cells++;
        }
        more = here(c) == c->delimiter;
        c->at += more ? 1 : 0;
    }
    return status;
}

static bool is_empty(const struct log_table *table, const struct log_record *record)
{
    for (size_t i = 0; i < record->cells; i++) {
        if (table->cell[record->first + i].length > 0) {
            return false;
        }
    }
    return true;
}

/* A comment is taken as it stands, quotes and all. */
static bool skip_comment(struct cursor *c)
{
    size_t start = c->at;
    skip_blanks(c);
    if (c->text->no_comments || here(c) != '#') {
        c->at = start;
        return false;
    }
    while (!is_end_of_line(here(c))) {
        c->at++;
    }
    return true;
}

static enum shv_status keep_record(struct cursor *c, struct log_table *table,
                                   struct log_record record)
{
    void *records = table->record;
    if (!has_room(&records, table->records, &table->record_room, sizeof record)) {
        return shv_fail(c->message, SHV_NO_MEMORY, "out of memory for %s", c->text->path);
    }
    table->record = records;
    table->record[table->records++] = record;
    return SHV_OK;
}

enum shv_status log_table_parse(const struct log_text *text, char delimiter, size_t most,
                                struct log_table *table, struct shv_message *message)
{
    *table = (struct log_table){0};
    struct cursor c = {.text = text, .line = 1, .delimiter = delimiter, .message = message};
    enum shv_status status = SHV_OK;
    while (status == SHV_OK && c.at < text->size && table->records < most) {
        struct log_record record = {0};
        bool comment = skip_comment(&c);
        if (!comment) {
            status = read_record(&c, table, &record);
        }
        if (status == SHV_OK && (comment || is_empty(table, &record))) {
            table->blank++;
            table->cells = comment ? table->cells : record.first;
        } else if (status == SHV_OK) {
            status = keep_record(&c, table, record);
        }
        table->lines = c.line;
        if (status == SHV_OK && here(&c) != '\0') {
            skip_end(&c);
        }
    }
    return status;
}

void log_table_free(struct log_table *table)
{
    free(table->record);
    free(table->cell);
    *table = (struct log_table){0};
}

struct log_cell log_cell_of(const struct log_table *table, const struct log_record *record,
                            size_t index)
{
    return index < record->cells ? table->cell[record->first + index]
                                 : (struct log_cell){.at = "", .length = 0};
}

char *log_cell_copy(struct log_cell cell, char *copy, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < cell.length && used + 1 < size; i++) {
        char byte = cell.at[i];
        bool doubled = cell.quoted && byte == '"';
        i += doubled ? 1 : 0;
        copy[used++] = (unsigned char)byte < 0x20 || byte == 0x7f ? '?' : byte;
    }
    copy[used] = '\0';
    return copy;
}
