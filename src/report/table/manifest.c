/* manifest.cfg: what was run, on what, and what came of it, as libconfig text. All that may differ
 * between two runs of one study stands in the group `run`. */
#include <errno.h>
#include <libconfig.h>
#include <string.h>
#include <sys/utsname.h>
#include <unistd.h>

#include "report/write/columns.h"
#include "report/write/file.h"
#include "report/table/hangs.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/rows.h"
#include "report/table/sure.h"
#include "report/table/worth_knowing.h"
#include "sheave/report.h"
#include "sheave/version.h"

/* The adders return false when out of memory (libconfig says no more than that). */

static config_setting_t *add_group(config_setting_t *parent, const char *key)
{
    return config_setting_add(parent, key, CONFIG_TYPE_GROUP);
}

static bool add_text(config_setting_t *group, const char *key, const char *text)
{
    config_setting_t *setting = config_setting_add(group, key, CONFIG_TYPE_STRING);
    return setting && config_setting_set_string(setting, text ? text : "");
}

static bool add_count(config_setting_t *group, const char *key, uint64_t count)
{
    config_setting_t *setting = config_setting_add(group, key, CONFIG_TYPE_INT64);
    return setting && config_setting_set_int64(setting, (long long)count);
}

static bool add_number(config_setting_t *group, const char *key, double value)
{
    config_setting_t *setting = config_setting_add(group, key, CONFIG_TYPE_FLOAT);
    return setting && config_setting_set_float(setting, value);
}

static bool add_study(config_setting_t *root, const struct shv_study *study)
{
    config_setting_t *group = add_group(root, "study");
    return group && add_text(group, "path", study->path) &&
           add_text(group, "title", study->title) && add_text(group, "sha256", study->sha256) &&
           add_text(group, "sha256_all", study->sha256_all) &&
           add_text(group, "units", study->results.units == SHV_US ? "US" : "metric");
}

static bool add_space(config_setting_t *root, const struct shv_run *run)
{
    config_setting_t *group = add_group(root, "space");
    bool good = group && add_count(group, "combinations", run->space->size);
    for (int i = 0; good && i < SHV_DIM_COUNT; i++) {
        good = add_count(group, shv_dim_info((enum shv_dim)i)->name, run->space->count[i]);
    }
    return good && add_count(group, "sites", run->study->site_count) &&
           add_count(group, "speeds", run->study->engine.speed_count);
}

static bool add_limits(config_setting_t *parent, const char *key,
                       const uint64_t count[SHV_LIMIT_COUNT])
{
    config_setting_t *group = add_group(parent, key);
    bool good = group;
    for (int i = 0; good && i < SHV_LIMIT_COUNT; i++) {
        good = add_count(group, shv_limit_info((enum shv_limit)i)->name, count[i]);
    }
    return good;
}

static bool add_counts(config_setting_t *root, const struct shv_sweep_counts *counts)
{
    config_setting_t *group = add_group(root, "counts");
    bool good = group && add_count(group, "total", counts->total) &&
                add_count(group, "feasible", counts->feasible);
    config_setting_t *failed = good ? add_group(group, "failed") : NULL;
    good = failed;
    for (int i = SHV_POINT_OK + 1; good && i < SHV_OUTCOME_COUNT; i++) {
        good = add_count(failed, shv_outcome_name((enum shv_outcome)i), counts->failed[i]);
    }
    return good && add_limits(group, "first_broken", counts->first) &&
           add_limits(group, "broken", counts->broken);
}

static bool add_rows(config_setting_t *root, const struct shv_run *run)
{
    config_setting_t *group = add_group(root, "rows");
    return group && add_count(group, "ranked", run->ranking->count) &&
           add_count(group, "kits_in_curves", report_drawn_count(run)) &&
           add_count(group, "optimum", run->optimum_count) &&
           add_count(group, "limit_worth", run->worth_count);
}

/* Under the name of its column in ranked.csv, whose unit and sense it has. */
static bool add_best(config_setting_t *group, const struct shv_run *run)
{
    char column[REPORT_NAME_MAX];
    enum shv_unit_system units = run->study->results.units;
    const struct report_objective_kind *kind = report_objective_kind(run->study->objective.kind);
    (void)snprintf(column, sizeof column, "objective%s%s", kind->word,
                   report_unit(kind->measure, units)->suffix);
    if (!add_text(group, "column", column)) {
        return false;
    }
    if (run->ranking->count == 0) {
        return true;
    }
    double best = report_objective_shown(run->study, run->ranking->item[0].objective);
    return add_number(group, "best", report_shown(kind->measure, units, best));
}

static bool add_objective(config_setting_t *root, const struct shv_run *run)
{
    char words[REPORT_WORDS_MAX];
    config_setting_t *group = add_group(root, "objective");
    return group && add_text(group, "words", report_words_objective(words, run->study)) &&
           (!run->study->currency || add_text(group, "currency", run->study->currency)) &&
           add_best(group, run);
}

/* ---- trade-offs ---- */

