/* The journal of a sweep: a sweep broken off anywhere ends with the same bytes; what does not
 * belong together is refused; damage is found; a full disk, a lock and a read-only folder are told.
 */
#include "support/study_fixture.h"

#include "sweep/journal.h"
#include "sheave/version.h"

#include <dirent.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define KEEP 50
#define OTHER_SHA "00000000000000000000000000000000000000000000000000000000000000ff"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    /* An undisturbed sweep without a journal. */
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_keep keep;
    char folder[64];
} g;

static struct shv_keep kept; /* of the last sweep */

/* ---- folders ---- */

static void make_folder(char folder[64])
{
    (void)snprintf(folder, 64, "/tmp/sheave-journal-XXXXXX");
    assert_non_null(mkdtemp(folder));
}

static char *path_of(const char *folder, const char *name)
{
    static char path[400];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static int files_in(const char *folder, bool remove_them)
{
    int count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e; (e = readdir(d));) {
        if (e->d_name[0] != '.') {
            count++;
            assert_true(!remove_them || unlink(path_of(folder, e->d_name)) == 0);
        }
    }
    assert_int_equal(closedir(d), 0);
    return count;
}

static void remove_folder(const char *folder)
{
    (void)files_in(folder, true);
    assert_int_equal(rmdir(folder), 0);
}

static size_t read_file(const char *path, unsigned char **bytes)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    *bytes = malloc((size_t)1 << 20);
    assert_non_null(*bytes);
    size_t size = fread(*bytes, 1, (size_t)1 << 20, f);
    assert_true(size > 0 && size < (size_t)1 << 20);
    assert_int_equal(fclose(f), 0);
    return size;
}

static void write_file(const char *path, const unsigned char *bytes, size_t size)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_true(fwrite(bytes, 1, size, f) == size);
    assert_int_equal(fclose(f), 0);
}

/* ---- sweeps ---- */

struct watcher {
    int calls, stop_after; /* 0: never */
    int limit_at;          /* call from which on the size of files is limited */
    bool frees;            /* no more after trouble, for which it waits */
    uint64_t first_done, done, total;
    int troubles;
    char trouble[300], last_trouble[300];
};

static void limit_files(rlim_t most)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = most;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static bool watch(void *data, uint64_t done, uint64_t total, double best)
{
    struct watcher *w = data;
    (void)best;
    if (w->calls++ == 0) {
        w->first_done = done;
    }
    assert_true(done >= w->done);
    w->done = done;
    w->total = total;
    if (w->calls == w->limit_at) {
        limit_files(1024);
    }
    if (w->frees && w->calls > w->limit_at) {
        const struct timespec pause = {0, 20000000};
        (void)(w->troubles > 0 ? (limit_files(RLIM_INFINITY), 0) : nanosleep(&pause, NULL));
    }
    return w->calls != w->stop_after;
}

static void hear(void *data, const char *text)
{
    struct watcher *w = data;
    if (w->troubles++ == 0) {
        (void)snprintf(w->trouble, sizeof w->trouble, "%s", text);
    }
    (void)snprintf(w->last_trouble, sizeof w->last_trouble, "%s", text);
}

static enum shv_status open_journal(const char *folder, enum shv_journal_mode mode,
                                    struct shv_shard shard, struct shv_journal **journal,
                                    struct shv_message *message)
{
    const struct shv_journal_options o = {.mode = mode, .shard = shard, .keep = KEEP};
    message->text[0] = '\0';
    enum shv_status status = shv_journal_open(folder, &o, g.model, &g.space, journal, message);
    assert_int_equal(status == SHV_OK, *journal != NULL);
    assert_int_equal(status != SHV_OK, message->text[0] != '\0');
    return status;
}

