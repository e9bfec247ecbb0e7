/* sheave compare: kits of a results folder side by side. */
#include <math.h>
#include <string.h>

#include "cli/cli.h"
#include "report/table/files.h"
#include "report/table/results.h"
#include "report/write/text.h"
#include "report/write/words.h"

#define MOST_KITS 4
#define NAME 38
#define CELL 20

struct compare_arguments {
    const char *text[MOST_KITS];
    size_t kits;
};

#define PLACE(member) offsetof(struct compare_arguments, member)
static const struct cli_option options[] = {
    {"kit", "RANK", "a kit to compare, by its rank, or \"sell\"; give two to four",
     .place = PLACE(text), .several = "kits", .room = MOST_KITS, .count = PLACE(kits)},
    {.name = NULL}};

struct comparison {
    const struct report_results *results;
    const struct report_records *ranked;
    struct report_layout layout; /* all that ranked.csv may have */
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

/* "rotor_speed_room" is what is left up to that limit. */
static const char *title_of(const struct report_column *known, char title[REPORT_NAME_MAX])
{
    const char *room = strstr(known->stem, "_room");
    bool of_limit = known->when >= REPORT_WHEN_LIMIT(0) && room && room[5] == '\0';
    (void)snprintf(title, REPORT_NAME_MAX, "%s%.*s", of_limit ? "left to limit: " : "",
                   of_limit ? (int)(room - known->stem) : REPORT_NAME_MAX - 1,
                   of_limit ? known->stem : report_column_title(known->stem));
    for (char *at = title; *at; at++) {
        *at = *at == '_' ? ' ' : *at;
    }
    return title;
}

/* "boost, kPa"; a column that this version does not know keeps its name. */
static const char *name_of(const struct comparison *c, size_t column, char name[REPORT_WORDS_MAX])
{
    char title[REPORT_NAME_MAX];
    const char *whole = report_records_name(c->ranked, column);
    const struct report_column *known = report_column_find(&c->layout, c->results->units, whole);
    const char *unit = known ? report_results_unit(c->results, known->measure) : "";
    (void)snprintf(name, REPORT_WORDS_MAX, "%s%s%s", known ? title_of(known, title) : whole,
                   *unit ? ", " : "", unit);
    return name;
}

/* A cell as it is read: names of limits in words, numbers with the places that mean something. */
static const char *cell_words(const struct comparison *c, size_t kit, size_t column,
                              char words[REPORT_WORDS_MAX])
{
    const char *whole = report_records_name(c->ranked, column), *text = cell(c, kit, column);
    const struct report_column *known = report_column_find(&c->layout, c->results->units, whole);
    double value = report_records_number(c->ranked, (size_t)c->kit[kit] - 1, column);
    if (strcmp(whole, "binding_limit") == 0 && *text) {
        return report_limit_title(text);
    }
    if (!known || known->measure == REPORT_TEXT || known->measure == REPORT_COUNT || isnan(value)) {
        return text;
    }
    if (known->measure == REPORT_NUMBER) {
        (void)snprintf(words, REPORT_WORDS_MAX, "%.4g", value);
    } else {
        (void)snprintf(words, REPORT_WORDS_MAX, "%.*f",
                       report_unit(known->measure, c->results->units)->decimals, value);
    }
    return words;
}

/* The first `kits` of them. */
static void show_line(struct comparison *c, size_t column, size_t kits)
{
    char name[REPORT_WORDS_MAX], words[REPORT_WORDS_MAX];
    report_text_left(&c->text, NAME, name_of(c, column, name));
    for (size_t i = 0; i < kits; i++) {
        report_text_right(&c->text, CELL, cell_words(c, i, column, words));
    }
    report_text_end(&c->text);
}

static void show_kits(struct comparison *c)
{
    size_t rank = report_records_find(c->ranked, "rank");
    show_line(c, rank, c->kits);
    report_text_rule(&c->text, NAME + (int)c->kits * (CELL + 1));
    for (size_t i = 0; i < c->ranked->columns; i++) {
        if (i != rank && differs(c, i)) {
            show_line(c, i, c->kits);
        }
    }
    report_text_end(&c->text);
    report_text_say(&c->text, "The same in all of them:");
    for (size_t i = 0; i < c->ranked->columns; i++) {
        if (!differs(c, i) && cell(c, 0, i)[0] != '\0') {
            show_line(c, i, 1);
        }
    }
}

static enum shv_status compare(const char *folder, const struct compare_arguments *a,
                               struct shv_message *message)
{
    struct report_results results;
    enum shv_status status = report_results_read(folder, &results, message);
    struct comparison c = {.results = &results, .ranked = &results.ranked, .kits = a->kits};
    report_table_layout(&report_ranked, &c.layout, REPORT_EVERY_COLUMN);
    if (status == SHV_OK && results.ranked.rows == 0) {
        status = shv_fail(message, SHV_BAD_INPUT, "no kit is in %s", folder);
    }
    for (size_t i = 0; status == SHV_OK && i < a->kits; i++) {
        size_t sell = report_results_to_sell(&results);
        if (strcmp(a->text[i], "sell") == 0 && sell != REPORT_NO_COLUMN) {
            c.kit[i] = (long)sell + 1;
        } else if (!cli_number("compare", "kit", a->text[i], (long)results.ranked.rows,
                               &c.kit[i])) {
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
    int code = cli_parse(&cli_compare, argc, argv, &a, &folder);
    if (code >= 0) {
        return code;
    }
    if (a.kits < 2) {
        cli_error("compare", "give --kit twice or more, such as --kit 1 --kit 4");
        return CLI_BAD_INPUT;
    }
    return cli_finish("compare", compare(folder, &a, &message), &message);
}

const struct cli_command cli_compare = {"compare",
                                        "DIR",
                                        "kits of a results folder side by side",
                                        "Prints kits of ranked.csv side by side, a line for each "
                                        "column of it in words and units: first all "
                                        "in which\n"
                                        "they differ, then what is the same.\n\n"
                                        "    sheave compare results/hillclimb --kit 1 --kit 4\n",
                                        options,
                                        false,
                                        .run = run};
