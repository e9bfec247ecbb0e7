/* Logs as loggers write them, and those that must be refused. */
#include "study/common.h"

#include "sheave/log_file.h"

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

enum { SPEED, POWER, TEMPERATURE, THROTTLE };

/* Speed, power and charge temperature. */
static const struct shv_log_want three[] = {
    [SPEED] = {.column = "speed", .quantity = SHV_Q_ROTATION, .role = SHV_LOG_NEEDED},
    [POWER] = {.column = "power", .quantity = SHV_Q_POWER, .role = SHV_LOG_MEASURED},
    [TEMPERATURE] = {.column = "t_c", .quantity = SHV_Q_TEMPERATURE, .role = SHV_LOG_MEASURED},
    [THROTTLE] = {.column = "tps", .unit = "%", .quantity = SHV_Q_NUMBER, .role = SHV_LOG_NEEDED},
};

static const struct shv_log_rules plain = {
    .want = three, .wants = 3, .speed = SPEED, .throttle = SHV_LOG_NO_COLUMN, .speed_most = 200.0};

static enum shv_status read_text(const char *bytes, const struct shv_log_rules *rules,
                                 struct shv_log *log, struct shv_message *message)
{
    write_text("t.csv", bytes);
    struct shv_diagnostics findings = {0};
    enum shv_status status =
        first_finding(shv_log_read("t.csv", units, rules, log, &findings), &findings, message);
    remove("t.csv");
    return status;
}

static void good(const char *bytes, const struct shv_log_rules *rules, struct shv_log *log)
{
    struct shv_message message;
    if (read_text(bytes, rules, log, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    /* Nothing vanishes. */
    size_t merged = 0;
    for (size_t i = 0; i < log->rows; i++) {
        merged += log->row[i].merged;
    }
    assert_int_equal(merged + log->drops, log->data_lines);
}

static double value(const struct shv_log *log, size_t row, size_t want)
{
    assert_true(row < log->rows);
    return log->value[row * log->wants + want];
}

/* The same table however it is written. */
static void test_ways_to_write(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        char delimiter;
        bool comma;
        size_t header, units;
    } ways[] = {
        {"speed [rpm],power [kW],t_c [degC]\n3000,40.5,60\n6000,80,\n", ',', false, 1, 0},
        {"speed;power;t_c\r\nrpm;kW;\xc2\xb0"
         "C\r\n3000;40,5;60\r\n6000;80;-\r\n",
         ';', true, 1, 2},
        {"\xef\xbb\xbf"
         "Logger 7, run of Tuesday\n\nt_c (C)\tspeed (RPM)\tpower (kW)\tnote\n60\t3000\t40.5\tx\n"
         "NaN\t6000\t80.0\t\n",
         '\t', false, 3, 0},
        {"\"speed\",\"power\",\"t_c\"\r\"1/min\",\"kW\",\"degC\"\r\"3000\",\"40,5\",\"60,0\"\r"
         "\"6000\",\"80,0\",\"\"\r",
         ',', true, 1, 2},
        {"# made by hand\nspeed [rpm],power [hp],t_c "
         "[degF]\n3000,54.31139550001834,140\n6000,107.2817"
         "7123456,n/a\n",
         ',', false, 2, 0},
    };
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct shv_log log;
        good(ways[i].bytes, &plain, &log);
        assert_int_equal(log.rows, 2);
        assert_int_equal(log.delimiter, ways[i].delimiter);
        assert_int_equal(log.decimal_comma, ways[i].comma);
        assert_int_equal(log.header_line, ways[i].header);
        assert_int_equal(log.units_line, ways[i].units);
        assert_near(value(&log, 0, SPEED), 50.0, 1e-12);
        assert_near(value(&log, 0, POWER), 40500.0, 1e-6);
        assert_near(value(&log, 0, TEMPERATURE), 333.15, 1e-12);
        assert_near(value(&log, 1, POWER), 80000.0, 1e-6);
        assert_true(isnan(value(&log, 1, TEMPERATURE)));
        assert_int_equal(log.runs, 1);
        assert_string_equal(log.run_name[0], "run 1");
        shv_log_free(&log);
    }
}

static void assert_drop(const struct shv_log *log, size_t index, size_t line,
                        enum shv_log_drop_reason reason)
{
    assert_true(index < log->drops);
    assert_int_equal(log->drop[index].line, line);
    assert_int_equal(log->drop[index].reason, reason);
}

