/* The worker's side of sheave/watch.h: threads say what they have done, one of them passes it on.
 */
#ifndef SHEAVE_SWEEP_WATCHER_H
#define SHEAVE_SWEEP_WATCHER_H

#include "sheave/watch.h"

struct watcher {
    const struct shv_watch *watch; /* may be NULL */
    size_t total;
    size_t done;              /* atomic */
    bool telling, is_stopped; /* atomic */
};

/* Adds to what is done. Returns false once the work is to stop. */
bool watcher_add(struct watcher *w, size_t more);
bool watcher_stopped(const struct watcher *w);

#endif
