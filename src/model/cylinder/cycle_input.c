/* Defaults and ranges of the closed cycle's inputs; sheave/cycle.h tells what they mean. */
#include "model/cylinder/blend.h"
#include "model/cylinder/cycle_internal.h"
#include "model/cylinder/knock_delay.h"

/* struct, field, default, least, most: one row for each field that is a number. */
#define CYCLE_FIELDS(F)                                                                            \
    F(engine, bore, 0.086, 0.01, 1.0)                                                              \
    F(engine, stroke, 0.086, 0.01, 1.0)                                                            \
    F(engine, compression_ratio, 10.0, 1.000001, 30.0)                                             \
    F(engine, rod_ratio, 3.4, 1.5, 1e9)                                                            \
    F(engine, inlet_closing, -140.0, -180.0, -60.0)                                                \
    F(engine, exhaust_opening, 130.0, 60.0, 180.0)                                                 \
    F(engine, chamber_area, 1.2, 0.5, 3.0)                                                         \
    F(engine, crown_area, 1.0, 0.5, 3.0)                                                           \
    F(engine, chamber_temperature, 480.0, 200.0, 1000.0)                                           \
    F(engine, crown_temperature, 520.0, 200.0, 1000.0)                                             \
    F(engine, bore_temperature, 410.0, 200.0, 1000.0)                                              \
    F(engine, heat_factor, 1.5, 0.0, 5.0)                                                          \
    F(engine, motored_exponent, 1.3, 1.0, 1.5)                                                     \
    F(engine, wiebe_a, 5.0, 0.5, 20.0)                                                             \
    F(engine, wiebe_m, 2.0, 0.5, 10.0)                                                             \
    F(engine, burn_duration, 60.0, 1e-6, 150.0)                                                    \
    F(engine, burn_reference_speed, 50.0, 1.0, 1000.0)                                             \
    F(engine, burn_speed_exponent, 0.2, -1.0, 1.0)                                                 \
    F(engine, charge_heating, 0.3, 0.0, 1.0)                                                       \
    F(engine, charge_wall_temperature, 400.0, 250.0, 700.0)                                        \
    F(engine, evaporated_share, 0.5, 0.0, 1.0)                                                     \
    F(engine, blowdown_share, 0.5, 0.0, 1.0)                                                       \
    F(fuel, stoichiometric, 14.6, 3.0, 40.0)                                                       \
    F(fuel, heating_value, 43.5e6, 0.0, 150e6)                                                     \
    F(fuel, hydrogen_carbon, 1.87, 0.0, 4.5)                                                       \
    F(fuel, oxygen_carbon, 0.0, 0.0, 1.2)                                                          \
    F(fuel, molar_mass, 0.105, 0.01, 0.3)                                                          \
    F(fuel, vaporisation, 350e3, 0.0, 2e6)                                                         \
    F(fuel, ron, 95.0, 30.0, 140.0)                                                                \
    F(fuel, mon, 85.0, 30.0, 140.0)                                                                \
    F(fuel, rating_temperature, KNOCK_RATING_COMPRESSED, 200.0, 1000.0)                            \
    F(knock, scale, 1.0, 0.1, 10.0)                                                                \
    F(knock, margin, 0.25, 0.0, 0.9)                                                               \
    F(knock, octane_weight, 0.0, -2.0, 2.0)                                                        \
    F(knock, weight_slope, 0.004, 0.0, 0.02)                                                       \
    F(knock, humidity_slope, 200.0, 0.0, 1000.0)                                                   \
    F(knock, mixture_slope, 14.6, 0.0, 100.0)                                                      \
    F(knock, mixture_peak, 1.0 / 1.05, 0.5, 1.5)                                                   \
    F(knock, mixture_rounding, 0.03, 0.001, 1.0)                                                   \
    F(knock, best_ca50, 8.0, -20.0, 40.0)                                                          \
    F(knock, limit_ca50, 40.0, -20.0, 80.0)                                                        \
    F(at, speed, 50.0, 1.0, 1000.0)                                                                \
    F(at, charge_temperature, 315.0, 220.0, 600.0)                                                 \
    F(at, air_mass, 5e-4, 1e-6, 0.1)                                                               \
    F(at, exhaust_pressure, 101325.0, 1e4, 1e6)                                                    \
    F(at, humidity_ratio, 0.0, 0.0, 0.2)                                                           \
    F(at, lambda, 0.88, 0.6, 1.8)                                                                  \
    F(at, ca50, 8.0, -40.0, 100.0)                                                                 \
    F(at, combustion_efficiency, 0.0, 0.0, 1.0)                                                    \
    F(at, residual_share, -1.0, -1.0, 0.5)                                                         \
    F(at, residual_temperature, 0.0, 0.0, 3000.0)                                                  \
    F(at, burn_reference, 0.0, 0.0, 20.0)                                                          \
    F(at, delay_factor, 1.0, 0.01, 100.0)                                                          \
    F(at, step, 4.0, 0.005, 10.0)                                                                  \
    F(at, gas_constant, 287.0, 10.0, 5000.0)                                                       \
    F(at, heat_capacity, 1004.5, 10.0, 50000.0)

