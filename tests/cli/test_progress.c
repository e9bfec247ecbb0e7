/* Progress: durations in words, when a line is due and what it says, and signals that only ask. */
#include "cli_tests.h"

#include <math.h>
#include <signal.h>
#include <sys/wait.h>

#include "cli/cli.h"
#include "cli/progress.h"

static struct shv_study study = {.site_count = 2, .engine = {.speed_count = 5}};

static void durations(void **state)
{
    (void)state;
    static const struct {
        double seconds;
        const char *words;
    } cases[] = {{0.04, "0.0 s"},         {9.94, "9.9 s"},          {9.96, "10 s"},
                 {99.4, "99 s"},          {100.0, "2 min"},         {5999.0, "100 min"},
                 {6000.0, "1 h 40 min"},  {7199.0, "2 h 0 min"},    {172799.0, "48 h 0 min"},
                 {172800.0, "2 days"},    {63115199.0, "730 days"}, {63115201.0, "2 years"},
                 {1.2e12, "38,025 years"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[48];
        assert_string_equal(progress_duration(text, cases[i].seconds), cases[i].words);
    }
}

/* As if it had begun so many seconds ago; 50 % are then as far away. */
static struct progress begun(double ago)
{
    struct progress p;
    progress_init(&p, &study, false);
    p.terminal = false;
    p.started -= ago;
    p.last -= ago;
    return p;
}

static void lines_of_units(void **state)
{
    (void)state;
    struct progress p = begun(61.0);
    struct shv_watch watch = progress_watch(&p, "search", false);
    cli_listen();
    assert_true(watch.step(watch.data, 4, 8));
    assert_true(watch.step(watch.data, 5, 8)); /* a minute has not passed */
    assert_said("search: 5 of 8, about 61 s left\n");
    p = begun(61.0);
    watch = progress_watch(&p, "certainty", true);
    cli_listen();
    assert_true(watch.step(watch.data, 0, 8)); /* nothing to reckon with yet */
    assert_said("certainty: 0 %\n");
    p = begun(120.0);
    watch = progress_watch(&p, "certainty", true);
    cli_listen();
    assert_true(watch.step(watch.data, 599, 800));
    assert_said("certainty: 74 %, about 40 s left\n");
    p = begun(59.0);
    cli_listen();
    progress_tables(&p, 1, 3);
    assert_true(progress_part(&p, 1, 3, 0.0));
    assert_said("");
    p = begun(61.0);
    cli_listen();
    progress_tables(&p, 3, 3); /* the end needs no line */
    assert_said("");
    p = begun(61.0);
    cli_listen();
    progress_tables(&p, 1, 3);
    progress_end(&p); /* of a terminal alone */
    assert_said("cycle tables: 2 of 3, about 2 min left\n");
    p = begun(61.0);
    p.quiet = true;
    cli_listen();
    progress_tables(&p, 1, 3);
    progress_note(&p, "a note");
    assert_said("");
}

/* 250 of 1000 in 100 s, 50 of them before: 2 a second, 20 points; 375 s for the rest. */
static void lines_of_a_sweep(void **state)
{
    (void)state;
    struct progress p = begun(100.0);
    p.first_done = 50;
    cli_listen();
    assert_true(progress_step(&p, 250, 1000, NAN));
    char *text = cli_said();
    assert_non_null(strstr(text, " 25 %  250 of 1,000  "));
    unsigned rate = 0;
    assert_int_equal(sscanf(text, " 25 %%  250 of 1,000  %u points a second", &rate), 1);
    assert_true(rate == 19 || rate == 20);
    assert_non_null(strstr(text, "  6 min left  best none yet\n"));
    free(text);
    p = begun(100.0);
    cli_listen();
    assert_true(progress_step(&p, 999, 1000, 123456.0)); /* rounded down */
    text = cli_said();
    assert_int_equal(strncmp(text, " 99 %  999 of 1,000  ", 21), 0);
    assert_non_null(strstr(text, "best 123.5 kW\n"));
    free(text);
    p = begun(100.0);
    cli_listen();
    progress_note(&p, "a note");
    progress_note(&p, "another");
    assert_said("a note\n");
}

static void the_log_gets_a_line_a_minute(void **state)
{
    (void)state;
    struct run_log log;
    log_open(&log, "run", ".", false);
    struct progress p = begun(61.0);
    p.quiet = true; /* which is about the screen */
    p.log = &log;
    p.last_log -= 61.0;
    struct shv_watch watch = progress_watch(&p, "search", false);
    cli_listen();
    (void)watch.step(watch.data, 1, 8);
    (void)watch.step(watch.data, 2, 8);
    (void)progress_step(&p, 10, 100, NAN);
    p.last_log -= 61.0;
    (void)progress_step(&p, 10, 100, NAN);
    progress_trouble(&p, "the disk is full");
    assert_said("sheave run: warning: the disk is full; the sweep goes on\n");
    log_close(&log);
    FILE *file = fopen(RUN_LOG_FILE, "r");
    char line[4][400] = {""};
    assert_non_null(file);
    for (int i = 0; i < 3; i++) {
        assert_non_null(fgets(line[i], sizeof line[i], file));
    }
    assert_null(fgets(line[3], sizeof line[3], file));
    assert_int_equal(fclose(file), 0);
    assert_non_null(strstr(line[0], "Z search: 2 of 8, about "));
    assert_non_null(strstr(line[1], "Z  10 %  10 of 100  "));
    assert_non_null(strstr(line[2], "Z warning: the disk is full\n"));
}

/* In a child, for a signal stays caught. */
static int child(void (*work)(void))
{
    int how = 0;
    pid_t id = fork();
    assert_true(id >= 0);
    if (id == 0) {
        work();
        _exit(99);
    }
    assert_true(waitpid(id, &how, 0) == id);
    return WIFEXITED(how) ? WEXITSTATUS(how) : -WTERMSIG(how);
}

static void asked_to_stop(void)
{
    struct progress p = begun(0.0);
    struct shv_watch watch = progress_watch(&p, "search", false);
    bool good = progress_catch_signals() && !progress_interrupted() && watch.step(&p, 1, 2) &&
                progress_step(&p, 1, 2, NAN) && progress_part(&p, 1, 2, NAN) && !progress_stop(&p);
    (void)raise(SIGTERM);
    (void)raise(SIGPIPE);
    good = good && progress_interrupted() && !watch.step(&p, 1, 2) &&
           !progress_step(&p, 1, 2, NAN) && !progress_part(&p, 1, 2, NAN) && progress_stop(&p);
    _exit(good ? 0 : 1);
}

static void ended_at_once(void)
{
    (void)progress_catch_signals();
    progress_signals_end("ended\n");
    progress_signals_end(NULL);
    (void)raise(SIGINT);
    progress_signals_end("ended\n");
    (void)raise(SIGINT);
}

static void hung_up(void)
{
    (void)progress_catch_signals();
    (void)raise(SIGHUP);
    _exit(progress_interrupted() ? 0 : 1);
}

static void hung_up_under_nohup(void)
{
    (void)signal(SIGHUP, SIG_IGN);
    (void)progress_catch_signals();
    (void)raise(SIGHUP);
    _exit(progress_interrupted() ? 1 : 0);
}

static void signals(void **state)
{
    (void)state;
    assert_int_equal(child(asked_to_stop), 0);
    cli_listen();
    int code = child(ended_at_once);
    assert_said("ended\n");
    assert_int_equal(code, CLI_INTERRUPTED);
    assert_int_equal(child(hung_up), 0);
    assert_int_equal(child(hung_up_under_nohup), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(durations),        cmocka_unit_test(lines_of_units),
        cmocka_unit_test(lines_of_a_sweep), cmocka_unit_test(the_log_gets_a_line_a_minute),
        cmocka_unit_test(signals),
    };
    return cmocka_run_group_tests(tests, cli_begin, cli_end);
}
