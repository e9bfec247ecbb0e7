/* One closed cycle: its charge by hand, closed forms in its limits, the first law integrated anew
 * from the trace by other rules, and convergence. */
#include "model/cylinder/cycle_internal.h"
#include "support/cycle_fixture.h"
#include "support/gas_state.h"

/* Ideal gas, no heat: p V^g is constant, and so is T V^(g-1). */
static struct cycle_case motored_case(double gamma)
{
    struct cycle_case u = bare_case();
    u.at.gas = SHV_CYCLE_CONSTANT_GAS;
    u.at.heat_capacity = 287.0 * gamma / (gamma - 1.0);
    u.fuel.heating_value = 0.0;
    u.knock.mixture_slope = 0.0;
    return u;
}

static void isentropic_without_heat(void **state)
{
    (void)state;
    struct cycle_case u = motored_case(1.33);
    u.at.step = 1.0;
    struct shv_cycle_result r;
    struct recording rec = record_case(&u, &r);
    double v0 = volume_at(&u.engine, -180.0);
    for (size_t i = 0; i < rec.count; i++) {
        const struct shv_cycle_sample *s = &rec.samples[i];
        double ratio = v0 / s->volume;
        assert_relative(s->pressure, 101325.0 * pow(ratio, 1.33), 2e-8);
        assert_relative(s->temperature, 315.0 * pow(ratio, 0.33), 2e-8);
        if (!isnan(s->end_gas_temperature)) {
            assert_relative(s->end_gas_temperature, 315.0 * pow(ratio, 0.33), 2e-8);
        }
        assert_relative(s->volume, volume_at(&u.engine, s->angle), 1e-13);
    }
    assert_true(rec.count > 360);
    assert_within(r.closed_work / (101325.0 * v0), 0.0, 1e-7);
    free(rec.samples);
}

/* The integral against Simpson's rule on the closed form, 0.01 degrees. */
static double closed_form_integral(const struct cycle_case *u, double gamma, double to)
{
    double sum = 0.0, v0 = volume_at(&u->engine, -180.0);
    int count = 2 * (int)((to + 180.0) / 0.02);
    double h = (to + 180.0) / count;
    for (int i = 0; i <= count; i++) {
        double ratio = v0 / volume_at(&u->engine, -180.0 + i * h);
        double rate = 1.0 / shv_knock_delay(u->fuel.ron, 101325.0 * pow(ratio, gamma),
                                            315.0 * pow(ratio, gamma - 1.0));
        sum += rate * (i == 0 || i == count ? 1.0 : i % 2 ? 4.0 : 2.0);
    }
    return u->knock.scale * sum * h / 3.0 / (360.0 * u->at.speed);
}

static void knock_integral_of_a_known_history(void **state)
{
    (void)state;
    struct cycle_case u = motored_case(1.33);
    double expected = 0.0;
    for (double step = 4.0; step > 0.4; step /= 2.0) {
        u.at.step = step;
        struct shv_cycle_result r;
        struct recording rec = record_case(&u, &r);
        size_t last = 0;
        for (size_t i = 0; i < rec.count; i++) {
            last = isnan(rec.samples[i].end_gas_temperature) ? last : i;
        }
        if (expected == 0.0) {
            expected = closed_form_integral(&u, 1.33, rec.samples[last].angle);
        }
        assert_relative(r.knock_integral, expected, 2e-7 * pow(step, 4.0));
        free(rec.samples);
    }
}

/* Constant pressure and temperature: the integral is time over delay. */
static void knock_integral_of_a_constant_state(void **state)
{
    (void)state;
    struct cycle_case u = motored_case(1.3);
    u.engine.compression_ratio = 1.000001;
    u.engine.bore = u.engine.stroke = 0.01; /* else it holds tons */
    u.at.charge_temperature = 600.0;
    u.pressure = 2e4;
    struct shv_cycle_result r;
    struct recording rec = record_case(&u, &r);
    double degrees = 0.0;
    for (size_t i = 0; i < rec.count; i++) {
        degrees =
            isnan(rec.samples[i].end_gas_temperature) ? degrees : rec.samples[i].angle + 180.0;
    }
    double time = degrees / 360.0 / u.at.speed;
    assert_relative(r.knock_integral, time / shv_knock_delay(95.0, 2e4, 600.0), 5e-6);
    free(rec.samples);
    u.knock.scale = 2.0;
    assert_relative(run_case(&u).knock_integral, 0.5 * r.knock_integral, 1e-14);
}

