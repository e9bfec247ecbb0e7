/* libconfig 1.5 ends the program when an included "file" is a folder or can't be read, waits for
 * one that is a FIFO, and wraps whole numbers that do not fit round to others. So every file is
 * read and looked through here, once, and libconfig gets one text with what is included in its
 * place. */
#include "study/source.h"

#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "study/reader.h"

#define DEPTH_MAX 10 /* libconfig's own limit */
#define FILES_MAX 1000
/* Far beyond any honest study, and little enough for libconfig, which looks through all settings of
 * a group for each new one, to be done within two seconds. */
#define TEXT_MAX ((size_t)4 * 1024 * 1024)
#define SETTINGS_MAX 5000
#define VALUES_MAX 200000
#define TOKEN_MAX 10000
#define KEPT_MAX ((size_t)20 * 1024 * 1024) /* with the maps that it names */

struct text {
    char *bytes; /* owned, a NUL is added */
    size_t length;
};

#define OPEN_MAX 64
#define SLIPS_MAX 10   /* a text that has more is no study */
#define ERRORS_MAX 100 /* after which no more is looked at */

struct bracket {
    char closes;
    unsigned line;
    unsigned around; /* number of the group that it stands in */
};

/* One file being looked through. */
struct scan {
    struct reader *reader;
    const char *name; /* relative to the study's folder, or the study's path */
    const char *next;
    const char *kept; /* up to where the text is part of the whole */
    size_t file;
    unsigned kept_line;
    unsigned line;
    unsigned depth;
    unsigned group; /* number of the one that is open */
    struct bracket open[OPEN_MAX];
    size_t opened; /* those beyond OPEN_MAX are counted only */
};

char *source_directory(const char *path)
{
    const char *slash = strrchr(path, '/');
    return strndup(path, slash == NULL ? 0 : (size_t)(slash - path) + 1);
}

char *source_join(const char *directory, const char *name)
{
    size_t head = name[0] == '/' ? 0 : strlen(directory), tail = strlen(name);
    char *path = malloc(head + tail + 1);
    if (path != NULL) {
        memcpy(path, directory, head);
        memcpy(path + head, name, tail + 1);
    }
    return path;
}

/* Opens a regular file; nothing else may be opened, as a FIFO would wait for its writer and a
 * device may do anything. SHV_BAD_INPUT when there is no such file, SHV_IO when it can't be
 * opened, with the reason in *why. */
static enum shv_status open_regular(const char *path, struct stat *about, FILE **file,
                                    const char **why)
{
    if (stat(path, about) != 0) {
        *why = strerror(errno);
        return SHV_BAD_INPUT;
    }
    if (!S_ISREG(about->st_mode)) {
        *why = "not a regular file";
        return SHV_BAD_INPUT;
    }
    *file = fopen(path, "rb");
    *why = *file == NULL ? strerror(errno) : NULL;
    return *file == NULL ? SHV_IO : SHV_OK;
}

/* Reads a whole regular file. On failure *why says what is wrong with it. */
static enum shv_status load(const char *path, struct text *text, const char **why)
{
    struct stat about;
    FILE *file;
    *text = (struct text){0};
    enum shv_status status = open_regular(path, &about, &file, why);
    if (status != SHV_OK) {
        return status;
    }
    if (about.st_size > (off_t)KEPT_MAX) {
        *why = "larger than 20 MiB";
    } else {
        text->bytes = malloc((size_t)about.st_size + 1);
        *why = text->bytes == NULL ? "no memory" : NULL;
    }
    if (text->bytes != NULL) {
        text->length = fread(text->bytes, 1, (size_t)about.st_size, file);
        text->bytes[text->length] = '\0';
        if (ferror(file)) {
            *why = "read error";
        }
    }
    fclose(file);
    if (*why == NULL) {
        return SHV_OK;
    }
    bool memory = strcmp(*why, "no memory") == 0;
    free(text->bytes);
    *text = (struct text){0};
    return memory ? SHV_NO_MEMORY : SHV_IO;
}

