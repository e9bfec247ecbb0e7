/* Reading by tables: every type, what is told of a wrong one, and what is left in its place. */
#include "study/edits.h"

#include <limits.h>

#include "study/reader.h"

/* ---- a table of this test's own ---- */

enum word { WORD_RED, WORD_GREEN };
struct inner {
    double length;
};
struct all {
    double number, length, either, absent;
    int integer;
    size_t size;
    unsigned long big;
    bool flag;
    enum word word;
    char *text;
    struct inner inner, other;
    struct inner *list;
    size_t list_count;
    struct shv_curve_table curve;
};

#define PLACE(member) offsetof(struct all, member)
static const char *const words[] = {"red", "green", NULL};
static const struct key inner_table[] = {
    {.name = "length",
     .type = KEY_QUANTITY,
     .quantity = SHV_Q_LENGTH,
     .min = 0,
     .max = 2,
     .fallback = "30 cm",
     .meaning = "m."},
};
static const struct key_group inner_keys = {
    .title = "inner", .keys = inner_table, .count = 1, .size = sizeof(struct inner)};
static const struct key_group optional_keys = {
    .title = "other", .keys = inner_table, .count = 1, .optional = true};
static const struct key table[] = {
    {.name = "number",
     .type = KEY_QUANTITY,
     .quantity = SHV_Q_NUMBER,
     .place = PLACE(number),
     .min = 0,
     .above_min = true,
     .max = 10,
     .required = true,
     .meaning = "m."},
    {.name = "length",
     .type = KEY_QUANTITY,
     .quantity = SHV_Q_LENGTH,
     .place = PLACE(length),
     .min = 0,
     .max = 1,
     .fallback = "25 mm",
     .meaning = "m."},
    {.name = "absent",
     .type = KEY_QUANTITY,
     .quantity = SHV_Q_NUMBER,
     .place = PLACE(absent),
     .max = 5,
     .absent = "seven",
     .absent_value = 7.0,
     .meaning = "m."},
    {.name = "integer",
     .type = KEY_INTEGER,
     .width = WIDTH_INT,
     .place = PLACE(integer),
     .min = -5,
     .max = 5,
     .fallback = "-3",
     .meaning = "m."},
    {.name = "size",
     .type = KEY_INTEGER,
     .width = WIDTH_SIZE,
     .place = PLACE(size),
     .max = 1e18,
     .fallback = "4",
     .meaning = "m."},
    {.name = "big",
     .type = KEY_INTEGER,
     .width = WIDTH_LONG,
     .place = PLACE(big),
     .max = 1e18,
     .fallback = "9",
     .meaning = "m."},
    {.name = "flag", .type = KEY_BOOL, .place = PLACE(flag), .fallback = "true", .meaning = "m."},
    {.name = "word",
     .type = KEY_WORD,
     .place = PLACE(word),
     .words = words,
     .fallback = "green",
     .meaning = "m."},
    {.name = "text",
     .type = KEY_TEXT,
     .place = PLACE(text),
     .fallback = "none yet",
     .meaning = "m."},
    {.name = "inner",
     .type = KEY_GROUP,
     .place = PLACE(inner),
     .group = &inner_keys,
     .meaning = "m."},
    {.name = "other",
     .type = KEY_GROUP,
     .place = PLACE(other),
     .group = &optional_keys,
     .meaning = "m."},
    {.name = "list",
     .type = KEY_LIST,
     .place = PLACE(list),
     .count = PLACE(list_count),
     .group = &inner_keys,
     .min = 1,
     .max = 3,
     .absent = "none",
     .meaning = "m."},
    {.name = "either",
     .type = KEY_QUANTITY,
     .quantity = SHV_Q_NUMBER,
     .place = PLACE(either),
     .along = SHV_Q_ROTATION,
     .or_curve = PLACE(curve),
     .min = 0,
     .max = 10,
     .absent = "none",
     .meaning = "m."},
};
static const struct key_renamed renamed[] = {{.was = "colour", .is = "word"},
                                             {.was = "span", .is = "length", .means_other = true},
                                             {.was = NULL}};
static int checked;
static void count_checks(struct reader *reader, const config_setting_t *setting, void *base)
{
    (void)reader, (void)setting;
    checked += ((struct all *)base)->integer == -3 ? 1 : 100;
}
static const struct key_group keys = {.title = "all",
                                      .keys = table,
                                      .count = sizeof table / sizeof *table,
                                      .renamed = renamed,
                                      .check = count_checks};

struct reading {
    struct shv_diagnostics found;
    struct all all;
};

