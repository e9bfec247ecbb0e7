/* Paths in two, and folders that are made: what is made, and why not. */
#include "cli_tests.h"

#include <errno.h>
#include <limits.h>
#include <sys/stat.h>

#include "cli/cli.h"

static void paths_in_two(void **state)
{
    (void)state;
    static const char *const cases[][3] = {{"a/b/c.csv", "a/b", "c.csv"},
                                           {"c.csv", "", "c.csv"},
                                           {"/c.csv", "/", "c.csv"},
                                           {"./c", ".", "c"},
                                           {"a//c", "a/", "c"}};
    struct cli_place place;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_true(cli_split_path(cases[i][0], &place));
        assert_string_equal(place.folder, cases[i][1]);
        assert_string_equal(place.name, cases[i][2]);
    }
    assert_false(cli_split_path("a/b/", &place));
    assert_false(cli_split_path("", &place));
    char name[NAME_MAX + 2];
    memset(name, 'n', sizeof name);
    name[NAME_MAX] = '\0';
    assert_true(cli_split_path(name, &place));
    name[NAME_MAX] = 'n';
    name[NAME_MAX + 1] = '\0';
    assert_false(cli_split_path(name, &place));
    char path[2 * PATH_MAX];
    memset(path, 'p', sizeof path);
    strcpy(path + sizeof path - 3, "/n");
    assert_false(cli_split_path(path, &place));
}

static void folders_are_made(void **state)
{
    (void)state;
    struct stat info;
    struct shv_message message = {""};
    mode_t mask = umask(0);
    assert_int_equal(cli_make_folders("one/two/three", 0750, &message), SHV_OK);
    (void)umask(mask);
    assert_true(stat("one/two/three", &info) == 0 && S_ISDIR(info.st_mode));
    assert_int_equal(info.st_mode & 0777, 0750);
    assert_true(stat("one", &info) == 0 && (info.st_mode & 0777) == 0750);
    assert_int_equal(cli_make_folders("one/two/three", 0700, &message), SHV_OK); /* is there */
    assert_true(stat("one/two/three", &info) == 0 && (info.st_mode & 0777) == 0750);
    assert_int_equal(cli_make_folders("one/two/", 0700, &message), SHV_OK);
}

static void folders_that_cannot_be(void **state)
{
    (void)state;
    struct shv_message message = {""};
    FILE *file = fopen("plain", "w");
    assert_true(file != NULL && fclose(file) == 0);
    assert_int_equal(cli_make_folders("plain", 0777, &message), SHV_IO);
    assert_string_equal(message.text, "plain is not a folder");
    assert_int_equal(cli_make_folders("plain/deep", 0777, &message), SHV_IO);
    assert_string_equal(message.text, "cannot make the folder plain/deep: Not a directory");
    char path[PATH_MAX + 1];
    memset(path, 'p', sizeof path);
    path[PATH_MAX] = '\0';
    assert_int_equal(cli_make_folders(path, 0777, &message), SHV_IO);
    assert_string_equal(message.text, "the name of the folder is too long");
    if (geteuid() != 0) {
        assert_int_equal(mkdir("shut", 0500), 0);
        assert_int_equal(cli_make_folders("shut", 0777, &message), SHV_IO);
        assert_string_equal(message.text, "cannot write into the folder shut: Permission denied");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(paths_in_two),
        cmocka_unit_test(folders_are_made),
        cmocka_unit_test(folders_that_cannot_be),
    };
    return cmocka_run_group_tests(tests, cli_begin, cli_end);
}
