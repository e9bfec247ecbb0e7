/* The manual page and the shell's completion, from the same tables as --help. */
#ifndef SHEAVE_CLI_MANUAL_H
#define SHEAVE_CLI_MANUAL_H

#include "cli/cli.h"

/* sheave(1) as text for man (macros of groff_man(7)). */
void cli_print_manual(const struct cli_command *const *commands, size_t count, FILE *out);
/* A completion for bash, for sourcing or for the folder of bash-completion. */
void cli_print_completion(const struct cli_command *const *commands, size_t count, FILE *out);

#endif
