/* Records and cells of delimited texts. */
#include "study/common.h"

#include "study/log_text.h"

static struct log_text text_of(const char *bytes)
{
    struct log_text text = {.path = "t.csv", .size = strlen(bytes)};
    text.bytes = malloc(text.size + 1);
    assert_non_null(text.bytes);
    memcpy(text.bytes, bytes, text.size + 1);
    return text;
}

static void assert_cell(const struct log_table *table, size_t record, size_t cell,
                        const char *expected)
{
    char copy[64];
    assert_true(record < table->records);
    log_cell_copy(log_cell_of(table, &table->record[record], cell), copy, sizeof copy);
    assert_string_equal(copy, expected);
}

static void test_cells(void **state)
{
    (void)state;
    struct log_text text = text_of("a; b ;\"c \"\"d\"\"\"\n\n# a \"comment\n;;\n1;2;3;\n");
    struct log_table table;
    struct shv_message message;
    assert_int_equal(log_table_parse(&text, ';', SIZE_MAX, &table, &message), SHV_OK);
    assert_int_equal(table.records, 2);
    assert_cell(&table, 0, 0, "a");
    assert_cell(&table, 0, 1, "b");
    assert_cell(&table, 0, 2, "c \"d\"");
    assert_cell(&table, 0, 3, "");
    assert_int_equal(table.record[1].line, 5);
    assert_int_equal(table.record[1].cells, 4);
    assert_cell(&table, 1, 2, "3");
    assert_int_equal(table.blank, 3); /* an empty line, a comment and one of delimiters alone */
    log_table_free(&table);
    log_text_free(&text);
}

/* LF, CR LF and CR count lines alike, also inside quotes. */
static void test_ends_of_line(void **state)
{
    (void)state;
    static const char *const ends[] = {"\n", "\r\n", "\r"};
    for (size_t i = 0; i < 3; i++) {
        char bytes[64];
        snprintf(bytes, sizeof bytes, "a,b%s\"1%s2\",3%s4,5", ends[i], ends[i], ends[i]);
        struct log_text text = text_of(bytes);
        struct log_table table;
        assert_int_equal(log_table_parse(&text, ',', SIZE_MAX, &table, NULL), SHV_OK);
        assert_int_equal(table.records, 3);
        assert_int_equal(table.record[1].line, 2);
        assert_int_equal(table.record[2].line, 4);
        assert_cell(&table, 1, 1, "3");
        assert_cell(&table, 2, 1, "5");
        assert_int_equal(table.lines, 4);
        log_table_free(&table);
        log_text_free(&text);
    }
}

static void test_tabs_are_no_blanks(void **state)
{
    (void)state;
    struct log_text text = text_of("a\t\tb\n1\t\t2\n");
    struct log_table table;
    assert_int_equal(log_table_parse(&text, '\t', SIZE_MAX, &table, NULL), SHV_OK);
    assert_int_equal(table.record[0].cells, 3);
    assert_cell(&table, 1, 1, "");
    assert_cell(&table, 1, 2, "2");
    log_table_free(&table);
    log_text_free(&text);
}

static void test_most_records(void **state)
{
    (void)state;
    struct log_text text = text_of("1\n2\n3\n");
    struct log_table table;
    assert_int_equal(log_table_parse(&text, ',', 2, &table, NULL), SHV_OK);
    assert_int_equal(table.records, 2);
    log_table_free(&table);
    log_text_free(&text);
}

static void test_bad_quotes(void **state)
{
    (void)state;
    static const struct {
        const char *bytes, *found;
    } bad[] = {{"a,b\n1,\"2\n3,4\n", "t.csv:2: cell 2: a quote is opened and never closed"},
               {"a,b\n\"1\"x,2\n", "t.csv:2: cell 1: text behind a closing quote"}};
    for (size_t i = 0; i < 2; i++) {
        struct log_text text = text_of(bad[i].bytes);
        struct log_table table;
        struct shv_message message;
        assert_int_equal(log_table_parse(&text, ',', SIZE_MAX, &table, &message), SHV_BAD_INPUT);
        assert_string_equal(message.text, bad[i].found);
        log_table_free(&table);
        log_text_free(&text);
    }
}

static void test_too_many_cells(void **state)
{
    (void)state;
    char bytes[LOG_CELLS_MOST + 8];
    memset(bytes, ',', sizeof bytes);
    bytes[sizeof bytes - 1] = '\0';
    struct log_text text = text_of(bytes);
    struct log_table table;
    struct shv_message message;
    assert_int_equal(log_table_parse(&text, ',', SIZE_MAX, &table, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "t.csv:1: more than 2000 cells"));
    log_table_free(&table);
    log_text_free(&text);
}

static void write_bytes(const char *path, const char *bytes, size_t size)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

static void test_files(void **state)
{
    (void)state;
    static const char mark[] = "\xef\xbb\xbf"
                               "a\n1\n";
    struct log_text text;
    struct shv_message message;
    write_bytes("log_text.tmp", mark, sizeof mark - 1);
    assert_int_equal(log_text_read("log_text.tmp", &text, &message), SHV_OK);
    assert_string_equal(text.bytes, "a\n1\n");
    log_text_free(&text);
    write_bytes("log_text.tmp", "\xff\xfe\x61\x00", 4);
    assert_int_equal(log_text_read("log_text.tmp", &text, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "UTF-16"));
    write_bytes("log_text.tmp", "a\nb\0c\n", 6);
    assert_int_equal(log_text_read("log_text.tmp", &text, &message), SHV_BAD_INPUT);
    assert_string_equal(message.text, "log_text.tmp:2: a zero byte: this is not a text");
    remove("log_text.tmp");
    assert_int_equal(log_text_read("log_text.tmp", &text, &message), SHV_IO);
    assert_int_equal(log_text_read(".", &text, &message), SHV_IO);
    log_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cells),
        cmocka_unit_test(test_ends_of_line),
        cmocka_unit_test(test_tabs_are_no_blanks),
        cmocka_unit_test(test_most_records),
        cmocka_unit_test(test_bad_quotes),
        cmocka_unit_test(test_too_many_cells),
        cmocka_unit_test(test_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
