/* What first place hangs on, in sentences: which tolerance, how far off, which way, in whose units.
 */
#include "report/fixture.h"
#include "report/table/hangs.h"

static struct shv_rival rival_by(enum shv_correction which, double departure)
{
    return (struct shv_rival){.kit = {.blower = 1, .fuel = 1},
                              .place = 11,
                              .behind = 700.0,
                              .decides = (int)which,
                              .departure = departure};
}

static void assert_says(const struct fixture *f, const struct shv_rival *rival, const char *part)
{
    char words[REPORT_HANGS_MAX];
    report_hangs_sentence(&f->study, rival, words);
    if (!strstr(words, part)) {
        fail_msg("found \"%s\", expected it to hold \"%s\"", words, part);
    }
}

static void sentences(void **state)
{
    struct fixture *f = *state;
    char kit[200];
    struct shv_rival r = rival_by(SHV_CORRECT_OCTANE, -3.1);
    (void)snprintf(kit, sizeof kit, "and %s with %s (row 12, 0.7 kW behind) is as good.",
                   f->blowers[1].name, f->fuels[1].name);
    assert_says(f, &r, "First place hangs on octane number");
    assert_says(f, &r, ": 3.1 less of it, limits aside, ");
    assert_says(f, &r, kit);
    f->study.results.units = SHV_US;
    assert_says(f, &r, "First place hangs on antiknock index (AKI): 3.1 less of it");
    assert_says(f, &r, "0.9 hp behind");
    f->study.results.units = SHV_METRIC;
    r = rival_by(SHV_CORRECT_FRICTION, 0.12); /* a factor */
    assert_says(f, &r, ": 12.0 % more of it");
    r.decides = -1;
    (void)snprintf(kit, sizeof kit, "No tolerance alone puts %s with %s (row 12, ",
                   f->blowers[1].name, f->fuels[1].name);
    assert_says(f, &r, kit);
}

/* By standard deviations, whatever the order. */
static void nearest(void **state)
{
    struct fixture *f = *state;
    struct shv_sure_list list = {.rivals = 0};
    assert_null(report_nearest_rival(&f->run));
    f->run.sure = &list;
    assert_null(report_nearest_rival(&f->run));
    list.rivals = 2;
    list.rival[0].deviations = 2.5;
    list.rival[1].deviations = 0.5;
    assert_ptr_equal(report_nearest_rival(&f->run), &list.rival[1]);
    list.rival[1].deviations = INFINITY;
    assert_ptr_equal(report_nearest_rival(&f->run), &list.rival[0]);
    f->run.sure = NULL;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(sentences, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(nearest, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
