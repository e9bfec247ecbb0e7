/* sheave plan: the kits and the stock of a range. */
#include <ctype.h>
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/log.h"
#include "cli/progress.h"
#include "report/write/file.h"
#include "report/write/text.h"

/* Combinations that a sweep may keep: 16 bytes each, twice. */
#define MOST_ROWS ((uint64_t)50000000)
#define SECONDS_MAX 1000000
#define NAME_IN_PATH 40

/* A vehicle in a market. */
struct pair {
    bool is_there;
    size_t vehicle, market;
    struct cli_study s;
    size_t fuels_owned; /* of s.study.fuels */
    struct shv_journal *journal;
    struct shv_holding *holding; /* owned; NULL while it was not asked for */
    struct shv_nearest *nearest; /* owned; NULL when it was not looked for */
    size_t nearest_count;
};

struct planning {
    const char *folder;
    bool quiet, resume, anew, no_report, no_certainty;
    long threads, seconds;
    struct cli_tables tables;
    struct shv_range_file file;
    struct pair *pair; /* [vehicle * markets + market], owned */
    struct shv_range_kits kits;
    struct shv_range_result result;
    size_t judged;                     /* candidates asked whether they hold */
    struct shv_range_row *row;         /* of each group, owned */
    struct shv_range_nearest *nearest; /* likewise */
    struct run_log log;
    struct progress progress; /* of the integer programmes */
    double started;
    struct shv_message message;
};

#define PLACE(member) offsetof(struct planning, member)
static const struct cli_option options[] = {
    {"out", "DIR", "folder for the results (default: results.folder of the range)",
     .place = PLACE(folder), .folder = true},
    {"threads", "N", "threads to use (default: all processors)", .place = PLACE(threads),
     .most = CLI_THREADS_MOST},
    {"quiet", NULL, "no progress on standard error", .place = PLACE(quiet)},
    {"no-report", NULL, "tables only, no plot and no page", .place = PLACE(no_report)},
    {"resume", NULL, "go on with the sweeps that an earlier plan has left in the folder",
     .place = PLACE(resume)},
    {"anew", NULL, "drop what an interrupted plan has left, and begin", .place = PLACE(anew)},
    {"seconds", "N", "time for each integer programme (default: as long as it takes)",
     .place = PLACE(seconds), .most = SECONDS_MAX},
    {"no-certainty", NULL, "leave the tolerances of the studies alone",
     .place = PLACE(no_certainty)},
    CLI_CACHE(PLACE(tables)),
    {.name = NULL}};

/* ---- studies ---- */

static int load_range(struct planning *p, const char *path)
{
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_range_file_load(path, &p->file, &findings);
    cli_print_findings("plan", &findings, status, "range");
    return status == SHV_OK ? -1 : cli_exit_code(status);
}

/* What is warned of in a vehicle's study is warned of once, not for each market. */
static int load_pair(struct planning *p, struct pair *pair, bool is_first)
{
    struct shv_diagnostics findings = {0};
    struct shv_range_variant variant;
    enum shv_status status =
        shv_range_variant_load(&p->file, pair->vehicle, pair->market, &variant, &findings);
    if (is_first || status != SHV_OK) {
        cli_print_findings("plan", &findings, status, "range's studies");
    }
    shv_diagnostics_free(&findings); /* those that were not printed */
    if (status != SHV_OK) {
        return cli_exit_code(status);
    }
    pair->is_there = true;
    pair->s.study = variant.study;
    pair->fuels_owned = variant.fuels_owned;
    return cli_make_model("plan", p->file.vehicle[pair->vehicle].study, &pair->s);
}

static int load_pairs(struct planning *p)
{
    const struct shv_range_file *file = &p->file;
    p->pair = calloc(file->vehicle_count * file->market_count + 1, sizeof *p->pair);
    if (!p->pair) {
        cli_error("plan", "out of memory for the range");
        return CLI_TROUBLE;
    }
    for (size_t v = 0; v < file->vehicle_count; v++) {
        bool is_first = true;
        for (size_t m = 0; m < file->market_count; m++) {
            struct pair *pair = &p->pair[v * file->market_count + m];
            pair->vehicle = v;
            pair->market = m;
            if (file->market[m].sales[v] > 0.0) {
                int code = load_pair(p, pair, is_first);
                if (code >= 0) {
                    return code;
                }
                is_first = false;
            }
        }
    }
    return -1;
}

