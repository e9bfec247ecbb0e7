/* run.log: when a run began, how far it was each minute, how it ended. For people; nothing reads
 * it. Each line is written at once, so that one more crash does not lose it. */
#ifndef SHEAVE_CLI_LOG_H
#define SHEAVE_CLI_LOG_H

#include <stdbool.h>

#define RUN_LOG_FILE "run.log"

struct run_log {
    int descriptor; /* -1 when closed */
    const char *command;
    bool failed; /* told on stderr, once; a run does not end because of it */
};

/* Goes on with a log or begins a new one. Trouble is told on stderr. */
void log_open(struct run_log *log, const char *command, const char *folder, bool go_on);
/* One line, with date and time (UTC) before it. Nothing on a log that is not open. */
void log_line(struct run_log *log, const char *format, ...) __attribute__((format(printf, 2, 3)));
void log_close(struct run_log *log);

#endif
