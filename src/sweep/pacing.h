/* When a sweep writes to its journal next: often at first, when little is lost with a run that is
 * killed at once but all of it counts, then about once a second; never so often that waiting for
 * the disk takes more than a fifth of one thread; ever more rarely while the disk refuses. */
#ifndef SHEAVE_SWEEP_PACING_H
#define SHEAVE_SWEEP_PACING_H

#include <math.h>

#define COMMIT_SOONEST 0.05 /* s */
#define COMMIT_LATEST 1.0
#define COMMIT_SHARE_OF_RUN 0.1
#define COMMIT_REST 4.0   /* times what the last one took */
#define RETRY_LATEST 60.0 /* s, after failures */

/* s from the end of a commit to the next one, `run` s after the sweep began. */
static inline double pacing_after_commit(double run, double took)
{
    double wait = fmin(fmax(COMMIT_SHARE_OF_RUN * run, COMMIT_SOONEST), COMMIT_LATEST);
    return fmax(wait, COMMIT_REST * took);
}

/* s to the next try, after the one before had waited `wait` and failed too. */
static inline double pacing_after_failures(double wait)
{
    return fmin(2.0 * wait, RETRY_LATEST);
}

#endif