bool source_keep(struct reader *reader, const char *name, const char *bytes, size_t length)
{
    size_t room = strlen(name) + sizeof "#### \n\n" + length;
    char *text = realloc(reader->text, reader->text_length + room);
    if (text == NULL) {
        return false;
    }
    reader->text = text;
    char *end = text + reader->text_length;
    end += snprintf(end, room, "#### %s\n", name);
    memcpy(end, bytes, length);
    end += length;
    if (length > 0 && end[-1] != '\n') {
        *end++ = '\n';
    }
    *end = '\0';
    reader->text_length = (size_t)(end - text);
    return true;
}

/* Adds a piece of a file to the whole, on a line of its own. False when out of memory. */
static bool add_to_whole(struct reader *reader, size_t file, unsigned line, const char *bytes,
                         size_t length)
{
    char *whole = realloc(reader->whole, reader->whole_length + length + 2);
    struct stretch *stretch =
        realloc(reader->stretch, (reader->stretches + 1) * sizeof *reader->stretch);
    reader->whole = whole == NULL ? reader->whole : whole;
    reader->stretch = stretch == NULL ? reader->stretch : stretch;
    if (whole == NULL || stretch == NULL) {
        return false;
    }
    char *end = whole + reader->whole_length;
    if (reader->whole_length > 0 && end[-1] != '\n') {
        *end++ = '\n';
        reader->whole_lines++;
    }
    stretch[reader->stretches++] = (struct stretch){reader->whole_lines + 1, file, line};
    memcpy(end, bytes, length);
    end[length] = '\0';
    for (const char *c = end; *c != '\0'; c++) {
        reader->whole_lines += *c == '\n';
    }
    reader->whole_length = (size_t)(end - whole) + length;
    return true;
}

/* Adds what was looked through since the last time. */
static bool keep_up_to(struct scan *scan, const char *end)
{
    bool good = add_to_whole(scan->reader, scan->file, scan->kept_line, scan->kept,
                             (size_t)(end - scan->kept));
    scan->kept = end;
    scan->kept_line = scan->line;
    return good;
}

/* The rest of the file would be part of it, and libconfig tells only of its end. */
static void tell_unclosed(struct scan *scan, unsigned line, const char *what, const char *end)
{
    reader_error_at(scan->reader, scan->name, line,
                    "found %s that is not closed; accepted: %s at its end", what, end);
}

static enum shv_status scan_file(struct reader *reader, const char *name, const char *path,
                                 unsigned depth, unsigned group, const char **why);

static enum shv_status include(struct scan *scan, const char *name)
{
    struct reader *reader = scan->reader;
    if (scan->depth >= DEPTH_MAX || reader->file_count >= FILES_MAX) {
        reader_error_at(
            reader, scan->name, scan->line,
            "found @include \"%s\", nested too deep; accepted: includes nested up to %d "
            "deep, %d files in all",
            name, DEPTH_MAX, FILES_MAX);
        return SHV_BAD_INPUT;
    }
    if (name[0] == '/') {
        reader_error_at(
            reader, scan->name, scan->line,
            "found @include \"%s\"; accepted: a path relative to the study file's folder", name);
        return SHV_BAD_INPUT;
    }
    char *path = source_join(reader->directory, name);
    if (path == NULL) {
        return SHV_NO_MEMORY;
    }
    const char *why = NULL;
    enum shv_status status = scan_file(reader, name, path, scan->depth + 1, scan->group, &why);
    if (why != NULL) {
        reader_error_at(reader, scan->name, scan->line,
                        "found @include \"%s\", which cannot be opened: %s; accepted: a file, "
                        "relative to the study file's folder",
                        name, why);
    }
    free(path);
    return status;
}

/* At `@include "name"`, which libconfig knows only at the start of a line. */
static enum shv_status take_include(struct scan *scan)
{
    const char *open = scan->next + strlen("@include");
    open += strspn(open, " \t");
    if (*open != '"') {
        scan->next = open;
        return SHV_OK;
    }
    size_t length = strcspn(open + 1, "\"\n");
    if (open[1 + length] != '"') {
        tell_unclosed(scan, scan->line, "the name of a file", "a quote");
        scan->next = open + 1 + length;
        return SHV_OK;
    }
    char *name = strndup(open + 1, length);
    if (name == NULL || !keep_up_to(scan, scan->next)) {
        free(name);
        return SHV_NO_MEMORY;
    }
    enum shv_status status = include(scan, name);
    free(name);
    scan->next = scan->kept = open + length + 2;
    return status;
}

