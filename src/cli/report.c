/* sheave report: draws plots and pages of a results folder again. */
#include "cli/cli.h"

#include <string.h>

struct report_arguments {
    const char *group, *kit; /* NULL: none */
};

#define PLACE(member) offsetof(struct report_arguments, member)
static const struct cli_option options[] = {
    {"kit", "RANK", "write kit-RANK.html as well, a page to print; \"sell\" for the kit to sell",
     .place = PLACE(kit)},
    {"group", "GROUP",
     "of a plan: write group-N.html as well, a page to print for the kit of that group; \"all\" "
     "for all",
     .place = PLACE(group)},
    {.name = NULL}};

enum shv_status cli_tell_pages(const char *command, const struct shv_pages *pages,
                               struct shv_message *message)
{
    if (pages->misplaced) {
        return shv_fail(message, SHV_IO, "%s", pages->trouble.text);
    }
    if (pages->no_gnuplot) {
        cli_error(command, "there is no gnuplot to draw the plots with; their scripts and data are "
                           "in plots. Install it (on Debian: gnuplot-nox), then run sheave report "
                           "on the results");
    } else if (pages->trouble.text[0]) {
        cli_error(command, "%s", pages->trouble.text);
    }
    return SHV_OK;
}

static int run(int argc, char **argv)
{
    const char *folder;
    struct report_arguments a = {0};
    struct shv_message message;
    int code = cli_parse(&cli_report, argc, argv, &a, &folder);
    long kit = 0; /* that to sell */
    if (code < 0 && a.kit && strcmp(a.kit, "sell") != 0 &&
        !cli_number("report", "kit", a.kit, 1000000, &kit)) {
        code = CLI_BAD_INPUT;
    }
    if (code >= 0) {
        return code;
    }
    struct shv_pages pages;
    enum shv_status status = shv_report_pages(folder, NULL, &pages, &message);
    size_t rank = (size_t)kit;
    if (status == SHV_OK && a.kit) {
        status = shv_report_sheet(folder, &rank, &message);
    }
    size_t first = 0, groups = 0;
    if (status == SHV_OK && a.group) {
        status = shv_report_groups(folder, a.group, &first, &groups, &message);
    }
    if (status == SHV_OK) {
        status = cli_tell_pages("report", &pages, &message);
    }
    if (status != SHV_OK) {
        return cli_finish("report", status, &message);
    }
    printf("%s/report.html\n", folder);
    if (a.kit) {
        printf("%s/kit-%zu.html\n", folder, rank);
    }
    for (size_t i = 0; i < groups; i++) {
        printf("%s/group-%zu.html\n", folder, first + i);
    }
    return CLI_DONE;
}

const struct cli_command cli_report = {
    "report",
    "DIR",
    "draw the pages of results again, print a kit",
    "Draws plots/*.svg and writes report.html from the files of a results folder alone; the study "
    "is not\n"
    "needed. A run ends with the same. Each plot has its script and its data beside it, to be "
    "changed and\n"
    "drawn again with gnuplot.\n\n"
    "Prints the names of the pages. Without gnuplot the pages are written without plots, and a "
    "message\n"
    "says so.\n",
    options,
    true,
    .run = run};
