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
    accept(REST "search = { seed = 4294967295L; };\n");
    accept(REST "results = { keep = 0x20; };\n");
}

static void test_refused(void **state)
{
    (void)state;
#define TOO_LARGE(number)                                                                          \
    "found the whole number " number                                                               \
    ", which is too large; accepted: up to 2147483647, more with "                                 \
    "an L behind it or a decimal point"
    refuse(REST "search = { seed = 2147483648; };\n", TOO_LARGE("2147483648"));
    refuse(REST "search = { seed = -4294967297; };\n", TOO_LARGE("4294967297"));
    refuse(REST "search = { seed = 9223372036854775808L; };\n", TOO_LARGE("9223372036854775808"));
    refuse(REST "search = { seed = 0x80000000; };\n", TOO_LARGE("0x80000000"));
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
        cmocka_unit_test(test_harmless),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_includes),
        cmocka_unit_test(test_paths),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
