/* Lays the library open for the independent twin (twin.py): a study as JSON in SI units, and every
 * number of the points and verdicts of chosen kits.
 *
 *   sheave_dump study FILE                    the study, the size of its space, the tied
 * efficiencies sheave_dump fast FILE [FOLDER]  < KITS    kits by shv_model_evaluate sheave_dump
 * plain FILE [FOLDER] < KITS    kits by shv_model_evaluate_plain sheave_dump stock FILE the stock
 * engine at each site sheave_dump tables FILE FOLDER OUT        tables of the closed cycle
 *   sheave_dump sweep FILE FIRST COUNT           combinations of the air side first..first+count-1
 *   sheave_dump fields                        names of the columns
 *
 * With a FOLDER, which has to exist, the closed cycle is looked up in tables that are kept there;
 * without one it runs directly. OUT gets the numbers of the tables as doubles of this machine: of
 * one table after the other first its motored peaks, then its volumes; what else they need comes as
 * JSON.
 *
 * A line of KITS is either "index I" or "kit blower crank_diameter blower_diameter ratio cooler
 * effectiveness fuel lambda ignition_margin injector injector_flow pump ribs wrap" (diameters may
 * be nan). For each kit come sites * speeds lines of points and then one line with verdict and
 * hardware. `sweep` gives one line "outcome broken objective" for each combination of a slice of
 * the space, in its order, as the program's own sweep finds it.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheave/model.h"
#include "support/balance.h"
#include "sheave/tables.h"

/* Every number of struct shv_point, in its order. */
#define POINT_FIELDS(F)                                                                            \
    F(engine_speed)                                                                                \
    F(rotor_speed)                                                                                 \
    F(belt_speed)                                                                                  \
    F(ambient_pressure)                                                                            \
    F(ambient_temperature)                                                                         \
    F(inlet_pressure)                                                                              \
    F(inlet_temperature)                                                                           \
    F(outlet_pressure)                                                                             \
    F(pressure_ratio)                                                                              \
    F(discharge_temperature)                                                                       \
    F(manifold_pressure)                                                                           \
    F(boost)                                                                                       \
    F(charge_temperature)                                                                          \
    F(coolant_temperature)                                                                         \
    F(effectiveness)                                                                               \
    F(cooler_drop)                                                                                 \
    F(cooler_heat)                                                                                 \
    F(blower_flow)                                                                                 \
    F(leakage_flow)                                                                                \
    F(bleed_flow)                                                                                  \
    F(condensed_flow)                                                                              \
    F(air_flow)                                                                                    \
    F(dry_air_flow)                                                                                \
    F(exhaust_pressure)                                                                            \
    F(blower_volumetric_efficiency)                                                                \
    F(blower_isentropic_efficiency)                                                                \
    F(clearance_left)                                                                              \
    F(gas_power)                                                                                   \
    F(windage_power)                                                                               \
    F(bearing_power)                                                                               \
    F(case_heat)                                                                                   \
    F(blower_power)                                                                                \
    F(drive_power)                                                                                 \
    F(volumetric_efficiency)                                                                       \
    F(fuel_flow)                                                                                   \
    F(indicated_efficiency)                                                                        \
    F(indicated_power)                                                                             \
    F(pumping_power)                                                                               \
    F(friction_power)                                                                              \
    F(brake_power)                                                                                 \
    F(torque)                                                                                      \
    F(bmep)                                                                                        \
    F(bsfc)                                                                                        \
    F(power_j1349)                                                                                 \
    F(power_iso1585)                                                                               \
    F(piston_speed)                                                                                \
    F(fuel_volume_flow)                                                                            \
    F(ca50)                                                                                        \
    F(phasing_retard)                                                                              \
    F(knock_integral)                                                                              \
    F(peak_pressure)                                                                               \
    F(exhaust_temperature)                                                                         \
    F(cycle_efficiency)                                                                            \
    F(injector_duty)                                                                               \
    F(pump_flow)                                                                                   \
    F(belt_slip)                                                                                   \
    F(belt_tension)                                                                                \
    F(hub_load)

/* The numbers of the closed cycle, by the names of sheave/cycle.h. */
#define CYCLE_FIELDS(F)                                                                            \
    F(bore)                                                                                        \
    F(stroke)                                                                                      \
    F(compression_ratio)                                                                           \
    F(rod_ratio)                                                                                   \
    F(inlet_closing)                                                                               \
    F(exhaust_opening)                                                                             \
    F(chamber_area)                                                                                \
    F(crown_area)                                                                                  \
    F(chamber_temperature)                                                                         \
    F(crown_temperature)                                                                           \
    F(bore_temperature)                                                                            \
    F(heat_factor)                                                                                 \
    F(motored_exponent)                                                                            \
    F(wiebe_a)                                                                                     \
    F(wiebe_m)                                                                                     \
    F(burn_duration)                                                                               \
    F(burn_reference_speed)                                                                        \
    F(burn_speed_exponent)                                                                         \
    F(charge_heating)                                                                              \
    F(charge_wall_temperature)                                                                     \
    F(evaporated_share)                                                                            \
    F(blowdown_share)
