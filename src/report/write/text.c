/* Lines of text for people (src/report/write/text.h). */
#include "report/write/text.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void report_text_init(struct report_text *text, FILE *out)
{
    *text = (struct report_text){.out = out};
}

/* Bytes that begin a character of UTF-8 and follow in it, and where its value starts: shorter forms
 * of the same value are no UTF-8. */
struct form {
    unsigned char mask, lead;
    size_t length;
    uint32_t least;
};

static bool continues(char c)
{
    return ((unsigned char)c & 0xC0u) == 0x80u;
}

size_t report_character(const char *at, uint32_t *value)
{
    static const struct form forms[] = {{0x80, 0x00, 1, 0},
                                        {0xE0, 0xC0, 2, 0x80},
                                        {0xF0, 0xE0, 3, 0x800},
                                        {0xF8, 0xF0, 4, 0x10000}};
    const unsigned char first = (unsigned char)*at;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        const struct form *form = &forms[i];
        if ((first & form->mask) != form->lead) {
            continue;
        }
        *value = first & (unsigned char)~form->mask;
        for (size_t k = 1; k < form->length; k++) {
            if (!continues(at[k])) {
                return 0;
            }
            *value = *value << 6 | ((unsigned char)at[k] & 0x3Fu);
        }
        bool surrogate = *value >= 0xD800 && *value <= 0xDFFF;
        return *value < form->least || *value > 0x10FFFF || surrogate ? 0 : form->length;
    }
    return 0;
}

/* Also what breaks a line or turns its direction round. */
static bool is_control(uint32_t value)
{
    return value < 0x20 || (value >= 0x7F && value <= 0x9F) ||
           (value >= 0x2028 && value <= 0x202E) || (value >= 0x2066 && value <= 0x2069);
}

/* How many bytes to go on by, at least one; *shown is false where a '?' is to stand. */
static size_t step(const char *at, bool *shown)
{
    uint32_t value;
    size_t length = report_character(at, &value);
    *shown = length > 0 && !is_control(value);
    return length > 0 ? length : 1;
}

int report_characters(const char *name)
{
    int count = 0;
    bool shown;
    for (; *name != '\0'; name += step(name, &shown)) {
        count++;
    }
    return count;
}

char *report_fit(char *fitted, int width, const char *name)
{
    bool cut = report_characters(name) > width, shown;
    int dots = !cut || width < 1 ? 0 : width > 3 ? 3 : width - 1;
    size_t used = 0;
    for (int i = 0; *name != '\0' && i < width - dots; i++) {
        size_t length = step(name, &shown);
        memcpy(fitted + used, shown ? name : "?", shown ? length : 1);
        used += shown ? length : 1;
        name += length;
    }
    memset(fitted + used, '.', (size_t)dots);
    fitted[used + (size_t)dots] = '\0';
    return fitted;
}

char *report_thousands(char text[REPORT_COUNT_MAX], uint64_t count)
{
    char digits[REPORT_COUNT_MAX];
    int length = snprintf(digits, sizeof digits, "%" PRIu64, count);
    char *to = text;
    for (int i = 0; i < length; i++) {
        if (i > 0 && (length - i) % 3 == 0) {
            *to++ = ',';
        }
        *to++ = digits[i];
    }
    *to = '\0';
    return text;
}

/* Adds characters as far as the line has room. */
static void put(struct report_text *text, const char *characters)
{
    bool shown;
    while (*characters != '\0' && text->width < REPORT_WIDTH) {
        size_t length = step(characters, &shown);
        memcpy(text->line + text->used, characters, length);
        text->used += length;
        text->width++;
        characters += length;
    }
}

static void put_times(struct report_text *text, int times, const char *character)
{
    for (int i = 0; i < times && text->width < REPORT_WIDTH; i++) {
        put(text, character);
    }
}

