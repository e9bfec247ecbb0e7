/* The nearest kits in words: which limit by how much and where, together or alone, and how many. */
#include "report/fixture.h"
#include "report/text/nearest.h"

static struct shv_nearest far_off(uint64_t index, int alone)
{
    struct shv_nearest n = {.index = index, .alone = alone};
    n.verdict.broken = SHV_LIMIT_BIT(SHV_LIMIT_BOOST);
    n.verdict.limit[SHV_LIMIT_BOOST] = (struct shv_limit_result){
        .bound = 60e3, .value = 75e3, .margin = -15e3, .share = -0.25, .site = 1, .speed = 2};
    return n;
}

/* As one line: where a paragraph is broken does not matter here. */
static char *said(const struct fixture *f, const struct shv_nearest *nearest, size_t count,
                  size_t most)
{
    struct report_text text;
    char *words = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&words, &size);
    assert_non_null(out);
    report_text_init(&text, out);
    report_say_nearest(&text, &f->study, &f->space, nearest, count, most);
    assert_int_equal(report_text_finish(&text, "words", NULL), SHV_OK);
    assert_int_equal(fclose(out), 0);
    size_t to = 0;
    for (size_t i = 0; words[i]; i++) {
        bool blank = words[i] == ' ' || words[i] == '\n';
        if (!blank || (to > 0 && words[to - 1] != ' ')) {
            words[to++] = blank ? ' ' : words[i];
        }
    }
    words[to] = '\0';
    return words;
}

static void assert_holds(const char *words, const char *part)
{
    if (!strstr(words, part)) {
        fail_msg("found \"%s\", expected it to hold \"%s\"", words, part);
    }
}

static void one_limit(void **state)
{
    struct fixture *f = *state;
    struct shv_nearest n = far_off(7, SHV_LIMIT_BOOST);
    struct shv_kit kit;
    char part[200];
    shv_space_kit(&f->space, &f->study, 7, &kit);
    char *words = said(f, &n, 1, 3);
    (void)snprintf(part, sizeof part,
                   "- only %s by 15.0 kPa (from 60.0 kPa to 75.0 kPa) at %.0f rpm, %s. "
                   "Combination 7: blower %s, pulleys ",
                   shv_limit_info(SHV_LIMIT_BOOST)->title, f->speeds[2] * 60.0, f->sites[1].name,
                   f->blowers[kit.blower].name);
    assert_holds(words, part);
    free(words);
    n.verdict.limit[SHV_LIMIT_BOOST].value = INFINITY;
    words = said(f, &n, 1, 3);
    assert_holds(words, ", which has no end (bound 60.0 kPa) at ");
    free(words);
    words = said(f, &n, 0, 3);
    assert_string_equal(words, "");
    free(words);
}

/* Four are said, in the order of the limits; a property of the whole kit has no place. */
static void several_limits(void **state)
{
    struct fixture *f = *state;
    struct shv_nearest n = far_off(7, -1);
    for (int k = 0; k < 6; k++) {
        n.verdict.broken |= SHV_LIMIT_BIT(k);
        n.verdict.limit[k].value = n.verdict.limit[k].bound = 1.0;
    }
    size_t broken = (size_t)__builtin_popcountll(n.verdict.broken);
    char part[40];
    char *words = said(f, &n, 1, 3);
    assert_holds(words, "- together ");
    (void)snprintf(part, sizeof part, ", and %zu more. Combination 7", broken - 4);
    assert_holds(words, part);
    free(words);
    n = far_off(7, -1);
    n.verdict.broken = SHV_LIMIT_BIT(SHV_LIMIT_MASS);
    n.verdict.limit[SHV_LIMIT_MASS] =
        (struct shv_limit_result){.bound = 20.0, .value = 21.5, .margin = -1.5};
    words = said(f, &n, 1, 3);
    assert_holds(words, " kg). Combination 7");
    free(words);
}

/* The last of all is said where several give together, in the place of the last that fits. */
static void as_many_as_asked_for(void **state)
{
    struct fixture *f = *state;
    struct shv_nearest n[4] = {far_off(1, SHV_LIMIT_BOOST), far_off(2, SHV_LIMIT_BOOST),
                               far_off(3, SHV_LIMIT_BOOST), far_off(4, -1)};
    char *words = said(f, n, 4, 2);
    assert_holds(words, "Combination 1:");
    assert_null(strstr(words, "Combination 2:"));
    assert_holds(words, "Combination 4:");
    free(words);
    n[3].alone = SHV_LIMIT_BOOST;
    words = said(f, n, 4, 2);
    assert_holds(words, "Combination 2:");
    assert_null(strstr(words, "Combination 4:"));
    free(words);
    words = said(f, n, 4, 4);
    assert_holds(words, "Combination 4:");
    free(words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(one_limit, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(several_limits, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(as_many_as_asked_for, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