#define KNOCK_FIELDS(F)                                                                            \
    F(scale)                                                                                       \
    F(margin)                                                                                      \
    F(octane_weight)                                                                               \
    F(weight_slope)                                                                                \
    F(humidity_slope)                                                                              \
    F(mixture_slope)                                                                               \
    F(mixture_peak)                                                                                \
    F(mixture_rounding)                                                                            \
    F(best_ca50)                                                                                   \
    F(limit_ca50)
#define FUEL_FIELDS(F)                                                                             \
    F(stoichiometric)                                                                              \
    F(heating_value)                                                                               \
    F(density)                                                                                     \
    F(ron)                                                                                         \
    F(mon)                                                                                         \
    F(vaporisation)                                                                                \
    F(hydrogen_carbon)                                                                             \
    F(oxygen_carbon)                                                                               \
    F(molar_mass)
#define STOCK_FIELDS(F)                                                                            \
    F(gross_efficiency)                                                                            \
    F(ca50)                                                                                        \
    F(peak_pressure)                                                                               \
    F(exhaust_temperature)                                                                         \
    F(knock_integral)
#define ERROR_FIELDS(F)                                                                            \
    F(efficiency)                                                                                  \
    F(ca50)                                                                                        \
    F(peak_pressure)                                                                               \
    F(exhaust_temperature)                                                                         \
    F(knock_integral)

/* Numbers of struct shv_hardware, of a cruise point and of what it costs. */
#define HARDWARE_FIELDS(F)                                                                         \
    F(price)                                                                                       \
    F(mass)                                                                                        \
    F(pulley_diameter)                                                                             \
    F(belt_length)                                                                                 \
    F(crank_wrap)                                                                                  \
    F(blower_wrap)                                                                                 \
    F(belt_width)                                                                                  \
    F(static_tension)                                                                              \
    F(bearing_life)                                                                                \
    F(highest_hub_load)                                                                            \
    F(over_continuous)                                                                             \
    F(cruise_drag)
#define CRUISE_FIELDS(F)                                                                           \
    F(inlet_pressure)                                                                              \
    F(pressure_drop)                                                                               \
    F(inlet_temperature)                                                                           \
    F(discharge_temperature)                                                                       \
    F(manifold_temperature)                                                                        \
    F(blower_flow)                                                                                 \
    F(recirculated)                                                                                \
    F(leakage_flow)                                                                                \
    F(gas_power)                                                                                   \
    F(windage_power)                                                                               \
    F(friction_power)                                                                              \
    F(shaft_power)                                                                                 \
    F(clearance_left)
#define COST_FIELDS(F)                                                                             \
    F(crank_power)                                                                                 \
    F(fuel_flow)                                                                                   \
    F(litres_per_hour)                                                                             \
    F(litres_per_100_km)

/* Every number of struct shv_limit_result. */
#define LIMIT_FIELDS(F) F(bound) F(value) F(margin) F(share)

enum { LINE_ROOM = 512, EXIT_USAGE = 2 };

static void number(double value)
{
    if (isnan(value))
        (void)fputs("NaN", stdout); /* whatever its sign bit */
    else if (isinf(value))
        (void)fputs(value > 0.0 ? "Infinity" : "-Infinity", stdout);
    else
        (void)printf("%.17g", value);
}

static void key_number(const char *key, double value)
{
    (void)printf("\"%s\": ", key);
    number(value);
    (void)fputs(", ", stdout);
}

static void string(const char *text)
{
    (void)putchar('"');
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\')
            (void)putchar('\\');
        if ((unsigned char)*c < ' ')
            (void)printf("\\u%04x", (unsigned)(unsigned char)*c);
        else
            (void)putchar(*c);
    }
    (void)putchar('"');
}

static void key_string(const char *key, const char *text)
{
    (void)printf("\"%s\": ", key);
    string(text != NULL ? text : "");
    (void)fputs(", ", stdout);
}

static void numbers(size_t count, const double *values)
{
    (void)putchar('[');
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            (void)fputs(", ", stdout);
        number(values[i]);
    }
    (void)putchar(']');
}

static void key_numbers(const char *key, size_t count, const double *values)
{
    (void)printf("\"%s\": ", key);
    numbers(count, values);
    (void)fputs(", ", stdout);
}

static void key_table(const char *key, const struct shv_curve_table *table)
{
    (void)printf("\"%s\": {\"x\": ", key);
    numbers(table->count, table->x);
    (void)fputs(", \"y\": ", stdout);
    numbers(table->count, table->y);
    (void)fputs("}, ", stdout);
}

static void key_loss(const char *key, const struct shv_loss *loss)
{
    (void)printf("\"%s\": {", key);
    key_number("pressure_drop", loss->pressure_drop);
    key_number("flow", loss->flow);
    key_number("density", loss->density);
    (void)fputs("\"_\": 0}, ", stdout);
}

static void key_exhaust(const char *key, const struct shv_exhaust *loss)
{
    (void)printf("\"%s\": {", key);
    key_number("pressure_drop", loss->pressure_drop);
    key_number("flow", loss->flow);
    key_number("temperature", loss->temperature);
    (void)fputs("\"_\": 0}, ", stdout);
}

