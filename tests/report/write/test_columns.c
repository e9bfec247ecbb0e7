/* Headers and rows from one table. */
#include "report/fixture.h"
#include "report/write/columns.h"

struct row {
    const char *name;
    uint64_t count, missing;
    double power, temperature, torque;
    double margin[SHV_LIMIT_COUNT];
};

#define AT(member) offsetof(struct row, member)

static const struct report_column table[] = {
    {"name", REPORT_TEXT, 0, AT(name), REPORT_ALWAYS, "A."},
    {"count", REPORT_COUNT, 0, AT(count), REPORT_ALWAYS, "B."},
    {"missing", REPORT_COUNT, 0, AT(missing), REPORT_ALWAYS, "C."},
    {"power", REPORT_POWER, 5, AT(power), REPORT_WHEN_POWER, "D."},
    {"torque", REPORT_TORQUE, 5, AT(torque), REPORT_WHEN_TORQUE, "E."},
    {"air", REPORT_TEMPERATURE, 5, AT(temperature), REPORT_ALWAYS, "F."},
};

static struct csv *written(const struct report_layout *layout, enum shv_unit_system system,
                           const struct row *row)
{
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_true(report_header(out, layout, system));
    assert_true(report_row(out, layout, system, row));
    assert_int_equal(fclose(out), 0);
    struct csv *csv = csv_parse(text);
    assert_int_equal(csv->records, 2);
    assert_even(csv);
    return csv;
}

static struct row sample(void)
{
    struct row row = {"=x", 12, REPORT_NO_COUNT, 123456.0, 310.15, 250.0, {0}};
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        row.margin[i] = NAN;
    }
    row.margin[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 10.0;
    row.margin[SHV_LIMIT_FUEL_FLOW] = -0.001;
    return row;
}

static void rows_follow_the_header(void **state)
{
    (void)state;
    struct row row = sample();
    struct report_layout layout;
    report_layout_init(&layout, REPORT_WHEN_POWER);
    report_layout_add(&layout, table, sizeof table / sizeof *table);
    struct csv *csv = written(&layout, SHV_METRIC, &row);
    assert_int_equal(csv->fields[0], 5);
    assert_string_equal(csv_at(csv, 1, "name"), "'=x");
    assert_string_equal(csv_at(csv, 1, "count"), "12");
    assert_string_equal(csv_at(csv, 1, "missing"), "");
    assert_string_equal(csv_at(csv, 1, "power_kW"), "123.46");
    assert_string_equal(csv_at(csv, 1, "air_degC"), "37");
    csv_free(csv);
}

static void units_and_columns_change(void **state)
{
    (void)state;
    struct row row = sample();
    struct report_layout layout;
    report_layout_init(&layout, REPORT_WHEN_TORQUE);
    report_layout_add(&layout, table, sizeof table / sizeof *table);
    struct csv *csv = written(&layout, SHV_US, &row);
    assert_int_equal(csv->fields[0], 5);
    assert_close(csv_value(csv, 1, "torque_lbfft"), 184.39, 1e-4); /* 250 / 1.355818 */
    assert_close(csv_value(csv, 1, "air_degF"), 98.6, 1e-4);
    csv_free(csv);
}

static void margins_are_differences(void **state)
{
    (void)state;
    struct row row = sample();
    struct report_layout layout;
    report_layout_init(&layout, REPORT_EVERY_COLUMN);
    report_layout_add_rooms(&layout, AT(margin));
    assert_int_equal(layout.count, SHV_LIMIT_COUNT);
    struct csv *csv = written(&layout, SHV_METRIC, &row);
    assert_string_equal(csv_at(csv, 1, "discharge_temperature_room_K"), "10");
    assert_string_equal(csv_at(csv, 1, "fuel_flow_room_kg_h"), "-3.6");
    assert_string_equal(csv_at(csv, 1, "boost_room_kPa"), "");
    csv_free(csv);
    csv = written(&layout, SHV_US, &row);
    assert_string_equal(csv_at(csv, 1, "discharge_temperature_room_degR"), "18");
    csv_free(csv);
}

static void only_limits_that_are_set(void **state)
{
    (void)state;
    struct report_layout layout;
    report_layout_init(&layout,
                       REPORT_WHEN_LIMIT(SHV_LIMIT_BOOST) | REPORT_WHEN_LIMIT(SHV_LIMIT_PRICE));
    report_layout_add_rooms(&layout, 0);
    assert_int_equal(layout.count, 2);
    assert_string_equal(layout.column[0].stem, "boost_room");
    assert_string_equal(layout.column[0].meaning,
                        "Room to the limit of boost, where it is tightest.");
    assert_string_equal(layout.column[1].meaning, "Room to the limit of price.");
    assert_int_equal(layout.column[1].offset, SHV_LIMIT_PRICE * sizeof(double));
    report_layout_init(&layout, REPORT_WHEN_LIMIT(SHV_LIMIT_POWER));
    report_layout_add_chances(&layout, 0, 0);
    assert_int_equal(layout.count, 2);
    assert_string_equal(layout.column[0].stem, "power_holds");
    assert_string_equal(layout.column[1].stem, "power_holds_error");
}

static void every_name_is_whole(void **state)
{
    (void)state;
    struct report_layout layout;
    report_layout_init(&layout, REPORT_EVERY_COLUMN);
    report_layout_add_rooms(&layout, 0);
    for (size_t i = 0; i < layout.count; i++) {
        assert_true(strlen(layout.column[i].stem) < REPORT_NAME_MAX - 12);
        size_t length = strlen(layout.column[i].meaning);
        assert_int_equal(layout.column[i].meaning[length - 1], '.'); /* not cut */
    }
}

static void full_device_is_noticed(void **state)
{
    (void)state;
    struct row row = sample();
    struct report_layout layout;
    report_layout_init(&layout, 0);
    report_layout_add(&layout, table, sizeof table / sizeof *table);
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    assert_int_equal(setvbuf(out, NULL, _IONBF, 0), 0);
    assert_false(report_header(out, &layout, SHV_METRIC));
    assert_false(report_row(out, &layout, SHV_METRIC, &row));
    (void)fclose(out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_follow_the_header),  cmocka_unit_test(units_and_columns_change),
        cmocka_unit_test(margins_are_differences), cmocka_unit_test(every_name_is_whole),
        cmocka_unit_test(full_device_is_noticed),  cmocka_unit_test(only_limits_that_are_set),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
