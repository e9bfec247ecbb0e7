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

#include "base/path.h"
#include "base/sha256.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define APPLICATION 0x73687665 /* "shve", at a fixed place of the file's header */
#define FORMAT 5               /* raise it when the table or its meaning changes */
#define TEXT_OF(x) TEXT_OF_VALUE(x)
#define TEXT_OF_VALUE(x) #x

#define SUM "sum" /* name of the row with the SHA-256 over all others */

static const char table[] =
    "DROP TABLE IF EXISTS part; CREATE TABLE part(name TEXT PRIMARY KEY, items BLOB);"
    "PRAGMA application_id = " TEXT_OF(APPLICATION) "; PRAGMA user_version = " TEXT_OF(FORMAT);

/* ---- what it holds ---- */

/* Items are texts' bytes, or so many numbers of 64 bits, a double by its bits. */
#define WORD sizeof(uint64_t)
static const struct {
    const char *name;
    size_t size; /* of an item */
    bool is_one; /* has one item */
} parts[JOURNAL_PARTS] = {
    [JOURNAL_VERSION] = {"version", 1, false},
    [JOURNAL_STUDY] = {"study", 1, false},
    [JOURNAL_STARTED_IN] = {"started_in", 1, false},
    [JOURNAL_SHA256_ALL] = {"sha256_all", 1, false},
    [JOURNAL_ABOUT] = {"about", sizeof(struct journal_about), true},
    [JOURNAL_COUNTS] = {"counts", sizeof(struct shv_sweep_counts), true},
    [JOURNAL_DONE] = {"done", sizeof(struct chunk_range), false},
    [JOURNAL_BEST] = {"best", sizeof(struct shv_candidate), false},
    [JOURNAL_KEPT] = {"kept", sizeof(struct shv_kept_row), false},
    [JOURNAL_NOTES] = {"notes", sizeof(struct journal_note), false},
};
/* Nothing but such numbers, hence no padding. */
_Static_assert(sizeof(struct journal_about) == 7 * WORD, "what a journal is of");
_Static_assert(sizeof(struct shv_sweep_counts) ==
                   (2 + SHV_OUTCOME_COUNT + 2 * SHV_LIMIT_COUNT) * WORD,
               "counts in a journal");
_Static_assert(sizeof(struct chunk_range) == 2 * WORD, "ranges in a journal");
_Static_assert(sizeof(struct shv_candidate) == 2 * WORD, "the best in a journal");
_Static_assert(sizeof(struct shv_kept_row) == (2 + SHV_FRONT_DIMS) * WORD, "kept rows");
_Static_assert(sizeof(struct journal_note) == 3 * WORD, "notes in a journal");

bool journal_set(struct journal_content *content, enum journal_part part, const void *items,
                 size_t count)
{
    struct journal_list *list = &content->list[part];
    size_t size = count * parts[part].size;
    if (list->item && list->count == count && (size == 0 || memcmp(list->item, items, size) == 0)) {
        return true;
    }
    char *item = realloc(list->item, size + 1);
    if (!item) {
        return false;
    }
    if (size > 0) {
        memcpy(item, items, size);
    }
    item[size] = '\0';
    *list = (struct journal_list){item, count, true};
    return true;
}

const char *journal_text(const struct journal_content *content, enum journal_part part)
{
    return content->list[part].item;
}

const struct journal_about *journal_about(const struct journal_content *content)
{
    return content->list[JOURNAL_ABOUT].item;
}

const struct shv_sweep_counts *journal_counts(const struct journal_content *content)
{
    return content->list[JOURNAL_COUNTS].item;
}

struct ranges journal_done(const struct journal_content *content)
{
    const struct journal_list *done = &content->list[JOURNAL_DONE];
    return (struct ranges){.count = done->count, .item = done->item};
}

void journal_content_free(struct journal_content *content)
{
    for (size_t i = 0; i < JOURNAL_PARTS; i++) {
        free(content->list[i].item);
    }
    *content = (struct journal_content){0};
}

/* Lowest byte first on every machine. */
static void put_word(uint64_t word, unsigned char bytes[WORD])
{
    for (size_t i = 0; i < WORD; i++) {
        bytes[i] = (unsigned char)(word >> (8 * i));
    }
}