static void key_ambient(const char *key, const struct shv_ambient *ambient)
{
    (void)printf("\"%s\": {", key);
    key_number("pressure", ambient->pressure);
    key_number("temperature", ambient->temperature);
    key_number("relative_humidity", ambient->relative_humidity);
    (void)fputs("\"_\": 0}, ", stdout);
}

static void key_worth(const char *key, const struct shv_worth *worth)
{
    (void)printf("\"%s\": {", key);
    key_number("price", worth->price);
    key_number("mass", worth->mass);
    (void)fputs("\"_\": 0}, ", stdout);
}

static void engine(const struct shv_engine *e)
{
    static const char *const friction[] = {[SHV_FRICTION_CHEN_FLYNN] = "chen_flynn",
                                           [SHV_FRICTION_EFFICIENCY] = "mechanical_efficiency"};
    static const char *const efficiency[] = {[SHV_EFFICIENCY_STOCK_TORQUE] = "stock_torque",
                                             [SHV_EFFICIENCY_CONSTANT] = "constant",
                                             [SHV_EFFICIENCY_FREE_AIR] = "free_air",
                                             [SHV_EFFICIENCY_CYCLE] = "cycle"};
    (void)fputs("\"engine\": {", stdout);
    key_number("cylinders", e->cylinders);
    key_number("stroke", e->stroke);
    key_number("displacement", e->displacement);
    key_number("compression_ratio", e->compression_ratio);
    key_numbers("speeds", e->speed_count, e->speeds);
    key_table("volumetric_efficiency", &e->volumetric_efficiency);
    key_table("stock_torque", &e->stock_torque);
    key_table("stock_retard", &e->stock_retard);
    key_number("reference_temperature", e->reference_temperature);
    key_number("residual_correction", e->residual_correction ? 1.0 : 0.0);
    key_number("residual_gamma", e->residual_gamma);
    key_number("pumping_share", e->pumping_share);
    key_loss("intake", &e->intake);
    key_exhaust("exhaust", &e->exhaust);
    key_string("friction", friction[e->friction.kind]);
    key_number("fmep_at_rest", e->friction.fmep_at_rest);
    key_number("per_peak_pressure", e->friction.per_peak_pressure);
    key_number("per_piston_speed", e->friction.per_piston_speed);
    key_number("per_piston_speed_squared", e->friction.per_piston_speed_squared);
    key_number("peak_pressure_ratio", e->friction.peak_pressure_ratio);
    key_number("mechanical_efficiency", e->friction.mechanical_efficiency);
    key_string("efficiency", efficiency[e->efficiency_kind]);
    key_number("indicated_efficiency", e->indicated_efficiency);
    key_number("power_per_free_air", e->power_per_free_air);
    key_ambient("stock", &e->stock);
    key_number("stock_fuel", (double)e->stock_fuel);
    key_number("stock_lambda", e->stock_lambda);
#define F(name) key_number(#name, e->cycle.name);
    (void)fputs("\"cycle\": {", stdout);
    CYCLE_FIELDS(F)
#undef F
#define F(name) key_number(#name, e->knock.name);
    (void)fputs("\"_\": 0}, \"knock\": {", stdout);
    KNOCK_FIELDS(F)
#undef F
    (void)fputs("\"_\": 0}, ", stdout);
    (void)fputs("\"_\": 0}, ", stdout);
}

static void blower(const struct shv_blower *b)
{
    (void)putchar('{');
    key_string("name", b->name);
    key_string("kind", b->kind == SHV_BLOWER_MAP ? "map" : "geometry");
    key_number("displacement", b->displacement);
    key_number("step_up", b->step_up);
    key_number("friction_torque", b->friction_torque);
    key_number("windage_torque", b->windage_torque);
    key_number("windage_reference_speed", b->windage_reference_speed);
    key_number("max_speed", b->max_speed);
    key_number("max_pressure_ratio", b->max_pressure_ratio);
    key_number("max_pressure_rise", b->max_pressure_rise);
    key_number("max_discharge_temperature", b->max_discharge_temperature);
    key_number("continuous_speed", b->continuous_speed);
    key_number("least_clearance", b->least_clearance);
    key_number("max_hub_load", b->max_hub_load);
    key_worth("worth", &b->worth);
    (void)fputs("\"bearing\": {", stdout);
    key_number("given", b->bearing.given ? 1.0 : 0.0);
    key_string("type", b->bearing.type == SHV_BEARING_ROLLER ? "roller" : "ball");
    key_number("rating", b->bearing.rating);
    key_number("overhang", b->bearing.overhang);
    key_number("span", b->bearing.span);
    (void)fputs("\"_\": 0}, ", stdout);
    if (b->kind == SHV_BLOWER_GEOMETRY) {
        key_number("leakage_area", b->geometry.leakage_area);
        key_number("closing_rate", b->geometry.closing_rate);
        key_number("assembly_temperature", b->geometry.assembly_temperature);
        key_number("volume_ratio", b->geometry.volume_ratio);
        key_number("filling_loss", b->geometry.filling_loss);
        key_number("reference_speed", b->geometry.reference_speed);
        key_number("case_loss", b->geometry.case_loss);
    } else {
        key_number("reference_pressure", b->map.reference_pressure);
        key_number("reference_temperature", b->map.reference_temperature);
        (void)fputs("\"lines\": [", stdout);
        for (size_t i = 0; i < b->map.lines; i++) {
            (void)putchar('{');
            key_table("volumetric_efficiency", &b->map.line[i].volumetric_efficiency);
            key_table("isentropic_efficiency", &b->map.line[i].isentropic_efficiency);
            (void)fputs("\"corrected_speed\": ", stdout);
            number(b->map.line[i].corrected_speed);
            (void)fputs(i + 1 < b->map.lines ? "}, " : "}", stdout);
        }
        (void)fputs("], ", stdout);
    }
    (void)fputs("\"_\": 0}", stdout);
}

