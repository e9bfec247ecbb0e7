/* What is told about each broken study in tests/study/bad. A file of cases holds for each of them
 *
 *     ==== NAME [without PART ... | alone]
 *     the first lines of the study
 *     ----
 *     what must be told, a line a finding
 *
 * After its first lines a study goes on with its title and every part in base/, but for those that
 * it is without. In messages it is called study.cfg. "--redo" writes what is told into the files.
 */
#include "study/common.h"

#include <glob.h>
#include <sys/stat.h>
#include <unistd.h>

#define BAD SHEAVE_SOURCE_DIR "/tests/study/bad"
#define STUDY "study.cfg"
#define CASE "==== "
#define TOLD "----\n"

static bool redo; /* from the command line, which a cmocka test does not see */

struct bad_case {
    char name[64];
    char without[128]; /* words of the first line, with a blank before each and one after all */
    bool alone;
    char *study; /* its first lines */
    size_t length;
    char *expected;
};

/* ---- a file of cases ---- */

static char *read_all(const char *path)
{
    struct stat about;
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fstat(fileno(file), &about), 0);
    char *text = calloc((size_t)about.st_size + 1, 1);
    assert_non_null(text);
    assert_int_equal(fread(text, 1, (size_t)about.st_size, file), (size_t)about.st_size);
    fclose(file);
    assert_int_equal(strlen(text), (size_t)about.st_size);
    return text;
}

static void read_first_line(struct bad_case *at, const char *line)
{
    char words[128] = "";
    assert_true(sscanf(line, CASE "%63[a-z0-9_]%127[^\n]", at->name, words) >= 1);
    at->alone = strcmp(words, " alone") == 0;
    if (strncmp(words, " without ", 9) == 0) {
        snprintf(at->without, sizeof at->without, " %.120s ", words + 9);
    } else {
        assert_true(at->alone || words[0] == '\0');
    }
}

/* The case at the start of a text, which is cut up; returns where the next starts, NULL after the
 * last. */
static char *read_case(char *text, struct bad_case *at)
{
    *at = (struct bad_case){0};
    assert_memory_equal(text, CASE, strlen(CASE));
    read_first_line(at, text);
    at->study = strchr(text, '\n') + 1;
    char *told =
        strncmp(at->study, TOLD, strlen(TOLD)) == 0 ? at->study : strstr(at->study, "\n" TOLD) + 1;
    at->length = (size_t)(told - at->study);
    at->expected = told + strlen(TOLD);
    char *next = strstr(at->expected, "\n\n" CASE);
    if (next != NULL) {
        next[1] = '\0';
        next += 2;
    }
    return next;
}

/* ---- a study from a case ---- */

static void write_part(FILE *file, const struct bad_case *at, const char *part, const char *line)
{
    char word[32];
    snprintf(word, sizeof word, " %s ", part);
    if (!at->alone && strstr(at->without, word) == NULL) {
        assert_true(fputs(line, file) >= 0);
    }
}

static void write_study(const struct bad_case *at)
{
    static const char *const parts[] = {"engine", "sites", "drive", "blowers", "fuels", "limits"};
    FILE *file = fopen(STUDY, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(at->study, 1, at->length, file), at->length);
    write_part(file, at, "title", "title = \"bad\";\n");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        char line[64];
        snprintf(line, sizeof line, "@include \"base/%s.inc\"\n", parts[i]);
        write_part(file, at, parts[i], line);
    }
    assert_int_equal(fclose(file), 0);
}

static char *join_findings(const struct shv_diagnostics *findings)
{
    size_t size = 1;
    for (size_t i = 0; i < findings->count; i++) {
        size += strlen(findings->items[i].text) + strlen("warning: \n");
    }
    char *text = calloc(size, 1);
    assert_non_null(text);
    for (size_t i = 0; i < findings->count; i++) {
        strcat(text, findings->items[i].is_warning ? "warning: " : "error: ");
        strcat(text, findings->items[i].text);
        strcat(text, "\n");
    }
    return text;
}

static bool is_zeroed(const struct shv_study *study)
{
    const unsigned char *byte = (const unsigned char *)study;
    for (size_t i = 0; i < sizeof *study; i++) {
        if (byte[i] != 0) {
            return false;
        }
    }
    return true;
}