static struct shv_journal *opened(const char *folder, enum shv_journal_mode mode,
                                  struct shv_shard shard)
{
    struct shv_journal *journal;
    struct shv_message message;
    if (open_journal(folder, mode, shard, &journal, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return journal;
}

static void assert_refused(const char *folder, enum shv_journal_mode mode, struct shv_shard shard,
                           enum shv_status status, const char *says)
{
    struct shv_journal *journal;
    struct shv_message message;
    assert_int_equal(open_journal(folder, mode, shard, &journal, &message), status);
    if (!strstr(message.text, says) || !strstr(message.text, folder)) {
        fail_msg("\"%s\" says nothing of \"%s\"", message.text, says);
    }
}

static enum shv_status sweep(struct shv_journal *journal, int threads, struct watcher *w,
                             struct shv_ranking *ranking, struct shv_sweep_counts *counts,
                             struct shv_message *message)
{
    const struct shv_sweep_options o = {.threads = threads,
                                        .progress = watch,
                                        .progress_data = w,
                                        .trouble = hear,
                                        .journal = journal,
                                        .keep = &kept};
    shv_keep_free(&kept);
    assert_int_equal(shv_keep_init(&kept, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(ranking, KEEP, NULL), SHV_OK);
    return shv_sweep_run(g.model, &g.space, &o, ranking, counts, message);
}

static struct shv_kept_row *rows_of(const struct shv_keep *keep)
{
    struct shv_kept_row *rows = calloc(shv_keep_count(keep) + 1, sizeof *rows);
    assert_non_null(rows);
    shv_keep_rows(keep, rows);
    return rows;
}

static void assert_same_results(const struct shv_ranking *r, const struct shv_sweep_counts *c)
{
    struct shv_kept_row *expected = rows_of(&g.keep), *found = rows_of(&kept);
    assert_int_equal(shv_keep_count(&kept), shv_keep_count(&g.keep));
    assert_memory_equal(found, expected, shv_keep_count(&kept) * sizeof *found);
    free(expected);
    free(found);
    assert_memory_equal(c, &g.counts, sizeof *c);
    assert_int_equal(r->count, g.ranking.count);
    for (size_t i = 0; i < r->count; i++) {
        assert_true(r->item[i].index == g.ranking.item[i].index);
        assert_same_bits(r->item[i].objective, g.ranking.item[i].objective);
    }
}

/* Opens, sweeps, closes. */
static enum shv_status sweep_once(const char *folder, enum shv_journal_mode mode, int threads,
                                  int stop_after)
{
    struct shv_journal *journal = opened(folder, mode, (struct shv_shard){0});
    struct watcher w = {.stop_after = stop_after};
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_message message = {""};
    enum shv_status status = sweep(journal, threads, &w, &ranking, &counts, &message);
    if (status == SHV_OK) {
        assert_same_results(&ranking, &counts);
    }
    assert_true(shv_journal_progress(journal).done == counts.total);
    shv_ranking_free(&ranking);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    return status;
}

/* A journal broken off after some chunks, and nothing else in the folder. */
static void break_off(const char *folder)
{
    assert_int_equal(sweep_once(folder, SHV_JOURNAL_ANEW, 1, 9), SHV_STOPPED);
}

static struct shv_tradeoff tradeoffs[] = {
    {{SHV_TRADE_POWER, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_COUNT}, 0.0},
    {{SHV_TRADE_OBJECTIVE, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_TORQUE}, 40.0}};
static struct shv_serve serves[] = {{0, 1.0}, {1, 1.0}};

static int begin(void **state)
{
    (void)state;
    signal(SIGXFSZ, SIG_IGN);
    made_mixed(&g.m, 120, INFINITY, SHV_BLEED_TO_INLET);
    made_speeds(&g.m, 2, 40.0, 90.0);
    g.m.study.path = "made.cfg";
    g.m.study.tradeoffs = tradeoffs;
    g.m.study.tradeoff_count = 2;
    g.m.study.serves = serves;
    g.m.study.serve_count = 2;
    memset(g.m.study.sha256_all, 'a', 64);
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    struct watcher w = {0};
    assert_int_equal(sweep(NULL, 1, &w, &g.ranking, &g.counts, NULL), SHV_OK);
    assert_int_equal(g.ranking.count, KEEP);
    g.keep = kept;
    kept = (struct shv_keep){0};
    assert_true(g.keep.front[0].count > 5 && g.keep.serving.count > 5);
    assert_true(w.calls > 40 && g.counts.total == g.space.size);
    make_folder(g.folder);
    return 0;
}

static int end(void **state)
{
    (void)state;
    remove_folder(g.folder);
    shv_ranking_free(&g.ranking);
    shv_keep_free(&g.keep);
    shv_keep_free(&kept);
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

/* ---- going on ---- */

static void an_undisturbed_sweep_with_a_journal(void **state)
{
    (void)state;
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_ANEW, 2, 0), SHV_OK);
    assert_int_equal(files_in(g.folder, false), 1);
}

static void broken_off_anywhere_it_ends_the_same(void **state)
{
    (void)state;
    const int stops[] = {1, 2, 3, 5, 17};
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++) {
        (void)files_in(g.folder, true);
        enum shv_status status = sweep_once(g.folder, SHV_JOURNAL_START, 1, stops[i]);
        for (int run = 0; status == SHV_STOPPED; run++) {
            assert_true(run < 200);
            /* One more call each time, since the first comes before the work. */
            status = sweep_once(g.folder, SHV_JOURNAL_RESUME, 1 + run % 3, stops[i] + 1);
        }
        assert_int_equal(status, SHV_OK);
        /* Nothing is left to do, and the results are there all the same. */
        assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 2, 1), SHV_OK);
    }
}