static void read_into(struct reading *r, const char *text)
{
    config_t config;
    struct shv_units *units;
    memset(r, 0, sizeof *r);
    checked = 0;
    config_init(&config);
    if (config_read_string(&config, text) != CONFIG_TRUE) {
        fail_msg("%s: %s", text, config_error_text(&config));
    }
    struct reader reader = {
        .path = "x.cfg", .diagnostics = &r->found, .root = config_root_setting(&config)};
    assert_int_equal(reader_begin(&reader, &units), SHV_OK);
    assert_true(reader_add_file(&reader, "x.cfg"));
    reader_group(&reader, &keys, reader.root, &r->all);
    reader_report(&reader);
    assert_int_equal(reader.errors, r->found.errors);
    reader_end(&reader, units, SHV_OK);
    config_destroy(&config);
}

static void end_reading(struct reading *r)
{
    reader_free(&keys, &r->all, sizeof r->all);
    shv_diagnostics_free(&r->found);
}

static void all_that_is_given(void **state)
{
    (void)state;
    struct reading r;
    read_into(&r, "number = 10; length = \"5 cm\"; absent = 3.5; integer = 5; size = 5000000000L;"
                  "big = 1000000000000L; flag = false; word = \"red\"; text = \"a b\";"
                  "inner = { length = \"1 ft\"; }; other = { };"
                  "list = ( { length = \"1 m\"; }, { } ); either = 0;");
    assert_int_equal(r.found.count, 0);
    assert_true(r.all.number == 10.0 && r.all.absent == 3.5 && r.all.either == 0.0);
    assert_near(r.all.length, 0.05, 1e-12);
    assert_true(r.all.integer == 5 && r.all.size == 5000000000u && r.all.big == 1000000000000ul);
    assert_true(!r.all.flag && r.all.word == WORD_RED);
    assert_string_equal(r.all.text, "a b");
    assert_near(r.all.inner.length, 0.3048, 1e-12);
    assert_near(r.all.other.length, 0.3, 1e-12); /* it is there, so it has its defaults */
    assert_int_equal(r.all.list_count, 2);
    const struct inner *entries = r.all.list;
    assert_near(entries[0].length, 1.0, 1e-12);
    assert_near(entries[1].length, 0.3, 1e-12);
    assert_int_equal(checked, 100);
    end_reading(&r);
}

static void defaults(void **state)
{
    (void)state;
    struct reading r;
    read_into(&r, "number = 0.5;");
    assert_int_equal(r.found.count, 0);
    assert_near(r.all.length, 0.025, 1e-12);
    assert_true(r.all.absent == 7.0 && r.all.integer == -3 && r.all.size == 4 && r.all.big == 9);
    assert_true(r.all.flag && r.all.word == WORD_GREEN);
    assert_string_equal(r.all.text, "none yet");
    assert_near(r.all.inner.length, 0.3, 1e-12);
    assert_true(r.all.other.length == 0.0 && r.all.list_count == 0);
    assert_int_equal(checked, 1);
    end_reading(&r);
}

/* A list in the place of a quantity is a curve, and the quantity its highest value. */
static void a_curve_for_a_quantity(void **state)
{
    (void)state;
    struct reading r;
    read_into(&r, "number = 1; either = ((\"600 rpm\", 2), (\"1200 rpm\", 5), (\"1800 rpm\", 3));");
    assert_int_equal(r.found.count, 0);
    assert_true(r.all.curve.count == 3 && r.all.either == 5.0);
    assert_near(r.all.curve.x[1], 20.0, 1e-12);
    end_reading(&r);
    read_into(&r, "number = 1; either = ((\"600 rpm\", 2), (\"600 rpm\", 5));");
    assert_int_equal(r.found.errors, 1);
    assert_true(isnan(r.all.either));
    end_reading(&r);
}

