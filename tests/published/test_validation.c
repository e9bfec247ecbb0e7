/* docs/validation.md is what the published checks say, to the byte.
 *
 * Runs the programs of this folder with SHEAVE_VALIDATION_OUT set, makes the page from the lines
 * they write (published.h) and compares it with the file. With SHEAVE_VALIDATION_WRITE set in the
 * environment it writes the file instead:
 *
 *   SHEAVE_VALIDATION_WRITE=1 ctest -R published/validation
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "published.h"

#define PAGE SHEAVE_SOURCE_DIR "/docs/validation.md"
#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define PATH_ROOM 1024
enum { FIELDS = 13, ROWS_MAX = 4000, CHILD_FAILED = 127 };

/* In the order of the page. */
static const char *const programs[] = {"supercharging", "blower",      "blower_fit",   "cooler",
                                       "condensation",  "engine",      "air",          "fuel",
                                       "correction",    "drive",       "belt",         "cycle",
                                       "knock_limit",   "fuel_blends", "fuel_system",  "bypass",
                                       "soak",          "range",       "least_squares"};

static const char introduction[] =
    "# Validation against published values\n"
    "\n"
    "<!-- Written by tests/published/test_validation.c from the checks beside it; change those, "
    "not "
    "this file. -->\n"
    "\n"
    "Every value below is compared by a test in `tests/published/`; a value out of its tolerance "
    "fails "
    "the test, and this page is made again and compared byte by byte on every test run. Tolerances "
    "were set from the digits that are printed and the spread of recomputation. Where the model is "
    "off, the difference is stated. Two constants of the model were chosen by values on this page, "
    "as it says there: `weight_slope` by six rows of 11-05, `heat_factor` by the range of 10-25; "
    "no "
    "other was.\n"
    "\n"
    "Each value has a kind:\n"
    "\n"
    "- **R** printed value of a worked example or a table, whose arithmetic was reproduced. "
    "Textbook "
    "examples are quoted *as worked in a published companion*: openly published solutions name "
    "book, "
    "example and page; the book itself was not at hand.\n"
    "- **P** published value that is no computable example: a band, a rule, a table of "
    "properties.\n"
    "- **D** computed from a published closed form, independently of the program.\n"
    "- **M** a constant or table written down from memory; to be taken as such.\n"
    "- **X** common practice of the trade, without a source.\n"
    "\n"
    "Where a value is marked *(set)*, a choice in the study brings it about (an efficiency or a "
    "coolant "
    "temperature that the example leaves open): it shows that the example was met, not that the "
    "model "
    "is right.\n"
    "\n"
    "## What this shows and what it does not\n"
    "\n"
    "The examples of supercharged engines run through study files (`tests/published/studies/`), so "
    "they "
    "check reading, units, matching of blower and engine, cooling, bleeding and the power balance. "
    "They "
    "share idealisations: constant efficiencies of the blower, constant heat capacities, mostly "
    "constant "
    "power per volume of free air. They check bookkeeping and flow relations, not how a real "
    "blower "
    "leaks or how a real engine breathes. No measured map and no dyno run is among the sources; "
    "only a "
    "dynamometer can tell how far a prediction for a real kit is off.\n"
    "\n";

static const char left_out[] =
    "## Printed values left out\n"
    "\n"
    "These are published, but contradict the numbers they are said to follow from, or lie outside "
    "what "
    "the model describes:\n"
    "\n"
    "- 1a-02, increase of 42.3 %: follows only with a mechanical efficiency of 0.80; the example "
    "states "
    "0.78 and its other values use it (43.4 %).\n"
    "- 1a-08 and 1a-09, displacements of 0.024 and 0.02 m3: rounded in print; the unrounded ones "
    "give the "
    "mean pressures and boosts printed next to them and are used.\n"
    "- 1a-18, total temperature and total pressure behind the blower: the model has no "
    "velocities.\n"
    "- 1a-21 and 1a-22, time after which two engines have used the same mass: printed from rounded "
    "intermediate values (6.823 h for 6.870 h, 5.94 h for 5.855 h).\n"
    "- 4-12 to 4-17, what follows from wet-bulb temperatures: the model takes relative humidity.\n"
    "- 10-09, brake power on the hill: the book carries indicated power over as brake power; "
    "compared as "
    "indicated power.\n"
    "\n";

