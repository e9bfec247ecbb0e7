/* Lines of text for people (src/report/text.h). */
#include "report/text.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

void report_text_init(struct report_text *text, FILE *out)
{
    *text = (struct report_text){.out = out};
}

char *report_fit(char *fitted, int width, const char *name)
{
    size_t room = (size_t)width, used = 0;
    bool cut = false;
    for (const char *c = name; *c != '\0' && !cut; c++) {
        unsigned char byte = (unsigned char)*c;
        if (byte >= 0x80 && byte < 0xC0) {
            continue; /* the rest of a UTF-8 character that already has its '?' */
        }
        cut = used == room;
        if (!cut) {
            fitted[used++] = byte >= ' ' && byte < 0x7F ? *c : '?';
        }
    }
    for (size_t i = 1; cut && i <= 3 && i < room; i++) {
        fitted[room - i] = '.';
    }
    fitted[used] = '\0';
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

/* Adds a cell of `width` with a blank after it, as far as the line has room. */
static void add(struct report_text *text, int width, const char *cell, bool right)
{
    char fitted[REPORT_WIDTH + 1], padded[REPORT_WIDTH + 2];
    width = width < REPORT_WIDTH ? width : REPORT_WIDTH;
    (void)report_fit(fitted, width, cell);
    int length = snprintf(padded, sizeof padded, right ? "%*s " : "%-*s ", width, fitted);
    for (int i = 0; i < length && text->used < REPORT_WIDTH; i++) {
        text->line[text->used++] = padded[i];
    }
}

void report_text_left(struct report_text *text, int width, const char *cell)
{
    add(text, width, cell, false);
}

void report_text_right(struct report_text *text, int width, const char *cell)
{
    add(text, width, cell, true);
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
}

void report_text_rule(struct report_text *text, int width)
{
    for (int i = 0; i < width && text->used < REPORT_WIDTH; i++) {
        text->line[text->used++] = '-';
    }
    report_text_end(text);
}

/* How much of `rest` goes on one line: up to the last blank within the width, or a cut word. */
static size_t line_length(const char *rest)
{
    size_t length = 0, blank = 0;
    for (; length <= REPORT_WIDTH && rest[length] != '\0'; length++) {
        if (rest[length] == ' ') {
            blank = length;
        }
    }
    if (length <= REPORT_WIDTH) {
        return length;
    }
    return blank > 0 ? blank : REPORT_WIDTH;
}

void report_text_say(struct report_text *text, const char *format, ...)
{
    char paragraph[2048], plain[2048];
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