void shv_cycle_defaults(struct shv_cycle_engine *engine, struct shv_cycle_fuel *fuel,
                        struct shv_cycle_knock *knock, struct shv_cycle_case *at)
{
#define SET(part, field, standard, least, most) part->field = (standard);
    CYCLE_FIELDS(SET)
#undef SET
    at->gas = SHV_CYCLE_MIXTURE;
}

static enum shv_status check_ranges(const struct cycle_inputs *in, struct shv_message *message)
{
#define CHECK(part, field, standard, least, most)                                                  \
    if (!(in->part->field >= (least) && in->part->field <= (most))) {                              \
        return shv_fail(message, SHV_BAD_INPUT,                                                    \
                        "closed cycle: " #part "." #field " is %g; accepted: " #least ".." #most,  \
                        in->part->field);                                                          \
    }
    CYCLE_FIELDS(CHECK)
#undef CHECK
    return SHV_OK;
}

/* A fuel whose atoms need another amount of air than is said. Rounded ratios, ash and sulphur stay
 * below. */
#define ATOMS_OFF 0.03

static enum shv_status check_fuel(const struct cycle_inputs *in, struct shv_message *message)
{
    double implied =
        in->fuel->stoichiometric * cgas_implied_carbon_mass(in->fuel) / cgas_carbon_mass(in->fuel);
    if (fabs(implied / in->fuel->stoichiometric - 1.0) > ATOMS_OFF) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: fuel.stoichiometric is %g, but its hydrogen and oxygen need "
                        "%.4g; accepted: within %g %%",
                        in->fuel->stoichiometric, implied, 100.0 * ATOMS_OFF);
    }
    return SHV_OK;
}

/* Far below any fuel; a weight beyond 1 could make an index negative. */
#define OCTANE_LEAST 10.0

enum shv_status cycle_check(const struct cycle_inputs *in, struct shv_message *message)
{
    enum shv_status status = check_ranges(in, message);
    const struct shv_cycle_case *at = in->at;
    if (status == SHV_OK && at->gas == SHV_CYCLE_MIXTURE) {
        status = check_fuel(in, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    if (at->gas == SHV_CYCLE_CONSTANT_GAS && at->heat_capacity <= at->gas_constant) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: at.heat_capacity is %g; accepted: above at.gas_constant, %g",
                        at->heat_capacity, at->gas_constant);
    }
    if (!(at->residual_share < CYCLE_RESIDUAL_MOST)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: at.residual_share is %g; accepted: 0 to below %g, or less "
                        "than 0 for that of the ideal cycle",
                        at->residual_share, CYCLE_RESIDUAL_MOST);
    }
    if (at->residual_temperature > 0.0 && at->residual_temperature < 300.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: at.residual_temperature is %g; accepted: 0 or 300..3000",
                        at->residual_temperature);
    }
    double index = shv_octane_index(in->fuel->ron, in->fuel->mon, in->knock->octane_weight);
    if (!(index >= OCTANE_LEAST)) {
        return shv_fail(
            message, SHV_BAD_INPUT,
            "closed cycle: knock.octane_weight is %g, which makes an octane index of %g; "
            "accepted: an index of %g or more",
            in->knock->octane_weight, index, OCTANE_LEAST);
    }
    if (in->knock->limit_ca50 < in->knock->best_ca50) {
        return shv_fail(
            message, SHV_BAD_INPUT,
            "closed cycle: knock.limit_ca50 is %g; accepted: at least knock.best_ca50, %g",
            in->knock->limit_ca50, in->knock->best_ca50);
    }
    return SHV_OK;
}
