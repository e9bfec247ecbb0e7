/* manifest.cfg: what was run, on what, and what came of it, as libconfig text. All that may differ
 * between two runs of one study stands in the group `run`. */
#include <errno.h>
#include <libconfig.h>
#include <string.h>
#include <sys/utsname.h>
#include <unistd.h>

#include "report/file.h"
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
        good = add_count(group, shv_dim_name((enum shv_dim)i), run->space->count[i]);
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
    size_t curves = run->study->results.curves;
    config_setting_t *group = add_group(root, "rows");
    return group && add_count(group, "ranked", run->ranking->count) &&
           add_count(group, "kits_in_curves",
                     curves < run->ranking->count ? curves : run->ranking->count) &&
           add_count(group, "optimum", run->optimum_count);
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
           add_number(group, "seconds_sweep", run->seconds_sweep) &&
           add_number(group, "seconds_search", run->seconds_search) &&
           add_number(group, "seconds_total", run->seconds_total);
}

static bool fill(config_t *config, const struct shv_run *run)
{
    config_setting_t *root = config_root_setting(config);
    return add_text(root, "program", "sheave") && add_text(root, "version", shv_version()) &&
           add_study(root, run->study) && add_space(root, run) && add_counts(root, run->counts) &&
           add_rows(root, run) && add_run(root, run);
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
