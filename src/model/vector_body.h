/* Body of the vector loops; included once per instruction set with LOOPS_NAME and LOOPS_SET defined. Not a
 * header to include elsewhere. */
#include "model/lane_step.h"
#include "model/vector_loops.h"

static void loop_start(struct lane_block *b, const struct path_shared *s,
                       const struct path_inlet *in, size_t width)
{
    const struct path_shared shared = *s; /* a copy that stores to the block can't change */
    const struct path_inlet inlet = *in;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        struct path_lane l = simple_lane(b, i);
        start_lane(b, &shared, &inlet, &l, i, false, false, true);
    }
}

static void loop_start_jacobian(struct lane_block *b, const struct path_shared *s,
                                const struct path_inlet *in, size_t width)
{
    const struct path_shared shared = *s; /* a copy that stores to the block can't change */
    const struct path_inlet inlet = *in;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        struct path_lane l = simple_lane(b, i);
        start_lane(b, &shared, &inlet, &l, i, true, false, true);
    }
}

static void loop_step(struct lane_block *b, const struct path_shared *s,
                      const struct path_inlet *in, size_t width)
{
    const struct path_shared shared = *s; /* a copy that stores to the block can't change */
    const struct path_inlet inlet = *in;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        struct path_lane l = simple_lane(b, i);
        step_lane(b, &shared, &inlet, &l, i, false, true);
    }
}

static void loop_answer(struct lane_block *b, const struct path_shared *s,
                        const struct path_inlet *in, size_t width)
{
    const struct path_shared shared = *s; /* a copy that stores to the block can't change */
    const struct path_inlet inlet = *in;
#pragma omp simd
    for (size_t i = 0; i < width; i++) {
        struct path_lane l = simple_lane(b, i);
        answer_lane(b, &shared, &inlet, &l, i, false, true);
    }
}

const struct vector_loops LOOPS_NAME = {LOOPS_SET, loop_start, loop_start_jacobian, loop_step,
                                        loop_answer};