static void test_account(void **state)
{
    (void)state;
    struct shv_log_rules rules = plain;
    rules.wants = 4;
    rules.throttle = THROTTLE;
    rules.throttle_least = 0.95;
    rules.speed_least = 20.0;
    struct shv_log log;
    good("speed [rpm],power [W],t_c [K],tps\n"
         "3000,40,300,100\n" /* 2 */
         "3100,41,301,50\n"  /* 3: not at full throttle */
         ",42,302,100\n"     /* 4: no speed */
         "3300,,,100\n"      /* 5: nothing measured */
         "600,43,303,100\n"  /* 6: outside */
         "\n"
         "speed [rpm],power [W],t_c [K],tps\n" /* 8: again */
         "3000,44,304,95\n"                    /* 9 */
         "3100,45,305\n",                      /* 10: cut short */
         &rules, &log);
    assert_int_equal(log.rows, 2);
    assert_int_equal(log.runs, 2);
    assert_int_equal(log.row[1].run, 1);
    assert_int_equal(log.row[1].line, 9);
    assert_int_equal(log.drops, 6);
    assert_drop(&log, 0, 3, SHV_LOG_THROTTLE);
    assert_drop(&log, 1, 4, SHV_LOG_MISSING);
    assert_int_equal(log.drop[1].want, SPEED);
    assert_drop(&log, 2, 5, SHV_LOG_NOTHING);
    assert_drop(&log, 3, 6, SHV_LOG_OUTSIDE);
    assert_drop(&log, 4, 8, SHV_LOG_REPEATED_HEADER);
    assert_drop(&log, 5, 10, SHV_LOG_CUT_SHORT);
    assert_int_equal(log.dropped[SHV_LOG_MISSING], 1);
    assert_int_equal(log.lines, 10);
    shv_log_free(&log);
}

static void test_run_column(void **state)
{
    (void)state;
    const struct shv_log_want wants[] = {
        three[SPEED], three[POWER], {.column = "run", .role = SHV_LOG_RUN}};
    struct shv_log_rules rules = plain;
    rules.want = wants;
    struct shv_log log;
    good("speed [rpm],power [W],run\n3000,40,before\n3000,41,after\n3100,42,before\n3100,43,\n",
         &rules, &log);
    assert_int_equal(log.runs, 2);
    assert_string_equal(log.run_name[0], "before");
    assert_string_equal(log.run_name[1], "after");
    assert_int_equal(log.row[2].run, 0);
    assert_drop(&log, 0, 5, SHV_LOG_MISSING);
    shv_log_free(&log);
}

static void bad(const char *bytes, const struct shv_log_rules *rules, const char *found)
{
    struct shv_log log;
    struct shv_message message = {{0}};
    assert_int_equal(read_text(bytes, rules, &log, &message), SHV_BAD_INPUT);
    if (strstr(message.text, found) == NULL) {
        fail_msg("said \"%s\", not \"%s\"", message.text, found);
    }
    assert_null(log.value);
}

static void test_refused(void **state)
{
    (void)state;
    bad("speed [rpm],power [W],t_c [K]\n3000,40,300\n3100,4o,301\n", &plain,
        "t.csv:3: column \"power\" (cell 2): found \"4o\"; accepted: a number");
    bad("speed [rpm],power [W],t_c [K]\n3000,40,5,300\n", &plain,
        "t.csv:2: found 4 cells where the header has 3; decimal commas need");
    bad("speed [rpm];power [W];t_c [K]\n3000;40,5;300\n3100;41.5;300\n", &plain,
        "t.csv:2: found \"40,5\" here and \"41.5\" on line 3");
    bad("speed [rpm];power [W];t_c [K]\n3000;1.040,5;300\n", &plain, "found \"1.040,5\"");
    bad("speed [rpm],pover [W],t_c [K]\n3000,40,300\n", &plain,
        "t.csv:1: the header has no column \"power\"; did you mean \"pover\"?");
    bad("speed [rpm],power [W],power [W],t_c [K]\n3000,40,41,300\n", &plain,
        "t.csv:1: the header has the column \"power\" 2 times");
    bad("speed [rpm],power [furlong],t_c [K]\n3000,40,300\n", &plain,
        "t.csv:1: column \"power\": found the unit \"furlong\"; accepted: that of a power");
    bad("speed,power,t_c\nrpm,kW,stone\n3000,40,300\n", &plain,
        "t.csv:2: column \"t_c\": found the unit \"stone\"");
    bad("speed [rpm],power,t_c [K]\n3000,40,300\n", &plain,
        "t.csv:1: column \"power\": no unit is said; accepted: that of a power");
    bad("speed,power [W],t_c [K]\n3000,40,300\n", &plain,
        "t.csv:1: column \"speed\": no unit is said; accepted: that of a speed of rotation with a "
        "unit, such as \"6500 rpm\", in brackets behind the title");
    bad("a,b,c\n1,2,3\n", &plain, "t.csv: no header");
    bad("", &plain, "t.csv: no header");
    bad("speed [rpm],power [W],t_c [K]\n", &plain, "t.csv: no row is left of 0 below the header");
    bad("speed [rpm],power [W],t_c [K]\n,40,300\n,41,300\n", &plain,
        "t.csv: no row is left of 2 below the header: 2 needed value missing");
    bad("speed [rpm],power [W],t_c [K]\n3000,\"40,300\n", &plain,
        "t.csv:2: cell 2: a quote is opened and never closed");
}

