/* What the subcommands share: options, messages, exit codes. */
#ifndef SHEAVE_CLI_H
#define SHEAVE_CLI_H

#include <limits.h>
#include <stdio.h>

#include "sheave/sheave.h"

enum cli_exit {
    CLI_DONE = 0,
    CLI_NOTHING_FEASIBLE = 1,
    CLI_BAD_INPUT = 2,
    CLI_TROUBLE = 3,
    CLI_INTERRUPTED = 130
};

/* One long option of a subcommand; a table of them makes parsing, --help, manual page and
 * completion. Ends with a NULL name. */
struct cli_option {
    const char *name;
    const char *argument; /* NULL: a plain switch */
    const char *help;
    size_t place;        /* in the command's arguments, of what it sets: a bool for a switch, else a
                          * text, or what the next say */
    long most;           /* not 0: a long from 1 to this */
    bool folder;         /* a text that is not empty */
    const char *several; /* not NULL, words for them: an array of `room` texts, of which there are
                          * those that `count` says */
    size_t room, count;
};

struct cli_command {
    const char *name;
    const char *operand; /* e.g. "STUDY" */
    const char *summary;
    const char *description; /* paragraphs for --help */
    const struct cli_option *options;
    bool cautions; /* it recommends a kit: --help ends with all the cautions, else with a pointer */
    int (*run)(int argc, char **argv);
    /* Called for each option that was given, once it is set; NULL: none. */
    void (*note)(void *arguments, const char *name, const char *argument);
};

extern const struct cli_command cli_check, cli_run, cli_point, cli_merge, cli_report, cli_plan,
    cli_fit, cli_new, cli_compare, cli_blower;

/* Parses a subcommand's arguments (argv[0] is its name) into what its options set. Sets *operand to
 * the one operand. Returns -1 to go on, or an exit code: --help and --version print and give
 * CLI_DONE, misuse CLI_BAD_INPUT. */
int cli_parse(const struct cli_command *command, int argc, char **argv, void *arguments,
              const char **operand);

/* The same for one operand or more: *first is the place of the first one, the others follow. */
int cli_parse_list(const struct cli_command *command, int argc, char **argv, void *arguments,
                   int *first);

void cli_print_help(const struct cli_command *command, FILE *out);
void cli_print_version(FILE *out);
/* "sheave COMMAND: message" on stderr. */
void cli_error(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Exit code of a status. */
int cli_exit_code(enum shv_status status);
/* The same, after telling the message of what is not SHV_OK. */
int cli_finish(const char *command, enum shv_status status, const struct shv_message *message);
#define CLI_THREADS_MOST 1024
/* Before work that may take long: signals ask it to stop, `threads` (0: all) are set. -1, or an
 * exit code. */
int cli_start(const char *command, long threads);
/* Reads a whole number from 1 to most. Returns false and says so when it isn't one. */
bool cli_number(const char *command, const char *option, const char *text, long most, long *value);

/* A study, its space and its model, loaded with all findings printed. */
struct cli_study {
    struct shv_study study;
    struct shv_space space;
    struct shv_model *model;
};
/* Warns as well of a stock torque curve that asks for an unlikely efficiency or tie. Returns -1 on
 * success, else an exit code; nothing is left to free then. */
int cli_load(const char *command, const char *path, struct cli_study *loaded);
/* The part of it that follows reading: space and model of loaded->study. What it made is left for
 * cli_unload. */
int cli_make_model(const char *command, const char *path, struct cli_study *loaded);
/* Reads a log that an argument [NAME=]CSV names, for the log *index of the study's fit. SHV_NOTHING
 * after telling that there is no such log; else as shv_measured_read. */
enum shv_status cli_read_log(const char *command, const struct shv_study *study,
                             const struct shv_units *units, const char *argument, size_t *index,
                             struct shv_log *log, struct shv_diagnostics *findings);
/* The part of `sheave check` for a range file: reads it and the studies that it names. */
int cli_check_range(const char *path);
/* Prints findings and, for bad input, how many errors there are in "study" or whatever `what` says;
 * a file that can't be read has none to count. Frees them. */
void cli_print_findings(const char *command, struct shv_diagnostics *d, enum shv_status status,
                        const char *what);
void cli_unload(struct cli_study *loaded);

/* A file to be written: its folder, "" for the current one, and its name in it. False for a path
 * that names no file, or one too long. */
struct cli_place {
    char folder[PATH_MAX], name[NAME_MAX + 1];
};
bool cli_split_path(const char *path, struct cli_place *place);
/* Makes a folder and those above it, with this mode. SHV_IO when that fails or when nothing could
 * be written into it. */
enum shv_status cli_make_folders(const char *folder, unsigned mode, struct shv_message *message);

/* What could not be drawn, on stderr. SHV_IO when pictures in the folder are not these. */
enum shv_status cli_tell_pages(const char *command, const struct shv_pages *pages,
                               struct shv_message *message);

struct run_log;

/* What to do about the tables of the closed cycle, and what came of it. */
struct cli_tables {
    const char *cache; /* folder that keeps them; NULL: the usual one */
    bool no_cache;
    bool quiet;
    struct run_log *log;              /* gets a line a minute; may be NULL */
    int threads;                      /* 0: all processors */
    struct shv_table_report *reports; /* shv_model_table_count of them, owned; NULL before */
    double seconds;
};
/* clang-format off */
/* Rows of a table of options; `tables` is the place of a struct cli_tables. */
#define CLI_CACHE(tables)                                                                          \
    {"cache", "DIR", "folder that keeps cycle tables (default: see above)",                        \
     .place = (tables) + offsetof(struct cli_tables, cache), .folder = true},                      \
    {"no-cache", NULL, "build cycle tables anew and keep none",                                    \
     .place = (tables) + offsetof(struct cli_tables, no_cache)}
/* clang-format on */
/* -1 when the options go together, else an exit code. */
int cli_tables_check(const char *command, const struct cli_tables *tables);
/* What --resume and --anew ask of a journal; the check is that of the tables as well. */
enum shv_journal_mode cli_journal_mode(bool resume, bool anew);
int cli_journal_check(const char *command, bool resume, bool anew, const struct cli_tables *tables);
/* Builds or loads the tables that all of the study needs, or a kit when `only` is not NULL, with
 * progress and notes on stderr. Nothing without the closed cycle. Free with cli_tables_free. */
enum shv_status cli_tables_prepare(const char *command, struct cli_study *s,
                                   struct cli_tables *tables, const struct shv_kit *only,
                                   struct shv_message *message);
/* The same for the logs of a fit. */
enum shv_status cli_tables_prepare_fit(const char *command, const struct cli_study *s,
                                       struct cli_tables *tables, struct shv_fit *fit,
                                       struct shv_message *message);
void cli_tables_free(struct cli_tables *tables);

/* The part of `sheave check` about engine, drive and parts: what was understood of each. */
enum shv_status cli_print_parts(const struct shv_study *study, struct shv_message *message);

/* The part of `sheave check` about the closed cycle: tie to the stock torque, the stock engine's
 * phasing, tables (NULL reports: not built). Nothing with another model of efficiency. */
enum shv_status cli_print_cycle(const struct cli_study *s, const struct shv_table_report *reports,
                                struct shv_message *message);

#endif
