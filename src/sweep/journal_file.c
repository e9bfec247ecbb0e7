/* The file of a journal: src/sweep/journal_file.h.
 *
 * Rollback journal with synchronous=EXTRA: a commit is on disk when it returns, and a crash or
 * power loss at any moment leaves either the state before or the state after it. WAL would save one
 * sync a commit, but with one commit a second that is nothing, and its shared memory does not work
 * on network file systems, where cluster runs keep their results. locking_mode=EXCLUSIVE keeps the
 * lock from the first transaction to the end of the process; it is the kernel's (fcntl), so a
 * process that dies takes it along and none goes stale. It also spares making and deleting SQLite's
 * own rollback file in each transaction.
 *
 * SQLite finds broken pages, but not a flipped bit inside a number: the SHA-256 over all that is
 * stored does.
 */
#include "sweep/journal_file.h"

#include "base/sha256.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define APPLICATION 0x73687665 /* "shve", at a fixed place of the file's header */
#define FORMAT 4               /* raise it when the tables or their meaning change */
#define TEXT_OF(x) TEXT_OF_VALUE(x)
#define TEXT_OF_VALUE(x) #x
#define COUNT_ROWS (2 + SHV_OUTCOME_COUNT + 2 * SHV_LIMIT_COUNT)
#define NAME_MAX_BYTES 64

static const char tables[] =
    "DROP TABLE IF EXISTS about; DROP TABLE IF EXISTS counts;"
    "DROP TABLE IF EXISTS done; DROP TABLE IF EXISTS best; DROP TABLE IF EXISTS kept;"
    "DROP TABLE IF EXISTS notes;"
    "CREATE TABLE about(name TEXT PRIMARY KEY, value) WITHOUT ROWID;"
    "CREATE TABLE counts(name TEXT PRIMARY KEY, value INTEGER) WITHOUT ROWID;"
    "CREATE TABLE done(first INTEGER PRIMARY KEY, last INTEGER);"
    /* The bits of a double, so that it comes back the same whatever it is. */
    "CREATE TABLE best(combination INTEGER PRIMARY KEY, objective_bits INTEGER);"
    "CREATE TABLE kept(list INTEGER, combination INTEGER, a_bits INTEGER, b_bits INTEGER,"
    " c_bits INTEGER, PRIMARY KEY(list, combination)) WITHOUT ROWID;"
    "CREATE TABLE notes(place INTEGER, word INTEGER, value INTEGER, PRIMARY KEY(place, word))"
    " WITHOUT ROWID;"
    "PRAGMA application_id = " TEXT_OF(APPLICATION) "; PRAGMA user_version = " TEXT_OF(FORMAT);

void journal_content_free(struct journal_content *content)
{
    free(content->about.version);
    free(content->about.study);
    free(content->about.started_in);
    free(content->about.sha256_all);
    ranges_free(&content->done);
    free(content->best);
    free(content->kept);
    free(content->note);
    *content = (struct journal_content){0};
}

/* ---- errors ---- */

/* What the system said of the last failed call on the database or on its rollback file; 0 when it
 * said nothing. sqlite3_system_errno tells what came last of all, which is often a step of the
 * rollback. */
static int system_error(sqlite3 *db)
{
    int error = 0;
    sqlite3_file *rollback = NULL;
    if (sqlite3_file_control(db, "main", SQLITE_FCNTL_LAST_ERRNO, &error) == SQLITE_OK &&
        error != 0) {
        return error;
    }
    if (sqlite3_file_control(db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &rollback) == SQLITE_OK &&
        rollback && rollback->pMethods) {
        (void)rollback->pMethods->xFileControl(rollback, SQLITE_FCNTL_LAST_ERRNO, &error);
    }
    return error;
}

/* SQLite tries to open in several ways and tells of the last. */
static int open_error(const char *path)
{
    int descriptor = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    int error = errno;
    if (descriptor < 0) {
        return error;
    }
    return close(descriptor) == 0 ? 0 : errno;
}

static const char *reason(const struct journal_file *file, int code)
{
    int error = 0;
    if ((code & 0xff) == SQLITE_CANTOPEN) {
        error = open_error(file->path);
    } else if ((code & 0xff) == SQLITE_IOERR || (code & 0xff) == SQLITE_FULL) {
        error = system_error(file->db);
    }
    return error != 0 ? strerror(error) : sqlite3_errstr(code);
}

