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

static void set(struct journal_content *c, enum journal_part part, const void *items, size_t count)
{
    assert_true(journal_set(c, part, items, count));
}

static void set_text(struct journal_content *c, enum journal_part part, const char *text)
{
    set(c, part, text, strlen(text));
}

/* A state with something of everything: every count another number, values of all kinds. */
static struct journal_content filled(void)
{
    struct journal_content c = {{{NULL}}};
    const struct journal_about about = {.combinations = 5000,
                                        .chunk_air = 64,
                                        .shard = 2,
                                        .shards = 7,
                                        .keep = 50,
                                        .exhaustive = 1};
    struct shv_sweep_counts counts = {.total = 1000, .feasible = 999};
    const struct chunk_range done[] = {{0, 4}, {9, 10}};
    struct shv_candidate best[100];
    struct shv_kept_row kept[130];
    struct journal_note note[70];
    for (uint64_t i = 0; i < SHV_OUTCOME_COUNT; i++) {
        counts.failed[i] = 100 + i;
    }
    for (uint64_t i = 0; i < SHV_LIMIT_COUNT; i++) {
        counts.first[i] = 200 + i;
        counts.broken[i] = 300 + i;
    }
    for (size_t i = 0; i < 100; i++) {
        best[i] = (struct shv_candidate){1.0 / (double)(i + 1), 3 * i};
    }
    best[0].objective = -INFINITY;
    for (size_t i = 0; i < 130; i++) {
        kept[i] = (struct shv_kept_row){i / 65, {.index = 7 * (i % 65)}};
        for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
            kept[i].point.value[k] = (double)(i * 10 + k);
        }
    }
    for (size_t i = 0; i < 70; i++) {
        note[i] = (struct journal_note){i / 10, i % 10, UINT64_MAX - i};
    }
    set_text(&c, JOURNAL_VERSION, "1.2");
    set_text(&c, JOURNAL_STUDY, "a \"study\".cfg");
    set_text(&c, JOURNAL_STARTED_IN, "/some/where");
    set_text(&c, JOURNAL_SHA256_ALL, "abcdef");
    set(&c, JOURNAL_ABOUT, &about, 1);
    set(&c, JOURNAL_COUNTS, &counts, 1);
    set(&c, JOURNAL_DONE, done, 2);
    set(&c, JOURNAL_BEST, best, 100);
    set(&c, JOURNAL_KEPT, kept, 130);
    set(&c, JOURNAL_NOTES, note, 70);
    return c;
}

static size_t size_of(enum journal_part part)
{
    static const size_t size[JOURNAL_PARTS] = {
        [JOURNAL_ABOUT] = sizeof(struct journal_about),
        [JOURNAL_COUNTS] = sizeof(struct shv_sweep_counts),
        [JOURNAL_DONE] = sizeof(struct chunk_range),
        [JOURNAL_BEST] = sizeof(struct shv_candidate),
        [JOURNAL_KEPT] = sizeof(struct shv_kept_row),
        [JOURNAL_NOTES] = sizeof(struct journal_note),
    };
    return size[part] > 0 ? size[part] : 1;
}

static void assert_same(const struct journal_content *a, const struct journal_content *b)
{
    for (int i = 0; i < JOURNAL_PARTS; i++) {
        size_t size = size_of((enum journal_part)i) * b->list[i].count;
        assert_int_equal(a->list[i].count, b->list[i].count);
        /* with the 0 behind it */
        assert_memory_equal(a->list[i].item, b->list[i].item, size + 1);
    }
    assert_string_equal(journal_text(a, JOURNAL_STUDY), journal_text(b, JOURNAL_STUDY));
    assert_int_equal(journal_about(a)->finished, journal_about(b)->finished);
    assert_int_equal(journal_counts(a)->total, journal_counts(b)->total);
    assert_int_equal(journal_done(a).item[0].end, journal_done(b).item[0].end);
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
    assert_true(!found.list[JOURNAL_BEST].item && journal_done(&found).count == 0 &&
                !journal_text(&found, JOURNAL_STUDY));
    journal_file_close(&file);
    assert_true(!file.db && !file.path);
}

