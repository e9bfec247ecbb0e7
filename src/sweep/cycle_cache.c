/* Kept cycle tables: src/sweep/cycle_cache.h. */
#include "sweep/cycle_cache.h"

#include "base/path.h"
#include "base/sha256.h"

#include <errno.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Raise its number when the meaning of a table's numbers changes. */
#define TAG "sheave cycle table 5"
/* In the key, so that a machine with another order of bytes does not find what it cannot read. */
#define ORDER 0x01020304u
/* Of the payload before its arrays. */
#define FRONT_COUNTS ((size_t)(1 + SHV_CYCLE_DIRECTIONS))
#define FRONT_BYTES                                                                                \
    (FRONT_COUNTS * sizeof(uint64_t) + sizeof(struct shv_cycle_table_quality) +                    \
     ((size_t)SHV_CYCLE_DIRECTIONS * 4 + 2) * sizeof(double))
#define PATIENCE 5000 /* ms that a run waits for others that write */

static const char create[] = "CREATE TABLE IF NOT EXISTS cycle_table"
                             "(key TEXT PRIMARY KEY, sha256 TEXT NOT NULL, payload BLOB NOT NULL)";
static const char find[] = "SELECT sha256, payload FROM cycle_table WHERE key = ?1";
static const char keep[] = "INSERT OR REPLACE INTO cycle_table VALUES (?1, ?2, ?3)";

/* ---- key ---- */

/* Lowest byte first on every machine. */
static void hash_u64(struct sha256 *h, uint64_t u)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++) {
        bytes[i] = (unsigned char)(u >> (8 * i));
    }
    sha256_update(h, bytes, sizeof bytes);
}

static void hash_double(struct sha256 *h, double x)
{
    uint64_t u;
    x = x == 0.0 ? 0.0 : x; /* -0 is 0 */
    memcpy(&u, &x, sizeof u);
    hash_u64(h, u);
}

/* Structs of nothing but doubles: each field enters the key. */
static void hash_fields(struct sha256 *h, const void *fields, size_t size)
{
    const char *at = fields;
    hash_u64(h, size / sizeof(double));
    for (size_t i = 0; i + sizeof(double) <= size; i += sizeof(double)) {
        double x;
        memcpy(&x, at + i, sizeof x);
        hash_double(h, x);
    }
}
_Static_assert(sizeof(struct shv_cycle_engine) == 22 * sizeof(double), "key of the engine");
_Static_assert(sizeof(struct shv_cycle_fuel) == 9 * sizeof(double), "key of the fuel");
_Static_assert(sizeof(struct shv_cycle_knock) == 10 * sizeof(double), "key of knock");
_Static_assert(sizeof(struct shv_breathing) == 8 * sizeof(double), "key of breathing");
/* A new field must enter the key by hand; this fails to compile until it does. */
_Static_assert(sizeof(struct shv_cycle_case) == 16 * sizeof(double), "key of the case");

/* Without speed, pressures, temperature and phasing, which the table sets. */
static void hash_case(struct sha256 *h, const struct shv_cycle_case *c)
{
    const double x[] = {
        c->humidity_ratio,       c->lambda, c->combustion_efficiency, c->residual_share,
        c->residual_temperature, c->step,   c->gas_constant,          c->heat_capacity};
    hash_fields(h, x, sizeof x);
    hash_u64(h, (uint64_t)c->gas);
}

static void hash_options(struct sha256 *h, const struct shv_cycle_table_options *o)
{
    const double x[] = {o->efficiency, o->ca50, o->peak_pressure};
    hash_fields(h, x, sizeof x);
    hash_u64(h, o->samples);
    hash_u64(h, o->seed);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        hash_u64(h, o->first_nodes[d]);
        hash_u64(h, o->most_nodes[d]);
    }
}

