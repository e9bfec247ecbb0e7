/* Tables on many threads, and the database that keeps them. */
#include "sheave/cycle_build.h"
#include "sweep/cycle_cache.h"
#include "support/cycle_table_fixture.h"

#include <dirent.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

struct place {
    char folder[64];
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table_options options;
    struct shv_cycle_table table; /* built without files */
    char key[65];
    char path[256];
};

static int set_up(void **state)
{
    struct place *p = calloc(1, sizeof *p);
    assert_non_null(p);
    (void)snprintf(p->folder, sizeof p->folder, "/tmp/sheave-cycle-XXXXXX");
    assert_non_null(mkdtemp(p->folder));
    small_table(&p->spec, &p->options);
    p->options.samples = 10; /* files and threads do not ask for accuracy */
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        p->options.first_nodes[d] = 4;
    }
    p->options.efficiency = 0.1;
    p->options.ca50 = 30.0;
    p->options.peak_pressure = 1.0;
    assert_int_equal(shv_cycle_table_build(&p->table, &p->spec, &p->options, NULL, NULL), SHV_OK);
    assert_int_equal(cycle_cache_key(&p->spec, &p->options, p->key, NULL), SHV_OK);
    (void)snprintf(p->path, sizeof p->path, "%s/" CYCLE_CACHE_FILE, p->folder);
    *state = p;
    return 0;
}

static int files_in(const char *folder, bool remove_them)
{
    int count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e; e = readdir(d)) {
        if (e->d_name[0] == '.') {
            continue;
        }
        char path[512];
        (void)snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        count++;
        if (remove_them) {
            assert_int_equal(remove(path), 0);
        }
    }
    assert_int_equal(closedir(d), 0);
    return count;
}

static int tear_down(void **state)
{
    struct place *p = *state;
    (void)files_in(p->folder, true);
    assert_int_equal(rmdir(p->folder), 0);
    shv_cycle_table_free(&p->table);
    free(p);
    return 0;
}

