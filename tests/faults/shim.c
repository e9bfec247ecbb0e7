/* Fails one call of a program, the n-th of its kind, as a broken disk or a full memory would:
 *
 *   LD_PRELOAD=sheave_faults.so FAULT=write:17 sheave run study.cfg       the 17th write says EIO
 *   LD_PRELOAD=sheave_faults.so FAULT=kill:write:17 ...                the program is killed there
 * instead LD_PRELOAD=sheave_faults.so FAULT_COUNT=counts sheave run study.cfg   how many of each
 * there are, and which allocations are the first that their callers ask for there
 *
 * Streams are made anew over the same descriptors, so that their reads and writes are counted too;
 * standard ones stay as they are. Allocations are those of the program and of SQLite: other
 * libraries end the program without one. Children are not touched: what runs gnuplot gives it an
 * environment of its own. */
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <link.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

enum kind { OPEN, READ, WRITE, SYNC, RENAME, UNLINK, MALLOC, KINDS };
static const char *const names[KINDS] = {"open",   "read",   "write", "sync",
                                         "rename", "unlink", "malloc"};
static atomic_ulong calls[KINDS];
static unsigned long fail_at[KINDS];
static bool kills;

/* ---- whose allocations count ---- */

struct span {
    uintptr_t from, to;
};
static struct span spans[8];
static size_t span_count;

static int note_span(struct dl_phdr_info *info, size_t size, void *data)
{
    (void)size;
    size_t *index = data;
    const char *name = info->dlpi_name;
    bool wanted = *index == 0 || strstr(name, "libsqlite3");
    ++*index;
    for (int i = 0; wanted && i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *segment = &info->dlpi_phdr[i];
        if (segment->p_type == PT_LOAD && (segment->p_flags & PF_X) && span_count < 8) {
            uintptr_t from = info->dlpi_addr + segment->p_vaddr;
            spans[span_count++] = (struct span){from, from + segment->p_memsz};
        }
    }
    return 0;
}

static bool is_ours(const void *caller)
{
    for (size_t i = 0; i < span_count; i++) {
        if ((uintptr_t)caller >= spans[i].from && (uintptr_t)caller < spans[i].to) {
            return true;
        }
    }
    return false;
}

/* ---- places ---- */

#define FRAMES 8 /* this file's two, and six of the program's */
#define PLACES_MOST 8192
/* Allocations that are the first from their callers, while they are counted. */
static struct {
    uint64_t callers;
    unsigned long number;
} places[PLACES_MOST];
static size_t place_count;
static atomic_flag placing = ATOMIC_FLAG_INIT;
static bool counts;

static void note_place(unsigned long number)
{
    void *frame[FRAMES];
    int depth = backtrace(frame, FRAMES);
    uint64_t callers = 14695981039346656037u;
    for (int i = 2; i < depth; i++) {
        callers = (callers ^ (uintptr_t)frame[i]) * 1099511628211u;
    }
    while (atomic_flag_test_and_set(&placing)) {
    }
    size_t at = 0;
    while (at < place_count && places[at].callers != callers) {
        at++;
    }
    if (at == place_count && at < PLACES_MOST) {
        places[at].callers = callers;
        places[at].number = number;
        place_count++;
    }
    atomic_flag_clear(&placing);
}

/* ---- counting ---- */

static bool fails(enum kind kind)
{
    unsigned long number = atomic_fetch_add(&calls[kind], 1) + 1;
    if (counts && kind == MALLOC) {
        note_place(number);
    }
    if (number != fail_at[kind]) {
        return false;
    }
    if (kills) {
        (void)kill(getpid(), SIGKILL);
    }
    errno = kind == MALLOC ? ENOMEM : EIO;
    return true;
}

__attribute__((constructor)) static void begin(void)
{
    const char *fault = getenv("FAULT");
    size_t index = 0;
    void *frame[FRAMES];
    (void)backtrace(frame, FRAMES); /* which allocates the first time */
    counts = getenv("FAULT_COUNT") != NULL;
    dl_iterate_phdr(note_span, &index);
    kills = fault && strncmp(fault, "kill:", 5) == 0;
    fault += kills ? 5 : 0;
    for (int k = 0; fault && k < KINDS; k++) {
        size_t length = strlen(names[k]);
        if (strncmp(fault, names[k], length) == 0 && fault[length] == ':') {
            fail_at[k] = strtoul(fault + length + 1, NULL, 10);
        }
        atomic_store(&calls[k], 0);
    }
}

/* After a name and a number of calls: for allocations, those that are the first from their callers.
 */
__attribute__((destructor)) static void end(void)
{
    const char *path = getenv("FAULT_COUNT");
    counts = false;
    FILE *file = path ? fopen(path, "w") : NULL;
    for (int k = 0; file && k < KINDS; k++) {
        unsigned long count = atomic_load(&calls[k]) - (k == OPEN ? 1 : 0); /* without this file */
        (void)fprintf(file, "%s %lu", names[k], count);
        for (size_t i = 0; k == MALLOC && i < place_count; i++) {
            (void)fprintf(file, " %lu", places[i].number);
        }
        (void)fputs("\n", file);
    }
    if (file && fclose(file) != 0) {
        abort();
    }
}

