/* What single changes to a kit would do: each part in turn exchanged for each other one that the
 * study lists, the rest as it is. */
#ifndef SHEAVE_CHANGES_H
#define SHEAVE_CHANGES_H

#include "sheave/model.h"

struct shv_change {
    enum shv_dim dim;
    struct shv_kit kit; /* after the change */
    bool feasible;
    enum shv_outcome outcome; /* SHV_POINT_OK, or why there is no answer */
    int first_broken;         /* enum shv_limit, -1 for none */
    double objective;         /* NAN without an answer */
};

/* All of them, by dimension in the order of enum shv_dim, then in the order of the study's lists;
 * what the kit has already is left out. The kit may have sizes that the study does not list; one
 * without pulleys (an ideal kit) gets no changes of pulleys, belt and cooler sizes stay. Without
 * `burn` fuel and lambda stay too, which may take tables of the closed cycle that are not there.
 * *changes is owned by the caller (free()). SHV_NO_MEMORY. */
SHV_API enum shv_status shv_single_changes(const struct shv_model *model,
                                           const struct shv_space *space, const struct shv_kit *kit,
                                           bool burn, struct shv_change **changes, size_t *count,
                                           struct shv_message *message);

#endif
