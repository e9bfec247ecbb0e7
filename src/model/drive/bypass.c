/* Part load and the bypass valve: docs/model.md, sections 11.1 to 11.5. */
#include "sheave/bypass.h"

#include <math.h>

#include "model/drive/bypass_solve.h"
#include "model/path/input.h"
#include "model/path/solve.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define LITRES_PER_M3 1000.0
#define SECONDS_PER_HOUR 3600.0
#define HUNDRED_KM 100e3

/* Areas tried, as shares of the opening through which the swept volume would go at a speed of
 * sqrt(R T), which is close to that of sound: at the largest the drop is below a millionth. */
#define LEAST_AREA 1e-9
#define LARGEST_AREA 1e3

/* ---- input ---- */

static enum shv_status check_geometry(const struct shv_blower_geometry *g,
                                      struct shv_message *message)
{
    const struct range row[] = {
        {"leakage area of the blower, m2,", g->leakage_area, true, INFINITY},
        {"closing rate of the blower, 1/K,", g->closing_rate, true, INFINITY},
        {"assembly temperature of the blower, K,", g->assembly_temperature, false, INFINITY},
        {"volume ratio of the blower less 1", g->volume_ratio - 1.0, true, INFINITY},
        {"filling loss of the blower", g->filling_loss, true, INFINITY},
        {"reference speed of the blower, rev/s,", g->reference_speed, false, INFINITY},
        {"case loss of the blower", g->case_loss, true, 1.0},
    };
    return check_ranges(COUNT(row), row, message);
}

static enum shv_status check_blower(const struct shv_blower *b, struct shv_message *message)
{
    if (!b) {
        return shv_fail(message, SHV_BAD_INPUT, "a cruise point needs a blower");
    }
    const struct range row[] = {
        {"displacement of the blower, m3,", b->displacement, false, INFINITY},
        {"friction torque of the blower, N m,", b->friction_torque, true, INFINITY},
        {"windage torque of the blower, N m,", b->windage_torque, true, INFINITY},
        {"reference speed of the windage, rev/s,", b->windage_reference_speed, false, INFINITY},
    };
    enum shv_status status = check_ranges(COUNT(row), row, message);
    if (status == SHV_OK && b->kind == SHV_BLOWER_GEOMETRY) {
        status = check_geometry(&b->geometry, message);
    } else if (status == SHV_OK && b->map.lines == 0) {
        status = shv_fail(message, SHV_BAD_INPUT, "the map of the blower has no speed line");
    }
    return status;
}

static enum shv_status check_cruise(const struct shv_bypass_cruise *c, double area,
                                    struct shv_message *message)
{
    enum shv_status status = check_blower(c->blower, message);
    if (status != SHV_OK) {
        return status;
    }
    const struct range row[] = {
        {"rotor speed, rev/s,", c->rotor_speed, false, INFINITY},
        {"pressure ahead of the throttle, Pa,", c->pressure_ahead, false, INFINITY},
        {"temperature of the fresh air, K,", c->temperature, false, SHV_GAS_T_MAX},
        {"manifold pressure, Pa,", c->manifold_pressure, false, INFINITY},
        {"air flow of the engine, kg/s,", c->engine_flow, false, INFINITY},
        {"area of the bypass valve, m2,", area, true, INFINITY},
    };
    status = check_ranges(COUNT(row), row, message);
    if (status == SHV_OK && c->temperature < SHV_GAS_T_MIN) {
        status = shv_fail(message, SHV_BAD_INPUT,
                          "temperature of the fresh air, K, is %.6g; at least %.6g is possible",
                          c->temperature, SHV_GAS_T_MIN);
    }
    return status;
}

/* ---- the cruise point ---- */

enum shv_status shv_bypass_at(const struct shv_bypass_cruise *cruise, double area,
                              struct shv_bypass_state *state, struct shv_message *message)
{
    enum shv_status status = check_cruise(cruise, area, message);
    if (status == SHV_OK) {
        struct cruise c = cruise_of(cruise);
        c.area = area;
        cruise_solve(&c, state);
    }
    return status;
}

/* ---- area for a drag ---- */

struct sizing {
    struct cruise c;
    double drag; /* wanted */
    struct shv_bypass_state state;
};

static double drag_at(struct sizing *z, double area)
{
    z->c.area = area;
    cruise_solve(&z->c, &z->state);
    return z->state.shaft_power;
}

/* Over the logarithm of area, since areas of use lie decades below the largest. */
static double drag_gap(void *data, double log_area)
{
    struct sizing *z = (struct sizing *)data;
    return drag_at(z, exp(log_area)) - z->drag;
}