/* A new file with this state. */
static void create(struct journal_content *content)
{
    struct journal_file file;
    bool is_new = false;
    (void)unlink(path);
    assert_int_equal(journal_file_open(&file, folder, &is_new, NULL), SHV_OK);
    assert_true(is_new);
    assert_string_equal(file.path, path);
    assert_int_equal(journal_file_write(&file, content, true, NULL), SHV_OK);
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

static void write_to(struct journal_content *content, bool anew)
{
    struct journal_file file = opened();
    assert_int_equal(journal_file_write(&file, content, anew, NULL), SHV_OK);
    assert_int_equal(journal_file_settle(&file, NULL), SHV_OK);
    journal_file_close(&file);
    for (int i = 0; i < JOURNAL_PARTS; i++) {
        assert_false(content->list[i].changed);
    }
    assert_reads(content);
}

/* Items that go, that stay, that come, at the beginning, in the middle and at the end. */
static void an_update_leaves_the_new_state(void **state)
{
    (void)state;
    struct journal_content a = filled(), b = filled();
    create(&a);
    for (int i = 0; i < JOURNAL_PARTS; i++) {
        b.list[i].changed = false; /* as it stands in the file */
    }
    struct journal_about about = *journal_about(&b);
    struct shv_sweep_counts counts = *journal_counts(&b);
    const struct chunk_range done[] = {{0, 4}, {9, 17}, {20, 21}};
    struct shv_candidate best[98];
    struct shv_kept_row kept[129];
    struct journal_note note[5];
    memcpy(best, b.list[JOURNAL_BEST].item, sizeof best);
    memcpy(kept, b.list[JOURNAL_KEPT].item, sizeof kept);
    memcpy(note, b.list[JOURNAL_NOTES].item, sizeof note);
    about.finished = true;
    counts.total = 4000;
    best[0] = (struct shv_candidate){4.5, 1}; /* 0 goes, 1 comes, and the last two go */
    kept[3].point.index++;
    kept[3].point.value[1] = -0.0;
    kept[65].list = 0;
    kept[65].point.index = 7 * 65;
    note[4].value = 12;
    set(&b, JOURNAL_ABOUT, &about, 1);
    set(&b, JOURNAL_COUNTS, &counts, 1);
    set(&b, JOURNAL_DONE, done, 3);
    set(&b, JOURNAL_BEST, best, 98);
    set(&b, JOURNAL_KEPT, kept, 129);
    set(&b, JOURNAL_NOTES, note, 5);
    assert_true(b.list[JOURNAL_NOTES].changed && !b.list[JOURNAL_STUDY].changed);
    write_to(&b, false);
    set(&b, JOURNAL_NOTES, note, 5); /* the same */
    assert_false(b.list[JOURNAL_NOTES].changed);
    set(&b, JOURNAL_NOTES, NULL, 0); /* to no note at all */
    write_to(&b, false);
    write_to(&a, true); /* anew over what stands there, whether changed or not */
    journal_content_free(&a);
    journal_content_free(&b);
}

/* Changes bits of a byte of a part. */
static void flip(const char *part, int at, unsigned char bits)
{
    sqlite3 *db;
    sqlite3_stmt *row;
    sqlite3_blob *items;
    unsigned char byte;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT rowid FROM part WHERE name = ?", -1, &row, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_bind_text(row, 1, part, -1, SQLITE_STATIC), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    sqlite3_int64 id = sqlite3_column_int64(row, 0);
    assert_int_equal(sqlite3_finalize(row), SQLITE_OK);
    assert_int_equal(sqlite3_blob_open(db, "main", "part", "items", id, 1, &items), SQLITE_OK);
    assert_int_equal(sqlite3_blob_read(items, &byte, 1, at), SQLITE_OK);
    byte ^= bits;
    assert_int_equal(sqlite3_blob_write(items, &byte, 1, at), SQLITE_OK);
    assert_int_equal(sqlite3_blob_close(items), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
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

static void assert_refused(const char *what, enum shv_status status, const char *says)
{
    struct journal_file file;
    struct journal_content found;
    struct shv_message message = {""};
    assert_int_equal(journal_file_open_to_read(&file, folder, &message), SHV_OK);
    enum shv_status got = journal_file_read(&file, &found, &message);
    if (got != status || !strstr(message.text, says) || !strstr(message.text, path)) {
        fail_msg("after %s: %d, \"%s\"", what, (int)got, message.text);
    }
    assert_true(!found.list[JOURNAL_BEST].item && !journal_text(&found, JOURNAL_VERSION));
    journal_file_close(&file);
}

/* Each number is in the checksum, and numbers that make no sense are told even with it. */
static void flipped_bits_are_found(void **state)
{
    (void)state;
    static const char sum[] = "its checksum is wrong", sense[] = "rows are missing or have no mean";
    static const struct {
        const char *part;
        int at; /* 8 bytes a number */
        unsigned char bits;
        const char *says;
    } cases[] = {
        {"version", 2, 1, sum},
        {"version", 2, '2', sense}, /* a text with a 0 */
        {"about", 8 * 3, 15, sum},  /* shards */
        {"about", 8 * 6, 1, sum},   /* finished */
        {"about", 8 * 6, 2, sense},
        {"about", 8 * 4 + 1, 1, sum}, /* 256 rows more */
        {"counts", 8 * 1, 1, sum},    /* feasible */
        {"counts", 8 * (2 + SHV_OUTCOME_COUNT + SHV_LIMIT_COUNT + SHV_LIMIT_BOOST), 1, sum},
        {"done", 8 * 3, 1, sum},        /* the end of the second range */
        {"done", 8 * 2, 11, sense},     /* begins at 2 instead of 9, in the first */
        {"best", 16 * 99, 1, sum},      /* bits of the objective */
        {"best", 16 * 99 + 8, 3, sum},  /* 298 for 297 */
        {"kept", 40 * 65 + 24, 1, sum}, /* a value */
        {"kept", 40 * 129, 3, sum},     /* list */
        {"notes", 24 * 69 + 16, 1, sum},
        {"notes", 24 * 69, 1, sum},
        {"sum", 0, 1, sum},
    };
    struct journal_content c = filled();
    assert_int_equal(sizeof(struct shv_kept_row), 40);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        create(&c);
        flip(cases[i].part, cases[i].at, cases[i].bits);
        assert_refused(cases[i].part, SHV_IO, cases[i].says);
    }
    journal_content_free(&c);
}

/* Rows and tables that are missing, doubled, cut or unknown are told. */
static void damage_in_good_order_is_found(void **state)
{
    (void)state;
    static const struct {
        const char *sql, *says;
    } cases[] = {
        {"UPDATE part SET items = CAST('1.3' AS BLOB) WHERE name = 'version'",
         "its checksum is wrong"},
        {"UPDATE part SET items = substr(items, 17) WHERE name = 'best'", "its checksum is wrong"},
        {"UPDATE part SET items = substr(items, 2) WHERE name = 'best'",
         "rows are missing or have no meaning"},
        {"UPDATE part SET items = x'' WHERE name = 'notes'", "its checksum is wrong"},
        {"UPDATE part SET items = x'' WHERE name = 'about'", "rows are missing or have no meaning"},
        {"UPDATE part SET items = x'' WHERE name = 'sum'", "its checksum is wrong"},
        {"DELETE FROM part WHERE name = 'about'", "rows are missing or have no meaning"},
        {"DELETE FROM part WHERE name = 'sum'", "rows are missing or have no meaning"},
        {"INSERT INTO part VALUES('more', x'01')", "rows are missing or have no meaning"},
        {"UPDATE part SET items = NULL WHERE name = 'study'", "rows are missing or have no mean"},
        {"UPDATE part SET items = 'a' WHERE name = 'study'", "rows are missing or have no meaning"},
        {"UPDATE part SET name = 'count' WHERE name = 'counts'",
         "rows are missing or have no meaning"},
        {"DROP TABLE part", "its table is missing"},
        {"ALTER TABLE part RENAME COLUMN items TO things", "its table is missing"},
        {"PRAGMA application_id = 7", "is damaged, or is no journal of sheave"},
    };
    struct journal_content c = filled();
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        create(&c);
        alter(cases[i].sql);
        assert_refused(cases[i].sql, SHV_IO, cases[i].says);
    }
    create(&c);
    alter("PRAGMA user_version = 4");
    assert_refused("format 4", SHV_BAD_INPUT,
                   "has format 4; this version of sheave reads format 5");
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
    assert_int_equal(journal_file_write(&file, &c, false, NULL), SHV_OK); /* has the lock */
    sqlite3 *other;
    assert_int_equal(sqlite3_open(path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_BUSY);
    assert_int_equal(journal_file_settle(&file, NULL), SHV_OK); /* lets it go */
    assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    struct shv_message message = {""};
    assert_int_equal(journal_file_write(&file, &c, false, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "another run is working with "));
    assert_int_equal(sqlite3_exec(other, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(journal_file_write(&file, &c, false, &message), SHV_OK);
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
    assert_int_equal(journal_file_write(&file, &c, true, NULL), SHV_OK);
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
        cmocka_unit_test(everything_comes_back),  cmocka_unit_test(an_update_leaves_the_new_state),
        cmocka_unit_test(flipped_bits_are_found), cmocka_unit_test(damage_in_good_order_is_found),
        cmocka_unit_test(what_is_not_there),      cmocka_unit_test(a_link_is_not_followed),
        cmocka_unit_test(one_writer_at_a_time),   cmocka_unit_test(emptied_and_removed),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
