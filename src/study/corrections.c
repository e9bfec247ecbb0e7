/* The table of corrections: sheave/corrections.h. */
#include "sheave/corrections.h"

static const struct shv_correction_info table[SHV_CORRECTION_COUNT] = {
    [SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = {"volumetric_efficiency", "volumetric efficiency",
                                           "Factor on the engine's volumetric efficiency.",
                                           SHV_Q_NUMBER, 1.0, 0.5, 1.5, true},
    [SHV_CORRECT_VOLUMETRIC_EFFICIENCY_TILT] =
        {"volumetric_efficiency_tilt", "tilt of volumetric efficiency",
         "Volumetric efficiency is multiplied by 1 - this at the lowest and by 1 + this at the "
         "highest engine speed, in a straight line between.",
         SHV_Q_NUMBER, 0.0, -0.3, 0.3, true},
    [SHV_CORRECT_LEAKAGE] =
        {"leakage", "leakage",
         "Factor on the blower's leakage area; of a blower by map on the share of the swept volume "
         "that it does not deliver.",
         SHV_Q_NUMBER, 1.0, 0.0, 5.0},
    [SHV_CORRECT_FILLING_LOSS] =
        {"filling_loss", "filling loss",
         "Factor on the blower's filling_loss; of a blower by map nothing.", SHV_Q_NUMBER, 1.0, 0.0,
         5.0},
    [SHV_CORRECT_FRICTION] = {"friction", "friction of the engine",
                              "Factor on the engine's friction.", SHV_Q_NUMBER, 1.0, 0.0, 3.0},
    [SHV_CORRECT_BLOWER_FRICTION] = {"blower_friction", "friction of the blower",
                                     "Factor on the blower's windage and bearing torque.",
                                     SHV_Q_NUMBER, 1.0, 0.0, 5.0},
    [SHV_CORRECT_INTAKE_LOSS] = {"intake_loss", "intake loss",
                                 "Factor on the pressure drop of the kit's intake.", SHV_Q_NUMBER,
                                 1.0, 0.0, 5.0},
    [SHV_CORRECT_EXHAUST_LOSS] = {"exhaust_loss", "exhaust loss",
                                  "Factor on the pressure drop of the exhaust.", SHV_Q_NUMBER, 1.0,
                                  0.0, 5.0, true},
    [SHV_CORRECT_COOLER_EFFECTIVENESS] =
        {"cooler_effectiveness", "charge cooler",
         "Factor on the NTU of the charge cooler, so that its effectiveness stays below 1; its "
         "pressure drop stays.",
         SHV_Q_NUMBER, 1.0, 0.1, 5.0},
    [SHV_CORRECT_CREEP] = {"creep", "creep",
                           "Added to the drive's creep, which never falls below 0.", SHV_Q_NUMBER,
                           0.0, -0.1, 0.1},
    [SHV_CORRECT_KNOCK] =
        {"knock", "ignition delay",
         "Factor on the ignition delay of the end gas: below 1 it knocks earlier.", SHV_Q_NUMBER,
         1.0, 0.3, 3.0},
    [SHV_CORRECT_OCTANE] = {"octane", "octane number", "Added to RON and MON of every fuel.",
                            SHV_Q_NUMBER, 0.0, -15.0, 15.0},
    [SHV_CORRECT_EFFICIENCY] = {"efficiency", "indicated efficiency",
                                "Factor on the indicated efficiency.", SHV_Q_NUMBER, 1.0, 0.5, 1.5},
    [SHV_CORRECT_BELT_FRICTION] = {"belt_friction", "friction of the belt",
                                   "Factor on the friction between rib and groove.", SHV_Q_NUMBER,
                                   1.0, 0.2, 3.0},
    [SHV_CORRECT_INJECTOR_FLOW] = {"injector_flow", "flow of the injectors",
                                   "Factor on the injectors' rated flow.", SHV_Q_NUMBER, 1.0, 0.5,
                                   1.5},
    [SHV_CORRECT_CRANK_PULLEY] = {"crank_pulley", "crank pulley",
                                  "Added to the crank pulley's effective diameter.", SHV_Q_LENGTH,
                                  0.0, -5e-3, 5e-3},
    [SHV_CORRECT_BLOWER_PULLEY] = {"blower_pulley", "blower pulley",
                                   "Added to the blower pulley's effective diameter.", SHV_Q_LENGTH,
                                   0.0, -5e-3, 5e-3},
    [SHV_CORRECT_AMBIENT_TEMPERATURE] =
        {"ambient_temperature", "ambient temperature",
         "Added to the air's temperature at every site; the water in the air stays.",
         SHV_Q_TEMPERATURE_DIFFERENCE, 0.0, -40.0, 40.0},
    [SHV_CORRECT_AMBIENT_PRESSURE] = {"ambient_pressure", "ambient pressure",
                                      "Factor on the air's pressure at every site; its humidity "
                                      "ratio stays.",
                                      SHV_Q_NUMBER, 1.0, 0.8, 1.2, true},
    [SHV_CORRECT_CHARGE_HEATING] =
        {"charge_heating", "charge heating",
         "Added to engine.charge_heating with the kit, which stays within 0 to 1: how much the "
         "walls warm the charge.",
         SHV_Q_NUMBER, 0.0, -0.5, 0.5, true},
};

const struct shv_correction_info *shv_correction_info(enum shv_correction correction)
{
    return &table[correction];
}

void shv_corrections_neutral(struct shv_corrections *corrections)
{
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        corrections->value[i] = table[i].neutral;
    }
}

bool shv_corrections_are_neutral(const struct shv_corrections *corrections)
{
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        if (corrections->value[i] != table[i].neutral) {
            return false;
        }
    }
    return true;
}

enum shv_status shv_corrections_check(const struct shv_corrections *corrections,
                                      struct shv_message *message)
{
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        const struct shv_correction_info *info = &table[i];
        double value = corrections->value[i];
        if (!(value >= info->least && value <= info->most)) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "correction %s: found %.10g; accepted: %.10g to %.10g", info->name,
                            value, info->least, info->most);
        }
    }
    return SHV_OK;
}

double shv_tolerance_spread(const struct shv_tolerances *tolerances, size_t blower,
                            enum shv_correction which)
{
    return tolerances->spread ? tolerances->spread[blower][which] : 1.0;
}

double shv_tolerance_deviation(const struct shv_tolerance *t)
{
    switch (t->distribution) {
    case SHV_NORMAL:
        break;
    case SHV_UNIFORM:
        return t->half_width / 1.7320508075688772;
    case SHV_TRIANGULAR:
        return t->half_width / 2.4494897427831781;
    }
    return t->standard_deviation;
}