static enum shv_status cannot(const struct journal_file *file, const char *what, int code,
                              struct shv_message *message)
{
    switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return shv_fail(message, SHV_BAD_INPUT, "another run is working with %s", file->path);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_SCHEMA:
        return shv_fail(message, SHV_IO, "%s is damaged: %s", file->path, sqlite3_errstr(code));
    case SQLITE_NOMEM:
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", file->path);
    default:
        return shv_fail(message, SHV_IO, "cannot %s %s: %s", what, file->path, reason(file, code));
    }
}

static enum shv_status damaged(const struct journal_file *file, const char *how,
                               struct shv_message *message)
{
    return shv_fail(message, SHV_IO, "%s is damaged: %s", file->path, how);
}

/* ---- small steps of SQL ---- */

static int run(sqlite3 *db, const char *sql)
{
    return sqlite3_exec(db, sql, NULL, NULL, NULL);
}

/* The one whole number that a statement gives. */
static int number_of(sqlite3 *db, const char *sql, int64_t *number)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (code != SQLITE_OK) {
        return code;
    }
    if (sqlite3_step(statement) == SQLITE_ROW) {
        *number = sqlite3_column_int64(statement, 0);
    }
    return sqlite3_finalize(statement);
}

/* The second only where the statement asks for one. */
static int put_numbers(sqlite3_stmt *statement, uint64_t a, uint64_t b)
{
    int code = sqlite3_bind_int64(statement, 1, (sqlite3_int64)a);
    if (code == SQLITE_OK && sqlite3_bind_parameter_count(statement) > 1) {
        code = sqlite3_bind_int64(statement, 2, (sqlite3_int64)b);
    }
    code = code == SQLITE_OK ? sqlite3_step(statement) : code;
    int again = sqlite3_reset(statement);
    return code == SQLITE_DONE ? again : code;
}

static int put_named(sqlite3_stmt *statement, const char *name, const char *text, uint64_t number)
{
    int code = sqlite3_bind_text(statement, 1, name, -1, SQLITE_TRANSIENT);
    if (code == SQLITE_OK) {
        code = text ? sqlite3_bind_text(statement, 2, text, -1, SQLITE_TRANSIENT)
                    : sqlite3_bind_int64(statement, 2, (sqlite3_int64)number);
    }
    code = code == SQLITE_OK ? sqlite3_step(statement) : code;
    int again = sqlite3_reset(statement);
    return code == SQLITE_DONE ? again : code;
}

/* ---- what the rows are ---- */

/* Place and name of a row of the table of counts. */
static uint64_t *count_at(struct shv_sweep_counts *c, int row, char name[NAME_MAX_BYTES])
{
    static const char *const stems[] = {"failed", "first_broken", "broken"};
    if (row < 2) {
        (void)snprintf(name, NAME_MAX_BYTES, "%s", row == 0 ? "total" : "feasible");
        return row == 0 ? &c->total : &c->feasible;
    }
    row -= 2;
    if (row < SHV_OUTCOME_COUNT) {
        (void)snprintf(name, NAME_MAX_BYTES, "%s.%s", stems[0],
                       shv_outcome_name((enum shv_outcome)row));
        return &c->failed[row];
    }
    row -= SHV_OUTCOME_COUNT;
    int limit = row % SHV_LIMIT_COUNT;
    (void)snprintf(name, NAME_MAX_BYTES, "%s.%s", stems[1 + row / SHV_LIMIT_COUNT],
                   shv_limit_info((enum shv_limit)limit)->name);
    return row < SHV_LIMIT_COUNT ? &c->first[limit] : &c->broken[limit];
}

/* The table `about`: either a text or a number. */
#define ABOUT_ROWS 11
struct about_row {
    const char *name;
    char **text;
    uint64_t *number;
};

