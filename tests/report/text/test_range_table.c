/* A plan for people: sums, names, the curve, scenarios, and what stands against one. */
#include "report/made_range.h"
#include "report/pages.h"

static struct made_range m;

static int begin(void **state)
{
    (void)state;
    made_range_begin(&m);
    return 0;
}

/* One line of words where `joined`. */
static char *written(bool joined)
{
    char *text;
    size_t size;
    struct shv_message message;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_range_table(&m.run, out, &message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text);
    return joined ? join_lines(text) : text;
}

static void assert_shown(const char *what, bool joined, bool is_there)
{
    char *text = written(joined);
    assert_told(text, what, is_there);
    free(text);
}

/* 30 cars lose 10 %, 12.5 boats 4 %: (300 + 50) / 42.5 = 8.24 %. */
static void the_plan_in_words(void **state)
{
    (void)state;
    assert_shown(
        "4 different parts in stock serve 2 groups of customers who buy 42.5 kits a year: 2 "
        "blowers, 1 crank pulley and 2 blower pulleys.",
        true, true);
    assert_shown(
        "On the mean of all kits sold that costs 8.24 % of the power that each group's own "
        "best kit would make; most of all car, coast, plain.",
        true, true);
    assert_shown("broken off", true, false);
    m.row[0].power = m.row[0].best_power;
    m.row[1].power = m.row[1].best_power;
    assert_shown("that costs 0.00 % of the power that each group's own best kit would make.", true,
                 true);
    m.result.chosen = 0;
    assert_shown("1 blower, 1 crank pulley and 1 blower pulley.", true, true);
    assert_shown("The search was broken off: there may be plans worth up to 5 % more.", true, true);
    m.kits.problem.group_count = 1;
    assert_shown(" serve 1 group of customers who buy 30 kits a year", true, true);
}

static void kits_and_stock(void **state)
{
    (void)state;
    assert_shown(
        "\ncar     coast   plain   small   145.0   80.0 none    0.00  90.0  10.0   2500   3.4\n",
        false, true);
    assert_shown(
        "\nboat    coast   full    large   145.0   70.0 core    0.65 120.0   4.0   3200  12.0\n",
        false, true);
    assert_shown("\nblower          small                                          30.0       30.0 "
                 "       1\n",
                 false, true);
    assert_shown("\ncrank pulley    145 mm                                         42.5       42.5 "
                 "       2\n",
                 false, true);
    assert_shown("\ncore", false, false); /* is not in stock */
}

/* Long names give way to each other, the widest first, and no line is too long. */
static void names_share_the_line(void **state)
{
    (void)state;
    m.row[0].vehicle =
        "a vehicle of a name that is longer than all others and than the line has room";
    m.row[1].market = "a market of a long name";
    char *text = written(false); /* looks at the width */
    assert_non_null(strstr(text, "a market of a"));
    assert_null(strstr(text, "longer than all others and"));
    free(text);
}

static void assert_line(const char *format, ...)
{
    char line[200];
    va_list arguments;
    va_start(arguments, format);
    line[0] = '\n';
    int length = 1 + vsnprintf(line + 1, sizeof line - 2, format, arguments);
    va_end(arguments);
    while (line[length - 1] == ' ') {
        length--;
    }
    line[length] = '\n';
    line[length + 1] = '\0';
    assert_shown(line, false, true);
}

#define POINT "%5d %-20s %14s %8s %8s %s"

static void the_curve(void **state)
{
    (void)state;
    assert_shown("value (power of all kits sold in a year) of the best plan", true, true);
    assert_line("%5s %-20s %14s %8s %8s", "parts", "bl cp bp co in pu", "value, kW", "gain",
                "lost");
    assert_line(POINT, 3, " 1  1  1  0  0  0", "1000.0", "-", "20.00", "gap 5 %");
    assert_line(POINT, 4, " 2  1  2  0  0  0", "1150.0", "12.00", "8.00", "the plan");
    assert_line(POINT, 5, " 2  1  2  1  0  0", "1250.0", "8.00", "0.00", "");
    assert_shown("The curve was broken off.", true, false);
    m.result.knee = 1;
    assert_line(POINT, 4, " 2  1  2  0  0  0", "1150.0", "12.00", "8.00", "the knee, and the plan");
    m.result.knee = 2;
    assert_line(POINT, 5, " 2  1  2  1  0  0", "1250.0", "8.00", "0.00", "the knee");
    m.result.knee = m.result.chosen = 0;
    assert_line(POINT, 3, " 1  1  1  0  0  0", "1000.0", "-", "20.00", "knee, plan, gap 5 %");
    m.result.is_whole = false;
    assert_shown("The curve was broken off.", true, true);
    m.kits.problem.value = SHV_RANGE_PROFIT;
    assert_shown("value (profit of a year) of the best plan", true, true);
    assert_shown("value, EUR", false, true);
    m.kits.problem.value = SHV_RANGE_SHARE;
    assert_shown("value (kits sold in a year, each times its share of its group's best power)",
                 true, true);
}