/* Otto: all heat at top dead centre. The burn lasts 0.001 degrees; steps of 0.5 degrees besides. */
static void otto_cycle(void **state)
{
    (void)state;
    for (double gamma = 1.3; gamma < 1.45; gamma += 0.1) {
        for (double r = 8.0; r < 12.5; r += 1.0) {
            struct cycle_case u = motored_case(gamma);
            u.fuel.heating_value = 43.5e6;
            u.engine.compression_ratio = r;
            u.engine.burn_duration = 0.001;
            u.at.ca50 = 0.0;
            u.at.step = 0.5;
            assert_within(run_case(&u).gross_efficiency, 1.0 - pow(r, 1.0 - gamma), 2e-8);
        }
    }
}

/* What is burned is Wiebe's law, zero before and one after. */
static void burns_as_wiebe_says(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_result r;
    struct recording rec = record_case(&u, &r);
    double half = pow(-log(1.0 - 0.5 * (1.0 - exp(-5.0))) / 5.0, 1.0 / 3.0);
    for (size_t i = 0; i < rec.count; i++) {
        double s = (rec.samples[i].angle - 8.0) / 60.0 + half;
        double x = s < 0.0   ? 0.0
                   : s > 1.0 ? 1.0
                             : (1.0 - exp(-5.0 * s * s * s)) / (1.0 - exp(-5.0));
        assert_within(rec.samples[i].burned, x, 1e-12);
        assert_true(i == 0 || rec.samples[i].angle > rec.samples[i - 1].angle);
    }
    assert_within(rec.samples[0].angle, -140.0, 0.0);
    assert_within(rec.samples[rec.count - 1].angle, 130.0, 0.0);
    free(rec.samples);
}

/* ---- the first law, integrated anew ---- */

/* Wall heat per degree, from docs/model.md, section 8, with the C library's functions. */
static double wall_heat_rate(const struct cycle_case *u, const struct shv_cycle_result *r,
                             const struct shv_cycle_sample *s, const struct shv_cycle_sample *start,
                             double gas_r)
{
    const struct shv_cycle_engine *e = &u->engine;
    double bore_area = 0.25 * CYCLE_PI * e->bore * e->bore, swept = bore_area * e->stroke;
    double clearance = swept / (e->compression_ratio - 1.0);
    double w = 2.28 * 2.0 * e->stroke * u->at.speed;
    if (start) {
        double motored = start->pressure * pow(start->volume / s->volume, e->motored_exponent);
        w += 3.24e-3 * swept / (r->trapped_mass * gas_r) * (s->pressure - motored);
    }
    double h = 3.26 * pow(e->bore, -0.2) * pow(s->pressure / 1e3, 0.8) *
               pow(s->temperature, -0.55) * pow(w, 0.8);
    double liner = CYCLE_PI * e->bore * (s->volume - clearance) / bore_area;
    double flux = bore_area * e->chamber_area * (s->temperature - e->chamber_temperature) +
                  bore_area * e->crown_area * (s->temperature - e->crown_temperature) +
                  liner * (s->temperature - e->bore_temperature);
    return e->heat_factor * h * flux / (360.0 * u->at.speed);
}

/* Weights of Boole's rule over groups of four steps. */
static double boole(const double *f, double h)
{
    return h * (14.0 * f[0] + 64.0 * f[1] + 24.0 * f[2] + 64.0 * f[3] + 14.0 * f[4]) / 45.0;
}

/* Steps change their length where burning starts and ends: groups never straddle. Counts of steps
 * in the stretches of this file's cases are multiples of four. */
