/* Files of cycle tables: src/sweep/cycle_cache.h. */
#include "sweep/cycle_cache.h"

#include "base/sha256.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define MAGIC "SHVCYCLE"
#define ORDER 0x01020304u
/* Raise it when the meaning of a table's numbers changes. */
#define FORMAT 3u
#define TAG "sheave cycle table 3"
#define HEADER_BYTES ((size_t)(8 + 4 + 4 + 64 + 8 + 64))
/* Of the payload before its arrays. */
#define FRONT_COUNTS ((size_t)(1 + SHV_CYCLE_DIRECTIONS))
#define FRONT_BYTES                                                                                \
    (FRONT_COUNTS * sizeof(uint64_t) + sizeof(struct shv_cycle_table_quality) +                    \
     (size_t)SHV_CYCLE_DIRECTIONS * 4 * sizeof(double))
#define PARTS_MOST 100 /* names tried for a file being written */
#define STALE 3600.0   /* s after which a part counts as left behind */

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

static void hash_doubles(struct sha256 *h, const double *x, size_t count)
{
    hash_u64(h, count);
    for (size_t i = 0; i < count; i++) {
        hash_double(h, x[i]);
    }
}

/* A new field must enter the key; these fail to compile until it does. */
_Static_assert(sizeof(struct shv_cycle_engine) == 21 * sizeof(double), "key of the engine");
_Static_assert(sizeof(struct shv_cycle_fuel) == 8 * sizeof(double), "key of the fuel");
_Static_assert(sizeof(struct shv_cycle_knock) == 8 * sizeof(double), "key of knock");
_Static_assert(sizeof(struct shv_cycle_case) == 14 * sizeof(double), "key of the case");

static void hash_engine(struct sha256 *h, const struct shv_cycle_engine *e)
{
    const double x[] = {
        e->bore,
        e->stroke,
        e->compression_ratio,
        e->rod_ratio,
        e->inlet_closing,
        e->exhaust_opening,
        e->head_area_ratio,
        e->piston_area_ratio,
        e->head_temperature,
        e->piston_temperature,
        e->liner_temperature,
        e->heat_factor,
        e->motored_exponent,
        e->wiebe_a,
        e->wiebe_m,
        e->burn_duration,
        e->burn_reference_speed,
        e->burn_speed_exponent,
        e->charge_heating,
        e->evaporated_share,
        e->blowdown_share,
    };
    hash_doubles(h, x, sizeof x / sizeof x[0]);
}

static void hash_fuel(struct sha256 *h, const struct shv_cycle_fuel *f)
{
    const double x[] = {f->stoichiometric,
                        f->heating_value,
                        f->hydrogen_carbon,
                        f->oxygen_carbon,
                        f->molar_mass,
                        f->vaporisation,
                        f->ron,
                        f->mon};
    hash_doubles(h, x, sizeof x / sizeof x[0]);
}

static void hash_knock(struct sha256 *h, const struct shv_cycle_knock *k)
{
    const double x[] = {k->scale,        k->margin,           k->octane_weight, k->mixture_slope,
                        k->mixture_peak, k->mixture_rounding, k->best_ca50,     k->limit_ca50};
    hash_doubles(h, x, sizeof x / sizeof x[0]);
}

/* Without speed, pressures, temperature and phasing, which the table sets. */
static void hash_case(struct sha256 *h, const struct shv_cycle_case *c)
{
    const double x[] = {
        c->humidity_ratio,       c->lambda, c->combustion_efficiency, c->residual_share,
        c->residual_temperature, c->step,   c->gas_constant,          c->heat_capacity};
    hash_doubles(h, x, sizeof x / sizeof x[0]);
    hash_u64(h, (uint64_t)c->gas);
}

static void hash_options(struct sha256 *h, const struct shv_cycle_table_options *o)
{
    const double x[] = {o->efficiency, o->ca50, o->peak_pressure};
    hash_doubles(h, x, sizeof x / sizeof x[0]);
    hash_u64(h, o->samples);
    hash_u64(h, o->seed);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        hash_u64(h, o->first_nodes[d]);
        hash_u64(h, o->most_nodes[d]);
    }
}

/* The flow only matters where it makes back pressure. */
static enum shv_status hash_exhaust(struct sha256 *h, const struct shv_cycle_table_spec *s,
                                    struct shv_message *message)
{
    const double rule[] = {s->exhaust_pressure, s->exhaust_loss, s->exhaust_temperature,
                           s->exhaust_charge,   s->reference_temperature,
                           s->charge_exponent,  s->charge_pickup};
    bool flows = s->exhaust_loss != 0.0;
    if (flows && !s->breathing) {
        return shv_fail(message, SHV_BAD_INPUT, "cycle table: exhaust_loss without breathing");
    }
    hash_doubles(h, rule, flows ? sizeof rule / sizeof rule[0] : 1);
    for (size_t i = 0; flows && i < s->speed_count; i++) {
        const double x[] = {s->breathing[i].capacity, s->breathing[i].a, s->breathing[i].b};
        hash_doubles(h, x, sizeof x / sizeof x[0]);
    }
    return SHV_OK;
}

