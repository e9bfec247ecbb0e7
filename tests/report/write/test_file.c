/* Files that appear whole or not at all. */
#include <errno.h>
#include <sys/stat.h>

#include "report/fixture.h"
#include "report/write/file.h"

struct place {
    char folder[64], path[96], part[96];
};

static int setup(void **state)
{
    struct place *p = calloc(1, sizeof *p);
    assert_non_null(p);
    strcpy(p->folder, "/tmp/sheave-file-XXXXXX");
    assert_non_null(mkdtemp(p->folder));
    (void)snprintf(p->path, sizeof p->path, "%s/a.csv", p->folder);
    (void)snprintf(p->part, sizeof p->part, "%s/a.csv.part", p->folder);
    *state = p;
    return 0;
}

static int teardown(void **state)
{
    struct place *p = *state;
    (void)unlink(p->path);
    int removed = rmdir(p->folder); /* fails when a temporary was left behind */
    free(p);
    return removed;
}

static bool exists(const char *path)
{
    struct stat s;
    return lstat(path, &s) == 0;
}

static void assert_told(const struct shv_message *m, const char *path, int error)
{
    char expected[512];
    (void)snprintf(expected, sizeof expected, "cannot write %s: %s", path, strerror(error));
    assert_string_equal(m->text, expected);
}

static void whole_file_takes_the_name_at_the_end(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_OK);
    assert_true(exists(p->part));
    assert_false(exists(p->path));
    assert_true(fputs("new", file.stream) != EOF);
    assert_int_equal(report_file_finish(&file, true, &m), SHV_OK);
    assert_false(exists(p->part));
    char *text = read_whole(p->folder, "a.csv");
    assert_string_equal(text, "new");
    free(text);
    assert_null(file.stream);
    assert_null(file.path);
}

static void what_is_there_stays_until_the_new_is_whole(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    for (int pass = 0; pass < 2; pass++) {
        assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_OK);
        assert_true(fputs(pass == 0 ? "old" : "half", file.stream) != EOF);
        errno = ENOSPC;
        assert_int_equal(report_file_finish(&file, pass == 0, &m), pass == 0 ? SHV_OK : SHV_IO);
    }
    assert_told(&m, p->path, ENOSPC);
    char *text = read_whole(p->folder, "a.csv");
    assert_string_equal(text, "old");
    free(text);
    assert_false(exists(p->part));
}

static void missing_folder_is_told(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    char folder[96], path[128];
    (void)snprintf(folder, sizeof folder, "%s/none", p->folder);
    (void)snprintf(path, sizeof path, "%s/a.csv", folder);
    assert_int_equal(report_file_open(&file, folder, "a.csv", &m), SHV_IO);
    assert_told(&m, path, ENOENT);
    assert_null(file.stream);
    assert_false(exists(folder));
}

/* Whoever may write into the folder does not say where else is written: the temporary leads
 * nowhere, and a link under the name gives way to the file. */
static void links_are_not_followed(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    char other[96], expected[256];
    (void)snprintf(other, sizeof other, "%s/other", p->folder);
    assert_int_equal(symlink(other, p->part), 0);
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_IO);
    (void)snprintf(expected, sizeof expected, "cannot write %s: a symbolic link stands there",
                   p->path);
    assert_string_equal(m.text, expected);
    assert_false(exists(other));
    assert_int_equal(unlink(p->part), 0);
    assert_int_equal(symlink(other, p->path), 0);
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_OK);
    assert_true(fputs("new", file.stream) != EOF);
    assert_int_equal(report_file_finish(&file, true, &m), SHV_OK);
    assert_false(exists(other));
    char *text = read_whole(p->folder, "a.csv");
    assert_string_equal(text, "new");
    free(text);
}

/* A regular file that may not grow: the write itself fails half way. */
static void file_size_limit_leaves_nothing(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    struct rlimit before = limit_files(16384);
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_OK);
    bool written = true;
    for (int i = 0; written && i < 10000; i++) {
        written = fputs("0123456789", file.stream) != EOF;
    }
    enum shv_status status = report_file_finish(&file, written, &m);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_false(written);
    assert_int_equal(status, SHV_IO);
    assert_told(&m, p->path, EFBIG);
    assert_false(exists(p->part));
    assert_false(exists(p->path));
}

static void rename_that_fails_leaves_nothing(void **state)
{
    struct place *p = *state;
    struct report_file file;
    struct shv_message m = {""};
    assert_int_equal(mkdir(p->path, 0777), 0);
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", &m), SHV_OK);
    assert_true(fputs("text", file.stream) != EOF);
    assert_int_equal(report_file_finish(&file, true, &m), SHV_IO);
    assert_told(&m, p->path, EISDIR);
    assert_false(exists(p->part));
    assert_int_equal(rmdir(p->path), 0);
}

static void discarded_file_is_gone(void **state)
{
    struct place *p = *state;
    struct report_file file;
    assert_int_equal(report_file_open(&file, p->folder, "a.csv", NULL), SHV_OK);
    report_file_discard(&file);
    assert_false(exists(p->part));
    assert_null(file.stream);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(whole_file_takes_the_name_at_the_end, setup, teardown),
        cmocka_unit_test_setup_teardown(what_is_there_stays_until_the_new_is_whole, setup,
                                        teardown),
        cmocka_unit_test_setup_teardown(missing_folder_is_told, setup, teardown),
        cmocka_unit_test_setup_teardown(links_are_not_followed, setup, teardown),
        cmocka_unit_test_setup_teardown(file_size_limit_leaves_nothing, setup, teardown),
        cmocka_unit_test_setup_teardown(rename_that_fails_leaves_nothing, setup, teardown),
        cmocka_unit_test_setup_teardown(discarded_file_is_gone, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