static void integrate_anew(const struct cycle_case *u, const struct shv_cycle_result *r,
                           const struct recording *rec, double gas_r, double *work, double *heat)
{
    const struct shv_cycle_sample *start = NULL;
    double clearance = volume_at(&u->engine, 0.0);
    *work = *heat = 0.0;
    for (size_t i = 0; i + 4 < rec->count; i += 4) {
        double w[5], q[5], h = (rec->samples[i + 4].angle - rec->samples[i].angle) / 4.0;
        const struct shv_cycle_sample *first = &rec->samples[i];
        if (!start && rec->samples[i + 1].burned > 0.0) {
            start = first;
        }
        for (size_t k = 0; k < 5; k++) {
            assert_within(first[k].angle, first->angle + h * (double)k, 1e-9);
            w[k] = first[k].pressure *
                   cycle_place_at(&u->engine, clearance, first[k].angle).volume_slope;
            q[k] = wall_heat_rate(u, r, &first[k], start, gas_r);
        }
        *work += boole(w, h);
        *heat += boole(q, h);
    }
}

static double gas_energy(const struct cgas *unburned, const struct cgas *burned, double x, double t)
{
    return (1.0 - x) * (cgas_enthalpy(unburned, t) - unburned->r * t) +
           x * (cgas_enthalpy(burned, t) - burned->r * t);
}

static void close_anew(const struct cycle_case *u)
{
    struct shv_cycle_result r;
    struct recording rec = record_case(u, &r);
    struct cgas_amounts fresh = cgas_fresh(&u->fuel, u->at.lambda, u->at.humidity_ratio);
    struct cgas_amounts after = cgas_burned(&u->fuel, u->at.lambda, u->at.humidity_ratio);
    struct cgas new_gas = cgas_of(&fresh, &u->fuel), burned = cgas_of(&after, &u->fuel);
    struct cgas unburned = gas_blend(&new_gas, 1.0 - r.residual_share, &burned, r.residual_share);
    const struct shv_cycle_sample *first = rec.samples, *last = &rec.samples[rec.count - 1];
    double work, heat;
    integrate_anew(u, &r, &rec, unburned.r, &work, &heat);
    double change =
        r.trapped_mass * (gas_energy(&unburned, &burned, last->burned, last->temperature) -
                          gas_energy(&unburned, &burned, 0.0, first->temperature));
    double fuel_heat = r.fuel_mass * u->fuel.heating_value;
    assert_within((change - r.heat_released + work + heat) / fuel_heat, 0.0, 1e-8);
    assert_within((work - r.closed_work) / fuel_heat, 0.0, 1e-8);
    assert_within((heat - r.wall_heat) / fuel_heat, 0.0, 1e-8);
    assert_less(r.energy_drift, 1e-6);
    free(rec.samples);
}

static void first_law_integrated_anew(void **state)
{
    (void)state;
    static const struct {
        double speed, pressure, lambda, ca50;
    } cases[] = {{50.0, 101325.0, 0.88, 8.0},
                 {15.0, 60e3, 1.0, 12.0},
                 {110.0, 220e3, 0.8, 25.0},
                 {80.0, 150e3, 1.15, 18.0},
                 {50.0, 150e3, 0.88, 40.0}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        struct cycle_case u = usual_case();
        /* 1120, 352, 72 and 800 steps: multiples of four, see integrate_anew(). */
        double watched = pow(-log(1.0 - 0.95 * (1.0 - exp(-5.0))) / 5.0, 1.0 / 3.0);
        u.at.step = 0.125;
        u.engine.burn_duration = 44.0 / watched;
        u.engine.burn_speed_exponent = 0.0;
        u.at.speed = cases[i].speed;
        u.pressure = cases[i].pressure;
        u.at.lambda = cases[i].lambda;
        u.at.ca50 = cases[i].ca50;
        close_anew(&u);
    }
}

/* ---- convergence ---- */

static void default_step_is_fine_enough(void **state)
{
    (void)state;
    for (double speed = 15.0; speed < 130.0; speed += 35.0) {
        struct cycle_case u = usual_case();
        u.at.speed = speed;
        u.pressure = 150e3;
        struct shv_cycle_result coarse = limit_case(&u);
        u.at.step *= 0.5;
        struct shv_cycle_result fine = limit_case(&u);
        assert_relative(coarse.gross_efficiency, fine.gross_efficiency, 5e-5);
        assert_relative(coarse.ca50, fine.ca50, 5e-5);
        assert_relative(coarse.peak_pressure, fine.peak_pressure, 2e-4);
        assert_less(0.0, fabs(coarse.peak_pressure - fine.peak_pressure)); /* it does matter */
    }
}