static void skip_comment(struct scan *scan)
{
    unsigned start = scan->line;
    const char *end = strstr(scan->next, "*/");
    const char *stop = end == NULL ? scan->next + strlen(scan->next) : end + 2;
    for (; scan->next < stop; scan->next++) {
        scan->line += *scan->next == '\n';
    }
    if (end == NULL) {
        tell_unclosed(scan, start, "a comment", "*/");
    }
}

/* Limits on what the whole study holds, files included. */
static enum shv_status too_many(struct scan *scan, const char *what, int most)
{
    reader_error_at(scan->reader, scan->name, scan->line,
                    "found more than %d %s in a study; accepted: up to %d", most, what, most);
    return SHV_BAD_INPUT;
}

/* At a sign that stands once for each setting, or between two values of a list. */
static enum shv_status count_sign(struct scan *scan, char sign)
{
    struct reader *reader = scan->reader;
    if ((sign == '=' || sign == ':') && ++reader->settings > SETTINGS_MAX) {
        return too_many(scan, "settings", SETTINGS_MAX);
    }
    if ((sign == ',' || sign == '{') && ++reader->values > VALUES_MAX) {
        return too_many(scan, "values in lists", VALUES_MAX);
    }
    return SHV_OK;
}

/* libconfig lets a text run over lines, up to the next quote wherever that is; no key takes such a
 * text, so a quote was forgotten. */
static void skip_string(struct scan *scan)
{
    for (scan->next++; *scan->next != '"'; scan->next++) {
        if (*scan->next == '\\' && scan->next[1] != '\0' && scan->next[1] != '\n') {
            scan->next++;
        } else if (*scan->next == '\0' || *scan->next == '\n') {
            tell_unclosed(scan, scan->line, "a text", "a quote");
            return;
        }
    }
    scan->next++;
}

/* ---- slips that libconfig calls a syntax error and no more ---- */

static void open_bracket(struct scan *scan, char closes)
{
    if (scan->opened < OPEN_MAX) {
        scan->open[scan->opened] = (struct bracket){closes, scan->line, scan->group};
    }
    scan->opened++;
    scan->group = closes == '}' ? ++scan->reader->groups : scan->group;
}

static void close_bracket(struct scan *scan, char found)
{
    if (scan->reader->errors >= SLIPS_MAX) {
        return;
    }
    const struct bracket *last =
        scan->opened > 0 && scan->opened <= OPEN_MAX ? &scan->open[scan->opened - 1] : NULL;
    if (scan->opened == 0) {
        reader_error_at(scan->reader, scan->name, scan->line,
                        "found %c with nothing open; accepted: one for each that is opened", found);
        return;
    }
    if (last != NULL && last->closes != found) {
        reader_error_at(scan->reader, scan->name, scan->line,
                        "found %c; accepted: %c, which ends what begins on line %u", found,
                        last->closes, last->line);
    }
    scan->group = last != NULL ? last->around : scan->group;
    scan->opened--;
}

static void take_bracket(struct scan *scan)
{
    switch (*scan->next) {
    case '{':
        open_bracket(scan, '}');
        break;
    case '(':
        open_bracket(scan, ')');
        break;
    case '[':
        open_bracket(scan, ']');
        break;
    default:
        close_bracket(scan, *scan->next);
        break;
    }
}

static void check_closed(struct scan *scan)
{
    if (scan->opened > 0 && scan->opened <= OPEN_MAX) {
        const struct bracket *last = &scan->open[scan->opened - 1];
        reader_error_at(scan->reader, scan->name, last->line,
                        "found what begins here and is not ended before the end of the file; "
                        "accepted: %c",
                        last->closes);
    }
}

