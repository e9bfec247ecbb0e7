/* The file of a journal alone: what is stored comes back, changes leave what they should, and each
 * kind of damage has its own word. */
#include "support/study_fixture.h"

#include "sweep/journal_file.h"

#include <sys/stat.h>
#include <unistd.h>

static char folder[64], path[100];

static int begin(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/sheave-jfile-XXXXXX");
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/" SHV_JOURNAL_FILE, folder);
    return 0;
}

static int end(void **state)
{
    (void)state;
    (void)unlink(path);
    assert_int_equal(rmdir(folder), 0);
    return 0;
}

static char *text(const char *from)
{
    char *copy = strdup(from);
    assert_non_null(copy);
    return copy;
}

/* A state with something of everything: every count another number, values of all kinds. */
static struct journal_content filled(void)
{
    struct journal_content c = {.about = {.version = text("1.2"),
                                          .study = text("a \"study\".cfg"),
                                          .started_in = text("/some/where"),
                                          .sha256_all = text("abcdef"),
                                          .combinations = 5000,
                                          .chunk_air = 64,
                                          .shard = 2,
                                          .shards = 7,
                                          .keep = 50,
                                          .exhaustive = 1}};
    c.counts = (struct shv_sweep_counts){.total = 1000, .feasible = 999};
    for (uint64_t i = 0; i < SHV_OUTCOME_COUNT; i++) {
        c.counts.failed[i] = 100 + i;
    }
    for (uint64_t i = 0; i < SHV_LIMIT_COUNT; i++) {
        c.counts.first[i] = 200 + i;
        c.counts.broken[i] = 300 + i;
    }
    assert_true(ranges_append(&c.done, 0, 4) && ranges_append(&c.done, 9, 10));
    c.best_count = 100; /* more than the room it is read into at first */
    c.kept_count = 130;
    c.note_count = 70;
    c.best = calloc(c.best_count, sizeof *c.best);
    c.kept = calloc(c.kept_count, sizeof *c.kept);
    c.note = calloc(c.note_count, sizeof *c.note);
    assert_true(c.best && c.kept && c.note);
    for (size_t i = 0; i < c.best_count; i++) {
        c.best[i] = (struct shv_candidate){1.0 / (double)(i + 1), 3 * i};
    }
    c.best[0].objective = -INFINITY;
    for (size_t i = 0; i < c.kept_count; i++) {
        c.kept[i] = (struct shv_kept_row){i / 65, {.index = 7 * (i % 65)}};
        for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
            c.kept[i].point.value[k] = (double)(i * 10 + k);
        }
    }
    for (size_t i = 0; i < c.note_count; i++) {
        c.note[i] = (struct journal_note){i / 10, i % 10, UINT64_MAX - i};
    }
    return c;
}

static void assert_same(const struct journal_content *a, const struct journal_content *b)
{
    assert_string_equal(a->about.version, b->about.version);
    assert_string_equal(a->about.study, b->about.study);
    assert_string_equal(a->about.started_in, b->about.started_in);
    assert_string_equal(a->about.sha256_all, b->about.sha256_all);
    assert_memory_equal(&a->about.combinations, &b->about.combinations, 6 * sizeof(uint64_t));
    assert_int_equal(a->about.finished, b->about.finished);
    assert_memory_equal(&a->counts, &b->counts, sizeof a->counts);
    assert_int_equal(a->done.count, b->done.count);
    assert_memory_equal(a->done.item, b->done.item, a->done.count * sizeof *a->done.item);
    assert_int_equal(a->best_count, b->best_count);
    assert_memory_equal(a->best, b->best, a->best_count * sizeof *a->best);
    assert_int_equal(a->kept_count, b->kept_count);
    assert_memory_equal(a->kept, b->kept, a->kept_count * sizeof *a->kept);
    assert_int_equal(a->note_count, b->note_count);
    assert_memory_equal(a->note, b->note, a->note_count * sizeof *a->note);
}

