/* Part load and the bypass valve: docs/model.md, sections 11.1 to 11.5. */
#include "sheave/bypass.h"

#include <math.h>

#include "model/drive/bypass_solve.h"
#include "model/path/solve.h"

#define LITRES_PER_M3 1000.0
#define SECONDS_PER_HOUR 3600.0
#define HUNDRED_KM 100e3

/* Areas tried, as shares of the opening through which the swept volume would go at a speed of
 * sqrt(R T), which is close to that of sound: at the largest the drop is below a millionth. */
#define LEAST_AREA 1e-9
#define LARGEST_AREA 1e3

/* ---- the cruise point ---- */

void shv_bypass_at(const struct shv_bypass_cruise *cruise, double area,
                   struct shv_bypass_state *state)
{
    struct cruise c = cruise_of(cruise);
    c.area = area;
    cruise_solve(&c, state);
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

void shv_bypass_area_for(const struct shv_bypass_cruise *cruise, double drag,
                         struct shv_bypass_sizing *sizing)
{
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
}

/* ---- what drag costs ---- */

struct shv_bypass_cost shv_bypass_cost(double drag, const struct shv_bypass_rates *rates)
{
    /* Rotors that the gas drives pull on the belt: its losses then take from what they give. */
    double crank = drag >= 0.0 ? drag / rates->drive_efficiency : drag * rates->drive_efficiency;
    double volume = crank * rates->bsfc / rates->fuel_density;
    double distance = rates->road_speed > 0.0 ? volume / rates->road_speed : NAN;
    return (struct shv_bypass_cost){.crank_power = crank,
                                    .fuel_flow = crank * rates->bsfc,
                                    .litres_per_hour = volume * LITRES_PER_M3 * SECONDS_PER_HOUR,
                                    .litres_per_100_km = distance * LITRES_PER_M3 * HUNDRED_KM};
}

/* ---- the actuator ---- */

struct shv_bypass_actuator shv_bypass_actuator_of(const struct shv_bypass_spring *spring)
{
    double open = spring->preload + spring->rate * spring->travel;
    return (struct shv_bypass_actuator){.starts = spring->preload / spring->diaphragm_area,
                                        .finishes = open / spring->diaphragm_area};
}
