/* The blower by itself: docs/model.md, section 3. The match uses the same inline code (path.h). */
#include "sheave/blower.h"

#include <math.h>

#include "model/path/solve.h"

double shv_blower_work_per_revolution(double displacement, double volume_ratio, double gamma,
                                      double inlet_pressure, double outlet_pressure)
{
    double g1 = gamma - 1.0;
    double inside = (shv_pow(volume_ratio, g1) - 1.0) / g1 - 1.0;
    return displacement * (inlet_pressure * inside + outlet_pressure / volume_ratio);
}

struct bench {
    const struct path_shared *s;
    const struct path_lane *l;
    struct path_inlet inlet;
    double p2;
    struct path_out out;
};

static void run_bench(struct bench *b, double flow)
{
    b->out.p1 = b->s->p0;
    if (b->s->is_map) {
        struct map_value v =
            map_at(&b->s->blower->map, b->l->rotor_speed, b->inlet.t1, b->p2 / b->out.p1);
        path_map(b->s, b->l, &b->inlet, v, flow, b->p2, &b->out);
    } else {
        path_geometry(b->s, b->l, &b->inlet, flow, b->p2, &b->out);
    }
}

static double bench_gap(void *data, double flow)
{
    struct bench *b = data;
    run_bench(b, flow);
    return b->out.blower_flow - flow;
}

void shv_blower_state(const struct shv_blower *blower, const struct shv_gas *gas,
                      double inlet_pressure, double inlet_temperature, double speed,
                      double outlet_pressure, struct shv_blower_state *state)
{
    struct path_shared s = {.gas = *gas,
                            .p0 = inlet_pressure,
                            .t0 = inlet_temperature,
                            .h0 = gas_enthalpy(gas, inlet_temperature)};
    path_take_blower(&s, blower);
    struct rotor rotor = rotor_of(blower, speed);
    struct path_lane l = {.rotor_speed = speed,
                          .swept = rotor.swept,
                          .fill_volume = rotor.fill_volume,
                          .windage = rotor.windage};
    struct bench b = {.s = &s,
                      .l = &l,
                      .inlet = path_inlet_of(&s, inlet_temperature, s.h0),
                      .p2 = outlet_pressure};
    double density = shv_gas_density(gas, inlet_pressure, inlet_temperature);
    double flow = bracket_flow(bench_gap, &b, 1.6 * l.swept * density);
    run_bench(&b, flow);
    double pressure_ratio = outlet_pressure / inlet_pressure;
    double ideal = gas_enthalpy(gas, gas_isentropic(gas, inlet_temperature, pressure_ratio)) - s.h0;
    *state =
        (struct shv_blower_state){.flow = flow,
                                  .filled_flow = b.out.blower_flow + b.out.leakage,
                                  .leakage_flow = b.out.leakage,
                                  .discharge_temperature = b.out.t2,
                                  .gas_power = b.out.gas_power,
                                  .friction_power = rotor.bearing,
                                  .windage_power = l.windage,
                                  .case_heat = (1.0 - s.kept_heat) * (b.out.gas_power + l.windage),
                                  .clearance_left = b.out.clearance};
    state->shaft_power = state->gas_power + state->friction_power + state->windage_power;
    state->volumetric_efficiency = flow / (density * l.swept);
    state->isentropic_efficiency = flow * ideal / state->shaft_power;
    if (s.is_map) {
        state->outside_map = map_at(&blower->map, speed, inlet_temperature, pressure_ratio).outside;
    }
}
