/* Names of units in the trade: what they mean, and that reading ends where the text does. */
#define _DEFAULT_SOURCE /* MAP_ANONYMOUS */
#include "study/common.h"

#include <sys/mman.h>
#include <unistd.h>

#include "study/unit_names.h"

static void assert_means(enum shv_quantity quantity, const char *written, const char *meant)
{
    char unit[64];
    assert_true(unit_names_read(quantity, written, unit, sizeof unit));
    assert_string_equal(unit, meant);
}

static void meanings(void **state)
{
    (void)state;
    assert_means(SHV_Q_TORQUE, "lb-ft", "lbf.ft");
    assert_means(SHV_Q_TORQUE, "FT LBS", "lbf.ft");
    assert_means(SHV_Q_TORQUE, "N.m", "N.m");
    assert_means(SHV_Q_TEMPERATURE, "F", "degF");
    assert_means(SHV_Q_LENGTH, "F", "F"); /* only where a temperature is meant */
    assert_means(SHV_Q_VOLUME, "cu in", "in3");
    assert_means(SHV_Q_VOLUME, "CID", "in3");
    assert_means(SHV_Q_MASS_FLOW, "lbs/hrs", "lb/h");
    assert_means(SHV_Q_MASS_FLOW, "pph", "lb/h");
    assert_means(SHV_Q_VOLUME_FLOW, "pph", "pph");
    assert_means(SHV_Q_PRESSURE_ABSOLUTE, "PSI", "psi");
    assert_means(SHV_Q_PRESSURE_ABSOLUTE, "psia", "psia"); /* a longer word is another */
    assert_means(SHV_Q_ROTATION, "RPM", "rpm");
}

static void room(void **state)
{
    (void)state;
    char unit[8];
    assert_true(unit_names_read(SHV_Q_TORQUE, "lb-ft", unit, 7)); /* "lbf.ft" and its end */
    assert_false(unit_names_read(SHV_Q_TORQUE, "lb-ft", unit, 6));
    assert_false(unit_names_read(SHV_Q_LENGTH, "abcdefgh", unit, sizeof unit));
}

/* Every name and every beginning of one, followed by nothing and then by a page that can't be read.
 */
static void nothing_beyond_the_end(void **state)
{
    (void)state;
    const size_t page = (size_t)sysconf(_SC_PAGESIZE);
    char *two = mmap(NULL, 2 * page, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    assert_true(two != MAP_FAILED);
    assert_int_equal(mprotect(two + page, page, PROT_NONE), 0);
    size_t tried = 0;
    for (int of = 0; of <= SHV_Q_COUNT; of++) {
        const char *name;
        for (size_t i = 0; (name = unit_names_at((enum shv_quantity)of, i)) != NULL; i++) {
            for (size_t length = 1; length <= strlen(name); length++) {
                char *text = two + page - length - 1, unit[64];
                memcpy(text, name, length);
                text[length] = '\0';
                for (int quantity = 0; quantity < SHV_Q_COUNT; quantity++, tried++) {
                    assert_true(unit_names_read((enum shv_quantity)quantity, text, unit, 64));
                }
            }
        }
    }
    assert_true(tried > 5000);
    assert_int_equal(munmap(two, 2 * page), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(meanings),
        cmocka_unit_test(room),
        cmocka_unit_test(nothing_beyond_the_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
