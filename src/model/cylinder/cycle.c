/* One closed cycle with its residual gas, exhaust and results: docs/model.md, sections 8.9
 * and 8.10. */
#include "model/cylinder/cycle_internal.h"

/* Gas at exhaust opening, burned as far as it is. */
static struct cgas gas_at_end(const struct cycle_charge *q, const struct cycle_end *end)
{
    return cgas_blend(&q->unburned, 1.0, &q->change, end->burned);
}

/* Between exhaust opening and bottom dead centre. */
static double blowdown_work(const struct cycle *c, const struct cycle_end *end)
{
    double pe = c->in.at->exhaust_pressure;
    double p = pe + c->in.engine->blowdown_share * (end->pressure - pe);
    return p * (c->clearance + c->swept - end->volume);
}

/* Energy balance from exhaust opening to the end of the exhaust stroke: what left carries the
 * enthalpy that the gas in the cylinder has lost, less work (Heywood 1988, section 6.5). */
static double exhaust_temperature(const struct cycle *c, const struct cycle_charge *q,
                                  const struct cycle_end *end, double residual_temperature)
{
    struct cgas g = gas_at_end(q, end);
    double pe = c->in.at->exhaust_pressure;
    double kept = pe * c->clearance / (g.r * residual_temperature);
    double left = q->mass - kept;
    double work = blowdown_work(c, end) - pe * c->swept;
    double enthalpy = q->mass * cgas_energy(&g, end->temperature) -
                      kept * cgas_energy(&g, residual_temperature) - work;
    return cgas_temperature_of(&g, enthalpy / left, end->temperature);
}

/* What stays in the cylinder expands isentropically to exhaust pressure (Heywood 1988,
 * section 5.4). */
static double residual_temperature(const struct cycle *c, const struct cycle_charge *q,
                                   const struct cycle_end *end)
{
    struct cgas g = gas_at_end(q, end);
    return cgas_isentropic(&g, end->temperature, c->in.at->exhaust_pressure / end->pressure);
}

static void set_work(const struct cycle *c, const struct cycle_charge *q,
                     const struct cycle_end *end, struct shv_cycle_result *r)
{
    double fuel_heat = q->fuel_mass * c->in.fuel->heating_value;
    r->closed_work = end->work;
    r->gross_work =
        end->work + blowdown_work(c, end) - q->pressure * (c->clearance + c->swept - c->ivc_volume);
    r->imep = r->gross_work / c->swept;
    r->wall_heat = end->wall_heat;
    r->heat_released = q->release * end->burned;
    r->gross_efficiency = fuel_heat > 0.0 ? r->gross_work / fuel_heat : NAN;
    r->heat_loss_share = fuel_heat > 0.0 ? end->wall_heat / fuel_heat : NAN;
    r->energy_drift = fuel_heat > 0.0 ? end->drift / r->heat_released : NAN;
}

static struct shv_cycle_result result_of(const struct cycle *c, const struct cycle_charge *q,
                                         const struct cycle_end *end, double ca50)
{
    struct shv_cycle_result r = {
        .outcome = SHV_CYCLE_DONE,
        .peak_pressure = end->peak_pressure,
        .peak_angle = end->peak_angle,
        .peak_temperature = end->peak_temperature,
        .ca50 = ca50,
        .knock_integral = end->knock_integral,
        .octane = end->octane,
        .end_gas_temperature = end->end_gas_temperature,
        .residual_share = q->residual_share,
        .residual_temperature = q->residual_temperature,
        .ivc_pressure = q->pressure,
        .ivc_temperature = q->temperature,
        .evo_pressure = end->pressure,
        .evo_temperature = end->temperature,
        .trapped_mass = q->mass,
        .fuel_mass = q->fuel_mass,
        .burn_duration = end->duration,
        .burn_velocity = end->velocity,
    };
    set_work(c, q, end, &r);
    r.exhaust_temperature = exhaust_temperature(c, q, end, residual_temperature(c, q, end));
    return r;
}

