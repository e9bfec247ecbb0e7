/* How long work tells how far it is, and asks whether to go on. */
#ifndef SHEAVE_WATCH_H
#define SHEAVE_WATCH_H

#include <stdbool.h>
#include <stddef.h>

struct shv_watch {
    /* Called now and then, by one thread at a time, from whichever works: `done` of `total` units,
     * of which `done` never falls. False stops the work, which then fails with SHV_STOPPED. NULL:
     * nobody watches. */
    bool (*step)(void *data, size_t done, size_t total);
    void *data;
};

#endif
