/* The journal of a sweep: sheave/journal.h. */
#include "sheave/journal.h"

#include "sweep/journal.h"
#include "sheave/version.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct shv_journal {
    struct journal_file file;
    struct sweep_plan plan;
    struct journal_content content;
    struct shv_journal_progress stored; /* what of it is on disk */
};

const struct sweep_plan *journal_plan(const struct shv_journal *journal)
{
    return &journal->plan;
}

const struct journal_content *journal_stored(const struct shv_journal *journal)
{
    return &journal->content;
}

bool journal_offer(const struct journal_content *content, struct shv_ranking *ranking,
                   struct shv_keep *keep)
{
    const struct shv_candidate *best = content->list[JOURNAL_BEST].item;
    const struct shv_kept_row *kept = content->list[JOURNAL_KEPT].item;
    bool good = true;
    for (size_t i = 0; i < content->list[JOURNAL_BEST].count; i++) {
        shv_ranking_offer(ranking, best[i]);
    }
    for (size_t i = 0; keep && i < content->list[JOURNAL_KEPT].count && good; i++) {
        good = shv_keep_take(keep, &kept[i]);
    }
    return good;
}

struct shv_journal_progress shv_journal_progress(const struct shv_journal *journal)
{
    return journal->stored;
}

/* The content is what is on disk. */
static void remember(struct shv_journal *j)
{
    j->stored = (struct shv_journal_progress){.done = journal_counts(&j->content)->total,
                                              .total = plan_combinations(&j->plan),
                                              .finished = journal_about(&j->content)->finished};
}

static void journal_free(struct shv_journal *journal)
{
    journal_content_free(&journal->content);
    journal_file_close(&journal->file);
    free(journal);
}

enum shv_status shv_journal_close(struct shv_journal *journal, struct shv_message *message)
{
    if (!journal) {
        return SHV_OK;
    }
    enum shv_status status = journal_file_settle(&journal->file, message);
    journal_free(journal);
    return status;
}

/* ---- whose journal it is ---- */

const char *journal_differs(const struct journal_content *content, const struct shv_study *study,
                            const struct sweep_plan *plan, size_t keep, struct shv_message *text)
{
    const struct journal_about *about = journal_about(content);
    const char *version = journal_text(content, JOURNAL_VERSION);
    if (strcmp(version, shv_version()) != 0) {
        (void)shv_fail(text, SHV_OK, "it is of sheave %s, this is %s", version, shv_version());
    } else if (strcmp(journal_text(content, JOURNAL_SHA256_ALL), study->sha256_all) != 0) {
        (void)shv_fail(text, SHV_OK,
                       "it is of another study, or %s or a file that it names has changed since",
                       study->path);
    } else if (about->combinations != plan->air_size * plan->fuel_size ||
               about->chunk_air != plan->air) {
        (void)shv_fail(text, SHV_OK, "it cuts the study into other chunks");
    } else if (about->keep != keep) {
        (void)shv_fail(text, SHV_OK, "it keeps %llu rows, this run %zu",
                       (unsigned long long)about->keep, keep);
    } else if (about->exhaustive != (study->results.exhaustive ? 1u : 0u)) {
        (void)shv_fail(text, SHV_OK, "it was begun %s --exhaustive",
                       about->exhaustive ? "with" : "without");
    } else {
        return NULL;
    }
    return text->text;
}

/* As above, and the shard. */
static const char *differs(const struct shv_journal *j, const struct shv_study *study, size_t keep,
                           struct shv_message *text)
{
    const struct journal_about *a = journal_about(&j->content);
    if (journal_differs(&j->content, study, &j->plan, keep, text)) {
        return text->text;
    }
    if (a->shard == j->plan.shard.index && a->shards == j->plan.shard.count) {
        return NULL;
    }
    (void)shv_fail(text, SHV_OK, "it is of shard %llu of %llu, this is shard %llu of %llu",
                   (unsigned long long)a->shard + 1, (unsigned long long)a->shards,
                   (unsigned long long)j->plan.shard.index + 1,
                   (unsigned long long)j->plan.shard.count);
    return text->text;
}

bool journal_fits(const struct journal_content *content, const struct sweep_plan *plan)
{
    const struct ranges done = journal_done(content);
    const struct journal_list *list = &content->list[JOURNAL_BEST];
    const struct shv_candidate *best = list->item;
    bool fits = (done.count == 0 || done.item[done.count - 1].end <= plan->positions) &&
                list->count <= journal_about(content)->keep &&
                journal_counts(content)->total <= plan_combinations(plan);
    for (size_t i = 0; i < list->count; i++) {
        fits = fits && best[i].index < plan->air_size * plan->fuel_size;
    }
    return fits;
}

