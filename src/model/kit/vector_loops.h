/* The loops over the lanes of a block, in one version for each instruction set of the processor and
 * each class of coolers. All versions give the same bits: none contracts or reorders
 * arithmetic. */
#ifndef SHEAVE_MODEL_VECTOR_LOOPS_H
#define SHEAVE_MODEL_VECTOR_LOOPS_H

#include "model/kit/model_internal.h"

typedef void vector_loop(struct lane_block *b, const struct path_shared *s,
                         const struct path_inlet *in, size_t width);

/* The closed cycle by table of `count` lanes. */
typedef void burn_loop(const struct burn_case *c, const struct burn_lanes *lanes, size_t count);

struct class_loops {
    vector_loop *start, *start_jacobian, *step;
};

/* Blowers by map: with the cubics of each lane's pressure ratio at hand. */
struct map_loops {
    vector_loop *start, *step;
};
/* The pressure ratio of each lane as it stands, or after its next step. */
typedef void map_loop(struct lane_block *b, const struct path_shared *s, size_t width);

struct vector_loops {
    const char *name;
    struct class_loops of[LANE_VECTOR_CLASSES];
    struct map_loops map_of[LANE_VECTOR_CLASSES];
    map_loop *map_ratio, *map_move;
    burn_loop *burn;
};

extern const struct vector_loops vector_loops_baseline;
#if defined(__x86_64__)
extern const struct vector_loops vector_loops_avx2;
extern const struct vector_loops vector_loops_avx512;
#endif

/* The widest that this processor runs. */
const struct vector_loops *vector_loops_best(void);

/* block_match with a version of the loops; for tests of the others. */
void block_match_by(struct lane_block *block, const struct shv_model *model, size_t site,
                    size_t speed, bool plain, const struct vector_loops *loops);

#endif