/* ---- sweeps ---- */

static void add_plain(char *path, size_t room, const char *name)
{
    size_t used = strlen(path);
    for (size_t i = 0; name[i] && i < NAME_IN_PATH && used + 1 < room; i++) {
        unsigned char c = (unsigned char)name[i];
        path[used++] = isalnum(c) || c == '.' ? (char)c : '-';
    }
    path[used] = '\0';
}

/* One folder for each vehicle in each market, with its journal. */
static enum shv_status pair_folder(struct planning *p, const struct pair *pair, char path[PATH_MAX])
{
    int length = snprintf(path, PATH_MAX, "%s/sweeps", p->folder);
    if (length < 0 || length > PATH_MAX - 4 * NAME_IN_PATH) {
        return shv_fail(&p->message, SHV_IO, "the name of the folder is too long");
    }
    enum shv_status status = report_make_folder(path, &p->message);
    if (status != SHV_OK) {
        return status;
    }
    (void)snprintf(path + length, PATH_MAX - (size_t)length, "/%zu-", pair->vehicle + 1);
    add_plain(path, PATH_MAX, p->file.vehicle[pair->vehicle].name);
    size_t used = strlen(path);
    (void)snprintf(path + used, PATH_MAX - used, "_%zu-", pair->market + 1);
    add_plain(path, PATH_MAX, p->file.market[pair->market].name);
    return report_make_folder(path, &p->message);
}

static enum shv_status open_journal(struct planning *p, struct pair *pair, size_t rows)
{
    char path[PATH_MAX];
    const struct shv_journal_options how = {.mode = cli_journal_mode(p->resume, p->anew),
                                            .keep = rows};
    enum shv_status status = pair_folder(p, pair, path);
    return status == SHV_OK ? shv_journal_open(path, &how, pair->s.model, &pair->s.space,
                                               &pair->journal, &p->message)
                            : status;
}

static enum shv_status make_tables(struct planning *p, struct pair *pair)
{
    struct cli_tables tables = p->tables;
    tables.quiet = p->quiet;
    tables.threads = (int)p->threads;
    enum shv_status status = cli_tables_prepare("plan", &pair->s, &tables, NULL, &p->message);
    cli_tables_free(&tables);
    return status == SHV_OK && progress_interrupted()
               ? shv_fail(&p->message, SHV_STOPPED, "stopped after the cycle tables")
               : status;
}

static enum shv_status sweep(struct planning *p, struct pair *pair, struct shv_ranking *ranking)
{
    struct progress progress;
    struct shv_sweep_counts counts;
    char room[REPORT_COUNT_MAX];
    progress_init(&progress, &pair->s.study, p->quiet);
    progress.log = &p->log;
    progress.first_done = shv_journal_progress(pair->journal).done;
    log_line(&p->log, "sweep: %s in %s, %s combinations", p->file.vehicle[pair->vehicle].name,
             p->file.market[pair->market].name, report_thousands(room, pair->s.space.size));
    const struct shv_sweep_options how = {.threads = (int)p->threads,
                                          .progress = progress_step,
                                          .progress_data = &progress,
                                          .trouble = progress_trouble,
                                          .journal = pair->journal,
                                          .rows = SHV_ROWS_PARTS};
    enum shv_status status =
        shv_sweep_run(pair->s.model, &pair->s.space, &how, ranking, &counts, &p->message);
    progress_end(&progress);
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&p->message, SHV_STOPPED, "the sweep was stopped");
    }
    return status == SHV_OK
               ? shv_range_kits_add(&p->kits, pair->vehicle, pair->market, pair->s.model,
                                    &pair->s.space, ranking, &counts, &p->message)
               : status;
}