/* ---- open ---- */

static bool set_text(struct journal_content *content, enum journal_part part, const char *text)
{
    return journal_set(content, part, text, strlen(text));
}

/* A sweep of which nothing is done. */
static bool describe(struct shv_journal *j, const struct shv_study *study, size_t keep)
{
    char folder[PATH_MAX];
    struct journal_content *c = &j->content;
    const struct shv_sweep_counts none = {0};
    const struct journal_about about = {.combinations = j->plan.air_size * j->plan.fuel_size,
                                        .chunk_air = j->plan.air,
                                        .shard = j->plan.shard.index,
                                        .shards = j->plan.shard.count,
                                        .keep = keep,
                                        .exhaustive = study->results.exhaustive ? 1u : 0u};
    bool good = set_text(c, JOURNAL_VERSION, shv_version()) &&
                set_text(c, JOURNAL_STUDY, study->path ? study->path : "") &&
                set_text(c, JOURNAL_SHA256_ALL, study->sha256_all) &&
                /* Only to find the study again: a folder that was removed meanwhile is no reason to
                 * fail. */
                set_text(c, JOURNAL_STARTED_IN, getcwd(folder, sizeof folder) ? folder : "") &&
                journal_set(c, JOURNAL_ABOUT, &about, 1) &&
                journal_set(c, JOURNAL_COUNTS, &none, 1);
    for (int i = JOURNAL_COUNTS + 1; i < JOURNAL_PARTS && good; i++) {
        good = journal_set(c, (enum journal_part)i, NULL, 0);
    }
    return good;
}

static enum shv_status no_memory(const struct shv_journal *j, struct shv_message *message)
{
    return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
}

static enum shv_status begin(struct shv_journal *j, bool is_new, const struct shv_study *study,
                             size_t keep, struct shv_message *message)
{
    journal_content_free(&j->content);
    enum shv_status status = describe(j, study, keep)
                                 ? journal_file_write(&j->file, &j->content, true, message)
                                 : no_memory(j, message);
    if (status != SHV_OK && is_new) {
        journal_file_remove(&j->file);
    }
    return status;
}

/* SHV_OK when it can be gone on with, or, with *replace, replaced. */
static enum shv_status judge(struct shv_journal *j, const struct shv_journal_options *o,
                             const struct shv_study *study, bool *replace,
                             struct shv_message *message)
{
    struct shv_message text = {{0}};
    const char *why = differs(j, study, o->keep, &text);
    /* One in which nothing is done yet is no loss either. */
    uint64_t done = journal_counts(&j->content)->total, total = plan_combinations(&j->plan);
    bool done_with = journal_about(&j->content)->finished || done == 0;
    *replace = o->mode == SHV_JOURNAL_START && done_with;
    if (*replace || (!why && o->mode == SHV_JOURNAL_RESUME)) {
        return SHV_OK;
    }
    if (o->mode == SHV_JOURNAL_RESUME) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "cannot go on with %s: %s; --anew drops it and begins", j->file.path, why);
    }
    if (why) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s holds an unfinished run that this one is no part of: %s; --anew drops "
                        "it and begins, --out takes another folder",
                        j->file.path, why);
    }
    return shv_fail(message, SHV_BAD_INPUT,
                    "%s holds an unfinished run of this study, %.1f %% of the sweep done; --resume "
                    "goes on with it, --anew drops it and begins",
                    j->file.path, total > 0 ? 100.0 * (double)done / (double)total : 100.0);
}

static enum shv_status read_old(struct shv_journal *j, const struct shv_journal_options *o,
                                const struct shv_study *study, bool *replace,
                                struct shv_message *message)
{
    enum shv_status status = journal_file_read(&j->file, &j->content, message);
    status = status == SHV_OK ? judge(j, o, study, replace, message) : status;
    if (status == SHV_OK && !*replace && !journal_fits(&j->content, &j->plan)) {
        status = shv_fail(message, SHV_IO, "%s is damaged: it says more than there is to do",
                          j->file.path);
    }
    return status;
}

static enum shv_status open_it(struct shv_journal *j, const char *folder,
                               const struct shv_journal_options *o, const struct shv_study *study,
                               struct shv_message *message)
{
    bool is_new = false, replace = false;
    enum shv_status status = SHV_OK;
    if (o->mode == SHV_JOURNAL_ANEW) {
        status = journal_file_empty(folder, message);
    }
    if (status == SHV_OK) {
        status = journal_file_open(&j->file, folder, &is_new, message);
    }
    if (status == SHV_OK && !is_new) {
        status = read_old(j, o, study, &replace, message);
    }
    if (status == SHV_OK && (is_new || replace)) {
        status = begin(j, is_new, study, o->keep, message);
    }
    if (status == SHV_OK) {
        remember(j);
    }
    return status;
}