/* What the model of this program says at the corners and the middle of the range. */
static enum shv_status hash_probes(struct sha256 *h, const struct shv_cycle_table_spec *s,
                                   struct shv_message *message)
{
    for (int i = 0; i <= 4; i++) {
        double share = 0.25 * i;
        struct shv_cycle_case at = s->at;
        size_t speed = i % 2 ? s->speed_count - 1 : s->speed_count / 2;
        at.speed = s->speeds[speed];
        at.manifold_pressure = s->pressure_least + share * (s->pressure_most - s->pressure_least);
        at.charge_temperature =
            s->temperature_least + share * (s->temperature_most - s->temperature_least);
        at.exhaust_pressure =
            shv_cycle_table_exhaust(s, speed, at.manifold_pressure, at.charge_temperature);
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
        hash_doubles(h, x, answered ? sizeof x / sizeof x[0] : 0);
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
    sha256_init(&h);
    sha256_update(&h, TAG, sizeof TAG);
    hash_engine(&h, &s->engine);
    hash_fuel(&h, &s->fuel);
    hash_knock(&h, &s->knock);
    hash_case(&h, &s->at);
    hash_doubles(&h, range, sizeof range / sizeof range[0]);
    hash_doubles(&h, s->speeds, s->speed_count);
    hash_options(&h, options);
    enum shv_status status = hash_exhaust(&h, s, message);
    status = status == SHV_OK ? hash_probes(&h, s, message) : status;
    sha256_finish(&h, key);
    return status;
}

/* ---- payload ---- */

struct sizes {
    size_t speeds, surfaces, volumes, bytes;
};

/* Of counts that were checked. */
static struct sizes sizes_of(const uint64_t counts[FRONT_COUNTS])
{
    size_t records = (size_t)counts[0] * ((size_t)counts[1] + 2) * ((size_t)counts[2] + 2);
    struct sizes z = {.speeds = (size_t)counts[0], .surfaces = records * SHV_CYCLE_SURFACES};
    z.volumes = records * ((size_t)counts[3] + 2) * SHV_CYCLE_FIELDS;
    z.bytes = FRONT_BYTES + (z.speeds + z.surfaces + z.volumes) * sizeof(double);
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
                   4 * sizeof(struct shv_cycle_table_error) + 5 * sizeof(uint64_t),
               "quality in files");
_Static_assert(sizeof(struct shv_cycle_table_error) == 5 * sizeof(double), "errors in files");

static void write_payload(unsigned char *to, const struct shv_cycle_table *t,
                          const uint64_t counts[FRONT_COUNTS], const struct sizes *z)
{
    put(&to, counts, FRONT_COUNTS * sizeof counts[0]);
    put(&to, &t->quality, sizeof t->quality);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        const struct shv_cycle_axis *a = &t->axis[d];
        const double x[4] = {a->origin, a->per_unit, a->least, a->most};
        put(&to, x, sizeof x);
    }
    put(&to, t->speeds, z->speeds * sizeof(double));
    put(&to, t->surfaces, z->surfaces * sizeof(double));
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
    struct sizes z = sizes_of(counts);
    t->speed_count = z.speeds;
    take(&from, &t->quality, sizeof t->quality);
    for (size_t d = 0; d < SHV_CYCLE_DIRECTIONS; d++) {
        double x[4];
        take(&from, x, sizeof x);
        t->axis[d] = (struct shv_cycle_axis){x[0], x[1], x[2], x[3], (size_t)counts[1 + d]};
    }
    t->speeds = malloc(z.speeds * sizeof(double));
    t->surfaces = malloc(z.surfaces * sizeof(double));
    t->volumes = malloc(z.volumes * sizeof(double));
    if (!t->speeds || !t->surfaces || !t->volumes) {
        shv_cycle_table_free(t);
        return "does not fit into memory";
    }
    take(&from, t->speeds, z.speeds * sizeof(double));
    take(&from, t->surfaces, z.surfaces * sizeof(double));
    take(&from, t->volumes, z.volumes * sizeof(double));
    return NULL;
}

/* ---- header ---- */

static void sum_of(const unsigned char *payload, size_t bytes, char text[65])
{
    struct sha256 h;
    sha256_init(&h);
    sha256_update(&h, payload, bytes);
    sha256_finish(&h, text);
}

