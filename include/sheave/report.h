/* Writers of result files. They compute nothing but unit conversions. Every file is written under a
 * temporary name, synced and renamed: a reader never sees half of it. */
#ifndef SHEAVE_REPORT_H
#define SHEAVE_REPORT_H

#include "sheave/changes.h"
#include "sheave/choice_map.h"
#include "sheave/fit.h"
#include "sheave/keep.h"
#include "sheave/nearest.h"
#include "sheave/limit_worth.h"
#include "sheave/optimum.h"
#include "sheave/range_kits.h"
#include "sheave/serving.h"
#include "sheave/site_shortfall.h"
#include "sheave/sweep.h"
#include "sheave/tables.h"
#include "sheave/tolerance.h"
#include "sheave/watch.h"

/* How far a stage that comes after the sweep is. */
enum shv_stage {
    SHV_STAGE_NONE,     /* the study does not ask for it */
    SHV_STAGE_LEFT_OUT, /* whoever ran it did not want it */
    SHV_STAGE_TO_COME,  /* what is written was written before */
    SHV_STAGE_DONE
};
/* "none", "left_out", "to_come", "done". */
const char *shv_stage_name(enum shv_stage stage);

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
    const struct shv_site_shortfall *site_shortfalls;
    const struct shv_optimum *optima;
    size_t optimum_count;
    const struct shv_limit_worth *limit_worths; /* of the optima */
    size_t worth_count;
    int threads;
    double seconds_tables, seconds_sweep, seconds_search, seconds_total;
    const char *started; /* ISO 8601, UTC */
    const char *options; /* the command line's options as given */
    /* Of each table of the model's closed cycle (shv_model_table_count); NULL when not known. */
    const struct shv_table_report *tables;
    const struct shv_sure_list *sure; /* NULL: not looked at */
    enum shv_stage search, certainty;
    const struct shv_choice_cell *choices; /* round the kit that ranks first */
    size_t choice_count;
    const struct shv_nearest *nearest; /* where nothing is feasible */
    size_t nearest_count;
};

/* Writes a file of a run by its name, such as "ranked.csv" (docs/columns.md tells them all;
 * stock_engine.csv has the stock engine's curves, study.txt the study's text), into an existing
 * folder. One that this run does not have, as the study asks for none or the search is left out, is
 * removed where an earlier run left it. SHV_BAD_INPUT when there is no such file. */
SHV_API enum shv_status shv_report_file(const struct shv_run *run, const char *name,
                                        const char *folder, struct shv_message *message);
/* All of them that are tables, and study.txt. */
SHV_API enum shv_status shv_report_files(const struct shv_run *run, const char *folder,
                                         struct shv_message *message);
/* manifest.cfg, the last of them: it says what else is there. */
SHV_API enum shv_status shv_report_manifest(const struct shv_run *run, const char *folder,
                                            struct shv_message *message);
enum shv_status shv_report_inputs(const struct shv_run *run, const char *folder,
                                  struct shv_message *message);

/* How sure one kit is, readable at 100 columns. */
SHV_API enum shv_status shv_report_sure_kit(const struct shv_study *study,
                                            const struct shv_sure *sure, FILE *out,
                                            struct shv_message *message);

/* ---- what is drawn from the files above, without a study ---- */

struct shv_pages {
    size_t plots;    /* pictures drawn */
    bool no_gnuplot; /* there is none to draw them */
    bool misplaced;  /* one could not be put in its place, or an old one not be taken away */
    struct shv_message trouble; /* with the first plot that could not be drawn, "" for none */
};

/* The safety cautions, in lines of at most 100 characters. */
SHV_API extern const char shv_cautions[];

/* Draws plots/NAME.svg and writes report.html from the files of a results folder. Scripts and data
 * of the plots stay beside them. What gnuplot can't draw is told in *pages and is no error.
 * A picture whose script and data are as they were is left as it is. `watch`, of plots, may be
 * NULL. SHV_BAD_INPUT when the folder holds no results or damaged ones, SHV_IO, SHV_NO_MEMORY,
 * SHV_STOPPED. */
SHV_API enum shv_status shv_report_pages(const char *folder, const struct shv_watch *watch,
                                         struct shv_pages *pages, struct shv_message *message);

/* About how long drawing takes here, by running gnuplot on nothing; 0 without one. */
SHV_API double shv_report_pages_seconds(void);

/* Writes kit-RANK.html, a page to print for one kit, with the picture that shv_report_pages drew of
 * it. SHV_SHEET_TO_SELL becomes the rank of the kit to sell. SHV_BAD_INPUT also when the folder has
 * no curves of that rank. */
#define SHV_SHEET_TO_SELL ((size_t)0)
SHV_API enum shv_status shv_report_sheet(const char *folder, size_t *rank,
                                         struct shv_message *message);

