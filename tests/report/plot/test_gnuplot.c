/* src/report/plot/gnuplot.c, with stand-ins for gnuplot that say what they were given. */
#include "report/folder.h"
#include "report/plot/gnuplot.h"

/* A program of this name, and nothing else, on the PATH. */
static void stand_in(struct fixture *f, const char *script)
{
    (void)mkdir(folder_path(f->folder, "bin"), 0755);
    assert_int_equal(setenv("PATH", folder_path(f->folder, "bin"), 1), 0);
    if (script) {
        folder_write(f->folder, "bin/gnuplot", script);
        assert_int_equal(chmod(folder_path(f->folder, "bin/gnuplot"), 0755), 0);
    }
}

static void test_runs_in_the_folder_with_its_own_settings(void **state)
{
    struct fixture *f = *state;
    stand_in(f, "#!/bin/sh\nprintf '%s|' \"$@\" \"$LC_ALL\" \"$GNUTERM\" > said\n");
    assert_int_equal(setenv("GNUTERM", "x11", 1), 0);
    assert_int_equal(setenv("LC_ALL", "de_DE.UTF-8", 1), 0);
    assert_int_equal(report_gnuplot(f->folder, "it's $HOME.gp", &f->message), SHV_OK);
    char *said = read_whole(f->folder, "said");
    assert_string_equal(said, "-d|-e|part='.part'|it's $HOME.gp|C.UTF-8||");
    free(said);
}

static void test_missing_is_told_apart(void **state)
{
    struct fixture *f = *state;
    stand_in(f, NULL);
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_NOTHING);
}

static void test_failure_says_what_it_said(void **state)
{
    struct fixture *f = *state;
    stand_in(f, "#!/bin/sh\nprintf '\\nline 7: undefined\\nmore\\n' >&2\nexit 2\n");
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_IO);
    assert_string_equal(f->message.text, "gnuplot could not draw a.gp: line 7: undefined");
    stand_in(
        f, "#!/bin/sh\nprintf '%0400d' 7 >&2\nexit 2\n"); /* a digit more than there is room for */
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_IO);
    assert_int_equal(strlen(f->message.text), strlen("gnuplot could not draw a.gp: ") + 399);
    stand_in(f, "#!/bin/sh\nkill -9 $$\n");
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_IO);
    assert_string_equal(f->message.text, "gnuplot could not draw a.gp");
}

/* One that talks more than a pipe holds must not wait for ever. */
static void test_listens_to_the_end(void **state)
{
    struct fixture *f = *state;
    stand_in(
        f, "#!/bin/sh\ni=0\nwhile [ $i -lt 3000 ]; do echo 0123456789012345678901234567890123456789"
           " >&2; i=$((i+1)); done\n");
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_OK);
}

/* A parent that ignores the end of its children gets no answer of how they ended, at once. */
static void test_children_that_nobody_waits_for(void **state)
{
    struct fixture *f = *state;
    void (*before)(int) = signal(SIGCHLD, SIG_IGN);
    (void)alarm(20); /* a wait for ever ends the test */
    stand_in(f, "#!/bin/sh\nprintf drawn > picture\n");
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_OK);
    char *drawn = read_whole(f->folder, "picture");
    assert_string_equal(drawn, "drawn");
    free(drawn);
    stand_in(f, "#!/bin/sh\necho 'line 3: no' >&2\nexit 1\n");
    assert_int_equal(report_gnuplot(f->folder, "a.gp", &f->message), SHV_IO);
    assert_string_equal(f->message.text, "gnuplot could not draw a.gp: line 3: no");
    (void)alarm(0);
    (void)signal(SIGCHLD, before);
}

static void test_a_folder_that_is_not_there(void **state)
{
    struct fixture *f = *state;
    stand_in(f, "#!/bin/sh\n");
    enum shv_status status = report_gnuplot("/nowhere/at/all", "a.gp", &f->message);
    assert_true(status == SHV_IO || status == SHV_NOTHING);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_runs_in_the_folder_with_its_own_settings,
                                        fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_missing_is_told_apart, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_failure_says_what_it_said, fixture_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_listens_to_the_end, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_a_folder_that_is_not_there, fixture_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_children_that_nobody_waits_for, fixture_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
