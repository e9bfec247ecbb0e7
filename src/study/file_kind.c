/* What a file of the program's language is (include/sheave/file_kind.h). */
#include "sheave/file_kind.h"

#include <string.h>

#include "study/reader.h"
#include "study/source.h"

enum shv_status shv_file_kind(const char *path, enum shv_file_kind *kind)
{
    struct shv_diagnostics unused = {0};
    struct reader reader = {.path = path, .diagnostics = &unused};
    struct shv_units *units;
    enum shv_status status = reader_begin(&reader, &units);
    bool fitted = false, range = false, other = false;
    if (status == SHV_OK) {
        (void)source_scan(&reader); /* as far as it reads */
    }
    for (size_t i = 0; i < reader.key_count; i++) {
        bool top = reader.keys[i].group == 0;
        bool of_fit = key_find(&fitted_keys, reader.keys[i].name) < fitted_keys.count;
        range = range || (top && strcmp(reader.keys[i].name, "vehicles") == 0);
        fitted = fitted || (top && of_fit);
        other = other || (top && !of_fit);
    }
    *kind = range ? SHV_FILE_RANGE : fitted && !other ? SHV_FILE_FITTED : SHV_FILE_STUDY;
    reader_end(&reader, units, status);
    shv_diagnostics_free(&unused);
    return status;
}
