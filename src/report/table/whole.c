/* Whole files as text (src/report/table/whole.h). */
#include "report/table/whole.h"

#include "base/path.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BYTES_MAX (1L << 30)

static enum shv_status read_stream(FILE *in, size_t size, char **text, const char *path,
                                   struct shv_message *message)
{
    *text = malloc(size + 1);
    if (!*text) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", path);
    }
    size_t length = fread(*text, 1, size, in);
    (*text)[length] = '\0';
    if (ferror(in)) {
        return shv_fail(message, SHV_IO, "cannot read %s: %s", path, strerror(errno));
    }
    return strlen(*text) == length
               ? SHV_OK
               : shv_fail(message, SHV_BAD_INPUT, "%s holds a zero byte; it is no text", path);
}

enum shv_status report_whole_read(const char *folder, const char *name, char **text, char **path,
                                  struct shv_message *message)
{
    struct stat about;
    *text = NULL;
    *path = path_in(folder, name);
    if (!*path) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of %s", name);
    }
    if (stat(*path, &about) != 0) {
        return errno == ENOENT
                   ? SHV_NOTHING
                   : shv_fail(message, SHV_IO, "cannot read %s: %s", *path, strerror(errno));
    }
    if (!S_ISREG(about.st_mode)) {
        return shv_fail(message, SHV_IO, "cannot read %s: not a regular file", *path);
    }
    if (about.st_size > BYTES_MAX) {
        return shv_fail(message, SHV_BAD_INPUT, "%s is larger than 1 GiB", *path);
    }
    FILE *in = fopen(*path, "rb");
    if (!in) {
        return shv_fail(message, SHV_IO, "cannot read %s: %s", *path, strerror(errno));
    }
    enum shv_status status = read_stream(in, (size_t)about.st_size, text, *path, message);
    (void)fclose(in); /* only read */
    return status;
}