static void about_rows(struct journal_about *a, uint64_t *finished,
                       struct about_row rows[ABOUT_ROWS])
{
    const struct about_row all[ABOUT_ROWS] = {
        {"version", &a->version, NULL},
        {"study", &a->study, NULL},
        {"started_in", &a->started_in, NULL},
        {"sha256_all", &a->sha256_all, NULL},
        {"combinations", NULL, &a->combinations},
        {"chunk_air", NULL, &a->chunk_air},
        {"shard", NULL, &a->shard},
        {"shards", NULL, &a->shards},
        {"keep", NULL, &a->keep},
        {"exhaustive", NULL, &a->exhaustive},
        {"finished", NULL, finished},
    };
    memcpy(rows, all, sizeof all);
}

static uint64_t bits_of(double x)
{
    uint64_t u;
    memcpy(&u, &x, sizeof u);
    return u;
}

static double of_bits(uint64_t u)
{
    double x;
    memcpy(&x, &u, sizeof x);
    return x;
}

/* ---- checksum ---- */

/* Lowest byte first on every machine. */
static void hash_number(struct sha256 *h, uint64_t u)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++) {
        bytes[i] = (unsigned char)(u >> (8 * i));
    }
    sha256_update(h, bytes, sizeof bytes);
}

static void checksum(const struct journal_content *content, char sum[65])
{
    struct sha256 h;
    struct journal_about about = content->about;
    struct shv_sweep_counts counts = content->counts;
    uint64_t finished = about.finished;
    struct about_row rows[ABOUT_ROWS];
    about_rows(&about, &finished, rows);
    sha256_init(&h);
    for (size_t i = 0; i < ABOUT_ROWS; i++) {
        if (rows[i].text) {
            sha256_update(&h, *rows[i].text, strlen(*rows[i].text) + 1);
        } else {
            hash_number(&h, *rows[i].number);
        }
    }
    for (int i = 0; i < COUNT_ROWS; i++) {
        char name[NAME_MAX_BYTES];
        hash_number(&h, *count_at(&counts, i, name));
    }
    hash_number(&h, content->done.count);
    for (size_t i = 0; i < content->done.count; i++) {
        hash_number(&h, content->done.item[i].first);
        hash_number(&h, content->done.item[i].end);
    }
    hash_number(&h, content->best_count);
    for (size_t i = 0; i < content->best_count; i++) {
        hash_number(&h, content->best[i].index);
        hash_number(&h, bits_of(content->best[i].objective));
    }
    hash_number(&h, content->kept_count);
    for (size_t i = 0; i < content->kept_count; i++) {
        const struct shv_kept_row *row = &content->kept[i];
        hash_number(&h, row->list);
        hash_number(&h, row->point.index);
        for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
            hash_number(&h, bits_of(row->point.value[k]));
        }
    }
    hash_number(&h, content->note_count);
    for (size_t i = 0; i < content->note_count; i++) {
        hash_number(&h, content->note[i].place);
        hash_number(&h, content->note[i].word);
        hash_number(&h, content->note[i].value);
    }
    sha256_finish(&h, sum);
}

/* ---- open and close ---- */

static char *path_in(const char *folder)
{
    const char *stem = folder[0] == '\0' ? "." : folder;
    const char *slash = stem[strlen(stem) - 1] == '/' ? "" : "/";
    size_t size = strlen(stem) + sizeof "/" SHV_JOURNAL_FILE;
    char *path = malloc(size);
    if (path) {
        (void)snprintf(path, size, "%s%s%s", stem, slash, SHV_JOURNAL_FILE);
    }
    return path;
}

/* SQLite keeps its rollback file for as long as it keeps the lock, and removes it when it closes
 * without a word of what goes wrong; at the end of a change without the lock it says so. */
enum shv_status journal_file_settle(struct journal_file *file, struct shv_message *message)
{
    int code = run(file->db, "PRAGMA locking_mode = NORMAL; BEGIN IMMEDIATE; COMMIT");
    return code == SQLITE_OK ? SHV_OK : cannot(file, "close", code, message);
}

void journal_file_close(struct journal_file *file)
{
    /* Every transaction has ended before, so there is nothing that closing could lose. */
    (void)sqlite3_close(file->db);
    free(file->path);
    *file = (struct journal_file){0};
}

void journal_file_remove(struct journal_file *file)
{
    const char *rollback =
        file->db ? sqlite3_filename_journal(sqlite3_db_filename(file->db, "main")) : NULL;
    if (rollback) {
        (void)unlink(rollback);
    }
    if (file->path) {
        (void)unlink(file->path);
    }
    journal_file_close(file);
}

