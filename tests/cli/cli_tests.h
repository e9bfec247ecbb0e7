/* What tests of single files of the program share: a folder of their own to work in, and what was
 * said on standard error. */
#ifndef SHEAVE_TESTS_CLI_TESTS_H
#define SHEAVE_TESTS_CLI_TESTS_H

#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static char cli_folder[64], cli_before[4096];

static inline int cli_begin(void **state)
{
    (void)state;
    strcpy(cli_folder, "/tmp/sheave-cli-XXXXXX");
    return getcwd(cli_before, sizeof cli_before) && mkdtemp(cli_folder) && chdir(cli_folder) == 0
               ? 0
               : -1;
}

static inline int cli_end(void **state)
{
    (void)state;
    char command[100];
    (void)snprintf(command, sizeof command, "rm -r '%s'", cli_folder);
    return chdir(cli_before) == 0 && system(command) == 0 ? 0 : -1;
}

/* Standard error goes to a file until cli_said takes it; the caller frees the text. */
static int cli_stderr;

static inline void cli_listen(void)
{
    (void)fflush(stderr);
    cli_stderr = dup(STDERR_FILENO);
    int file = open("said", O_RDWR | O_CREAT | O_TRUNC, 0600);
    assert_true(cli_stderr >= 0 && file >= 0 && dup2(file, STDERR_FILENO) >= 0);
    assert_int_equal(close(file), 0);
}

static inline char *cli_said(void)
{
    (void)fflush(stderr);
    assert_true(dup2(cli_stderr, STDERR_FILENO) >= 0);
    assert_int_equal(close(cli_stderr), 0);
    FILE *file = fopen("said", "r");
    char *text = calloc(1, 1 << 16);
    assert_true(file != NULL && text != NULL);
    (void)fread(text, 1, (1 << 16) - 1, file);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(unlink("said"), 0);
    return text;
}

#define assert_said(expected)                                                                      \
    do {                                                                                           \
        char *said_text = cli_said();                                                              \
        assert_string_equal(said_text, expected);                                                  \
        free(said_text);                                                                           \
    } while (0)

#endif