struct row {
    char *line; /* owned; the fields point into it */
    char *topic, *id, *kind, *source, *note, *what;
    double expected, got, printed, allowed;
    bool printed_relative, allowed_relative;
    char *reason; /* empty when the published tolerance is met */
    bool done;
};

struct rows {
    struct row item[ROWS_MAX];
    size_t count;
};

/* ---- running the checks ---- */

static void run_program(const char *name, const char *rows)
{
    char path[PATH_ROOM];
    int length = snprintf(path, sizeof path, "%s/tests/test_published_%s", SHEAVE_BINARY_DIR, name);
    assert_in_range(length, 1, sizeof path - 1);
    assert_int_equal(fflush(NULL), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (setenv("SHEAVE_VALIDATION_OUT", rows, 1) == 0 && freopen("/dev/null", "w", stdout) &&
            freopen("/dev/null", "w", stderr)) {
            (void)execl(path, path, (char *)NULL);
        }
        _exit(CHILD_FAILED);
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
        fail_msg("%s fails or is not built: its checks come first", path);
    }
}

static double field_number(const char *text)
{
    char *end = NULL;
    double value = strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return value;
}

static void parse_row(char *line, struct row *r)
{
    char *field[FIELDS];
    size_t count = 0;
    line[strcspn(line, "\n")] = '\0';
    for (char *at = line; at && count < FIELDS; count++) {
        field[count] = at;
        at = strchr(at, '\t');
        if (at) {
            *at++ = '\0';
        }
    }
    assert_int_equal(count, FIELDS);
    *r = (struct row){.line = line,
                      .topic = field[0],
                      .id = field[1],
                      .kind = field[2],
                      .source = field[3],
                      .note = field[4],
                      .what = field[5],
                      .expected = field_number(field[6]),
                      .got = field_number(field[7]),
                      .printed = field_number(field[8]),
                      .printed_relative = field_number(field[9]) != 0.0,
                      .allowed = field_number(field[10]),
                      .allowed_relative = field_number(field[11]) != 0.0,
                      .reason = field[12]};
}

static void read_rows(const char *path, struct rows *rows)
{
    FILE *in = fopen(path, "r");
    assert_non_null(in);
    char *line = NULL;
    size_t room = 0;
    while (getline(&line, &room, in) > 0) {
        assert_true(rows->count < ROWS_MAX);
        char *copy = strdup(line);
        assert_non_null(copy);
        parse_row(copy, &rows->item[rows->count++]);
    }
    free(line);
    assert_int_equal(ferror(in), 0);
    assert_int_equal(fclose(in), 0);
}

static void collect(struct rows *rows)
{
    char path[PATH_ROOM];
    int length =
        snprintf(path, sizeof path, "%s/validation-%ld.rows", SHEAVE_BINARY_DIR, (long)getpid());
    assert_in_range(length, 1, sizeof path - 1);
    for (size_t i = 0; i < COUNT(programs); i++) {
        run_program(programs[i], path);
    }
    read_rows(path, rows);
    assert_int_equal(remove(path), 0);
}

/* ---- numbers, with few enough digits to be the same everywhere ---- */

struct text {
    char chars[48];
};

/* Rounding leaves no sign on a zero. */
static struct text without_sign_of_zero(struct text t)
{
    size_t digits = strspn(t.chars + 1, "0.");
    if ((t.chars[0] == '+' || t.chars[0] == '-') &&
        (t.chars[1 + digits] == '\0' || t.chars[1 + digits] == ' ')) {
        memmove(t.chars, t.chars + 1, strlen(t.chars));
    }
    return t;
}