static void cooler(const struct shv_cooler *c)
{
    static const char *const arrangement[] = {
        [SHV_COOLER_SINGLE_STREAM] = "single_stream",
        [SHV_COOLER_COUNTERFLOW] = "counterflow",
        [SHV_COOLER_PARALLEL] = "parallel",
        [SHV_COOLER_CROSSFLOW_UNMIXED] = "crossflow_unmixed",
        [SHV_COOLER_CROSSFLOW_CHARGE_MIXED] = "crossflow_charge_mixed",
        [SHV_COOLER_CROSSFLOW_COOLANT_MIXED] = "crossflow_coolant_mixed"};
    (void)putchar('{');
    key_string("name", c->name);
    key_string("arrangement", c->is_none ? "none" : arrangement[c->arrangement]);
    if (!c->is_none) {
        key_numbers("effectiveness", c->effectiveness.count, c->effectiveness.values);
        key_number("rated_flow", c->rated_flow);
        key_number("pressure_drop", c->pressure_drop);
        key_number("pressure_drop_effectiveness", c->pressure_drop_effectiveness);
        key_number("rated_density", c->rated_density);
        key_number("ntu_exponent", c->ntu_exponent);
        key_number("coolant_rise", c->coolant_rise);
        key_number("coolant_temperature", c->coolant_temperature);
        key_number("coolant_capacity", c->coolant_capacity);
        key_number("radiator_effectiveness", c->radiator_effectiveness);
        key_number("radiator_capacity", c->radiator_capacity);
        key_number("loop_heat", c->loop_heat);
    }
    key_worth("worth", &c->worth);
    key_worth("per_ntu", &c->per_ntu);
    (void)fputs("\"_\": 0}", stdout);
}

static void supply(const struct shv_study *s)
{
    (void)fputs("\"injectors\": [", stdout);
    for (size_t i = 0; i < s->injector_count; i++) {
        const struct shv_injector_part *p = &s->injectors[i];
        (void)fputs(i > 0 ? ", {" : "{", stdout);
        key_number("unlimited", p->is_unlimited ? 1.0 : 0.0);
        key_numbers("rated_flow", p->rated_flow.count, p->rated_flow.values);
        key_number("rated_pressure", p->rated_pressure);
        key_number("test_density", p->test_density);
        key_number("dead_time", p->dead_time);
        key_number("max_duty", p->max_duty);
        key_worth("worth", &p->worth);
        (void)fputs("\"_\": 0}", stdout);
    }
    (void)fputs("], \"pumps\": [", stdout);
    for (size_t i = 0; i < s->pump_count; i++) {
        const struct shv_pump_part *p = &s->pumps[i];
        (void)fputs(i > 0 ? ", {" : "{", stdout);
        key_number("unlimited", p->is_unlimited ? 1.0 : 0.0);
        key_number("line_loss", p->pump.line_loss);
        key_table("flow", &p->pump.flow);
        key_worth("worth", &p->worth);
        (void)fputs("\"_\": 0}", stdout);
    }
    (void)fputs("], \"rail\": {", stdout);
    key_number("pressure", s->rail.pressure);
    key_string("reference", s->rail.reference == SHV_RAIL_MANIFOLD ? "manifold" : "ambient");
    key_number("injectors_per_cylinder", s->rail.injectors_per_cylinder);
    (void)fputs("\"_\": 0}, ", stdout);
}

