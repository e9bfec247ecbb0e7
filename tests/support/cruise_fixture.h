/* A made-up cruise point for the tests of the bypass valve. */
#ifndef SHEAVE_TESTS_SUPPORT_CRUISE_FIXTURE_H
#define SHEAVE_TESTS_SUPPORT_CRUISE_FIXTURE_H

#include "support/study_fixture.h"

#include "sheave/bypass.h"

static inline struct shv_gas air(void)
{
    struct shv_gas gas;
    shv_gas_init(&gas, &(struct shv_air_model){.kind = SHV_AIR_NASA}, 0.008);
    return gas;
}

/* Invented: one litre a turn at 100 turns a second, engine at 60 kPa with a third of what the
 * rotors take up there. */
static inline struct shv_bypass_cruise made_cruise(const struct shv_blower *blower)
{
    return (struct shv_bypass_cruise){.gas = air(),
                                      .blower = blower,
                                      .rotor_speed = 100.0,
                                      .pressure_ahead = 100.5e3,
                                      .temperature = 298.15,
                                      .manifold_pressure = 60e3,
                                      .engine_flow = 0.022};
}

#endif
