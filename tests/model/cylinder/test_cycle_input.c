/* Defaults and ranges of the closed cycle. */
#include "support/cycle_fixture.h"

static enum shv_status run_both(const struct cycle_case *u, struct shv_message *message)
{
    struct shv_cycle_result r;
    struct shv_message other = {{0}};
    enum shv_status status =
        shv_cycle_run(&u->engine, &u->fuel, &u->knock, &u->at, NULL, &r, message);
    assert_int_equal(shv_cycle_knock_limit(&u->engine, &u->fuel, &u->knock, &u->at, &r, &other),
                     status);
    assert_string_equal(other.text, message->text);
    return status;
}

/* Poisoned first, so that a field left out shows; then every field but those that are not numbers.
 */
static void defaults_set_every_field(void **state)
{
    (void)state;
    struct cycle_case u, v;
    memset(&u, 0x5a, sizeof u);
    memset(&v, 0xa5, sizeof v);
    shv_cycle_defaults(&u.engine, &u.fuel, &u.knock, &u.at);
    shv_cycle_defaults(&v.engine, &v.fuel, &v.knock, &v.at);
    assert_memory_equal(&u.engine, &v.engine, sizeof u.engine);
    assert_memory_equal(&u.fuel, &v.fuel, sizeof u.fuel);
    assert_memory_equal(&u.knock, &v.knock, sizeof u.knock);
    assert_memory_equal(&u.at, &v.at, offsetof(struct shv_cycle_case, gas));
    assert_int_equal(u.at.gas, SHV_CYCLE_MIXTURE);
    assert_within(u.at.gas_constant, v.at.gas_constant, 0.0);
    assert_within(u.at.heat_capacity, v.at.heat_capacity, 0.0);
    struct shv_message message = {{0}};
    assert_int_equal(run_both(&u, &message), SHV_OK);
}

static void reject_each(struct cycle_case *u, double *fields, size_t count)
{
    static const double bad[] = {NAN, INFINITY, -INFINITY, 1e12, -1e12};
    for (size_t i = 0; i < count; i++) {
        double good = fields[i];
        for (size_t k = 0; k < COUNT(bad); k++) {
            struct shv_message message = {{0}};
            fields[i] = bad[k];
            assert_int_equal(run_both(u, &message), SHV_BAD_INPUT);
            assert_non_null(strstr(message.text, "accepted: "));
        }
        fields[i] = good;
    }
}

/* The structs are numbers all through, so that no field can be forgotten. */
static void no_field_takes_nonsense(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    reject_each(&u, &u.engine.bore, sizeof u.engine / sizeof(double));
    reject_each(&u, &u.fuel.stoichiometric, sizeof u.fuel / sizeof(double));
    reject_each(&u, &u.knock.scale, sizeof u.knock / sizeof(double));
    reject_each(&u, &u.at.speed, offsetof(struct shv_cycle_case, gas) / sizeof(double));
    reject_each(&u, &u.at.gas_constant, 2);
}

static void says(const struct cycle_case *u, const char *what)
{
    struct shv_message message = {{0}};
    assert_int_equal(run_both(u, &message), SHV_BAD_INPUT);
    if (!strstr(message.text, what)) {
        fail_msg("\"%s\" does not say \"%s\"", message.text, what);
    }
}

static void contradictions(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.fuel.stoichiometric = 9.0; /* ethanol's, with the atoms of gasoline */
    says(&u, "fuel.stoichiometric is 9, but its hydrogen and oxygen need 14.6");
    u.at.gas = SHV_CYCLE_AIR; /* where atoms do not count */
    struct shv_message message = {{0}};
    assert_int_equal(run_both(&u, &message), SHV_OK);
    u = usual_case();
    u.at.gas = SHV_CYCLE_CONSTANT_GAS;
    u.at.heat_capacity = 280.0;
    says(&u, "at.heat_capacity is 280; accepted: above at.gas_constant, 287");
    u = usual_case();
    u.at.residual_temperature = 299.0;
    says(&u, "at.residual_temperature is 299; accepted: 0 or 300..3000");
    u = usual_case();
    u.at.residual_share = 0.4999;
    assert_int_equal(run_both(&u, &message), SHV_OK);
    u.at.residual_share = 0.5; /* half of it is too much */
    says(&u, "at.residual_share is 0.5; accepted: 0 to below 0.5, or less than 0 for that of the");
    u = usual_case();
    u.knock.limit_ca50 = 7.0;
    says(&u, "knock.limit_ca50 is 7; accepted: at least knock.best_ca50, 8");
    u = usual_case();
    u.knock.octane_weight = 2.0;
    u.fuel.ron = 120.0;
    u.fuel.mon = 50.0;
    says(&u, "an octane index of -20; accepted: an index of 10 or more");
    u = usual_case();
    u.engine.bore = 2.0;
    says(&u, "engine.bore is 2; accepted: 0.01..1");
}

static void walls_have_one_hottest(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_engine *e = &u.engine;
    double *const wall[] = {&e->chamber_temperature, &e->crown_temperature, &e->bore_temperature};
    for (size_t i = 0; i < COUNT(wall); i++) {
        double usual = *wall[i];
        struct shv_message message = {{0}};
        *wall[i] = 1000.0;
        assert_int_equal(run_both(&u, &message), SHV_OK);
        *wall[i] = 1000.1;
        says(&u, "accepted: 200.0..1000.0");
        *wall[i] = usual;
    }
}

static void inlet_closes_after_bottom_dead_centre(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_message message = {{0}};
    u.engine.inlet_closing = -180.0;
    assert_int_equal(run_both(&u, &message), SHV_OK);
    u.engine.inlet_closing = -180.05;
    says(&u, "accepted: -180.0..-60.0");
}

static void burning_must_start_between_the_valves(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_message message = {{0}};
    struct shv_cycle_result r;
    u.engine.exhaust_opening = 60.0;
    u.at.ca50 = 95.0;
    assert_int_equal(shv_cycle_run(&u.engine, &u.fuel, &u.knock, &u.at, NULL, &r, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "burning starts at 64"));
    u = usual_case();
    u.engine.inlet_closing = -60.0;
    u.engine.burn_duration = 150.0;
    u.at.ca50 = 8.0;
    says(&u, "inlet closing, -60");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(defaults_set_every_field),
        cmocka_unit_test(no_field_takes_nonsense),
        cmocka_unit_test(contradictions),
        cmocka_unit_test(walls_have_one_hottest),
        cmocka_unit_test(inlet_closes_after_bottom_dead_centre),
        cmocka_unit_test(burning_must_start_between_the_valves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
