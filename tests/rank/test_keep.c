/* What a sweep keeps: as rows and back, and joined in any order. */
#include "support/study_fixture.h"

#include "sheave/keep.h"

static struct shv_tradeoff tradeoffs[] = {
    {{SHV_TRADE_POWER, SHV_TRADE_PRICE, SHV_TRADE_COUNT}, 0.0},
    {{SHV_TRADE_OBJECTIVE, SHV_TRADE_MASS, SHV_TRADE_CHARGE_TEMPERATURE}, 0.0}};
static struct shv_serve serves[] = {{0, 1.0}, {1, 2.0}};

static struct shv_study study_of(size_t fronts, size_t served)
{
    return (struct shv_study){.tradeoff_count = fronts,
                              .tradeoffs = tradeoffs,
                              .serve_count = served,
                              .serves = serves,
                              .tolerances = {.given = fronts > 0, .hold = 0.9},
                              .results = {.keep = 5}};
}

static void fill(struct shv_keep *keep, uint64_t *seed, uint64_t first, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct shv_front_point p = {.index = first + i};
        for (size_t k = 0; k < 3; k++) {
            p.value[k] = random_in(seed, 0.0, 1.0);
        }
        struct shv_front_point flat = p;
        flat.value[2] = 0.0;
        assert_true(shv_front_offer(&keep->front[0], &flat));
        assert_true(shv_front_offer(&keep->front[1], &p));
        shv_ranking_offer(&keep->room[SHV_ROOM_ANY], (struct shv_candidate){p.value[0], p.index});
        shv_ranking_offer(&keep->room[shv_room_class(2.0 * p.value[2])],
                          (struct shv_candidate){p.value[1], p.index});
        shv_ranking_offer(&keep->serving, (struct shv_candidate){p.value[0], p.index});
        for (size_t k = 0; k < keep->served; k++) {
            shv_ranking_offer(&keep->of_served[k], (struct shv_candidate){p.value[k], p.index});
        }
    }
}

static struct shv_kept_row *rows_of(const struct shv_keep *keep, size_t *count)
{
    *count = shv_keep_count(keep);
    struct shv_kept_row *rows = calloc(*count + 1, sizeof *rows);
    assert_non_null(rows);
    shv_keep_rows(keep, rows);
    return rows;
}

static void assert_same(const struct shv_keep *a, const struct shv_keep *b)
{
    size_t count, other;
    struct shv_kept_row *x = rows_of(a, &count), *y = rows_of(b, &other);
    assert_int_equal(count, other);
    assert_memory_equal(x, y, count * sizeof *x);
    free(x);
    free(y);
}

static void rows_bring_it_back(void **state)
{
    (void)state;
    const struct shv_study study = study_of(2, 2);
    struct shv_keep keep, back;
    uint64_t seed = 21;
    size_t count;
    assert_int_equal(shv_keep_init(&keep, &study, NULL), SHV_OK);
    assert_int_equal(shv_keep_init(&back, &study, NULL), SHV_OK);
    fill(&keep, &seed, 1000, 200);
    struct shv_kept_row *rows = rows_of(&keep, &count);
    assert_true(count > 5 + 2 + 10);
    for (size_t i = 0; i < count; i++) {
        assert_true(
            i == 0 || rows[i - 1].list < rows[i].list ||
            (rows[i - 1].list == rows[i].list && rows[i - 1].point.index < rows[i].point.index));
        assert_true(shv_keep_take(&back, &rows[i]));
    }
    assert_same(&keep, &back);
    const struct shv_kept_row odd = {.list = 5 + SHV_ROOM_ANY + 1};
    assert_false(shv_keep_take(&back, &odd));
    free(rows);
    shv_keep_free(&keep);
    shv_keep_free(&back);
    shv_keep_free(&back);
}