static struct text deviation(const struct row *r)
{
    struct text t;
    if (r->allowed_relative) {
        (void)snprintf(t.chars, sizeof t.chars, "%+.3f %%", 100.0 * (r->got / r->expected - 1.0));
    } else {
        int digits = (int)ceil(-log10(r->allowed)) + 1;
        (void)snprintf(t.chars, sizeof t.chars, "%+.*f", digits < 0 ? 0 : digits,
                       r->got - r->expected);
    }
    return without_sign_of_zero(t);
}

static struct text tolerance(double value, bool is_relative)
{
    struct text t;
    (void)snprintf(t.chars, sizeof t.chars, is_relative ? "%.6g %%" : "%.6g",
                   is_relative ? 100.0 * value : value);
    return t;
}

/* ---- the page ---- */

static bool same_source(const struct row *a, const struct row *b)
{
    return strcmp(a->topic, b->topic) == 0 && strcmp(a->id, b->id) == 0 &&
           strcmp(a->source, b->source) == 0 && strcmp(a->note, b->note) == 0;
}

static bool first_of_topic(const struct rows *rows, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        if (strcmp(rows->item[k].topic, rows->item[i].topic) == 0) {
            return false;
        }
    }
    return true;
}

static bool first_of_source(const struct rows *rows, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        if (same_source(&rows->item[k], &rows->item[i])) {
            return false;
        }
    }
    return true;
}

static void write_summary_line(FILE *page, const struct rows *rows, const char *topic)
{
    size_t sources = 0, values = 0, set = 0, wider = 0;
    double farthest = 0.0;
    for (size_t i = 0; i < rows->count; i++) {
        const struct row *r = &rows->item[i];
        if (topic && strcmp(r->topic, topic) != 0) {
            continue;
        }
        sources += first_of_source(rows, i);
        values++;
        set += strstr(r->what, "(set)") != NULL;
        if (*r->reason != '\0') {
            wider++;
            continue;
        }
        double most = r->allowed_relative ? r->allowed * fabs(r->expected) : r->allowed;
        farthest = fmax(farthest, fabs(r->got - r->expected) / most);
    }
    (void)fprintf(page, "| %s | %zu | %zu | %zu | %zu | %.0f %% |\n", topic ? topic : "all",
                  sources, values, set, wider, 100.0 * farthest);
}

static void write_summary(FILE *page, const struct rows *rows)
{
    (void)fputs(
        "## Summary\n\nThe last column is the largest deviation as a share of its tolerance, "
        "among values that meet theirs.\n\n"
        "| topic | sources | values | of these set | of these in a wider band only | farthest off "
        "|\n"
        "|---|---|---|---|---|---|\n",
        page);
    for (size_t i = 0; i < rows->count; i++) {
        if (first_of_topic(rows, i)) {
            write_summary_line(page, rows, rows->item[i].topic);
        }
    }
    write_summary_line(page, rows, NULL);
}

static bool disagrees(const struct row *r)
{
    return strncmp(r->reason, PUBLISHED_DISAGREES, strlen(PUBLISHED_DISAGREES)) == 0;
}

/* Rows off their tolerance that disagree, or that don't. */
static void write_off(FILE *page, const struct rows *rows, bool disagree)
{
    (void)fprintf(page,
                  "| id | compared | published | model | deviation | tolerance of the source | %s "
                  "| reason |\n|---|---|---|---|---|---|---|---|\n",
                  disagree ? "guard" : "band");
    for (size_t i = 0; i < rows->count; i++) {
        const struct row *r = &rows->item[i];
        size_t said = disagree ? strlen(PUBLISHED_DISAGREES) : 0;
        if (*r->reason != '\0' && disagrees(r) == disagree) {
            (void)fprintf(page, "| %s | %s | %.6g | %.6g | %s | %s | %s | %s |\n", r->id, r->what,
                          r->expected, r->got, deviation(r).chars,
                          tolerance(r->printed, r->printed_relative).chars,
                          tolerance(r->allowed, r->allowed_relative).chars, r->reason + said);
        }
    }
    (void)fputc('\n', page);
}