/* What the model of this program says at the corners and the middle of the range. */
static enum shv_status hash_probes(struct sha256 *h, const struct shv_cycle_table_spec *s,
                                   struct shv_message *message)
{
    for (int i = 0; i <= 4; i++) {
        double share = 0.25 * i;
        size_t speed = i % 2 ? s->speed_count - 1 : s->speed_count / 2;
        struct shv_cycle_case at = shv_cycle_table_case(
            s, speed, s->pressure_least + share * (s->pressure_most - s->pressure_least),
            s->temperature_least + share * (s->temperature_most - s->temperature_least));
        struct shv_cycle_result r;
        enum shv_status status =
            shv_cycle_knock_limit(&s->engine, &s->fuel, &s->knock, &at, &r, message);
        if (status != SHV_OK) {
            return status;
        }
        const double x[] = {r.gross_efficiency, r.ca50, r.peak_pressure, r.exhaust_temperature,
                            r.knock_integral};
        bool answered = r.outcome != SHV_CYCLE_NO_ANSWER;
        hash_u64(h, (uint64_t)r.outcome);
        hash_fields(h, x, answered ? sizeof x : 0);
    }
    return SHV_OK;
}

enum shv_status cycle_cache_key(const struct shv_cycle_table_spec *s,
                                const struct shv_cycle_table_options *options, char key[65],
                                struct shv_message *message)
{
    struct sha256 h;
    const double range[] = {s->pressure_least, s->pressure_most, s->temperature_least,
                            s->temperature_most};
    const double exhaust[] = {s->exhaust_pressure, s->exhaust_loss, s->exhaust_temperature,
                              s->exhaust_charge};
    const uint32_t order = ORDER;
    sha256_init(&h);
    sha256_update(&h, TAG, sizeof TAG);
    sha256_update(&h, &order, sizeof order);
    hash_fields(&h, &s->engine, sizeof s->engine);
    hash_fields(&h, &s->fuel, sizeof s->fuel);
    hash_fields(&h, &s->knock, sizeof s->knock);
    hash_case(&h, &s->at);
    hash_fields(&h, range, sizeof range);
    hash_fields(&h, s->speeds, s->speed_count * sizeof s->speeds[0]);
    hash_options(&h, options);
    hash_fields(&h, exhaust, sizeof exhaust);
    for (size_t i = 0; i < s->speed_count; i++) {
        hash_fields(&h, &s->breathing[i], sizeof s->breathing[i]);
    }
    enum shv_status status = hash_probes(&h, s, message);
    sha256_finish(&h, key);
    return status;
}

/* ---- payload ---- */

struct blob_sizes {
    size_t speeds, motored, volumes, bytes;
};

/* Of counts that were checked. */
static struct blob_sizes sizes_of(const uint64_t counts[FRONT_COUNTS])
{
    size_t records = (size_t)counts[0] * ((size_t)counts[1] + 2) * ((size_t)counts[2] + 2);
    struct blob_sizes z = {.speeds = (size_t)counts[0], .motored = records};
    z.volumes = records * SHV_CYCLE_ROWS(counts[3]) * SHV_CYCLE_FIELDS;
    z.bytes = FRONT_BYTES + (z.speeds + z.motored + z.volumes) * sizeof(double);
    return z;
}

static void put(unsigned char **to, const void *from, size_t bytes)
{
    memcpy(*to, from, bytes);
    *to += bytes;
}

static void take(const unsigned char **from, void *to, size_t bytes)
{
    memcpy(to, *from, bytes);
    *from += bytes;
}

/* Only numbers of 8 bytes: no padding, so the struct is its bytes. */
_Static_assert(sizeof(struct shv_cycle_table_quality) ==
                   sizeof(struct shv_cycle_table_error) + 5 * sizeof(uint64_t),
               "quality in files");
_Static_assert(sizeof(struct shv_cycle_table_error) == 5 * sizeof(double), "errors in files");

static void write_payload(unsigned char *to, const struct shv_cycle_table *t,
                          const uint64_t counts[FRONT_COUNTS], const struct blob_sizes *z)
{
    put(&to, counts, FRONT_COUNTS * sizeof counts[0]);
    put(&to, &t->quality, sizeof t->quality);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        const struct shv_cycle_axis *a = &t->axis[d];
        const double x[4] = {a->origin, a->per_unit, a->least, a->most};
        put(&to, x, sizeof x);
    }
    const double phasing[] = {t->best_ca50, t->log_allowed};
    put(&to, phasing, sizeof phasing);
    put(&to, t->speeds, z->speeds * sizeof(double));
    put(&to, t->motored, z->motored * sizeof(double));
    put(&to, t->volumes, z->volumes * sizeof(double));
}

