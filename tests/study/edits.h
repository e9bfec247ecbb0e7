/* A study by edits: a base that is accepted, one piece of it replaced, and what is then said. */
#ifndef SHEAVE_TESTS_STUDY_EDITS_H
#define SHEAVE_TESTS_STUDY_EDITS_H

#include "study/common.h"

struct edit {
    const char *was, *is;
    const char *says; /* the one finding, without file and line; NULL: none at all */
};

/* The base with the first place of `was` replaced; the caller frees it. */
static inline char *edited(const char *base, const char *was, const char *is)
{
    const char *at = strstr(base, was);
    if (at == NULL) {
        fail_msg("\"%s\" is not in the base", was);
        return NULL;
    }
    char *text = malloc(strlen(base) + strlen(is) + 1);
    assert_non_null(text);
    (void)sprintf(text, "%.*s%s%s", (int)(at - base), base, is, at + strlen(was));
    return text;
}

static inline void try_edit(struct trial *trial, const char *base, const char *was, const char *is)
{
    char *text = edited(base, was, is);
    try_text(trial, text);
    free(text);
}

static inline void assert_edits(const char *base, const struct edit *edits, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct edit *e = &edits[i];
        struct trial t;
        try_edit(&t, base, e->was, e->is);
        const char *found = t.findings.count > 0 ? finding(&t, 0) : NULL;
        if (t.findings.count > 1) {
            fail_msg("%s: more is found: %s", e->is, finding(&t, 1));
        }
        if ((found == NULL) != (e->says == NULL) || (found && strcmp(found, e->says) != 0)) {
            fail_msg("%s: says \"%s\", not \"%s\"", e->is, found ? found : "nothing",
                     e->says ? e->says : "nothing");
        }
        assert_int_equal(t.status == SHV_OK, t.findings.errors == 0);
        end_trial(&t);
    }
}

#define assert_all_edits(base, edits) assert_edits(base, edits, sizeof(edits) / sizeof *(edits))

#endif