static void write_wider(FILE *page, const struct rows *rows)
{
    (void)fputs(
        "\n## Where the model disagrees\n\n"
        "Published values that the model contradicts. No band is accepted for them; the guard is a "
        "tenth more than the deviation was when it was stated, and only shows when it gets "
        "worse.\n\n",
        page);
    write_off(page, rows, true);
    (void)fputs(
        "## Where the model and a published value part\n\n"
        "These do not meet the tolerance of their source, only a wider band. The test holds "
        "them in that band, and also fails when they meet the tolerance after all.\n\n",
        page);
    write_off(page, rows, false);
}

static void write_source(FILE *page, struct rows *rows, size_t first)
{
    const struct row *s = &rows->item[first];
    (void)fprintf(
        page,
        "\n**%s** %s.%s%s\n\n| kind | compared | published | model | deviation | allowed |\n"
        "|---|---|---|---|---|---|\n",
        s->id, s->source, *s->note ? " " : "", s->note);
    for (size_t i = first; i < rows->count; i++) {
        struct row *r = &rows->item[i];
        if (!r->done && same_source(r, s)) {
            r->done = true;
            (void)fprintf(page, "| %s | %s | %.6g | %.6g | %s | %s%s |\n", r->kind, r->what,
                          r->expected, r->got, deviation(r).chars,
                          tolerance(r->allowed, r->allowed_relative).chars,
                          disagrees(r) ? " (disagrees)"
                          : *r->reason ? " (wider)"
                                       : "");
        }
    }
}

static void write_values(FILE *page, struct rows *rows)
{
    (void)fputs("## All values\n", page);
    for (size_t i = 0; i < rows->count; i++) {
        if (!first_of_topic(rows, i)) {
            continue;
        }
        (void)fprintf(page, "\n### %s\n", rows->item[i].topic);
        for (size_t k = i; k < rows->count; k++) {
            if (!rows->item[k].done && strcmp(rows->item[k].topic, rows->item[i].topic) == 0) {
                write_source(page, rows, k);
            }
        }
    }
}

/* The page as text; owned by the caller. */
static char *make_page(struct rows *rows)
{
    char *text = NULL;
    size_t size = 0;
    FILE *page = open_memstream(&text, &size);
    assert_non_null(page);
    (void)fputs(introduction, page);
    write_summary(page, rows);
    write_wider(page, rows);
    (void)fputs(left_out, page);
    write_values(page, rows);
    assert_int_equal(ferror(page), 0);
    assert_int_equal(fclose(page), 0);
    return text;
}

static void write_page(const char *text)
{
    FILE *out = fopen(PAGE ".new", "w");
    assert_non_null(out);
    assert_true(fputs(text, out) >= 0);
    assert_int_equal(fclose(out), 0);
    assert_int_equal(rename(PAGE ".new", PAGE), 0);
}

static void compare_page(const char *text)
{
    static const char again[] = "SHEAVE_VALIDATION_WRITE=1 writes it again";
    FILE *in = fopen(PAGE, "r");
    if (!in) {
        fail_msg("%s cannot be read: %s", PAGE, again);
    }
    char *line = NULL;
    size_t room = 0;
    int number = 0;
    const char *at = text;
    for (ssize_t n = getline(&line, &room, in); n > 0; n = getline(&line, &room, in)) {
        number++;
        if (strncmp(at, line, (size_t)n) != 0) {
            fail_msg("%s:%d differs from what the checks say: %s\nfile:   %schecks: %.*s", PAGE,
                     number, again, line, (int)strcspn(at, "\n"), at);
        }
        at += n;
    }
    free(line);
    assert_int_equal(fclose(in), 0);
    if (*at != '\0') {
        fail_msg("%s ends after line %d: %s", PAGE, number, again);
    }
}

static void test_page_is_what_the_checks_say(void **state)
{
    (void)state;
    static struct rows rows;
    collect(&rows);
    assert_true(rows.count > 0);
    char *text = make_page(&rows);
    for (size_t i = 0; i < rows.count; i++) {
        free(rows.item[i].line);
    }
    if (getenv("SHEAVE_VALIDATION_WRITE")) {
        write_page(text);
    } else {
        compare_page(text);
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_page_is_what_the_checks_say)};
    return cmocka_run_group_tests_name("published validation", tests, NULL, NULL);
}
