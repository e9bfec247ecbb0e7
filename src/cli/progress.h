/* Progress of a sweep: a live line on a terminal, else a plain line a minute. */
#ifndef SHEAVE_CLI_PROGRESS_H
#define SHEAVE_CLI_PROGRESS_H

#include "sheave/sweep.h"

struct progress {
    bool terminal, quiet;
    double started, last; /* s, monotonic */
    double scale;         /* from SI to the shown objective */
    const char *unit;
    bool shown;
};

double progress_now(void);
void progress_init(struct progress *p, const struct shv_study *study, bool quiet);
/* A shv_progress callback; returns false once an interrupt was asked for. */
bool progress_step(void *data, uint64_t done, uint64_t total, double best);
/* Ends the live line. */
void progress_end(struct progress *p);
/* From now on SIGINT and SIGTERM only ask the sweep to stop. Returns false when that can't be set.
 */
bool progress_catch_signals(void);
bool progress_interrupted(void);
/* While on, a signal ends the program at once, with message and exit code of an interruption: for
 * work that can't be asked to stop and has written nothing. */
void progress_signals_end(bool on);

#endif
