/* A bounded ranking: the best N of any number of candidates, in memory of N. */
#ifndef SHEAVE_RANK_H
#define SHEAVE_RANK_H

#include <stdint.h>

#include "sheave/status.h"

struct shv_candidate {
    double objective; /* larger is better */
    uint64_t index;   /* of the combination; of equals the lower index ranks first */
};

struct shv_ranking {
    size_t capacity, count;
    struct shv_candidate *item; /* owned; a heap with the worst on top until sorted */
};

SHV_API enum shv_status shv_ranking_init(struct shv_ranking *ranking, size_t capacity,
                                         struct shv_message *message);
SHV_API void shv_ranking_free(struct shv_ranking *ranking);
/* True when the first ranks before the second. A total order: no two candidates are equal. */
bool shv_candidate_before(const struct shv_candidate *a, const struct shv_candidate *b);
/* Takes the candidate in if it is among the best so far. The set kept does not depend on the order
 * of calls. */
void shv_ranking_offer(struct shv_ranking *ranking, struct shv_candidate candidate);
/* Adds one to a sorted ranking, behind all others and beyond its capacity, for a kit that is not
 * among the best but is to be listed with them. SHV_NO_MEMORY. */
enum shv_status shv_ranking_append(struct shv_ranking *ranking, struct shv_candidate candidate,
                                   struct shv_message *message);
/* Puts the best first; afterwards the ranking is read only. */
void shv_ranking_sort(struct shv_ranking *ranking);

#endif
