/* Kits of a results folder (src/cli/found.h). */
#include "cli/found.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "report/table/results.h"

static enum shv_status take_kits(const struct cli_study *s, const struct report_results *results,
                                 struct found *found, struct shv_message *message)
{
    /* Where nothing is feasible the nearest, the first limit's row of each. */
    const struct report_records *ranked =
        results->ranked.rows > 0 ? &results->ranked : &results->nearest;
    size_t column = report_records_find(ranked, "index");
    if (ranked->rows == 0 || column == REPORT_NO_COLUMN) {
        return shv_fail(message, SHV_NOTHING, "no kit is in %s", found->folder);
    }
    found->kit = calloc(ranked->rows, sizeof *found->kit);
    if (!found->kit) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the kits of %s", found->folder);
    }
    for (size_t row = 0; row < ranked->rows; row++) {
        const char *text = report_records_text(ranked, row, column);
        char *end;
        errno = 0;
        unsigned long long index = strtoull(text, &end, 10);
        if (end == text || *end != '\0' || errno != 0 || index >= s->space.size) {
            return shv_fail(message, SHV_BAD_INPUT, "%s/ranked.csv: found combination \"%s\"",
                            found->folder, text);
        }
        shv_space_kit(&s->space, &s->study, index, &found->kit[row]);
    }
    found->count = ranked->rows;
    return SHV_OK;
}

enum shv_status found_read(const struct cli_study *s, const char *folder, struct found *found,
                           struct shv_message *message)
{
    struct report_results results;
    char manifest[4200];
    *found = (struct found){.folder = folder};
    int length = snprintf(manifest, sizeof manifest, "%s/manifest.cfg", folder);
    if (length < 0 || (size_t)length >= sizeof manifest || access(manifest, F_OK) != 0) {
        return shv_fail(message, SHV_NOTHING, "there are no results in %s", folder);
    }
    enum shv_status status = report_results_read(folder, &results, message);
    if (status == SHV_OK &&
        strcmp(report_results_text(&results, "study.sha256_all", ""), s->study.sha256_all) != 0) {
        status = shv_fail(message, SHV_NOTHING,
                          "the results in %s are of another study, or of this one before it was "
                          "changed",
                          folder);
    }
    status = status == SHV_OK ? take_kits(s, &results, found, message) : status;
    if (status != SHV_OK) {
        found_free(found);
    }
    report_results_free(&results);
    return status;
}

void found_free(struct found *found)
{
    free(found->kit);
    found->kit = NULL;
    found->count = 0;
}
