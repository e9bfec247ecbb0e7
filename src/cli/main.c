/* sheave: picks the subcommand. */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "cli/cli.h"
#include "cli/manual.h"

static const struct cli_command *const commands[] = {
    &cli_new, &cli_check,  &cli_run,    &cli_merge,   &cli_point,
    &cli_fit, &cli_blower, &cli_report, &cli_compare, &cli_plan};
#define COMMANDS (sizeof commands / sizeof commands[0])

static void usage(FILE *out)
{
    fputs(
        "Usage: sheave COMMAND [OPTION]... OPERAND\n\n"
        "Finds the pulley, blower and charge cooler that make the most of an engine inside every\n"
        "limit, at every place where it will run.\n\n"
        "Commands:\n",
        out);
    for (size_t i = 0; i < COMMANDS; i++) {
        fprintf(out, "  %-7s %-7s %s\n", commands[i]->name, commands[i]->operand,
                commands[i]->summary);
    }
    fputs("\n  sheave COMMAND --help   more about a command\n"
          "  sheave --version        version\n"
          "  sheave --man            the manual page, for man -l -\n"
          "  sheave --completion     completion for bash\n\n"
          "Exit codes: 0 done, 1 nothing feasible, 2 bad usage or bad input, 3 trouble with files "
          "or\n"
          "the machine, 130 interrupted.\n",
          out);
}

static const struct cli_command *find(const char *name)
{
    for (size_t i = 0; i < COMMANDS; i++) {
        if (strcmp(commands[i]->name, name) == 0) {
            return commands[i];
        }
    }
    return NULL;
}

/* Output that could not be delivered is trouble, however late it shows. */
static int close_stdout(int code)
{
    int failed = ferror(stdout);
    if ((fclose(stdout) != 0 || failed) && code != CLI_TROUBLE) { /* else it was told already */
        fprintf(stderr, "sheave: cannot write to standard output: %s\n", strerror(errno));
        return CLI_TROUBLE;
    }
    return code;
}

/* A standard stream that is closed would give its descriptor to the next file opened, and messages
 * would land in results. /dev/null takes its place, opened the wrong way round: what is printed is
 * to fail as before. open gives the lowest descriptor that is free. */
static bool keep_standard_streams(void)
{
    for (int i = STDIN_FILENO; i <= STDERR_FILENO; i++) {
        if (fcntl(i, F_GETFD) == -1 &&
            open("/dev/null", i == STDIN_FILENO ? O_WRONLY : O_RDONLY) != i) {
            return false;
        }
    }
    return true;
}

int main(int argc, char **argv)
{
    if (!keep_standard_streams()) {
        fprintf(stderr, "sheave: cannot open /dev/null: %s\n", strerror(errno));
        return CLI_TROUBLE;
    }
    /* A file beyond the size limit is a failed write, not a reason to be killed half way. */
    signal(SIGXFSZ, SIG_IGN);
    if (argc < 2) {
        usage(stderr);
        return CLI_BAD_INPUT;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        usage(stdout);
        return close_stdout(CLI_DONE);
    }
    if (strcmp(argv[1], "--version") == 0) {
        cli_print_version(stdout);
        return close_stdout(CLI_DONE);
    }
    /* For the build, which installs both. */
    if (strcmp(argv[1], "--man") == 0) {
        cli_print_manual(commands, COMMANDS, stdout);
        return close_stdout(CLI_DONE);
    }
    if (strcmp(argv[1], "--completion") == 0) {
        cli_print_completion(commands, COMMANDS, stdout);
        return close_stdout(CLI_DONE);
    }
    const struct cli_command *command = find(argv[1]);
    if (!command && argv[1][0] == '-') {
        fprintf(stderr, "sheave: unknown option \"%s\". Try \"sheave --help\".\n", argv[1]);
        return CLI_BAD_INPUT;
    }
    if (!command) {
        fprintf(stderr, "sheave: unknown command \"%s\"; commands are", argv[1]);
        for (size_t i = 0; i < COMMANDS; i++) {
            fprintf(stderr, "%s %s", i ? "," : "", commands[i]->name);
        }
        fputs(". Try \"sheave --help\".\n", stderr);
        return CLI_BAD_INPUT;
    }
    return close_stdout(command->run(argc - 1, argv + 1));
}