/* SQLite follows one, and a journal could be written over whatever file somebody else chose; it
 * refuses to follow only for the whole path. */
static bool is_link(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0 && S_ISLNK(info.st_mode);
}

static enum shv_status open_database(struct journal_file *file, const char *folder, int flags,
                                     struct shv_message *message)
{
    *file = (struct journal_file){.path = path_in(folder)};
    if (!file->path) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of a journal");
    }
    if (is_link(file->path)) {
        enum shv_status status =
            shv_fail(message, SHV_IO, "cannot open %s: a symbolic link stands there", file->path);
        journal_file_close(file);
        return status;
    }
    int code = sqlite3_open_v2(file->path, &file->db, flags, NULL);
    if (code == SQLITE_OK) {
        (void)sqlite3_extended_result_codes(file->db, 1);
        /* What stands in the file is data, nothing to be run. */
        code = run(file->db, "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON");
    }
    if (code != SQLITE_OK) {
        enum shv_status status = cannot(file, "open", code, message);
        journal_file_close(file);
        return status;
    }
    return SHV_OK;
}

enum shv_status journal_file_open(struct journal_file *file, const char *folder, bool *is_new,
                                  struct shv_message *message)
{
    enum shv_status status =
        open_database(file, folder, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, message);
    if (status != SHV_OK) {
        return status;
    }
    /* Once the lock is held, SQLite has undone what a killed process left half written. Only a file
     * of no bytes is new: one in which SQLite finds no tables may be a damaged one. */
    struct stat info = {0};
    int code = run(file->db, "PRAGMA locking_mode = EXCLUSIVE; PRAGMA synchronous = EXTRA;"
                             "BEGIN EXCLUSIVE");
    if (code == SQLITE_OK && stat(file->path, &info) != 0) {
        code = SQLITE_IOERR;
    }
    if (code == SQLITE_OK) {
        code = run(file->db, "ROLLBACK"); /* COMMIT would write a first page without tables */
    }
    if (code == SQLITE_OK && sqlite3_db_readonly(file->db, "main") == 1) {
        code = SQLITE_READONLY;
    }
    if (code != SQLITE_OK) {
        status = cannot(file, "write", code, message);
        journal_file_close(file);
        return status;
    }
    *is_new = info.st_size == 0;
    return SHV_OK;
}

enum shv_status journal_file_open_to_read(struct journal_file *file, const char *folder,
                                          struct shv_message *message)
{
    char *path = path_in(folder);
    bool missing = path && access(path, F_OK) != 0;
    int error = errno;
    free(path);
    if (missing) {
        return shv_fail(message, SHV_BAD_INPUT, "no journal in %s: %s", folder, strerror(error));
    }
    /* For writing, because a run that was killed may have left a transaction to be undone. */
    return open_database(file, folder, SQLITE_OPEN_READWRITE, message);
}

static bool empty_descriptor(int descriptor)
{
    struct flock lock = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    return fcntl(descriptor, F_SETLK, &lock) == 0 && ftruncate(descriptor, 0) == 0 &&
           fsync(descriptor) == 0;
}

/* Not through SQLite, which refuses to touch what it can't read. The lock covers the bytes that
 * SQLite locks. The file stays the same one, so that whoever waits for it or opens it at this
 * moment meets the same locks; its rollback file, if there is one, is dropped by SQLite when it
 * finds the file empty. */
enum shv_status journal_file_empty(const char *folder, struct shv_message *message)
{
    struct journal_file file = {.path = path_in(folder)};
    if (!file.path) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of a journal");
    }
    enum shv_status status = SHV_OK;
    int descriptor = open(file.path, O_RDWR | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor >= 0 || errno != ENOENT) {
        bool emptied = descriptor >= 0 && empty_descriptor(descriptor);
        int error = errno;
        bool closed = descriptor >= 0 && close(descriptor) == 0;
        if (!emptied && descriptor >= 0 && (error == EAGAIN || error == EACCES)) {
            status = cannot(&file, "write", SQLITE_BUSY, message);
        } else if (!emptied || !closed) {
            status = shv_fail(message, SHV_IO, "cannot empty %s: %s", file.path,
                              strerror(emptied ? errno : error));
        }
    }
    free(file.path);
    return status;
}

