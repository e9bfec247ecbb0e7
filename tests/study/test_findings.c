/* Findings: where they stand, what they say, their order and their number. */
#include "study/common.h"

#include "study/reader.h"

static struct ground {
    struct reader reader;
    struct shv_units *units;
    struct shv_diagnostics found;
    config_t config;
} g;

/* Text as of the file "dir/x.cfg". */
static void begin(const char *text)
{
    memset(&g, 0, sizeof g);
    config_init(&g.config);
    assert_int_equal(config_read_string(&g.config, text), CONFIG_TRUE);
    g.reader.path = "dir/x.cfg";
    g.reader.diagnostics = &g.found;
    g.reader.root = config_root_setting(&g.config);
    assert_int_equal(reader_begin(&g.reader, &g.units), SHV_OK);
    assert_true(g.reader.units == g.units && g.units != NULL);
    assert_true(reader_add_file(&g.reader, "dir/x.cfg"));
}

static void end(void)
{
    reader_end(&g.reader, g.units, SHV_OK);
    shv_diagnostics_free(&g.found);
    config_destroy(&g.config);
}

static void assert_told(const char *const *texts, size_t count)
{
    reader_report(&g.reader);
    assert_int_equal(g.found.count, count);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(g.found.items[i].text, texts[i]);
    }
}

static void paths_and_lines(void **state)
{
    (void)state;
    begin("a = 1;\nb = {\n c = ( ( 5, 6 ),\n { d = 7; } );\n};\n");
    const config_setting_t *root = g.reader.root, *b = reader_member(root, "b"),
                           *c = reader_member(b, "c");
    const config_setting_t *inner = config_setting_get_elem(config_setting_get_elem(c, 0), 1);
    reader_error(&g.reader, config_setting_get_elem(c, 1), "missing", "found %d", 3);
    reader_error(&g.reader, config_setting_get_elem(c, 1), "d", "found seven");
    reader_error(&g.reader, inner, NULL, "found six");
    reader_error(&g.reader, b, NULL, "found b");
    reader_warning(&g.reader, root, "a", "is one");
    reader_error(&g.reader, root, "nothing", "is missing");
    reader_error(&g.reader, NULL, "a", "of the top");
    reader_error_at(&g.reader, "dir/x.cfg", 9, "plain %s", "text");
    assert_int_equal(g.reader.errors, 7);
    /* By line; of one line in the order they were found. */
    static const char *const texts[] = {
        "dir/x.cfg:1: a: is one",
        "dir/x.cfg:1: nothing: is missing",
        "dir/x.cfg:1: a: of the top",
        "dir/x.cfg:2: b: found b",
        "dir/x.cfg:3: b.c[1][2]: found six",
        "dir/x.cfg:4: b.c[2].missing: found 3",
        "dir/x.cfg:4: b.c[2].d: found seven",
        "dir/x.cfg:9: plain text",
    };
    assert_told(texts, 8);
    assert_int_equal(g.found.errors, 7);
    assert_true(g.found.items[0].is_warning && !g.found.items[1].is_warning);
    end();
}

/* Two files in one text: three lines of the study, two of what it includes, then the study again.
 * Findings go in the order of files. */
static void included_files(void **state)
{
    (void)state;
    struct stretch stretch[] = {{.first = 1, .file = 0, .line = 1},
                                {.first = 4, .file = 1, .line = 1},
                                {.first = 6, .file = 0, .line = 4}};
    begin("a = 1;\n\nb = 1;\nc = 1;\nd = 1;\ne = 1;\nf = 1;\n");
    assert_true(reader_add_file(&g.reader, "sub/inc.cfg"));
    assert_int_equal(g.reader.file_count, 2);
    g.reader.stretch = malloc(sizeof stretch);
    assert_non_null(g.reader.stretch);
    memcpy(g.reader.stretch, stretch, sizeof stretch);
    g.reader.stretches = 3;
    static const struct {
        const char *key;
        size_t file;
        unsigned line;
    } cases[] = {{"a", 0, 1}, {"b", 0, 3}, {"c", 1, 1}, {"d", 1, 2}, {"e", 0, 4}, {"f", 0, 5}};
    for (size_t i = 0; i < 6; i++) {
        unsigned line, at = config_setting_source_line(reader_member(g.reader.root, cases[i].key));
        assert_ptr_equal(reader_place(&g.reader, at, &line), g.reader.files[cases[i].file]);
        assert_int_equal(line, cases[i].line);
    }
    char *file = reader_file_of(&g.reader, reader_member(g.reader.root, "d"));
    assert_string_equal(file, "dir/sub/inc.cfg");
    free(file);
    file = reader_file_of(&g.reader, reader_member(g.reader.root, "f"));
    assert_string_equal(file, "dir/x.cfg");
    free(file);
    reader_error(&g.reader, g.reader.root, "c", "in the other");
    reader_error(&g.reader, g.reader.root, "f", "behind it");
    static const char *const texts[] = {"dir/x.cfg:5: f: behind it",
                                        "dir/sub/inc.cfg:1: c: in the other"};
    assert_told(texts, 2);
    end();
}

static void too_many(void **state)
{
    (void)state;
    begin("a = 1;\n");
    for (int i = 0; i < 1005; i++) {
        reader_error(&g.reader, g.reader.root, "a", "number %d", i);
    }
    assert_int_equal(g.reader.errors, 1005);
    reader_report(&g.reader);
    assert_int_equal(g.found.count, 1001);
    assert_string_equal(g.found.items[999].text, "dir/x.cfg:1: a: number 999");
    assert_string_equal(g.found.items[1000].text, "dir/x.cfg: more than these 1000 is not told");
    assert_true(g.found.items[1000].is_warning);
    end();
    begin("a = 1;\n");
    for (int i = 0; i < 999; i++) {
        reader_warning(&g.reader, g.reader.root, "a", "w");
    }
    assert_int_equal(g.reader.errors, 0);
    reader_report(&g.reader);
    assert_int_equal(g.found.count, 999);
    end();
}

/* What is too long is cut, and says so. */
static void a_long_text_is_cut(void **state)
{
    (void)state;
    begin("a = 1;\n");
    char *text = malloc(5001);
    assert_non_null(text);
    memset(text, 'y', 5000);
    text[5000] = '\0';
    reader_error(&g.reader, g.reader.root, "a", "%s", text);
    reader_report(&g.reader);
    const char *told = g.found.items[0].text;
    assert_int_equal(strlen(told), strlen("dir/x.cfg:1: a: ") + 2047);
    assert_string_equal(told + strlen(told) - 5, "yy...");
    free(text);
    end();
}

/* Memory that ran out is told where nothing else was. */
static void no_memory_is_told(void **state)
{
    (void)state;
    for (int told = 0; told < 2; told++) {
        begin("a = 1;\n");
        if (told) {
            reader_error(&g.reader, g.reader.root, "a", "wrong");
        }
        g.reader.out_of_memory = true;
        reader_report(&g.reader);
        assert_true(g.found.out_of_memory);
        reader_end(&g.reader, g.units, SHV_NO_MEMORY);
        assert_int_equal(g.found.count, 1);
        assert_string_equal(g.found.items[0].text,
                            told ? "dir/x.cfg:1: a: wrong" : "dir/x.cfg: no memory");
        shv_diagnostics_free(&g.found);
        config_destroy(&g.config);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(paths_and_lines),   cmocka_unit_test(included_files),
        cmocka_unit_test(too_many),          cmocka_unit_test(a_long_text_is_cut),
        cmocka_unit_test(no_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
