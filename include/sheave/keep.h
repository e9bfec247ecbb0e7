/* What a sweep keeps besides its ranking: fronts of what can't all be had, kits whose hardware
 * serves several fuels, and where the search for ideals starts. */
#ifndef SHEAVE_KEEP_H
#define SHEAVE_KEEP_H

#include "sheave/front.h"
#include "sheave/near.h"
#include "sheave/space.h"

enum shv_near_kind { SHV_NEAR_COOLED, SHV_NEAR_UNCOOLED, SHV_NEAR_KINDS };

struct shv_keep {
    size_t fronts;           /* as many as the study's tradeoffs */
    struct shv_front *front; /* owned */
    /* Of hardware that holds with each of the study's served fuels, with the mixture and ignition
     * margin that are best for it: the best by the weighted mean of its objectives. The index is
     * that of the combination with the first served fuel and its best setup. Of kits that differ in
     * injectors, pump and belt only the best is ranked. Empty when the study serves none. */
    struct shv_ranking serving;
    size_t served;                 /* fuels; 0: none */
    struct shv_ranking *of_served; /* the best one with each of them alone, owned */
    /* Of each blower and fuel the best combination of each cooler, lambda and ignition margin,
     * those with a cooler and those without: [(blower * fuels + fuel) * SHV_NEAR_KINDS + kind];
     * owned. None when the study does not ask for the search. */
    size_t nears;
    struct shv_near *near;
    struct shv_space space;
    size_t *family; /* the cooler of each choice of the cooler dimension, owned */
    size_t none;    /* the cooler that is none */
    /* With tolerances and a wanted probability the best of each class of room (shv_brief.room),
     * [class], owned; of combinations that differ only in injectors, pump and belt those that are
     * better than all of more room, of equals the one of most. Behind the classes, at
     * SHV_ROOM_ANY, the best whatever their room; of combinations that differ only so the best, of
     * equals the first. None otherwise. */
    size_t rooms;
    struct shv_ranking *room;
};

#define SHV_ROOM_CLASSES 12
#define SHV_ROOM_ANY SHV_ROOM_CLASSES
#define SHV_ROOM_STEP 0.1
#define SHV_ROOM_KEPT ((size_t)1024) /* of each class */
#define SHV_ROOM_ANY_KEPT ((size_t)16384)
/* The last class is all that have more room. */
size_t shv_room_class(double room);

/* Empty, for a study; free with shv_keep_free, which is safe on a zeroed struct. */
SHV_API enum shv_status shv_keep_init(struct shv_keep *keep, const struct shv_study *study,
                                      struct shv_message *message);
SHV_API void shv_keep_free(struct shv_keep *keep);
/* Offers a feasible combination to the list of its blower and fuel. */
SHV_API void shv_keep_near(struct shv_keep *keep, struct shv_candidate candidate);
/* Forgets what it holds. */
void shv_keep_clear(struct shv_keep *keep);
/* Offers all of one to another of the same study. False when out of memory. */
bool shv_keep_add(struct shv_keep *to, const struct shv_keep *keep);
/* Puts the rankings in order, best first; afterwards they are read only. */
void shv_keep_sort(struct shv_keep *keep);

/* All that is kept as rows, for a journal: lists are the fronts, those of blowers and fuels, the
 * ranking of hardware, the best with each fuel, then classes of room. */
struct shv_kept_row {
    uint64_t list;
    struct shv_front_point point;
};
size_t shv_keep_count(const struct shv_keep *keep);
/* Fills `rows` (room for shv_keep_count of them), in ascending order of list and index. */
void shv_keep_rows(const struct shv_keep *keep, struct shv_kept_row *rows);
/* Takes a row back. False when out of memory, or when there is no such list. */
bool shv_keep_take(struct shv_keep *keep, const struct shv_kept_row *row);

#endif