/* ---- read ---- */

/* Calls `row` for each row of a statement until it returns false. */
static int each_row(sqlite3 *db, const char *sql, bool (*row)(void *data, sqlite3_stmt *statement),
                    void *data, bool *good)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (code != SQLITE_OK) {
        return code;
    }
    while (*good && (code = sqlite3_step(statement)) == SQLITE_ROW) {
        *good = row(data, statement);
    }
    int end = sqlite3_finalize(statement);
    return code == SQLITE_DONE || code == SQLITE_ROW ? end : code;
}

static bool row_is_ok(void *data, sqlite3_stmt *statement)
{
    (void)data;
    const unsigned char *text = sqlite3_column_text(statement, 0);
    return text && strcmp((const char *)text, "ok") == 0;
}

struct journal_reading {
    struct journal_content *content;
    uint64_t finished;
    char sum[65];
    int rows;
    size_t room, kept_room, note_room; /* of best, kept and note */
    bool out_of_memory;
};

static bool take_text(struct journal_reading *r, char **to, sqlite3_stmt *statement)
{
    const unsigned char *text = sqlite3_column_text(statement, 1);
    if (!text || *to) {
        return false;
    }
    *to = strdup((const char *)text);
    r->out_of_memory = !*to;
    return *to;
}

static bool take_about(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    struct about_row rows[ABOUT_ROWS];
    const char *name = (const char *)sqlite3_column_text(statement, 0);
    about_rows(&r->content->about, &r->finished, rows);
    r->rows++;
    if (name && strcmp(name, "sum") == 0) {
        const unsigned char *text = sqlite3_column_text(statement, 1);
        (void)snprintf(r->sum, sizeof r->sum, "%s", text ? (const char *)text : "");
        return true;
    }
    for (size_t i = 0; name && i < ABOUT_ROWS; i++) {
        if (strcmp(name, rows[i].name) == 0 && rows[i].text) {
            return take_text(r, rows[i].text, statement);
        }
        if (strcmp(name, rows[i].name) == 0) {
            *rows[i].number = (uint64_t)sqlite3_column_int64(statement, 1);
            return true;
        }
    }
    return false;
}

static bool take_count(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    const char *found = (const char *)sqlite3_column_text(statement, 0);
    for (int i = 0; found && i < COUNT_ROWS; i++) {
        char name[NAME_MAX_BYTES];
        uint64_t *count = count_at(&r->content->counts, i, name);
        if (strcmp(found, name) == 0) {
            *count = (uint64_t)sqlite3_column_int64(statement, 1);
            r->rows++;
            return true;
        }
    }
    return false;
}

static bool take_done(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    uint64_t first = (uint64_t)sqlite3_column_int64(statement, 0);
    uint64_t last = (uint64_t)sqlite3_column_int64(statement, 1);
    return last < INT64_MAX && ranges_append(&r->content->done, first, last + 1);
}

static bool take_best(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    struct journal_content *c = r->content;
    if (c->best_count == r->room) {
        size_t room = 2 * r->room + 64;
        struct shv_candidate *best = realloc(c->best, room * sizeof *best);
        r->out_of_memory = !best;
        if (!best) {
            return false;
        }
        c->best = best;
        r->room = room;
    }
    c->best[c->best_count++] =
        (struct shv_candidate){of_bits((uint64_t)sqlite3_column_int64(statement, 1)),
                               (uint64_t)sqlite3_column_int64(statement, 0)};
    return true;
}

static bool take_kept(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    struct journal_content *c = r->content;
    if (c->kept_count == r->kept_room) {
        size_t room = 2 * r->kept_room + 64;
        struct shv_kept_row *kept = realloc(c->kept, room * sizeof *kept);
        r->out_of_memory = !kept;
        if (!kept) {
            return false;
        }
        c->kept = kept;
        r->kept_room = room;
    }
    struct shv_kept_row *row = &c->kept[c->kept_count++];
    row->list = (uint64_t)sqlite3_column_int64(statement, 0);
    row->point.index = (uint64_t)sqlite3_column_int64(statement, 1);
    for (int k = 0; k < (int)SHV_FRONT_DIMS; k++) {
        row->point.value[k] = of_bits((uint64_t)sqlite3_column_int64(statement, 2 + k));
    }
    return true;
}

