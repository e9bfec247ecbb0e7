/* Kits whose hardware does with several fuels, with the setup that each fuel asks for. */
#ifndef SHEAVE_SERVING_H
#define SHEAVE_SERVING_H

#include "sheave/keep.h"
#include "sheave/model.h"

struct shv_serving_kit {
    double mean; /* objective, weighted over the fuels served */
    /* With each fuel served: the combination and its objective. */
    struct shv_candidate with[SHV_SERVES_MAX];
};

/* The kits of keep->serving with the setup of each fuel, found again from their index; owned by the
 * caller (free()). SHV_NO_MEMORY. */
SHV_API enum shv_status shv_serving_kits(const struct shv_model *model,
                                         const struct shv_space *space, const struct shv_keep *keep,
                                         struct shv_serving_kit **kits, size_t *count,
                                         struct shv_message *message);

#endif