/* Knowing: 3/4 of nothing and 1/4 of 92 kW, 2 % of 1150; where not proven 138 kW, 3 %. */
static void scenarios(void **state)
{
    (void)state;
    made_range_scenarios(&m);
    assert_shown("value (expected power of all kits sold in a year)", true, true);
    assert_line("%5d %-18s %13s %7s %7s %13s %7s %s", 4, " 2  1  2  0  0  0", "1150.0", "12.00",
                "8.00", "575.0", "12.00", "the plan");
    assert_line("%-30s %7s %10s %13s %13s %5s %s", "calm", "0.750", "42.5", "1100.0", "1100.0", "4",
                "");
    assert_line("%-30s %7s %10s %13s %13s %5s %s", "storm", "0.250", "20.0", "500.0", "592.0", "3",
                "not proven");
    assert_shown(
        "Knowing the sales exactly, before the stock is chosen, would be worth 23.0 kW a year on "
        "the mean: 2 % of what the plan is worth.",
        true, true);
    assert_shown("Not all of these plans are proven: it may be up to 3 %.", true, true);
    m.known[1].best = m.known[1].bound = m.known[1].value;
    assert_shown(
        "Knowing the sales before would change nothing: the plan is the best in every scenario.",
        true, true);
    m.result.known = NULL; /* was not come to */
    assert_shown("Knowing", true, false);
}

static void without_a_plan(void **state)
{
    (void)state;
    m.run.row = NULL;
    m.run.nearest = m.nearest;
    m.unserved[0] = 1;
    m.result.unserved = m.unserved;
    m.result.unserved_count = 1;
    assert_shown("There is no plan: not every group of customers can be served.", true, true);
    assert_shown("Left out: boat, coast, full.", true, true);
    assert_shown("No requirement of the range file stands against it alone: look at the limits",
                 true, true);
    m.result.relief = m.relief;
    m.result.relief_count = 4;
    m.relief[0] = (struct shv_range_relief){0, SHV_NEED_PRICE, 1, 4000.0, 4210.507};
    m.relief[1] = (struct shv_range_relief){1, SHV_NEED_POWER, 0, 140e3, 111891.7};
    m.relief[2] = (struct shv_range_relief){1, SHV_NEED_COOLER, 1, NAN, NAN};
    m.relief[3] = (struct shv_range_relief){2, SHV_NEED_FAMILY, 0, NAN, NAN};
    m.result.alone = true;
    assert_shown("Any one of these would serve the group that it names:", true, true);
    /* Rounded so that it is enough: a bound above up, one below down. */
    assert_shown("\n  - most_price of 4210.51 EUR in the place of 4000 for boat, coast, full\n",
                 false, true);
    assert_shown(
        "  - least_power of 111.891 kW in the place of 140 for car, coast, plain, and cooler = "
        "\"any\" for boat, coast, full ",
        true, true);
    assert_shown("\n  - different blowers in the family \"heavy\"\n", false, true);
    m.result.alone = false;
    assert_shown("Any one of these would serve everybody:", true, true);
    m.relief[0] = (struct shv_range_relief){0, SHV_NEED_MASS, 1, 40.0, 41.2341};
    m.relief[1] = (struct shv_range_relief){1, SHV_NEED_SHARE, 0, 0.9, 0.87654};
    m.relief[2] = (struct shv_range_relief){2, SHV_NEED_KIND, SHV_STOCK_BLOWER_PULLEY, 2.0, 3.0};
    m.relief[3] = (struct shv_range_relief){3, SHV_NEED_PARTS, 0, 6.0, 8.0};
    assert_shown("\n  - most_mass of 41.235 kg in the place of 40 for boat, coast, full\n", false,
                 true);
    assert_shown("\n  - least_share of 87.654 % in the place of 90 for car, coast, plain\n", false,
                 true);
    assert_shown("\n  - 3 different blower pulleys in the place of 2\n", false, true);
    assert_shown("\n  - 8 different parts of all kinds in the place of 6\n", false, true);
}

static void a_full_device_is_told(void **state)
{
    (void)state;
    struct shv_message message = {""};
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    assert_int_equal(shv_report_range_table(&m.run, full, &message), SHV_IO);
    assert_non_null(strstr(message.text, "cannot write standard output"));
    (void)fclose(full);
}

#define TEST(name) cmocka_unit_test_setup(name, begin)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_plan_in_words), TEST(kits_and_stock), TEST(names_share_the_line),  TEST(the_curve),
        TEST(scenarios),         TEST(without_a_plan), TEST(a_full_device_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