static bool take_note(void *data, sqlite3_stmt *statement)
{
    struct journal_reading *r = data;
    struct journal_content *c = r->content;
    if (c->note_count == r->note_room) {
        size_t room = 2 * r->note_room + 64;
        struct journal_note *note = realloc(c->note, room * sizeof *note);
        r->out_of_memory = !note;
        if (!note) {
            return false;
        }
        c->note = note;
        r->note_room = room;
    }
    c->note[c->note_count++] = (struct journal_note){(uint64_t)sqlite3_column_int64(statement, 0),
                                                     (uint64_t)sqlite3_column_int64(statement, 1),
                                                     (uint64_t)sqlite3_column_int64(statement, 2)};
    return true;
}

/* SQLite's own idea of the file, then ours of its kind. */
static enum shv_status check_kind(struct journal_file *file, struct shv_message *message)
{
    int64_t application = 0, format = 0;
    int code = number_of(file->db, "PRAGMA application_id", &application);
    code = code == SQLITE_OK ? number_of(file->db, "PRAGMA user_version", &format) : code;
    if (code != SQLITE_OK) {
        return cannot(file, "read", code, message);
    }
    if (application != APPLICATION) {
        return shv_fail(message, SHV_IO, "%s is damaged, or is no journal of sheave", file->path);
    }
    if (format != FORMAT) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s has format %lld; this version of sheave reads format %d", file->path,
                        (long long)format, FORMAT);
    }
    bool whole = true;
    code = each_row(file->db, "PRAGMA integrity_check(1)", row_is_ok, NULL, &whole);
    if (code != SQLITE_OK) {
        return cannot(file, "read", code, message);
    }
    return whole ? SHV_OK : damaged(file, "its pages do not fit together", message);
}

static enum shv_status read_tables(struct journal_file *file, struct journal_reading *r,
                                   struct shv_message *message)
{
    static const struct {
        const char *sql;
        bool (*row)(void *data, sqlite3_stmt *statement);
    } parts[] = {{"SELECT name, value FROM about", take_about},
                 {"SELECT name, value FROM counts", take_count},
                 {"SELECT first, last FROM done ORDER BY first", take_done},
                 {"SELECT combination, objective_bits FROM best ORDER BY combination", take_best},
                 {"SELECT list, combination, a_bits, b_bits, c_bits FROM kept"
                  " ORDER BY list, combination",
                  take_kept},
                 {"SELECT place, word, value FROM notes ORDER BY place, word", take_note}};
    bool good = true;
    int code = SQLITE_OK;
    for (size_t i = 0; i < sizeof parts / sizeof *parts && good && code == SQLITE_OK; i++) {
        code = each_row(file->db, parts[i].sql, parts[i].row, r, &good);
    }
    if (code == SQLITE_ERROR) { /* no such table or column */
        return damaged(file, "a table is missing", message);
    }
    if (code != SQLITE_OK || r->out_of_memory) {
        return cannot(file, "read", r->out_of_memory ? SQLITE_NOMEM : code, message);
    }
    if (!good || r->rows != ABOUT_ROWS + 1 + COUNT_ROWS || r->finished > 1) {
        return damaged(file, "rows are missing or have no meaning", message);
    }
    return SHV_OK;
}

static enum shv_status read_checked(struct journal_file *file, struct journal_reading *r,
                                    struct shv_message *message)
{
    enum shv_status status = check_kind(file, message);
    status = status == SHV_OK ? read_tables(file, r, message) : status;
    if (status == SHV_OK) {
        char sum[65];
        r->content->about.finished = r->finished == 1;
        checksum(r->content, sum);
        if (strcmp(sum, r->sum) != 0) {
            status = damaged(file, "its checksum is wrong", message);
        }
    }
    return status;
}

