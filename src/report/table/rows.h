/* Rows of a ranking. */
#ifndef SHEAVE_REPORT_ROWS_H
#define SHEAVE_REPORT_ROWS_H

#include "report/write/columns.h"
#include "sheave/report.h"
#include "sheave/summaries.h"

struct report_rows {
    const struct shv_run *run;
    struct shv_summaries of;
};
enum shv_status report_rows_init(struct report_rows *rows, const struct shv_run *run,
                                 struct shv_message *message);
/* Writes the rows of the ranking into NAME in the folder; `write` returns false when a write
 * failed. */
enum shv_status report_rows_write(const struct shv_run *run, const char *folder, const char *name,
                                  bool (*write)(FILE *out, struct report_rows *rows),
                                  struct shv_message *message);
void report_rows_free(struct report_rows *rows);
/* Kits that get curves, limits and parts: the first of the ranking, as many as the study says, and
 * the kit to sell. Their places in the ranking. */
size_t report_drawn_count(const struct shv_run *run);
size_t report_drawn_place(const struct shv_run *run, size_t drawn);
/* Gives each of a list its row: `use` writes it, false when the write failed. The rank of a summary
 * is its place in the list, from 1. */
bool report_rows_each(struct report_rows *rows, const struct shv_summary_list *list);
/* The place of the kit that goes first: the one to sell, else the best of the ranking. */
size_t report_lead_place(const struct shv_run *run);
/* Takes a combination as the row at `place` of whatever is listed; its curves stay in `rows->of`.
 */
void report_rows_take_index(struct report_rows *rows, uint64_t index, size_t place,
                            struct shv_summary *summary);
/* The same of a place of the ranking, 0 for the best. */
void report_rows_take(struct report_rows *rows, size_t place, struct shv_summary *summary);

#endif
