/* Script and data of one plot of a results folder, for the tests of the plots. */
#ifndef SHEAVE_TESTS_REPORT_DRAWN_H
#define SHEAVE_TESTS_REPORT_DRAWN_H

#include "report/folder.h"
#include "report/plot/plot.h"

#define DRAWN_ROOM (1 << 19)

struct drawn {
    bool any;
    size_t blocks;
    char *script, *data;
};

static inline struct drawn draw_plot(const char *folder, bool (*draw)(struct plot *plot))
{
    struct report_results results;
    struct shv_message message = {{0}};
    struct drawn d = {.script = calloc(1, DRAWN_ROOM), .data = calloc(1, DRAWN_ROOM)};
    assert_int_equal(report_results_read(folder, &results, &message), SHV_OK);
    struct plot p = {.results = &results,
                     .name = "t",
                     .height = 500.0,
                     .script = fmemopen(d.script, DRAWN_ROOM, "w"),
                     .data = fmemopen(d.data, DRAWN_ROOM, "w")};
    assert_non_null(p.script);
    assert_non_null(p.data);
    d.any = draw(&p);
    d.blocks = p.blocks;
    assert_int_equal(fclose(p.script), 0);
    assert_int_equal(fclose(p.data), 0);
    report_results_free(&results);
    return d;
}

static inline void drawn_free(struct drawn *d)
{
    free(d->script);
    free(d->data);
}

/* Every block that the script asks for is there. */
static inline void assert_blocks_are_there(const struct drawn *d)
{
    for (const char *at = strstr(d->script, "index "); at; at = strstr(at + 1, "index ")) {
        if (at[6] >= '0' && at[6] <= '9') {
            assert_true((size_t)strtoul(at + 6, NULL, 10) < d->blocks);
        }
    }
}

#endif
