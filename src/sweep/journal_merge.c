/* Joins the journals of shards: sheave/journal.h. */
#include "sheave/journal.h"

#include "sweep/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MISSING_TOLD 20 /* shards named one by one */

struct merge {
    const struct shv_model *model;
    const struct shv_space *space;
    struct shv_ranking *ranking;
    struct shv_sweep_counts *counts;
    struct shv_keep *keep; /* may be NULL */
    const char *const *folders;
    uint64_t shards;   /* 0 until the first folder was read */
    size_t *folder_of; /* owned; by shard, 1 + its place in folders, 0 when not seen yet */
};

static enum shv_status read_folder(const char *folder, struct journal_content *content,
                                   struct shv_message *message)
{
    struct journal_file file;
    *content = (struct journal_content){{{NULL}}};
    enum shv_status status = journal_file_open_to_read(&file, folder, message);
    if (status == SHV_OK) {
        status = journal_file_read(&file, content, message);
        journal_file_close(&file);
    }
    return status;
}

enum shv_status shv_journal_study_path(const char *folder, char **path, char **started_in,
                                       struct shv_message *message)
{
    struct journal_content content;
    *path = *started_in = NULL;
    enum shv_status status = read_folder(folder, &content, message);
    if (status == SHV_OK) {
        *path = content.list[JOURNAL_STUDY].item;
        *started_in = content.list[JOURNAL_STARTED_IN].item;
        content.list[JOURNAL_STUDY].item = content.list[JOURNAL_STARTED_IN].item = NULL;
    }
    journal_content_free(&content);
    return status;
}

/* Fits this shard among those before it? */
static enum shv_status check_place(struct merge *m, size_t place, const struct journal_about *a,
                                   struct shv_message *message)
{
    const char *folder = m->folders[place];
    if (m->shards == 0) {
        m->shards = a->shards;
        m->folder_of = calloc((size_t)a->shards, sizeof *m->folder_of);
        if (!m->folder_of) {
            return shv_fail(message, SHV_NO_MEMORY, "out of memory for %llu shards",
                            (unsigned long long)a->shards);
        }
    }
    if (a->shards != m->shards) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s holds shard %llu of %llu, but %s is one of %llu shards", folder,
                        (unsigned long long)a->shard + 1, (unsigned long long)a->shards,
                        m->folders[0], (unsigned long long)m->shards);
    }
    size_t *seen = &m->folder_of[a->shard];
    if (*seen != 0) {
        return shv_fail(message, SHV_BAD_INPUT, "%s and %s both hold shard %llu of %llu",
                        m->folders[*seen - 1], folder, (unsigned long long)a->shard + 1,
                        (unsigned long long)a->shards);
    }
    *seen = place + 1;
    return SHV_OK;
}

static enum shv_status check(struct merge *m, size_t place, const struct journal_content *content,
                             struct shv_message *message)
{
    const struct journal_about *a = journal_about(content);
    const char *folder = m->folders[place];
    struct sweep_plan plan;
    struct shv_message text = {{0}};
    enum shv_status status =
        plan_of(&plan, m->model, m->space, (struct shv_shard){a->shard, a->shards}, message);
    if (status != SHV_OK) {
        return status;
    }
    if (journal_differs(content, shv_model_study(m->model), &plan, m->ranking->capacity, &text)) {
        return shv_fail(message, SHV_BAD_INPUT, "cannot join the journal in %s: %s", folder,
                        text.text);
    }
    if (!journal_fits(content, &plan)) {
        return shv_fail(message, SHV_IO,
                        "the journal in %s is damaged: it says more than there is "
                        "to do",
                        folder);
    }
    const struct ranges chunks = journal_done(content);
    uint64_t done = journal_counts(content)->total, total = plan_combinations(&plan);
    if (ranges_total(&chunks) != plan.positions || done != total) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "shard %llu of %llu in %s is not finished, %.1f %% are done; go on with it "
                        "by --resume",
                        (unsigned long long)a->shard + 1, (unsigned long long)a->shards, folder,
                        100.0 * (double)done / (double)total);
    }
    return check_place(m, place, a, message);
}

static enum shv_status join_folder(struct merge *m, size_t place, struct shv_message *message)
{
    struct journal_content content;
    enum shv_status status = read_folder(m->folders[place], &content, message);
    status = status == SHV_OK ? check(m, place, &content, message) : status;
    if (status == SHV_OK) {
        shv_sweep_counts_add(m->counts, journal_counts(&content));
    }
    if (status == SHV_OK && !journal_offer(&content, m->ranking, m->keep)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the fronts of %s",
                          m->folders[place]);
    }
    journal_content_free(&content);
    return status;
}

/* All of those missing, so that they can be run in one go. */
static enum shv_status check_missing(const struct merge *m, struct shv_message *message)
{
    char list[16 * MISSING_TOLD + 32] = "";
    size_t used = 0;
    uint64_t missing = 0;
    for (uint64_t i = 0; i < m->shards; i++) {
        if (m->folder_of[i] != 0) {
            continue;
        }
        if (missing++ < MISSING_TOLD) {
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%llu",
                                     missing == 1 ? "" : ", ", (unsigned long long)i + 1);
        }
    }
    if (missing == 0) {
        return SHV_OK;
    }
    if (missing > MISSING_TOLD) {
        (void)snprintf(list + used, sizeof list - used, " and %llu more",
                       (unsigned long long)(missing - MISSING_TOLD));
    }
    return shv_fail(message, SHV_BAD_INPUT, "of %llu shards %s missing: %s",
                    (unsigned long long)m->shards, missing == 1 ? "one is" : "some are", list);
}

enum shv_status shv_journal_merge(const char *const *folders, size_t count,
                                  const struct shv_model *model, const struct shv_space *space,
                                  struct shv_ranking *ranking, struct shv_sweep_counts *counts,
                                  struct shv_keep *keep, struct shv_message *message)
{
    struct merge m = {.model = model,
                      .space = space,
                      .ranking = ranking,
                      .counts = counts,
                      .keep = keep,
                      .folders = folders};
    *counts = (struct shv_sweep_counts){0};
    enum shv_status status = SHV_OK;
    if (count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "there are no folders to join");
    }
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = join_folder(&m, i, message);
    }
    status = status == SHV_OK ? check_missing(&m, message) : status;
    if (status == SHV_OK) {
        shv_ranking_sort(ranking);
        if (keep) {
            shv_keep_sort(keep);
        }
    }
    free(m.folder_of);
    return status;
}
