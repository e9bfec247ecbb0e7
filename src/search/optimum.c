/* The continuous optimum of each blower and fuel: sheave/optimum.h. */
#include "sheave/optimum.h"

#include <math.h>
#include <stdlib.h>

#include "search/ideal.h"
#include "sweep/fork_join.h"

struct hunt {
    struct ideal_case with;
    const struct shv_optimum_options *options;
    struct shv_optimum *row;
    size_t done, total;
    enum shv_status status;
    struct shv_message *message;
};

/* Keeps the first failure that comes along. */
static void fail(struct hunt *h, enum shv_status status, const char *text)
{
    if (h->status == SHV_OK) {
        h->status = status;
        shv_fail(h->message, status, "%s", text);
    }
}

/* Tells how far the search is, and asks whether to go on. */
static void tell(struct hunt *h)
{
    const struct shv_optimum_options *o = h->options;
    if (o->progress && !o->progress(o->data, h->done, h->total)) {
        fail(h, SHV_STOPPED, "the search was stopped");
    }
}

/* What was found of a row, or is known of it. */
static void take(struct hunt *h, size_t row, bool is_new, enum shv_status status,
                 struct shv_message *message)
{
    const struct shv_optimum_options *o = h->options;
    if (status == SHV_OK && is_new && o->found) {
        status = o->found(o->data, row, &h->row[row], message);
    }
    if (status != SHV_OK) {
        fail(h, status, message->text);
        return;
    }
    h->done++;
    tell(h);
}

static void run_row(struct hunt *h, size_t row)
{
    const struct shv_optimum_options *o = h->options;
    struct shv_message own = {""};
    bool go;
#pragma omp critical
    {
        go = h->status == SHV_OK;
        if (go && o->known && o->known(o->data, row, &h->row[row])) {
            take(h, row, false, SHV_OK, &own);
            go = false;
        }
    }
    if (go) {
        enum shv_status status = ideal_find(&h->with, row, &h->row[row], &own);
#pragma omp critical
        take(h, row, true, status, &own);
    }
}

static void run_rows(struct hunt *h)
{
    struct fork_join order = {0, 0};
    fork_join_fork(&order);
#pragma omp parallel
    {
        fork_join_enter(&order);
#pragma omp for schedule(dynamic, 1) nowait
        for (size_t i = 0; i < h->total; i++) {
            run_row(h, i);
        }
        fork_join_leave(&order);
    }
    fork_join_join(&order);
}

enum shv_status shv_optimum_search(const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_keep *keep,
                                   const struct shv_optimum_options *options,
                                   struct shv_optimum **optima, size_t *count,
                                   struct shv_message *message)
{
    const struct shv_optimum_options none = {NULL, NULL, NULL, NULL};
    const struct shv_study *study = shv_model_study(model);
    struct hunt h = {.with = {model, space, keep},
                     .options = options ? options : &none,
                     .total = study->blower_count * study->fuel_count,
                     .message = message};
    *optima = NULL;
    *count = 0;
    h.row = calloc(h.total, sizeof *h.row);
    if (!h.row) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the continuous search");
    }
    tell(&h);
    run_rows(&h);
    if (h.status != SHV_OK) {
        free(h.row);
        return h.status;
    }
    *optima = h.row;
    *count = h.total;
    return SHV_OK;
}
