/* Writers of result files. They compute nothing but unit conversions. Every file is written under a
 * temporary name, synced and renamed: a reader never sees half of it. */
#ifndef SHEAVE_REPORT_H
#define SHEAVE_REPORT_H

#include "sheave/changes.h"
#include "sheave/keep.h"
#include "sheave/prices.h"
#include "sheave/serving.h"
#include "sheave/site_price.h"
#include "sheave/sweep.h"
#include "sheave/tables.h"
#include "sheave/tolerance.h"

/* All that a run found, handed to the writers. Nothing is owned. */
struct shv_run {
    const struct shv_study *study;
    const struct shv_model *model;
    const struct shv_space *space;
    const struct shv_ranking *ranking; /* sorted */
    const struct shv_sweep_counts *counts;
    const struct shv_keep *keep; /* sorted; NULL when the study asks for nothing that it holds */
    const struct shv_serving_kit *serving; /* of keep->serving, in its order */
    size_t serving_count;
    /* One for each site; NULL when the study does not ask for them. */
    const struct shv_site_price *site_prices;
    const struct shv_optimum *optima;
    size_t optimum_count;
    const struct shv_price *prices; /* of the optima */
    size_t price_count;
    int threads;
    double seconds_tables, seconds_sweep, seconds_search, seconds_total;
    const char *started; /* ISO 8601, UTC */
    const char *options; /* the command line's options as given */
    /* Of each table of the model's closed cycle (shv_model_table_count); NULL when not known. */
    const struct shv_table_report *tables;
    const struct shv_sure_list *sure; /* NULL: not looked at */
};

/* ranked.csv, curves.csv, rejected.csv, optimum.csv, manifest.cfg into an existing folder. */
enum shv_status shv_report_ranked(const struct shv_run *run, const char *folder,
                                  struct shv_message *message);
enum shv_status shv_report_curves(const struct shv_run *run, const char *folder,
                                  struct shv_message *message);
enum shv_status shv_report_rejected(const struct shv_run *run, const char *folder,
                                    struct shv_message *message);
enum shv_status shv_report_optimum(const struct shv_run *run, const char *folder,
                                   struct shv_message *message);
/* tradeoffs.csv, serving.csv and sites.csv; where the study asks for none, one that an earlier run left is
 * removed. */
enum shv_status shv_report_tradeoffs(const struct shv_run *run, const char *folder,
                                     struct shv_message *message);
enum shv_status shv_report_serving(const struct shv_run *run, const char *folder,
                                   struct shv_message *message);
enum shv_status shv_report_sites(const struct shv_run *run, const char *folder,
                                 struct shv_message *message);
/* prices.csv likewise. */
enum shv_status shv_report_prices(const struct shv_run *run, const char *folder,
                                  struct shv_message *message);
enum shv_status shv_report_manifest(const struct shv_run *run, const char *folder,
                                    struct shv_message *message);

/* sure.csv and sensitivities.csv; nothing when the study has no tolerances. */
enum shv_status shv_report_sure(const struct shv_run *run, const char *folder,
                                struct shv_message *message);

/* How sure one kit is, readable at 100 columns. */
enum shv_status shv_report_sure_kit(const struct shv_study *study, const struct shv_sure *sure,
                                    FILE *out, struct shv_message *message);

/* The ten best, readable at 100 columns, the counts by reason and the optima, to a stream. */
enum shv_status shv_report_table(const struct shv_run *run, FILE *out, struct shv_message *message);

/* One kit over the rev range, every state from filter to flywheel: as a table with one block per
 * site, or as CSV with the columns of curves.csv. `kit` NULL: `curves` are those of the stock
 * engine. */
enum shv_status shv_report_point(const struct shv_study *study, const struct shv_model *model,
                                 const struct shv_kit *kit, const struct shv_curves *curves,
                                 bool csv, FILE *out, struct shv_message *message);

/* Why a kit that was evaluated holds or does not, and what each of its single changes
 * (shv_single_changes) would do, in sentences. */
enum shv_status shv_report_explanation(const struct shv_study *study, const struct shv_kit *kit,
                                       const struct shv_curves *curves,
                                       const struct shv_change *changes, size_t count, FILE *out,
                                       struct shv_message *message);

/* The closed cycle of one cylinder over the crank angle as CSV: a direct cycle at the phasing
 * at->ca50 (shv_model_cycle_case fills fuel and case). SHV_NOTHING when it has no answer; then
 * nothing is written. */
enum shv_status shv_report_cycle(const struct shv_study *study, const struct shv_cycle_fuel *fuel,
                                 const struct shv_cycle_case *at, FILE *out,
                                 struct shv_message *message);

/* Writes docs/columns.md from the tables of columns. */
enum shv_status shv_report_write_reference(FILE *out);

#endif