static bool add_numbers(config_setting_t *group, const char *key, const double *value, size_t count)
{
    config_setting_t *array = config_setting_add(group, key, CONFIG_TYPE_ARRAY);
    bool good = array;
    for (size_t i = 0; good && i < count; i++) {
        config_setting_t *setting = config_setting_add(array, NULL, CONFIG_TYPE_FLOAT);
        good = setting && config_setting_set_float(setting, value[i]);
    }
    return good;
}

static bool add_front(config_setting_t *list, const struct shv_front *front)
{
    double best[SHV_FRONT_DIMS], worst[SHV_FRONT_DIMS], volume = 0.0, box = 1.0;
    config_setting_t *group = add_group(list, NULL);
    if (!group || !add_count(group, "points", front->count)) {
        return false;
    }
    if (front->count == 0) {
        return true;
    }
    shv_front_range(front, best, worst);
    if (shv_front_hypervolume(front, worst, &volume, NULL) != SHV_OK) {
        return false;
    }
    for (size_t k = 0; k < front->dims; k++) {
        box *= best[k] - worst[k];
    }
    return add_numbers(group, "best", best, front->dims) &&
           add_numbers(group, "reference", worst, front->dims) &&
           add_number(group, "hypervolume", volume) &&
           add_number(group, "hypervolume_share", box > 0.0 ? volume / box : 0.0);
}

static bool add_tradeoffs(config_setting_t *root, const struct shv_run *run)
{
    if (run->study->tradeoff_count == 0) {
        return true;
    }
    config_setting_t *list = config_setting_add(root, "tradeoffs", CONFIG_TYPE_LIST);
    bool good = list;
    for (size_t i = 0; good && i < run->study->tradeoff_count; i++) {
        good = add_front(list, &run->keep->front[i]);
    }
    return good;
}

/* ---- the closed cycle and its tables ---- */

static bool add_tie(config_setting_t *group, const struct shv_run *run)
{
    const struct shv_engine *engine = &run->study->engine;
    size_t least = 0, most = 0;
    for (size_t i = 1; i < engine->speed_count; i++) {
        double factor = shv_model_tie_factor(run->model, i);
        least = factor < shv_model_tie_factor(run->model, least) ? i : least;
        most = factor > shv_model_tie_factor(run->model, most) ? i : most;
    }
    return add_number(group, "tie_least", shv_model_tie_factor(run->model, least)) &&
           add_number(group, "tie_least_rpm", engine->speeds[least] * 60.0) &&
           add_number(group, "tie_most", shv_model_tie_factor(run->model, most)) &&
           add_number(group, "tie_most_rpm", engine->speeds[most] * 60.0);
}

static bool add_error(config_setting_t *parent, const char *key,
                      const struct shv_cycle_table_error *error)
{
    config_setting_t *group = add_group(parent, key);
    return group && add_number(group, "efficiency_pct", 100.0 * error->efficiency) &&
           add_number(group, "ca50_deg", error->ca50) &&
           add_number(group, "peak_pressure_pct", 100.0 * error->peak_pressure);
}

static bool add_quality(config_setting_t *group, const struct shv_cycle_table *table)
{
    return add_count(group, "pressure_nodes", table->axis[SHV_CYCLE_PRESSURE].nodes) &&
           add_count(group, "temperature_nodes", table->axis[SHV_CYCLE_TEMPERATURE].nodes) &&
           add_count(group, "ca50_nodes", table->axis[SHV_CYCLE_CA50].nodes) &&
           add_count(group, "rounds", table->quality.rounds) &&
           add_count(group, "compared", table->quality.compared) &&
           add_error(group, "error_random", &table->quality.random);
}

static bool add_table(config_setting_t *list, const struct shv_run *run, size_t index)
{
    struct shv_table_place place = shv_model_table_place(run->model, index);
    const struct shv_cycle_table *table = shv_model_table(run->model, index);
    config_setting_t *group = add_group(list, NULL);
    return group && add_text(group, "fuel", run->study->fuels[place.fuel].name) &&
           add_number(group, "lambda", run->study->numbers[SHV_DIM_LAMBDA].values[place.lambda]) &&
           add_text(group, "site", run->study->sites[place.site].name) &&
           (!table || add_quality(group, table));
}

/* Only with the closed cycle. */
static bool add_cycle(config_setting_t *root, const struct shv_run *run)
{
    size_t count = shv_model_table_count(run->model);
    if (count == 0) {
        return true;
    }
    config_setting_t *group = add_group(root, "cycle");
    bool good = group && add_tie(group, run);
    config_setting_t *list = good ? config_setting_add(group, "tables", CONFIG_TYPE_LIST) : NULL;
    good = list;
    for (size_t i = 0; good && i < count; i++) {
        good = add_table(list, run, i);
    }
    return good;
}

/* Under which key of the kept tables each one is, and whether it came from there; in the order of
 * cycle.tables. */
