/* Progress of every stage: a live line on a terminal, else a plain line a minute; a line a minute
 * in the log. */
#ifndef SHEAVE_CLI_PROGRESS_H
#define SHEAVE_CLI_PROGRESS_H

#include "base/clock.h"
#include "cli/log.h"
#include "sheave/sweep.h"
#include "sheave/watch.h"

#define PROGRESS_LINE 256

struct progress {
    bool terminal, quiet;
    const char *stage;    /* what it is of, for the lines of progress_units and progress_stage */
    bool in_percent;      /* else in units */
    struct run_log *log;  /* gets a line a minute; NULL for none */
    uint64_t first_done;  /* combinations that an earlier run had done */
    uint64_t points;      /* in a combination */
    double last_log;      /* s, monotonic */
    double started, last; /* s, monotonic */
    const struct shv_study *study;
    bool shown;
};

void progress_init(struct progress *p, const struct shv_study *study, bool quiet);
/* A shv_progress callback; returns false once an interrupt was asked for. */
bool progress_step(void *data, uint64_t done, uint64_t total, double best);
/* The same for cycle tables, of shv_tables_options. */
void progress_tables(void *data, size_t done, size_t total);
/* True once an interrupt was asked for. */
bool progress_stop(void *data);
/* For a stage of many units, such as the search: "search: 7 of 12, about 2 s left". Gives a watch
 * that lasts as long as the progress, and stops the work once an interrupt was asked for. */
struct shv_watch progress_watch(struct progress *p, const char *stage, bool in_percent);
/* A shv_progress callback that says no more than the stage and how far it is. */
bool progress_part(void *data, uint64_t done, uint64_t total, double best);
/* A line of one's own, when it is time for one. */
void progress_note(struct progress *p, const char *line);
/* Ends the live line. */
void progress_end(struct progress *p);
/* Of shv_sweep_options: the journal can't be written for now. `data` is a struct progress. */
void progress_trouble(void *data, const char *text);
/* "42 s", "12 min", "7 h 20 min", "12 days", "360 years". */
const char *progress_duration(char text[48], double seconds);
/* From now on SIGINT, SIGTERM and, unless it was ignored before, SIGHUP only ask the work to stop,
 * and a closed pipe is an error of writing. Returns false when that can't be set. */
bool progress_catch_signals(void);
bool progress_interrupted(void);
/* With a text, a signal ends the program at once, with this text on stderr and the exit code of an
 * interruption: for work that can't be asked to stop. NULL: as before. The text must last until
 * then. */
void progress_signals_end(const char *text);
#endif
