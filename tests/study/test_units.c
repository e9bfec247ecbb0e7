/* Conversions with exact definitions, and texts that must be refused. */
#include "study/common.h"

#include "sheave/units.h"

static struct shv_units *units;

static int open_units(void **state)
{
    (void)state;
    return shv_units_open(&units, NULL) == SHV_OK ? 0 : -1;
}

static int close_units(void **state)
{
    (void)state;
    shv_units_free(units);
    shv_units_free(NULL);
    return 0;
}

/* Factors: the international yard and pound (0.0254 m, 0.45359237 kg), standard gravity 9.80665
 * m/s2. */
static void test_good(void **state)
{
    (void)state;
    static const struct {
        enum shv_quantity quantity;
        const char *text;
        double value;
    } rows[] = {
        {SHV_Q_NUMBER, "0.8", 0.8},
        {SHV_Q_NUMBER, "80 %", 0.8},
        {SHV_Q_NUMBER, "80%", 0.8},
        {SHV_Q_NUMBER, " -1.5e-1 percent ", -0.0015},
        {SHV_Q_LENGTH, "86 mm", 0.086},
        {SHV_Q_LENGTH, "86mm", 0.086},
        {SHV_Q_LENGTH, "2.75 in", 0.06985},
        {SHV_Q_LENGTH, "-3 ft", -0.9144},
        {SHV_Q_LENGTH, "5 nm", 5e-9},
        {SHV_Q_LENGTH, "4 \302\265m", 4e-6},
        {SHV_Q_AREA, "12 mm2", 12e-6},
        {SHV_Q_AREA, "1 in^2", 0.00064516},
        {SHV_Q_VOLUME, "1.9 l", 0.0019},
        {SHV_Q_VOLUME, "100 in3", 100 * 1.6387064e-5},
        {SHV_Q_VOLUME, "100 CID", 100 * 1.6387064e-5},
        {SHV_Q_VOLUME, "900 cc", 0.0009},
        {SHV_Q_DISPLACEMENT, "2.1 L", 2.1e-3},
        {SHV_Q_DISPLACEMENT, "2.1 L/rev", 2.1e-3},
        {SHV_Q_DISPLACEMENT, "2.1 L / rev", 2.1e-3},
        {SHV_Q_DISPLACEMENT, "2100 cc/r", 2.1e-3},
        {SHV_Q_DISPLACEMENT, "100 in3/revolution", 100 * 1.6387064e-5},
        {SHV_Q_DISPLACEMENT, "100 CID per turn", 100 * 1.6387064e-5},
        {SHV_Q_SPEED, "36 km/h", 10.0},
        {SHV_Q_SPEED, "100 mph", 44.704},
        {SHV_Q_ROTATION, "6000 rpm", 100.0},
        {SHV_Q_ROTATION, "100 rev/s", 100.0},
        {SHV_Q_ROTATION, "6000 rev/min", 100.0},
        {SHV_Q_ROTATION, "6.283185307179586 rad/s", 1.0},
        {SHV_Q_TIME, "2 min", 120.0},
        {SHV_Q_TIME, "1 h", 3600.0},
        {SHV_Q_TIME, "2 hours", 7200.0},
        {SHV_Q_FORCE, "1 lbf", 0.45359237 * 9.80665},
        {SHV_Q_FORCE, "1 kN", 1000.0},
        {SHV_Q_FORCE, "1 kgf", 9.80665},
        {SHV_Q_LINEAR_DENSITY, "20 g/m", 0.02},
        {SHV_Q_STIFFNESS, "2 N/mm", 2000.0},
        {SHV_Q_STIFFNESS, "1 lbf/in", 0.45359237 * 9.80665 / 0.0254},
        {SHV_Q_HEAT_PER_KELVIN, "20 kJ/K", 20e3},
        {SHV_Q_HEAT_PER_KELVIN, "1 W.h/K", 3600.0},
        {SHV_Q_SPECIFIC_CONSUMPTION, "360 g/kWh", 1e-7},
        {SHV_Q_SPECIFIC_CONSUMPTION, "360 g/kW/h", 1e-7},
        {SHV_Q_SPECIFIC_CONSUMPTION, "360 g/(kW h)", 1e-7},
        {SHV_Q_MASS, "1 lb", 0.45359237},
        {SHV_Q_MASS_FLOW, "60 lb/min", 0.45359237},
        {SHV_Q_MASS_FLOW, "7936.6414386555925 lb/hr", 1.0},
        {SHV_Q_MASS_FLOW, "7936.6414386555925 lbs/h", 1.0},
        {SHV_Q_MASS_FLOW, "7936.6414386555925 PPH", 1.0},
        {SHV_Q_AIR_FLOW, "60 lb/min", 0.45359237},
        /* p / (R T), R of dry air 287.05 J/(kg K): 101325 Pa at 15 degC is 1.225 kg/m3. */
        {SHV_Q_AIR_FLOW, "1 m3/s at 101325 Pa, 15 degC", 1.2250},
        {SHV_Q_AIR_FLOW, "2118.880003 CFM at 59 F, 1 atm", 1.2250},
        {SHV_Q_VOLUME_FLOW, "60 l/min", 0.001},
        {SHV_Q_VOLUME_FLOW, "60 CFM", 0.028316846592},
        {SHV_Q_VOLUME_FLOW, "60 cu ft/min", 0.028316846592},
        {SHV_Q_VOLUME_FLOW, "3600 gph", 3.785411784e-3},
        {SHV_Q_VOLUME, "1 gal", 3.785411784e-3},
        {SHV_Q_VOLUME, "100 cu in", 100 * 1.6387064e-5},
        {SHV_Q_VOLUME, "100 cid", 100 * 1.6387064e-5},
        {SHV_Q_DENSITY, "1 lb/gal", 0.45359237 / 3.785411784e-3},
        {SHV_Q_DISPLACEMENT, "100 ci/rev", 100 * 1.6387064e-5},
        {SHV_Q_ROTATION, "6000 RPM", 100.0},
        {SHV_Q_ROTATION, "6000 1/min", 100.0},
        {SHV_Q_PRESSURE_DIFFERENCE, "1 inH2O", 249.08891},
        {SHV_Q_PRESSURE_DIFFERENCE, "1 in H2O", 249.08891},
        {SHV_Q_PRESSURE_DIFFERENCE, "1 inHg", 3386.388640341},
        {SHV_Q_PRESSURE_GAUGE, "10 PSI", 68947.57293168361},
        {SHV_Q_PRESSURE_GAUGE, "10 PSIG", 68947.57293168361},
        {SHV_Q_TEMPERATURE, "77 F", 298.15},
        {SHV_Q_TEMPERATURE, "77 deg F", 298.15},
        {SHV_Q_TEMPERATURE, "25 \302\260C", 298.15},
        {SHV_Q_TORQUE, "100 lb-ft", 135.58179483314},
        {SHV_Q_TORQUE, "100 ft-lbs", 135.58179483314},
        {SHV_Q_TORQUE, "100 ft lb", 135.58179483314},
        {SHV_Q_TORQUE, "100 lbf-ft", 135.58179483314},
        {SHV_Q_POWER, "100 HP", 74569.99},
        {SHV_Q_POWER, "45 kw", 45e3},
        {SHV_Q_VOLUME_FLOW, "60 cfm", 0.028316846592},
        {SHV_Q_DENSITY, "0.745 kg/l", 745.0},
        {SHV_Q_PRESSURE_ABSOLUTE, "1 atm", 101325.0},
        {SHV_Q_PRESSURE_ABSOLUTE, "14.5 psi", 14.5 * 6894.757293168361},
        {SHV_Q_PRESSURE_ABSOLUTE, "14.5 psia", 14.5 * 6894.757293168361},
        {SHV_Q_PRESSURE_ABSOLUTE, "1.5 bar absolute", 150e3},
        {SHV_Q_PRESSURE_ABSOLUTE, "1.5 bara", 150e3},
        {SHV_Q_PRESSURE_ABSOLUTE, "101.3 kPa  abs", 101300.0},
        {SHV_Q_PRESSURE_GAUGE, "10 psig", 68947.57293168361},
        {SHV_Q_PRESSURE_GAUGE, "0.7 barg", 70e3},
        {SHV_Q_PRESSURE_GAUGE, "0.7 bar gauge", 70e3},
        {SHV_Q_PRESSURE_GAUGE, "-0.1 bar", -10e3},
        {SHV_Q_PRESSURE_DIFFERENCE, "30 mbar", 3e3},
        {SHV_Q_TEMPERATURE, "25 degC", 298.15},
        {SHV_Q_TEMPERATURE, "77 degF", 298.15},
        {SHV_Q_TEMPERATURE, "-40 degF", 233.15},
        {SHV_Q_TEMPERATURE, "300 K", 300.0},
        {SHV_Q_TEMPERATURE, "540 degR", 300.0},
        {SHV_Q_TEMPERATURE_DIFFERENCE, "5 K", 5.0},
        {SHV_Q_TEMPERATURE_DIFFERENCE, "9 degR", 5.0},
        {SHV_Q_PER_KELVIN, "0.002 1/K", 0.002},
        {SHV_Q_PER_KELVIN, "0.002 K-1", 0.002},
        {SHV_Q_TORQUE, "180 N m", 180.0},
        {SHV_Q_TORQUE, "180 Nm", 180.0},
        {SHV_Q_TORQUE, "100 lbf.ft", 135.58179483314},
        {SHV_Q_POWER, "45 kW", 45e3},
        {SHV_Q_POWER, "100 PS", 73549.9},
        {SHV_Q_SPECIFIC_ENERGY, "42.9 MJ/kg", 42.9e6},
        {SHV_Q_HEAT_CAPACITY, "1.005 kJ/(kg K)", 1005.0},
        {SHV_Q_HEAT_CAPACITY, "3600 J/kg/K", 3600.0},
        {SHV_Q_CAPACITY_RATE, "0.9 kW/K", 900.0},
        {SHV_Q_ENERGY_PER_VOLUME, "12.5 kW.min/m3", 750e3},
        {SHV_Q_PRESSURE_PER_SPEED, "16.2 kPa s/m", 16200.0},
        {SHV_Q_PRESSURE_PER_SPEED2, "150 Pa s2/m2", 150.0},
        {SHV_Q_ANGLE, "-140 deg", -140.0},
        {SHV_Q_ANGLE, "12 degrees", 12.0},
        {SHV_Q_ANGLE, "3.141592653589793 rad", 180.0},
        {SHV_Q_ANGLE, "0.25 rev", 90.0},
        {SHV_Q_MOLAR_MASS, "105 g/mol", 0.105},
        {SHV_Q_MOLAR_MASS, "0.105 kg/mol", 0.105},
    };
    bool seen[SHV_Q_COUNT] = {false};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct shv_message message = {{0}};
        double value = NAN;
        seen[rows[i].quantity] = true;
        if (shv_units_read(units, rows[i].quantity, rows[i].text, &value, &message) != SHV_OK) {
            fail_msg("\"%s\": %s", rows[i].text, message.text);
        }
        /* The database keeps the metric horsepower and pi to so many digits, and the gallon to
         * seven; the gas constant of dry air is known to four here. */
        bool gallon = strstr(rows[i].text, "gal") != NULL || strstr(rows[i].text, "gph") != NULL;
        bool air = rows[i].quantity == SHV_Q_AIR_FLOW && strstr(rows[i].text, " at ") != NULL;
        assert_near(value, rows[i].value, air ? 2e-4 : 2e-6);
        if (strstr(rows[i].text, "100 PS") == NULL && !air && !gallon) {
            assert_near(value, rows[i].value, 1e-12);
        }
    }
    for (int i = 0; i < SHV_Q_COUNT; i++) {
        assert_true(seen[i]);
    }
}

