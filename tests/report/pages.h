/* What both tests of texts for people share. */
#ifndef SHEAVE_TESTS_REPORT_PAGES_H
#define SHEAVE_TESTS_REPORT_PAGES_H

#include "report/fixture.h"
#include "report/write/text.h"

/* Whole characters of UTF-8 without control characters, no line wider than the page, none with
 * blanks at its end. */
static inline void assert_page(const char *text)
{
    assert_true(*text != '\0');
    while (*text != '\0') {
        size_t length = strcspn(text, "\n"), characters = 0;
        assert_true(length == 0 || text[length - 1] != ' ');
        for (size_t i = 0, more = 0; i < length; i++) {
            unsigned char byte = (unsigned char)text[i];
            if (byte >= 0x80 && byte < 0xC0) {
                assert_true(more-- > 0);
                continue;
            }
            assert_true(more == 0 && byte >= ' ' && byte != 0x7F);
            more = byte < 0x80 ? 0 : byte < 0xE0 ? 1 : byte < 0xF0 ? 2 : 3;
            characters++;
            assert_true(more == 0 || i + more < length);
        }
        assert_true(characters <= REPORT_WIDTH);
        assert_true(text[length] == '\n');
        text += length + 1;
    }
}

/* Its lines joined by blanks, in its place. */
static inline char *join_lines(char *text)
{
    for (char *c = text; (c = strchr(c, '\n')); *c = ' ') {
    }
    return text;
}

static inline void assert_told(const char *text, const char *what, bool is_there)
{
    if ((strstr(text, what) != NULL) != is_there) {
        fail_msg("\"%s\" is %sin\n%s", what, is_there ? "not " : "", text);
    }
}

/* Names no table was made for. */
static inline void use_long_names(struct fixture *f)
{
    static char one[301], words[301], umlauts[301];
    memset(one, 'W', 300);
    for (size_t i = 0; i < 300; i++) {
        umlauts[i] = i % 2 == 0 ? '\xC3' : '\xBC';
    }
    for (size_t i = 0; i < 300; i++) {
        words[i] = i % 3 == 2 ? ' ' : '\xC3';
    }
    f->blowers[0].name = f->blowers[1].name = one;
    f->sites[0].name = words;
    f->sites[1].name = one;
    f->coolers[1].name = words;
    f->fuels[0].name = "fuel\nwith a line break, \xE2\x80\x9Cquotes\xE2\x80\x9D and a long name";
    f->fuels[1].name = umlauts;
    f->injectors[0].name = words;
    f->pumps[0].name = one;
    f->study.currency = umlauts;
}

#endif
