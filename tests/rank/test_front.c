/* Fronts against brute force over every pair, and their measure against counting boxes. */
#include "support/study_fixture.h"

#include "sheave/front.h"

#define POINTS ((size_t)300)

/* Few different values, so that ties are many. */
static void random_points(struct shv_front_point *p, size_t count, size_t dims, int levels,
                          uint64_t *seed)
{
    for (size_t i = 0; i < count; i++) {
        p[i] = (struct shv_front_point){.index = i};
        for (size_t k = 0; k < dims; k++) {
            p[i].value[k] = floor(random_in(seed, 0.0, levels));
        }
    }
}

/* By the definition: no other is as good in all and better in one, or alike with a lower index. */
static bool is_on_front(const struct shv_front_point *p, size_t count, size_t i)
{
    for (size_t j = 0; j < count; j++) {
        bool as_good = true, better = false;
        for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
            as_good = as_good && p[j].value[k] >= p[i].value[k];
            better = better || p[j].value[k] > p[i].value[k];
        }
        if (j != i && as_good && (better || p[j].index < p[i].index)) {
            return false;
        }
    }
    return true;
}

static void shuffle(struct shv_front_point *p, size_t count, uint64_t *seed)
{
    for (size_t i = count; i > 1; i--) {
        size_t k = (size_t)random_in(seed, 0.0, (double)i);
        struct shv_front_point swap = p[i - 1];
        p[i - 1] = p[k];
        p[k] = swap;
    }
}

static struct shv_front front_of(const struct shv_front_point *p, size_t count, size_t dims)
{
    struct shv_front front;
    shv_front_init(&front, dims);
    for (size_t i = 0; i < count; i++) {
        assert_true(shv_front_offer(&front, &p[i]));
    }
    return front;
}

static void the_same_as_brute_force_in_any_order(void **state)
{
    (void)state;
    uint64_t seed = 11;
    struct shv_front_point p[POINTS];
    for (int round = 0; round < 60; round++) {
        size_t dims = 2 + (size_t)(round % 2);
        random_points(p, POINTS, dims, round % 3 == 0 ? 8 : 1000, &seed);
        size_t expected = 0;
        for (size_t i = 0; i < POINTS; i++) {
            expected += is_on_front(p, POINTS, i) ? 1 : 0;
        }
        struct shv_front first = front_of(p, POINTS, dims);
        shuffle(p, POINTS, &seed);
        struct shv_front second = front_of(p, POINTS, dims);
        assert_int_equal(first.count, expected);
        assert_int_equal(second.count, expected);
        for (size_t i = 0; i < expected; i++) {
            assert_memory_equal(&first.point[i], &second.point[i], sizeof first.point[i]);
            assert_true(i == 0 || first.point[i - 1].value[0] >= first.point[i].value[0]);
        }
        size_t found = 0;
        for (size_t i = 0; i < POINTS; i++) {
            for (size_t k = 0; k < first.count; k++) {
                found += first.point[k].index == p[i].index && is_on_front(p, POINTS, i) ? 1 : 0;
            }
        }
        assert_int_equal(found, expected);
        shv_front_free(&first);
        shv_front_free(&second);
    }
}

static void what_is_no_number_is_left_out(void **state)
{
    (void)state;
    const struct shv_front_point p[] = {{{1.0, NAN, 0.0}, 3}, {{1.0, 2.0, 0.0}, 4}};
    struct shv_front front = front_of(p, 2, 2);
    assert_int_equal(front.count, 1);
    assert_true(front.point[0].index == 4);
    shv_front_free(&front);
    shv_front_free(&front); /* twice is safe */
}

/* (3,1) (2,2) (1,3) above (0,0): 3 x 1 + 2 x 1 + 1 x 1 = 6. Above (1,0): 2 x 1 + 1 x 1 = 3, the
 * last has nothing. */
static void area_by_hand(void **state)
{
    (void)state;
    const struct shv_front_point p[] = {
        {{1.0, 3.0, 0.0}, 0}, {{3.0, 1.0, 0.0}, 1}, {{2.0, 2.0, 0.0}, 2}};
    const double origin[SHV_FRONT_DIMS] = {0.0, 0.0, 0.0}, right[SHV_FRONT_DIMS] = {1.0, 0.0, 0.0};
    struct shv_front front = front_of(p, 3, 2);
    double area, best[SHV_FRONT_DIMS], worst[SHV_FRONT_DIMS];
    assert_int_equal(shv_front_hypervolume(&front, origin, &area, NULL), SHV_OK);
    assert_within(area, 6.0, 0.0);
    assert_int_equal(shv_front_hypervolume(&front, right, &area, NULL), SHV_OK);
    assert_within(area, 3.0, 0.0);
    shv_front_range(&front, best, worst);
    assert_true(best[0] == 3.0 && best[1] == 3.0 && worst[0] == 1.0 && worst[1] == 1.0);
    shv_front_free(&front);
    assert_int_equal(shv_front_hypervolume(&front, origin, &area, NULL), SHV_OK);
    assert_within(area, 0.0, 0.0);
}

/* Whole numbers: the measure is the number of unit boxes that some point covers. */
static double boxes(const struct shv_front_point *p, size_t count, int levels, size_t dims)
{
    double sum = 0.0;
    for (int a = 0; a < levels; a++) {
        for (int b = 0; b < levels; b++) {
            for (int c = 0; c < (dims == 3 ? levels : 1); c++) {
                bool covered = false;
                for (size_t i = 0; i < count && !covered; i++) {
                    covered =
                        p[i].value[0] > a && p[i].value[1] > b && (dims == 2 || p[i].value[2] > c);
                }
                sum += covered ? 1.0 : 0.0;
            }
        }
    }
    return sum;
}

static void volume_is_the_number_of_boxes(void **state)
{
    (void)state;
    uint64_t seed = 12;
    const double origin[SHV_FRONT_DIMS] = {0.0, 0.0, 0.0};
    for (int round = 0; round < 40; round++) {
        struct shv_front_point p[40];
        size_t dims = 2 + (size_t)(round % 2);
        random_points(p, 40, dims, 12, &seed);
        struct shv_front front = front_of(p, 40, dims);
        double volume;
        assert_int_equal(shv_front_hypervolume(&front, origin, &volume, NULL), SHV_OK);
        assert_within(volume, boxes(p, 40, 12, dims), 1e-9);
        shv_front_free(&front);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_as_brute_force_in_any_order),
        cmocka_unit_test(what_is_no_number_is_left_out),
        cmocka_unit_test(area_by_hand),
        cmocka_unit_test(volume_is_the_number_of_boxes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
