/* Rows of a ranking (src/report/table/rows.h). */
#include "report/table/rows.h"

#include "report/table/objective.h"
#include "report/table/sure.h"

enum shv_status report_rows_init(struct report_rows *rows, const struct shv_run *run,
                                 struct shv_message *message)
{
    rows->run = run;
    return shv_summaries_init(&rows->of, run->model, run->space, message);
}

void report_rows_free(struct report_rows *rows)
{
    shv_summaries_free(&rows->of);
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

void report_rows_place(const struct report_rows *rows, size_t place, struct shv_summary *summary)
{
    summary->objective = report_objective_shown(rows->run->study, summary->objective);
    summary->rank = place + 1;
    summary->role = role_of(rows->run, summary->index);
}

void report_rows_take_index(struct report_rows *rows, uint64_t index, size_t place,
                            struct shv_summary *summary)
{
    shv_summaries_take(&rows->of, index, summary);
    report_rows_place(rows, place, summary);
}

void report_rows_take(struct report_rows *rows, size_t place, struct shv_summary *summary)
{
    const struct shv_candidate *candidate = &rows->run->ranking->item[place];
    report_rows_take_index(rows, candidate->index, place, summary);
    summary->objective = report_objective_shown(rows->run->study, candidate->objective);
}
