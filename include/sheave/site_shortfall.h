/* What is lost by doing with one kit at every site of a study: the best kit for each site alone,
 * against the one that is best for all of them. */
#ifndef SHEAVE_SITE_SHORTFALL_H
#define SHEAVE_SITE_SHORTFALL_H

#include "sheave/sweep.h"

struct shv_site_shortfall {
    size_t site;
    bool found;     /* some combination keeps every limit at this site */
    uint64_t index; /* the best of them: of the same space */
    double alone;   /* its objective there; NAN when none is found */
    bool holds;     /* it keeps every limit at the other sites too */
    /* Else why not: a limit, or -1 and how it fails, and where. */
    int broken;
    enum shv_outcome outcome;
    size_t broken_site;
    double common; /* objective at this site of the best kit for all sites; NAN without one */
};

/* One for each site, by a sweep of its own over the whole space: about as much work as the sweep
 * over all sites. `best` is the best combination of that one, or NULL. *shortfalls is owned by the
 * caller (free()). Only threads, progress (over all sites together) and its data of the options
 * count. SHV_NO_MEMORY; SHV_STOPPED when the callback said so. */
SHV_API enum shv_status shv_site_shortfalls(const struct shv_model *model,
                                            const struct shv_space *space, const uint64_t *best,
                                            const struct shv_sweep_options *options,
                                            struct shv_site_shortfall **shortfalls,
                                            struct shv_message *message);

#endif
