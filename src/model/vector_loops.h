/* The loops over the lanes of a block, in one version for each instruction set of the processor and
 * each class of coolers.
 *
 * They hold for blowers by geometry. All versions give the same bits: none contracts or reorders
 * arithmetic. */
#ifndef SHEAVE_MODEL_VECTOR_LOOPS_H
#define SHEAVE_MODEL_VECTOR_LOOPS_H

#include "model/model_internal.h"

typedef void vector_loop(struct lane_block *b, const struct path_shared *s,
                         const struct path_inlet *in, size_t width);

/* The closed cycle by table of `count` lanes. */
typedef void burn_loop(const struct burn_case *c, const struct burn_lanes *lanes, size_t count);

struct class_loops {
    vector_loop *start, *start_jacobian, *step, *answer;
};

struct vector_loops {
    const char *name;
    struct class_loops of[LANE_VECTOR_CLASSES];
    burn_loop *burn;
};

extern const struct vector_loops vector_loops_baseline;
#if defined(__x86_64__)
extern const struct vector_loops vector_loops_avx2;
extern const struct vector_loops vector_loops_avx512;
#endif

/* The widest that this processor runs. */
const struct vector_loops *vector_loops_best(void);

#endif
