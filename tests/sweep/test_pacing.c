/* src/sweep/pacing.h: how often a sweep waits for the disk. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sweep/pacing.h"

static void assert_seconds(double found, double expected)
{
    if (!(fabs(found - expected) <= 1e-12)) {
        fail_msg("%.17g s in place of %.17g s", found, expected);
    }
}

/* On a quick disk the beginning is kept soon, and the rest about once a second. */
static void quick_disk(void **state)
{
    (void)state;
    assert_seconds(pacing_after_commit(0.1, 0.001), 0.05);
    assert_seconds(pacing_after_commit(4.0, 0.001), 0.4);
    assert_seconds(pacing_after_commit(3600.0, 0.001), 1.0);
}

/* A commit of 5 s is followed by 20 s of work, however long the run. */
static void slow_disk(void **state)
{
    (void)state;
    assert_seconds(pacing_after_commit(0.1, 5.0), 20.0);
    assert_seconds(pacing_after_commit(3600.0, 5.0), 20.0);
    assert_seconds(pacing_after_commit(3600.0, 0.25), 1.0);
    assert_seconds(pacing_after_commit(3600.0, 0.26), 1.04);
}

static void disk_that_refuses(void **state)
{
    (void)state;
    assert_seconds(pacing_after_failures(1.0), 2.0);
    assert_seconds(pacing_after_failures(2.0), 4.0);
    assert_seconds(pacing_after_failures(40.0), 60.0);
    assert_seconds(pacing_after_failures(60.0), 60.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quick_disk),
        cmocka_unit_test(slow_disk),
        cmocka_unit_test(disk_that_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