/* Items as they stand in the file, or back: the same where the machine has that order. */
static void turn_items(enum journal_part part, size_t size, const void *from, void *to)
{
    if (parts[part].size < WORD) {
        memcpy(to, from, size);
        return;
    }
    for (size_t at = 0; at + WORD <= size; at += WORD) {
        uint64_t word;
        memcpy(&word, (const char *)from + at, WORD);
        put_word(word, (unsigned char *)to + at);
    }
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

/* Puts a row of the table in place of the one of that name. */
static int put_row(sqlite3 *db, const char *name, const void *bytes, size_t size)
{
    sqlite3_stmt *statement = NULL;
    int code =
        sqlite3_prepare_v2(db, "INSERT OR REPLACE INTO part VALUES(?, ?)", -1, &statement, NULL);
    code = code == SQLITE_OK ? sqlite3_bind_text(statement, 1, name, -1, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_bind_blob64(statement, 2, bytes, size, SQLITE_STATIC) : code;
    code = code == SQLITE_OK ? sqlite3_step(statement) : code;
    int end = sqlite3_finalize(statement);
    return code == SQLITE_DONE ? end : code;
}

static void hash_list(struct sha256 *h, const void *bytes, size_t size)
{
    unsigned char length[WORD];
    put_word(size, length);
    sha256_update(h, length, sizeof length);
    sha256_update(h, bytes, size);
}

/* ---- open and close ---- */

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
    *file = (struct journal_file){.path = path_in(folder, SHV_JOURNAL_FILE)};
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
    char *path = path_in(folder, SHV_JOURNAL_FILE);
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
    struct journal_file file = {.path = path_in(folder, SHV_JOURNAL_FILE)};
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

/* Whether SQLite finds its pages whole. */
static int check_pages(sqlite3 *db, bool *whole)
{
    sqlite3_stmt *statement;
    int code = sqlite3_prepare_v2(db, "PRAGMA integrity_check(1)", -1, &statement, NULL);
    if (code != SQLITE_OK) {
        return code;
    }
    const unsigned char *text =
        sqlite3_step(statement) == SQLITE_ROW ? sqlite3_column_text(statement, 0) : NULL;
    *whole = text && strcmp((const char *)text, "ok") == 0;
    return sqlite3_finalize(statement);
}

/* What a step of reading ends with, besides a code of SQLite's. */
struct reading {
    struct journal_content *content;
    struct sha256 hash;
    bool has_meaning;
};

static bool is_rising(const struct chunk_range *range, size_t count)
{
    bool rising = true;
    for (size_t i = 0; i < count; i++) {
        rising = rising && range[i].first < range[i].end &&
                 (i == 0 || range[i - 1].end < range[i].first);
    }
    return rising;
}

/* Whether these are items of this part. */
static bool is_sensible(enum journal_part part, const void *item, size_t count)
{
    const struct journal_about *about = item;
    return (!parts[part].is_one || count == 1) && (parts[part].size > 1 || strlen(item) == count) &&
           (part != JOURNAL_ABOUT || about->finished <= 1) &&
           (part != JOURNAL_DONE || is_rising(item, count));
}

static int take_list(struct reading *r, enum journal_part part, const void *bytes, size_t size)
{
    struct journal_list *list = &r->content->list[part];
    size_t count = size / parts[part].size;
    list->item = malloc(size + 1);
    if (!list->item) {
        return SQLITE_NOMEM;
    }
    ((char *)list->item)[size] = '\0';
    turn_items(part, size, bytes, list->item);
    list->count = count;
    hash_list(&r->hash, bytes, size);
    r->has_meaning = size % parts[part].size == 0 && is_sensible(part, list->item, count);
    return SQLITE_OK;
}

/* The row of a part, or with JOURNAL_PARTS that of the checksum. */
static int read_row(struct reading *r, sqlite3_stmt *statement, enum journal_part part,
                    char sum[65])
{
    const char *name = part < JOURNAL_PARTS ? parts[part].name : SUM;
    int code = sqlite3_bind_text(statement, 1, name, -1, SQLITE_STATIC);
    code = code == SQLITE_OK ? sqlite3_step(statement) : code;
    r->has_meaning = code == SQLITE_ROW && sqlite3_column_type(statement, 0) == SQLITE_BLOB;
    const void *bytes = r->has_meaning ? sqlite3_column_blob(statement, 0) : NULL;
    int size = r->has_meaning ? sqlite3_column_bytes(statement, 0) : 0;
    code = code == SQLITE_ROW || code == SQLITE_DONE ? SQLITE_OK : code;
    if (r->has_meaning && part == JOURNAL_PARTS) {
        (void)snprintf(sum, 65, "%.*s", size, bytes ? (const char *)bytes : "");
    } else if (r->has_meaning) {
        code = take_list(r, part, bytes, (size_t)size);
    }
    int again = sqlite3_reset(statement);
    return code == SQLITE_OK ? again : code;
}

/* All rows that there should be, and no others. */
static int read_rows(struct reading *r, sqlite3 *db, char sum[65])
{
    sqlite3_stmt *statement;
    int64_t rows = 0;
    int code =
        sqlite3_prepare_v2(db, "SELECT items FROM part WHERE name = ?", -1, &statement, NULL);
    for (int i = 0; i <= JOURNAL_PARTS && code == SQLITE_OK && r->has_meaning; i++) {
        code = read_row(r, statement, (enum journal_part)i, sum);
    }
    int end = sqlite3_finalize(statement);
    code = code == SQLITE_OK ? end : code;
    code = code == SQLITE_OK ? number_of(db, "SELECT count(*) FROM part", &rows) : code;
    r->has_meaning = r->has_meaning && rows == JOURNAL_PARTS + 1;
    return code;
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
    code = check_pages(file->db, &whole);
    if (code != SQLITE_OK) {
        return cannot(file, "read", code, message);
    }
    return whole ? SHV_OK : damaged(file, "its pages do not fit together", message);
}

static enum shv_status read_checked(struct journal_file *file, struct journal_content *content,
                                    struct shv_message *message)
{
    struct reading r = {.content = content, .has_meaning = true};
    char sum[65], told[65] = "";
    enum shv_status status = check_kind(file, message);
    if (status != SHV_OK) {
        return status;
    }
    sha256_init(&r.hash);
    int code = read_rows(&r, file->db, told);
    sha256_finish(&r.hash, sum);
    return code == SQLITE_ERROR     ? damaged(file, "its table is missing", message)
           : code != SQLITE_OK      ? cannot(file, "read", code, message)
           : !r.has_meaning         ? damaged(file, "rows are missing or have no meaning", message)
           : strcmp(sum, told) != 0 ? damaged(file, "its checksum is wrong", message)
                                    : SHV_OK;
}

enum shv_status journal_file_read(struct journal_file *file, struct journal_content *content,
                                  struct shv_message *message)
{
    *content = (struct journal_content){0};
    /* One state of the file, even while another process writes. */
    int code = run(file->db, "BEGIN");
    enum shv_status status = code == SQLITE_OK ? read_checked(file, content, message)
                                               : cannot(file, "read", code, message);
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

/* Into the checksum, and into the file what is another than there. */
static int write_list(sqlite3 *db, const struct journal_list *list, enum journal_part part,
                      bool anew, struct sha256 *hash)
{
    size_t size = list->count * parts[part].size;
    unsigned char *bytes = malloc(size + 1);
    if (!bytes) {
        return SQLITE_NOMEM;
    }
    turn_items(part, size, list->item, bytes);
    hash_list(hash, bytes, size);
    int code = anew || list->changed ? put_row(db, parts[part].name, bytes, size) : SQLITE_OK;
    free(bytes);
    return code;
}

static int write_lists(sqlite3 *db, const struct journal_content *content, bool anew)
{
    struct sha256 hash;
    char sum[65];
    int code = anew ? run(db, table) : SQLITE_OK;
    sha256_init(&hash);
    for (int i = 0; i < JOURNAL_PARTS && code == SQLITE_OK; i++) {
        code = write_list(db, &content->list[i], (enum journal_part)i, anew, &hash);
    }
    sha256_finish(&hash, sum);
    return code == SQLITE_OK ? put_row(db, SUM, sum, strlen(sum)) : code;
}

enum shv_status journal_file_write(struct journal_file *file, struct journal_content *content,
                                   bool anew, struct shv_message *message)
{
    int code = run(file->db, "BEGIN EXCLUSIVE");
    code = code == SQLITE_OK ? write_lists(file->db, content, anew) : code;
    code = code == SQLITE_OK ? run(file->db, "COMMIT") : code;
    if (code == SQLITE_OK) {
        for (size_t i = 0; i < JOURNAL_PARTS; i++) {
            content->list[i].changed = false;
        }
        return SHV_OK;
    }
    enum shv_status status = cannot(file, "write", code, message);
    /* SQLite may have rolled back by itself. If it can't, whoever opens the file next does. */
    if (sqlite3_get_autocommit(file->db) == 0) {
        (void)run(file->db, "ROLLBACK");
    }
    return status;
}
