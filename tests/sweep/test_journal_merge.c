/* Joining journals that were written by hand: counts add up, the best are the best of all, and each
 * reason for which shards don't make one sweep is told. */
#include "support/study_fixture.h"

#include "sheave/version.h"
#include "sweep/journal.h"

#include <sys/stat.h>
#include <unistd.h>

#define KEEP 4
#define SHARDS 3

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    char root[64], folder[SHARDS][80];
    const char *list[SHARDS];
} g;

static struct shv_tradeoff tradeoff = {
    {SHV_TRADE_POWER, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_COUNT}, 0.0};

static int begin(void **state)
{
    (void)state;
    made_begin(&g.m);
    made_blower_pulleys(&g.m, 250, 0.05, 0.12);
    made_crank_pulleys(&g.m, 8, 0.12, 0.18);
    made_add_cooler(&g.m, SHV_COOLER_SINGLE_STREAM, 60, 0.3, 0.8);
    g.m.study.path = "made.cfg";
    g.m.study.search.enabled = false;
    g.m.study.tradeoffs = &tradeoff;
    g.m.study.tradeoff_count = 1;
    memset(g.m.study.sha256_all, 'a', 64);
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    strcpy(g.root, "/tmp/sheave-merge-XXXXXX");
    assert_non_null(mkdtemp(g.root));
    for (int i = 0; i < SHARDS; i++) {
        (void)snprintf(g.folder[i], sizeof g.folder[i], "%s/%d", g.root, i);
        assert_int_equal(mkdir(g.folder[i], 0777), 0);
        g.list[i] = g.folder[i];
    }
    return 0;
}

