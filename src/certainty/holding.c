/* Kits of given parts that hold (sheave/tolerance.h). */
#include "sheave/tolerance.h"

#include <math.h>
#include <stdlib.h>

#include "certainty/race.h"

struct shv_holding {
    struct sure_plan plan;
    struct race race;        /* goes on learning which samples are harsh */
    struct shv_lanes *lanes; /* owned */
};

/* ---- setups ---- */

/* Fills up to SHV_LANES_MAX combinations of the parts of `choice`, from setup `first` on. */
static size_t list_setups(const struct shv_space *space, uint64_t choice[SHV_DIM_COUNT],
                          uint64_t first, uint64_t index[SHV_LANES_MAX])
{
    const uint64_t *n = space->count;
    uint64_t all = n[SHV_DIM_LAMBDA] * n[SHV_DIM_IGNITION_MARGIN] * n[SHV_DIM_WRAP];
    size_t count = 0;
    for (uint64_t i = first; i < all && count < SHV_LANES_MAX; i++) {
        choice[SHV_DIM_WRAP] = i % n[SHV_DIM_WRAP];
        choice[SHV_DIM_IGNITION_MARGIN] = i / n[SHV_DIM_WRAP] % n[SHV_DIM_IGNITION_MARGIN];
        choice[SHV_DIM_LAMBDA] = i / n[SHV_DIM_WRAP] / n[SHV_DIM_IGNITION_MARGIN];
        index[count++] = shv_space_join(space, choice);
    }
    return count;
}

/* The setup of the parts of `kit` that comes after `now`; none: no combination. */
static void go_on(const struct shv_holding *h, struct shv_candidate now, struct shv_candidate *kit)
{
    const struct shv_space *space = h->race.space;
    struct shv_candidate next = {-INFINITY, UINT64_MAX};
    struct shv_candidate held[SHV_LANES_MAX];
    uint64_t choice[SHV_DIM_COUNT], index[SHV_LANES_MAX];
    size_t some;
    shv_space_split(space, kit->index, choice);
    for (uint64_t first = 0; (some = list_setups(space, choice, first, index)) > 0; first += some) {
        size_t count = race_nominal(&h->race, h->lanes, index, some, held);
        for (size_t i = 0; i < count; i++) {
            bool between =
                shv_candidate_before(&now, &held[i]) && shv_candidate_before(&held[i], &next);
            next = between ? held[i] : next;
        }
    }
    *kit = next;
}

/* ---- kits ---- */

/* A list of places that are not decided. */
struct undecided {
    struct shv_candidate *kit; /* all, the caller's */
    size_t *place, count;      /* owned */
};

static void add(struct undecided *u, size_t place)
{
    if (u->kit[place].index != UINT64_MAX) {
        u->place[u->count++] = place;
    }
}

/* Each of those undecided in the setup that it has now; what fails goes on to the next one. */
static enum shv_status run_once(struct shv_holding *h, struct undecided *u,
                                struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    size_t count = u->count;
    u->count = 0;
    for (size_t i = 0, some; i < count && status == SHV_OK; i += some) {
        uint64_t index[SURE_BLOCK];
        bool holds[SURE_BLOCK];
        some = count - i < SURE_BLOCK ? count - i : SURE_BLOCK;
        for (size_t k = 0; k < some; k++) {
            index[k] = u->kit[u->place[i + k]].index;
        }
        status = race_run(&h->race, race_whole, index, some, holds, message);
        for (size_t k = 0; k < some && status == SHV_OK; k++) {
            size_t place = u->place[i + k];
            if (!holds[k]) {
                go_on(h, u->kit[place], &u->kit[place]);
                add(u, place);
            }
        }
    }
    return status;
}

enum shv_status shv_holding_find(struct shv_holding *h, struct shv_candidate *kits, size_t count,
                                 const struct shv_watch *watch, struct shv_message *message)
{
    struct undecided u = {.kit = kits, .place = calloc(count + 1, sizeof *u.place)};
    enum shv_status status =
        u.place ? SHV_OK
                : shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of kits to sell");
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        go_on(h, (struct shv_candidate){INFINITY, 0}, &kits[i]);
        add(&u, i);
    }
    h->plan.watcher =
        (struct watcher){.watch = watch, .total = u.count * h->plan.tolerances->samples};
    while (u.count > 0 && status == SHV_OK) {
        status = run_once(h, &u, message);
    }
    free(u.place);
    return status;
}

/* ---- begin and end ---- */

void shv_holding_free(struct shv_holding *h)
{
    if (h) {
        race_end(&h->race);
        sure_end(&h->plan);
        shv_lanes_free(h->lanes);
        free(h);
    }
}

enum shv_status shv_holding_create(struct shv_model *model, const struct shv_space *space,
                                   struct shv_holding **holding, struct shv_message *message)
{
    struct shv_holding *h = calloc(1, sizeof *h);
    *holding = NULL;
    if (!h) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of kits to sell");
    }
    enum shv_status status = sure_begin(&h->plan, model, NULL, message);
    status = status == SHV_OK ? race_begin(&h->race, model, &h->plan, space, message) : status;
    status = status == SHV_OK ? shv_lanes_create(model, &h->lanes, message) : status;
    if (status != SHV_OK) {
        shv_holding_free(h);
        return status;
    }
    *holding = h;
    return SHV_OK;
}