static struct shv_cycle_result no_answer(double ca50, int cycles)
{
    return (struct shv_cycle_result){
        .outcome = SHV_CYCLE_NO_ANSWER,
        .gross_efficiency = NAN,
        .gross_work = NAN,
        .imep = NAN,
        .peak_pressure = NAN,
        .peak_angle = NAN,
        .peak_temperature = NAN,
        .exhaust_temperature = NAN,
        .ca50 = ca50,
        .knock_integral = NAN,
        .octane = NAN,
        .end_gas_temperature = NAN,
        .heat_loss_share = NAN,
        .residual_share = NAN,
        .residual_temperature = NAN,
        .ivc_pressure = NAN,
        .ivc_temperature = NAN,
        .evo_pressure = NAN,
        .evo_temperature = NAN,
        .trapped_mass = NAN,
        .fuel_mass = NAN,
        .heat_released = NAN,
        .wall_heat = NAN,
        .closed_work = NAN,
        .burn_duration = NAN,
        .burn_velocity = NAN,
        .energy_drift = NAN,
        .cycles = cycles,
    };
}

#define ROUNDS_MOST 30
#define RESIDUAL_ENOUGH 1e-6 /* K */

/* Whether the residual temperature is to be found. Without residual gas it has no effect. */
static bool iterates(const struct cycle *c)
{
    return c->in.at->residual_temperature == 0.0 && c->in.at->residual_share != 0.0;
}

/* The residual temperature must be the one that the cycle ends with: secant, which takes three or
 * four cycles, since what goes in hardly moves what comes out. */
struct shv_cycle_result cycle_solve(const struct cycle *c, double ca50, double guess)
{
    double given = c->in.at->residual_temperature;
    double t = given > 0.0 ? given : guess, last_t = 0.0, last_gap = 0.0;
    for (int i = 1; i <= ROUNDS_MOST; i++) {
        struct cycle_charge q = cycle_charge_of(c, t);
        if (!q.found) {
            return no_answer(ca50, i);
        }
        struct cycle_end end = cycle_steps(c, &q, ca50, NULL);
        if (!end.valid) {
            return no_answer(ca50, i);
        }
        double gap = iterates(c) ? residual_temperature(c, &q, &end) - t : 0.0;
        if (fabs(gap) <= RESIDUAL_ENOUGH) {
            struct shv_cycle_result r = result_of(c, &q, &end, ca50);
            r.cycles = i;
            return r;
        }
        double next = i == 1 ? t + gap : t - gap * (t - last_t) / (gap - last_gap);
        last_t = t;
        last_gap = gap;
        t = shv_min(shv_max(next, 300.0), 3000.0);
    }
    return no_answer(ca50, ROUNDS_MOST);
}

/* Burning must fall between the valves. */
enum shv_status cycle_check_phasing(const struct cycle *c, double ca50, struct shv_message *message)
{
    const struct shv_cycle_engine *e = c->in.engine;
    double start = ca50 - c->half_share * c->duration;
    if (start <= e->inlet_closing || start >= e->exhaust_opening) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "closed cycle: with half of the fuel burned at %g deg and a duration of %g "
                        "deg, burning starts at %g deg; accepted: between inlet closing, %g, and "
                        "exhaust opening, %g",
                        ca50, c->duration, start, e->inlet_closing, e->exhaust_opening);
    }
    return SHV_OK;
}

enum shv_status shv_cycle_run(const struct shv_cycle_engine *engine,
                              const struct shv_cycle_fuel *fuel,
                              const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                              const struct shv_cycle_trace *trace, struct shv_cycle_result *result,
                              struct shv_message *message)
{
    struct cycle_inputs in = {engine, fuel, knock, at};
    struct cycle c;
    enum shv_status status = cycle_check(&in, message);
    if (status != SHV_OK) {
        return status;
    }
    cycle_prepare(&c, &in);
    status = cycle_check_phasing(&c, at->ca50, message);
    if (status != SHV_OK) {
        return status;
    }
    *result = cycle_solve(&c, at->ca50, CYCLE_FIRST_GUESS);
    if (trace && result->outcome == SHV_CYCLE_DONE) {
        struct cycle_charge q = cycle_charge_of(&c, result->residual_temperature);
        (void)cycle_steps(&c, &q, at->ca50, trace);
    }
    return SHV_OK;
}
