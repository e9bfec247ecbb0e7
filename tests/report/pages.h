/* What both tests of texts for people share. */
#ifndef SHEAVE_TESTS_REPORT_PAGES_H
#define SHEAVE_TESTS_REPORT_PAGES_H

#include "fixture.h"
#include "report/text.h"

/* Plain ASCII, no line wider than the page, none with blanks at its end. */
static inline void assert_page(const char *text)
{
    assert_true(*text != '\0');
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        assert_true(length <= REPORT_WIDTH);
        assert_true(length == 0 || text[length - 1] != ' ');
        for (size_t i = 0; i < length; i++) {
            assert_true(text[i] >= ' ' && text[i] <= '~');
        }
        assert_true(text[length] == '\n');
        text += length + 1;
    }
}

/* Names no table was made for. */
static inline void use_long_names(struct fixture *f)
{
    static char one[301], words[301];
    memset(one, 'W', 300);
    for (size_t i = 0; i < 300; i++) {
        words[i] = i % 3 == 2 ? ' ' : '\xC3';
    }
    f->blowers[0].name = f->blowers[1].name = one;
    f->sites[0].name = words;
    f->sites[1].name = one;
    f->coolers[1].name = words;
    f->fuels[0].name = "fuel\nwith a line break, \xE2\x80\x9Cquotes\xE2\x80\x9D and a long name";
    f->fuels[1].name = one;
}

#endif