static int end(void **state)
{
    (void)state;
    for (int i = 0; i < SHARDS; i++) {
        char path[120];
        (void)snprintf(path, sizeof path, "%s/" SHV_JOURNAL_FILE, g.folder[i]);
        (void)unlink(path);
        assert_int_equal(rmdir(g.folder[i]), 0);
    }
    assert_int_equal(rmdir(g.root), 0);
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

/* What a test makes different of a finished shard. */
struct written {
    uint64_t shard, shards;
    uint64_t undone;    /* positions not done */
    uint64_t done_more; /* positions beyond those there are */
    size_t best;        /* rows */
    const char *version;
};

static void put(int place, struct written w)
{
    struct sweep_plan plan;
    struct shv_candidate best[KEEP + 1];
    struct shv_kept_row kept[2];
    struct journal_content c = {{{NULL}}};
    const char *version = w.version ? w.version : shv_version();
    assert_int_equal(plan_of(&plan, g.model, &g.space, (struct shv_shard){w.shard, w.shards}, NULL),
                     SHV_OK);
    assert_true(plan.positions > 2);
    const struct journal_about about = {.combinations = g.space.size,
                                        .chunk_air = plan.air,
                                        .shard = w.shard,
                                        .shards = w.shards,
                                        .keep = KEEP};
    const struct chunk_range done = {0, plan.positions - w.undone + w.done_more};
    struct shv_sweep_counts counts = {.total = plan_combinations(&plan) - w.undone,
                                      .feasible = 10 + w.shard};
    counts.first[SHV_LIMIT_BOOST] = 100 * (w.shard + 1);
    for (size_t i = 0; i < w.best; i++) { /* of shard 0 10, 7, 4 ..., of shard 1 11, 8 ... */
        best[i] =
            (struct shv_candidate){10.0 + (double)w.shard - 3.0 * (double)i, 10 * w.shard + i};
    }
    for (size_t i = 0; i < 2; i++) { /* the second is beaten in both by that of the next shard */
        kept[i] = (struct shv_kept_row){0, {.index = 100 * w.shard + i}};
        kept[i].point.value[0] = i == 0 ? 50.0 - (double)w.shard : (double)w.shard;
        kept[i].point.value[1] = i == 0 ? (double)w.shard : -100.0 + (double)w.shard;
    }
    assert_true(
        journal_set(&c, JOURNAL_VERSION, version, strlen(version)) &&
        journal_set(&c, JOURNAL_STUDY, "made.cfg", 8) &&
        journal_set(&c, JOURNAL_STARTED_IN, "/where", 6) &&
        journal_set(&c, JOURNAL_SHA256_ALL, g.m.study.sha256_all, 64) &&
        journal_set(&c, JOURNAL_ABOUT, &about, 1) && journal_set(&c, JOURNAL_COUNTS, &counts, 1) &&
        journal_set(&c, JOURNAL_DONE, &done, 1) && journal_set(&c, JOURNAL_BEST, best, w.best) &&
        journal_set(&c, JOURNAL_KEPT, kept, 2) && journal_set(&c, JOURNAL_NOTES, NULL, 0));
    struct journal_file file;
    bool is_new;
    assert_int_equal(journal_file_empty(g.folder[place], NULL), SHV_OK);
    assert_int_equal(journal_file_open(&file, g.folder[place], &is_new, NULL), SHV_OK);
    assert_int_equal(journal_file_write(&file, &c, true, NULL), SHV_OK);
    journal_file_close(&file);
    journal_content_free(&c);
}

static void put_all(void)
{
    for (int i = 0; i < SHARDS; i++) {
        put(i, (struct written){.shard = (uint64_t)i, .shards = SHARDS, .best = 2});
    }
}

static enum shv_status merge(size_t count, size_t keep, struct shv_ranking *ranking,
                             struct shv_sweep_counts *counts, struct shv_keep *kept,
                             struct shv_message *message)
{
    message->text[0] = '\0';
    counts->total = 77; /* is set anew */
    assert_int_equal(shv_ranking_init(ranking, keep, NULL), SHV_OK);
    return shv_journal_merge(g.list, count, g.model, &g.space, ranking, counts, kept, message);
}

static void shards_add_up(void **state)
{
    (void)state;
    struct shv_ranking r;
    struct shv_sweep_counts c;
    struct shv_keep kept;
    struct shv_message message;
    put_all();
    assert_int_equal(shv_keep_init(&kept, &g.m.study, NULL), SHV_OK);
    if (merge(SHARDS, KEEP, &r, &c, &kept, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_true(c.total == g.space.size);
    assert_int_equal(c.feasible, 10 + 11 + 12);
    assert_int_equal(c.first[SHV_LIMIT_BOOST], 600);
    const double best[KEEP] = {12.0, 11.0, 10.0, 9.0};
    const uint64_t index[KEEP] = {20, 10, 0, 21};
    assert_int_equal(r.count, KEEP);
    for (size_t i = 0; i < KEEP; i++) {
        assert_true(r.item[i].objective == best[i] && r.item[i].index == index[i]);
    }
    assert_int_equal(kept.front[0].count, SHARDS);
    for (size_t i = 0; i < SHARDS; i++) {
        assert_int_equal(kept.front[0].point[i].index % 100, 0);
    }
    shv_keep_free(&kept);
    shv_ranking_free(&r);
    assert_int_equal(merge(SHARDS, KEEP, &r, &c, NULL, &message), SHV_OK);
    assert_int_equal(r.count, KEEP);
    shv_ranking_free(&r);
}

static void assert_refused(size_t count, size_t keep, enum shv_status status, const char *says)
{
    struct shv_ranking r;
    struct shv_sweep_counts c;
    struct shv_message message;
    enum shv_status got = merge(count, keep, &r, &c, NULL, &message);
    if (got != status || !strstr(message.text, says)) {
        fail_msg("%d, \"%s\" and not \"%s\"", (int)got, message.text, says);
    }
    shv_ranking_free(&r);
}

static void shards_that_do_not_make_one(void **state)
{
    (void)state;
    put_all();
    assert_refused(0, KEEP, SHV_BAD_INPUT, "there are no folders to join");
    assert_refused(2, KEEP, SHV_BAD_INPUT, "of 3 shards one is missing: 3");
    assert_refused(1, KEEP, SHV_BAD_INPUT, "of 3 shards some are missing: 2, 3");
    assert_refused(SHARDS, KEEP + 1, SHV_BAD_INPUT, "/0: it keeps 4 rows, this run 5");
    put(2, (struct written){.shard = 1, .shards = SHARDS});
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "/2 both hold shard 2 of 3");
    put(2, (struct written){.shard = 1, .shards = 2});
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "/2 holds shard 2 of 2, but ");
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "/0 is one of 3 shards");
    put(2, (struct written){.shard = 2, .shards = SHARDS, .version = "0.0.9"});
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "/2: it is of sheave 0.0.9");
    put(2, (struct written){.shard = 2, .shards = SHARDS, .undone = 1});
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "shard 3 of 3 in ");
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, " is not finished, ");
    put(2, (struct written){.shard = 2, .shards = SHARDS, .done_more = 1});
    assert_refused(SHARDS, KEEP, SHV_IO, "/2 is damaged: it says more than there is to do");
    put(2, (struct written){.shard = 2, .shards = SHARDS, .best = KEEP + 1});
    assert_refused(SHARDS, KEEP, SHV_IO, "is damaged: it says more");
    g.m.study.sha256_all[3] = 'b';
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "/0: it is of another study, or made.cfg");
    g.m.study.sha256_all[3] = 'a';
    g.list[1] = "/tmp/sheave-no-folder";
    assert_refused(SHARDS, KEEP, SHV_BAD_INPUT, "no journal in /tmp/sheave-no-folder");
    g.list[1] = g.folder[1];
}

/* Twenty are named one by one. */
static void many_that_are_missing(void **state)
{
    (void)state;
    put(0, (struct written){.shard = 0, .shards = 21, .best = 0});
    assert_refused(1, KEEP, SHV_BAD_INPUT,
                   "of 21 shards some are missing: 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, "
                   "16, 17, 18, 19, 20, 21");
    put(0, (struct written){.shard = 0, .shards = 24, .best = 0});
    assert_refused(1, KEEP, SHV_BAD_INPUT, "18, 19, 20, 21 and 3 more");
}

static void the_study_is_found_again(void **state)
{
    (void)state;
    char *path, *started_in;
    struct shv_message message = {""};
    put_all();
    assert_int_equal(shv_journal_study_path(g.folder[1], &path, &started_in, &message), SHV_OK);
    assert_string_equal(path, "made.cfg");
    assert_string_equal(started_in, "/where");
    free(path);
    free(started_in);
    assert_int_equal(shv_journal_study_path(g.root, &path, &started_in, &message), SHV_BAD_INPUT);
    assert_true(!path && !started_in);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shards_add_up),
        cmocka_unit_test(shards_that_do_not_make_one),
        cmocka_unit_test(many_that_are_missing),
        cmocka_unit_test(the_study_is_found_again),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
