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
    struct journal_content stored; /* as on disk */
    /* Being written; `about` is that of stored, and not owned. */
    struct journal_content next;
};

const struct sweep_plan *journal_plan(const struct shv_journal *journal)
{
    return &journal->plan;
}

size_t journal_keep(const struct shv_journal *journal)
{
    return (size_t)journal->stored.about.keep;
}

const struct journal_content *journal_stored(const struct shv_journal *journal)
{
    return &journal->stored;
}

struct shv_journal_progress shv_journal_progress(const struct shv_journal *journal)
{
    return (struct shv_journal_progress){.done = journal->stored.counts.total,
                                         .total = plan_combinations(&journal->plan),
                                         .finished = journal->stored.about.finished};
}

static void journal_free(struct shv_journal *journal)
{
    journal->next.about = (struct journal_about){0};
    journal_content_free(&journal->next);
    journal_content_free(&journal->stored);
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

const char *journal_differs(const struct journal_about *about, const struct shv_study *study,
                            const struct sweep_plan *plan, size_t keep, struct shv_message *text)
{
    if (strcmp(about->version, shv_version()) != 0) {
        (void)shv_fail(text, SHV_OK, "it is of sheave %s, this is %s", about->version,
                       shv_version());
    } else if (strcmp(about->sha256_all, study->sha256_all) != 0) {
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
    const struct journal_about *a = &j->stored.about;
    if (journal_differs(a, study, &j->plan, keep, text)) {
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
    const struct ranges *done = &content->done;
    bool fits = done->count == 0 || done->item[done->count - 1].end <= plan->positions;
    fits = fits && content->best_count <= content->about.keep &&
           content->counts.total <= plan_combinations(plan);
    return fits && (content->best_count == 0 || content->best[content->best_count - 1].index <
                                                    plan->air_size * plan->fuel_size);
}

/* ---- open ---- */

static bool describe(struct shv_journal *j, const struct shv_study *study, size_t keep)
{
    char folder[PATH_MAX];
    struct journal_about *a = &j->stored.about;
    *a = (struct journal_about){.combinations = j->plan.air_size * j->plan.fuel_size,
                                .chunk_air = j->plan.air,
                                .shard = j->plan.shard.index,
                                .shards = j->plan.shard.count,
                                .keep = keep,
                                .exhaustive = study->results.exhaustive ? 1u : 0u};
    a->version = strdup(shv_version());
    a->study = strdup(study->path ? study->path : "");
    a->sha256_all = strdup(study->sha256_all);
    /* Only to find the study again: a folder that was removed meanwhile is no reason to fail. */
    a->started_in = strdup(getcwd(folder, sizeof folder) ? folder : "");
    return a->version && a->study && a->sha256_all && a->started_in;
}

/* Room for all that may be kept, so that storing allocates next to nothing. */
static bool make_room(struct shv_journal *j, size_t keep)
{
    size_t room = keep > 0 ? keep : 1;
    struct shv_candidate *best = calloc(room, sizeof *best);
    j->next.best = calloc(room, sizeof *best);
    if (!best || !j->next.best) {
        free(best);
        return false;
    }
    if (j->stored.best_count > 0) {
        memcpy(best, j->stored.best, j->stored.best_count * sizeof *best);
    }
    free(j->stored.best);
    j->stored.best = best;
    return true;
}

static enum shv_status begin(struct shv_journal *j, bool is_new, const struct shv_study *study,
                             size_t keep, struct shv_message *message)
{
    journal_content_free(&j->stored);
    enum shv_status status =
        describe(j, study, keep)
            ? journal_file_create(&j->file, &j->stored, message)
            : shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
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
    bool done_with = j->stored.about.finished || j->stored.counts.total == 0;
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
    uint64_t total = plan_combinations(&j->plan);
    return shv_fail(message, SHV_BAD_INPUT,
                    "%s holds an unfinished run of this study, %.1f %% of the sweep done; --resume "
                    "goes on with it, --anew drops it and begins",
                    j->file.path,
                    total > 0 ? 100.0 * (double)j->stored.counts.total / (double)total : 100.0);
}

static enum shv_status read_old(struct shv_journal *j, const struct shv_journal_options *o,
                                const struct shv_study *study, bool *replace,
                                struct shv_message *message)
{
    enum shv_status status = journal_file_read(&j->file, &j->stored, message);
    status = status == SHV_OK ? judge(j, o, study, replace, message) : status;
    if (status == SHV_OK && !*replace && !journal_fits(&j->stored, &j->plan)) {
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
    if (status == SHV_OK && !make_room(j, o->keep)) {
        status =
            shv_fail(message, SHV_NO_MEMORY, "out of memory for a journal of %zu rows", o->keep);
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

static int by_index(const void *a, const void *b)
{
    const struct shv_candidate *x = a, *y = b;
    return x->index < y->index ? -1 : x->index > y->index ? 1 : 0;
}

/* What is on disk becomes what was written; the room of the other is used again. */
static void swap_contents(struct shv_journal *j)
{
    struct journal_content old = j->stored;
    j->stored = j->next;
    j->next = old;
}

static enum shv_status write_next(struct shv_journal *j, struct shv_message *message)
{
    enum shv_status status = journal_file_update(&j->file, &j->stored, &j->next, message);
    if (status == SHV_OK) {
        swap_contents(j);
    }
    return status;
}

static bool copy_kept(struct journal_content *to, const struct shv_kept_row *kept, size_t count)
{
    struct shv_kept_row *rows = realloc(to->kept, (count + 1) * sizeof *rows);
    if (!rows) {
        return false;
    }
    to->kept = rows;
    to->kept_count = count;
    if (count > 0) {
        memcpy(rows, kept, count * sizeof *rows);
    }
    return true;
}

enum shv_status journal_store(struct shv_journal *j, struct journal_state *state,
                              struct shv_message *message)
{
    if (!ranges_copy(&j->next.done, &state->done) ||
        !copy_kept(&j->next, state->kept, state->kept_count)) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
    }
    qsort(state->best, state->best_count, sizeof *state->best, by_index);
    memcpy(j->next.best, state->best, state->best_count * sizeof *state->best);
    j->next.best_count = state->best_count;
    j->next.counts = state->counts;
    j->next.about = j->stored.about;
    j->next.about.finished = false;
    j->next.note_count = 0; /* found from another state of the sweep, or none yet */
    return write_next(j, message);
}

/* What stands on disk, to be changed and written. */
static bool copy_stored(struct shv_journal *j, size_t more_notes)
{
    const struct journal_content *s = &j->stored;
    struct journal_content *n = &j->next;
    struct journal_note *note = realloc(n->note, (s->note_count + more_notes + 1) * sizeof *note);
    n->note = note ? note : n->note;
    if (!note || !ranges_copy(&n->done, &s->done) || !copy_kept(n, s->kept, s->kept_count)) {
        return false;
    }
    if (s->note_count > 0) {
        memcpy(note, s->note, s->note_count * sizeof *note);
    }
    n->note_count = s->note_count;
    memcpy(n->best, s->best, s->best_count * sizeof *s->best);
    n->best_count = s->best_count;
    n->counts = s->counts;
    n->about = s->about;
    return true;
}

enum shv_status shv_journal_finish(struct shv_journal *j, struct shv_message *message)
{
    if (!copy_stored(j, 0)) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
    }
    j->next.about.finished = true;
    return write_next(j, message);
}

/* ---- notes ---- */

static int by_place(const void *a, const void *b)
{
    const struct journal_note *x = a, *y = b;
    if (x->place != y->place) {
        return x->place < y->place ? -1 : 1;
    }
    return x->word < y->word ? -1 : x->word > y->word ? 1 : 0;
}

enum shv_status shv_journal_put(struct shv_journal *j, uint64_t place, const uint64_t *words,
                                size_t count, struct shv_message *message)
{
    if (!copy_stored(j, count)) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
    }
    struct journal_content *n = &j->next;
    size_t left = 0;
    for (size_t i = 0; i < n->note_count; i++) {
        if (n->note[i].place != place) {
            n->note[left++] = n->note[i];
        }
    }
    for (size_t i = 0; i < count; i++) {
        n->note[left++] = (struct journal_note){place, i, words[i]};
    }
    n->note_count = left;
    qsort(n->note, left, sizeof *n->note, by_place);
    n->about.finished = false;
    return write_next(j, message);
}

bool shv_journal_get(const struct shv_journal *j, uint64_t place, uint64_t *words, size_t count)
{
    const struct journal_content *s = &j->stored;
    size_t first = 0, found = 0;
    while (first < s->note_count && s->note[first].place < place) {
        first++;
    }
    for (size_t i = first; i < s->note_count && s->note[i].place == place; i++, found++) {
        if (found < count) {
            words[found] = s->note[i].value;
        }
    }
    return found == count && count > 0;
}

/* ---- a sweep that was joined from parts ---- */

enum shv_status shv_journal_store_whole(struct shv_journal *j, const struct shv_ranking *ranking,
                                        const struct shv_sweep_counts *counts,
                                        const struct shv_keep *keep, struct shv_message *message)
{
    struct journal_state state = {.counts = *counts,
                                  .best_count = ranking->count,
                                  .kept_count = keep ? shv_keep_count(keep) : 0};
    state.best = calloc(ranking->count + 1, sizeof *state.best);
    state.kept = calloc(state.kept_count + 1, sizeof *state.kept);
    enum shv_status status = SHV_OK;
    if (!state.best || !state.kept || !ranges_append(&state.done, 0, j->plan.positions)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", j->file.path);
    } else {
        memcpy(state.best, ranking->item, ranking->count * sizeof *state.best);
        if (state.kept_count > 0) {
            shv_keep_rows(keep, state.kept);
        }
        status = journal_store(j, &state, message);
    }
    ranges_free(&state.done);
    free(state.kept);
    free(state.best);
    return status;
}
