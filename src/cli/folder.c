/* Folders that are made when they are missing, and files in them. */
#include <errno.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/cli.h"

bool cli_split_path(const char *path, struct cli_place *place)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    size_t folder = slash == path ? 1 : slash ? (size_t)(slash - path) : 0;
    if (*name == '\0' || strlen(name) > NAME_MAX || folder >= sizeof place->folder) {
        return false;
    }
    memcpy(place->folder, path, folder);
    place->folder[folder] = '\0';
    memcpy(place->name, name, strlen(name) + 1);
    return true;
}

enum shv_status cli_make_folders(const char *folder, unsigned mode, struct shv_message *message)
{
    char path[PATH_MAX];
    size_t length = strlen(folder);
    if (length >= sizeof path) {
        return shv_fail(message, SHV_IO, "the name of the folder is too long");
    }
    memcpy(path, folder, length + 1);
    for (char *at = path + 1;; at++) {
        if (*at != '/' && *at != '\0') {
            continue;
        }
        char kept = *at;
        *at = '\0';
        if (mkdir(path, (mode_t)mode) != 0 && errno != EEXIST) {
            return shv_fail(message, SHV_IO, "cannot make the folder %s: %s", path,
                            strerror(errno));
        }
        *at = kept;
        if (kept == '\0') {
            break;
        }
    }
    struct stat info;
    if (stat(folder, &info) != 0 || !S_ISDIR(info.st_mode)) {
        return shv_fail(message, SHV_IO, "%s is not a folder", folder);
    }
    if (access(folder, W_OK | X_OK) != 0) {
        return shv_fail(message, SHV_IO, "cannot write into the folder %s: %s", folder,
                        strerror(errno));
    }
    return SHV_OK;
}
