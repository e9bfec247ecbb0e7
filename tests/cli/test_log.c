/* The log of a run: lines with their time, going on and beginning anew, and trouble told once. */
#include "cli_tests.h"

#include <sys/resource.h>
#include <sys/stat.h>
#include <signal.h>
#include <time.h>

#include "cli/log.h"

static char *content(const char *path)
{
    FILE *file = fopen(path, "r");
    char *text = calloc(1, 1 << 16);
    assert_true(file != NULL && text != NULL);
    (void)fread(text, 1, (1 << 16) - 1, file);
    assert_int_equal(fclose(file), 0);
    return text;
}

/* A time of the last minute, in UTC. */
static void assert_stamped(const char *line, const char *rest)
{
    struct tm utc = {0};
    int length = 0;
    assert_int_equal(sscanf(line, "%4d-%2d-%2dT%2d:%2d:%2dZ %n", &utc.tm_year, &utc.tm_mon,
                            &utc.tm_mday, &utc.tm_hour, &utc.tm_min, &utc.tm_sec, &length),
                     6);
    assert_int_equal(length, 21);
    time_t now = time(NULL);
    char from[32], to[32], found[32];
    struct tm then;
    time_t ago = now - 60;
    assert_true(gmtime_r(&now, &then) && strftime(to, sizeof to, "%Y-%m-%dT%H:%M:%SZ", &then) > 0);
    assert_true(gmtime_r(&ago, &then) &&
                strftime(from, sizeof from, "%Y-%m-%dT%H:%M:%SZ", &then) > 0);
    (void)snprintf(found, sizeof found, "%.20s", line);
    assert_true(strcmp(found, from) >= 0 && strcmp(found, to) <= 0);
    assert_int_equal(strncmp(line + 21, rest, strlen(rest)), 0);
}

static void lines(void **state)
{
    (void)state;
    struct run_log log;
    log_open(&log, "run", ".", false);
    log_line(&log, "%s number %d", "line", 1);
    log_close(&log);
    assert_int_equal(log.descriptor, -1);
    log_line(&log, "to nobody");
    log_open(&log, "run", ".", true); /* goes on */
    log_line(&log, "second");
    log_close(&log);
    char *text = content(RUN_LOG_FILE);
    char *second = strchr(text, '\n') + 1;
    assert_stamped(text, "line number 1\n");
    assert_stamped(second, "second\n");
    assert_int_equal(strlen(second), 21 + strlen("second\n"));
    free(text);
    log_open(&log, "run", ".", false); /* begins anew */
    log_line(&log, "third");
    log_close(&log);
    text = content(RUN_LOG_FILE);
    assert_stamped(text, "third\n");
    assert_int_equal(strlen(text), 21 + strlen("third\n"));
    free(text);
}

static void long_lines_are_cut(void **state)
{
    (void)state;
    struct run_log log;
    char much[2000];
    memset(much, 'm', sizeof much);
    much[1999] = '\0';
    log_open(&log, "run", ".", false);
    log_line(&log, "%s", much);
    log_close(&log);
    char *text = content(RUN_LOG_FILE);
    assert_int_equal(strlen(text), 21 + 999 + 1);
    assert_true(text[21 + 999] == '\n' && text[21 + 998] == 'm');
    free(text);
}

/* A run does not end because of its log, and says so once. */
static void trouble_is_told_once(void **state)
{
    (void)state;
    struct run_log log;
    cli_listen();
    log_open(&log, "run", "no/such/folder", false);
    log_line(&log, "lost");
    log_close(&log);
    assert_said("sheave run: warning: cannot write run.log: No such file or directory\n");
    assert_int_equal(symlink("elsewhere", "link"), 0);
    assert_int_equal(mkdir("with", 0700), 0);
    assert_int_equal(symlink("../target", "with/" RUN_LOG_FILE), 0);
    cli_listen();
    log_open(&log, "merge", "with", false);
    log_close(&log);
    char *text = cli_said();
    assert_non_null(strstr(text, "sheave merge: warning: cannot write run.log: "));
    free(text);
    assert_int_equal(access("target", F_OK), -1);
}

/* What does not fit is a warning, and so is what fits in half: 172 of 200 bytes are taken. */
static void a_full_disk(void **state)
{
    (void)state;
    struct run_log log;
    struct rlimit before, small;
    (void)signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 200;
    cli_listen();
    log_open(&log, "run", ".", false);
    log_line(&log, "%0150d", 7);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    log_line(&log, "a line that fits in half");
    log_line(&log, "another");
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    log_close(&log);
    assert_said("sheave run: warning: cannot write run.log: No space left on device\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines),
        cmocka_unit_test(long_lines_are_cut),
        cmocka_unit_test(trouble_is_told_once),
        cmocka_unit_test(a_full_disk),
    };
    return cmocka_run_group_tests(tests, cli_begin, cli_end);
}
