/* Kits by their number, evaluated and summed up. */
#include "report/fixture.h"
#include "sheave/summaries.h"

static void a_kit_is_what_the_model_makes_of_it(void **state)
{
    struct fixture *f = *state;
    struct shv_summaries all;
    struct shv_summary s;
    struct shv_curves alone;
    struct shv_kit kit;
    uint64_t index = f->ranking.item[2].index;
    assert_int_equal(shv_summaries_init(&all, f->model, &f->space, &f->message), SHV_OK);
    assert_int_equal(shv_curves_init(&alone, f->model, &f->message), SHV_OK);
    shv_summaries_take(&all, index, &s);
    shv_space_kit(&f->space, &f->study, index, &kit);
    shv_model_evaluate(f->model, &kit, &alone);
    assert_int_equal(s.index, index);
    assert_memory_equal(&s.kit, &kit, sizeof kit);
    assert_true(s.objective == alone.verdict.objective);
    assert_true(all.curves.point[1].torque == alone.point[1].torque);
    shv_model_evaluate_stock(f->model, &alone);
    assert_true(all.stock.point[0].torque == alone.point[0].torque);
    assert_true(isfinite(s.gain));
    shv_curves_free(&alone);
    shv_summaries_free(&all);
}

struct seen {
    const struct fixture *f;
    size_t count, most;
    double objective;
};

static uint64_t backwards(const void *data, size_t i)
{
    const struct seen *seen = data;
    return seen->f->space.size - 1 - i;
}

static bool see(void *data, size_t i, struct shv_summary *s)
{
    struct seen *seen = data;
    assert_int_equal(i, seen->count);
    assert_int_equal(s->index, backwards(data, i));
    seen->objective = s->objective;
    return ++seen->count < seen->most;
}

/* More of them than wait at a time. */
static void a_list_is_used_in_order_until_told_to_stop(void **state)
{
    struct fixture *f = *state;
    struct shv_summaries all;
    struct shv_summary last;
    assert_int_equal(shv_summaries_init(&all, f->model, &f->space, &f->message), SHV_OK);
    assert_true(f->space.size > 70);
    for (size_t most = 67; most < 1000; most += 500) {
        struct seen seen = {.f = f, .most = most};
        const struct shv_summary_list list = {70, &seen, backwards, see};
        assert_int_equal(shv_summaries_each(&all, &list), most > 70);
        assert_int_equal(seen.count, most > 70 ? 70 : most);
        shv_summaries_take(&all, backwards(&seen, seen.count - 1), &last);
        assert_memory_equal(&last.objective, &seen.objective, sizeof seen.objective);
    }
    shv_summaries_free(&all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_kit_is_what_the_model_makes_of_it, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(a_list_is_used_in_order_until_told_to_stop, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
