/* Folders of results for the tests of what reads them: written by the writers from the fixture's
 * run, or by hand; removed with all that is in them. */
#ifndef SHEAVE_TESTS_REPORT_FOLDER_H
#define SHEAVE_TESTS_REPORT_FOLDER_H

#include <dirent.h>
#include <sys/stat.h>

#include "report/fixture.h"

/* FOLDER/NAME, in room that lasts until the next call but one. */
static inline const char *folder_path(const char *folder, const char *name)
{
    static char room[2][1024];
    static int turn;
    turn = 1 - turn;
    int length = snprintf(room[turn], sizeof room[turn], "%s/%s", folder, name);
    assert_true(length > 0 && (size_t)length < sizeof room[turn]);
    return room[turn];
}

static inline void folder_write(const char *folder, const char *name, const char *text)
{
    FILE *out = fopen(folder_path(folder, name), "wb");
    assert_non_null(out);
    assert_true(fputs(text, out) != EOF);
    assert_int_equal(fclose(out), 0);
}

static inline bool folder_has(const char *folder, const char *name)
{
    struct stat about;
    return stat(folder_path(folder, name), &about) == 0;
}

/* Everything in a folder, one level deep and below it. */
static inline void folder_empty(const char *folder)
{
    DIR *dir = opendir(folder);
    if (!dir) {
        return;
    }
    for (struct dirent *entry; (entry = readdir(dir));) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) {
            continue;
        }
        if (unlink(folder_path(folder, entry->d_name)) != 0) {
            char *below = strdup(folder_path(folder, entry->d_name));
            assert_non_null(below);
            folder_empty(below);
            assert_int_equal(rmdir(below), 0);
            free(below);
        }
    }
    assert_int_equal(closedir(dir), 0);
}

/* The files of a run; the two of a grid only where they are asked for. */
static inline void folder_fill(struct fixture *f)
{
    static const char *const files[] = {"ranked.csv",      "curves.csv", "rejected.csv",
                                        "optimum.csv",     "limits.csv", "parts.csv",
                                        "stock_engine.csv"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        assert_int_equal(shv_report_file(&f->run, files[i], f->folder, &f->message), SHV_OK);
    }
    assert_int_equal(shv_report_inputs(&f->run, f->folder, &f->message), SHV_OK);
    assert_int_equal(shv_report_manifest(&f->run, f->folder, &f->message), SHV_OK);
}

static inline int folder_with_grids_setup(void **state)
{
    int made = fixture_belt_setup(state);
    struct fixture *f = *state;
    folder_fill(f);
    struct shv_choice_cell *cells;
    assert_int_equal(shv_choice_map(f->model, &f->space, f->ranking.item[0].index, &cells,
                                    &f->run.choice_count, &f->message),
                     SHV_OK);
    f->run.choices = cells;
    assert_int_equal(shv_report_file(&f->run, "map.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(shv_report_file(&f->run, "islands.csv", f->folder, &f->message), SHV_OK);
    f->run.choices = NULL;
    f->run.choice_count = 0;
    free(cells);
    return made;
}

static inline int folder_setup(void **state)
{
    int made = fixture_belt_setup(state);
    folder_fill(*state);
    return made;
}

static inline int folder_teardown(void **state)
{
    struct fixture *f = *state;
    folder_empty(f->folder);
    return fixture_teardown(state);
}

/* How often a text stands in another. */
static inline size_t times_in(const char *text, const char *wanted)
{
    size_t count = 0;
    for (const char *at = strstr(text, wanted); at; at = strstr(at + 1, wanted)) {
        count++;
    }
    return count;
}

#endif