/* Belt, duty, cruise, bypass valve and what is the same in every kit. */
static void hardware(const struct shv_study *s)
{
    const struct shv_belt_setup *b = &s->drive.belt;
    (void)fputs("\"belt\": {", stdout);
    key_number("given", b->given ? 1.0 : 0.0);
    key_string("tensioner", b->tensioner == SHV_TENSION_FIXED ? "fixed" : "spring");
    key_number("rib_pitch", b->belt.rib_pitch);
    key_number("groove_angle", b->belt.groove_angle);
    key_number("friction", b->belt.friction);
    key_number("rib_mass", b->belt.rib_mass);
    key_number("allowed_tension", b->belt.allowed_tension);
    key_number("min_diameter", b->belt.min_diameter);
    key_number("static_tension", b->static_tension);
    key_number("slip_margin", b->slip_margin);
    key_number("centre", b->centre);
    key_numbers("ribs", s->numbers[SHV_DIM_RIBS].count, s->numbers[SHV_DIM_RIBS].values);
    key_numbers("wraps", s->numbers[SHV_DIM_WRAP].count, s->numbers[SHV_DIM_WRAP].values);
    key_worth("rib", &b->rib);
    key_worth("drive", &s->drive.worth);
    (void)fputs("\"_\": 0}, \"use\": {", stdout);
    key_number("full_throttle_time", s->use.full_throttle_time);
    key_number("cruises", s->use.cruises ? 1.0 : 0.0);
    key_number("cruise_speed", (double)s->use.cruise_speed);
    key_number("cruise_pressure", s->use.cruise_pressure);
    key_number("road_speed", s->use.road_speed);
    key_number("bsfc", s->use.bsfc);
    (void)fputs("\"duty\": [", stdout);
    for (size_t i = 0; i < s->use.duty_parts; i++) {
        (void)fputs(i > 0 ? ", {" : "{", stdout);
        key_number("speed", (double)s->use.duty[i].speed);
        key_number("time", s->use.duty[i].time);
        key_number("load", s->use.duty[i].load);
        (void)fputs("\"_\": 0}", stdout);
    }
    (void)fputs("]}, \"valve\": {", stdout);
    key_number("area", s->bypass_part.area);
    key_number("starts", s->bypass_part.has_actuator ? s->bypass_part.actuator.starts : INFINITY);
    key_worth("worth", &s->bypass_part.worth);
    (void)fputs("\"_\": 0}, \"base\": {", stdout);
    key_worth("worth", &s->base.worth);
    key_worth("pulley", &s->base.pulley);
    key_worth("manifold", &s->base.manifold);
    key_number("manifold_pressure", s->base.manifold_pressure);
    key_number("manifold_temperature", s->base.manifold_temperature);
    (void)fputs("\"_\": 0}, \"weights\": {", stdout);
    key_number("power", s->weights.power);
    key_number("price", s->weights.price);
    key_number("mass", s->weights.mass);
    key_number("charge_temperature", s->weights.charge_temperature);
    (void)fputs("\"_\": 0}, ", stdout);
}

/* What ties the closed cycle to the stock torque, at each speed. */
static void stock_cycles(const struct shv_model *model, size_t speeds)
{
    (void)fputs("\"tie\": [", stdout);
    for (size_t i = 0; i < speeds; i++) {
        (void)fputs(i > 0 ? ", " : "", stdout);
        number(shv_model_tie_factor(model, i));
    }
    (void)fputs("], \"delay_factor\": [", stdout);
    for (size_t i = 0; i < speeds; i++) {
        (void)fputs(i > 0 ? ", " : "", stdout);
        number(shv_model_delay_factor(model, i));
    }
    (void)fputs("], \"stock_cycle\": [", stdout);
    for (size_t i = 0; i < speeds; i++) {
        struct shv_cycle_result r;
        if (!shv_model_stock_cycle(model, i, &r))
            break;
        (void)fputs(i > 0 ? ", {" : "{", stdout);
#define F(name) key_number(#name, r.name);
        STOCK_FIELDS(F)
#undef F
        (void)fputs("\"_\": 0}", stdout);
    }
    (void)fputs("], ", stdout);
}

