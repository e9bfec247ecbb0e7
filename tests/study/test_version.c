/* The version is that of the build. */
#include "study/common.h"

#include "sheave/version.h"

static void three_numbers(void **state)
{
    (void)state;
    int major, minor, patch, end = 0;
    assert_int_equal(sscanf(shv_version(), "%d.%d.%d%n", &major, &minor, &patch, &end), 3);
    assert_int_equal(end, (int)strlen(shv_version()));
    FILE *cmake = fopen(SHEAVE_SOURCE_DIR "/CMakeLists.txt", "r");
    char line[200], wanted[64];
    bool found = false;
    assert_non_null(cmake);
    (void)snprintf(wanted, sizeof wanted, "project(sheave VERSION %s ", shv_version());
    while (!found && fgets(line, sizeof line, cmake)) {
        found = strncmp(line, wanted, strlen(wanted)) == 0;
    }
    assert_int_equal(fclose(cmake), 0);
    assert_true(found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(three_numbers)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