static enum shv_status do_pair(struct planning *p, struct pair *pair)
{
    struct shv_ranking ranking = {.item = NULL};
    uint64_t rows = shv_range_kits_rows(&pair->s.space);
    char room[REPORT_COUNT_MAX];
    if (rows > MOST_ROWS) {
        return shv_fail(
            &p->message, SHV_BAD_INPUT,
            "vehicle \"%s\" has %s kits of different parts; accepted: up to %llu; narrow "
            "the shelf",
            p->file.vehicle[pair->vehicle].name, report_thousands(room, rows),
            (unsigned long long)MOST_ROWS);
    }
    enum shv_status status = open_journal(p, pair, (size_t)rows);
    if (status == SHV_OK) {
        status = make_tables(p, pair);
    }
    if (status == SHV_OK) {
        status = shv_ranking_init(&ranking, (size_t)rows, &p->message);
    }
    if (status == SHV_OK) {
        status = sweep(p, pair, &ranking);
    }
    shv_ranking_free(&ranking);
    return status;
}

static size_t pairs(const struct planning *p)
{
    return p->file.vehicle_count * p->file.market_count;
}

static enum shv_status do_pairs(struct planning *p)
{
    enum shv_status status = shv_range_kits_init(&p->kits, &p->file, &p->message);
    p->kits.to_sell = !p->no_certainty;
    for (size_t i = 0; i < pairs(p) && status == SHV_OK; i++) {
        status = p->pair[i].is_there ? do_pair(p, &p->pair[i]) : SHV_OK;
    }
    return status == SHV_OK ? shv_range_kits_finish(&p->kits, &p->message) : status;
}

/* ---- the plan ---- */

static bool go_on(void *data, size_t done, size_t total)
{
    struct planning *p = data;
    char line[PROGRESS_LINE], of[32] = "", time[48];
    if (total > 0) {
        (void)snprintf(of, sizeof of, " of %zu", total);
    }
    (void)snprintf(line, sizeof line, "trade curve: point %zu%s  %s", done + 1, of,
                   progress_duration(time, seconds_now() - p->progress.started));
    progress_note(&p->progress, line);
    return !progress_interrupted();
}

static struct pair *pair_of(struct planning *p, size_t group)
{
    const struct shv_range_place *at = &p->kits.place[group];
    return &p->pair[at->vehicle * p->file.market_count + at->market];
}

/* Which candidates hold, with the samples of their vehicle's study in their market. */
static enum shv_status judge(void *data, size_t group, struct shv_range_candidate *const *list,
                             size_t count, struct shv_message *message)
{
    struct planning *p = data;
    struct pair *pair = pair_of(p, group);
    enum shv_status status =
        pair->holding ? SHV_OK
                      : shv_holding_create(pair->s.model, &pair->s.space, &pair->holding, message);
    if (status != SHV_OK) {
        return status;
    }
    struct progress progress;
    progress_init(&progress, &pair->s.study, p->quiet);
    struct shv_watch watch = progress_watch(&progress, "kits that hold", true);
    status = shv_range_hold(pair->holding, list, count, &watch, message);
    progress_end(&progress);
    p->judged += count;
    return status;
}

static enum shv_status solve(struct planning *p)
{
    size_t first = 0;
    while (!p->pair[first].is_there) { /* there is one: a group has sales */
        first++;
    }
    progress_init(&p->progress, &p->pair[first].s.study, p->quiet);
    log_line(&p->log, "integer programmes: %zu groups, %zu parts", p->kits.problem.group_count,
             p->kits.problem.part_count);
    const struct shv_range_options how = {
        .seconds = (double)p->seconds, .go_on = go_on, .judge = judge, .data = p};
    enum shv_status status = shv_range_solve(&p->kits.problem, &how, &p->result, &p->message);
    progress_end(&p->progress);
    log_line(&p->log, "kits that hold: asked of %zu", p->judged);
    return status;
}

static enum shv_status make_rows(struct planning *p)
{
    size_t groups = p->kits.problem.group_count;
    enum shv_status status = SHV_OK;
    p->row = calloc(groups + 1, sizeof *p->row);
    if (!p->row) {
        return shv_fail(&p->message, SHV_NO_MEMORY, "out of memory for the plan");
    }
    for (size_t g = 0; g < groups && status == SHV_OK; g++) {
        const struct cli_study *s = &pair_of(p, g)->s;
        status = shv_range_kits_row(&p->kits, &p->result, p->result.chosen, g, s->model, &s->space,
                                    &p->row[g], &p->message);
        if (status == SHV_OK && shv_range_wants(&p->kits, &s->study)) {
            status = shv_range_hold_row(s->model, &p->row[g], &p->message);
        }
    }
    return status;
}