static bool counts_fit(const uint64_t counts[FRONT_COUNTS], size_t bytes)
{
    bool fit = counts[0] >= 1 && counts[0] <= SHV_CYCLE_TABLE_SPEEDS_MOST;
    for (size_t d = 1; d < FRONT_COUNTS; d++) {
        fit = fit && counts[d] >= 4 && counts[d] <= SHV_CYCLE_TABLE_NODES_MOST;
    }
    return fit && sizes_of(counts).bytes == bytes;
}

/* NULL or a reason; then the table is empty. */
static const char *read_payload(const unsigned char *from, size_t bytes, struct shv_cycle_table *t)
{
    uint64_t counts[FRONT_COUNTS];
    if (bytes < FRONT_BYTES) {
        return "is too short";
    }
    take(&from, counts, sizeof counts);
    if (!counts_fit(counts, bytes)) {
        return "has sizes that do not fit";
    }
    struct blob_sizes z = sizes_of(counts);
    t->speed_count = z.speeds;
    take(&from, &t->quality, sizeof t->quality);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        double x[4];
        take(&from, x, sizeof x);
        t->axis[d] = (struct shv_cycle_axis){x[0], x[1], x[2], x[3], (size_t)counts[1 + d]};
    }
    double phasing[2];
    take(&from, phasing, sizeof phasing);
    t->best_ca50 = phasing[0];
    t->log_allowed = phasing[1];
    t->speeds = malloc(z.speeds * sizeof(double));
    t->motored = malloc(z.motored * sizeof(double));
    t->volumes = malloc(z.volumes * sizeof(double));
    if (!t->speeds || !t->motored || !t->volumes) {
        shv_cycle_table_free(t);
        return "does not fit into memory";
    }
    take(&from, t->speeds, z.speeds * sizeof(double));
    take(&from, t->motored, z.motored * sizeof(double));
    take(&from, t->volumes, z.volumes * sizeof(double));
    return NULL;
}

static void sum_of(const unsigned char *payload, size_t bytes, char text[65])
{
    struct sha256 h;
    sha256_init(&h);
    sha256_update(&h, payload, bytes);
    sha256_finish(&h, text);
}

static unsigned char *payload_of(const struct shv_cycle_table *t, size_t *bytes)
{
    const uint64_t counts[FRONT_COUNTS] = {t->speed_count, t->axis[0].nodes, t->axis[1].nodes,
                                           t->axis[2].nodes};
    struct blob_sizes z = sizes_of(counts);
    unsigned char *payload = malloc(z.bytes);
    *bytes = z.bytes;
    if (payload) {
        write_payload(payload, t, counts, &z);
    }
    return payload;
}

/* ---- database ---- */

/* A note that has no room in full is cut. */
static void note_that(char note[CYCLE_CACHE_NOTE], const char *path, const char *what)
{
    (void)snprintf(note, CYCLE_CACHE_NOTE, "%.300s %s", path, what);
}

static bool is_damage(int code)
{
    return (code & 0xff) == SQLITE_CORRUPT || (code & 0xff) == SQLITE_NOTADB;
}

/* What stands behind a failed call; the system's own words where it has some. */
static const char *reason(sqlite3 *db, int code)
{
    int error = db ? sqlite3_system_errno(db) : 0;
    bool system = (code & 0xff) == SQLITE_CANTOPEN || (code & 0xff) == SQLITE_IOERR;
    return is_damage(code)   ? "it is damaged"
           : system && error ? strerror(error)
                             : sqlite3_errstr(code);
}

/* Opened anew for each table: between two of them pass seconds of building. */
static int open_database(const char *path, int flags, sqlite3 **db)
{
    int code = sqlite3_open_v2(path, db, flags, NULL);
    return code == SQLITE_OK ? sqlite3_busy_timeout(*db, PATIENCE) : code;
}

/* NULL or a reason. */
static const char *read_row(sqlite3_stmt *row, struct shv_cycle_table *table)
{
    const char *told = (const char *)sqlite3_column_text(row, 0);
    const unsigned char *payload = sqlite3_column_blob(row, 1);
    size_t bytes = (size_t)sqlite3_column_bytes(row, 1);
    char found[65];
    if (!told || !payload) {
        return "has a table that is damaged";
    }
    sum_of(payload, bytes, found);
    return strcmp(told, found) == 0 ? read_payload(payload, bytes, table)
                                    : "has a table that is damaged";
}