/* Whether the study is refused, and nothing is left of it. */
static bool is_refused(const struct bad_case *at, char **told)
{
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    write_study(at);
    memset(&study, 0xa5, sizeof study);
    enum shv_status status = shv_study_load(STUDY, &study, &findings);
    bool refused = status == SHV_BAD_INPUT && findings.errors > 0 && is_zeroed(&study);
    *told = join_findings(&findings);
    shv_diagnostics_free(&findings);
    if (!refused) {
        shv_study_free(&study);
    }
    return refused;
}

static void write_told(FILE *file, const struct bad_case *at, const char *told)
{
    const char *without = at->without[0] != '\0' ? " without" : at->alone ? " alone" : "";
    fprintf(file, "%s" CASE "%s%s%.*s\n", ftell(file) > 0 ? "\n" : "", at->name, without,
            at->without[0] != '\0' ? (int)strlen(at->without) - 1 : 0, at->without);
    assert_int_equal(fwrite(at->study, 1, at->length, file), at->length);
    fprintf(file, TOLD "%s", told);
}

static bool check_case(const struct bad_case *at, FILE *file)
{
    char *told;
    bool good = is_refused(at, &told) && (file != NULL || strcmp(told, at->expected) == 0);
    if (!good) {
        print_message("%s\ntold:\n%sexpected:\n%s", at->name, told, at->expected);
    }
    if (file != NULL) {
        write_told(file, at, told);
    }
    free(told);
    return good;
}

/* How many cases of a file are told otherwise than it says. */
static size_t check_file(const char *path, size_t *cases)
{
    size_t wrong = 0, before = *cases;
    struct bad_case at;
    char *text = read_all(path);
    FILE *file = redo ? fopen(path, "w") : NULL;
    assert_true(!redo || file != NULL);
    for (char *next = text; next != NULL; (*cases)++) {
        next = read_case(next, &at);
        wrong += check_case(&at, file) ? 0 : 1;
    }
    if (file != NULL) {
        assert_int_equal(fclose(file), 0);
    }
    free(text);
    print_message("%s: %zu cases\n", strrchr(path, '/') + 1, *cases - before);
    return wrong;
}

/* ---- tests ---- */

static int enter_scratch(void **state)
{
    (void)state;
    static char scratch[] = "sheave_bad_XXXXXX";
    return mkdtemp(scratch) == NULL || chdir(scratch) != 0 || symlink(BAD "/base", "base") != 0;
}

static int leave_scratch(void **state)
{
    (void)state;
    char folder[4096];
    (void)remove(STUDY);
    return remove("base") != 0 || getcwd(folder, sizeof folder) == NULL || rmdir(folder) != 0;
}

static void test_bad_studies(void **state)
{
    (void)state;
    size_t cases = 0, wrong = 0;
    glob_t found;
    assert_int_equal(glob(BAD "/*.cases", 0, NULL, &found), 0);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        wrong += check_file(found.gl_pathv[i], &cases);
    }
    globfree(&found);
    print_message("%zu cases\n", cases);
    assert_int_equal(wrong, 0);
    assert_true(cases >= 221);
}

/* What is common to the bad studies is not what is bad in them. */
static void test_base_is_good(void **state)
{
    (void)state;
    static char nothing[] = "";
    const struct bad_case good = {.study = nothing};
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    write_study(&good);
    assert_int_equal(shv_study_load(STUDY, &study, &findings), SHV_OK);
    assert_int_equal(findings.count, 0);
    assert_string_equal(study.results.folder, "results/study");
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
}

/* The one broken study that is no text. */
static void test_zero_byte(void **state)
{
    (void)state;
    static char text[] = "# A zero byte ends no text.\ntitle = \"bad\"; \0\n";
    const struct bad_case zero = {.alone = true, .study = text, .length = sizeof text - 1};
    char *told;
    assert_true(is_refused(&zero, &told));
    assert_string_equal(told, "error: " STUDY ":2: found a zero byte; accepted: text\n");
    free(told);
}

int main(int argc, char **argv)
{
    redo = argc == 2 && strcmp(argv[1], "--redo") == 0;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bad_studies),
        cmocka_unit_test(test_base_is_good),
        cmocka_unit_test(test_zero_byte),
    };
    return cmocka_run_group_tests(tests, enter_scratch, leave_scratch);
}