/* Tiers of one vehicle and market share what is nearest. */
static enum shv_status look_near(struct planning *p, struct pair *pair)
{
    if (pair->nearest) {
        return SHV_OK;
    }
    pair->nearest = calloc(SHV_NEAREST_MOST, sizeof *pair->nearest);
    if (!pair->nearest) {
        return shv_fail(&p->message, SHV_NO_MEMORY, "out of memory for the nearest kits");
    }
    progress_init(&p->progress, &pair->s.study, p->quiet);
    struct shv_watch watch = progress_watch(&p->progress, "nearest kits", true);
    enum shv_status status = shv_nearest_find(pair->s.model, &pair->s.space, &watch, pair->nearest,
                                              &pair->nearest_count, &p->message);
    progress_end(&p->progress);
    return status;
}

/* Of every group without a kit that keeps the limits. */
static enum shv_status find_nearest(struct planning *p)
{
    size_t groups = p->kits.problem.group_count;
    enum shv_status status = SHV_OK;
    p->nearest = calloc(groups + 1, sizeof *p->nearest);
    if (!p->nearest) {
        return shv_fail(&p->message, SHV_NO_MEMORY, "out of memory for the nearest kits");
    }
    for (size_t g = 0; g < groups && status == SHV_OK; g++) {
        struct pair *pair = pair_of(p, g);
        if (p->kits.problem.group[g].count == 0) {
            status = look_near(p, pair);
            p->nearest[g] = (struct shv_range_nearest){&pair->s.study, &pair->s.space,
                                                       pair->nearest, pair->nearest_count};
        }
    }
    return status;
}

static enum shv_status draw_pages(struct planning *p)
{
    struct shv_pages pages;
    if (p->no_report) {
        return SHV_OK;
    }
    enum shv_status status = shv_report_pages(p->folder, NULL, &pages, &p->message);
    if (status == SHV_OK) {
        status = cli_tell_pages("plan", &pages, &p->message);
        printf("Open %s/report.html to see them.\n", p->folder);
    }
    return status;
}

/* Files first, then the journals may go, then the table. */
static enum shv_status write_plan(struct planning *p, bool is_done)
{
    const struct shv_range_run run = {&p->file, &p->kits, &p->result, p->row, p->nearest};
    enum shv_status status = SHV_OK;
    if (p->row) {
        status = shv_report_range(&run, p->folder, &p->message);
    }
    for (size_t i = 0; i < pairs(p) && status == SHV_OK && is_done; i++) {
        status = p->pair[i].journal ? shv_journal_finish(p->pair[i].journal, &p->message) : SHV_OK;
    }
    if (status == SHV_OK) {
        status = shv_report_range_table(&run, stdout, &p->message);
    }
    if (status == SHV_OK && p->row) {
        printf("\nResults are in %s\n", p->folder);
        status = draw_pages(p);
    }
    return status;
}

static enum shv_status work(struct planning *p)
{
    enum shv_status status = cli_make_folders(p->folder, 0777, &p->message);
    if (status != SHV_OK) {
        return status;
    }
    log_open(&p->log, "plan", p->folder, p->resume);
    log_line(&p->log, "start: sheave %s, %s, %d threads", shv_version(), p->file.path,
             omp_get_max_threads());
    status = do_pairs(p);
    if (status != SHV_OK) {
        return status;
    }
    struct shv_message found;
    enum shv_status solved = solve(p);
    found = p->message;
    if (solved != SHV_OK && solved != SHV_NOTHING && solved != SHV_STOPPED) {
        return solved;
    }
    if (p->result.chosen != SHV_NONE) {
        status = make_rows(p);
    } else if (solved == SHV_STOPPED) {
        return solved;
    } else {
        status = find_nearest(p);
    }
    if (status == SHV_OK) {
        status = write_plan(p, solved != SHV_STOPPED);
    }
    if (status == SHV_OK) {
        p->message = found;
    }
    return status == SHV_OK ? solved : status;
}

/* ---- the end ---- */

static void tell_stop(struct planning *p)
{
    const char *kept = "what is done of the sweeps is kept, --resume goes on with it";
    if (p->row) {
        cli_error("plan", "interrupted; the best plan so far is written; %s", kept);
    } else {
        cli_error("plan", "interrupted; %s", kept);
    }
}

