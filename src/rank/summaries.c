/* Kits by their number, evaluated and summed up (sheave/summaries.h). */
#include "sheave/summaries.h"

#include <omp.h>
#include <stdlib.h>

/* Summaries that wait to be used. */
#define BLOCK 64

static enum shv_status make_room(struct shv_summaries *s, struct shv_message *message)
{
    s->threads = omp_get_max_threads();
    s->of_thread = calloc((size_t)s->threads, sizeof *s->of_thread);
    if (!s->of_thread) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for rows of results");
    }
    enum shv_status status = shv_curves_init(&s->curves, s->model, message);
    for (int i = 0; status == SHV_OK && i < s->threads; i++) {
        status = shv_curves_init(&s->of_thread[i], s->model, message);
    }
    return status == SHV_OK ? shv_curves_init(&s->stock, s->model, message) : status;
}

enum shv_status shv_summaries_init(struct shv_summaries *summaries, const struct shv_model *model,
                                   const struct shv_space *space, struct shv_message *message)
{
    *summaries = (struct shv_summaries){.model = model, .space = space};
    enum shv_status status = make_room(summaries, message);
    if (status != SHV_OK) {
        shv_summaries_free(summaries);
        return status;
    }
    shv_model_evaluate_stock(model, &summaries->stock);
    return SHV_OK;
}

void shv_summaries_free(struct shv_summaries *summaries)
{
    for (int i = 0; summaries->of_thread && i < summaries->threads; i++) {
        shv_curves_free(&summaries->of_thread[i]);
    }
    free(summaries->of_thread);
    summaries->of_thread = NULL;
    shv_curves_free(&summaries->curves);
    shv_curves_free(&summaries->stock);
}

static void take(const struct shv_summaries *s, uint64_t index, struct shv_curves *curves,
                 struct shv_summary *summary)
{
    const struct shv_study *study = shv_model_study(s->model);
    struct shv_kit kit;
    shv_space_kit(s->space, study, index, &kit);
    shv_model_evaluate(s->model, &kit, curves);
    shv_summarise(study, &kit, curves, &s->stock, summary);
    summary->index = index;
}

void shv_summaries_take(struct shv_summaries *summaries, uint64_t index,
                        struct shv_summary *summary)
{
    take(summaries, index, &summaries->curves, summary);
}

bool shv_summaries_each(struct shv_summaries *summaries, const struct shv_summary_list *list)
{
    struct shv_summary kit[BLOCK];
    bool good = true;
    for (size_t first = 0; good && first < list->count; first += BLOCK) {
        size_t count = list->count - first < BLOCK ? list->count - first : BLOCK;
#pragma omp parallel for schedule(dynamic, 1) num_threads(summaries->threads)
        for (size_t i = 0; i < count; i++) {
            take(summaries, list->index(list->data, first + i),
                 &summaries->of_thread[omp_get_thread_num()], &kit[i]);
        }
        for (size_t i = 0; good && i < count; i++) {
            good = list->use(list->data, first + i, &kit[i]);
        }
    }
    return good;
}
