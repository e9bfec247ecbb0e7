/* Test vectors of FIPS 180-2 appendix B and NIST's example of a million "a". */
#include "study/common.h"

#include "base/sha256.h"

static void check(const char *text, size_t chunk, const char *expected)
{
    struct sha256 hash;
    char digest[65];
    sha256_init(&hash);
    for (size_t done = 0, all = strlen(text); done < all; done += chunk) {
        sha256_update(&hash, text + done, all - done < chunk ? all - done : chunk);
    }
    sha256_finish(&hash, digest);
    assert_string_equal(digest, expected);
}

static void test_empty(void **state)
{
    (void)state;
    check("", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void test_one_block(void **state)
{
    (void)state;
    check("abc", 64, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

/* 56 bytes: the length no longer fits the block. */
static void test_two_blocks(void **state)
{
    (void)state;
    static const char text[] = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    static const char digest[] = "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1";
    for (size_t chunk = 1; chunk <= sizeof text; chunk++) {
        check(text, chunk, digest);
    }
}

static void test_million(void **state)
{
    (void)state;
    char *text = malloc(1000001);
    assert_non_null(text);
    memset(text, 'a', 1000000);
    text[1000000] = '\0';
    check(text, 997, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_empty),
        cmocka_unit_test(test_one_block),
        cmocka_unit_test(test_two_blocks),
        cmocka_unit_test(test_million),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
