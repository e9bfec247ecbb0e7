/* splitmix64 against numbers known of it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/random.h"

/* The first of seed 1234567, as other programs have them [memory]. */
static void numbers_known(void **state)
{
    (void)state;
    static const uint64_t known[] = {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973),
                                     UINT64_C(9817491932198370423), UINT64_C(4593380528125082431),
                                     UINT64_C(16408922859458223821)};
    uint64_t x = 1234567;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        assert_true(random_next(&x) == known[i]);
    }
}

static void shares_lie_below_one(void **state)
{
    (void)state;
    assert_true(random_unit(0) == 0.0 && random_unit(UINT64_MAX) < 1.0);
    assert_true(random_unit(UINT64_C(1) << 63) == 0.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_known),
        cmocka_unit_test(shares_lie_below_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
