/* Which setups of a blower and fuel the search looks at: src/search/setups.h. */
#include "search/setups.h"

#include <math.h>

/* Setups whose best in the sweep falls short of the best by more than this share of it are left
 * out: pulleys and cores of a list stand a few per cent apart, and so do what they make. */
#define NEAR_THE_FRONT 0.05

/* Volume of test fluid that an injector passes at the rail's pressure, at the highest speed and its
 * largest duty; without a bound when it stands for none. */
static double injector_capacity(const struct shv_study *study, const struct shv_injector_part *part,
                                double flow)
{
    if (part->is_unlimited) {
        return INFINITY;
    }
    double speed = study->engine.speeds[study->engine.speed_count - 1];
    double duty = fmin(part->max_duty, study->limit[SHV_LIMIT_INJECTOR_DUTY]);
    return flow * sqrt(part->test_density * study->rail.pressure / part->rated_pressure) *
           fmax(0.0, duty - part->dead_time * speed / 2.0);
}

/* What a pump gives at the highest pressure that boost can ask of it. */
static double pump_capacity(const struct shv_study *study, const struct shv_pump_part *part)
{
    if (part->is_unlimited) {
        return INFINITY;
    }
    const struct shv_curve_table *curve = &part->pump.flow;
    double pressure = study->rail.pressure + part->pump.line_loss;
    if (study->rail.reference == SHV_RAIL_MANIFOLD && isfinite(study->limit[SHV_LIMIT_BOOST])) {
        pressure += study->limit[SHV_LIMIT_BOOST];
    }
    return pressure <= curve->x[curve->count - 1] ? shv_curve_table_at(curve, pressure) : 0.0;
}

/* Injectors and pump cost no power, so the ideal has those that carry most. */
void setups_most_fuel(const struct shv_study *study, struct shv_kit *kit)
{
    double most = -1.0;
    for (size_t i = 0; i < study->injector_count; i++) {
        const struct shv_injector_part *part = &study->injectors[i];
        double flow = shv_numbers_last(&part->rated_flow);
        double capacity = injector_capacity(study, part, flow);
        if (capacity > most) {
            most = capacity;
            kit->injector = i;
            kit->injector_flow = flow;
        }
    }
    most = -1.0;
    for (size_t i = 0; i < study->pump_count; i++) {
        double capacity = pump_capacity(study, &study->pumps[i]);
        if (capacity > most) {
            most = capacity;
            kit->pump = i;
        }
    }
}

bool setups_crank_matters(const struct shv_study *study)
{
    return study->drive.belt.given || !isinf(study->limit[SHV_LIMIT_BELT_SPEED]) ||
           !isinf(study->limit[SHV_LIMIT_PULLEY_DIAMETER]);
}

void setups_on_crank(const struct shv_study *study, size_t crank, struct search_task *task)
{
    const struct shv_numbers *n = study->numbers;
    bool belt = study->drive.belt.given;
    task->kit.crank_diameter =
        setups_crank_matters(study) ? n[SHV_DIM_CRANK_PULLEY].values[crank] : NAN;
    task->kit.ribs = belt ? shv_numbers_last(&n[SHV_DIM_RIBS]) : 0.0;
    task->kit.wrap = belt ? shv_numbers_last(&n[SHV_DIM_WRAP]) : 0.0;
    search_task_of(study, &task->kit, task);
}

/* The setup of a real kit, with the supply that carries most fuel. */
static void task_of_kit(const struct shv_study *study, const struct shv_space *space,
                        uint64_t index, struct search_task *task)
{
    uint64_t choice[SHV_DIM_COUNT];
    shv_space_split(space, index, choice);
    *task = (struct search_task){.ratio_low = NAN};
    shv_space_kit(space, study, index, &task->kit);
    setups_most_fuel(study, &task->kit);
    setups_on_crank(study, (size_t)choice[SHV_DIM_CRANK_PULLEY], task);
}

size_t setups_near(const struct shv_study *study, const struct shv_space *space,
                   const struct shv_near *near, struct search_task task[SHV_NEAR_MOST])
{
    size_t count = 0;
    for (size_t i = 0; i < near->count; i++) {
        const struct shv_candidate *c = &near->item[i].candidate;
        double best = near->item[0].candidate.objective;
        if (best - c->objective <= NEAR_THE_FRONT * fabs(best)) {
            task_of_kit(study, space, c->index, &task[count++]);
        }
    }
    return count;
}

/* Number `i` of `most` spread evenly over a list. */
static size_t spread(size_t i, size_t most, size_t count)
{
    return count <= most || most == 1 ? i : i * (count - 1) / (most - 1);
}

static size_t least_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

size_t setups_blind(const struct shv_study *study, size_t blower, size_t fuel,
                    struct search_task task[SETUPS_BLIND_MOST])
{
    size_t coolers = least_of(study->cooler_count, SETUPS_COOLERS);
    size_t lambdas = least_of(study->numbers[SHV_DIM_LAMBDA].count, SETUPS_LAMBDAS);
    size_t margins = least_of(study->numbers[SHV_DIM_IGNITION_MARGIN].count, SETUPS_MARGINS);
    size_t cranks = setups_crank_matters(study)
                        ? least_of(study->numbers[SHV_DIM_CRANK_PULLEY].count, SETUPS_CRANKS)
                        : 1;
    struct shv_kit kit = {.blower = blower, .fuel = fuel, .ratio = NAN, .effectiveness = NAN};
    size_t count = coolers * lambdas * margins * cranks;
    setups_most_fuel(study, &kit);
    for (size_t i = 0; i < count; i++) {
        size_t crank =
            spread(i % cranks, SETUPS_CRANKS, study->numbers[SHV_DIM_CRANK_PULLEY].count);
        size_t rest = i / cranks;
        size_t margin =
            spread(rest % margins, SETUPS_MARGINS, study->numbers[SHV_DIM_IGNITION_MARGIN].count);
        size_t lambda =
            spread(rest / margins % lambdas, SETUPS_LAMBDAS, study->numbers[SHV_DIM_LAMBDA].count);
        kit.cooler = spread(rest / margins / lambdas, SETUPS_COOLERS, study->cooler_count);
        kit.lambda = study->numbers[SHV_DIM_LAMBDA].values[lambda];
        kit.ignition_margin = study->numbers[SHV_DIM_IGNITION_MARGIN].values[margin];
        task[i].kit = kit;
        setups_on_crank(study, crank, &task[i]);
    }
    return count;
}
