/* What the subcommands share: options, messages, exit codes. */
#ifndef SHEAVE_CLI_H
#define SHEAVE_CLI_H

#include <stdio.h>

#include "sheave/sheave.h"

enum cli_exit {
    CLI_DONE = 0,
    CLI_NOTHING_FEASIBLE = 1,
    CLI_BAD_INPUT = 2,
    CLI_TROUBLE = 3,
    CLI_INTERRUPTED = 130
};

/* One long option of a subcommand; a table of them makes parsing and --help. Ends with a NULL name.
 */
struct cli_option {
    const char *name;
    const char *argument; /* NULL: a plain switch */
    const char *help;
};

struct cli_command {
    const char *name;
    const char *operand; /* e.g. "STUDY" */
    const char *summary;
    const char *description; /* paragraphs for --help */
    const struct cli_option *options;
    bool cautions; /* --help ends with the safety cautions */
    int (*run)(int argc, char **argv);
};

extern const struct cli_command cli_check, cli_run, cli_point;

/* Called for each option met; return 0, or an exit code to stop with. */
typedef int (*cli_on_option)(void *data, const char *name, const char *argument);

/* Parses a subcommand's arguments (argv[0] is its name). Sets *operand to the one operand. Returns
 * -1 to go on, or an exit code: --help and --version print and give CLI_DONE, misuse CLI_BAD_INPUT.
 */
int cli_parse(const struct cli_command *command, int argc, char **argv, cli_on_option on_option,
              void *data, const char **operand);

void cli_print_help(const struct cli_command *command, FILE *out);
void cli_print_version(FILE *out);
/* "sheave COMMAND: message" on stderr. */
void cli_error(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Exit code of a status. */
int cli_exit_code(enum shv_status status);
/* Reads a whole number from 1 to most. Returns false and says so when it isn't one. */
bool cli_number(const char *command, const char *option, const char *text, long most, long *value);

/* A study, its space and its model, loaded with all findings printed. */
struct cli_study {
    struct shv_study study;
    struct shv_space space;
    struct shv_model *model;
};
/* Warns as well of a stock torque curve that asks for an unlikely efficiency. Returns -1 on
 * success, else an exit code; nothing is left to free then. */
int cli_load(const char *command, const char *path, struct cli_study *loaded);
void cli_unload(struct cli_study *loaded);

#endif
