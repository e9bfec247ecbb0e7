/* Looking through the bytes of a study: comments, texts, numbers and includes. */
#include "study/common.h"

#include <sys/stat.h>
#include <unistd.h>

#include "study/source.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS

static void accept(const char *text)
{
    struct trial trial;
    try_text(&trial, text);
    if (trial.status != SHV_OK) {
        fail_msg("%s\n%s", text, trial.findings.items[0].text);
    }
    assert_int_equal(trial.findings.count, 0);
    /* The text that results keep: each file under a line with its name. */
    assert_true(strncmp(trial.study.text, "#### ", 5) == 0);
    assert_true(strncmp(trial.study.text + 5, trial.path, strlen(trial.path)) == 0);
    assert_true(trial.study.text[5 + strlen(trial.path)] == '\n');
    end_trial(&trial);
}

static void refuse(const char *text, const char *found)
{
    struct trial trial;
    try_text(&trial, text);
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_string_equal(finding(&trial, 0), found);
    end_trial(&trial);
}

/* REST, then a piece again and again. */
static char *repeated(const char *piece, size_t times, const char *end)
{
    size_t length = strlen(piece);
    char *text = malloc(sizeof REST + times * length + strlen(end));
    assert_non_null(text);
    char *to = stpcpy(text, REST);
    for (size_t i = 0; i < times; i++) {
        to = stpcpy(to, piece);
    }
    (void)stpcpy(to, end);
    return text;
}

static void refuse_repeated(const char *piece, size_t times, const char *end, const char *found)
{
    char *text = repeated(piece, times, end);
    refuse(text, found);
    free(text);
}

/* One more of anything than is taken, and as much as is taken. */
static void test_limits(void **state)
{
    (void)state;
    refuse_repeated("{ a = 1; },\n", 5000, "",
                    "found more than 5000 settings in a study; accepted: up to 5000");
    refuse_repeated("{ a : 1; },\n", 5000, "",
                    "found more than 5000 settings in a study; accepted: up to 5000");
    refuse_repeated("(1,1),", 100001, "",
                    "found more than 200000 values in lists in a study; accepted: up to 200000");
    refuse_repeated("# 4 x 1024 x 1024 bytes\n", 180000, "",
                    "found more than 4 MiB of text in a study, with all that it includes; "
                    "accepted: up to 4 MiB");
    char *text = repeated("# 22 bytes of comment\n", 180000, "");
    accept(text);
    free(text);
    static const char *const begin[] = {"a = \"", "a", "a = 1.", "# ", "a = "}, *const piece[] = {
                                                                                    "x", "b", "0",
                                                                                    "-", " "};
    for (size_t i = 0; i < sizeof begin / sizeof *begin; i++) {
        char token[10100];
        size_t head = (size_t)snprintf(token, sizeof token, "%s", begin[i]);
        memset(token + head, piece[i][0], 10000);
        strcpy(token + head + 10000, i == 0 ? "\"" : "");
        refuse_repeated(token, 1, "\n",
                        "found more than 10000 bytes in one text, word, number, "
                        "comment or blank in a study; accepted: up to 10000");
    }
}

/* A thousand of what is wrong are told, and that there is more. */
static void test_findings_told(void **state)
{
    (void)state;
    char *text = repeated("", 0, "mixture = { lambda = (");
    char *list = repeated("-1,", 1500, "-1); };\n");
    size_t room = strlen(text) + strlen(list) + 1;
    char *study = malloc(room);
    assert_non_null(study);
    (void)snprintf(study, room, "%s%s", text, list + strlen(REST));
    struct trial trial;
    try_text(&trial, study);
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 1001);
    assert_int_equal(trial.findings.errors, 1000);
    assert_string_equal(finding(&trial, 1000), "more than these 1000 is not told");
    end_trial(&trial);
    free(study);
    free(list);
    free(text);
}

/* What looks like a mistake but is not. */
static void test_harmless(void **state)
{
    (void)state;
    accept(REST "# @include \"nothing\" 99999999999 \" /*\n");
    accept(REST "// @include \"nothing\" 99999999999 \" /*\n");
    accept(REST "/*\n@include \"nothing\"\n99999999999 \" // # \n*/\n");
    accept(REST "results = { folder = \"99999999999 # // /* \\\" \\\\\"; };\n");
    accept(REST "mixture = { lambda = 0.89999999999999999999; };\n");
    accept(REST "mixture = { lambda = .89999999999999999999; };\n");
    accept(REST "mixture = { lambda = 9999999999.0E-10; };\n");
    accept(REST "mixture = { lambda = 9e-1; };\n");
    accept(REST "tolerances = { seed = 4294967295L; creep = { half_width = 0.004; }; };\n");
    accept(REST "results = { keep = 0x20; };\n");
}

static void test_refused(void **state)
{
    (void)state;
#define TOO_LARGE(number)                                                                          \
    "found the whole number " number                                                               \
    ", which is too large; accepted: up to 2147483647, more with "                                 \
    "an L behind it or a decimal point"
    refuse(REST "fit = { seed = 2147483648; };\n", TOO_LARGE("2147483648"));
    refuse(REST "fit = { seed = -4294967297; };\n", TOO_LARGE("4294967297"));
    refuse(REST "fit = { seed = 9223372036854775808L; };\n", TOO_LARGE("9223372036854775808"));
    refuse(REST "fit = { seed = 0x80000000; };\n", TOO_LARGE("0x80000000"));
    refuse(REST "/* /", "found a comment that is not closed; accepted: */ at its end");
    refuse(REST "air = { model = \"nasa\\\"; };",
           "found a text that is not closed; accepted: a quote at its end");
}