static void write_header(unsigned char *to, const char *key, const unsigned char *payload,
                         size_t bytes)
{
    const uint32_t order = ORDER, format = FORMAT;
    const uint64_t size = bytes;
    char sum[65];
    sum_of(payload, bytes, sum);
    put(&to, MAGIC, 8);
    put(&to, &order, sizeof order);
    put(&to, &format, sizeof format);
    put(&to, key, 64);
    put(&to, &size, sizeof size);
    put(&to, sum, 64);
}

/* NULL or a reason. `bytes` is what follows the header. */
static const char *check_header(const unsigned char *from, const char *key, size_t bytes,
                                char sum[65])
{
    uint32_t order, format;
    uint64_t size;
    char magic[8], its_key[64];
    take(&from, magic, sizeof magic);
    take(&from, &order, sizeof order);
    take(&from, &format, sizeof format);
    take(&from, its_key, sizeof its_key);
    take(&from, &size, sizeof size);
    take(&from, sum, 64);
    sum[64] = '\0';
    if (memcmp(magic, MAGIC, sizeof magic) != 0) {
        return "is not a cycle table";
    }
    if (order != ORDER) {
        return "has another order of bytes";
    }
    if (format != FORMAT) {
        return "has another version";
    }
    if (memcmp(its_key, key, sizeof its_key) != 0) {
        return "is of other inputs";
    }
    return size == bytes ? NULL : "is not whole";
}

/* ---- files ---- */

/* Room for a note that cannot be printed in full is not needed: it is cut. */
static bool note_that(char note[CYCLE_CACHE_NOTE], const char *path, const char *what)
{
    (void)snprintf(note, CYCLE_CACHE_NOTE, "%.300s %s", path, what);
    return false;
}

static char *path_of(const char *folder, const char *key, const char *end)
{
    size_t size = strlen(folder) + strlen(key) + strlen(end) + 16;
    char *path = malloc(size);
    if (path) {
        (void)snprintf(path, size, "%s/cycle-%s%s", folder[0] ? folder : ".", key, end);
    }
    return path;
}

/* All bytes of an ordinary file of acceptable size, NULL with a reason. */
static unsigned char *read_whole(const char *path, size_t *bytes, const char **why)
{
    unsigned char *all = NULL;
    struct stat info;
    /* Not to hang on a pipe of that name. */
    int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    FILE *stream = descriptor >= 0 ? fdopen(descriptor, "rb") : NULL;
    *why = descriptor >= 0 || errno != ENOENT ? "cannot be read" : "is not there yet";
    if (!stream) {
        if (descriptor >= 0) {
            (void)close(descriptor);
        }
        return NULL;
    }
    if (fstat(descriptor, &info) == 0 && S_ISREG(info.st_mode)) {
        uint64_t size = (uint64_t)info.st_size;
        bool fits = size >= HEADER_BYTES && size <= SHV_CYCLE_TABLE_BYTES_MOST + (1u << 20);
        *why = fits ? "cannot be read" : "is not whole";
        *bytes = (size_t)size;
        all = fits ? malloc(*bytes) : NULL;
    }
    if (all && fread(all, 1, *bytes, stream) != *bytes) {
        free(all);
        all = NULL;
    }
    (void)fclose(stream);
    return all;
}

static const char *load_path(const char *path, const char *key, struct shv_cycle_table *table)
{
    const char *why = NULL;
    size_t bytes = 0;
    unsigned char *all = read_whole(path, &bytes, &why);
    if (!all) {
        return why;
    }
    const unsigned char *payload = all + HEADER_BYTES;
    char told[65], found[65];
    why = check_header(all, key, bytes - HEADER_BYTES, told);
    if (!why) {
        sum_of(payload, bytes - HEADER_BYTES, found);
        why = strcmp(told, found) == 0 ? read_payload(payload, bytes - HEADER_BYTES, table)
                                       : "is damaged";
    }
    free(all);
    return why;
}

bool cycle_cache_load(const char *folder, const char *key, struct shv_cycle_table *table,
                      char note[CYCLE_CACHE_NOTE])
{
    *table = (struct shv_cycle_table){.speed_count = 0};
    char *path = path_of(folder, key, "");
    if (!path) {
        return note_that(note, folder, "cannot be read: out of memory");
    }
    const char *why = load_path(path, key, table);
    if (why) {
        *table = (struct shv_cycle_table){.speed_count = 0};
        (void)note_that(note, path, why);
    }
    free(path);
    return !why;
}

