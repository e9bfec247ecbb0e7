/* Rows of a ranking (src/report/table/rows.h). */
#include "report/table/rows.h"

#include <omp.h>
#include <stdlib.h>

#include "report/table/objective.h"
#include "report/table/sure.h"
#include "report/write/file.h"

static enum shv_status make_room(struct report_rows *rows, struct shv_message *message)
{
    rows->threads = omp_get_max_threads();
    rows->of_thread = calloc((size_t)rows->threads, sizeof *rows->of_thread);
    if (!rows->of_thread) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for rows of results");
    }
    enum shv_status status = shv_curves_init(&rows->curves, rows->run->model, message);
    for (int i = 0; status == SHV_OK && i < rows->threads; i++) {
        status = shv_curves_init(&rows->of_thread[i], rows->run->model, message);
    }
    return status == SHV_OK ? shv_curves_init(&rows->stock, rows->run->model, message) : status;
}

enum shv_status report_rows_init(struct report_rows *rows, const struct shv_run *run,
                                 struct shv_message *message)
{
    *rows = (struct report_rows){.run = run};
    enum shv_status status = make_room(rows, message);
    if (status != SHV_OK) {
        report_rows_free(rows);
        return status;
    }
    shv_model_evaluate_stock(run->model, &rows->stock);
    return SHV_OK;
}

void report_rows_free(struct report_rows *rows)
{
    for (int i = 0; rows->of_thread && i < rows->threads; i++) {
        shv_curves_free(&rows->of_thread[i]);
    }
    free(rows->of_thread);
    rows->of_thread = NULL;
    shv_curves_free(&rows->curves);
    shv_curves_free(&rows->stock);
}

static size_t place_to_sell(const struct shv_run *run)
{
    const struct shv_sure *sell = report_kit_to_sell(run);
    size_t place = 0;
    while (sell && place < run->ranking->count && run->ranking->item[place].index != sell->index) {
        place++;
    }
    return sell ? place : run->ranking->count;
}

size_t report_lead_place(const struct shv_run *run)
{
    size_t sell = place_to_sell(run);
    return sell < run->ranking->count ? sell : 0;
}

static size_t first_drawn(const struct shv_run *run)
{
    size_t most = run->study->results.curves;
    return run->ranking->count < most ? run->ranking->count : most;
}

size_t report_drawn_count(const struct shv_run *run)
{
    size_t first = first_drawn(run), sell = place_to_sell(run);
    return first + (first > 0 && sell >= first && sell < run->ranking->count ? 1 : 0);
}

size_t report_drawn_place(const struct shv_run *run, size_t drawn)
{
    return drawn < first_drawn(run) ? drawn : place_to_sell(run);
}

static const char *role_of(const struct shv_run *run, uint64_t index)
{
    const struct shv_sure *sell = report_kit_to_sell(run);
    bool sold = sell && sell->index == index;
    bool strongest = run->ranking->count > 0 && run->ranking->item[0].index == index;
    return sold && strongest ? "both"
           : sold            ? "kit to sell"
           : strongest       ? "strongest on paper"
                             : NULL;
}

static void take(const struct report_rows *rows, uint64_t index, size_t place,
                 struct shv_curves *curves, struct shv_summary *summary)
{
    const struct shv_run *run = rows->run;
    struct shv_kit kit;
    shv_space_kit(run->space, run->study, index, &kit);
    shv_model_evaluate(run->model, &kit, curves);
    shv_summarise(run->study, &kit, curves, &rows->stock, summary);
    summary->objective = report_objective_shown(run->study, summary->objective);
    summary->rank = place + 1;
    summary->index = index;
    summary->role = role_of(run, index);
}

void report_rows_take_index(struct report_rows *rows, uint64_t index, size_t place,
                            struct shv_summary *summary)
{
    take(rows, index, place, &rows->curves, summary);
}

/* Summaries that wait to be written. */
#define BLOCK 64

bool report_rows_each(struct report_rows *rows, const struct report_list *list)
{
    struct shv_summary kit[BLOCK];
    bool good = true;
    for (size_t first = 0; good && first < list->count; first += BLOCK) {
        size_t count = list->count - first < BLOCK ? list->count - first : BLOCK;
#pragma omp parallel for schedule(dynamic, 1) num_threads(rows->threads)
        for (size_t i = 0; i < count; i++) {
            take(rows, list->index(list->data, first + i), first + i,
                 &rows->of_thread[omp_get_thread_num()], &kit[i]);
        }
        for (size_t i = 0; good && i < count; i++) {
            good = list->write(list->data, first + i, &kit[i]);
        }
    }
    return good;
}

void report_rows_take(struct report_rows *rows, size_t place, struct shv_summary *summary)
{
    const struct shv_candidate *candidate = &rows->run->ranking->item[place];
    report_rows_take_index(rows, candidate->index, place, summary);
    summary->objective = report_objective_shown(rows->run->study, candidate->objective);
}

enum shv_status report_rows_write(const struct shv_run *run, const char *folder, const char *name,
                                  bool (*write)(FILE *out, struct report_rows *rows),
                                  struct shv_message *message)
{
    struct report_rows rows;
    enum shv_status status = report_rows_init(&rows, run, message);
    if (status != SHV_OK) {
        return status;
    }
    struct report_file file;
    status = report_file_open(&file, folder, name, message);
    if (status == SHV_OK) {
        status = report_file_finish(&file, write(file.stream, &rows), message);
    }
    report_rows_free(&rows);
    return status;
}
