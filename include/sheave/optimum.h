/* The best continuous pulley ratio and cooler effectiveness under every limit, and the nearest real
 * parts: docs/model.md, appendix B. */
#ifndef SHEAVE_OPTIMUM_H
#define SHEAVE_OPTIMUM_H

#include "sheave/keep.h"
#include "sheave/model.h"
#include "sheave/watch.h"

/* What of a kit varies continuously. */
enum shv_free {
    SHV_FREE_RATIO,           /* of the pulleys; with a crank pulley the blower's follows */
    SHV_FREE_EFFECTIVENESS,   /* of the charge cooler at its rated flow */
    SHV_FREE_LAMBDA,          /* not with the closed cycle, whose tables hold for one lambda each */
    SHV_FREE_IGNITION_MARGIN, /* per deg */
    SHV_FREE_WRAP,            /* of the belt on the blower pulley, where an idler sets it */
    SHV_FREE_COUNT
};

/* One row of optimum.csv: for a blower and a fuel. */
struct shv_optimum {
    size_t blower, fuel;
    bool found;           /* a feasible ideal was found */
    struct shv_kit ideal; /* best over cooler families and listed lambdas */
    double objective;
    int binding;          /* enum shv_limit that holds it back: under 0.1 % of its span is left, or
                           * it jumps and is broken right beyond; -1 when the best lies inside
                           * every limit */
    double binding_share; /* of its span, what is left; NAN where nothing holds it back */
    bool real_found;      /* a feasible real combination was found */
    struct shv_kit real;  /* best of those near the ideal and of all that the sweep saw */
    uint64_t real_index;  /* its index in the space */
    double real_objective;
    double loss;             /* 1 - real_objective / objective */
    double plain_difference; /* |objective by plain model / objective - 1|, must be below 1e-9 */
    size_t evaluations;      /* kits evaluated for this row */
    size_t searches;         /* setups (cooler, lambda, ignition margin) that were scanned */
    /* d ln |objective| / d ln choice at the ideal; of the ignition margin per deg. NAN where the
     * kit has no such choice or it is not known. */
    double elasticity[SHV_FREE_COUNT];
    double retard; /* deg, phasing retard of the ideal where its power peaks at the first
                    * site; NAN without the closed cycle */
    /* The real kit with the blower pulley that is worth having made for it, to a tenth of a
     * millimetre, on the crank pulley that suits it. */
    bool made_found; /* there is one that is better than the real kit */
    struct shv_kit made;
    double made_objective;
    /* The same without a charge cooler: what a cooler is worth. */
    bool uncooled_found;
    struct shv_kit uncooled;
    double uncooled_objective, uncooled_retard;
};

/* What a search of many rows is to be told and tells, so that it can be broken off and gone on
 * with. Start with all zero. Rows, each a blower and fuel, are worked off on all threads, each by
 * itself, so that any number of threads and any order give the same. */
struct shv_optimum_options {
    struct shv_watch watch; /* of rows */
    /* Asked before a row is searched: true, with *optimum filled, when it was found before. By one
     * thread at a time, likewise below. */
    bool (*known)(void *data, size_t row, struct shv_optimum *optimum);
    /* Told of each row that was searched; a failure ends the search. */
    enum shv_status (*found)(void *data, size_t row, const struct shv_optimum *optimum,
                             struct shv_message *message);
    void *data; /* of known and found */
};

/* One optimum per blower and fuel, blower slowest; `count` = blowers * fuels rows, owned by the
 * caller (free()). `keep` is what a sweep of the whole space has kept: where the search starts.
 * `options` may be NULL. SHV_NO_MEMORY, SHV_BAD_INPUT when NLopt refuses its arguments; SHV_STOPPED
 * when the watch said so; rows found until then were told of. */
SHV_API enum shv_status
shv_optimum_search(const struct shv_model *model, const struct shv_space *space,
                   const struct shv_keep *keep, const struct shv_optimum_options *options,
                   struct shv_optimum **optima, size_t *count, struct shv_message *message);

/* An optimum as so many numbers, to be kept in a file, and back: the same to the last bit. */
size_t shv_optimum_words(void);
void shv_optimum_pack(const struct shv_optimum *optimum, uint64_t *words);
void shv_optimum_unpack(const uint64_t *words, struct shv_optimum *optimum);

#endif
