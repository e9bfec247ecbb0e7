/* Options and help from one table. */
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

#define MOST_OPTIONS 32
#define LEAST_LIKELY 0.25 /* gross indicated efficiency of a spark-ignition engine */
#define MOST_LIKELY 0.45
#define FIRST_LONG 1000 /* values of long options, beyond every character */
#define OPTION_HELP (FIRST_LONG + MOST_OPTIONS)
#define OPTION_VERSION (OPTION_HELP + 1)

void cli_print_version(FILE *out)
{
    fprintf(out, "sheave %s\n", shv_version());
}

void cli_print_help(const struct cli_command *command, FILE *out)
{
    fprintf(out, "Usage: sheave %s [OPTION]... %s\n\n%s\n", command->name, command->operand,
            command->description);
    fputs("Options:\n", out);
    for (const struct cli_option *o = command->options; o->name; o++) {
        char left[64];
        snprintf(left, sizeof left, "--%s%s%s", o->name, o->argument ? " " : "",
                 o->argument ? o->argument : "");
        fprintf(out, "  %-22s %s\n", left, o->help);
    }
    fprintf(out, "  %-22s %s\n  %-22s %s\n", "--help", "this text", "--version", "version");
    if (command->cautions) {
        fprintf(out, "\n%s", shv_cautions);
    } else {
        fputs("\nResults are estimates; the cautions stand at the end of sheave run --help.\n",
              out);
    }
}

void cli_error(const char *command, const char *format, ...)
{
    fflush(stdout);
    fprintf(stderr, "sheave %s: ", command);
    va_list args;
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fputc('\n', stderr);
}

int cli_exit_code(enum shv_status status)
{
    switch (status) {
    case SHV_OK:
        return CLI_DONE;
    case SHV_NOTHING:
        return CLI_NOTHING_FEASIBLE;
    case SHV_BAD_INPUT:
        return CLI_BAD_INPUT;
    case SHV_STOPPED:
        return CLI_INTERRUPTED;
    case SHV_IO:
    case SHV_NO_MEMORY:
        break;
    }
    return CLI_TROUBLE;
}

int cli_finish(const char *command, enum shv_status status, const struct shv_message *message)
{
    if (status != SHV_OK) {
        cli_error(command, "%s", message->text);
    }
    return cli_exit_code(status);
}

bool cli_number(const char *command, const char *option, const char *text, long most, long *value)
{
    char *end;
    errno = 0;
    long number = strtol(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0 || number < 1 || number > most) {
        cli_error(command, "--%s: found \"%s\"; a whole number from 1 to %ld is needed", option,
                  text, most);
        return false;
    }
    *value = number;
    return true;
}

static void fill(const struct cli_command *command, struct option *list)
{
    int n = 0;
    for (const struct cli_option *o = command->options; o->name && n < MOST_OPTIONS - 3; o++) {
        list[n] = (struct option){o->name, o->argument ? required_argument : no_argument, NULL,
                                  FIRST_LONG + n};
        n++;
    }
    list[n] = (struct option){"help", no_argument, NULL, OPTION_HELP};
    list[n + 1] = (struct option){"version", no_argument, NULL, OPTION_VERSION};
    list[n + 2] = (struct option){NULL, 0, NULL, 0};
}

static int misuse(const struct cli_command *command)
{
    fprintf(stderr, "Try \"sheave %s --help\".\n", command->name);
    return CLI_BAD_INPUT;
}

static int bad_option(const struct cli_command *command, int code, char **argv)
{
    if (optopt > 0 && optopt < FIRST_LONG) {
        /* A short one may stand among others in a word that getopt has not left yet. */
        cli_error(command->name, "-%c is not an option", optopt);
    } else {
        const char *what = code == ':'  ? "needs a value"
                           : optopt > 0 ? "takes no value"
                                        : "is not an option, or is not clear";
        cli_error(command->name, "%s %s", argv[optind - 1], what);
    }
    return misuse(command);
}

/* Puts what was given where the option's row says; false after telling why not. */
static bool set_option(const struct cli_command *command, const struct cli_option *o,
                       unsigned char *arguments, const char *given)
{
    void *at = arguments + o->place;
    if (!o->argument) {
        *(bool *)at = true;
    } else if (o->most > 0) {
        return cli_number(command->name, o->name, given, o->most, at);
    } else if (o->folder && *given == '\0') {
        cli_error(command->name, "--%s: a folder is needed", o->name);
        return false;
    } else if (o->several) {
        size_t *count = (void *)(arguments + o->count);
        if (*count == o->room) {
            cli_error(command->name, "--%s: more than %zu %s", o->name, o->room, o->several);
            return false;
        }
        ((const char **)at)[(*count)++] = given;
    } else {
        *(const char **)at = given;
    }
    return true;
}

int cli_parse_list(const struct cli_command *command, int argc, char **argv, void *arguments,
                   int *first)
{
    struct option list[MOST_OPTIONS];
    fill(command, list);
    optind = 0; /* starts anew: main looked at no options */
    opterr = 0;
    int code;
    while ((code = getopt_long(argc, argv, ":h", list, NULL)) != -1) {
        if (code == OPTION_HELP || code == 'h') {
            cli_print_help(command, stdout);
            return CLI_DONE;
        }
        if (code == OPTION_VERSION) {
            cli_print_version(stdout);
            return CLI_DONE;
        }
        if (code == '?' || code == ':') {
            return bad_option(command, code, argv);
        }
        const struct cli_option *o = &command->options[code - FIRST_LONG];
        if (!set_option(command, o, arguments, optarg)) {
            return CLI_BAD_INPUT;
        }
        if (command->note) {
            command->note(arguments, o->name, optarg);
        }
    }
    if (argc == optind) {
        cli_error(command->name, "no %.*s was named", (int)strcspn(command->operand, "."),
                  command->operand);
        return misuse(command);
    }
    *first = optind;
    return -1;
}