static struct journal_file opened(void)
{
    struct journal_file file;
    struct shv_message message = {""};
    bool is_new;
    if (journal_file_open(&file, folder, &is_new, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return file;
}

static void assert_reads(const struct journal_content *expected)
{
    struct journal_file file;
    struct journal_content found;
    struct shv_message message = {""};
    assert_int_equal(journal_file_open_to_read(&file, folder, &message), SHV_OK);
    if (journal_file_read(&file, &found, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_same(&found, expected);
    journal_content_free(&found);
    assert_true(!found.best && found.done.count == 0 && !found.about.study);
    journal_file_close(&file);
    assert_true(!file.db && !file.path);
}

/* A new file with this state. */
static void create(const struct journal_content *content)
{
    struct journal_file file;
    bool is_new = false;
    (void)unlink(path);
    assert_int_equal(journal_file_open(&file, folder, &is_new, NULL), SHV_OK);
    assert_true(is_new);
    assert_string_equal(file.path, path);
    assert_int_equal(journal_file_create(&file, content, NULL), SHV_OK);
    journal_file_close(&file);
    assert_int_equal(journal_file_open(&file, folder, &is_new, NULL), SHV_OK);
    assert_false(is_new);
    journal_file_close(&file);
}

static void everything_comes_back(void **state)
{
    (void)state;
    struct journal_content c = filled();
    create(&c);
    assert_reads(&c);
    journal_content_free(&c);
}

/* Rows that go, that stay, that come, at the beginning, in the middle and at the end. */
static void an_update_leaves_the_new_state(void **state)
{
    (void)state;
    struct journal_content a = filled(), b = filled();
    create(&a);
    b.about.finished = true;
    b.counts.total = 4000;
    b.done.item[1].end = 17;
    b.best[0].index = 1; /* 0 goes, 1 comes, and the last two go */
    b.best[0].objective = 4.5;
    b.best_count -= 2;
    b.kept_count--;
    b.kept[3].point.index++;
    b.kept[3].point.value[1] = -0.0;
    b.kept[65].list = 0;
    b.kept[65].point.index = 7 * 65;
    b.note_count = 5;
    b.note[4].value = 12;
    struct journal_file file = opened();
    assert_int_equal(journal_file_update(&file, &a, &b, NULL), SHV_OK);
    assert_int_equal(journal_file_settle(&file, NULL), SHV_OK);
    journal_file_close(&file);
    assert_reads(&b);
    file = opened(); /* and back, to no note at all */
    size_t notes = a.note_count;
    a.note_count = 0;
    assert_int_equal(journal_file_update(&file, &b, &a, NULL), SHV_OK);
    journal_file_close(&file);
    assert_reads(&a);
    a.note_count = notes;
    file = opened(); /* created anew over what stands there */
    assert_int_equal(journal_file_create(&file, &a, NULL), SHV_OK);
    journal_file_close(&file);
    assert_reads(&a);
    journal_content_free(&a);
    journal_content_free(&b);
}

static void alter(const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    char *why = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK) {
        fail_msg("%s: %s", sql, why);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void assert_refused(const char *sql, enum shv_status status, const char *says)
{
    struct journal_file file;
    struct journal_content found;
    struct shv_message message = {""};
    alter(sql);
    assert_int_equal(journal_file_open_to_read(&file, folder, &message), SHV_OK);
    enum shv_status got = journal_file_read(&file, &found, &message);
    if (got != status || !strstr(message.text, says) || !strstr(message.text, path)) {
        fail_msg("after %s: %d, \"%s\"", sql, (int)got, message.text);
    }
    assert_true(found.best_count == 0 && !found.best && !found.about.version);
    journal_file_close(&file);
}

/* Each number is in the checksum; rows and tables that are missing, doubled or unknown are told. */
static void damage_in_good_order_is_found(void **state)
{
    (void)state;
    static const struct {
        const char *sql, *says;
    } cases[] = {
        {"UPDATE about SET value = '1.3' WHERE name = 'version'", "its checksum is wrong"},
        {"UPDATE about SET value = 8 WHERE name = 'shards'", "its checksum is wrong"},
        {"UPDATE about SET value = 1 WHERE name = 'finished'", "its checksum is wrong"},
        {"UPDATE about SET value = 2 WHERE name = 'finished'", "rows are missing or have no mean"},
        {"UPDATE about SET value = value + 256 WHERE name = 'keep'", "its checksum is wrong"},
        {"UPDATE counts SET value = value + 1 WHERE name = 'feasible'", "its checksum is wrong"},
        {"UPDATE counts SET value = value + 1 WHERE name LIKE 'broken.boost'",
         "its checksum is wrong"},
        {"UPDATE done SET last = last + 1 WHERE first = 9", "its checksum is wrong"},
        {"UPDATE done SET first = 2 WHERE first = 9", "rows are missing or have no meaning"},
        {"UPDATE best SET objective_bits = objective_bits + 1 WHERE combination = 297",
         "its checksum is wrong"},
        {"UPDATE best SET combination = 298 WHERE combination = 297", "its checksum is wrong"},
        {"DELETE FROM best WHERE combination = 3", "its checksum is wrong"},
        {"UPDATE kept SET c_bits = c_bits + 1 WHERE list = 1 AND combination = 0",
         "its checksum is wrong"},
        {"UPDATE kept SET list = 2 WHERE list = 1 AND combination = 448", "its checksum is wrong"},
        {"UPDATE notes SET value = value + 1 WHERE place = 6 AND word = 9",
         "its checksum is wrong"},
        {"UPDATE notes SET place = 7 WHERE place = 6 AND word = 9", "its checksum is wrong"},
        {"DELETE FROM notes", "its checksum is wrong"},
        {"UPDATE about SET value = '' WHERE name = 'sum'", "its checksum is wrong"},
        {"DELETE FROM about WHERE name = 'keep'", "rows are missing or have no meaning"},
        {"INSERT INTO about VALUES('more', 1)", "rows are missing or have no meaning"},
        {"UPDATE about SET value = NULL WHERE name = 'study'", "rows are missing or have no mean"},
        {"DELETE FROM counts WHERE name = 'total'", "rows are missing or have no meaning"},
        {"UPDATE counts SET name = 'failed.nothing' WHERE name = 'total'",
         "rows are missing or have no meaning"},
        {"DROP TABLE notes", "a table is missing"},
        {"ALTER TABLE kept RENAME COLUMN c_bits TO d_bits", "a table is missing"},
        {"PRAGMA application_id = 7", "is damaged, or is no journal of sheave"},
    };
    struct journal_content c = filled();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        create(&c);
        assert_refused(cases[i].sql, SHV_IO, cases[i].says);
    }
    create(&c);
    assert_refused("PRAGMA user_version = 2", SHV_BAD_INPUT,
                   "has format 2; this version of sheave reads format 4");
    journal_content_free(&c);
}

static void what_is_not_there(void **state)
{
    (void)state;
    struct journal_file file;
    struct shv_message message = {""};
    (void)unlink(path);
    assert_int_equal(journal_file_open_to_read(&file, folder, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, ": No such file or directory"));
    assert_int_equal(journal_file_empty(folder, &message), SHV_OK);
    assert_int_equal(access(path, F_OK), -1);
    bool is_new;
    assert_int_equal(journal_file_open(&file, "/tmp/sheave-no-folder", &is_new, &message), SHV_IO);
    assert_string_equal(message.text,
                        "cannot open /tmp/sheave-no-folder/journal.db: No such file or directory");
    assert_int_equal(journal_file_open(&file, "/tmp/sheave-no-folder/", &is_new, &message), SHV_IO);
    assert_null(strstr(message.text, "//journal"));
}

static void a_link_is_not_followed(void **state)
{
    (void)state;
    struct journal_file file;
    struct shv_message message = {""};
    struct stat info;
    bool is_new;
    (void)unlink(path);
    char target[120];
    (void)snprintf(target, sizeof target, "%s-target", path);
    assert_int_equal(symlink(target, path), 0);
    assert_int_equal(journal_file_open(&file, folder, &is_new, &message), SHV_IO);
    assert_non_null(strstr(message.text, "a symbolic link stands there"));
    assert_true(!file.path && !file.db);
    assert_int_equal(journal_file_empty(folder, &message), SHV_IO);
    assert_non_null(strstr(message.text, "cannot empty "));
    assert_true(lstat(target, &info) != 0 && lstat(path, &info) == 0);
}

static void one_writer_at_a_time(void **state)
{
    (void)state;
    struct journal_content c = filled();
    create(&c);
    struct journal_file file = opened();
    assert_int_equal(journal_file_update(&file, &c, &c, NULL), SHV_OK); /* has the lock */
    sqlite3 *other;
    assert_int_equal(sqlite3_open(path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_BUSY);
    assert_int_equal(journal_file_settle(&file, NULL), SHV_OK); /* lets it go */
    assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    struct shv_message message = {""};
    assert_int_equal(journal_file_update(&file, &c, &c, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "another run is working with "));
    assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(journal_file_update(&file, &c, &c, &message), SHV_OK);
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
    journal_file_close(&file);
    assert_reads(&c);
    journal_content_free(&c);
}

static void emptied_and_removed(void **state)
{
    (void)state;
    struct journal_content c = filled();
    struct stat info;
    bool is_new;
    struct journal_file file;
    create(&c);
    assert_int_equal(journal_file_empty(folder, NULL), SHV_OK);
    assert_true(stat(path, &info) == 0 && info.st_size == 0);
    assert_int_equal(journal_file_open(&file, folder, &is_new, NULL), SHV_OK);
    assert_true(is_new);
    assert_int_equal(journal_file_create(&file, &c, NULL), SHV_OK);
    char rollback[120];
    (void)snprintf(rollback, sizeof rollback, "%s-journal", path);
    assert_int_equal(access(rollback, F_OK), 0);
    journal_file_remove(&file);
    assert_true(access(path, F_OK) != 0 && access(rollback, F_OK) != 0 && !file.db);
    journal_content_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_comes_back),
        cmocka_unit_test(an_update_leaves_the_new_state),
        cmocka_unit_test(damage_in_good_order_is_found),
        cmocka_unit_test(what_is_not_there),
        cmocka_unit_test(a_link_is_not_followed),
        cmocka_unit_test(one_writer_at_a_time),
        cmocka_unit_test(emptied_and_removed),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