static void progress_goes_on_where_it_was(void **state)
{
    (void)state;
    break_off(g.folder);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    struct shv_journal_progress p = shv_journal_progress(journal);
    assert_true(p.done > 0 && p.done < p.total && p.total == g.space.size && !p.finished);
    struct watcher w = {0};
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    assert_int_equal(sweep(journal, 1, &w, &ranking, &counts, NULL), SHV_OK);
    assert_true(w.first_done == p.done && w.done == p.total && w.total == p.total);
    assert_int_equal(w.troubles, 0);
    shv_ranking_free(&ranking);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

static void done_chunks_are_few_ranges(void **state)
{
    (void)state;
    break_off(g.folder);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    const struct ranges done = journal_done(journal_stored(journal));
    assert_int_equal(done.count, 1);
    assert_int_equal(ranges_total(&done), 9);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

static void resume_begins_where_there_is_nothing(void **state)
{
    (void)state;
    (void)files_in(g.folder, true);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
    /* A run killed before it had stored anything leaves an empty file at the most. */
    write_file(path_of(g.folder, SHV_JOURNAL_FILE), (const unsigned char *)"", 0);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

static void the_ranking_must_be_that_of_the_journal(void **state)
{
    (void)state;
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0});
    const struct shv_sweep_options o = {.journal = journal};
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_message message = {""};
    assert_int_equal(shv_ranking_init(&ranking, KEEP + 1, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(g.model, &g.space, &o, &ranking, &counts, &message),
                     SHV_BAD_INPUT);
    assert_string_equal(message.text, "the journal keeps 50 rows, the ranking 51");
    shv_ranking_free(&ranking);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

/* ---- what comes after the sweep ---- */

static void notes_are_kept(void **state)
{
    (void)state;
    const struct shv_shard whole = {0};
    const uint64_t first[] = {7, UINT64_MAX, 0}, second[] = {1}, third[] = {4, 5, 6};
    uint64_t back[3] = {0};
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_ANEW, 1, 0), SHV_OK);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_RESUME, whole);
    assert_false(shv_journal_get(journal, 0, back, 3));
    assert_int_equal(shv_journal_put(journal, 5, first, 3, NULL), SHV_OK);
    assert_int_equal(shv_journal_put(journal, 2, second, 1, NULL), SHV_OK);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    journal = opened(g.folder, SHV_JOURNAL_RESUME, whole);
    assert_true(shv_journal_get(journal, 5, back, 3));
    assert_memory_equal(back, first, sizeof first);
    assert_true(shv_journal_get(journal, 2, back, 1) && back[0] == 1);
    assert_false(shv_journal_get(journal, 2, back, 2));
    assert_false(shv_journal_get(journal, 3, back, 1));
    assert_int_equal(shv_journal_put(journal, 5, third, 3, NULL), SHV_OK);
    assert_int_equal(shv_journal_finish(journal, NULL), SHV_OK);
    assert_true(shv_journal_get(journal, 5, back, 3));
    assert_memory_equal(back, third, sizeof third);
    assert_true(shv_journal_progress(journal).finished);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

static void a_sweep_that_goes_on_drops_notes(void **state)
{
    (void)state;
    const uint64_t word = 3;
    uint64_t back;
    break_off(g.folder);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    assert_int_equal(shv_journal_put(journal, 0, &word, 1, NULL), SHV_OK);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
    journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    assert_false(shv_journal_get(journal, 0, &back, 1));
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

static void a_joined_sweep_is_stored_whole(void **state)
{
    (void)state;
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0});
    assert_int_equal(shv_journal_store_whole(journal, &g.ranking, &g.counts, &g.keep, NULL),
                     SHV_OK);
    assert_true(shv_journal_progress(journal).done == g.space.size);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    /* There is nothing left to do, and the results are the same. */
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 1), SHV_OK);
}