/* Includes lie beside the study, also those of an included file in another folder. */
static void test_includes(void **state)
{
    (void)state;
    char folder[] = "sheave_source_XXXXXX", path[64], inner[80], below[64];
    assert_non_null(mkdtemp(folder));
    snprintf(below, sizeof below, "%s/below", folder);
    assert_int_equal(mkdir(below, 0700), 0);
    snprintf(inner, sizeof inner, "%s/inner.cfg", below);
    snprintf(path, sizeof path, "%s/outer.cfg", folder);
    write_text(inner, "air = {\n  modell = 1;\n};\n");
    write_text(path, REST "  @include \"below/inner.cfg\"\nzzz = 1;\n");
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    char expected[256];
    assert_int_equal(shv_study_load(path, &study, &findings), SHV_BAD_INPUT);
    assert_int_equal(findings.count, 2);
    /* The study's own findings come first. */
    assert_non_null(strstr(findings.items[0].text, "outer.cfg:11: zzz: found an unknown key"));
    snprintf(expected, sizeof expected,
             "%s:2: air.modell: found an unknown key; did you mean \"model\"?", inner);
    assert_string_equal(findings.items[1].text, expected);
    shv_diagnostics_free(&findings);
    remove(inner);
    remove(path);
    rmdir(below);
    rmdir(folder);
}

static void write_bytes(const char *path, const char *bytes, size_t count)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, count, file), count);
    assert_int_equal(fclose(file), 0);
}

/* Every encoding is refused in the study and in an included file, at the file it is found in. */
static void test_encodings(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t count;
        const char *found;
    } rows[] = {
        {"\xEF\xBB\xBF# a\n", 7, "found a byte-order mark (UTF-8 BOM); save the file without it"},
        {"\xFF\xFE#\0\n\0", 6,
         "found the byte-order mark of UTF-16; save the file as UTF-8 without one"},
        {"\xFE\xFF\0#\0\n", 6,
         "found the byte-order mark of UTF-16; save the file as UTF-8 without one"},
        {"#\0\n\0", 4, "found UTF-16 text; save the file as UTF-8"},
        {"\0#\0\n", 4, "found UTF-16 text; save the file as UTF-8"},
        {"#\0\0\0", 4, "found a zero byte; accepted: text"},
        {"# a\xE9z\n", 6,
         "found the byte 0xE9 (byte 4 of the file), which is no UTF-8; save the file as UTF-8"},
    };
    char folder[] = "sheave_source_XXXXXX", odd[64], outer[64], expected[256];
    assert_non_null(mkdtemp(folder));
    snprintf(odd, sizeof odd, "%s/odd.cfg", folder);
    snprintf(outer, sizeof outer, "%s/outer.cfg", folder);
    write_text(outer, "@include \"odd.cfg\"\n" REST);
    for (size_t i = 0; i < 2 * sizeof rows / sizeof *rows; i++) {
        struct shv_study study;
        struct shv_diagnostics findings = {0};
        write_bytes(odd, rows[i / 2].bytes, rows[i / 2].count);
        assert_int_equal(shv_study_load(i % 2 ? outer : odd, &study, &findings), SHV_BAD_INPUT);
        snprintf(expected, sizeof expected, "%s:1: %s", odd, rows[i / 2].found);
        assert_int_equal(findings.count, 1);
        assert_string_equal(findings.items[0].text, expected);
        shv_diagnostics_free(&findings);
    }
    remove(odd);
    remove(outer);
    rmdir(folder);
}

/* A FIFO would wait for ever, since nobody writes; it must not even be opened. */
static void test_fifo(void **state)
{
    (void)state;
    char folder[] = "sheave_source_XXXXXX", fifo[64], outer[64], expected[256];
    assert_non_null(mkdtemp(folder));
    snprintf(fifo, sizeof fifo, "%s/fifo", folder);
    snprintf(outer, sizeof outer, "%s/outer.cfg", folder);
    assert_int_equal(mkfifo(fifo, 0600), 0);
    write_text(outer, "@include \"fifo\"\n" REST);
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    alarm(20);
    assert_int_equal(shv_study_load(fifo, &study, &findings), SHV_IO);
    snprintf(expected, sizeof expected, "%s: cannot be read: not a regular file", fifo);
    assert_string_equal(findings.items[0].text, expected);
    shv_diagnostics_free(&findings);
    assert_int_equal(shv_study_load(outer, &study, &findings), SHV_BAD_INPUT);
    snprintf(
        expected, sizeof expected,
        "%s:1: found @include \"fifo\", which cannot be opened: not a regular file; accepted: a "
        "file, relative to the study file's folder",
        outer);
    assert_string_equal(findings.items[0].text, expected);
    alarm(0);
    shv_diagnostics_free(&findings);
    remove(fifo);
    remove(outer);
    rmdir(folder);
}

static void test_paths(void **state)
{
    (void)state;
    static const char *const rows[][3] = {/* path, its directory, that joined with x/y */
                                          {"a.cfg", "", "x/y"},
                                          {"b/a.cfg", "b/", "b/x/y"},
                                          {"/a.cfg", "/", "/x/y"},
                                          {"../b/a", "../b/", "../b/x/y"}};
    for (size_t i = 0; i < 4; i++) {
        char *directory = source_directory(rows[i][0]);
        char *joined = source_join(directory, "x/y"), *absolute = source_join(directory, "/z");
        assert_string_equal(directory, rows[i][1]);
        assert_string_equal(joined, rows[i][2]);
        assert_string_equal(absolute, "/z");
        free(directory);
        free(joined);
        free(absolute);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_harmless), cmocka_unit_test(test_refused),
        cmocka_unit_test(test_limits),   cmocka_unit_test(test_findings_told),
        cmocka_unit_test(test_includes), cmocka_unit_test(test_encodings),
        cmocka_unit_test(test_fifo),     cmocka_unit_test(test_paths),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
