/* Air at the site: docs/model.md, section 1, and corrections to reference conditions, section 9. */
#include "sheave/air.h"

#include "model/path/gas.h"

#define EARTH_RADIUS 6356766.0
#define SEA_LEVEL_T 288.15
#define SEA_LEVEL_P 101325.0
#define LAPSE 0.0065
#define GRAVITY 9.80665
#define ATMOSPHERE_R 287.05287

/* McBride, Zehe and Gordon, NASA/TP-2002-211556: cp/R, 200-1000 K. */
static const double air_a[7] = {1.009950160e+04,  -1.968275610e+02, 5.009155110e+00,
                                -5.761013730e-03, 1.066859930e-05,  -7.940297970e-09,
                                2.185231910e-12};
static const double water_a[7] = {-3.947960830e+04, 5.755731020e+02,  9.317826530e-01,
                                  7.222712860e-03,  -7.342557370e-06, 4.955043490e-09,
                                  -1.336933246e-12};

double shv_geopotential_altitude(double altitude)
{
    return EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude);
}

double shv_atmosphere_temperature(double altitude)
{
    return SEA_LEVEL_T - LAPSE * shv_geopotential_altitude(altitude);
}

double shv_atmosphere_pressure(double altitude)
{
    double exponent = GRAVITY / (ATMOSPHERE_R * LAPSE);
    return SEA_LEVEL_P * shv_pow(shv_atmosphere_temperature(altitude) / SEA_LEVEL_T, exponent);
}

/* The constants over ice and over water: ln p = c0/t + c1 + t (c2 + t (c3 + t (c4 + t c5))) +
 * c6 ln t, p in Pa. */
static const double over_ice[7] = {-5.6745359e3, 6.3925247,      -9.6778430e-3, 6.2215701e-7,
                                   2.0747825e-9, -9.4840240e-13, 4.1635019};
static const double over_water[7] = {-5.8002206e3,  1.3914993, -4.8640239e-2, 4.1764768e-5,
                                     -1.4452093e-8, 0.0,       6.5459673};

double air_saturation_log(double t, double *slope)
{
    const double *c = t < 273.15 ? over_ice : over_water;
    *slope =
        -c[0] / (t * t) + c[2] + t * (2.0 * c[3] + t * (3.0 * c[4] + t * (4.0 * c[5]))) + c[6] / t;
    return c[0] / t + c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))) + c[6] * shv_log(t);
}

double shv_saturation_pressure(double t)
{
    double slope;
    return shv_exp(air_saturation_log(t, &slope));
}

double shv_humidity_ratio(double vapour_pressure, double pressure)
{
    return 0.621945 * vapour_pressure / (pressure - vapour_pressure);
}

static void constant_gas(struct shv_gas *gas, const struct shv_air_model *model)
{
    *gas = (struct shv_gas){.gas_constant = model->gas_constant};
    gas->isentropic_r = model->heat_capacity * (model->gamma - 1.0) / model->gamma;
    gas->b[2] = model->heat_capacity;
}

void shv_gas_init(struct shv_gas *gas, const struct shv_air_model *model, double humidity_ratio)
{
    if (model->kind == SHV_AIR_CONSTANT) {
        constant_gas(gas, model);
        return;
    }
    double vapour = humidity_ratio / (1.0 + humidity_ratio);
    double r_air = (1.0 - vapour) * GAS_R_AIR;
    double r_water = vapour * GAS_R_WATER;
    gas->gas_constant = r_air + r_water;
    gas->isentropic_r = gas->gas_constant;
    gas->vapour_fraction = vapour;
    for (int i = 0; i < 7; i++) {
        gas->b[i] = r_air * air_a[i] + r_water * water_a[i];
    }
}

double shv_gas_enthalpy(const struct shv_gas *gas, double temperature)
{
    return gas_enthalpy(gas, temperature);
}

double shv_gas_temperature_after(const struct shv_gas *gas, double reference, double rise)
{
    return gas_temperature_after(gas, reference, gas_enthalpy(gas, reference), rise);
}

double shv_gas_isentropic_temperature(const struct shv_gas *gas, double temperature,
                                      double pressure_ratio)
{
    return gas_isentropic(gas, temperature, pressure_ratio);
}

double shv_gas_density(const struct shv_gas *gas, double pressure, double temperature)
{
    return pressure / (gas->gas_constant * temperature);
}

double shv_correction_j1349(double dry_pressure, double temperature)
{
    return 1.180 * (99000.0 / dry_pressure) * sqrt(temperature / 298.0) - 0.18;
}

double shv_correction_iso1585(double dry_pressure, double temperature)
{
    return shv_pow(99000.0 / dry_pressure, 1.2) * shv_pow(temperature / 298.0, 0.6);
}
