/* Numbers and combinations. */
#include "study/common.h"

#include "sheave/space.h"

/* 2 blowers, 3 crank and 4 blower pulleys, none + 2 + 3 coolers, 2 fuels, 3 lambdas, 2 margins, 1 +
 * 2 injectors, 2 pumps. */
static struct shv_study study;
static double crank[] = {0.1, 0.15, 0.2}, pulley[] = {0.05, 0.06, 0.07, 0.08};
static double nothing[] = {0.0}, small[] = {0.5, 0.6}, large[] = {0.7, 0.75, 0.8};
static double lambda[] = {0.8, 0.85, 0.9};
static double margin[] = {0.0, 3.0}, one_size[] = {4e-6}, two_sizes[] = {5e-6, 7e-6};
static struct shv_cooler cooler[3];
static struct shv_injector_part injector[2];

static int set_up(void **state)
{
    (void)state;
    cooler[0] = (struct shv_cooler){.is_none = true, .effectiveness = {nothing, 1}};
    cooler[1] = (struct shv_cooler){.effectiveness = {small, 2}};
    cooler[2] = (struct shv_cooler){.effectiveness = {large, 3}};
    study = (struct shv_study){0};
    study.blower_count = 2;
    study.numbers[SHV_DIM_CRANK_PULLEY].values = crank;
    study.numbers[SHV_DIM_CRANK_PULLEY].count = 3;
    study.numbers[SHV_DIM_BLOWER_PULLEY].values = pulley;
    study.numbers[SHV_DIM_BLOWER_PULLEY].count = 4;
    study.drive.line_offset = 0.001;
    study.coolers = cooler;
    study.cooler_count = 3;
    study.fuel_count = 2;
    study.numbers[SHV_DIM_LAMBDA].values = lambda;
    study.numbers[SHV_DIM_LAMBDA].count = 3;
    study.numbers[SHV_DIM_IGNITION_MARGIN].values = margin;
    study.numbers[SHV_DIM_IGNITION_MARGIN].count = 2;
    injector[0] = (struct shv_injector_part){.rated_flow = {one_size, 1}};
    injector[1] = (struct shv_injector_part){.rated_flow = {two_sizes, 2}};
    study.injectors = injector;
    study.injector_count = 2;
    study.pump_count = 2;
    return 0;
}

static void test_sizes(void **state)
{
    (void)state;
    struct shv_space space;
    assert_int_equal(shv_space_init(&space, &study, NULL), SHV_OK);
    assert_int_equal(space.air_size, 2 * 3 * 4 * 6);
    assert_int_equal(space.burn_size, 2 * 3 * 2);
    assert_int_equal(space.supply_size, 3 * 2);
    assert_int_equal(space.fuel_size, 72);
    assert_int_equal(space.size, 144 * 72);
    assert_int_equal(space.count[SHV_DIM_COOLER], 6);
}

/* The next choices, the last dimension first; false after the last. */
static bool count_on(const struct shv_space *space, uint64_t choice[SHV_DIM_COUNT])
{
    for (size_t d = SHV_DIM_COUNT; d-- > 0;) {
        if (++choice[d] < space->count[d]) {
            return true;
        }
        choice[d] = 0;
    }
    return false;
}

/* Every index is another combination, and comes back; the last dimension is the fastest. */
static void test_there_and_back(void **state)
{
    (void)state;
    struct shv_space space;
    uint64_t choice[SHV_DIM_COUNT], expected = 0;
    assert_int_equal(shv_space_init(&space, &study, NULL), SHV_OK);
    uint64_t c[SHV_DIM_COUNT] = {0};
    do {
        assert_int_equal(shv_space_join(&space, c), expected);
        shv_space_split(&space, expected, choice);
        assert_memory_equal(choice, c, sizeof c);
        struct shv_kit kit;
        shv_space_kit(&space, &study, expected, &kit);
        for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
            assert_int_equal(shv_space_choice(&study, (enum shv_dim)d, &kit), c[d]);
        }
        expected++;
    } while (count_on(&space, c));
    assert_int_equal(expected, space.size);
}