/* Adds a cell of `width` with a blank after it. */
static void add(struct report_text *text, int width, const char *cell, bool right)
{
    char fitted[REPORT_FIT_MAX(REPORT_WIDTH)];
    width = width < REPORT_WIDTH ? width : REPORT_WIDTH;
    int blanks = width - report_characters(report_fit(fitted, width, cell));
    put_times(text, right ? blanks : 0, " ");
    put(text, fitted);
    put_times(text, right ? 1 : blanks + 1, " ");
}

void report_text_left(struct report_text *text, int width, const char *cell)
{
    add(text, width, cell, false);
}

void report_text_right(struct report_text *text, int width, const char *cell)
{
    add(text, width, cell, true);
}

void report_text_cells(struct report_text *text, size_t count, const int *widths,
                       const char *const *cells)
{
    for (size_t i = 0; i < count; i++) {
        add(text, abs(widths[i]), cells[i], widths[i] >= 0);
    }
    report_text_end(text);
}

void report_text_number(struct report_text *text, int width, int decimals, double value)
{
    char number[REPORT_WIDTH + 1];
    if (!isfinite(value)) {
        add(text, width, "-", true);
        return;
    }
    /* What rounds to nothing is shown without a sign. */
    bool nothing = fabs(value) < 0.5 * pow(10.0, -decimals);
    int length = snprintf(number, sizeof number, "%.*f", decimals, nothing ? 0.0 : value);
    if (length > width) {
        memset(number, '#', sizeof number - 1); /* part of a number would be a wrong number */
        number[width < REPORT_WIDTH ? width : REPORT_WIDTH] = '\0';
    }
    add(text, width, number, true);
}

void report_text_fitted(struct report_text *text, int width, int decimals, double value)
{
    while (decimals > 0 && isfinite(value) && snprintf(NULL, 0, "%.*f", decimals, value) > width) {
        decimals--;
    }
    report_text_number(text, width, decimals, value);
}

static void write_line(struct report_text *text, const char *line, size_t length)
{
    if (text->error == 0 &&
        (fwrite(line, 1, length, text->out) != length || fputc('\n', text->out) == EOF)) {
        text->error = errno ? errno : EIO;
    }
}

void report_text_end(struct report_text *text)
{
    while (text->used > 0 && text->line[text->used - 1] == ' ') {
        text->used--;
    }
    write_line(text, text->line, text->used);
    text->used = 0;
    text->width = 0;
}

void report_text_rule(struct report_text *text, int width)
{
    put_times(text, width, "-");
    report_text_end(text);
}

/* How many bytes of `rest` go on one line: up to the last blank within the width, or a cut word. */
static size_t line_length(const char *rest)
{
    size_t length = 0, blank = 0;
    bool shown;
    for (int i = 0; i < REPORT_WIDTH && rest[length] != '\0'; i++) {
        blank = rest[length] == ' ' ? length : blank;
        length += step(rest + length, &shown);
    }
    bool whole = rest[length] == '\0' || rest[length] == ' ';
    return whole || blank == 0 ? length : blank;
}

void report_text_say(struct report_text *text, const char *format, ...)
{
    char paragraph[2048], plain[sizeof paragraph]; /* what is shown is never longer */
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(paragraph, sizeof paragraph, format, arguments);
    va_end(arguments);
    const char *rest = report_fit(plain, (int)sizeof plain - 1, paragraph);
    do {
        size_t length = line_length(rest);
        write_line(text, rest, length);
        rest += length;
        rest += strspn(rest, " ");
    } while (*rest != '\0');
}

enum shv_status report_text_finish(struct report_text *text, const char *what,
                                   struct shv_message *message)
{
    if (text->error == 0 && fflush(text->out) != 0) {
        text->error = errno ? errno : EIO;
    }
    if (text->error != 0) {
        return shv_fail(message, SHV_IO, "cannot write %s: %s", what, strerror(text->error));
    }
    return SHV_OK;
}