/* A file that nobody else writes: the name has the process's number and is not taken. */
static FILE *open_part(const char *folder, const char *key, char **part)
{
    for (int i = 0; i < PARTS_MOST; i++) {
        char end[64];
        (void)snprintf(end, sizeof end, ".%ld.%d.part", (long)getpid(), i);
        *part = path_of(folder, key, end);
        if (!*part) {
            errno = ENOMEM;
            return NULL;
        }
        int descriptor = open(*part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        FILE *stream = descriptor >= 0 ? fdopen(descriptor, "wb") : NULL;
        if (stream) {
            return stream;
        }
        int error = errno;
        if (descriptor >= 0) {
            (void)close(descriptor);
            (void)unlink(*part);
        }
        free(*part);
        *part = NULL;
        errno = error;
        if (error != EEXIST) {
            break;
        }
    }
    return NULL;
}

/* ---- what killed runs left ---- */

static const char *past(const char *text, const char *accepted, size_t least, size_t most)
{
    size_t n = text ? strspn(text, accepted) : 0;
    return text && n >= least && n <= most ? text + n : NULL;
}

/* cycle-KEY.PROCESS.NUMBER.part, as open_part() names it. */
static bool is_part(const char *name)
{
    const char *digits = "0123456789";
    if (strncmp(name, "cycle-", 6) != 0) {
        return false;
    }
    const char *at = past(name + 6, "0123456789abcdef", 64, 64);
    at = past(at, ".", 1, 1);
    at = past(at, digits, 1, 20);
    at = past(at, ".", 1, 1);
    at = past(at, digits, 1, 2);
    return at && strcmp(at, ".part") == 0;
}

/* Parts that nobody has written to for so long that whoever began them is gone. Failing to remove
 * them is no harm. */
static void remove_stale_parts(const char *folder)
{
    DIR *d = opendir(folder[0] ? folder : ".");
    if (!d) {
        return;
    }
    time_t now = time(NULL);
    for (struct dirent *e = readdir(d); e; e = readdir(d)) {
        struct stat info;
        if (is_part(e->d_name) && fstatat(dirfd(d), e->d_name, &info, AT_SYMLINK_NOFOLLOW) == 0 &&
            S_ISREG(info.st_mode) && difftime(now, info.st_mtime) > STALE) {
            (void)unlinkat(dirfd(d), e->d_name, 0);
        }
    }
    (void)closedir(d);
}

/* Each step only after the one before; the stream is closed whatever happens. */
static bool write_all(FILE *stream, const unsigned char *all, size_t bytes)
{
    bool good =
        fwrite(all, 1, bytes, stream) == bytes && fflush(stream) == 0 && fsync(fileno(stream)) == 0;
    int error = errno;
    bool closed = fclose(stream) == 0;
    errno = good ? errno : error;
    return good && closed;
}

/* A rename lasts once its folder is on disk. If that fails the file is good all the same, and at
 * worst is built again. */
static void sync_folder(const char *folder)
{
    int descriptor = open(folder[0] ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor >= 0) {
        (void)fsync(descriptor);
        (void)close(descriptor);
    }
}

static unsigned char *file_of(const struct shv_cycle_table *t, const char *key, size_t *bytes)
{
    const uint64_t counts[FRONT_COUNTS] = {t->speed_count, t->axis[0].nodes, t->axis[1].nodes,
                                           t->axis[2].nodes};
    struct sizes z = sizes_of(counts);
    *bytes = HEADER_BYTES + z.bytes;
    unsigned char *all = malloc(*bytes);
    if (all) {
        write_payload(all + HEADER_BYTES, t, counts, &z);
        write_header(all, key, all + HEADER_BYTES, z.bytes);
    }
    return all;
}

static bool store_bytes(const char *folder, const char *key, const char *path,
                        const unsigned char *all, size_t bytes)
{
    char *part = NULL;
    FILE *stream = open_part(folder, key, &part);
    if (!stream) {
        return false;
    }
    bool stored = write_all(stream, all, bytes) && rename(part, path) == 0;
    int error = errno;
    if (stored) {
        remove_stale_parts(folder);
        sync_folder(folder);
    } else {
        (void)unlink(part);
    }
    free(part);
    errno = error;
    return stored;
}

bool cycle_cache_store(const char *folder, const char *key, const struct shv_cycle_table *table,
                       char note[CYCLE_CACHE_NOTE])
{
    size_t bytes = 0;
    char *path = path_of(folder, key, "");
    unsigned char *all = path ? file_of(table, key, &bytes) : NULL;
    errno = ENOMEM;
    bool stored = all && store_bytes(folder, key, path, all, bytes);
    if (!stored) {
        char what[128];
        (void)snprintf(what, sizeof what, "cannot be written: %.80s", strerror(errno));
        (void)note_that(note, path ? path : folder, what);
    }
    free(all);
    free(path);
    return stored;
}
