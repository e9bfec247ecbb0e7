/* The database that keeps cycle tables: damage, locks, several processes, and what is in the key.
 */
#include "sweep/cycle_cache.h"
#include "support/cycle_place.h"

#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>

static unsigned char *whole_file(const char *path, size_t *bytes)
{
    struct stat info;
    FILE *f = fopen(path, "rb");
    assert_true(f && fstat(fileno(f), &info) == 0);
    *bytes = (size_t)info.st_size;
    unsigned char *all = malloc(*bytes + 1);
    assert_non_null(all);
    assert_int_equal(fread(all, 1, *bytes, f), *bytes);
    assert_int_equal(fclose(f), 0);
    return all;
}

static void write_file(const char *path, const unsigned char *all, size_t bytes)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(all, 1, bytes, f), bytes);
    assert_int_equal(fclose(f), 0);
}

static void assert_not_trusted(const struct place *p, const char *why)
{
    struct shv_cycle_table t;
    char note[CYCLE_CACHE_NOTE] = "";
    assert_false(cycle_cache_load(p->folder, p->key, &t, note));
    if (!strstr(note, why)) {
        fail_msg("\"%s\" does not say \"%s\"", note, why);
    }
    assert_empty_table(&t);
}

static unsigned char *stored_file(const struct place *p, size_t *bytes)
{
    stored(p);
    return whole_file(p->path, bytes);
}

static void assert_found(const struct place *p)
{
    struct shv_cycle_table t;
    char note[CYCLE_CACHE_NOTE] = "left over";
    assert_true(cycle_cache_load(p->folder, p->key, &t, note));
    assert_string_equal(note, "");
    assert_same_tables(&t, &p->table);
    assert_true(t.best_ca50 == p->table.best_ca50);
    assert_true(t.log_allowed == p->table.log_allowed);
    shv_cycle_table_free(&t);
}

static void a_table_comes_back_the_same(void **state)
{
    struct place *p = *state;
    assert_not_trusted(p, "");
    stored(p);
    assert_found(p);
    stored(p); /* in place of what stood there */
    assert_found(p);
    assert_int_equal(files_in(p->folder, false), 1);
    p->key[0] ^= 1;
    assert_not_trusted(p, "");
}

static void a_table_of_one_speed(void **state)
{
    struct place *p = *state;
    shv_cycle_table_free(&p->table);
    p->spec.speed_count = 1;
    assert_int_equal(shv_cycle_table_build(&p->table, &p->spec, &p->options, NULL, NULL), SHV_OK);
    assert_int_equal(cycle_cache_key(&p->spec, &p->options, p->key, NULL), SHV_OK);
    stored(p);
    assert_found(p);
}

static void a_folder_without_a_name_is_this_one(void **state)
{
    struct place *p = *state;
    char here[400];
    assert_non_null(getcwd(here, sizeof here));
    assert_int_equal(chdir(p->folder), 0);
    p->folder[0] = '\0';
    stored(p);
    assert_found(p);
    assert_int_equal(access(p->path, F_OK), 0);
    assert_int_equal(chdir(here), 0);
    *strrchr(strcpy(p->folder, p->path), '/') = '\0';
}

