/* sheave --man and sheave --completion (src/cli/manual.h). The build writes both to files, which
 * are installed. */
#include "cli/manual.h"

#include <string.h>

#include "cli/pick.h"

/* ---- the manual page ---- */

/* Of the text, not of the build: the same source gives the same page. */
#define DATE "2026-11-29"

/* A point or a quote at the start of a line would be a request, a dash typographic. */
static void put_roff(FILE *out, const char *text, size_t length)
{
    bool starts = true;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (starts && (c == '.' || c == '\'')) {
            fputs("\\&", out);
        }
        starts = c == '\n';
        if (c == '\\') {
            fputs("\\e", out);
        } else if (c == '-') {
            fputs("\\-", out);
        } else {
            fputc(c, out);
        }
    }
}

static void put_words(FILE *out, const char *text)
{
    put_roff(out, text, strlen(text));
}

/* Paragraphs stand apart by an empty line in --help, by a request here. One that begins with a
 * blank is an example and stays as it is. */
static void put_paragraphs(FILE *out, const char *text)
{
    while (*text != '\0') {
        const char *end = strstr(text, "\n\n");
        size_t length = end ? (size_t)(end - text) : strlen(text);
        bool example = *text == ' ';
        fputs(example ? ".nf\n" : "", out);
        put_roff(out, text, length);
        if (length > 0 && text[length - 1] != '\n') {
            fputc('\n', out);
        }
        fputs(example ? ".fi\n" : "", out);
        text += end ? length + 2 : length;
        if (*text != '\0') {
            fputs(".PP\n", out);
        }
    }
}

static void put_option(FILE *out, const char *name, const char *argument, const char *help)
{
    fputs(".TP\n.BR \\-\\-", out);
    put_words(out, name);
    if (argument) {
        fputs(" \\ \\fI", out);
        put_words(out, argument);
        fputs("\\fR", out);
    }
    fputc('\n', out);
    put_words(out, help);
    fputc('\n', out);
}

static void put_command(FILE *out, const struct cli_command *command)
{
    fprintf(out, ".SS sheave %s\n", command->name);
    fprintf(out, ".B sheave %s\n[\\fIOPTION\\fR]... \\fI%s\\fR\n.PP\n", command->name,
            command->operand);
    put_paragraphs(out, command->description);
    for (const struct cli_option *o = command->options; o->name; o++) {
        put_option(out, o->name, o->argument, o->help);
    }
    put_option(out, "help", NULL, "print a summary of the command and its options");
    put_option(out, "version", NULL, "print the version");
}

static const char tail[] =
    ".SH EXIT STATUS\n"
    ".TP\n.B 0\ndone\n"
    ".TP\n.B 1\nnothing is feasible: no combination holds every limit\n"
    ".TP\n.B 2\nbad usage or bad input; the messages name file, line and key\n"
    ".TP\n.B 3\ntrouble with files or the machine\n"
    ".TP\n.B 130\ninterrupted; what is done of a sweep is kept for \\-\\-resume\n"
    ".SH ENVIRONMENT\n"
    ".TP\n.B XDG_CACHE_HOME\nfolder whose folder sheave keeps cycle tables; $HOME/.cache when not "
    "set\n"
    ".TP\n.B PATH\nwhere gnuplot is looked for, which draws the plots\n"
    ".SH FILES\n"
    "Studies are text in the language of libconfig. Demo studies, their parts and a page on every "
    "key are installed with the program.\n"
    ".SH EXAMPLES\n"
    ".nf\n"
    "sheave check car.cfg\n"
    "sheave run car.cfg \\-\\-out results/car\n"
    "sheave point car.cfg \\-\\-pick blower=twist\\-small \\-\\-pick \"blower_pulley=83 mm\"\n"
    ".fi\n";