/* Without a list of what was kept none is stored. */
static void a_joined_sweep_without_kept_rows(void **state)
{
    (void)state;
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0});
    assert_int_equal(shv_journal_store_whole(journal, &g.ranking, &g.counts, NULL, NULL), SHV_OK);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    assert_true(journal_stored(journal)->list[JOURNAL_BEST].count > 0);
    assert_int_equal(journal_stored(journal)->list[JOURNAL_KEPT].count, 0);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

/* ---- refusals ---- */

static void an_unfinished_journal_is_not_dropped(void **state)
{
    (void)state;
    const struct shv_shard whole = {0};
    break_off(g.folder);
    assert_refused(g.folder, SHV_JOURNAL_START, whole, SHV_BAD_INPUT,
                   "unfinished run of this study");
    assert_refused(g.folder, SHV_JOURNAL_START, whole, SHV_BAD_INPUT,
                   " % of the sweep done; --resume");
    g.m.study.sha256_all[3] = 'b';
    assert_refused(g.folder, SHV_JOURNAL_START, whole, SHV_BAD_INPUT, "no part of");
    g.m.study.sha256_all[3] = 'a';
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_ANEW, 1, 1), SHV_STOPPED);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
    /* Complete, yet the results may not have been written. */
    assert_refused(g.folder, SHV_JOURNAL_START, whole, SHV_BAD_INPUT, "100.0 %");
}

static void nothing_done_is_nothing_lost(void **state)
{
    (void)state;
    assert_int_equal(
        shv_journal_close(opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0}), NULL), SHV_OK);
    assert_int_equal(
        shv_journal_close(opened(g.folder, SHV_JOURNAL_START, (struct shv_shard){1, 4}), NULL),
        SHV_OK);
}

static void a_finished_journal_is_replaced(void **state)
{
    (void)state;
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_ANEW, 1, 0), SHV_OK);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    assert_int_equal(shv_journal_finish(journal, NULL), SHV_OK);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    journal = opened(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    assert_true(shv_journal_progress(journal).finished);
    assert_true(shv_journal_progress(journal).done == g.space.size);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    /* Whatever it was of. */
    g.m.study.sha256_all[0] = 'c';
    journal = opened(g.folder, SHV_JOURNAL_START, (struct shv_shard){2, 3});
    assert_true(shv_journal_progress(journal).done == 0);
    assert_false(shv_journal_progress(journal).finished);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    g.m.study.sha256_all[0] = 'a';
}

/* What SQLite would undo a change by goes when the journal is closed; a folder in its place stays.
 */
static void what_closing_cannot_remove_is_said(void **state)
{
    (void)state;
    char rollback[512];
    struct shv_message message = {""};
    (void)snprintf(rollback, sizeof rollback, "%s/" SHV_JOURNAL_FILE "-journal", g.folder);
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0});
    assert_int_equal(unlink(rollback), 0);
    assert_int_equal(mkdir(rollback, 0777), 0);
    assert_int_equal(shv_journal_close(journal, &message), SHV_IO);
    assert_non_null(strstr(message.text, "cannot close "));
    assert_int_equal(rmdir(rollback), 0);
    assert_int_equal(shv_journal_close(NULL, &message), SHV_OK);
}

