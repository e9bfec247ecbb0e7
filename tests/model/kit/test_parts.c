/* src/model/kit/parts.c */
#include "report/fixture.h"

static void test_parts_add_up_to_the_kit(void **state)
{
    struct fixture *f = *state;
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, f->model, &f->message), SHV_OK);
    for (uint64_t i = 0; i < f->space.size; i += 7) {
        struct shv_kit kit;
        struct shv_part_line parts[SHV_PART_COUNT];
        double price = 0.0, mass = 0.0;
        shv_space_kit(&f->space, &f->study, i, &kit);
        shv_model_evaluate(f->model, &kit, &curves);
        shv_model_parts(f->model, &kit, parts);
        for (int k = 0; k < SHV_PART_COUNT; k++) {
            price += parts[k].worth.price;
            mass += parts[k].worth.mass;
        }
        assert_close(price, curves.hardware.price, 1e-12);
        assert_close(mass, curves.hardware.mass, 1e-12);
        assert_true(parts[SHV_PART_BELT].count == kit.ribs);
        assert_true(parts[SHV_PART_COOLER].count == (kit.cooler == 0 ? 0.0 : 1.0));
    }
    shv_curves_free(&curves);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_parts_add_up_to_the_kit, fixture_belt_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