/* Whether a word is a key: the settings of a line need nothing between them. */
static bool is_key(const char *word)
{
    word += strspn(word, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_-*0123456789");
    word += strspn(word, " \t");
    return *word == '=' || *word == ':';
}

/* Behind a number: 9,5 where one value belongs, and 86 mm without quotes. */
static void check_behind(struct scan *scan, const char *start, const char *end)
{
    if (scan->reader->errors >= SLIPS_MAX) {
        return;
    }
    const char *word = end + strspn(end, " \t");
    bool listed =
        scan->opened > 0 && scan->opened <= OPEN_MAX && scan->open[scan->opened - 1].closes != '}';
    int length = (int)(end - start);
    if (*end == ',' && isdigit((unsigned char)end[1]) && !listed) {
        int decimals = (int)strspn(end + 1, "0123456789");
        reader_error_at(scan->reader, scan->name, scan->line,
                        "found %.*s,%.*s; accepted: a decimal point, %.*s.%.*s", length, start,
                        decimals, end + 1, length, start, decimals, end + 1);
    } else if ((isalpha((unsigned char)*word) || *word == '%') && *end != 'L' && !is_key(word)) {
        int rest = (int)strcspn(word, ";,)]}\n#");
        reader_error_at(scan->reader, scan->name, scan->line,
                        "found %.*s %.*s without quotes; accepted: \"%.*s %.*s\"", length, start,
                        rest, word, length, start, rest, word);
    }
}

/* Quotes that a word processor has bent. */
static bool is_bent_quote(const char *at)
{
    static const char *const bent[] = {"\xe2\x80\x9c", "\xe2\x80\x9d", "\xe2\x80\x9e",
                                       "\xe2\x80\x98", "\xe2\x80\x99", "\xc2\xab",
                                       "\xc2\xbb"};
    for (size_t i = 0; i < sizeof bent / sizeof *bent; i++) {
        if (strncmp(at, bent[i], strlen(bent[i])) == 0) {
            return true;
        }
    }
    return false;
}

/* Goes behind the bent quote at the other end, which is no second slip. */
static void skip_bent_quote(struct scan *scan)
{
    reader_error_at(scan->reader, scan->name, scan->line,
                    "found a curly quote; accepted: straight quotes \" \" around a text");
    do {
        scan->next++;
    } while (*scan->next != '\n' && *scan->next != '\0' && !is_bent_quote(scan->next));
    if (is_bent_quote(scan->next)) {
        scan->next++;
    }
}

/* How many bytes the character at `at` has in UTF-8, 0 when it is none. */
static size_t character_bytes(const unsigned char *at)
{
    size_t more = at[0] < 0x80                     ? 0
                  : at[0] >= 0xc2 && at[0] <= 0xdf ? 1
                  : (at[0] & 0xf0) == 0xe0         ? 2
                  : at[0] >= 0xf0 && at[0] <= 0xf4 ? 3
                                                   : SIZE_MAX;
    for (size_t i = 1; more != SIZE_MAX && i <= more; i++) {
        more = (at[i] & 0xc0) == 0x80 ? more : SIZE_MAX;
    }
    return more == SIZE_MAX ? 0 : more + 1;
}

static bool check_characters(struct reader *reader, const char *name, const struct text *text)
{
    const unsigned char *byte = (const unsigned char *)text->bytes;
    unsigned line = 1;
    for (size_t i = 0, step; i < text->length; i += step) {
        step = character_bytes(byte + i);
        if (step == 0) {
            reader_error_at(
                reader, name, line,
                "found the byte 0x%02X (byte %zu of the file), which is no UTF-8; save the "
                "file as UTF-8",
                byte[i], i + 1);
            return false;
        }
        line += byte[i] == '\n';
    }
    return true;
}

/* At a digit: a whole number must fit the 32 bits libconfig gives it, or 64 with an L behind. */
static void check_number(struct scan *scan)
{
    const char *start = scan->next;
    int base = start[0] == '0' && (start[1] == 'x' || start[1] == 'X') ? 16 : 10;
    char *end;
    errno = 0;
    unsigned long long value = strtoull(start, &end, base);
    bool is_float = base == 10 && (*end == '.' || *end == 'e' || *end == 'E');
    unsigned long long limit = *end == 'L' ? LLONG_MAX : INT_MAX;
    if (!is_float && (errno == ERANGE || value > limit)) {
        reader_error_at(
            scan->reader, scan->name, scan->line,
            "found the whole number %.*s, which is too large; accepted: up to 2147483647, "
            "more with an L behind it or a decimal point",
            (int)(end - start > 40 ? 40 : end - start), start);
    }
    char *whole;
    (void)strtod(start, &whole);
    check_behind(scan, start, base == 10 ? whole : end);
    scan->next = end;
    while (isalnum((unsigned char)*scan->next) || *scan->next == '.' ||
           ((*scan->next == '-' || *scan->next == '+') &&
            tolower((unsigned char)scan->next[-1]) == 'e')) {
        scan->next++;
    }
}

/* ---- keys ---- */

/* The same key of the same group; NULL when there is none yet. */
static const struct key_met *find_key(const struct reader *reader, unsigned group, const char *name)
{
    for (size_t i = 0; i < reader->key_count; i++) {
        if (reader->keys[i].group == group && strcmp(reader->keys[i].name, name) == 0) {
            return &reader->keys[i];
        }
    }
    return NULL;
}

static enum shv_status note_key(struct scan *scan, const char *start, size_t length)
{
    struct reader *reader = scan->reader;
    char *name = strndup(start, length);
    const struct key_met *first = name == NULL ? NULL : find_key(reader, scan->group, name);
    if (first != NULL) {
        bool same = first->file == scan->file;
        reader_error_at(reader, scan->name, scan->line,
                        "found a key that stands in the same group already, %s%s%u; accepted: each "
                        "key once",
                        same ? "on line " : reader->files[first->file], same ? "" : ":",
                        first->line);
        free(name);
        return SHV_OK;
    }
    size_t count = reader->key_count; /* room is doubled at 0, 1, 2, 4, ... */
    struct key_met *keys = reader->keys;
    if (name != NULL && (count & (count - 1)) == 0) {
        keys = realloc(keys, (count == 0 ? 1 : 2 * count) * sizeof *keys);
    }
    if (name == NULL || keys == NULL) {
        free(name);
        return SHV_NO_MEMORY;
    }
    reader->keys = keys;
    keys[reader->key_count++] = (struct key_met){name, scan->group, scan->file, scan->line};
    return SHV_OK;
}

static void skip_word(struct scan *scan)
{
    while (isalnum((unsigned char)*scan->next) || strchr("_-*", *scan->next) != NULL) {
        if (*scan->next == '\0') {
            return;
        }
        scan->next++;
    }
}

/* One token, comment or run of blanks. */
static enum shv_status scan_token(struct scan *scan, bool *line_start)
{
    char c = *scan->next;
    bool first = *line_start;
    *line_start = c == '\n' || (first && (c == ' ' || c == '\t'));
    if (first && strncmp(scan->next, "@include", 8) == 0) {
        return take_include(scan);
    }
    if (c == '#' || strncmp(scan->next, "//", 2) == 0) {
        scan->next += strcspn(scan->next, "\n");
    } else if (strncmp(scan->next, "/*", 2) == 0) {
        scan->next += 2;
        skip_comment(scan);
    } else if (c == '"') {
        skip_string(scan);
    } else if (c != '\0' && strchr("{}()[]", c) != NULL) {
        take_bracket(scan);
        scan->next++;
        return count_sign(scan, c);
    } else if (is_bent_quote(scan->next)) {
        skip_bent_quote(scan);
    } else if (isdigit((unsigned char)c)) {
        check_number(scan);
    } else if (isalpha((unsigned char)c) || c == '*') {
        const char *start = scan->next;
        skip_word(scan);
        const char *behind = scan->next + strspn(scan->next, " \t\r\n");
        if (*behind == '=' || *behind == ':') {
            return note_key(scan, start, (size_t)(scan->next - start));
        }
    } else if (c == ' ' || c == '\t') {
        scan->next += strspn(scan->next, " \t");
    } else {
        /* The digits behind a leading point belong to a float. */
        scan->next += c == '.' ? 1 + strspn(scan->next + 1, "0123456789") : 1;
        scan->line += c == '\n';
        return count_sign(scan, c);
    }
    return SHV_OK;
}

static enum shv_status scan_text(struct scan *scan)
{
    enum shv_status status = SHV_OK;
    bool line_start = true;
    while (status == SHV_OK && *scan->next != '\0' && scan->reader->errors < ERRORS_MAX) {
        const char *start = scan->next;
        status = scan_token(scan, &line_start);
        if (status == SHV_OK && scan->next - start > TOKEN_MAX && strncmp(start, "/*", 2) != 0) {
            status = too_many(scan, "bytes in one text, word, number, comment or blank", TOKEN_MAX);
        }
    }
    return status;
}

static bool begins_with(const struct text *text, const char *bytes, size_t count)
{
    return text->length >= count && memcmp(text->bytes, bytes, count) == 0;
}

/* What is wrong with the encoding as far as the first bytes tell, else NULL. */
static const char *wrong_encoding(const struct text *text)
{
    if (begins_with(text, "\xEF\xBB\xBF", 3)) {
        return "found a byte-order mark (UTF-8 BOM); save the file without it";
    }
    if (begins_with(text, "\xFF\xFE", 2) || begins_with(text, "\xFE\xFF", 2)) {
        return "found the byte-order mark of UTF-16; save the file as UTF-8 without one";
    }
    /* Keys are ASCII, so that every other byte is zero. */
    const char *b = text->bytes;
    bool low_first = text->length >= 4 && b[0] && !b[1] && b[2] && !b[3];
    bool high_first = text->length >= 4 && !b[0] && b[1] && !b[2] && b[3];
    return low_first || high_first ? "found UTF-16 text; save the file as UTF-8" : NULL;
}

static enum shv_status scan_file(struct reader *reader, const char *name, const char *path,
                                 unsigned depth, unsigned group, const char **why)
{
    struct text text;
    enum shv_status status = load(path, &text, why);
    if (status != SHV_OK) {
        return status;
    }
    if (reader->text_length + strlen(text.bytes) > TEXT_MAX) { /* one with a zero byte is none */
        reader_error_at(reader, name, 1,
                        "found more than %zu MiB of text in a study, with all that it includes; "
                        "accepted: up to %zu MiB",
                        TEXT_MAX >> 20, TEXT_MAX >> 20);
        free(text.bytes);
        return SHV_BAD_INPUT;
    }
    if (!reader_add_file(reader, name) || !source_keep(reader, name, text.bytes, text.length)) {
        free(text.bytes);
        return SHV_NO_MEMORY;
    }
    sha256_update(&reader->hash, text.bytes, text.length);
    if (depth == 0) {
        sha256_update(&reader->own_hash, text.bytes, text.length);
    }
    const char *encoding = wrong_encoding(&text);
    if (encoding != NULL) {
        reader_error_at(reader, name, 1, "%s", encoding);
        free(text.bytes);
        return SHV_OK; /* what includes this file may have more to tell */
    }
    /* A zero byte is told below, by its line: such a file is no text at all. */
    bool has_zero = strlen(text.bytes) != text.length;
    if (!has_zero && !check_characters(reader, name, &text)) {
        free(text.bytes);
        return SHV_OK; /* likewise */
    }
    struct scan scan = {.reader = reader,
                        .name = name,
                        .next = text.bytes,
                        .kept = text.bytes,
                        .file = reader->file_count - 1,
                        .kept_line = 1,
                        .line = 1,
                        .depth = depth,
                        .group = group};
    status = scan_text(&scan);
    if (status == SHV_OK && !keep_up_to(&scan, scan.next)) {
        status = SHV_NO_MEMORY;
    }
    check_closed(&scan);
    if (status == SHV_OK && has_zero) {
        reader_error_at(reader, name, scan.line, "found a zero byte; accepted: text");
        status = SHV_BAD_INPUT;
    }
    free(text.bytes);
    return status;
}

enum shv_status source_scan(struct reader *reader)
{
    const char *why = NULL;
    enum shv_status status = scan_file(reader, reader->path, reader->path, 0, 0, &why);
    if (status == SHV_OK && reader->errors > 0) {
        return SHV_BAD_INPUT; /* libconfig would make other numbers of those too large */
    }
    if (why != NULL) {
        shv_diagnostics_add(reader->diagnostics, false, "%s: cannot be read: %s", reader->path,
                            why);
        return status == SHV_BAD_INPUT ? SHV_IO : status;
    }
    return status;
}

enum shv_status source_hash_file(struct reader *reader, const char *path,
                                 struct shv_message *message)
{
    struct text text;
    const char *why = NULL;
    enum shv_status status = load(path, &text, &why);
    if (status != SHV_OK) {
        return shv_fail(message, status, "%s: cannot open: %s", path, why);
    }
    sha256_update(&reader->hash, text.bytes, text.length);
    if (reader->text_length + text.length > KEPT_MAX) {
        status = shv_fail(message, SHV_BAD_INPUT,
                          "%s: found more than %zu MiB in the study and the files that it names; "
                          "accepted: up to %zu MiB",
                          path, KEPT_MAX >> 20, KEPT_MAX >> 20);
    } else if (!source_keep(reader, path, text.bytes, text.length)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", path);
    }
    free(text.bytes);
    return status;
}
