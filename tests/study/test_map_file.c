/* Maps as people save them, and those that make no sense. */
#include "study/common.h"

#include "sheave/blower.h"

static struct shv_units *units;
static struct shv_diagnostics findings;

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

static enum shv_status read_map(const char *text, struct shv_blower_map *map)
{
    shv_diagnostics_free(&findings);
    write_text("map.csv", text);
    enum shv_status status =
        shv_blower_map_read("map.csv", units, 1e-3, 101325.0, 298.15, map, &findings);
    remove("map.csv");
    return status;
}

static void assert_told(size_t index, const char *text)
{
    assert_true(index < findings.count);
    if (strcmp(findings.items[index].text, text) != 0) {
        fail_msg("%s", findings.items[index].text);
    }
}

/* However it is written, it is the same map. */
static void test_as_people_save_them(void **state)
{
    (void)state;
    static const char *const same[] = {
        "rotor_speed_rpm,pressure_ratio,volumetric_efficiency,shaft_power_kW\n"
        "4000,1.2,0.8,2.5\n4000,1.6,0.7,5\n8000,1.2,0.9,5\n8000,1.6,0.85,10.5\n",
        "\xef\xbb\xbf# a comment\r\nRPM;PR;VE [%];Power "
        "(kW)\r\n8000;1,2;90;5\r\n8000;1,6;85;10,5\r\n"
        "4000;1,6;70;5\r\n4000;1,2;80;2,5\r\n",
        "Rotor speed\tPressure ratio\tVolumetric efficiency\tShaft power\n"
        "1/min\t-\t\tW\n4000\t1.2\t0.8\t2500\n4000\t1.6\t0.7\t5000\n8000\t1.2\t0.9\t5000\n"
        "8000\t1.6\t\"0.85\"\t10500\n"};
    struct shv_blower_map first, map;
    assert_int_equal(read_map(same[0], &first), SHV_OK);
    for (size_t i = 1; i < 3; i++) {
        if (read_map(same[i], &map) != SHV_OK) {
            fail_msg("%s", findings.items[0].text);
        }
        assert_int_equal(findings.count, 0);
        assert_int_equal(map.lines, 2);
        for (size_t k = 0; k < 2; k++) {
            assert_true(map.line[k].corrected_speed ==
                        first.line[k].corrected_speed); /* to the bit */
            const struct shv_curve_table *a = &map.line[k].isentropic_efficiency;
            const struct shv_curve_table *b = &first.line[k].isentropic_efficiency;
            assert_near(a->y[0], b->y[0], 1e-14);
            assert_near(a->y[1], b->y[1], 1e-14);
            assert_near(map.line[k].volumetric_efficiency.y[1], k == 0 ? 0.7 : 0.85, 1e-15);
        }
        shv_blower_map_free(&map);
    }
    shv_blower_map_free(&first);
}

static void test_all_errors_at_once(void **state)
{
    (void)state;
    struct shv_blower_map map;
    assert_int_equal(read_map("rpm,pr,ve,power [psi]\n4000,x,0.8,1\n4000,1.6,0.7,1,9\n", &map),
                     SHV_BAD_INPUT);
    assert_int_equal(findings.errors, 3);
    assert_told(1, "map.csv:2: column \"pressure_ratio\" (cell 2): found \"x\"; accepted: a "
                   "number, or nothing where there is none");
    assert_int_equal(read_map("rpm,pr,ve,power [kW]\n4000,1.2,80,1\n0.1,1.6,0.7,2\n", &map),
                     SHV_BAD_INPUT);
    assert_told(0, "map.csv:2: volumetric_efficiency: found 80; accepted 0.01 to 1.2");
    assert_told(1, "map.csv:3: rotor_speed: found 0.1 rpm; accepted 1 to 200000 rpm");
    assert_int_equal(read_map("rpm,pr,ve\n4000,1.2,0.8\n", &map), SHV_BAD_INPUT);
    assert_told(0, "map.csv:1: each point needs one of \"isentropic_efficiency\" and "
                   "\"shaft_power\", all the same");
    assert_int_equal(read_map("rpm,pr,ve,isentropic efficiency\n4000,1.2,0.8,0.5\n"
                              "4000,,0.7,0.5\n8000,1.2,0.8,0.5\n",
                              &map),
                     SHV_BAD_INPUT);
    assert_told(0, "map.csv:3: found no point: needed value missing");
}

/* Warned of with the number: it may be so. */
static void test_sense(void **state)
{
    (void)state;
    struct shv_blower_map map;
    assert_int_equal(read_map("rpm,pr,ve,isentropic_efficiency\n4,1.2,0.8,0.5\n4,1.6,0.85,0.5\n"
                              "9,1.2,0.9,0.5\n9,1.6,0.88,0.5\n",
                              &map),
                     SHV_OK);
    assert_int_equal(findings.errors, 0);
    assert_told(0, "map.csv:3: volumetric efficiency rises from 0.8 to 0.85 with the pressure "
                   "ratio from 1.2 to 1.6 at 4 rpm, and so at 1 points; leakage makes it fall");
    assert_told(1, "map.csv:5: the highest speed is 9 rpm; are these thousands of rpm?");
    shv_blower_map_free(&map);
    shv_diagnostics_free(&findings);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_as_people_save_them),
                                       cmocka_unit_test(test_all_errors_at_once),
                                       cmocka_unit_test(test_sense)};
    return cmocka_run_group_tests(tests, open_units, close_units);
}
