/* The best of each group: sheave/near.h. */
#include "sheave/near.h"

#include <string.h>

/* Where a candidate may be put: in place of its group's, of the last of a full list, or behind.
 * False when it has nothing to be taken for. */
static bool find_place(const struct shv_near *near, const struct shv_candidate *candidate,
                       uint64_t group, size_t *place)
{
    for (*place = 0; *place < near->count; (*place)++) {
        if (near->item[*place].group == group) {
            return shv_candidate_before(candidate, &near->item[*place].candidate);
        }
    }
    *place -= near->count == SHV_NEAR_MOST ? 1 : 0;
    return true;
}

void shv_near_offer(struct shv_near *near, struct shv_candidate candidate, uint64_t group)
{
    bool full = near->count == SHV_NEAR_MOST;
    size_t place, before = 0;
    if (full && !shv_candidate_before(&candidate, &near->item[SHV_NEAR_MOST - 1].candidate)) {
        return;
    }
    if (!find_place(near, &candidate, group, &place)) {
        return;
    }
    near->count += place == near->count ? 1 : 0;
    while (before < place && shv_candidate_before(&near->item[before].candidate, &candidate)) {
        before++;
    }
    memmove(&near->item[before + 1], &near->item[before], (place - before) * sizeof *near->item);
    near->item[before] = (struct shv_near_item){candidate, group};
}