static void study_json(const struct shv_study *s, const struct shv_model *model,
                       const struct shv_space *space)
{
    static const char *const objective[] = {[SHV_OBJECTIVE_PEAK_POWER] = "peak_power",
                                            [SHV_OBJECTIVE_MEAN_POWER] = "mean_power",
                                            [SHV_OBJECTIVE_TORQUE] = "torque",
                                            [SHV_OBJECTIVE_LEAST_PRICE] = "least_price",
                                            [SHV_OBJECTIVE_POWER_PER_PRICE] = "power_per_price",
                                            [SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE] =
                                                "least_charge_temperature",
                                            [SHV_OBJECTIVE_WEIGHTED] = "weighted"};
    (void)putchar('{');
    key_string("title", s->title);
    (void)fputs("\"air\": {", stdout);
    key_string("model", s->air.kind == SHV_AIR_CONSTANT ? "constant" : "nasa");
    key_number("gas_constant", s->air.gas_constant);
    key_number("heat_capacity", s->air.heat_capacity);
    key_number("gamma", s->air.gamma);
    (void)fputs("\"_\": 0}, ", stdout);
    engine(&s->engine);
    key_loss("intake", &s->intake);
    (void)fputs("\"drive\": {", stdout);
    key_numbers("crank_pulleys", s->numbers[SHV_DIM_CRANK_PULLEY].count,
                s->numbers[SHV_DIM_CRANK_PULLEY].values);
    key_numbers("blower_pulleys", s->numbers[SHV_DIM_BLOWER_PULLEY].count,
                s->numbers[SHV_DIM_BLOWER_PULLEY].values);
    key_number("creep", s->drive.creep);
    key_number("efficiency", s->drive.efficiency);
    key_number("line_offset", s->drive.line_offset);
    (void)fputs("\"_\": 0}, \"corrections\": {", stdout);
    for (int i = 0; s->corrected && i < SHV_CORRECTION_COUNT; i++) {
        key_number(shv_correction_info((enum shv_correction)i)->name, s->corrections.value[i]);
    }
    (void)fputs("\"_\": 0}, \"bypass\": {", stdout);
    key_number("bleed_above", s->bypass.bleed_above);
    key_string("bleed_to", s->bypass.bleed_to == SHV_BLEED_TO_ATMOSPHERE ? "atmosphere" : "inlet");
    (void)fputs("\"_\": 0}, \"sites\": [", stdout);
    for (size_t i = 0; i < s->site_count; i++) {
        (void)fputs(i > 0 ? ", {" : "{", stdout);
        key_ambient("ambient", &s->sites[i].ambient);
        (void)fputs("\"weight\": ", stdout);
        number(s->sites[i].weight);
        (void)putchar('}');
    }
    (void)fputs("], \"blowers\": [", stdout);
    for (size_t i = 0; i < s->blower_count; i++) {
        (void)fputs(i > 0 ? ", " : "", stdout);
        blower(&s->blowers[i]);
    }
    (void)fputs("], \"coolers\": [", stdout);
    for (size_t i = 0; i < s->cooler_count; i++) {
        (void)fputs(i > 0 ? ", " : "", stdout);
        cooler(&s->coolers[i]);
    }
    (void)fputs("], \"fuels\": [", stdout);
    for (size_t i = 0; i < s->fuel_count; i++) {
        (void)fputs(i > 0 ? ", {" : "{", stdout);
#define F(name) key_number(#name, s->fuels[i].name);
        FUEL_FIELDS(F)
#undef F
        (void)fputs("\"_\": 0}", stdout);
    }
    (void)fputs("], ", stdout);
    key_numbers("lambdas", s->numbers[SHV_DIM_LAMBDA].count, s->numbers[SHV_DIM_LAMBDA].values);
    key_numbers("ignition_margins", s->numbers[SHV_DIM_IGNITION_MARGIN].count,
                s->numbers[SHV_DIM_IGNITION_MARGIN].values);
    supply(s);
    hardware(s);
    stock_cycles(model, s->engine.speed_count);
    key_table("retard_curve", &s->retard_curve);
    (void)fputs("\"limits\": {", stdout);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++)
        key_number(shv_limit_info((enum shv_limit)i)->name, s->limit[i]);
    (void)fputs("\"_\": 0}, \"objective\": {", stdout);
    key_string("kind", objective[s->objective.kind]);
    key_number("from", s->objective.from);
    key_number("to", s->objective.to);
    key_number("at", s->objective.at);
    key_string("over_sites", s->objective.over_sites == SHV_OVER_SITES_WORST ? "worst" : "mean");
    (void)fputs("\"_\": 0}, \"tied_efficiency\": [", stdout);
    for (size_t i = 0; i < s->engine.speed_count; i++) {
        (void)fputs(i > 0 ? ", " : "", stdout);
        number(shv_model_tied_efficiency(model, i));
    }
    (void)fputs("], \"space\": [", stdout);
    for (int i = 0; i < SHV_DIM_COUNT; i++)
        (void)printf("%s%" PRIu64, i > 0 ? ", " : "", space->count[i]);
    (void)printf("], \"size\": %" PRIu64 "}\n", space->size);
}

/* Names of the columns, in three lines: of a point, of a verdict, and of the limits. */
static void fields(void)
{
    (void)fputs("site speed outcome bypass_open bleeding", stdout);
#define F(name) (void)fputs(" " #name, stdout);
    POINT_FIELDS(F)
    (void)fputs(" mass_balance blower_balance cooler_balance total_balance\n"
                "outcome failed_site failed_speed feasible broken first_broken binding objective",
                stdout);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const char *limit = shv_limit_info((enum shv_limit)i)->name;
#undef F
#define F(name) (void)printf(" %s." #name, limit);
        LIMIT_FIELDS(F)
        (void)printf(" %s.site %s.speed", limit, limit);
    }
#undef F
#define F(name) (void)fputs(" hardware." #name, stdout);
    HARDWARE_FIELDS(F)
#undef F
    static const char *const valve[] = {"open", "shut"};
    for (size_t i = 0; i < sizeof valve / sizeof valve[0]; i++) {
        (void)printf(" %s.outcome", valve[i]);
#define F(name) (void)printf(" %s." #name, valve[i]);
        CRUISE_FIELDS(F)
#undef F
    }
#define F(name) (void)fputs(" cost." #name, stdout);
    COST_FIELDS(F)
#undef F
    (void)putchar('\n');
}

static void hardware_text(const struct shv_hardware *h)
{
#define F(name)                                                                                    \
    (void)putchar(' ');                                                                            \
    number(h->name);
    HARDWARE_FIELDS(F)
#undef F
    const struct shv_bypass_state *const state[] = {&h->cruise_open, &h->cruise_shut};
    for (size_t i = 0; i < sizeof state / sizeof state[0]; i++) {
        (void)printf(" %d", (int)state[i]->outcome);
#define F(name)                                                                                    \
    (void)putchar(' ');                                                                            \
    number(state[i]->name);
        CRUISE_FIELDS(F)
#undef F
    }
#define F(name)                                                                                    \
    (void)putchar(' ');                                                                            \
    number(h->cruise_cost.name);
    COST_FIELDS(F)
#undef F
}

