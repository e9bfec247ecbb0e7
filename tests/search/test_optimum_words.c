/* An optimum as numbers for a file: every member, and the same bits. */
#include "support/study_fixture.h"

#include "sheave/optimum.h"

#define MOST 256

static void nothing_is_left_out(void **state)
{
    (void)state;
    struct shv_optimum full, back;
    uint64_t words[MOST], again[MOST];
    size_t left = 0, most = 4 * (sizeof(double) - sizeof(bool)) + sizeof(double) - sizeof(int);
    assert_true(shv_optimum_words() <= MOST);
    memset(&full, 1, sizeof full); /* every byte; true where it is a bool */
    shv_optimum_pack(&full, words);
    shv_optimum_unpack(words, &back);
    const unsigned char *bytes = (const unsigned char *)&back;
    for (size_t i = 0; i < sizeof back; i++) {
        left += bytes[i] == 0;
    }
    /* Gaps behind the four that say whether something was found, and behind the one int. */
    assert_true(left <= most);
    shv_optimum_pack(&back, again);
    assert_memory_equal(words, again, shv_optimum_words() * sizeof *words);
}

static void bits_come_back(void **state)
{
    (void)state;
    struct shv_optimum odd = {.blower = 3,
                              .binding = -1,
                              .found = true,
                              .objective = -0.0,
                              .loss = NAN,
                              .real_objective = INFINITY,
                              .real_index = UINT64_MAX - 1,
                              .uncooled = {.wrap = 5e-324}};
    odd.elasticity[SHV_FREE_COUNT - 1] = 0.1;
    struct shv_optimum back;
    uint64_t words[MOST];
    shv_optimum_pack(&odd, words);
    shv_optimum_unpack(words, &back);
    assert_true(back.blower == 3 && back.binding == -1 && back.found && !back.real_found);
    assert_true(back.real_index == UINT64_MAX - 1);
    assert_memory_equal(&back.objective, &odd.objective, sizeof(double));
    assert_memory_equal(&back.loss, &odd.loss, sizeof(double));
    assert_memory_equal(&back.real_objective, &odd.real_objective, sizeof(double));
    assert_memory_equal(&back.uncooled.wrap, &odd.uncooled.wrap, sizeof(double));
    assert_memory_equal(back.elasticity, odd.elasticity, sizeof odd.elasticity);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_left_out),
        cmocka_unit_test(bits_come_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
