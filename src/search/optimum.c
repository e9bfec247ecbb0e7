/* The continuous optimum of each blower and fuel: sheave/optimum.h. */
#include "sheave/optimum.h"

#include <math.h>
#include <stdlib.h>

#include "search/ideal.h"
#include "sweep/watcher.h"

struct row_hunt {
    struct ideal_case with;
    const struct shv_optimum_options *options;
    struct watcher watcher; /* of rows */
    struct shv_optimum *row;
    enum shv_status status;
    struct shv_message *message;
};

/* Keeps the first failure that comes along. */
static void fail(struct row_hunt *h, enum shv_status status, const char *text)
{
    if (h->status == SHV_OK) {
        h->status = status;
        shv_fail(h->message, status, "%s", text);
    }
}

/* Whether a row is still to be searched. */
static bool is_open(struct row_hunt *h, size_t row)
{
    const struct shv_optimum_options *o = h->options;
    bool open;
#pragma omp critical
    {
        if (watcher_stopped(&h->watcher)) {
            fail(h, SHV_STOPPED, "the search was stopped");
        }
        open = h->status == SHV_OK && !(o->known && o->known(o->data, row, &h->row[row]));
    }
    return open;
}

/* What was found of a row. */
static void take(struct row_hunt *h, size_t row, enum shv_status status,
                 struct shv_message *message)
{
    const struct shv_optimum_options *o = h->options;
#pragma omp critical
    {
        if (status == SHV_OK && o->found) {
            status = o->found(o->data, row, &h->row[row], message);
        }
        if (status != SHV_OK) {
            fail(h, status, message->text);
        }
    }
}

static void run_row(struct row_hunt *h, size_t row)
{
    struct shv_message own = {""};
    (void)watcher_add(&h->watcher, 0);
    if (is_open(h, row)) {
        enum shv_status status = ideal_find(&h->with, row, &h->row[row], &own);
        take(h, row, status, &own);
    }
    (void)watcher_add(&h->watcher, 1);
}

static void run_rows(struct row_hunt *h)
{
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < h->watcher.total; i++) {
        run_row(h, i);
    }
}

enum shv_status shv_optimum_search(const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_keep *keep,
                                   const struct shv_optimum_options *options,
                                   struct shv_optimum **optima, size_t *count,
                                   struct shv_message *message)
{
    const struct shv_optimum_options none = {.data = NULL};
    const struct shv_study *study = shv_model_study(model);
    struct row_hunt h = {
        .with = {model, space, keep}, .options = options ? options : &none, .message = message};
    h.watcher = (struct watcher){.watch = &h.options->watch,
                                 .total = study->blower_count * study->fuel_count};
    *optima = NULL;
    *count = 0;
    h.row = calloc(h.watcher.total, sizeof *h.row);
    if (!h.row) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the continuous search");
    }
    run_rows(&h);
    if (h.status != SHV_OK) {
        free(h.row);
        return h.status;
    }
    *optima = h.row;
    *count = h.watcher.total;
    return SHV_OK;
}
