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
#include "report/write/file.h"

#define STAMP 21 /* "2026-01-31T12:34:56Z" and a byte for a blank */
#define LINE_MOST 1000

static void put_stamp(char text[STAMP])
{
    time_t now = time(NULL);
    struct tm utc;
    if (!gmtime_r(&now, &utc) || strftime(text, STAMP, "%Y-%m-%dT%H:%M:%SZ", &utc) != STAMP - 1) {
        memset(text, '?', STAMP - 1);
    }
}

static void tell_once(struct run_log *log, const char *what)
{
    if (!log->failed) {
        cli_error(log->command, "warning: %s: %s", what, report_file_reason(errno));
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
        log->descriptor = open(
            path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC | O_NOFOLLOW | (go_on ? 0 : O_TRUNC),
            0666);
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
    line[STAMP - 1] = ' ';
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

void log_close(struct run_log *log)
{
    if (log->descriptor >= 0 && close(log->descriptor) != 0) {
        tell_once(log, "cannot write " RUN_LOG_FILE);
    }
    log->descriptor = -1;
}