/* Not trusted; stored again it is found. */
static void assert_mended(const struct place *p, const char *why)
{
    char note[CYCLE_CACHE_NOTE] = ""; /* says why it was begun anew */
    assert_not_trusted(p, why);
    assert_true(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_found(p);
    assert_int_equal(files_in(p->folder, false), 1);
}

/* Either nothing that counts was cut, which is not so, or it is noticed; of an empty file nothing
 * is to be said. */
static void a_cut_file_is_not_trusted(void **state)
{
    struct place *p = *state;
    size_t bytes;
    unsigned char *all = stored_file(p, &bytes);
    assert_true(bytes > 10000);
    for (size_t cut = 100; cut < bytes; cut += 1000) {
        write_file(p->path, all, cut);
        assert_not_trusted(p, "damaged");
    }
    write_file(p->path, all, 0);
    assert_not_trusted(p, "");
    write_file(p->path, all, bytes - 1);
    assert_mended(p, "damaged");
    write_file(p->path, all, bytes / 2);
    assert_mended(p, "damaged");
    write_file(p->path,
               (const unsigned char *)"no database, but a text that is long enough for one", 52);
    assert_mended(p, "cannot be read: it is damaged");
    free(all);
}

/* A row whose numbers are not those it was kept with, in a database that is in order. */
static void assert_mended_row(const struct place *p)
{
    static const char *const damage[] = {
        "UPDATE cycle_table SET payload = substr(payload, 1, length(payload) - 8)",
        "UPDATE cycle_table SET payload = zeroblob(length(payload))",
        "UPDATE cycle_table SET payload = x''", "UPDATE cycle_table SET sha256 = 'a'"};
    for (size_t i = 0; i < COUNT(damage); i++) {
        sqlite3 *db;
        size_t bytes;
        assert_int_equal(remove(p->path), 0);
        free(stored_file(p, &bytes));
        assert_int_equal(sqlite3_open(p->path, &db), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, damage[i], NULL, NULL, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        assert_mended(p, "has a table that is damaged");
    }
}

/* Flips a bit here and there: what is read is the table, or nothing. */
static void a_damaged_file_is_not_trusted(void **state)
{
    struct place *p = *state;
    size_t bytes, refused = 0, tried = 0;
    unsigned char *all = stored_file(p, &bytes);
    for (size_t i = 0; i < bytes; i += i < 400 ? 1 : 997, tried++) {
        struct shv_cycle_table t;
        char note[CYCLE_CACHE_NOTE];
        all[i] ^= (unsigned char)(1u << i % 8);
        write_file(p->path, all, bytes);
        if (cycle_cache_load(p->folder, p->key, &t, note)) {
            assert_same_tables(&t, &p->table);
            shv_cycle_table_free(&t);
        } else {
            assert_empty_table(&t);
            refused++;
        }
        all[i] ^= (unsigned char)(1u << i % 8);
    }
    assert_true(refused > (tried - 400) * 3 / 4); /* a page has room that nobody reads */
    free(all);
    assert_mended_row(p);
}

/* A row that is what it was kept as, but no table. */
static void a_row_that_is_no_table(void **state)
{
    struct place *p = *state;
    /* SHA-256 of nothing but zeros, 10 and 2000 bytes: sha256sum */
    static const char *const row[][3] = {
        {"10", "01d448afd928065458cf670b60f5a594d735af0172c8d67f22a81680132681ca", "is too short"},
        {"2000", "2da42fb1d7bd8524e83d5a1e332bad697c8769ba430770a19bec630eb8ffcaa8",
         "has sizes that do not fit"}};
    for (size_t i = 0; i < COUNT(row); i++) {
        sqlite3 *db;
        char sql[300];
        stored(p);
        (void)snprintf(sql, sizeof sql,
                       "UPDATE cycle_table SET payload = zeroblob(%s), sha256 = '%s'", row[i][0],
                       row[i][1]);
        assert_int_equal(sqlite3_open(p->path, &db), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        assert_mended(p, row[i][2]);
    }
}

/* A folder of that name is neither read nor removed. */
static void a_folder_in_its_place(void **state)
{
    struct place *p = *state;
    char note[CYCLE_CACHE_NOTE] = "";
    assert_int_equal(mkdir(p->path, 0777), 0);
    assert_not_trusted(p, "cannot be read");
    assert_false(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_non_null(strstr(note, "cannot be written: "));
    assert_int_equal(files_in(p->folder, false), 1);
}

/* Another run that writes and does not end: it is waited for, and then it is said. Reader and
 * writer wait at the same time. */
static void a_locked_database_is_a_note(void **state)
{
    struct place *p = *state;
    int status, locked[2];
    char byte = 'l';
    stored(p);
    assert_int_equal(pipe(locked), 0);
    pid_t reader = fork(); /* before the database is opened: SQLite's locks are the process's */
    assert_true(reader >= 0);
    if (reader == 0) {
        struct shv_cycle_table t;
        char told[CYCLE_CACHE_NOTE];
        bool found =
            read(locked[0], &byte, 1) == 1 && cycle_cache_load(p->folder, p->key, &t, told);
        _exit(!found && strstr(told, "cannot be read: database is locked") ? 0 : 1);
    }
    sqlite3 *other;
    char note[CYCLE_CACHE_NOTE];
    assert_int_equal(sqlite3_open(p->path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(write(locked[1], &byte, 1), 1);
    assert_false(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_non_null(strstr(note, "cannot be written: database is locked"));
    assert_true(waitpid(reader, &status, 0) == reader);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
    assert_true(close(locked[0]) == 0 && close(locked[1]) == 0);
    assert_found(p);
}

/* Writes the file again and again in a process of its own. */
static pid_t writer(const struct place *p, int times)
{
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid == 0) {
        int failed = 0;
        for (int i = 0; i < times; i++) {
            char note[CYCLE_CACHE_NOTE];
            failed += !cycle_cache_store(p->folder, p->key, &p->table, note);
        }
        _exit(failed ? 1 : 0);
    }
    return pid;
}

static void two_writers_and_a_reader(void **state)
{
    struct place *p = *state;
    pid_t one = writer(p, 40), two = writer(p, 40);
    int status, good = 0;
    for (int left = 2; left > 0;) {
        struct shv_cycle_table t;
        char note[CYCLE_CACHE_NOTE];
        if (cycle_cache_load(p->folder, p->key, &t, note)) {
            assert_same_tables(&t, &p->table);
            shv_cycle_table_free(&t);
            good++;
        } else {
            assert_string_equal(note, "");
            assert_int_equal(good, 0); /* once there, always there */
        }
        pid_t done = waitpid(-1, &status, WNOHANG);
        assert_true(done == 0 || done == one || done == two);
        if (done > 0) {
            assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
            left--;
        }
    }
    struct shv_cycle_table t;
    char note[CYCLE_CACHE_NOTE];
    assert_true(cycle_cache_load(p->folder, p->key, &t, note));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 1);
}

/* ---- key ---- */

static void assert_other_key(const struct place *p, const struct shv_cycle_table_spec *spec,
                             const struct shv_cycle_table_options *options, size_t which)
{
    char key[65];
    if (cycle_cache_key(spec, options, key, NULL) != SHV_OK) {
        fail_msg("number %zu: no key", which);
    }
    if (strcmp(key, p->key) == 0) {
        fail_msg("number %zu does not enter the key", which);
    }
}

/* The least change of each number of a part that has nothing but numbers. */
static void each_number_counts(const struct place *p, size_t offset, size_t bytes)
{
    for (size_t at = offset; at < offset + bytes; at += sizeof(double)) {
        struct shv_cycle_table_spec s = p->spec;
        double x;
        memcpy(&x, (char *)&s + at, sizeof x);
        x = x == 0.0 ? 1e-3 : nextafter(x, x < 0.0 ? 0.0 : INFINITY);
        memcpy((char *)&s + at, &x, sizeof x);
        assert_other_key(p, &s, &p->options, at / sizeof(double));
    }
}

/* Against the key of `with`, which has back pressure. */
static void each_part_of_back_pressure_counts(const struct place *p,
                                              const struct shv_cycle_table_spec *with)
{
    struct place q = *p;
    q.spec = *with;
    assert_int_equal(cycle_cache_key(with, &q.options, q.key, NULL), SHV_OK);
    each_number_counts(&q, offsetof(struct shv_cycle_table_spec, exhaust_pressure),
                       2 * sizeof(double));
    enum { NUMBERS = sizeof(struct shv_breathing) / sizeof(double) };
    for (size_t i = 0; i < 2 * NUMBERS; i++) {
        struct shv_breathing b[2] = {with->breathing[0], with->breathing[1]};
        double x;
        memcpy(&x, (char *)b + i * sizeof x, sizeof x);
        x *= 1.0 + 1e-15;
        memcpy((char *)b + i * sizeof x, &x, sizeof x);
        struct shv_cycle_table_spec s = *with;
        s.breathing = b;
        assert_other_key(&q, &s, &q.options, 2000 + i);
    }
}

static void every_input_enters_the_key(void **state)
{
    struct place *p = *state;
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, engine), sizeof p->spec.engine);
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, fuel), sizeof p->spec.fuel);
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, knock), sizeof p->spec.knock);
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, at.humidity_ratio),
                       2 * sizeof(double));
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, at.residual_share), sizeof(double));
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, at.combustion_efficiency),
                       sizeof(double));
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, at.step), sizeof(double));
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, exhaust_pressure), sizeof(double));
    each_number_counts(p, offsetof(struct shv_cycle_table_spec, pressure_least),
                       4 * sizeof(double));
    struct shv_cycle_table_spec s = p->spec;
    s.exhaust_loss = 1e-12;
    assert_other_key(p, &s, &p->options, 1000);
    each_part_of_back_pressure_counts(p, &s);
    s = p->spec, s.at.residual_temperature = 1000.0;
    assert_other_key(p, &s, &p->options, 1001);
    s = p->spec, s.at.gas = SHV_CYCLE_AIR;
    assert_other_key(p, &s, &p->options, 1002);
    s = p->spec, s.speed_count = 1;
    assert_other_key(p, &s, &p->options, 1003);
    struct shv_cycle_table_options o = p->options;
    o.seed++;
    assert_other_key(p, &p->spec, &o, 1004);
    o = p->options, o.samples++;
    assert_other_key(p, &p->spec, &o, 1005);
    o = p->options, o.ca50 = 0.2;
    assert_other_key(p, &p->spec, &o, 1006);
    o = p->options, o.first_nodes[2]++;
    assert_other_key(p, &p->spec, &o, 1007);
}

static void what_is_not_used_does_not_enter_the_key(void **state)
{
    struct place *p = *state;
    char key[65];
    p->spec.at.speed = 10.0;
    p->spec.at.air_mass = 5e-4;
    p->spec.at.burn_reference = 0.7;
    p->spec.at.delay_factor = 1.7;
    p->spec.at.ca50 = 20.0;
    p->spec.exhaust_loss = -0.0; /* is 0 */
    assert_int_equal(cycle_cache_key(&p->spec, &p->options, key, NULL), SHV_OK);
    assert_string_equal(key, p->key);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_table_comes_back_the_same),
        TEST(a_table_of_one_speed),
        TEST(a_folder_without_a_name_is_this_one),
        TEST(a_cut_file_is_not_trusted),
        TEST(a_damaged_file_is_not_trusted),
        TEST(a_row_that_is_no_table),
        TEST(a_folder_in_its_place),
        TEST(a_locked_database_is_a_note),
        TEST(two_writers_and_a_reader),
        TEST(every_input_enters_the_key),
        TEST(what_is_not_used_does_not_enter_the_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