static void test_kit(void **state)
{
    (void)state;
    static const struct {
        uint64_t choice;
        size_t cooler;
        double effectiveness;
    } rows[] = {{0, 0, 0.0}, {1, 1, 0.5}, {2, 1, 0.6}, {3, 2, 0.7}, {4, 2, 0.75}, {5, 2, 0.8}};
    struct shv_space space;
    struct shv_kit kit;
    assert_int_equal(shv_space_init(&space, &study, NULL), SHV_OK);
    for (size_t i = 0; i < 6; i++) {
        uint64_t choice[SHV_DIM_COUNT] = {1, 2, 1, rows[i].choice, 1, 2, 1, 2, 1};
        memset(&kit, 0xa5, sizeof kit);
        shv_space_kit(&space, &study, shv_space_join(&space, choice), &kit);
        assert_int_equal(kit.blower, 1);
        assert_int_equal(kit.fuel, 1);
        assert_int_equal(kit.cooler, rows[i].cooler);
        assert_true(kit.effectiveness == rows[i].effectiveness);
        assert_true(kit.crank_diameter == 0.2 && kit.blower_diameter == 0.06);
        assert_true(kit.lambda == 0.9 && kit.ignition_margin == 3.0);
        assert_int_equal(kit.injector, 1);
        assert_true(kit.injector_flow == 7e-6);
        assert_int_equal(kit.pump, 1);
        assert_near(kit.ratio, 0.202 / 0.062, 1e-15);
    }
}

static void test_overflow(void **state)
{
    (void)state;
    struct shv_space space;
    struct shv_message message;
    study.blower_count = study.fuel_count = 1;
    study.cooler_count = 1;
    study.numbers[SHV_DIM_CRANK_PULLEY].count = (size_t)1 << 31;
    study.numbers[SHV_DIM_BLOWER_PULLEY].count = (size_t)1 << 31;
    study.numbers[SHV_DIM_LAMBDA].count = study.numbers[SHV_DIM_IGNITION_MARGIN].count =
        study.injector_count = study.pump_count = 1;
    assert_int_equal(shv_space_init(&space, &study, &message), SHV_OK);
    assert_int_equal(space.size, (uint64_t)1 << 62);
    study.numbers[SHV_DIM_LAMBDA].count = 2;
    assert_int_equal(shv_space_init(&space, &study, &message), SHV_BAD_INPUT);
    assert_string_equal(message.text, "the study has more than 9223372036854775807 combinations; "
                                      "accepted: fewer choices");
}

static void test_empty_dimension(void **state)
{
    (void)state;
    struct shv_space space;
    struct shv_message message;
    study.fuel_count = 0;
    assert_int_equal(shv_space_init(&space, &study, &message), SHV_BAD_INPUT);
    assert_string_equal(message.text, "the dimension \"fuel\" has no values");
}

static void test_names(void **state)
{
    (void)state;
    for (int a = 0; a < SHV_DIM_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            assert_string_not_equal(shv_dim_info((enum shv_dim)a)->name,
                                    shv_dim_info((enum shv_dim)b)->name);
        }
    }
    assert_string_equal(shv_dim_info(SHV_DIM_BLOWER_PULLEY)->name, "blower_pulley");
    assert_string_equal(shv_dim_info(SHV_DIM_IGNITION_MARGIN)->name, "ignition_margin");
}

/* A kit of each dimension's first choice differs from one of its last in that dimension alone, if
 * there is a choice, and the row says what differs. */
static void test_rows(void **state)
{
    (void)state;
    struct shv_space space;
    assert_int_equal(shv_space_init(&space, &study, NULL), SHV_OK);
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        const struct shv_dim_info *info = shv_dim_info((enum shv_dim)d);
        struct shv_kit first, last;
        assert_true(info->another && (info->entry != SHV_NOWHERE || info->number != SHV_NOWHERE));
        shv_space_kit(&space, &study, 0, &first);
        last = first;
        shv_space_pick(&study, (enum shv_dim)d, space.count[d] - 1, &last);
        for (int other = 0; other < SHV_DIM_COUNT; other++) {
            bool same = other != d || space.count[d] == 1;
            assert_int_equal(shv_dim_same((enum shv_dim)other, &first, &last), same);
        }
    }
    cooler[2].name = "large";
    struct shv_kit with = {.cooler = 2, .effectiveness = 0.7};
    assert_string_equal(shv_dim_entry(SHV_DIM_COOLER, &study, &with), "large");
    assert_null(shv_dim_entry(SHV_DIM_LAMBDA, &study, &with));
    assert_true(shv_dim_number(SHV_DIM_COOLER, &with) == 0.7);
    assert_true(isnan(shv_dim_number(SHV_DIM_FUEL, &with)));
    struct shv_kit a = {.crank_diameter = NAN, .blower_diameter = NAN}, b = a;
    assert_true(shv_dim_same(SHV_DIM_CRANK_PULLEY, &a, &b));
    b.crank_diameter = 0.1;
    assert_false(shv_dim_same(SHV_DIM_CRANK_PULLEY, &a, &b));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(test_sizes, set_up),
        cmocka_unit_test_setup(test_there_and_back, set_up),
        cmocka_unit_test_setup(test_kit, set_up),
        cmocka_unit_test_setup(test_overflow, set_up),
        cmocka_unit_test_setup(test_empty_dimension, set_up),
        cmocka_unit_test(test_names),
        cmocka_unit_test_setup(test_rows, set_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
