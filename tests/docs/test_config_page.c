/* docs/config.md, which the test beside this one holds to be current, has every key; its example is
 * a study, and each of the keys that matter is one. */
#include "study/common.h"

#include "study/keys.h"
#include <sys/wait.h>

static char *reference(void)
{
    FILE *file = fopen(SHEAVE_SOURCE_DIR "/docs/config.md", "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    long size = ftell(file);
    char *text = calloc((size_t)size + 1, 1);
    assert_non_null(text);
    rewind(file);
    assert_int_equal(fread(text, 1, (size_t)size, file), (size_t)size);
    fclose(file);
    return text;
}

static void find_rows(const struct key_group *group, const char *text)
{
    char wanted[300];
    snprintf(wanted, sizeof wanted, "</a>%s\n", group->title);
    const char *section = strstr(text, wanted);
    assert_non_null(section);
    const char *next = strstr(section, "\n## ");
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        snprintf(wanted, sizeof wanted, "\n| `%s` | ", key.name);
        const char *row = strstr(section, wanted);
        assert_non_null(row);
        assert_true(next == NULL || row < next);
        assert_true(strstr(row, key.meaning) < strchr(row + 1, '\n'));
        if (key.group != NULL) {
            find_rows(key.group, text);
        }
    }
}

static void all_keys_are_there(void **state)
{
    (void)state;
    char *text = reference();
    find_rows(&study_keys, text);
    find_rows(&range_keys, text);
    free(text);
}

/* Its example is a study that loads without a warning. */
static void the_example_loads(void **state)
{
    (void)state;
    char path[] = "sheave_example_XXXXXX";
    int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    char *text = reference();
    char *line = strstr(text, "    title = ");
    assert_non_null(line);
    while (strncmp(line, "    ", 4) == 0) {
        size_t length = strcspn(line, "\n") + 1;
        fwrite(line, 1, length, file);
        line += length;
    }
    free(text);
    assert_int_equal(fclose(file), 0);
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    assert_int_equal(shv_study_load(path, &study, &findings), SHV_OK);
    assert_int_equal(findings.count, 0);
    assert_int_equal(study.numbers[SHV_DIM_BLOWER_PULLEY].count, 17);
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
    remove(path);
}

/* A disk that is full is noticed. */
static void a_full_disk_is_noticed(void **state)
{
    (void)state;
    int code = system(SHEAVE_WRITE_REFERENCE " config " SHEAVE_SOURCE_DIR
                                             "/tests/docs/config.md.in > /dev/full 2>&1");
    assert_int_equal(WEXITSTATUS(code), 3);
}

/* Twenty rows, each linked to a section that is there and has the key. */
static void the_keys_that_matter_are_keys(void **state)
{
    (void)state;
    char *text = reference();
    const char *row = strstr(text, "## The twenty keys that matter");
    assert_non_null(row);
    int rows = 0;
    for (row = strstr(row, "\n| [`"); row != NULL && rows < 21; rows++) {
        char key[80], section[80], wanted[120];
        assert_int_equal(sscanf(row, "\n| [`%79[^`]`](#%79[^)])", key, section), 2);
        assert_int_equal(strncmp(key, section, strlen(section)), 0);
        (void)snprintf(wanted, sizeof wanted, "</a>%s\n", section);
        const char *at = strstr(text, wanted);
        assert_non_null(at);
        (void)snprintf(wanted, sizeof wanted, "\n| `%s` | ", key + strlen(section) + 1);
        assert_non_null(strstr(at, wanted));
        const char *next = strchr(row + 1, '\n');
        row = next != NULL && strncmp(next, "\n| [`", 5) == 0 ? next : NULL;
    }
    assert_int_equal(rows, 20);
    free(text);
}

/* Keys of a range file stand behind those of studies, those they share only there. */
static void keys_of_a_range_are_there(void **state)
{
    (void)state;
    char *text = reference();
    static const char *const sections[] = {
        "range",       "range.vehicles", "range.markets",      "range.tiers",
        "range.shelf", "range.stock",    "range.stock.blowers"};
    const char *at = strstr(text, "</a>limits\n");
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++) {
        char wanted[80];
        (void)snprintf(wanted, sizeof wanted, "</a>%s\n", sections[i]);
        const char *section = strstr(text, wanted);
        assert_true(section != NULL && section > at);
        assert_null(strstr(section + 1, wanted)); /* once */
    }
    assert_null(strstr(strstr(text, "</a>range\n"), "</a>sites\n"));
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_keys_are_there),
        cmocka_unit_test(the_example_loads),
        cmocka_unit_test(a_full_disk_is_noticed),
        cmocka_unit_test(the_keys_that_matter_are_keys),
        cmocka_unit_test(keys_of_a_range_are_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