enum shv_status shv_journal_open(const char *folder, const struct shv_journal_options *options,
                                 const struct shv_model *model, const struct shv_space *space,
                                 struct shv_journal **journal, struct shv_message *message)
{
    *journal = NULL;
    struct shv_journal *j = calloc(1, sizeof *j);
    if (!j) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a journal");
    }
    enum shv_status status = plan_of(&j->plan, model, space, options->shard, message);
    if (status == SHV_OK) {
        status = open_it(j, folder, options, shv_model_study(model), message);
    }
    if (status != SHV_OK) {
        journal_free(j);
        return status;
    }
    *journal = j;
    return SHV_OK;
}

/* ---- write ---- */

static bool take_kept(struct journal_content *c, const struct shv_keep *keep)
{
    size_t count = keep ? shv_keep_count(keep) : 0;
    struct shv_kept_row *rows = calloc(count + 1, sizeof *rows);
    if (rows && count > 0) {
        shv_keep_rows(keep, rows);
    }
    bool good = rows && journal_set(c, JOURNAL_KEPT, rows, count);
    free(rows);
    return good;
}

static bool set_finished(struct journal_content *c, bool finished)
{
    struct journal_about about = *journal_about(c);
    about.finished = finished;
    return journal_set(c, JOURNAL_ABOUT, &about, 1);
}

bool journal_take(struct shv_journal *j, const struct shv_sweep_counts *counts,
                  const struct ranges *done, const struct shv_ranking *ranking,
                  const struct shv_keep *keep)
{
    struct journal_content *c = &j->content;
    return set_finished(c, false) && journal_set(c, JOURNAL_COUNTS, counts, 1) &&
           journal_set(c, JOURNAL_DONE, done->item, done->count) &&
           journal_set(c, JOURNAL_BEST, ranking->item, ranking->count) && take_kept(c, keep) &&
           journal_set(c, JOURNAL_NOTES, NULL, 0);
}

enum shv_status journal_write(struct shv_journal *j, struct shv_message *message)
{
    enum shv_status status = journal_file_write(&j->file, &j->content, false, message);
    if (status == SHV_OK) {
        remember(j);
    }
    return status;
}

enum shv_status shv_journal_finish(struct shv_journal *j, struct shv_message *message)
{
    return set_finished(&j->content, true) ? journal_write(j, message) : no_memory(j, message);
}

/* ---- notes ---- */

enum shv_status shv_journal_put(struct shv_journal *j, uint64_t place, const uint64_t *words,
                                size_t count, struct shv_message *message)
{
    const struct journal_list *old = &j->content.list[JOURNAL_NOTES];
    const struct journal_note *was = old->item;
    struct journal_note *note = calloc(old->count + count + 1, sizeof *note);
    if (!note) {
        return no_memory(j, message);
    }
    size_t left = 0;
    for (size_t i = 0; i < old->count; i++) {
        if (was[i].place != place) {
            note[left++] = was[i];
        }
    }
    for (size_t i = 0; i < count; i++) {
        note[left++] = (struct journal_note){place, i, words[i]};
    }
    bool good =
        set_finished(&j->content, false) && journal_set(&j->content, JOURNAL_NOTES, note, left);
    free(note);
    return good ? journal_write(j, message) : no_memory(j, message);
}

bool shv_journal_get(const struct shv_journal *j, uint64_t place, uint64_t *words, size_t count)
{
    const struct journal_list *notes = &j->content.list[JOURNAL_NOTES];
    const struct journal_note *note = notes->item;
    size_t found = 0;
    for (size_t i = 0; i < notes->count; i++) {
        if (note[i].place == place && found++ < count) {
            words[found - 1] = note[i].value;
        }
    }
    return found == count && count > 0;
}

/* ---- a sweep that was joined from parts ---- */

enum shv_status shv_journal_store_whole(struct shv_journal *j, const struct shv_ranking *ranking,
                                        const struct shv_sweep_counts *counts,
                                        const struct shv_keep *keep, struct shv_message *message)
{
    struct ranges done = {0};
    bool good =
        ranges_append(&done, 0, j->plan.positions) && journal_take(j, counts, &done, ranking, keep);
    ranges_free(&done);
    return good ? journal_write(j, message) : no_memory(j, message);
}
