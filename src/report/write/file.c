/* Output files that are never half there (src/report/write/file.h). */
#include "report/write/file.h"

#include "base/path.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void forget(struct report_file *file)
{
    free(file->folder);
    free(file->path);
    free(file->part);
    *file = (struct report_file){0};
}

static bool name_paths(struct report_file *file, const char *folder, const char *name)
{
    file->folder = strdup(folder[0] == '\0' ? "." : folder);
    file->path = path_in(folder, name);
    size_t size = file->path ? strlen(file->path) + sizeof ".part" : 0;
    file->part = file->path ? malloc(size) : NULL;
    if (file->part) {
        (void)snprintf(file->part, size, "%s.part", file->path);
    }
    return file->folder && file->path && file->part;
}

const char *report_file_reason(int error)
{
    return error == ELOOP ? "a symbolic link stands there" : strerror(error);
}

static enum shv_status cannot_write(const struct report_file *file, int error,
                                    struct shv_message *message)
{
    return shv_fail(message, SHV_IO, "cannot write %s: %s", file->path, report_file_reason(error));
}

enum shv_status report_make_folder(const char *path, struct shv_message *message)
{
    struct stat info;
    if (mkdir(path, 0777) != 0 && errno != EEXIST) {
        return shv_fail(message, SHV_IO, "cannot make the folder %s: %s", path, strerror(errno));
    }
    if (lstat(path, &info) != 0 || S_ISLNK(info.st_mode)) {
        return shv_fail(message, SHV_IO, "cannot write into %s: %s", path,
                        report_file_reason(ELOOP));
    }
    return SHV_OK;
}

enum shv_status report_file_open(struct report_file *file, const char *folder, const char *name,
                                 struct shv_message *message)
{
    *file = (struct report_file){0};
    if (!name_paths(file, folder, name)) {
        forget(file);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of %s", name);
    }
    /* Not inherited by child processes, such as the one that draws plots. Whoever may write into
     * the folder must not say where else is written. */
    int descriptor = open(file->part, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor >= 0) {
        file->stream = fdopen(descriptor, "w");
    }
    if (!file->stream) {
        int error = errno;
        if (descriptor >= 0) {
            (void)close(descriptor);
            (void)unlink(file->part);
        }
        enum shv_status status = cannot_write(file, error, message);
        forget(file);
        return status;
    }
    return SHV_OK;
}

/* A rename lasts only once its folder is on disk. Some network file systems can't sync a folder and
 * say EINVAL; they have nothing better to offer. */
static bool sync_folder(const char *folder)
{
    int descriptor = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) {
        return false;
    }
    bool synced = fsync(descriptor) == 0 || errno == EINVAL;
    int error = errno;
    bool closed = close(descriptor) == 0;
    errno = synced ? errno : error;
    return synced && closed;
}

/* Each step only after the one before; the stream is closed whatever happens. */
static bool make_durable(struct report_file *file)
{
    bool good =
        !ferror(file->stream) && fflush(file->stream) == 0 && fsync(fileno(file->stream)) == 0;
    int error = errno;
    bool closed = fclose(file->stream) == 0;
    file->stream = NULL;
    if (!good) {
        errno = error;
        return false;
    }
    return closed && rename(file->part, file->path) == 0;
}

/* Of the same length, byte by byte. */
static bool same_bytes(FILE *a, FILE *b)
{
    int x, y;
    do {
        x = getc(a);
        y = getc(b);
    } while (x == y && x != EOF);
    return x == y && !ferror(a) && !ferror(b);
}

bool report_file_is_same(struct report_file *file)
{
    FILE *there = fopen(file->path, "rbe"), *new = fopen(file->part, "rbe");
    bool same = there && new &&fflush(file->stream) == 0 && same_bytes(there, new);
    if (there) {
        (void)fclose(there); /* only read */
    }
    if (new) {
        (void)fclose(new);
    }
    return same;
}

enum shv_status report_file_remove(const char *folder, const char *name,
                                   struct shv_message *message)
{
    struct report_file file = {.stream = NULL};
    enum shv_status status = SHV_OK;
    if (!name_paths(&file, folder, name)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of %s", name);
    } else if (unlink(file.path) != 0 && errno != ENOENT) {
        status = shv_fail(message, SHV_IO, "cannot remove %s, which an earlier run left: %s",
                          file.path, strerror(errno));
    }
    forget(&file);
    return status;
}

void report_file_discard(struct report_file *file)
{
    if (file->stream) {
        (void)fclose(file->stream);
    }
    if (file->part) {
        (void)unlink(file->part);
    }
    forget(file);
}

enum shv_status report_file_finish(struct report_file *file, bool written,
                                   struct shv_message *message)
{
    if (written && make_durable(file)) {
        bool synced = sync_folder(file->folder);
        enum shv_status status = synced ? SHV_OK : cannot_write(file, errno, message);
        forget(file);
        return status;
    }
    enum shv_status status = cannot_write(file, errno, message);
    report_file_discard(file);
    return status;
}