static void curves_text(const struct shv_model *model, const struct shv_curves *curves)
{
    for (size_t site = 0; site < curves->sites; site++) {
        for (size_t speed = 0; speed < curves->speeds; speed++) {
            const struct shv_point *p = &curves->point[site * curves->speeds + speed];
            struct balance balance = {NAN, NAN, NAN, NAN};
            if (p->outcome == SHV_POINT_OK)
                model_balance(model, site, p, &balance);
            (void)printf("%zu %zu %d %d %d", site, speed, (int)p->outcome, (int)p->bypass_open,
                         (int)p->bleeding);
#define F(name)                                                                                    \
    (void)putchar(' ');                                                                            \
    number(p->name);
            POINT_FIELDS(F)
#undef F
            const double left[] = {balance.mass, balance.blower_energy, balance.cooler_energy,
                                   balance.total_energy};
            for (size_t i = 0; i < sizeof left / sizeof left[0]; i++) {
                (void)putchar(' ');
                number(left[i]);
            }
            (void)putchar('\n');
        }
    }
    const struct shv_verdict *v = &curves->verdict;
    (void)printf("%d %zu %zu %d %" PRIu64 " %d %d ", (int)v->outcome, v->failed_site,
                 v->failed_speed, (int)v->feasible, v->broken, v->first_broken, v->binding);
    number(v->objective);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_result *r = &v->limit[i];
#define F(name)                                                                                    \
    (void)putchar(' ');                                                                            \
    number(r->name);
        LIMIT_FIELDS(F)
#undef F
        (void)printf(" %zu %zu", r->site, r->speed);
    }
    hardware_text(&curves->hardware);
    (void)putchar('\n');
}

/* Reads one kit. Returns 1, 0 at the end of the input, -1 when the line makes no sense. */
static int read_kit(const struct shv_study *study, const struct shv_space *space,
                    struct shv_kit *kit)
{
    char line[LINE_ROOM];
    uint64_t index;
    if (fgets(line, sizeof line, stdin) == NULL)
        return 0;
    if (sscanf(line, "index %" SCNu64, &index) == 1) {
        if (index >= space->size)
            return -1;
        shv_space_kit(space, study, index, kit);
        return 1;
    }
    if (sscanf(line, "kit %zu %lf %lf %lf %zu %lf %zu %lf %lf %zu %lf %zu %lf %lf", &kit->blower,
               &kit->crank_diameter, &kit->blower_diameter, &kit->ratio, &kit->cooler,
               &kit->effectiveness, &kit->fuel, &kit->lambda, &kit->ignition_margin, &kit->injector,
               &kit->injector_flow, &kit->pump, &kit->ribs, &kit->wrap) != 14)
        return -1;
    if (kit->blower >= study->blower_count || kit->cooler >= study->cooler_count ||
        kit->fuel >= study->fuel_count || kit->injector >= study->injector_count ||
        kit->pump >= study->pump_count)
        return -1;
    return 1;
}

static int evaluate_kits(const struct shv_model *model, const struct shv_space *space,
                         struct shv_curves *curves, bool plain)
{
    struct shv_kit kit;
    int got;
    while ((got = read_kit(shv_model_study(model), space, &kit)) == 1) {
        if (plain)
            shv_model_evaluate_plain(model, &kit, curves);
        else
            shv_model_evaluate(model, &kit, curves);
        curves_text(model, curves);
    }
    if (got < 0) {
        (void)fputs("sheave_dump: a line of the input is not a kit of this study\n", stderr);
        return EXIT_FAILURE;
    }
    return EXIT_SUCCESS;
}

/* A slice of the space as the sweep finds it. */
static int sweep_text(const struct shv_model *model, const struct shv_space *space,
                      const char *from, const char *how_many)
{
    struct shv_message message = {""};
    struct shv_lanes *lanes = NULL;
    const uint64_t first = strtoull(from, NULL, 10), count = strtoull(how_many, NULL, 10);
    const bool inside =
        count <= SHV_AIR_MAX && first <= space->air_size && count <= space->air_size - first;
    struct shv_brief *brief = inside ? calloc(count * space->fuel_size + 1, sizeof *brief) : NULL;
    const bool good = brief != NULL && shv_lanes_create(model, &lanes, &message) == SHV_OK;
    if (good) {
        shv_lanes_evaluate(model, space, lanes, first, count, brief);
        for (uint64_t i = 0; i < count * space->fuel_size; i++) {
            (void)printf("%d %" PRIu64 " ", (int)brief[i].outcome, brief[i].broken);
            number(brief[i].objective);
            (void)putchar('\n');
        }
    } else {
        (void)fprintf(stderr, "sheave_dump: no such slice %s\n", message.text);
    }
    shv_lanes_free(lanes);
    free(brief);
    return good ? EXIT_SUCCESS : EXIT_FAILURE;
}

static bool write_numbers(FILE *out, size_t count, const double *values)
{
    return fwrite(values, sizeof *values, count, out) == count;
}