int cli_parse(const struct cli_command *command, int argc, char **argv, void *arguments,
              const char **operand)
{
    int first;
    int code = cli_parse_list(command, argc, argv, arguments, &first);
    if (code >= 0) {
        return code;
    }
    if (argc - first != 1) {
        cli_error(command->name, "more than one %s was named", command->operand);
        return misuse(command);
    }
    *operand = argv[first];
    return -1;
}

void cli_print_findings(const char *command, struct shv_diagnostics *d, enum shv_status status,
                        const char *what)
{
    for (size_t i = 0; i < d->count; i++) {
        cli_error(command, "%s%s", d->items[i].is_warning ? "warning: " : "", d->items[i].text);
    }
    if (status == SHV_BAD_INPUT) {
        cli_error(command, "%zu error%s in the %s; nothing was run", d->errors,
                  d->errors == 1 ? "" : "s", what);
    }
    shv_diagnostics_free(d);
}

/* Where a value lies farthest outside its range, and at how many speeds it does. */
struct stray {
    size_t speed, count;
    double value, outside;
};

static struct stray find_stray(const struct cli_study *s, double least, double most,
                               double (*value_at)(const struct shv_model *model, size_t speed))
{
    struct stray stray = {.outside = 0.0};
    for (size_t i = 0; i < s->study.engine.speed_count; i++) {
        double value = value_at(s->model, i);
        double outside = fmax(least - value, value - most);
        stray.count += outside > 0.0;
        if (outside > stray.outside) {
            stray = (struct stray){i, stray.count, value, outside};
        }
    }
    return stray;
}

/* " and at 3 other speeds", "" for none. */
static const char *others(char words[48], size_t count)
{
    words[0] = '\0';
    if (count > 0) {
        (void)snprintf(words, 48, " and at %zu other speed%s", count, count == 1 ? "" : "s");
    }
    return words;
}

/* A stock torque curve that asks for an unlikely engine means that some datum is off. */
static void warn_of_efficiency(const char *command, const struct cli_study *s)
{
    struct stray stray = find_stray(s, LEAST_LIKELY, MOST_LIKELY, shv_model_tied_efficiency);
    if (stray.count > 0) {
        cli_error(
            command,
            "warning: the stock torque curve asks for a gross indicated efficiency of %.3f at "
            "%.0f rpm; outside %.2f to %.2f is unlikely: check torque, displacement, "
            "volumetric efficiency, stock fuel and lambda",
            stray.value, s->study.engine.speeds[stray.speed] * 60.0, LEAST_LIKELY, MOST_LIKELY);
    }
}

static void warn_of_factor(const char *command, const struct cli_study *s)
{
    struct stray stray = find_stray(s, SHV_TIE_LEAST, SHV_TIE_MOST, shv_model_tie_factor);
    char words[48];
    if (stray.count > 0) {
        cli_error(command,
                  "warning: the stock torque curve asks for %.3f times the work of the closed "
                  "cycle at %.0f rpm, outside %.2f to %.2f there%s: check torque, displacement, "
                  "compression ratio, volumetric efficiency, friction, stock fuel and lambda",
                  stray.value, s->study.engine.speeds[stray.speed] * 60.0, SHV_TIE_LEAST,
                  SHV_TIE_MOST, others(words, stray.count - 1));
    }
}

static void warn_of_delay(const char *command, const struct cli_study *s)
{
    struct stray stray = find_stray(s, SHV_DELAY_LEAST, SHV_DELAY_MOST, shv_model_delay_factor);
    char words[48];
    if (stray.count > 0) {
        cli_error(command,
                  "warning: the stock engine's ignition asks for %.2f times the delay of "
                  "self-ignition at %.0f rpm, outside %.1f to %.1f there%s: check stock_retard, "
                  "compression ratio, volumetric efficiency, stock fuel and its octane numbers",
                  stray.value, s->study.engine.speeds[stray.speed] * 60.0, SHV_DELAY_LEAST,
                  SHV_DELAY_MOST, others(words, stray.count - 1));
    }
}

static void warn_of_tie(const char *command, const struct cli_study *s)
{
    if (s->study.engine.efficiency_kind == SHV_EFFICIENCY_STOCK_TORQUE) {
        warn_of_efficiency(command, s);
    } else if (s->study.engine.efficiency_kind == SHV_EFFICIENCY_CYCLE) {
        warn_of_factor(command, s);
        warn_of_delay(command, s);
    }
}

int cli_load(const char *command, const char *path, struct cli_study *loaded)
{
    *loaded = (struct cli_study){0};
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_study_load(path, &loaded->study, &findings);
    cli_print_findings(command, &findings, status, "study");
    if (status != SHV_OK) {
        return cli_exit_code(status);
    }
    int code = cli_make_model(command, path, loaded);
    if (code >= 0) {
        cli_unload(loaded);
    }
    return code;
}

int cli_make_model(const char *command, const char *path, struct cli_study *loaded)
{
    struct shv_message message = {0};
    enum shv_status status = shv_space_init(&loaded->space, &loaded->study, &message);
    if (status == SHV_OK) {
        status = shv_model_create(&loaded->study, &loaded->model, &message);
    }
    if (status != SHV_OK) {
        cli_error(command, "%s: %s", path, message.text);
        return cli_exit_code(status);
    }
    warn_of_tie(command, loaded);
    return -1;
}

void cli_unload(struct cli_study *loaded)
{
    shv_model_free(loaded->model);
    shv_study_free(&loaded->study);
    *loaded = (struct cli_study){0};
}