static struct shv_cycle_build_report build_in(const struct place *p, const char *folder,
                                              struct shv_cycle_table *t)
{
    struct shv_cycle_build_options build = {.threads = 2, .folder = folder};
    struct shv_cycle_build_report report;
    struct shv_message message = {{0}};
    if (shv_cycle_build(t, &p->spec, 1, &p->options, &build, &report, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return report;
}

/* ---- threads ---- */

static void same_bits_for_any_number_of_threads(void **state)
{
    struct place *p = *state;
    p->options.efficiency = 1e-5; /* so that it refines */
    struct shv_cycle_table plain, t;
    assert_int_equal(shv_cycle_table_build(&plain, &p->spec, &p->options, NULL, NULL), SHV_OK);
    assert_true(plain.quality.rounds > 1);
    for (int threads = 1; threads <= 3; threads++) {
        struct shv_cycle_build_options build = {.threads = threads};
        struct shv_cycle_build_report report;
        assert_int_equal(shv_cycle_build(&t, &p->spec, 1, &p->options, &build, &report, NULL),
                         SHV_OK);
        assert_same_tables(&plain, &t);
        assert_true(!report.from_file && report.key[0] == '\0' && report.note[0] == '\0');
        shv_cycle_table_free(&t);
    }
    shv_cycle_table_free(&plain);
}

static void many_cases(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table_spec specs[3] = {p->spec, p->spec, p->spec};
    struct shv_cycle_table tables[3], alone;
    struct shv_cycle_build_options build = {.threads = 2};
    specs[1].at.lambda = 0.95;
    specs[2].fuel.ron = 98.0;
    assert_int_equal(shv_cycle_build(tables, specs, 3, &p->options, &build, NULL, NULL), SHV_OK);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(shv_cycle_table_build(&alone, &specs[i], &p->options, NULL, NULL), SHV_OK);
        assert_same_tables(&tables[i], &alone);
        shv_cycle_table_free(&alone);
    }
    assert_true(tables[0].motored[100] != tables[1].motored[100]);
    const size_t knock = 100 * SHV_CYCLE_FIELDS + SHV_CYCLE_FIELDS - 1;
    assert_true(isfinite(tables[0].volumes[knock]) && isfinite(tables[2].volumes[knock]));
    assert_true(tables[0].volumes[knock] != tables[2].volumes[knock]);
    for (size_t i = 0; i < 3; i++) {
        shv_cycle_table_free(&tables[i]);
    }
}

static void a_bad_case_leaves_nothing(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table_spec specs[2] = {p->spec, p->spec};
    struct shv_cycle_table tables[2];
    struct shv_cycle_build_options build = {.threads = 2, .folder = p->folder};
    struct shv_message message = {{0}};
    specs[1].engine.stroke = 7.0;
    assert_int_equal(shv_cycle_build(tables, specs, 2, &p->options, &build, NULL, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "engine.stroke is 7"));
    assert_empty_table(&tables[0]);
    assert_empty_table(&tables[1]);
    build.threads = -1;
    assert_int_equal(shv_cycle_build(tables, specs, 1, &p->options, &build, NULL, &message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "-1 threads"));
    assert_empty_table(&tables[0]);
}

/* ---- files ---- */

static void a_file_gives_the_same_bits(void **state)
{
    struct place *p = *state;
    struct shv_cycle_table first, second;
    struct shv_cycle_build_report report = build_in(p, p->folder, &first);
    assert_false(report.from_file);
    assert_string_equal(report.key, p->key);
    assert_string_equal(report.note, "");
    assert_int_equal(files_in(p->folder, false), 1);
    report = build_in(p, p->folder, &second);
    assert_true(report.from_file);
    assert_string_equal(report.note, "");
    assert_same_tables(&first, &second);
    assert_same_tables(&p->table, &second);
    shv_cycle_table_free(&first);
    shv_cycle_table_free(&second);
}

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
    char note[CYCLE_CACHE_NOTE] = "";
    assert_true(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_string_equal(note, "");
    return whole_file(p->path, bytes);
}

/* Nothing is kept: the table is built and kept, and found the next time. */
static void assert_mended(const struct place *p, const char *why)
{
    struct shv_cycle_table t;
    struct shv_cycle_build_report report = build_in(p, p->folder, &t);
    assert_false(report.from_file);
    assert_non_null(strstr(report.note, why));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    report = build_in(p, p->folder, &t);
    assert_true(report.from_file);
    assert_string_equal(report.note, "");
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
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

/* A folder of that name is neither read nor removed. */
static void a_folder_in_its_place(void **state)
{
    struct place *p = *state;
    assert_int_equal(mkdir(p->path, 0777), 0);
    assert_not_trusted(p, "cannot be read");
    struct shv_cycle_table t;
    struct shv_cycle_build_report report = build_in(p, p->folder, &t);
    assert_non_null(strstr(report.note, "cannot be written: "));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 1);
}

/* Another run that writes and does not end: it is waited for, and then tables are built without. */
static void a_locked_database_is_a_note(void **state)
{
    struct place *p = *state;
    size_t bytes;
    free(stored_file(p, &bytes));
    sqlite3 *other;
    assert_int_equal(sqlite3_open(p->path, &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    assert_not_trusted(p, "cannot be read: database is locked");
    char note[CYCLE_CACHE_NOTE];
    assert_false(cycle_cache_store(p->folder, p->key, &p->table, note));
    assert_non_null(strstr(note, "cannot be written: database is locked"));
    assert_int_equal(sqlite3_close(other), SQLITE_OK);
    struct shv_cycle_table t;
    assert_true(cycle_cache_load(p->folder, p->key, &t, note));
    shv_cycle_table_free(&t);
}

static void a_table_of_other_inputs_is_another(void **state)
{
    struct place *p = *state, q = *p;
    size_t bytes;
    free(stored_file(p, &bytes));
    q.spec.at.lambda = 0.9;
    assert_int_equal(cycle_cache_key(&q.spec, &q.options, q.key, NULL), SHV_OK);
    assert_not_trusted(&q, "");
    struct shv_cycle_table t, u;
    assert_false(build_in(&q, q.folder, &t).from_file);
    assert_true(build_in(p, p->folder, &u).from_file);
    assert_same_tables(&u, &p->table);
    shv_cycle_table_free(&u);
    assert_true(build_in(&q, q.folder, &u).from_file);
    assert_same_tables(&u, &t);
    shv_cycle_table_free(&t);
    shv_cycle_table_free(&u);
}

static void a_folder_that_cannot_be_written_is_a_note(void **state)
{
    struct place *p = *state;
    char missing[128];
    (void)snprintf(missing, sizeof missing, "%s/missing", p->folder);
    struct shv_cycle_table t;
    struct shv_cycle_build_report report = build_in(p, missing, &t);
    assert_false(report.from_file);
    assert_non_null(strstr(report.note, "cannot be written: No such file"));
    assert_same_tables(&t, &p->table);
    shv_cycle_table_free(&t);
    assert_int_equal(files_in(p->folder, false), 0);
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
        TEST(same_bits_for_any_number_of_threads),
        TEST(many_cases),
        TEST(a_bad_case_leaves_nothing),
        TEST(a_file_gives_the_same_bits),
        TEST(a_cut_file_is_not_trusted),
        TEST(a_damaged_file_is_not_trusted),
        TEST(a_folder_in_its_place),
        TEST(a_locked_database_is_a_note),
        TEST(a_table_of_other_inputs_is_another),
        TEST(a_folder_that_cannot_be_written_is_a_note),
        TEST(two_writers_and_a_reader),
        TEST(every_input_enters_the_key),
        TEST(what_is_not_used_does_not_enter_the_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