enum shv_status journal_file_read(struct journal_file *file, struct journal_content *content,
                                  struct shv_message *message)
{
    *content = (struct journal_content){0};
    struct journal_reading r = {.content = content};
    /* One state of the file, even while another process writes. */
    int code = run(file->db, "BEGIN");
    enum shv_status status =
        code == SQLITE_OK ? read_checked(file, &r, message) : cannot(file, "read", code, message);
    if (code == SQLITE_OK) {
        code = run(file->db, "COMMIT");
        if (status == SHV_OK && code != SQLITE_OK) {
            status = cannot(file, "read", code, message);
        }
    }
    if (status != SHV_OK) {
        journal_content_free(content);
    }
    return status;
}

/* ---- write ---- */

/* Prepares, lets `rows` put its rows in, finalises. */
static int put_rows(sqlite3 *db, const char *sql,
                    int (*rows)(sqlite3_stmt *statement, const struct journal_content *content),
                    const struct journal_content *content)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (code != SQLITE_OK) {
        return code;
    }
    code = rows(statement, content);
    int end = sqlite3_finalize(statement);
    return code != SQLITE_OK ? code : end;
}

static int put_about(sqlite3_stmt *statement, const struct journal_content *content)
{
    char sum[65];
    struct journal_about about = content->about;
    uint64_t finished = about.finished;
    struct about_row rows[ABOUT_ROWS];
    about_rows(&about, &finished, rows);
    checksum(content, sum);
    int code = put_named(statement, "sum", sum, 0);
    for (size_t i = 0; code == SQLITE_OK && i < ABOUT_ROWS; i++) {
        code = put_named(statement, rows[i].name, rows[i].text ? *rows[i].text : NULL,
                         rows[i].text ? 0 : *rows[i].number);
    }
    return code;
}

static int put_counts(sqlite3_stmt *statement, const struct journal_content *content)
{
    struct shv_sweep_counts counts = content->counts;
    int code = SQLITE_OK;
    for (int i = 0; code == SQLITE_OK && i < COUNT_ROWS; i++) {
        char name[NAME_MAX_BYTES];
        const uint64_t *count = count_at(&counts, i, name);
        code = put_named(statement, name, NULL, *count);
    }
    return code;
}

static int put_done(sqlite3_stmt *statement, const struct journal_content *content)
{
    int code = SQLITE_OK;
    for (size_t i = 0; code == SQLITE_OK && i < content->done.count; i++) {
        code = put_numbers(statement, content->done.item[i].first, content->done.item[i].end - 1);
    }
    return code;
}

/* Puts what is in b but not in a, both in ascending order of index. An index always has the same
 * objective. */
static int put_difference(sqlite3_stmt *statement, const struct journal_content *a,
                          const struct journal_content *b)
{
    int code = SQLITE_OK;
    size_t i = 0;
    for (size_t k = 0; code == SQLITE_OK && k < b->best_count; k++) {
        const struct shv_candidate *c = &b->best[k];
        while (i < a->best_count && a->best[i].index < c->index) {
            i++;
        }
        if (i == a->best_count || a->best[i].index != c->index) {
            code = put_numbers(statement, c->index, bits_of(c->objective));
        }
    }
    return code;
}

static int change_best(sqlite3 *db, const char *sql, const struct journal_content *a,
                       const struct journal_content *b)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    if (code != SQLITE_OK) {
        return code;
    }
    code = put_difference(statement, a, b);
    int end = sqlite3_finalize(statement);
    return code != SQLITE_OK ? code : end;
}

static int by_place(const struct shv_kept_row *a, const struct shv_kept_row *b)
{
    if (a->list != b->list) {
        return a->list < b->list ? -1 : 1;
    }
    return a->point.index < b->point.index ? -1 : a->point.index > b->point.index ? 1 : 0;
}

/* The key alone where the statement asks for no more. */
static int put_kept(sqlite3_stmt *statement, const struct shv_kept_row *row)
{
    int parameters = sqlite3_bind_parameter_count(statement);
    int code = sqlite3_bind_int64(statement, 1, (sqlite3_int64)row->list);
    code = code == SQLITE_OK ? sqlite3_bind_int64(statement, 2, (sqlite3_int64)row->point.index)
                             : code;
    for (int k = 2; k < parameters && code == SQLITE_OK; k++) {
        code =
            sqlite3_bind_int64(statement, 1 + k, (sqlite3_int64)bits_of(row->point.value[k - 2]));
    }
    code = code == SQLITE_OK ? sqlite3_step(statement) : code;
    int again = sqlite3_reset(statement);
    return code == SQLITE_DONE ? again : code;
}