/* The drag lies between those of the valve shut and wide open. */
static void find_area(struct sizing *z, double least, double largest,
                      struct shv_bypass_sizing *sizing)
{
    double root = bracket_root(drag_gap, z, log(least), log(largest));
    double area = isnan(root) ? least : exp(root); /* next to shut: the least area does */
    (void)drag_at(z, area);
    bool solved = z->state.outcome == SHV_BYPASS_SOLVED;
    sizing->outcome = solved ? SHV_BYPASS_AREA_FOUND : SHV_BYPASS_UNSOLVED;
    sizing->area = solved ? area : NAN;
    sizing->state = z->state;
}

enum shv_status shv_bypass_area_for(const struct shv_bypass_cruise *cruise, double drag,
                                    struct shv_bypass_sizing *sizing, struct shv_message *message)
{
    const struct range row[] = {{"wanted drag, W,", drag, false, INFINITY}};
    enum shv_status status = check_ranges(COUNT(row), row, message);
    if (status == SHV_OK) {
        status = check_cruise(cruise, 0.0, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    struct sizing z = {.c = cruise_of(cruise), .drag = drag};
    double swept = cruise->blower->displacement * cruise->rotor_speed;
    double unit = swept / sqrt(cruise->gas.gas_constant * cruise->temperature);
    *sizing =
        (struct shv_bypass_sizing){.area = NAN, .least_drag = drag_at(&z, LARGEST_AREA * unit)};
    struct shv_bypass_state open = z.state;
    sizing->shut_drag = drag_at(&z, 0.0);
    sizing->state = z.state;
    if (z.state.outcome == SHV_BYPASS_STARVED) {
        sizing->outcome = SHV_BYPASS_UNSOLVED;
    } else if (sizing->shut_drag <= drag) {
        bool solved = z.state.outcome == SHV_BYPASS_SOLVED;
        sizing->outcome = solved ? SHV_BYPASS_SHUT_DOES : SHV_BYPASS_UNSOLVED;
    } else if (sizing->least_drag > drag) {
        bool solved = open.outcome == SHV_BYPASS_SOLVED;
        sizing->outcome = solved ? SHV_BYPASS_NONE_DOES : SHV_BYPASS_UNSOLVED;
        sizing->state = open;
    } else {
        find_area(&z, LEAST_AREA * unit, LARGEST_AREA * unit, sizing);
    }
    return SHV_OK;
}

/* ---- what drag costs ---- */

enum shv_status shv_bypass_cost(double drag, const struct shv_bypass_rates *rates,
                                struct shv_bypass_cost *cost, struct shv_message *message)
{
    const struct range row[] = {
        {"size of the drag, W,", fabs(drag), true, INFINITY},
        {"efficiency of the drive", rates->drive_efficiency, false, 1.0},
        {"fuel for the added power, kg/J,", rates->bsfc, false, INFINITY},
        {"density of the fuel, kg/m3,", rates->fuel_density, false, INFINITY},
        {"road speed, m/s,", rates->road_speed, true, INFINITY},
    };
    enum shv_status status = check_ranges(COUNT(row), row, message);
    if (status != SHV_OK) {
        return status;
    }
    /* Rotors that the gas drives pull on the belt: its losses then take from what they give. */
    double crank = drag >= 0.0 ? drag / rates->drive_efficiency : drag * rates->drive_efficiency;
    double volume = crank * rates->bsfc / rates->fuel_density;
    double distance = rates->road_speed > 0.0 ? volume / rates->road_speed : NAN;
    *cost = (struct shv_bypass_cost){.crank_power = crank,
                                     .fuel_flow = crank * rates->bsfc,
                                     .litres_per_hour = volume * LITRES_PER_M3 * SECONDS_PER_HOUR,
                                     .litres_per_100_km = distance * LITRES_PER_M3 * HUNDRED_KM};
    return SHV_OK;
}

/* ---- the actuator ---- */

enum shv_status shv_bypass_actuator_of(const struct shv_bypass_spring *spring,
                                       struct shv_bypass_actuator *actuator,
                                       struct shv_message *message)
{
    const struct range row[] = {
        {"effective area of the diaphragm, m2,", spring->diaphragm_area, false, INFINITY},
        {"preload of the spring, N,", spring->preload, true, INFINITY},
        {"rate of the spring, N/m,", spring->rate, true, INFINITY},
        {"travel of the actuator, m,", spring->travel, true, INFINITY},
    };
    enum shv_status status = check_ranges(COUNT(row), row, message);
    if (status == SHV_OK) {
        double open = spring->preload + spring->rate * spring->travel;
        actuator->starts = spring->preload / spring->diaphragm_area;
        actuator->finishes = open / spring->diaphragm_area;
    }
    return status;
}