/* Axes and errors of a table to stdout, its numbers to `out`. */
static bool table_json(const struct shv_cycle_table *t, struct shv_table_place place,
                       const struct shv_cycle_table_spec *spec, FILE *out)
{
    size_t motored = t->speed_count;
    (void)printf("{\"site\": %zu, \"fuel\": %zu, \"lambda\": %zu, ", place.site, place.fuel,
                 place.lambda);
    key_numbers("speeds", t->speed_count, t->speeds);
    key_number("exhaust_pressure", spec->exhaust_pressure);
    key_number("humidity_ratio", spec->at.humidity_ratio);
    key_number("best_ca50", t->best_ca50);
    key_number("log_allowed", t->log_allowed);
    (void)fputs("\"axes\": [", stdout);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        const struct shv_cycle_axis *a = &t->axis[d];
        (void)fputs(d > 0 ? ", {" : "{", stdout);
        key_number("origin", a->origin);
        key_number("per_unit", a->per_unit);
        key_number("least", a->least);
        key_number("most", a->most);
        (void)printf("\"nodes\": %zu}", a->nodes);
        motored *= d < SHV_CYCLE_CA50 ? a->nodes + 2 : 1;
    }
    size_t volumes = motored * SHV_CYCLE_ROWS(t->axis[SHV_CYCLE_CA50].nodes) * SHV_CYCLE_FIELDS;
    (void)fputs("], \"error\": {", stdout);
#define F(name) key_number(#name, t->quality.random.name);
    ERROR_FIELDS(F)
#undef F
    (void)fputs("\"_\": 0}}", stdout);
    return write_numbers(out, motored, t->motored) && write_numbers(out, volumes, t->volumes);
}

static int write_tables(const struct shv_model *model, const char *path)
{
    FILE *out = fopen(path, "wb");
    bool good = out != NULL;
    (void)fputs("{\"tables\": [", stdout);
    for (size_t i = 0; good && i < shv_model_table_count(model); i++) {
        struct shv_cycle_table_spec spec;
        shv_model_table_spec(model, i, &spec);
        (void)fputs(i > 0 ? ", " : "", stdout);
        good = table_json(shv_model_table(model, i), shv_model_table_place(model, i), &spec, out);
    }
    (void)fputs("]}\n", stdout);
    if (out != NULL && fclose(out) != 0)
        good = false;
    if (!good)
        (void)fprintf(stderr, "sheave_dump: %s cannot be written\n", path);
    return good ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* Without a folder the closed cycle runs directly. `more` are the arguments after FILE, NULL where
 * there are none. */
static int run(const char *command, const struct shv_study *study, const char *const more[2])
{
    const char *folder = strcmp(command, "sweep") == 0 ? NULL : more[0], *out = more[1];
    struct shv_message message = {""};
    const struct shv_tables_options tables = {.folder = folder};
    struct shv_model *model = NULL;
    struct shv_space space;
    struct shv_curves curves = {0};
    int code = EXIT_FAILURE;
    if (shv_space_init(&space, study, &message) != SHV_OK ||
        shv_model_create(study, &model, &message) != SHV_OK ||
        (folder != NULL && shv_tables_prepare(model, &tables, NULL, &message) != SHV_OK) ||
        shv_curves_init(&curves, model, &message) != SHV_OK) {
        (void)fprintf(stderr, "sheave_dump: %s\n", message.text);
    } else if (strcmp(command, "study") == 0) {
        study_json(study, model, &space);
        code = EXIT_SUCCESS;
    } else if (strcmp(command, "tables") == 0) {
        code = write_tables(model, out);
    } else if (strcmp(command, "sweep") == 0 && more[0] != NULL && more[1] != NULL) {
        code = sweep_text(model, &space, more[0], more[1]);
    } else if (strcmp(command, "stock") == 0) {
        shv_model_evaluate_stock(model, &curves);
        curves_text(model, &curves);
        code = EXIT_SUCCESS;
    } else {
        code = evaluate_kits(model, &space, &curves, strcmp(command, "plain") == 0);
    }
    shv_curves_free(&curves);
    shv_model_free(model);
    return code;
}

int main(int argc, char **argv)
{
    /* Commands and how many arguments they take, FILE and FOLDER among them. */
    static const struct {
        const char *name;
        int least, most;
    } commands[] = {{"study", 1, 1}, {"fast", 1, 2},   {"plain", 1, 2},
                    {"stock", 1, 1}, {"tables", 3, 3}, {"sweep", 3, 3}};
    if (argc == 2 && strcmp(argv[1], "fields") == 0) {
        fields();
        return EXIT_SUCCESS;
    }
    bool known = false;
    for (size_t i = 0; argc > 2 && i < sizeof commands / sizeof commands[0]; i++)
        known = known || (strcmp(argv[1], commands[i].name) == 0 && argc - 2 >= commands[i].least &&
                          argc - 2 <= commands[i].most);
    if (!known) {
        (void)fputs("usage: sheave_dump study|stock FILE; sheave_dump fast|plain FILE [FOLDER]; "
                    "sheave_dump tables FILE FOLDER OUT; sheave_dump sweep FILE FIRST COUNT; "
                    "sheave_dump fields\n",
                    stderr);
        return EXIT_USAGE;
    }
    struct shv_study study = {0};
    struct shv_diagnostics diagnostics = {0};
    const enum shv_status status = shv_study_load(argv[2], &study, &diagnostics);
    for (size_t i = 0; i < diagnostics.count; i++)
        (void)fprintf(stderr, "%s\n", diagnostics.items[i].text);
    shv_diagnostics_free(&diagnostics);
    int code = EXIT_FAILURE;
    const char *const more[2] = {argc > 3 ? argv[3] : NULL, argc > 4 ? argv[4] : NULL};
    if (status == SHV_OK)
        code = run(argv[1], &study, more);
    shv_study_free(&study);
    return code;
}
