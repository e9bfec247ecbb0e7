/* Rows of a ranking. */
#ifndef SHEAVE_REPORT_ROWS_H
#define SHEAVE_REPORT_ROWS_H

#include "sheave/report.h"
#include "sheave/summaries.h"

struct report_rows {
    const struct shv_run *run;
    struct shv_summaries of;
};
enum shv_status report_rows_init(struct report_rows *rows, const struct shv_run *run,
                                 struct shv_message *message);
void report_rows_free(struct report_rows *rows);
/* Kits that get curves, limits and parts: the first of the ranking, as many as the study says, and
 * the kit to sell. Their places in the ranking. */
size_t report_drawn_count(const struct shv_run *run);
size_t report_drawn_place(const struct shv_run *run, size_t drawn);
/* What a row has from being the one at `place` of a list: its rank is one more. */
void report_rows_place(const struct report_rows *rows, size_t place, struct shv_summary *summary);
/* The place of the kit that goes first: the one to sell, else the best of the ranking. */
size_t report_lead_place(const struct shv_run *run);
/* Takes a combination as the row at `place` of whatever is listed; its curves stay in `rows->of`.
 */
void report_rows_take_index(struct report_rows *rows, uint64_t index, size_t place,
                            struct shv_summary *summary);
/* The same of a place of the ranking, 0 for the best. */
void report_rows_take(struct report_rows *rows, size_t place, struct shv_summary *summary);

#endif