static void parts_join_in_any_order(void **state)
{
    (void)state;
    const struct shv_study study = study_of(2, 2);
    struct shv_keep part[3], ab, ba;
    uint64_t seed = 22;
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(shv_keep_init(&part[i], &study, NULL), SHV_OK);
        fill(&part[i], &seed, 100 * i, 100);
    }
    assert_int_equal(shv_keep_init(&ab, &study, NULL), SHV_OK);
    assert_int_equal(shv_keep_init(&ba, &study, NULL), SHV_OK);
    for (size_t i = 0; i < 3; i++) {
        assert_true(shv_keep_add(&ab, &part[i]));
        assert_true(shv_keep_add(&ba, &part[2 - i]));
    }
    assert_same(&ab, &ba);
    shv_keep_sort(&ab);
    for (size_t i = 1; i < ab.serving.count; i++) {
        assert_true(shv_candidate_before(&ab.serving.item[i - 1], &ab.serving.item[i]));
    }
    shv_keep_clear(&ab);
    assert_int_equal(shv_keep_count(&ab), 0);
    for (size_t i = 0; i < 3; i++) {
        shv_keep_free(&part[i]);
    }
    shv_keep_free(&ab);
    shv_keep_free(&ba);
}

/* Where the search starts: the best of each setup for each blower and fuel, as rows and back. */
static void starts_of_the_search(void **state)
{
    (void)state;
    static struct made m;
    struct shv_keep keep, back;
    uint64_t seed = 5;
    size_t count;
    made_mixed(&m, 6, INFINITY, SHV_BLEED_TO_INLET);
    m.study.search.enabled = true;
    assert_int_equal(shv_keep_init(&keep, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_keep_init(&back, &m.study, NULL), SHV_OK);
    assert_int_equal(keep.nears, 2 * m.study.blower_count * m.study.fuel_count);
    for (uint64_t i = 0; i < keep.space.size; i++) {
        shv_keep_near(&keep, (struct shv_candidate){random_in(&seed, 0.0, 1.0), i});
    }
    size_t setups = m.study.numbers[SHV_DIM_LAMBDA].count *
                    m.study.numbers[SHV_DIM_IGNITION_MARGIN].count,
           cooled = 0;
    for (size_t i = 0; i < keep.nears; i++) {
        bool none = i % SHV_NEAR_KINDS == SHV_NEAR_UNCOOLED;
        for (size_t k = 0; k < keep.near[i].count; k++) {
            struct shv_kit kit;
            shv_space_kit(&keep.space, &m.study, keep.near[i].item[k].candidate.index, &kit);
            assert_int_equal(kit.blower * m.study.fuel_count + kit.fuel, i / SHV_NEAR_KINDS);
            assert_true(m.study.coolers[kit.cooler].is_none == none);
            cooled += none ? 0 : 1;
        }
        assert_true(!none || keep.near[i].count == setups);
    }
    assert_true(cooled > 0);
    struct shv_kept_row *rows = rows_of(&keep, &count);
    for (size_t i = 0; i < count; i++) {
        assert_true(shv_keep_take(&back, &rows[i]));
    }
    assert_same(&keep, &back);
    shv_keep_clear(&back);
    assert_true(shv_keep_add(&back, &keep));
    assert_same(&keep, &back);
    free(rows);
    shv_keep_free(&keep);
    shv_keep_free(&back);
    made_end(&m);
}

static void nothing_asked_for(void **state)
{
    (void)state;
    const struct shv_study study = study_of(0, 0);
    struct shv_keep keep;
    assert_int_equal(shv_keep_init(&keep, &study, NULL), SHV_OK);
    assert_int_equal(shv_keep_count(&keep), 0);
    const struct shv_kept_row row = {.list = 0};
    assert_false(shv_keep_take(&keep, &row));
    shv_keep_free(&keep);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_bring_it_back),
        cmocka_unit_test(parts_join_in_any_order),
        cmocka_unit_test(starts_of_the_search),
        cmocka_unit_test(nothing_asked_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
