/* What a file is, by its keys: also one that does not read whole. */
#include "study/common.h"

#include "sheave/file_kind.h"

static void is_kind(const char *text, enum shv_file_kind expected)
{
    static const char path[] = "sheave_kind.cfg";
    enum shv_file_kind kind;
    write_text(path, text);
    assert_int_equal(shv_file_kind(path, &kind), SHV_OK);
    assert_int_equal(kind, expected);
    assert_int_equal(remove(path), 0);
}

static void kinds(void **state)
{
    (void)state;
    is_kind("title = \"t\"; engine = { name = \"e\"; };\n", SHV_FILE_STUDY);
    is_kind("", SHV_FILE_STUDY);
    is_kind("title = \"t\";\nvehicles = ( { name = \"v\"; } );\n", SHV_FILE_RANGE);
    is_kind("vehicles:(", SHV_FILE_RANGE);
    is_kind("corrections = { leakage = 1.1; };\n", SHV_FILE_FITTED);
    is_kind("tolerances = { };\ncorrections = {\n", SHV_FILE_FITTED);
    /* Only keys at the top level count, and all of them. */
    is_kind("corrections = { }; title = \"t\";\n", SHV_FILE_STUDY);
    is_kind("use = { vehicles = 1; corrections = 2; };\n", SHV_FILE_STUDY);
    is_kind("# vehicles = 1;\ntitle = \"vehicles = 1\";\n", SHV_FILE_STUDY);
}

static void no_file(void **state)
{
    (void)state;
    enum shv_file_kind kind = SHV_FILE_RANGE;
    assert_int_equal(shv_file_kind("there/is/none.cfg", &kind), SHV_OK);
    assert_int_equal(kind, SHV_FILE_STUDY);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(kinds), cmocka_unit_test(no_file)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