/* The function that would have been called. */
#define NEXT(name)                                                                                 \
    static __typeof__(name) *next;                                                                 \
    if (!next) {                                                                                   \
        *(void **)&next = dlsym(RTLD_NEXT, #name);                                                 \
    }

/* ---- descriptors ---- */

static int open_with(int (*next)(const char *, int, ...), const char *path, int flags, mode_t mode)
{
    return fails(OPEN) ? -1 : next(path, flags, mode);
}

#define OPENS(name)                                                                                \
    int name(const char *path, int flags, ...)                                                     \
    {                                                                                              \
        NEXT(name)                                                                                 \
        va_list more;                                                                              \
        va_start(more, flags);                                                                     \
        mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;                                  \
        va_end(more);                                                                              \
        return open_with(next, path, flags, mode);                                                 \
    }
OPENS(open)
OPENS(open64)

int openat(int folder, const char *path, int flags, ...)
{
    NEXT(openat)
    va_list more;
    va_start(more, flags);
    mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    return fails(OPEN) ? -1 : next(folder, path, flags, mode);
}

ssize_t read(int descriptor, void *to, size_t size)
{
    NEXT(read)
    return fails(READ) ? -1 : next(descriptor, to, size);
}

ssize_t pread64(int descriptor, void *to, size_t size, off64_t at)
{
    NEXT(pread64)
    return fails(READ) ? -1 : next(descriptor, to, size, at);
}

ssize_t pread(int descriptor, void *to, size_t size, off_t at)
{
    NEXT(pread)
    return fails(READ) ? -1 : next(descriptor, to, size, at);
}

ssize_t write(int descriptor, const void *from, size_t size)
{
    NEXT(write)
    return fails(WRITE) ? -1 : next(descriptor, from, size);
}

ssize_t pwrite64(int descriptor, const void *from, size_t size, off64_t at)
{
    NEXT(pwrite64)
    return fails(WRITE) ? -1 : next(descriptor, from, size, at);
}

ssize_t pwrite(int descriptor, const void *from, size_t size, off_t at)
{
    NEXT(pwrite)
    return fails(WRITE) ? -1 : next(descriptor, from, size, at);
}

int fsync(int descriptor)
{
    NEXT(fsync)
    return fails(SYNC) ? -1 : next(descriptor);
}

int fdatasync(int descriptor)
{
    NEXT(fdatasync)
    return fails(SYNC) ? -1 : next(descriptor);
}

int rename(const char *from, const char *to)
{
    NEXT(rename)
    return fails(RENAME) ? -1 : next(from, to);
}

int renameat(int a, const char *from, int b, const char *to)
{
    NEXT(renameat)
    return fails(RENAME) ? -1 : next(a, from, b, to);
}

int unlink(const char *path)
{
    NEXT(unlink)
    return fails(UNLINK) ? -1 : next(path);
}

int unlinkat(int folder, const char *path, int flags)
{
    NEXT(unlinkat)
    return fails(UNLINK) ? -1 : next(folder, path, flags);
}

/* ---- streams ---- */

#define STREAMS_MOST 64
static struct {
    FILE *stream;
    int descriptor;
} streams[STREAMS_MOST];

static ssize_t cookie_read(void *cookie, char *to, size_t size)
{
    return read((int)(intptr_t)cookie, to, size);
}

static ssize_t cookie_write(void *cookie, const char *from, size_t size)
{
    ssize_t written = write((int)(intptr_t)cookie, from, size);
    return written < 0 ? 0 : written;
}

static int cookie_seek(void *cookie, off64_t *at, int whence)
{
    off64_t to = lseek64((int)(intptr_t)cookie, *at, whence);
    *at = to < 0 ? *at : to;
    return to < 0 ? -1 : 0;
}

static int cookie_close(void *cookie)
{
    for (size_t i = 0; i < STREAMS_MOST; i++) {
        if (streams[i].stream && streams[i].descriptor == (int)(intptr_t)cookie) {
            streams[i].stream = NULL;
        }
    }
    return close((int)(intptr_t)cookie);
}

FILE *fdopen(int descriptor, const char *mode)
{
    static const cookie_io_functions_t calls_of = {cookie_read, cookie_write, cookie_seek,
                                                   cookie_close};
    FILE *stream = is_ours(__builtin_return_address(0)) && fails(MALLOC)
                       ? NULL
                       : fopencookie((void *)(intptr_t)descriptor, mode, calls_of);
    for (size_t i = 0; stream && i < STREAMS_MOST; i++) {
        if (!streams[i].stream) {
            streams[i].stream = stream;
            streams[i].descriptor = descriptor;
            return stream;
        }
    }
    return stream;
}

int fileno(FILE *stream)
{
    NEXT(fileno)
    for (size_t i = 0; i < STREAMS_MOST; i++) {
        if (streams[i].stream == stream) {
            return streams[i].descriptor;
        }
    }
    return next(stream);
}

FILE *fopen(const char *path, const char *mode)
{
    int flags =
        mode[0] == 'r' ? O_RDONLY : O_WRONLY | O_CREAT | (mode[0] == 'a' ? O_APPEND : O_TRUNC);
    int descriptor = open(path, flags, 0666);
    char plain[2] = {mode[0], '\0'};
    FILE *stream = descriptor < 0 ? NULL : fdopen(descriptor, plain);
    if (descriptor >= 0 && !stream) {
        (void)close(descriptor);
    }
    return stream;
}

FILE *fopen64(const char *path, const char *mode)
{
    return fopen(path, mode);
}

/* ---- memory ---- */

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t count, size_t size);
extern void *__libc_realloc(void *old, size_t size);

void *malloc(size_t size)
{
    return is_ours(__builtin_return_address(0)) && fails(MALLOC) ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    return is_ours(__builtin_return_address(0)) && fails(MALLOC) ? NULL
                                                                 : __libc_calloc(count, size);
}

void *realloc(void *old, size_t size)
{
    return is_ours(__builtin_return_address(0)) && fails(MALLOC) ? NULL : __libc_realloc(old, size);
}
