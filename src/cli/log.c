/* run.log (src/cli/log.h). */
#include "cli/log.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/cli.h"

#define STAMP 21 /* "2026-01-31T12:34:56Z " */
#define LINE_MOST 1000

static void put_digits(char *to, int digits, long long value)
{
    for (int i = digits; i-- > 0; value /= 10) {
        to[i] = (char)('0' + value % 10);
    }
}

/* Date and time without the library, which must not be called while a signal is handled. Years
 * begin in March here, so that a leap day comes last (Richards 1999, Mapping Time). */
static void put_stamp(char text[STAMP])
{
    long long now = (long long)time(NULL);
    long long days = now / 86400 + 719468, second = now % 86400;
    long long era = days / 146097, day_of_era = days % 146097;
    long long year =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    long long day = day_of_era - (365 * year + year / 4 - year / 100);
    long long month = (5 * day + 2) / 153;
    static const char form[] = "0000-00-00T00:00:00Z ";
    memcpy(text, form, STAMP);
    put_digits(text + 8, 2, day - (153 * month + 2) / 5 + 1);
    put_digits(text + 5, 2, month < 10 ? month + 3 : month - 9);
    put_digits(text, 4, year + era * 400 + (month >= 10 ? 1 : 0));
    put_digits(text + 11, 2, second / 3600);
    put_digits(text + 14, 2, second / 60 % 60);
    put_digits(text + 17, 2, second % 60);
}

static void tell_once(struct run_log *log, const char *what)
{
    if (!log->failed) {
        cli_error(log->command, "warning: %s: %s", what, strerror(errno));
    }
    log->failed = true;
}

void log_open(struct run_log *log, const char *command, const char *folder, bool go_on)
{
    char path[PATH_MAX];
    *log = (struct run_log){.descriptor = -1, .command = command};
    int length = snprintf(path, sizeof path, "%s/%s", folder, RUN_LOG_FILE);
    if (length < 0 || length >= (int)sizeof path) {
        errno = ENAMETOOLONG;
    } else {
        log->descriptor =
            open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC | (go_on ? 0 : O_TRUNC), 0666);
    }
    if (log->descriptor < 0) {
        tell_once(log, "cannot write " RUN_LOG_FILE);
    }
}

void log_line(struct run_log *log, const char *format, ...)
{
    char line[STAMP + LINE_MOST + 1];
    if (log->descriptor < 0) {
        return;
    }
    put_stamp(line);
    va_list args;
    va_start(args, format);
    int length = vsnprintf(line + STAMP, LINE_MOST, format, args);
    va_end(args);
    length = length < 0 ? 0 : length < LINE_MOST ? length : LINE_MOST - 1;
    line[STAMP + length] = '\n';
    size_t size = STAMP + (size_t)length + 1;
    ssize_t written = write(log->descriptor, line, size);
    if (written >= 0 && (size_t)written < size) {
        errno = ENOSPC; /* the part that fitted in is there, the rest would fail so */
    }
    if (written < 0 || (size_t)written < size) {
        tell_once(log, "cannot write " RUN_LOG_FILE);
    }
}

void log_line_in_signal(const struct run_log *log, const char *text)
{
    char line[STAMP + LINE_MOST + 1];
    size_t length = strlen(text);
    if (log->descriptor < 0) {
        return;
    }
    length = length < LINE_MOST ? length : LINE_MOST - 1;
    put_stamp(line);
    memcpy(line + STAMP, text, length);
    line[STAMP + length] = '\n';
    ssize_t written = write(log->descriptor, line, STAMP + length + 1);
    (void)written; /* there is no better place to say so */
}

void log_close(struct run_log *log)
{
    if (log->descriptor >= 0 && close(log->descriptor) != 0) {
        tell_once(log, "cannot write " RUN_LOG_FILE);
    }
    log->descriptor = -1;
}