static void what_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } cases[] = {
        {"", "number: found nothing; accepted: a number"},
        {"number = 0;", "number: found 0; accepted: more than 0, up to 10"},
        {"number = 10.5;", "number: found 10.5; accepted: more than 0, up to 10"},
        {"number = 1e400;", "number: found inf; accepted: "},
        {"number = \"4 m\";", "number: "},
        {"number = true;", "number: found true; accepted: "},
        {"number = 1; length = 5.0;", "length: found 5, which has no unit; accepted: \"5 "},
        {"number = 1; length = \"5\";", "length: found 5, which has no unit; accepted: \"5 "},
        {"number = 1; length = \"5 kg\";", "length: "},
        {"number = 1; length = \"1001 mm\";", "length: found \"1001 mm\"; accepted: 0 to 1 m"},
        {"number = 1; length = { };", "length: found a group { ... }; accepted: "},
        {"number = 1; length = [1, 2];", "length: found an array [ ... ] of 2; accepted: "},
        {"number = 1; length = (1, 2, 3);", "length: found a list ( ... ) of 3; accepted: "},
        {"number = 1; length = \"\";",
         "length: found an empty text; accepted: 1 to 200 characters on one line without tabs"},
        {"number = 1; integer = 2.0;", "integer: found 2.0; accepted: a whole number"},
        {"number = 1; integer = 6;", "integer: found 6; accepted: -5 to 5"},
        {"number = 1; integer = \"3\";", "integer: found \"3\"; accepted: a whole number"},
        {"number = 1; flag = 1;", "flag: found 1; accepted: true or false"},
        {"number = 1; word = \"gren\";", "word: found \"gren\"; accepted: "},
        {"number = 1; word = 3;", "word: found 3; accepted: "},
        {"number = 1; text = 3.25;", "text: found 3.25; accepted: "},
        {"number = 1; text = \"a\\tb\";",
         "text: found a text with control characters; accepted: 1 to "},
        {"number = 1; inner = 4;", "inner: found 4; accepted: "},
        {"number = 1; inner = { length = \"3 m\"; };",
         "inner.length: found \"3 m\"; accepted: 0 to 2 m"},
        {"number = 1; list = { };", "list: found a group { ... }; accepted: "},
        {"number = 1; list = ( );", "list: found a list of 0; accepted: 1 to 3 entries"},
        {"number = 1; list = ( { }, { }, { }, { } );",
         "list: found a list of 4; accepted: 1 to 3 entries"},
        {"number = 1; list = ( { }, 7 );", "list[2]: found 7; accepted: "},
        {"number = 1; colour = \"red\";", "colour: found a key that is now called \"word\""},
        {"number = 1; span = 3;", "span: found a key that \"length\" has replaced, which means "
                                  "something else: see docs/config.md"},
        {"number = 1; lenght = 3;", "lenght: found an unknown key; did you mean \"length\"?"},
        {"number = 1; quite_another = 3;", "quite_another: found an unknown key; accepted: number, "
                                           "length, absent, integer, size, big, "
                                           "flag, word, text, inner, other, list, either"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct reading r;
        char says[400];
        read_into(&r, cases[i].text);
        (void)snprintf(says, sizeof says, "x.cfg:1: %s", cases[i].says);
        if (r.found.count != 1 || strncmp(r.found.items[0].text, says, strlen(says)) != 0) {
            fail_msg("\"%s\" gives %zu findings, the first \"%s\"", cases[i].text, r.found.count,
                     r.found.count > 0 ? r.found.items[0].text : "");
        }
        end_reading(&r);
    }
}

static void the_meant_word_is_named(void **state)
{
    (void)state;
    struct reading r;
    read_into(&r, "number = 1; word = \"gren\";");
    const char *text = r.found.items[0].text;
    assert_string_equal(text + strlen(text) - 22, "; did you mean \"green\"?" + 1);
    assert_int_equal((int)r.all.word, -1);
    end_reading(&r);
    read_into(&r, "number = 1; word = \"zzzzzz\";");
    assert_null(strstr(r.found.items[0].text, "did you mean"));
    end_reading(&r);
}

/* What is wrong is left as NAN, NULL, 0 or -1. */
static void what_is_left_of_what_is_wrong(void **state)
{
    (void)state;
    struct reading r;
    read_into(
        &r,
        "length = 3; absent = 6; integer = 6; size = -1; word = \"blue\"; text = \"\"; list = 3;");
    assert_int_equal(r.found.count, 8);
    assert_true(isnan(r.all.number) && isnan(r.all.length) && isnan(r.all.absent));
    assert_true(r.all.integer == 0 && r.all.size == 0 && r.all.text == NULL && !r.all.list);
    assert_int_equal((int)r.all.word, -1);
    end_reading(&r);
}

/* 200 characters are taken, 201 not; umlauts count as bytes and are no control characters. */
static void the_longest_text(void **state)
{
    (void)state;
    struct reading r;
    char text[300];
    for (int length = 200; length <= 201; length++) {
        (void)snprintf(text, sizeof text, "number = 1; text = \"%0*d\";", length, 7);
        read_into(&r, text);
        assert_int_equal(r.found.count, length - 200);
        if (length == 200) {
            assert_int_equal(strlen(r.all.text), 200);
        } else {
            assert_non_null(strstr(r.found.items[0].text, "text: found a longer text; accepted"));
        }
        end_reading(&r);
    }
    read_into(&r, "number = 1; text = \"k\xc3\xbchler\";");
    assert_int_equal(r.found.count, 0);
    end_reading(&r);
    assert_null(reader_member(NULL, "any"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_that_is_given),       cmocka_unit_test(defaults),
        cmocka_unit_test(a_curve_for_a_quantity),  cmocka_unit_test(what_is_told),
        cmocka_unit_test(the_meant_word_is_named), cmocka_unit_test(what_is_left_of_what_is_wrong),
        cmocka_unit_test(the_longest_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
