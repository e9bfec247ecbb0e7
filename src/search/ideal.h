/* The ideal of one blower and fuel. */
#ifndef SHEAVE_SEARCH_IDEAL_H
#define SHEAVE_SEARCH_IDEAL_H

#include "sheave/optimum.h"

struct ideal_case {
    const struct shv_model *model;
    const struct shv_space *space;
    const struct shv_keep *keep;
};

/* Optimum number `at`. Errors of shv_optimum_search. */
enum shv_status ideal_find(const struct ideal_case *with, size_t at, struct shv_optimum *optimum,
                           struct shv_message *message);

#endif
