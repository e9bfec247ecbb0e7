/* Where nothing is feasible: the kits that come nearest to it, and which limit would have to give.
 */
#ifndef SHEAVE_NEAREST_H
#define SHEAVE_NEAREST_H

#include "sheave/model.h"
#include "sheave/watch.h"

#define SHV_NEAREST_MOST (SHV_LIMIT_COUNT + 1)

struct shv_nearest {
    uint64_t index; /* of the combination */
    int alone;      /* enum shv_limit, the only one that it breaks; -1: it breaks several */
    double room;    /* the least of all limits, as a share of its span; negative */
    /* Its bounds and values say by how much each broken limit would have to give. */
    struct shv_verdict verdict;
};

/* For each limit the kit that breaks it alone and by the least, where one was found, in the order
 * of their rooms; then the kit whose worst limit is broken by the least, if it breaks several. Of a
 * space of a few thousand combinations they are the nearest there are; of a larger one a sample
 * spread over it is looked at, and from the best of the sample one part at a time is exchanged as
 * long as that helps: the nearest that were found. A combination without an answer counts as
 * farther than any other. The same in every run. SHV_NO_MEMORY; SHV_STOPPED when the watch said so.
 */
SHV_API enum shv_status shv_nearest_find(const struct shv_model *model,
                                         const struct shv_space *space,
                                         const struct shv_watch *watch,
                                         struct shv_nearest nearest[SHV_NEAREST_MOST],
                                         size_t *count, struct shv_message *message);

#endif