void cli_print_manual(const struct cli_command *const *commands, size_t count, FILE *out)
{
    fprintf(out, ".TH SHEAVE 1 \"%s\" \"sheave %s\" \"User Commands\"\n", DATE, shv_version());
    fputs(".SH NAME\nsheave \\- find the pulley, blower and charge cooler of a supercharger kit\n"
          ".SH SYNOPSIS\n.B sheave\n\\fICOMMAND\\fR [\\fIOPTION\\fR]... \\fIOPERAND\\fR\n"
          ".SH DESCRIPTION\n"
          "sheave finds the pulley, blower and charge cooler that make the most of an engine "
          "inside\nevery limit, at every place where it will run. It reads a study, a text file "
          "that describes\nengine, places, parts to choose from and limits, and leaves tables, "
          "plots and a page.\n.SH COMMANDS\n",
          out);
    for (size_t i = 0; i < count; i++) {
        put_command(out, commands[i]);
    }
    fputs(tail, out);
    fputs(".SH CAUTIONS\n", out);
    put_paragraphs(out, shv_cautions);
}

/* ---- completion ---- */

/* What the word behind an option is; keys to pick go into `room`. */
static const char *completes(const char *argument, char *room, size_t size)
{
    static const char *const known[][2] = {
        {"DIR", "compgen -d"},
        {"FILE", "compgen -f"},
        {"FITTED", "compgen -f"},
        {"CSV", "compgen -f"},
        {"[NAME=]CSV", "compgen -f"},
        {"SYSTEM", "compgen -W 'metric us'"},
        {"SPEED", "compgen -W '2000rpm 4000rpm 6000rpm'"},
        {"VOLUME", "compgen -W '1L 2L 61in3 122in3'"},
        {"P", "compgen -W '101.325kPa 14.7psi'"},
        {"T", "compgen -W '25degC 77degF'"},
        {"I/N", "compgen -W '1/2 2/2 1/4 2/4 3/4 4/4'"},
        {"DEMO", "compgen -W 'hillclimb pickup van boat'"},
        {"RANK", "compgen -W 'sell 1 2 3'"},
        {"GROUP", "compgen -W 'all'"},
        {"N", "compgen -W '1 2 4 8'"},
        {"NAME=VALUE", "compgen -S = -W 'boost power torque charge_temperature'"},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(known[i][0], argument) == 0) {
            return known[i][1];
        }
    }
    if (strcmp(argument, "KEY=VALUE") == 0) {
        char keys[256];
        (void)snprintf(room, size, "compgen -S = -W '%s'", pick_keys(keys, sizeof keys, " "));
        return room;
    }
    return ":"; /* a name: the study's own */
}

static void put_values(FILE *out, const struct cli_command *command)
{
    for (const struct cli_option *o = command->options; o->name; o++) {
        if (o->argument) {
            char room[320];
            fprintf(out, "    %s,--%s) words=$(%s -- \"$word\") ;;\n", command->name, o->name,
                    completes(o->argument, room, sizeof room));
        }
    }
}

static void put_names(FILE *out, const struct cli_command *command)
{
    fprintf(out, "    %s) options='", command->name);
    for (const struct cli_option *o = command->options; o->name; o++) {
        fprintf(out, "--%s ", o->name);
    }
    bool folder = strncmp(command->operand, "DIR", 3) == 0;
    fprintf(out, "--help --version'; operand='%s' ;;\n", folder ? "-d" : "-f");
}

void cli_print_completion(const struct cli_command *const *commands, size_t count, FILE *out)
{
    fputs("# bash completion of sheave, made by sheave --completion\n"
          "_sheave()\n{\n"
          "  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
          "  local command=${COMP_WORDS[1]} words= options= operand=-f\n"
          "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
          "    words=$(compgen -W '",
          out);
    for (size_t i = 0; i < count; i++) {
        fprintf(out, "%s ", commands[i]->name);
    }
    fputs("--help --version' -- \"$word\")\n"
          "    mapfile -t COMPREPLY < <(printf '%s' \"$words\")\n    return\n  fi\n"
          "  case $command in\n",
          out);
    for (size_t i = 0; i < count; i++) {
        put_names(out, commands[i]);
    }
    fputs("  esac\n  case $command,$before in\n", out);
    for (size_t i = 0; i < count; i++) {
        put_values(out, commands[i]);
    }
    fputs("    *)\n"
          "      case $word in\n"
          "        -*) words=$(compgen -W \"$options\" -- \"$word\") ;;\n"
          "        *) words=$(compgen $operand -- \"$word\") ;;\n"
          "      esac ;;\n"
          "  esac\n"
          "  mapfile -t COMPREPLY < <(printf '%s' \"$words\")\n"
          "}\n"
          "complete -o filenames -F _sheave sheave\n",
          out);
}
