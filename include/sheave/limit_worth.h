/* What moving each limit would bring an optimum: docs/model.md, appendix B. */
#ifndef SHEAVE_LIMIT_WORTH_H
#define SHEAVE_LIMIT_WORTH_H

#include "sheave/optimum.h"

enum shv_limit_worth_kind {
    SHV_WORTH_LIMIT, /* a limit moved outwards */
    SHV_WORTH_RANGE, /* an end of a range that the study's parts give: a smaller pulley, a larger
                        core */
    SHV_WORTH_CHOICE /* the neighbour in a list of the study, with all that is continuous found anew
                      */
};

/* What a worth that is not of a limit is of. */
enum shv_limit_worth_of {
    SHV_WORTH_OF_RATIO_HIGH,
    SHV_WORTH_OF_RATIO_LOW,
    SHV_WORTH_OF_EFFECTIVENESS_HIGH,
    SHV_WORTH_OF_EFFECTIVENESS_LOW,
    SHV_WORTH_OF_LAMBDA,
    SHV_WORTH_OF_IGNITION_MARGIN,
    SHV_WORTH_OF_CRANK_PULLEY,
    SHV_WORTH_OF_RIBS, /* the next number listed; one more than the most */
    SHV_WORTH_OF_WRAP,
    SHV_WORTH_OF_COUNT
};

/* What holds an optimum back, and what moving it would bring. */
struct shv_limit_worth {
    size_t optimum; /* index into the optima */
    enum shv_limit_worth_kind kind;
    int of;        /* enum shv_limit or enum shv_limit_worth_of */
    double bound;  /* SI: the limit, the end of the range, the optimum's own choice */
    double step;   /* SI: how far it is moved; negative for a lower bound or a smaller choice */
    bool active;   /* holds the optimum back */
    bool of_point; /* site and speed mean something: where the limit is tightest */
    size_t site, speed;
    double
        share; /* of the limit's span that is left there, 0 when active; NAN for what is no limit */
    /* Objective when solved again with the step taken, less that of the optimum; everything that is
     * not continuous is held. 0 for a limit that is not active. NAN where no kit keeps every limit,
     * and where the model can't say: phasing beyond the last one that the engine's tables hold. */
    double gain;
    /* The limit that would hold the optimum back next on that way, -1 for none seen, where, and
     * after how many of the steps, 1 or less when within this one. */
    int next;
    bool next_of_point;
    size_t next_site, next_speed;
    double next_steps;
};

/* "ratio_high" and so on: name for files; and a title for sentences. */
SHV_API const char *shv_limit_worth_name(const struct shv_limit_worth *worth);
SHV_API const char *shv_limit_worth_title(const struct shv_limit_worth *worth);

/* Prices of every optimum that was found, in the order of the optima: limits in their order,
 * ranges, choices. *worths is owned by the caller (free()). Solved again from the optimum, side by
 * side on threads; the same for any number of them. SHV_NO_MEMORY, SHV_BAD_INPUT when NLopt refuses
 * its arguments; SHV_STOPPED when the watch (of worths; may be NULL) said so. */
SHV_API enum shv_status shv_limit_worths_find(const struct shv_model *model,
                                              const struct shv_optimum *optima,
                                              size_t optimum_count, const struct shv_watch *watch,
                                              struct shv_limit_worth **worths, size_t *count,
                                              struct shv_message *message);

#endif
