/* The table of keys is whole: every row can be read, has a default that reads, and is documented.
 */
#include "study/common.h"

#include "study/keys.h"

static struct shv_units *units;

static int open_units(void **state)
{
    (void)state;
    return shv_units_open(&units, NULL) == SHV_OK ? 0 : -1;
}

static int close_units(void **state)
{
    (void)state;
    shv_units_free(units);
    return 0;
}

static bool has_numbers(const struct key *key)
{
    return key->type == KEY_QUANTITY || key->type == KEY_INTEGER || key->type == KEY_PAIRS ||
           key->type == KEY_DIMENSION;
}

static bool in_range(const struct key *key, double value)
{
    return (key->above_min ? value > key->min : value >= key->min) && value <= key->max;
}

static void check_fallback(const struct key *key)
{
    double value = NAN;
    if (key->type == KEY_QUANTITY || key->type == KEY_DIMENSION) {
        assert_int_equal(shv_units_read(units, key->quantity, key->fallback, &value, NULL), SHV_OK);
        assert_true(in_range(key, value));
    } else if (key->type == KEY_INTEGER) {
        assert_true(in_range(key, (double)strtoll(key->fallback, NULL, 10)));
    } else if (key->type == KEY_BOOL) {
        assert_true(strcmp(key->fallback, "true") == 0 || strcmp(key->fallback, "false") == 0);
    } else {
        assert_int_equal(key->type, KEY_WORD);
        size_t i = 0;
        while (key->words[i] != NULL && strcmp(key->words[i], key->fallback) != 0) {
            i++;
        }
        assert_non_null(key->words[i]);
    }
}

static void check_row(const struct key_group *group, size_t index)
{
    struct key key = key_at(group, index);
    size_t length = strlen(key.meaning);
    char text[1024];
    assert_int_equal(key_find(group, key.name), index); /* no name twice */
    assert_true(length > 3 && key.meaning[length - 1] == '.' && strchr(key.meaning, '|') == NULL);
    /* Exactly one of the ways to say what happens without it; groups have their own defaults. */
    int ways = key.required + (key.fallback != NULL) + (key.absent != NULL);
    bool has_group = key.type == KEY_GROUP || key.type == KEY_LIST || key.type == KEY_ENTRIES;
    assert_true(has_group == (key.group != NULL));
    assert_true(ways == 1 || (ways == 0 && key.type == KEY_GROUP));
    if (has_numbers(&key) && group != &range_keys) {
        assert_true(key.min < key.max);
        key_range(&key, text, sizeof text);
        assert_true(strlen(text) > 0);
    }
    if (key.fallback != NULL) {
        check_fallback(&key);
    }
    key_accepts(&key, text, sizeof text);
    assert_true(strlen(text) > 0 && strlen(text) < 600); /* far from being cut */
}

static size_t walk(const struct key_group *group)
{
    size_t rows = group->count;
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        check_row(group, i);
        if (key.group != NULL) {
            rows += walk(key.group);
        }
    }
    return rows;
}

static void test_rows(void **state)
{
    (void)state;
    assert_true(walk(&study_keys) > 220);
    assert_int_equal(walk(&range_keys), 3);
}

static char *reference(void)
{
    FILE *file = tmpfile();
    assert_non_null(file);
    assert_int_equal(shv_study_write_reference(file), SHV_OK);
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

static void test_reference_has_all(void **state)
{
    (void)state;
    char *text = reference();
    find_rows(&study_keys, text);
    find_rows(&range_keys, text);
    free(text);
}

/* docs/config.md is what the program writes now. */
static void test_reference_is_current(void **state)
{
    (void)state;
    char *text = reference();
    size_t length = strlen(text);
    FILE *file = fopen(SHEAVE_SOURCE_DIR "/docs/config.md", "rb");
    assert_non_null(file);
    char *kept = calloc(length + 2, 1);
    assert_non_null(kept);
    assert_int_equal(fread(kept, 1, length + 1, file), length);
    fclose(file);
    assert_string_equal(kept, text);
    free(kept);
    free(text);
}

/* Its example is a study that loads without a warning. */
static void test_example_loads(void **state)
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
    assert_int_equal(study.drive.blower_count, 17);
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
    remove(path);
}

/* A disk that is full is noticed. */
static void test_reference_full_disk(void **state)
{
    (void)state;
    FILE *full = fopen("/dev/full", "w");
    if (full == NULL) {
        skip();
    }
    assert_int_equal(shv_study_write_reference(full), SHV_IO);
    fclose(full);
}

static void test_ranges_in_words(void **state)
{
    (void)state;
    char text[128];
    struct key key = {.type = KEY_QUANTITY, .quantity = SHV_Q_ROTATION, .min = 0, .max = 100};
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "0 to 6000 rpm");
    key.above_min = true;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "more than 0, up to 6000 rpm");
    key.max = INFINITY;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "more than 0 rpm");
    key.above_min = false;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "at least 0 rpm");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows),
        cmocka_unit_test(test_reference_has_all),
        cmocka_unit_test(test_reference_is_current),
        cmocka_unit_test(test_example_loads),
        cmocka_unit_test(test_reference_full_disk),
        cmocka_unit_test(test_ranges_in_words),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