static bool add_sources(config_setting_t *run_group, const struct shv_run *run)
{
    size_t count = shv_model_table_count(run->model);
    if (count == 0 || !run->tables) {
        return true;
    }
    config_setting_t *list = config_setting_add(run_group, "tables", CONFIG_TYPE_LIST);
    bool good = list;
    for (size_t i = 0; good && i < count; i++) {
        config_setting_t *group = add_group(list, NULL);
        good = group && add_text(group, "key", run->tables[i].build.key) &&
               add_text(group, "from_file", run->tables[i].build.from_file ? "yes" : "no");
    }
    return good;
}

const char *shv_stage_name(enum shv_stage stage)
{
    static const char *const names[] = {[SHV_STAGE_NONE] = "none",
                                        [SHV_STAGE_LEFT_OUT] = "left_out",
                                        [SHV_STAGE_TO_COME] = "to_come",
                                        [SHV_STAGE_DONE] = "done"};
    return names[stage];
}

/* What else there is besides the sweep. */
static bool add_stages(config_setting_t *root, const struct shv_run *run)
{
    config_setting_t *group = add_group(root, "stages");
    return group && add_text(group, "search", shv_stage_name(run->search)) &&
           add_text(group, "certainty", shv_stage_name(run->certainty));
}

/* What the strongest on paper hangs on, the nearest rival first. */
static bool add_hangs(config_setting_t *group, const struct shv_run *run)
{
    const struct shv_rival *nearest = report_nearest_rival(run);
    char words[REPORT_HANGS_MAX];
    if (!nearest) {
        return true;
    }
    report_hangs_sentence(run->study, nearest, words);
    bool good = add_text(group, "hangs_on", words);
    for (size_t i = 0; good && i < run->sure->rivals; i++) {
        if (&run->sure->rival[i] != nearest) {
            report_hangs_sentence(run->study, &run->sure->rival[i], words);
            good = add_text(group, "hangs_on_as_well", words);
        }
    }
    return good;
}

/* Which kit is which, by its number in the space; each where there is one. */
static bool add_kits(config_setting_t *root, const struct shv_run *run)
{
    const struct shv_sure *sell = report_kit_to_sell(run);
    config_setting_t *group = add_group(root, "kits");
    bool good = group;
    if (good && run->ranking->count > 0) {
        good = add_count(group, "strongest_on_paper", run->ranking->item[0].index);
    }
    if (good && run->sure && run->sure->count > 0 && run->sure->row[0].kind == SHV_SURE_RANKED) {
        good =
            add_number(group, "strongest_on_paper_holds_pct", 100.0 * run->sure->row[0].all.value);
    }
    if (good && run->sure && run->sure->asked) {
        good = add_number(group, "wanted_pct", 100.0 * run->study->tolerances.hold);
    }
    if (good && sell) {
        good = add_count(group, "kit_to_sell", sell->index) &&
               add_number(group, "kit_to_sell_holds_pct", 100.0 * sell->all.value);
    }
    char words[REPORT_KNOWING_MAX];
    if (good && report_knowing_sentence(run, words)) {
        good = add_text(group, "measure_first", words);
    }
    return good && add_hangs(group, run);
}

static bool add_run(config_setting_t *root, const struct shv_run *run)
{
    struct utsname machine;
    bool named = uname(&machine) >= 0; /* else left empty */
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    config_setting_t *group = add_group(root, "run");
    return group && add_text(group, "started", run->started) &&
           add_text(group, "options", run->options) &&
           add_text(group, "system", named ? machine.sysname : "") &&
           add_text(group, "machine", named ? machine.machine : "") &&
           add_count(group, "processors", processors > 0 ? (uint64_t)processors : 0) &&
           add_count(group, "threads", run->threads > 0 ? (uint64_t)run->threads : 0) &&
           add_number(group, "seconds_tables", run->seconds_tables) &&
           add_number(group, "seconds_sweep", run->seconds_sweep) &&
           add_number(group, "seconds_search", run->seconds_search) &&
           add_number(group, "seconds_total", run->seconds_total) && add_sources(group, run);
}

static bool fill(config_t *config, const struct shv_run *run)
{
    config_setting_t *root = config_root_setting(config);
    return add_text(root, "program", "sheave") && add_text(root, "version", shv_version()) &&
           add_study(root, run->study) && add_space(root, run) && add_counts(root, run->counts) &&
           add_rows(root, run) && add_stages(root, run) && add_kits(root, run) &&
           add_objective(root, run) && add_tradeoffs(root, run) && add_cycle(root, run) &&
           add_run(root, run);
}

static enum shv_status write_config(const config_t *config, const char *folder,
                                    struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "manifest.cfg", message);
    if (status != SHV_OK) {
        return status;
    }
    errno = 0; /* config_write tells nothing; a failed write of its own sets errno */
    config_write(config, file.stream);
    return report_file_finish(&file, !ferror(file.stream), message);
}

enum shv_status shv_report_manifest(const struct shv_run *run, const char *folder,
                                    struct shv_message *message)
{
    config_t config;
    config_init(&config);
    enum shv_status status =
        fill(&config, run) ? write_config(&config, folder, message)
                           : shv_fail(message, SHV_NO_MEMORY, "out of memory for manifest.cfg");
    config_destroy(&config);
    return status;
}