static void test_bad(void **state)
{
    (void)state;
    static const char not_read[] = "which does not read as";
    static const char unknown[] = "is not known";
    static const struct {
        enum shv_quantity quantity;
        const char *text;
        const char *says; /* somewhere in the message */
    } rows[] = {
        {SHV_Q_NUMBER, "", not_read},
        {SHV_Q_NUMBER, "inf", not_read},
        {SHV_Q_NUMBER, "nan", not_read},
        {SHV_Q_NUMBER, "-inf %", not_read},
        {SHV_Q_NUMBER, "0x10", not_read},
        {SHV_Q_NUMBER, "1e999", not_read},
        {SHV_Q_NUMBER, "1,5", "which is not a number"},
        {SHV_Q_NUMBER, "1 rad", "which is not a number"},
        {SHV_Q_NUMBER, "0.8 0.9", "which is not a number"},
        {SHV_Q_LENGTH, "86", "which has no unit"},
        {SHV_Q_VOLUME, "2.1 L/rev", "a turn or angle too many"},
        {SHV_Q_DISPLACEMENT, "2.1 L/rev2", "a turn or angle too many"},
        {SHV_Q_DISPLACEMENT, "2.1 L/rad", "a turn or angle too many"},
        {SHV_Q_DISPLACEMENT, "2.1 L/rev/rev", "a turn or angle too many"},
        {SHV_Q_DISPLACEMENT, "2.1 /rev", "is not known"},
        {SHV_Q_DISPLACEMENT, "2.1 L/s", "which is not a volume per turn"},
        {SHV_Q_TORQUE, "180 N m/rad", "a turn or angle too many"},
        {SHV_Q_POWER, "180 N m rpm", "a turn or angle too many"},
        {SHV_Q_ROTATION, "3 rev2/s", "which is not a speed of rotation"},
        {SHV_Q_LENGTH, "mm", not_read},
        {SHV_Q_LENGTH, ". mm", not_read},
        {SHV_Q_LENGTH, "86 kg", "which is not a length"},
        {SHV_Q_LENGTH, "86 mm 2", unknown},
        {SHV_Q_LENGTH, "86 2 mm", unknown},
        {SHV_Q_LENGTH, "86 mm (2)", unknown},
        {SHV_Q_LENGTH, "86 m @ 3", unknown},
        {SHV_Q_LENGTH, "86 smoots", unknown},
        {SHV_Q_LENGTH, "86 mm gauge", unknown},
        {SHV_Q_LENGTH, "1e300 Ym", "too large"},
        {SHV_Q_TIME, "3 H", "which is not a time"},
        {SHV_Q_FORCE, "110 kg", "which is not a force"},
        {SHV_Q_FORCE, "25 lb", "which is not a force"},
        {SHV_Q_LINEAR_DENSITY, "20 g", "which is not a mass per length"},
        {SHV_Q_STIFFNESS, "2 N", "which is not a force per length"},
        {SHV_Q_HEAT_PER_KELVIN, "3600 J/(kg K)", "which is not a heat per kelvin"},
        {SHV_Q_SPECIFIC_CONSUMPTION, "43 MJ/kg", "which is not a fuel mass per work"},
        {SHV_Q_SPECIFIC_CONSUMPTION, "260 g/kW", "which is not a fuel mass per work"},
        {SHV_Q_LENGTH, "1 mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm",
         not_read},
        {SHV_Q_ROTATION, "100 Hz", "which is not a speed of rotation"},
        {SHV_Q_ROTATION, "100 1/s", "which is not a speed of rotation"},
        {SHV_Q_ROTATION, "6000", "which has no unit"},
        {SHV_Q_ROTATION, "50 m/s", "which is not a speed of rotation"},
        {SHV_Q_TORQUE, "100 lb", "which is not a torque; it is in N m or lbf.ft"},
        {SHV_Q_AIR_FLOW, "350 cfm", "\"350 cfm at 14.7 psi, 77 degF\""},
        {SHV_Q_AIR_FLOW, "350 cfm at noon", "in a state that does not read"},
        {SHV_Q_AIR_FLOW, "3 kg/s at 1 bar, 20 degC", "which is not an air flow"},
        {SHV_Q_AIR_FLOW, "350 psi",
         "which is not an air flow; it is in kg/s, kg/h, lb/min or lb/h"},
        {SHV_Q_PRESSURE_DIFFERENCE, "5 F", "which is not a pressure difference"},
        {SHV_Q_POWER, "3 lg(re 1 mW)", unknown},
        {SHV_Q_POWER, "3 lg(re mW)", "which is not a power"},
        {SHV_Q_PRESSURE_ABSOLUTE, "14 furlong", "which is not a pressure"},
        {SHV_Q_PRESSURE_ABSOLUTE, "5 psig",
         "this is a gauge pressure (above ambient), but an absolute pressure is needed here"},
        {SHV_Q_PRESSURE_ABSOLUTE, "5 bar gauge", "this is a gauge pressure"},
        {SHV_Q_PRESSURE_ABSOLUTE, "0 Pa", "not above zero"},
        {SHV_Q_PRESSURE_ABSOLUTE, "-1 bar", "not above zero"},
        {SHV_Q_PRESSURE_ABSOLUTE, "5 abs", unknown},
        {SHV_Q_PRESSURE_GAUGE, "20 psia",
         "this is an absolute pressure, but a gauge pressure (above ambient) is needed here"},
        {SHV_Q_PRESSURE_GAUGE, "1.7 bar abs", "this is an absolute pressure"},
        {SHV_Q_PRESSURE_GAUGE, "5 gauge", unknown},
        {SHV_Q_PRESSURE_DIFFERENCE, "5 psig", "but a pressure difference is needed here"},
        {SHV_Q_PRESSURE_DIFFERENCE, "5 bara", "but a pressure difference is needed here"},
        {SHV_Q_TEMPERATURE, "0 K", "not above absolute zero"},
        {SHV_Q_TEMPERATURE, "-274 degC", "not above absolute zero"},
        {SHV_Q_TEMPERATURE, "5 psi", "which is not a temperature"},
        {SHV_Q_TEMPERATURE_DIFFERENCE, "5 degC", "write it as \"5 K\" or \"9 degR\""},
        {SHV_Q_TEMPERATURE_DIFFERENCE, "9 degF", "write it as \"5 K\" or \"9 degR\""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct shv_message message = {{0}};
        double value = 7.0;
        int status = (int)shv_units_read(units, rows[i].quantity, rows[i].text, &value, &message);
        if (status != SHV_BAD_INPUT || strstr(message.text, rows[i].says) == NULL) {
            fail_msg("\"%s\": status %d, %s", rows[i].text, status, message.text);
        }
        assert_true(value == 7.0); /* untouched */
    }
}

static void test_plain(void **state)
{
    (void)state;
    assert_true(shv_units_plain(SHV_Q_ROTATION, 6000.0) == 100.0);
    assert_true(shv_units_plain(SHV_Q_LENGTH, 6000.0) == 6000.0);
}

/* What a number without a unit may have meant, those inside the bounds if there are any. */
static void test_spellings(void **state)
{
    (void)state;
    static const struct {
        enum shv_quantity quantity;
        double number, low, high;
        const char *says;
    } rows[] = {
        {SHV_Q_PRESSURE_GAUGE, 8.0, 0.0, INFINITY, "\"8 psi\", \"8 bar\" or \"8 kPa\""},
        {SHV_Q_TEMPERATURE, 120.0, 220.0, 400.0, "\"120 degC\" or \"120 degF\""},
        {SHV_Q_LENGTH, 86.0, 0.02, 0.3, "\"86 mm\""},
        {SHV_Q_LENGTH, 1e9, 0.02, 0.3,
         "\"1000000000 mm\", \"1000000000 in\", \"1000000000 m\" or "
         "\"1000000000 ft\""},
        {SHV_Q_DISPLACEMENT, 2.1, 0.0, 0.1, "\"2.1 L\", \"2.1 cc\", \"2.1 in3\" or \"2.1 L/rev\""},
        {SHV_Q_ROTATION, 6500.0, 0.0, 500.0, "\"6500 rpm\""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[256];
        assert_string_equal(shv_units_spellings(units, rows[i].quantity, rows[i].number,
                                                rows[i].low, rows[i].high, text, sizeof text),
                            rows[i].says);
    }
}

/* The documented unit reads as the factor of a plain number, and the example in "accepts" reads. */
static void test_described(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_Q_COUNT; i++) {
        enum shv_quantity quantity = (enum shv_quantity)i;
        char text[128];
        double value = NAN;
        snprintf(text, sizeof text, "3 %s", shv_quantity_unit(quantity));
        assert_int_equal(shv_units_read(units, quantity, text, &value, NULL), SHV_OK);
        assert_near(value, shv_units_plain(quantity, 3.0), 1e-15);
        const char *quote = shv_quantity_accepts(quantity);
        int examples = 0;
        while ((quote = strchr(quote, '"')) != NULL) {
            size_t length = strcspn(quote + 1, "\"");
            snprintf(text, sizeof text, "%.*s", (int)length, quote + 1);
            assert_int_equal(shv_units_read(units, quantity, text, &value, NULL), SHV_OK);
            quote += length + 2;
            examples++;
        }
        assert_true(examples > 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good),      cmocka_unit_test(test_bad),
        cmocka_unit_test(test_plain),     cmocka_unit_test(test_spellings),
        cmocka_unit_test(test_described),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
