/* The kits that a run of this study has found, best first, for sheave point. */
#ifndef SHEAVE_CLI_FOUND_H
#define SHEAVE_CLI_FOUND_H

#include "cli/cli.h"

struct found {
    const char *folder;  /* borrowed */
    struct shv_kit *kit; /* by rank; owned, NULL where there is none */
    size_t count;
};

/* Reads ranked.csv of a results folder. SHV_NOTHING when there are no results, or those of another
 * study or of this one before it was changed; then and on failure *found is empty. */
enum shv_status found_read(const struct cli_study *s, const char *folder, struct found *found,
                           struct shv_message *message);
void found_free(struct found *found);

#endif
