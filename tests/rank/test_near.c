/* The best of each group against a list of everything, in any order. */
#include "support/study_fixture.h"

#include "sheave/near.h"

#define OFFERS 600
#define GROUPS 30

struct offered {
    struct shv_candidate candidate;
    uint64_t group;
};

static void make(struct offered *all, uint64_t seed)
{
    for (size_t i = 0; i < OFFERS; i++) {
        /* coarse values, so that many are equal and the index decides */
        all[i].candidate.objective = floor(random_in(&seed, 0.0, 40.0));
        all[i].candidate.index = 1000 + i;
        all[i].group = (uint64_t)random_in(&seed, 0.0, GROUPS - 1e-9);
    }
}

static void shuffle(struct offered *all, uint64_t seed)
{
    for (size_t i = OFFERS - 1; i > 0; i--) {
        size_t k = (size_t)random_in(&seed, 0.0, (double)i + 0.999);
        struct offered o = all[i];
        all[i] = all[k];
        all[k] = o;
    }
}

/* The best of all groups one after the other, each the first that is before all others left. */
static void check(const struct shv_near *near, const struct offered *all)
{
    bool gone[GROUPS] = {false};
    assert_int_equal(near->count, SHV_NEAR_MOST);
    for (size_t n = 0; n < near->count; n++) {
        const struct offered *best = NULL;
        for (size_t i = 0; i < OFFERS; i++) {
            if (!gone[all[i].group] &&
                (!best || shv_candidate_before(&all[i].candidate, &best->candidate))) {
                best = &all[i];
            }
        }
        assert_non_null(best);
        assert_int_equal(near->item[n].candidate.index, best->candidate.index);
        assert_int_equal(near->item[n].group, best->group);
        gone[best->group] = true;
    }
}

static void any_order_the_same_best(void **state)
{
    (void)state;
    static struct offered all[OFFERS];
    for (uint64_t seed = 1; seed < 20; seed++) {
        struct shv_near near = {.count = 0};
        make(all, seed);
        shuffle(all, 100 + seed);
        for (size_t i = 0; i < OFFERS; i++) {
            shv_near_offer(&near, all[i].candidate, all[i].group);
        }
        check(&near, all);
    }
}

static void fewer_groups_than_room(void **state)
{
    (void)state;
    struct shv_near near = {.count = 0};
    shv_near_offer(&near, (struct shv_candidate){1.0, 5}, 0);
    shv_near_offer(&near, (struct shv_candidate){3.0, 6}, 1);
    shv_near_offer(&near, (struct shv_candidate){2.0, 7}, 0);
    shv_near_offer(&near, (struct shv_candidate){2.0, 8}, 0);
    assert_int_equal(near.count, 2);
    assert_int_equal(near.item[0].candidate.index, 6);
    assert_int_equal(near.item[1].candidate.index, 7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_order_the_same_best),
        cmocka_unit_test(fewer_groups_than_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
