/* Kits by their number, evaluated and summed up. */
#ifndef SHEAVE_SUMMARIES_H
#define SHEAVE_SUMMARIES_H

#include "sheave/space.h"
#include "sheave/summary.h"

/* Room for the curves of a kit, and the stock engine's. */
struct shv_summaries {
    const struct shv_model *model;
    const struct shv_space *space;
    struct shv_curves curves; /* of the kit that was taken last */
    struct shv_curves stock;
    struct shv_curves *of_thread; /* owned, one for each thread of shv_summaries_each */
    int threads;
};

/* Evaluates the stock engine. Model and space must outlive it. SHV_NO_MEMORY leaves nothing to
 * free. */
enum shv_status shv_summaries_init(struct shv_summaries *summaries, const struct shv_model *model,
                                   const struct shv_space *space, struct shv_message *message);
void shv_summaries_free(struct shv_summaries *summaries);
/* Sums up a combination of the space; its curves stay in `summaries`. */
void shv_summaries_take(struct shv_summaries *summaries, uint64_t index,
                        struct shv_summary *summary);

/* Combinations in order, and what becomes of each. */
struct shv_summary_list {
    size_t count;
    void *data;
    uint64_t (*index)(const void *data, size_t i);
    bool (*use)(void *data, size_t i, struct shv_summary *summary); /* false: stop */
};
/* Evaluates them on all threads, some at a time, and uses them in order; false when stopped. */
bool shv_summaries_each(struct shv_summaries *summaries, const struct shv_summary_list *list);

#endif
