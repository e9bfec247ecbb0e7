/* Names of files in folders. */
#ifndef SHEAVE_BASE_PATH_H
#define SHEAVE_BASE_PATH_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* "folder/name", "./name" for a folder "", owned by the caller; NULL when out of memory. */
static inline char *path_in(const char *folder, const char *name)
{
    const char *stem = folder[0] == '\0' ? "." : folder;
    const char *slash = stem[strlen(stem) - 1] == '/' ? "" : "/";
    size_t size = strlen(stem) + strlen(name) + sizeof "/";
    char *path = malloc(size);
    if (path) {
        (void)snprintf(path, size, "%s%s%s", stem, slash, name);
    }
    return path;
}

#endif