static void fourth_order(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.engine.burn_duration = 64.0;
    u.at.step = 0.125;
    struct shv_cycle_result exact = run_case(&u);
    u.at.step = 2.0;
    double coarse = fabs(run_case(&u).gross_work - exact.gross_work);
    u.at.step = 1.0;
    double fine = fabs(run_case(&u).gross_work - exact.gross_work);
    assert_less(8.0, coarse / fine);
}

static void too_hot_for_the_polynomials(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.fuel.heating_value = 150e6;
    struct shv_cycle_result r = run_case(&u);
    assert_int_equal(r.outcome, SHV_CYCLE_NO_ANSWER);
    assert_true(isnan(r.gross_efficiency) && isnan(r.knock_integral));
}

static struct cycle prepared(const struct cycle_case *u)
{
    struct cycle c;
    struct cycle_inputs in = {&u->engine, &u->fuel, &u->knock, &u->at};
    cycle_prepare(&c, &in);
    return c;
}

/* The residual gas at exhaust pressure fills the clearance volume, enthalpies add up, the gas law
 * holds. */
static void charge_at_inlet_closing(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.at.air_mass = 7e-4;
    u.at.exhaust_pressure = 115e3;
    u.at.humidity_ratio = 0.01;
    struct cycle c = prepared(&u);
    bool valid;
    struct shv_cycle_result q = alone_of(&c, 1200.0, &valid);
    struct cgas unburned = gas_blend(&c.fresh, 1.0 - q.residual_share, &c.burned, q.residual_share);
    assert_true(valid);
    double kept = 115e3 * c.clearance / (c.burned.r * 1200.0);
    assert_relative(q.residual_share * q.trapped_mass, kept, 1e-12);
    assert_relative(q.trapped_mass * unburned.r * q.ivc_temperature, q.ivc_pressure * c.ivc_volume,
                    1e-12);
    double fuel = 1.0 / (0.88 * 14.6) / (1.0 + 0.01 + 1.0 / (0.88 * 14.6));
    assert_relative(q.trapped_mass, kept + 7e-4 / (1.0 - fuel), 1e-12);
    double fresh = cgas_enthalpy(&c.fresh, 315.0 + 0.3 * (400.0 - 315.0)) - fuel * 0.5 * 350e3;
    assert_relative(cgas_enthalpy(&unburned, q.ivc_temperature),
                    (1.0 - q.residual_share) * fresh +
                        q.residual_share * cgas_enthalpy(&c.burned, 1200.0),
                    1e-11);
    assert_relative(q.fuel_mass, (q.trapped_mass - kept) * fuel, 1e-12);
    assert_less(0.01, q.residual_share);
    assert_less(q.residual_share, 0.05);
    u.at.residual_share = 0.1;
    c = prepared(&u);
    assert_within(alone_of(&c, 1200.0, &valid).residual_share, 0.1, 0.0);
    u.at.residual_share = 0.4999; /* half of it is too much */
    c = prepared(&u);
    (void)alone_of(&c, 1200.0, &valid);
    assert_true(valid);
    u.at.residual_share = 0.5;
    c = prepared(&u);
    (void)alone_of(&c, 1200.0, &valid);
    assert_false(valid);
}

static void no_room_for_fresh_charge(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.at.air_mass = 1e-5;
    u.at.exhaust_pressure = 1e6;
    struct cycle c = prepared(&u);
    bool valid;
    (void)alone_of(&c, 600.0, &valid);
    assert_false(valid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(charge_at_inlet_closing),
        cmocka_unit_test(no_room_for_fresh_charge),
        cmocka_unit_test(isentropic_without_heat),
        cmocka_unit_test(knock_integral_of_a_known_history),
        cmocka_unit_test(knock_integral_of_a_constant_state),
        cmocka_unit_test(otto_cycle),
        cmocka_unit_test(burns_as_wiebe_says),
        cmocka_unit_test(first_law_integrated_anew),
        cmocka_unit_test(default_step_is_fine_enough),
        cmocka_unit_test(fourth_order),
        cmocka_unit_test(too_hot_for_the_polynomials),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
