/* The CSV files: each is one table, from which follow its header, its rows and its section of
 * docs/columns.md. */
#ifndef SHEAVE_REPORT_FILES_H
#define SHEAVE_REPORT_FILES_H

#include "report/table/rows.h"
#include "report/write/columns.h"
#include "sheave/report.h"

struct report_table {
    const char *file;  /* its name, unless whoever writes it gives another */
    const char *about; /* heading in docs/columns.md: what it is and what a row is */
    const struct report_column *columns; /* the first of them */
    size_t count;
    void (*more)(struct report_layout *layout); /* appends the others; NULL without any */
    /* Writes the rows of what `data` is: of a run a struct report_rows, in which kits can be
     * evaluated only with `of_kits`; of a plan a struct shv_range_run, of a fit a struct
     * shv_fit_report. */
    void (*write)(struct report_csv *csv, void *data);
    bool of_kits;
    /* Whether a run has it; else one that an earlier run left is removed. NULL: always. */
    bool (*is_there)(const struct shv_run *run);
};

/* The first columns of a table. */
#define REPORT_COLUMNS(table) .columns = (table), .count = sizeof(table) / sizeof *(table)

extern const struct report_table report_ranked, report_curves, report_stock, report_rejected,
    report_optimum, report_limit_worth, report_tradeoffs, report_serving, report_sites, report_sure,
    report_sensitivities, report_worth_knowing, report_nearest, report_limits, report_parts,
    report_map, report_islands;
/* Of the plan of a range. */
extern const struct report_table report_range, report_shelf, report_range_curve, report_scenarios;
/* Of the trace of a closed cycle, whose rows are struct shv_cycle_sample, and of the residuals of a
 * fit. */
extern const struct report_table report_cycle, report_residuals;

void report_table_layout(const struct report_table *table, struct report_layout *layout,
                         report_when_set when);
/* Writes a table into NAME in a folder. */
enum shv_status report_table_write(const struct report_table *table, const char *folder,
                                   const char *name, enum shv_unit_system units,
                                   report_when_set when, void *data, struct shv_message *message);

/* Whether the search for ideals is done, or not asked for. */
bool report_was_searched(const struct shv_run *run);

/* Appends the columns of ranked.csv, for rows that begin with a struct shv_summary. */
void report_kit_columns(struct report_layout *layout);
/* Some of them for a row with such a summary at an offset, whatever the study has; those of US
 * units only in these. Their names, which get `before` in front, stand in one text with blanks
 * between them; one that is shown with other digits than in ranked.csv has ":7" behind it. */
void report_add_kit_columns(struct report_layout *layout, const char *before, size_t offset,
                            const char *stems);
/* For shv_summaries_each: where rows go, and whose they are. */
struct report_kits {
    struct report_csv *csv;
    struct report_rows *rows;
    size_t front; /* of tradeoffs.csv */
};

/* The kit of a combination, and the columns of such a summary that tell it. */
struct shv_summary report_combination(const struct shv_run *run, uint64_t index);
void report_add_combination(struct report_layout *layout, size_t offset);

/* A limit of a kit that was judged, as cells. */
struct report_limit_cells {
    const char *limit, *title, *sense, *unit, *site;
    double value, bound, share, speed;
};
struct report_limit_cells report_limit_cells(const struct shv_study *study,
                                             const struct shv_verdict *verdict,
                                             enum shv_limit limit);

/* Rows of curves.csv for one kit. */
void report_curves_rows(struct report_csv *csv, const struct shv_study *study, uint64_t rank,
                        const struct shv_curves *curves);

#endif