static void plan_free(struct planning *p)
{
    for (size_t i = 0; p->pair && i < pairs(p); i++) {
        struct pair *pair = &p->pair[i];
        free(pair->nearest);
        shv_holding_free(pair->holding);
        /* The model counts its tables by the fuels to choose from: it goes before they change. */
        shv_model_free(pair->s.model);
        pair->s.model = NULL;
        if (pair->is_there) {
            pair->s.study.fuel_count = pair->fuels_owned;
        }
        cli_unload(&pair->s);
    }
    free(p->pair);
    free(p->row);
    free(p->nearest);
    shv_range_result_free(&p->result);
    if (p->kits.file) {
        shv_range_kits_free(&p->kits);
    }
    shv_range_file_free(&p->file);
}

/* Returns the status that the plan ends with. */
static enum shv_status close_journals(struct planning *p, enum shv_status status)
{
    for (size_t i = 0; i < pairs(p); i++) {
        struct shv_message said;
        enum shv_status closed = shv_journal_close(p->pair[i].journal, &said);
        p->pair[i].journal = NULL;
        if (closed != SHV_OK && (status == SHV_OK || status == SHV_NOTHING)) {
            status = closed;
            p->message = said;
        }
    }
    return status;
}

static int end(struct planning *p, enum shv_status status)
{
    status = close_journals(p, status);
    if (status == SHV_STOPPED) {
        tell_stop(p);
    } else if (status != SHV_OK) {
        cli_error("plan", "%s", p->message.text);
    }
    log_line(&p->log, "end: %s, %.1f s", status == SHV_OK ? "done" : p->message.text,
             seconds_now() - p->started);
    log_close(&p->log);
    return cli_exit_code(status);
}

static int run(int argc, char **argv)
{
    struct planning p = {.log = {.descriptor = -1}, .result = {.chosen = SHV_NONE}};
    const char *path;
    p.started = seconds_now();
    int code = cli_parse(&cli_plan, argc, argv, &p, &path);
    code = code < 0 ? cli_journal_check("plan", p.resume, p.anew, &p.tables) : code;
    code = code < 0 ? cli_start("plan", p.threads) : code;
    if (code >= 0) {
        return code;
    }
    code = load_range(&p, path);
    code = code < 0 ? load_pairs(&p) : code;
    if (code < 0) {
        p.folder = p.folder ? p.folder : p.file.folder;
        code = end(&p, work(&p));
    }
    plan_free(&p);
    return code;
}

int cli_check_range(const char *path)
{
    struct planning p = {.log = {.descriptor = -1}, .result = {.chosen = SHV_NONE}};
    int code = load_range(&p, path);
    code = code < 0 ? load_pairs(&p) : code;
    if (code < 0) {
        printf("%s\nA range of %zu vehicles in %zu markets, %zu tiers. Studies and parts read; "
               "sheave plan would make the kits.\n",
               path, p.file.vehicle_count, p.file.market_count, p.file.tier_count);
        code = CLI_DONE;
    }
    plan_free(&p);
    return code;
}

const struct cli_command cli_plan = {
    "plan",
    "RANGE",
    "choose the parts that a product range stocks, and a kit for each group of customers",
    "Sweeps every vehicle of the range in every market, and chooses the parts to stock and one kit "
    "for\n"
    "each vehicle, market and tier, so that few different parts serve all of them well: an "
    "integer\n"
    "programme, solved to proven optimality for every number of parts. Prints who gets what, the "
    "stock\n"
    "and what each further part would buy, and writes range.csv, stock.csv and curve.csv; where "
    "sales are\n"
    "not certain, also what knowing them would be worth (scenarios.csv).\n\n"
    "When not every group can be served, it says which, and which requirement stands against it "
    "(exit\n"
    "code 1).\n\n"
    "What is done of each sweep is kept in journals below sweeps/ in the folder. After Ctrl-C or a "
    "crash,\n"
    "the same command with --resume goes on from there; so it does, without any new sweep, after "
    "changes\n"
    "to sales, tiers and stock. An interruption of the integer programmes writes the best plan so "
    "far and\n"
    "how much better there may be one.\n\n"
    "With the closed cycle, tables of it are built before each sweep, a few seconds each, and kept "
    "for the\n"
    "next time in $XDG_CACHE_HOME/sheave, else in $HOME/.cache/sheave.\n",
    options,
    true,
    .run = run};
