/* sheave compare: kits of a results folder side by side. */
#include <string.h>

#include "cli/cli.h"
#include "report/table/results.h"
#include "report/write/text.h"

#define MOST_KITS 4
#define NAME 38
#define CELL 20

static const struct cli_option options[] = {
    {"kit", "RANK", "a kit to compare, by its rank; give two to four"}, {NULL, NULL, NULL}};

struct compare_arguments {
    const char *text[MOST_KITS];
    size_t kits;
};

static int on_option(void *data, const char *name, const char *argument)
{
    struct compare_arguments *a = data;
    (void)name;
    if (a->kits == MOST_KITS) {
        cli_error("compare", "--kit: more than %d kits", MOST_KITS);
        return CLI_BAD_INPUT;
    }
    a->text[a->kits++] = argument;
    return 0;
}

struct comparison {
    const struct report_records *ranked;
    long kit[MOST_KITS];
    size_t kits;
    struct report_text text;
};

static const char *cell(const struct comparison *c, size_t kit, size_t column)
{
    return report_records_text(c->ranked, (size_t)c->kit[kit] - 1, column);
}

static bool differs(const struct comparison *c, size_t column)
{
    bool differs = false;
    for (size_t i = 1; i < c->kits; i++) {
        differs = differs || strcmp(cell(c, 0, column), cell(c, i, column)) != 0;
    }
    return differs;
}

static void show_line(struct comparison *c, const char *name, size_t column)
{
    report_text_left(&c->text, NAME, name);
    for (size_t i = 0; i < c->kits; i++) {
        report_text_right(&c->text, CELL, cell(c, i, column));
    }
    report_text_end(&c->text);
}

static void show_kits(struct comparison *c)
{
    size_t rank = report_records_find(c->ranked, "rank");
    show_line(c, "kit", rank);
    report_text_rule(&c->text, NAME + (int)c->kits * (CELL + 1));
    for (size_t i = 0; i < c->ranked->columns; i++) {
        if (i != rank && differs(c, i)) {
            show_line(c, report_records_name(c->ranked, i), i);
        }
    }
    report_text_end(&c->text);
    report_text_say(&c->text, "The same in all of them:");
    for (size_t i = 0; i < c->ranked->columns; i++) {
        if (!differs(c, i) && cell(c, 0, i)[0] != '\0') {
            report_text_left(&c->text, NAME, report_records_name(c->ranked, i));
            report_text_right(&c->text, CELL, cell(c, 0, i));
            report_text_end(&c->text);
        }
    }
}

static enum shv_status compare(const char *folder, const struct compare_arguments *a,
                               struct shv_message *message)
{
    struct report_results results;
    enum shv_status status = report_results_read(folder, &results, message);
    struct comparison c = {.ranked = &results.ranked, .kits = a->kits};
    if (status == SHV_OK && results.ranked.rows == 0) {
        status = shv_fail(message, SHV_BAD_INPUT, "no kit is in %s", folder);
    }
    for (size_t i = 0; status == SHV_OK && i < a->kits; i++) {
        if (!cli_number("compare", "kit", a->text[i], (long)results.ranked.rows, &c.kit[i])) {
            status = shv_fail(message, SHV_BAD_INPUT, "kits are those of %s/ranked.csv", folder);
        }
    }
    if (status == SHV_OK) {
        report_text_init(&c.text, stdout);
        show_kits(&c);
        status = report_text_finish(&c.text, "the kits", message);
    }
    report_results_free(&results);
    return status;
}

static int run(int argc, char **argv)
{
    const char *folder;
    struct compare_arguments a = {.kits = 0};
    struct shv_message message;
    int code = cli_parse(&cli_compare, argc, argv, on_option, &a, &folder);
    if (code >= 0) {
        return code;
    }
    if (a.kits < 2) {
        cli_error("compare", "give --kit twice or more, such as --kit 1 --kit 4");
        return CLI_BAD_INPUT;
    }
    enum shv_status status = compare(folder, &a, &message);
    if (status != SHV_OK) {
        cli_error("compare", "%s", message.text);
    }
    return cli_exit_code(status);
}

const struct cli_command cli_compare = {
    "compare",
    "DIR",
    "kits of a results folder side by side",
    "Prints kits of ranked.csv side by side, a line for each column of it: first all in which they "
    "differ,\n"
    "then what is the same.\n\n"
    "    sheave compare results/hillclimb --kit 1 --kit 4\n",
    options,
    false,
    run};