static void another_study_shard_or_number_of_rows(void **state)
{
    (void)state;
    const struct shv_shard whole = {0}, other = {1, 4};
    struct shv_journal *journal;
    struct shv_message message;
    break_off(g.folder);
    g.m.study.sha256_all[63] = 'b';
    assert_refused(g.folder, SHV_JOURNAL_RESUME, whole, SHV_BAD_INPUT,
                   "another study, or made.cfg");
    g.m.study.sha256_all[63] = 'a';
    assert_refused(g.folder, SHV_JOURNAL_RESUME, other, SHV_BAD_INPUT,
                   "it is of shard 1 of 1, this is shard 2 of 4");
    const struct shv_journal_options more = {.mode = SHV_JOURNAL_RESUME, .keep = KEEP + 1};
    assert_int_equal(shv_journal_open(g.folder, &more, g.model, &g.space, &journal, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "it keeps 50 rows, this run 51"));
    /* After all of this it is as good as before. */
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

static void another_version_or_way_of_cutting(void **state)
{
    (void)state;
    struct sweep_plan plan;
    struct shv_message text;
    assert_int_equal(plan_of(&plan, g.model, &g.space, (struct shv_shard){0}, NULL), SHV_OK);
    struct journal_about about = {
        .combinations = g.space.size, .chunk_air = plan.air, .keep = KEEP};
    struct journal_content c = {{{NULL}}};
    assert_true(journal_set(&c, JOURNAL_VERSION, "0.0.9", 5) &&
                journal_set(&c, JOURNAL_SHA256_ALL, g.m.study.sha256_all, 64) &&
                journal_set(&c, JOURNAL_ABOUT, &about, 1));
    assert_non_null(journal_differs(&c, &g.m.study, &plan, KEEP, &text));
    char told[64];
    (void)snprintf(told, sizeof told, "it is of sheave 0.0.9, this is %s", shv_version());
    assert_string_equal(text.text, told);
    assert_true(journal_set(&c, JOURNAL_VERSION, shv_version(), strlen(shv_version())));
    assert_null(journal_differs(&c, &g.m.study, &plan, KEEP, &text));
    about.chunk_air /= 2;
    assert_true(journal_set(&c, JOURNAL_ABOUT, &about, 1));
    assert_non_null(journal_differs(&c, &g.m.study, &plan, KEEP, &text));
    about.chunk_air *= 2;
    about.combinations++;
    assert_true(journal_set(&c, JOURNAL_ABOUT, &about, 1));
    assert_non_null(journal_differs(&c, &g.m.study, &plan, KEEP, &text));
    journal_content_free(&c);
}

static void another_format(void **state)
{
    (void)state;
    unsigned char *bytes;
    break_off(g.folder);
    size_t size = read_file(path_of(g.folder, SHV_JOURNAL_FILE), &bytes);
    assert_int_equal(bytes[63], 5); /* the user version of an SQLite file */
    bytes[63] = 9;
    write_file(path_of(g.folder, SHV_JOURNAL_FILE), bytes, size);
    free(bytes);
    assert_refused(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0}, SHV_BAD_INPUT,
                   "has format 9; this version of sheave reads format 5");
}

/* ---- damage ---- */

static bool same_content(const struct journal_content *a, const struct journal_content *b)
{
    static const size_t size[JOURNAL_PARTS] = {[JOURNAL_COUNTS] = sizeof(struct shv_sweep_counts),
                                               [JOURNAL_DONE] = sizeof(struct chunk_range),
                                               [JOURNAL_BEST] = sizeof(struct shv_candidate),
                                               [JOURNAL_KEPT] = sizeof(struct shv_kept_row)};
    bool same = true;
    for (int i = 0; same && i < JOURNAL_PARTS; i++) {
        same = a->list[i].count == b->list[i].count &&
               memcmp(a->list[i].item, b->list[i].item, a->list[i].count * size[i]) == 0;
    }
    return same;
}

/* Either refused, or all that counts is there. Returns whether it was refused. */
static bool check_damaged(const unsigned char *bytes, size_t size,
                          const struct shv_journal *original)
{
    struct shv_journal *journal;
    struct shv_message message;
    (void)files_in(g.folder, true);
    write_file(path_of(g.folder, SHV_JOURNAL_FILE), bytes, size);
    enum shv_status status =
        open_journal(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0}, &journal, &message);
    if (status == SHV_OK) {
        assert_true(same_content(journal_stored(journal), journal_stored(original)));
        assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
        return false;
    }
    assert_true(status == SHV_IO || status == SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, SHV_JOURNAL_FILE));
    return true;
}

/* Reads a journal into memory, with what it holds. */
static size_t take_journal(unsigned char **bytes, struct shv_journal **original, char other[64])
{
    make_folder(other);
    break_off(other);
    size_t size = read_file(path_of(other, SHV_JOURNAL_FILE), bytes);
    *original = opened(other, SHV_JOURNAL_RESUME, (struct shv_shard){0});
    return size;
}

static void flipped_bytes_are_found(void **state)
{
    (void)state;
    unsigned char *bytes;
    char other[64];
    struct shv_journal *original;
    size_t size = take_journal(&bytes, &original, other), refused = 0, tried = 0;
    uint64_t seed = 11;
    for (size_t at = 0; at < size; at += at < 100 ? 1 : 1 + random_next(&seed) % 12) {
        unsigned char flip = (unsigned char)(1u << random_next(&seed) % 8);
        bytes[at] ^= flip;
        refused += check_damaged(bytes, size, original);
        tried++;
        bytes[at] ^= flip;
    }
    /* The rest lies in parts of the pages that hold nothing. */
    assert_true(tried > 1000 && refused > 200);
    assert_false(check_damaged(bytes, size, original));
    free(bytes);
    assert_int_equal(shv_journal_close(original, NULL), SHV_OK);
    remove_folder(other);
}