/* SQLITE_ROW with a table or with why it is not used; SQLITE_DONE without one. */
static int find_table(sqlite3 *db, const char *key, struct shv_cycle_table *table, const char **why)
{
    sqlite3_stmt *row = NULL;
    int code = sqlite3_prepare_v2(db, find, -1, &row, NULL);
    if (code == SQLITE_ERROR) {
        return SQLITE_DONE; /* nothing was kept yet, and another run has just made the file */
    }
    code = code == SQLITE_OK ? sqlite3_bind_text(row, 1, key, -1, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_step(row) : code;
    if (code == SQLITE_ROW) {
        *why = read_row(row, table);
    }
    (void)sqlite3_finalize(row);
    return code;
}

static bool load_from(const char *path, const char *key, struct shv_cycle_table *table,
                      char note[CYCLE_CACHE_NOTE])
{
    sqlite3 *db = NULL;
    char text[128];
    const char *why = NULL;
    int code = open_database(path, SQLITE_OPEN_READWRITE, &db);
    code = code == SQLITE_OK ? find_table(db, key, table, &why) : code;
    if (code != SQLITE_ROW && code != SQLITE_DONE) {
        (void)snprintf(text, sizeof text, "cannot be read: %.80s", reason(db, code));
        why = text;
    }
    if (why) {
        note_that(note, path, why);
    }
    (void)sqlite3_close(db);
    return code == SQLITE_ROW && !why;
}

bool cycle_cache_load(const char *folder, const char *key, struct shv_cycle_table *table,
                      char note[CYCLE_CACHE_NOTE])
{
    char *path = path_in(folder, CYCLE_CACHE_FILE);
    bool found = false;
    *table = (struct shv_cycle_table){.speed_count = 0};
    note[0] = '\0';
    if (!path) {
        note_that(note, folder, "cannot be read: out of memory");
    } else if (access(path, F_OK) == 0 || errno != ENOENT) {
        found = load_from(path, key, table, note);
    }
    if (!found) {
        *table = (struct shv_cycle_table){.speed_count = 0};
    }
    free(path);
    return found;
}

static int keep_table(sqlite3 *db, const char *key, const unsigned char *payload, size_t bytes)
{
    char sum[65];
    sqlite3_stmt *row = NULL;
    sum_of(payload, bytes, sum);
    int code = sqlite3_exec(db, create, NULL, NULL, NULL);
    code = code == SQLITE_OK ? sqlite3_prepare_v2(db, keep, -1, &row, NULL) : code;
    code = code == SQLITE_OK ? sqlite3_bind_text(row, 1, key, -1, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_bind_text(row, 2, sum, -1, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_bind_blob64(row, 3, payload, bytes, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_step(row) : code;
    int end = sqlite3_finalize(row);
    return code == SQLITE_DONE ? end : code;
}

static int store_in(const char *path, const char *key, const unsigned char *payload, size_t bytes,
                    char note[CYCLE_CACHE_NOTE])
{
    sqlite3 *db = NULL;
    int code = open_database(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, &db);
    code = code == SQLITE_OK ? keep_table(db, key, payload, bytes) : code;
    if (code != SQLITE_OK) {
        char what[128];
        (void)snprintf(what, sizeof what, "cannot be written: %.80s", reason(db, code));
        note_that(note, path, what);
    }
    (void)sqlite3_close(db);
    return code;
}

/* What is damaged makes room, with the file by which SQLite would go back to it. A run that is at
 * work in it loses a table at most: what is read is checked. */
static void remove_database(const char *path)
{
    char rollback[4096];
    int length = snprintf(rollback, sizeof rollback, "%s-journal", path);
    (void)unlink(path);
    if (length > 0 && (size_t)length < sizeof rollback) {
        (void)unlink(rollback);
    }
}

bool cycle_cache_store(const char *folder, const char *key, const struct shv_cycle_table *table,
                       char note[CYCLE_CACHE_NOTE])
{
    size_t bytes = 0;
    int code = SQLITE_NOMEM;
    char *path = path_in(folder, CYCLE_CACHE_FILE);
    unsigned char *payload = payload_of(table, &bytes);
    if (path && payload) {
        code = store_in(path, key, payload, bytes, note);
        if (is_damage(code)) {
            remove_database(path);
            code = store_in(path, key, payload, bytes, note);
        }
    } else {
        note_that(note, folder, "cannot be written: out of memory");
    }
    free(payload);
    free(path);
    return code == SQLITE_OK;
}