/* Runs a statement for each row that b has and a has not. A combination's values are always the
 * same. */
static int change_kept(sqlite3 *db, const char *sql, const struct journal_content *a,
                       const struct journal_content *b)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    size_t i = 0;
    for (size_t k = 0; code == SQLITE_OK && k < b->kept_count; k++) {
        while (i < a->kept_count && by_place(&a->kept[i], &b->kept[k]) < 0) {
            i++;
        }
        if (i == a->kept_count || by_place(&a->kept[i], &b->kept[k]) != 0) {
            code = put_kept(statement, &b->kept[k]);
        }
    }
    int end = sqlite3_finalize(statement);
    return code != SQLITE_OK ? code : end;
}

static int put_notes(sqlite3_stmt *statement, const struct journal_content *content)
{
    int code = SQLITE_OK;
    for (size_t i = 0; code == SQLITE_OK && i < content->note_count; i++) {
        const struct journal_note *note = &content->note[i];
        code = sqlite3_bind_int64(statement, 3, (sqlite3_int64)note->value);
        code = code == SQLITE_OK ? put_numbers(statement, note->place, note->word) : code;
    }
    return code;
}

/* Counts, ranges and notes are a few hundred rows: written whole. The best are changed row by row,
 * which soon touches no more than a page or two. */
static int write_changes(sqlite3 *db, const struct journal_content *stored,
                         const struct journal_content *content)
{
    int code = put_rows(db, "INSERT OR REPLACE INTO about VALUES(?, ?)", put_about, content);
    if (code == SQLITE_OK) {
        code = put_rows(db, "INSERT OR REPLACE INTO counts VALUES(?, ?)", put_counts, content);
    }
    if (code == SQLITE_OK) {
        code = run(db, "DELETE FROM done");
    }
    if (code == SQLITE_OK) {
        code = put_rows(db, "INSERT INTO done VALUES(?, ?)", put_done, content);
    }
    if (code == SQLITE_OK) {
        code = change_best(db, "DELETE FROM best WHERE combination = ?", content, stored);
    }
    if (code == SQLITE_OK) {
        code = change_best(db, "INSERT OR REPLACE INTO best VALUES(?, ?)", stored, content);
    }
    if (code == SQLITE_OK) {
        code =
            change_kept(db, "DELETE FROM kept WHERE list = ? AND combination = ?", content, stored);
    }
    if (code == SQLITE_OK) {
        code =
            change_kept(db, "INSERT OR REPLACE INTO kept VALUES(?, ?, ?, ?, ?)", stored, content);
    }
    if (code == SQLITE_OK && stored->note_count + content->note_count > 0) {
        code = run(db, "DELETE FROM notes");
        code = code == SQLITE_OK
                   ? put_rows(db, "INSERT INTO notes VALUES(?, ?, ?)", put_notes, content)
                   : code;
    }
    return code;
}

static enum shv_status write_all(struct journal_file *file, const char *first,
                                 const struct journal_content *stored,
                                 const struct journal_content *content, struct shv_message *message)
{
    int code = run(file->db, "BEGIN EXCLUSIVE");
    if (code == SQLITE_OK && first) {
        code = run(file->db, first);
    }
    if (code == SQLITE_OK) {
        code = write_changes(file->db, stored, content);
    }
    if (code == SQLITE_OK) {
        code = run(file->db, "COMMIT");
    }
    if (code == SQLITE_OK) {
        return SHV_OK;
    }
    enum shv_status status = cannot(file, "write", code, message);
    /* SQLite may have rolled back by itself. If it can't, whoever opens the file next does. */
    if (sqlite3_get_autocommit(file->db) == 0) {
        (void)run(file->db, "ROLLBACK");
    }
    return status;
}

enum shv_status journal_file_create(struct journal_file *file,
                                    const struct journal_content *content,
                                    struct shv_message *message)
{
    const struct journal_content nothing = {.best = NULL};
    return write_all(file, tables, &nothing, content, message);
}

enum shv_status journal_file_update(struct journal_file *file, const struct journal_content *stored,
                                    const struct journal_content *content,
                                    struct shv_message *message)
{
    return write_all(file, NULL, stored, content, message);
}