static void cut_files_are_found(void **state)
{
    (void)state;
    unsigned char *bytes;
    char other[64];
    struct shv_journal *original;
    size_t size = take_journal(&bytes, &original, other);
    for (size_t cut = 1; cut < size; cut += cut < 200 || size - cut < 200 ? 13 : 997) {
        assert_true(check_damaged(bytes, cut, original));
    }
    free(bytes);
    assert_int_equal(shv_journal_close(original, NULL), SHV_OK);
    remove_folder(other);
}

static void a_damaged_journal_can_be_dropped(void **state)
{
    (void)state;
    (void)files_in(g.folder, true);
    write_file(path_of(g.folder, SHV_JOURNAL_FILE), (const unsigned char *)"no database at all",
               18);
    assert_refused(g.folder, SHV_JOURNAL_START, (struct shv_shard){0}, SHV_IO, "is damaged");
    assert_refused(g.folder, SHV_JOURNAL_RESUME, (struct shv_shard){0}, SHV_IO, "is damaged");
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_ANEW, 1, 3), SHV_STOPPED);
}

static void a_database_of_another_program(void **state)
{
    (void)state;
    sqlite3 *db;
    (void)files_in(g.folder, true);
    assert_int_equal(sqlite3_open(path_of(g.folder, SHV_JOURNAL_FILE), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE a(b)", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_refused(g.folder, SHV_JOURNAL_START, (struct shv_shard){0}, SHV_IO,
                   "no journal of sheave");
}

/* ---- a disk that is full, a folder that is closed, a folder that is taken ---- */

static void no_room_to_begin(void **state)
{
    (void)state;
    (void)files_in(g.folder, true);
    limit_files(2000);
    assert_refused(g.folder, SHV_JOURNAL_START, (struct shv_shard){0}, SHV_IO, "File too large");
    limit_files(RLIM_INFINITY);
    assert_int_equal(files_in(g.folder, false), 0);
}

static enum shv_status sweep_limited(int limit_at, bool frees, struct watcher *w,
                                     struct shv_message *message)
{
    struct shv_journal *journal = opened(g.folder, SHV_JOURNAL_ANEW, (struct shv_shard){0});
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    *w = (struct watcher){.limit_at = limit_at, .frees = frees};
    enum shv_status status = sweep(journal, 1, w, &ranking, &counts, message);
    limit_files(RLIM_INFINITY);
    if (status == SHV_OK) {
        assert_same_results(&ranking, &counts);
        assert_true(shv_journal_progress(journal).done == g.space.size);
    }
    shv_ranking_free(&ranking);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
    return status;
}

/* The sweep goes on; when room was made before it ends nothing has happened. Both are said, once.
 */
static void a_disk_full_for_a_while(void **state)
{
    (void)state;
    struct watcher w;
    struct shv_message message = {""};
    assert_int_equal(sweep_limited(2, true, &w, &message), SHV_OK);
    assert_string_equal(message.text, "");
    assert_int_equal(w.troubles, 2);
    assert_non_null(strstr(w.trouble, "File too large"));
    assert_string_equal(w.last_trouble, "the journal can be written again");
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

/* What was there before is still there. */
static void a_disk_full_to_the_end(void **state)
{
    (void)state;
    struct watcher w;
    struct shv_message message = {""};
    assert_int_equal(sweep_limited(5, false, &w, &message), SHV_IO);
    assert_non_null(strstr(message.text, "cannot write"));
    assert_non_null(strstr(message.text, "File too large"));
    assert_true(w.troubles >= 1 && strstr(w.trouble, "File too large"));
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

static void a_folder_that_cannot_be_written(void **state)
{
    (void)state;
    char folder[64];
    make_folder(folder);
    bool root = geteuid() == 0;
    assert_int_equal(chmod(folder, 0555), 0);
    assert_true(!root || seteuid(65534) == 0);
    assert_refused(folder, SHV_JOURNAL_START, (struct shv_shard){0}, SHV_IO, "Permission denied");
    assert_true(!root || seteuid(0) == 0);
    assert_int_equal(chmod(folder, 0755), 0);
    remove_folder(folder);
}

static void a_journal_that_cannot_be_written(void **state)
{
    (void)state;
    char folder[64];
    make_folder(folder);
    break_off(folder);
    bool root = geteuid() == 0;
    assert_int_equal(chmod(folder, 0755), 0); /* as it is made, only its owner may look inside */
    assert_int_equal(chmod(path_of(folder, SHV_JOURNAL_FILE), 0444), 0);
    assert_true(!root || seteuid(65534) == 0);
    assert_refused(folder, SHV_JOURNAL_RESUME, (struct shv_shard){0}, SHV_IO, "cannot write");
    assert_refused(folder, SHV_JOURNAL_ANEW, (struct shv_shard){0}, SHV_IO, "cannot empty");
    assert_true(!root || seteuid(0) == 0);
    remove_folder(folder);
}

static void a_folder_that_is_not_there(void **state)
{
    (void)state;
    assert_refused("/tmp/sheave-no-such-folder", SHV_JOURNAL_START, (struct shv_shard){0}, SHV_IO,
                   "cannot open");
}

/* Another process holds the journal, and dies without a word. */
static void one_run_at_a_time(void **state)
{
    (void)state;
    int ready[2];
    char byte = 0;
    break_off(g.folder);
    assert_int_equal(pipe(ready), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const struct shv_journal_options o = {.mode = SHV_JOURNAL_RESUME, .keep = KEEP};
        struct shv_journal *journal;
        if (shv_journal_open(g.folder, &o, g.model, &g.space, &journal, NULL) == SHV_OK &&
            write(ready[1], "r", 1) == 1) {
            pause();
        }
        _exit(1);
    }
    assert_int_equal(close(ready[1]), 0);
    assert_int_equal(read(ready[0], &byte, 1), 1);
    const enum shv_journal_mode modes[] = {SHV_JOURNAL_START, SHV_JOURNAL_RESUME, SHV_JOURNAL_ANEW};
    for (size_t i = 0; i < 3; i++) {
        assert_refused(g.folder, modes[i], (struct shv_shard){0}, SHV_BAD_INPUT,
                       "another run is working with");
    }
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_true(waitpid(child, NULL, 0) == child);
    assert_int_equal(close(ready[0]), 0);
    assert_int_equal(sweep_once(g.folder, SHV_JOURNAL_RESUME, 1, 0), SHV_OK);
}

/* ---- shards ---- */

#define MOST 7

struct shards {
    uint64_t count;
    char folder[MOST][64];
    const char *list[MOST];
};

static void sweep_shard(const char *folder, struct shv_shard shard, int stop_after)
{
    struct shv_journal *journal = opened(folder, SHV_JOURNAL_RESUME, shard);
    struct watcher w = {.stop_after = stop_after};
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    assert_int_equal(sweep(journal, 1, &w, &ranking, &counts, NULL),
                     stop_after > 0 ? SHV_STOPPED : SHV_OK);
    shv_ranking_free(&ranking);
    assert_int_equal(shv_journal_close(journal, NULL), SHV_OK);
}

static void make_shards(struct shards *s, uint64_t count)
{
    s->count = count;
    for (uint64_t i = 0; i < count; i++) {
        make_folder(s->folder[i]);
        sweep_shard(s->folder[i], (struct shv_shard){i, count}, 0);
        s->list[count - 1 - i] = s->folder[i]; /* the order does not matter */
    }
}

static void drop_shards(struct shards *s)
{
    for (uint64_t i = 0; i < s->count; i++) {
        remove_folder(s->folder[i]);
    }
}

static enum shv_status merge(const char *const *list, size_t count, struct shv_message *message)
{
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    message->text[0] = '\0';
    shv_keep_free(&kept);
    assert_int_equal(shv_keep_init(&kept, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&ranking, KEEP, NULL), SHV_OK);
    enum shv_status status =
        shv_journal_merge(list, count, g.model, &g.space, &ranking, &counts, &kept, message);
    if (status == SHV_OK) {
        assert_same_results(&ranking, &counts);
    }
    shv_ranking_free(&ranking);
    return status;
}

static void assert_not_merged(const char *const *list, size_t count, const char *says)
{
    struct shv_message message;
    assert_int_equal(merge(list, count, &message), SHV_BAD_INPUT);
    if (!strstr(message.text, says)) {
        fail_msg("\"%s\" says nothing of \"%s\"", message.text, says);
    }
}

static void shards_make_one_sweep(void **state)
{
    (void)state;
    const uint64_t counts[] = {1, 2, 3, MOST};
    for (size_t i = 0; i < 4; i++) {
        struct shards s;
        struct shv_message message;
        make_shards(&s, counts[i]);
        if (merge(s.list, s.count, &message) != SHV_OK) {
            fail_msg("%s", message.text);
        }
        drop_shards(&s);
    }
}

static void shards_that_do_not_make_one(void **state)
{
    (void)state;
    struct shards s;
    make_shards(&s, 4);
    const char *doubled[] = {s.folder[0], s.folder[1], s.folder[2], s.folder[1]};
    assert_not_merged(s.list, 0, "no folders");
    assert_not_merged(s.list, 2, "of 4 shards some are missing: 1, 2");
    assert_not_merged(s.list + 1, 3, "of 4 shards one is missing: 4");
    assert_not_merged(doubled, 4, "both hold shard 2 of 4");
    const char *absent[] = {s.folder[0], "/tmp/sheave-no-such-folder"};
    assert_not_merged(absent, 2, "no journal in /tmp/sheave-no-such-folder");
    g.m.study.sha256_all[7] = 'b';
    assert_not_merged(s.list, 4, "another study");
    g.m.study.sha256_all[7] = 'a';

    (void)files_in(s.folder[3], true);
    sweep_shard(s.folder[3], (struct shv_shard){1, 3}, 0);
    assert_not_merged(s.list, 4, "is one of 3 shards");
    (void)files_in(s.folder[3], true);
    sweep_shard(s.folder[3], (struct shv_shard){3, 4}, 2);
    assert_not_merged(s.list, 4, "shard 4 of 4 in");
    assert_not_merged(s.list, 4, "is not finished");
    struct shv_journal *held = opened(s.folder[3], SHV_JOURNAL_RESUME, (struct shv_shard){3, 4});
    assert_not_merged(s.list, 4, "another run is working with");
    assert_int_equal(shv_journal_close(held, NULL), SHV_OK);
    sweep_shard(s.folder[3], (struct shv_shard){3, 4}, 0);
    struct shv_message message;
    assert_int_equal(merge(s.list, 4, &message), SHV_OK);
    drop_shards(&s);
}

static void the_study_is_found_again(void **state)
{
    (void)state;
    char *path, *started_in, here[400];
    struct shv_message message = {""};
    break_off(g.folder);
    assert_int_equal(shv_journal_study_path(g.folder, &path, &started_in, &message), SHV_OK);
    assert_string_equal(path, "made.cfg");
    assert_non_null(getcwd(here, sizeof here));
    assert_string_equal(started_in, here);
    free(path);
    free(started_in);
    assert_int_equal(
        shv_journal_study_path("/tmp/sheave-no-such-folder", &path, &started_in, &message),
        SHV_BAD_INPUT);
    assert_null(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_undisturbed_sweep_with_a_journal),
        cmocka_unit_test(broken_off_anywhere_it_ends_the_same),
        cmocka_unit_test(progress_goes_on_where_it_was),
        cmocka_unit_test(done_chunks_are_few_ranges),
        cmocka_unit_test(resume_begins_where_there_is_nothing),
        cmocka_unit_test(the_ranking_must_be_that_of_the_journal),
        cmocka_unit_test(notes_are_kept),
        cmocka_unit_test(a_sweep_that_goes_on_drops_notes),
        cmocka_unit_test(a_joined_sweep_is_stored_whole),
        cmocka_unit_test(a_joined_sweep_without_kept_rows),
        cmocka_unit_test(an_unfinished_journal_is_not_dropped),
        cmocka_unit_test(nothing_done_is_nothing_lost),
        cmocka_unit_test(a_finished_journal_is_replaced),
        cmocka_unit_test(what_closing_cannot_remove_is_said),
        cmocka_unit_test(another_study_shard_or_number_of_rows),
        cmocka_unit_test(another_version_or_way_of_cutting),
        cmocka_unit_test(another_format),
        cmocka_unit_test(flipped_bytes_are_found),
        cmocka_unit_test(cut_files_are_found),
        cmocka_unit_test(a_damaged_journal_can_be_dropped),
        cmocka_unit_test(a_database_of_another_program),
        cmocka_unit_test(no_room_to_begin),
        cmocka_unit_test(a_disk_full_for_a_while),
        cmocka_unit_test(a_disk_full_to_the_end),
        cmocka_unit_test(a_folder_that_cannot_be_written),
        cmocka_unit_test(a_journal_that_cannot_be_written),
        cmocka_unit_test(a_folder_that_is_not_there),
        cmocka_unit_test(one_run_at_a_time),
        cmocka_unit_test(shards_make_one_sweep),
        cmocka_unit_test(shards_that_do_not_make_one),
        cmocka_unit_test(the_study_is_found_again),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
