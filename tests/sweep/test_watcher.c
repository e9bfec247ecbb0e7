/* Telling how far work is: one at a time, never less, and stopped for good. */
#include "support/study_fixture.h"

#include <omp.h>

#include "sweep/watcher.h"

#define TOTAL 20000

struct seen {
    size_t calls, done, inside, stop_at;
};

static bool step(void *data, size_t done, size_t total)
{
    struct seen *s = data;
    assert_int_equal(__atomic_fetch_add(&s->inside, 1, __ATOMIC_ACQ_REL), 0);
    assert_true(done >= s->done && done <= total && total == TOTAL);
    s->done = done;
    s->calls++;
    (void)__atomic_fetch_sub(&s->inside, 1, __ATOMIC_ACQ_REL);
    return done < s->stop_at;
}

static void many_threads(void **state)
{
    (void)state;
    struct seen seen = {.stop_at = SIZE_MAX};
    const struct shv_watch watch = {step, &seen};
    struct watcher w = {.watch = &watch, .total = TOTAL};
#pragma omp parallel for num_threads(4)
    for (int i = 0; i < TOTAL; i++) {
        (void)watcher_add(&w, 1);
    }
    assert_true(seen.calls > 0 && w.done == TOTAL);
    assert_false(watcher_stopped(&w));
}

static void more_than_all_counts_as_all(void **state)
{
    (void)state;
    struct seen seen = {.stop_at = SIZE_MAX};
    const struct shv_watch watch = {step, &seen};
    struct watcher w = {.watch = &watch, .total = TOTAL};
    assert_true(watcher_add(&w, 3 * TOTAL));
    assert_int_equal(seen.done, TOTAL);
}

static void stopped_for_good(void **state)
{
    (void)state;
    struct seen seen = {.stop_at = 10};
    const struct shv_watch watch = {step, &seen};
    struct watcher w = {.watch = &watch, .total = TOTAL};
    assert_true(watcher_add(&w, 9));
    assert_false(watcher_add(&w, 1));
    seen.stop_at = SIZE_MAX;
    assert_false(watcher_add(&w, 1));
    assert_true(watcher_stopped(&w));
}

static void nobody_watches(void **state)
{
    (void)state;
    struct watcher w = {.total = 2};
    assert_true(watcher_add(&w, 1));
    const struct shv_watch none = {NULL, NULL};
    w.watch = &none;
    assert_true(watcher_add(&w, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_threads),
        cmocka_unit_test(more_than_all_counts_as_all),
        cmocka_unit_test(stopped_for_good),
        cmocka_unit_test(nobody_watches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