/* The same for groups of a range plan: report_groups of src/report/page/page.h. SHV_BAD_INPUT also
 * when the folder is none of a plan. */
enum shv_status shv_report_groups(const char *folder, const char *group, size_t *first,
                                  size_t *count, struct shv_message *message);

/* The answer on one screen, at most 40 lines of 100 columns with those that a command adds: the kit
 * to sell and the strongest on paper, what else comes close, what fuel and cooler are worth, what
 * holds it back; or why nothing is feasible. */
SHV_API enum shv_status shv_report_answer(const struct shv_run *run, FILE *out,
                                          struct shv_message *message);

/* The whole account: the ten best, the counts by reason, the optima and more, to a stream. */
SHV_API enum shv_status shv_report_table(const struct shv_run *run, FILE *out,
                                         struct shv_message *message);

/* One kit over the rev range, every state from filter to flywheel: as a table with one block per
 * site, or as CSV with the columns of curves.csv. `area` is how large a bypass keeps its drag at
 * cruise within the limit (shv_model_bypass_area); NULL: nobody asked. `kit` NULL: `curves` are
 * those of the stock engine. */
SHV_API enum shv_status shv_report_point(const struct shv_study *study, const struct shv_kit *kit,
                                         const struct shv_curves *curves,
                                         const struct shv_bypass_sizing *area, bool csv, FILE *out,
                                         struct shv_message *message);
/* The same for one screen of 25 lines: the kit, the verdict, what of `count` single changes would
 * mend it, the nearest limits, and the curve at the first site. */
SHV_API enum shv_status shv_report_point_short(const struct shv_study *study,
                                               const struct shv_kit *kit,
                                               const struct shv_curves *curves,
                                               const struct shv_change *changes, size_t count,
                                               FILE *out, struct shv_message *message);

/* Why a kit that was evaluated holds or does not, and what each of its single changes
 * (shv_single_changes) would do, in sentences. */
SHV_API enum shv_status shv_report_explanation(const struct shv_study *study,
                                               const struct shv_kit *kit,
                                               const struct shv_curves *curves,
                                               const struct shv_change *changes, size_t count,
                                               FILE *out, struct shv_message *message);

/* The closed cycle of one cylinder over the crank angle as CSV, from its steps
 * (shv_cycle_samples of what shv_model_cycle_case fills). */
SHV_API enum shv_status shv_report_cycle(const struct shv_study *study,
                                         const struct shv_cycle_sample *samples, size_t count,
                                         FILE *out, struct shv_message *message);

/* The kits nearest to keeping the limits, of a group that has none which does; else without any.
 * Nothing is owned. */
struct shv_range_nearest {
    const struct shv_study *study;
    const struct shv_space *space;
    const struct shv_nearest *nearest;
    size_t count;
};

/* A plan of a range, handed to the writers. Nothing is owned. */
struct shv_range_run {
    const struct shv_range_file *file;
    const struct shv_range_kits *kits;
    const struct shv_range_result *result;
    const struct shv_range_row *row; /* of each group in the plan; NULL when there is none */
    /* Of each group; where no kit keeps the limits, what is nearest. NULL with a plan. */
    const struct shv_range_nearest *nearest;
};

/* range.csv, stock.csv, curve.csv into an existing folder; with the last, where sales are not
 * certain, scenarios.csv. */
SHV_API enum shv_status shv_report_range(const struct shv_range_run *run, const char *folder,
                                         struct shv_message *message);
/* The plan for a person, at 100 columns: who gets which kit, what is in stock, the trade curve. Or,
 * without a plan, who can't be served and what would change that. */
SHV_API enum shv_status shv_report_range_table(const struct shv_range_run *run, FILE *out,
                                               struct shv_message *message);

/* A fit, handed to the writers. Nothing is owned. */
struct shv_fit_report {
    const struct shv_study *study;
    const struct shv_fit *fit;
    const struct shv_fit_result *result;
    const char *include; /* path of the include file, for its own text and the table's last line */
};

/* The include file of a fit: the groups corrections and tolerances of a study, NAME in an existing
 * folder. */
SHV_API enum shv_status shv_report_fit_include(const struct shv_fit_report *report,
                                               const char *folder, const char *name,
                                               struct shv_message *message);
/* Every reading against the model and every row dropped, as CSV. */
SHV_API enum shv_status shv_report_fit_residuals(const struct shv_fit_report *report,
                                                 const char *folder, const char *name,
                                                 struct shv_message *message);
/* What was found in a log and which of its rows were dropped, in a few lines. SHV_IO. */
enum shv_status shv_report_log(const struct shv_measured_log *plan, const struct shv_log *log,
                               FILE *out, struct shv_message *message);
/* What was found, how sure it is and how good, readable at 100 columns. */
SHV_API enum shv_status shv_report_fit_table(const struct shv_fit_report *report, FILE *out,
                                             struct shv_message *message);

#endif
