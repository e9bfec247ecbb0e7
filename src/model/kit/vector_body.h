/* Body of the vector loops; included once per instruction set with LOOPS_NAME and LOOPS_SET
 * defined. Not a header to include elsewhere. */
#include "model/kit/lane_step.h"
#include "model/kit/vector_loops.h"

static void map_ratio(struct lane_block *b, const struct path_shared *s, size_t width)
{
    const struct path_shared shared = *s;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        b->map_ratio[i] = lane_ratio(&shared, b->scale[i], b->u[i], b->v[i]);
    }
}

static void map_move(struct lane_block *b, const struct path_shared *s, size_t width)
{
    const struct path_shared shared = *s;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        struct lane_move move = lane_move_of(b, i);
        b->du[i] = move.du;
        b->dv[i] = move.dv;
        b->map_ratio[i] = lane_ratio(&shared, b->scale[i], b->u[i] + move.du, b->v[i] + move.dv);
    }
}

/* Logarithm and exponential of the lookup run over the lanes; what is between runs over the numbers
 * of one lane. */
static void burn(const struct burn_case *c, const struct burn_lanes *lanes, size_t count)
{
    const struct shv_cycle_axis *axis = &c->table->axis[SHV_CYCLE_PRESSURE];
    double log_pm[SHV_LANES_MAX], log_peak[SHV_LANES_MAX];
#pragma omp simd
    for (size_t i = 0; i < count; i++) {
        log_pm[i] = cycle_log_pressure(axis, lanes->pm[i]);
    }
    for (size_t i = 0; i < count; i++) {
        log_peak[i] = NAN;
        if (lanes->dead[i]) {
            continue;
        }
        struct cycle_found v =
            cycle_find(c->table, c->speed, lanes->pm[i], log_pm[i], lanes->tm[i], &c->wish);
        lanes->efficiency[i] = v.gross_efficiency;
        log_peak[i] = v.log_peak;
        lanes->wanted_ca50[i] = v.wanted_ca50;
        lanes->exhaust_temperature[i] = v.exhaust_temperature;
        lanes->answered[i] = burn_has_answer(v.outcome);
    }
#pragma omp simd
    for (size_t i = 0; i < count; i++) {
        lanes->peak_pressure[i] = shv_exp(log_peak[i]);
    }
}

/* One loop under a name of its own, with the class as a constant that the compiler folds away. */
#define LANE_LOOP(name, class, lane)                                                               \
    static void name(struct lane_block *b, const struct path_shared *s,                            \
                     const struct path_inlet *in, size_t width)                                    \
    {                                                                                              \
        const struct path_shared shared = *s; /* a copy that stores to the block can't change */   \
        const struct path_inlet inlet = *in;                                                       \
        const bool looped = (class) != LANE_PLAIN;                                                 \
        _Pragma("omp simd") for (size_t i = 0; i < width; i++)                                     \
        {                                                                                          \
            struct path_lane l = class_lane(b, i, class);                                          \
            lane;                                                                                  \
        }                                                                                          \
    }
#define CLASS_LOOPS(tag, class)                                                                    \
    LANE_LOOP(tag##_start, class,                                                                  \
              start_lane(b, &shared, &inlet, &l, i, false, false, looped, false))                  \
    LANE_LOOP(tag##_start_jacobian, class,                                                         \
              start_lane(b, &shared, &inlet, &l, i, true, false, looped, false))                   \
    LANE_LOOP(tag##_step, class, step_lane(b, &shared, &inlet, &l, i, false, looped, false))       \
    LANE_LOOP(tag##_map_start, class, map_start_lane(b, &shared, &inlet, &l, i, looped))           \
    LANE_LOOP(tag##_map_step, class, map_step_lane(b, &shared, &inlet, &l, i, looped))

CLASS_LOOPS(plain, LANE_PLAIN)
CLASS_LOOPS(single, LANE_SINGLE)
CLASS_LOOPS(counterflow, LANE_COUNTERFLOW)
CLASS_LOOPS(unmixed, LANE_UNMIXED)

#define CLASS_ROW(tag)                                                                             \
    {                                                                                              \
        tag##_start, tag##_start_jacobian, tag##_step                                              \
    }
#define MAP_ROW(tag)                                                                               \
    {                                                                                              \
        tag##_map_start, tag##_map_step                                                            \
    }

const struct vector_loops LOOPS_NAME = {LOOPS_SET,
                                        {[LANE_PLAIN] = CLASS_ROW(plain),
                                         [LANE_SINGLE] = CLASS_ROW(single),
                                         [LANE_COUNTERFLOW] = CLASS_ROW(counterflow),
                                         [LANE_UNMIXED] = CLASS_ROW(unmixed)},
                                        {[LANE_PLAIN] = MAP_ROW(plain),
                                         [LANE_SINGLE] = MAP_ROW(single),
                                         [LANE_COUNTERFLOW] = MAP_ROW(counterflow),
                                         [LANE_UNMIXED] = MAP_ROW(unmixed)},
                                        map_ratio,
                                        map_move,
                                        burn};
