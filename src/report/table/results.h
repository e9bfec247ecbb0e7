/* A results folder read back: what plots and pages are drawn from. */
#ifndef SHEAVE_REPORT_RESULTS_H
#define SHEAVE_REPORT_RESULTS_H

#include <libconfig.h>
#include <stdint.h>

#include "report/table/records.h"

/* Files that are there or not: a table that is missing has no rows. */
struct report_results {
    const char *folder; /* borrowed */
    config_t manifest;
    enum shv_unit_system units;
    const char *title, *currency; /* of the study, in the manifest; never NULL */
    const char *objective_column, *objective_words;
    struct report_records ranked, curves, stock, limits, parts, rejected, optimum, map, islands;
    /* Where a study asks for them. */
    struct report_records nearest; /* where nothing is feasible */
    struct report_records limit_worth, tradeoffs, serving, sites, sure, sensitivities;
    struct report_records worth_knowing;
    /* Of a range plan, which has a folder of its own. */
    struct report_records range, shelf, plan, scenarios;
    char *study; /* its text, NULL when not kept */
};

/* Whether these are the results of a range plan: curve.csv and no manifest. */
bool report_results_is_range(const struct report_results *results);

/* SHV_BAD_INPUT when the folder holds no results, or a file of it is damaged; SHV_IO,
 * SHV_NO_MEMORY. Free with report_results_free, whatever is returned. */
enum shv_status report_results_read(const char *folder, struct report_results *results,
                                    struct shv_message *message);
void report_results_free(struct report_results *results);

/* A text or a number of the manifest by its path, such as "study.path"; `otherwise` when it is not
 * there. */
const char *report_results_text(const struct report_results *results, const char *path,
                                const char *otherwise);
double report_results_number(const struct report_results *results, const char *path);

/* The unit of a measure for people; the study's money for prices. */
const char *report_results_unit(const struct report_results *results, enum report_measure measure);

/* What the study ranks by: what the names of its columns end with, "_power_kW", and its measure. */
const char *report_results_ranked_by(const struct report_results *results);
enum report_measure report_results_ranked_measure(const struct report_results *results);

/* Names of sites in the order of the study: `count` of them, borrowed from the tables of
 * curves, at most `most`. */
size_t report_results_sites(const struct report_results *results, const char **site, size_t most);

/* The ranks of kits that have curves, in their order, at most `most` of them with the last among
 * them: from 1 on, and the kit to sell. */
size_t report_results_ranks(const struct report_results *results, size_t *rank, size_t most);
/* How many of them there are from rank 1 on without a gap. */
size_t report_results_kits(const struct report_results *results);
/* The row of ranked.csv of the kit to sell; REPORT_NO_COLUMN when there is none. */
size_t report_results_to_sell(const struct report_results *results);

/* The rank of the kit that goes first: the one to sell where it has curves, else 1. */
size_t report_results_lead(const struct report_results *results);

/* The row of sure.csv of the kit to sell; REPORT_NO_COLUMN when there is none. */
size_t report_results_sure_to_sell(const struct report_results *results);

/* Rows of rejected.csv with combinations, the total left out, the commonest first. */
#define REPORT_REASONS 64
size_t report_results_reasons(const struct report_results *results,
                              struct report_row_value list[REPORT_REASONS]);

/* The row of limits.csv of a rank and limit; REPORT_NO_COLUMN when that limit is not set. */
size_t report_results_limit(const struct report_results *results, size_t rank, const char *limit);
/* Its bound, NAN when there is none. */
double report_results_bound(const struct report_results *results, size_t rank, const char *limit);

#endif