/* A speed may be named by its unit alone. */
static void test_unit_as_title(void **state)
{
    (void)state;
    static const struct {
        const char *column, *bytes;
        double first;
    } ways[] = {{"rpm", "rpm,power [W],t_c [K]\n3000,40,300\n", 50.0},
                {"RPM", "RPM,power [W],t_c [K]\n3000,40,300\n", 50.0},
                {"engine rpm", "engine rpm,power [W],t_c [K]\n3000,40,300\n", 50.0},
                {"rev/s", "rev/s,power [W],t_c [K]\n50,40,300\n", 50.0},
                {"rpm", "rpm [rad/s],power [W],t_c [K]\n314.15926535897932,40,300\n", 50.0}};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        struct shv_log_want wants[] = {three[SPEED], three[POWER], three[TEMPERATURE]};
        wants[SPEED].column = ways[i].column;
        struct shv_log_rules rules = plain;
        rules.want = wants;
        struct shv_log log;
        good(ways[i].bytes, &rules, &log);
        assert_near(value(&log, 0, SPEED), ways[i].first, 1e-12);
        shv_log_free(&log);
    }
}

/* A unit of the study counts before that of the file. */
static void test_unit_of_the_study(void **state)
{
    (void)state;
    struct shv_log_want wants[] = {three[SPEED], three[POWER], three[TEMPERATURE]};
    wants[POWER].unit = "ft.lbf/s";
    struct shv_log_rules rules = plain;
    rules.want = wants;
    struct shv_log log;
    good("speed [rpm],power,t_c [K]\n3000,100,300\n", &rules, &log);
    assert_near(value(&log, 0, POWER), 135.58179483314004, 1e-12); /* 0.3048 m, 4.4482216152605 N */
    assert_string_equal(log.unit[POWER], "ft.lbf/s");
    assert_string_equal(log.unit[SPEED], "rpm");
    shv_log_free(&log);
    /* The same unit by another name is no contradiction; another unit is. */
    wants[POWER].unit = "kW";
    good("speed [rpm],power [kw],t_c [K]\n3000,100,300\n", &rules, &log);
    assert_near(value(&log, 0, POWER), 1e5, 1e-12);
    shv_log_free(&log);
    struct shv_message message;
    write_text("t.csv", "speed [rpm],power [hp],t_c [K]\n3000,100,300\n");
    struct shv_diagnostics findings = {0};
    assert_int_equal(
        first_finding(shv_log_read("t.csv", units, &rules, &log, &findings), &findings, &message),
        SHV_BAD_INPUT);
    remove("t.csv");
    assert_string_equal(message.text,
                        "t.csv:1: column \"power\": found the unit \"hp\", but the study "
                        "says \"kW\"; accepted: one unit in both, or none in the study");
}

/* All that is wrong is told, up to a bound; a unit that is none of the column's quantity
 * contradicts the study as well, and a word that is no unit does not. */
static void test_all_errors_at_once(void **state)
{
    (void)state;
    struct shv_log_want wants[3] = {three[SPEED], three[POWER], three[TEMPERATURE]};
    const struct shv_log_rules rules = {.want = wants,
                                        .wants = 3,
                                        .speed = SPEED,
                                        .throttle = SHV_LOG_NO_COLUMN,
                                        .speed_most = 200.0};
    struct shv_log log;
    struct shv_diagnostics findings = {0};
    wants[POWER].unit = "kW";
    write_text("t.csv", "speed [rpm],power [N m],x\n3000,y,300\n3000,1,300,4\n3000,1,300\n");
    assert_int_equal(shv_log_read("t.csv", units, &rules, &log, &findings), SHV_BAD_INPUT);
    static const char *const told[] = {"column \"t_c\"", "found the unit \"N m\"", "found \"y\"",
                                       "found 4 cells"};
    assert_int_equal(findings.errors, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_non_null(strstr(findings.items[i].text, told[i]));
    }
    shv_diagnostics_free(&findings);
    char many[1024] = "speed [rpm],power (corrected),t_c [K]\n";
    for (int i = 0; i < 40; i++) {
        strcat(many, "3000,?,300\n");
    }
    write_text("t.csv", many);
    assert_int_equal(shv_log_read("t.csv", units, &rules, &log, &findings), SHV_BAD_INPUT);
    assert_int_equal(findings.errors, 21);
    assert_string_equal(findings.items[20].text, "t.csv: what else may be wrong is not told");
    shv_diagnostics_free(&findings);
    remove("t.csv");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_errors_at_once),
        cmocka_unit_test(test_ways_to_write),
        cmocka_unit_test(test_account),
        cmocka_unit_test(test_run_column),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_unit_as_title),
        cmocka_unit_test(test_unit_of_the_study),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
