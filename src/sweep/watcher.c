/* Telling how far work is (watcher.h). */
#include "sweep/watcher.h"

bool watcher_stopped(const struct watcher *w)
{
    return __atomic_load_n(&w->is_stopped, __ATOMIC_RELAXED);
}

bool watcher_add(struct watcher *w, size_t more)
{
    (void)__atomic_fetch_add(&w->done, more, __ATOMIC_RELAXED);
    if (watcher_stopped(w)) {
        return false;
    }
    if (!w->watch || !w->watch->step || __atomic_test_and_set(&w->telling, __ATOMIC_ACQUIRE)) {
        return true; /* whoever comes while another is at it goes on */
    }
    /* Read only here, where threads come one after the other, so that it never falls. */
    size_t done = __atomic_load_n(&w->done, __ATOMIC_RELAXED);
    if (!w->watch->step(w->watch->data, done < w->total ? done : w->total, w->total)) {
        __atomic_store_n(&w->is_stopped, true, __ATOMIC_RELAXED);
    }
    __atomic_clear(&w->telling, __ATOMIC_RELEASE);
    return !watcher_stopped(w);
}
