/* The group `fit`: measurements, what stood on the dynamometer, and what may change (checks.h). */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheave/drive.h"
#include "study/catalog.h"
#include "study/checks.h"

#define ONE_OF(list) "the name of one of this study's " list
#define BY_CYCLE "engine.efficiency.model = \"cycle\""

/* One log as it is checked. */
struct look {
    struct reader *reader;
    const config_setting_t *setting; /* of the log */
    const struct draft *draft;
    struct log_draft *log;
};

/* ---- names ---- */

static void tell_open(const struct look *look, const char *key, size_t count)
{
    reader_error(look->reader, look->setting, key,
                 "found nothing; accepted: which of the study's %zu choices stood there", count);
}

/* The part of a name, or the only one. */
static void choose_part(const struct look *look, const char *key, const char *name,
                        enum entries entries, const char *accepted, size_t *index)
{
    size_t count = look->reader->chosen[entries].count;
    if (name != NULL) {
        *index = catalog_choose(look->reader, look->setting, key, entries, name, accepted);
    } else if (count > 1 && !is_given(look->setting, key)) {
        tell_open(look, key, count);
    }
}

/* The number given, or the only choice of the study. */
static void choose_number(const struct look *look, const char *key,
                          const struct shv_numbers *choices, double given, double *value)
{
    *value = given;
    if (is_given(look->setting, key) || choices->count == 0) {
        return;
    }
    *value = choices->values[0];
    if (choices->count > 1) {
        tell_open(look, key, choices->count);
    }
}

/* ---- the kit ---- */

static void choose_drive(const struct look *look)
{
    static const char *const pulleys[] = {"crank_pulley", "blower_pulley", NULL};
    const struct draft *draft = look->draft;
    struct shv_kit *kit = &look->log->log.kit;
    kit->crank_diameter = kit->blower_diameter = NAN;
    if (is_given(look->setting, "ratio")) {
        reject_given(look->reader, look->setting, pulleys, "no ratio");
        kit->ratio = look->log->ratio;
        return;
    }
    choose_number(look, "crank_pulley", &draft->study.numbers[SHV_DIM_CRANK_PULLEY],
                  look->log->crank, &kit->crank_diameter);
    choose_number(look, "blower_pulley", &draft->study.numbers[SHV_DIM_BLOWER_PULLEY],
                  look->log->pulley, &kit->blower_diameter);
    kit->ratio =
        shv_drive_ratio(kit->crank_diameter, kit->blower_diameter, draft->study.drive.line_offset);
}

static void choose_cooler(const struct look *look)
{
    static const char *const effectiveness[] = {"effectiveness", NULL};
    struct shv_kit *kit = &look->log->log.kit;
    const char *name = look->log->cooler;
    if (name == NULL || strcmp(name, "none") == 0) {
        reject_given(look->reader, look->setting, effectiveness, "a cooler");
        return;
    }
    size_t index = catalog_choose(look->reader, look->setting, "cooler", ENTRIES_COOLERS, name,
                                  ONE_OF("coolers"));
    if (index == SIZE_MAX) {
        return;
    }
    const struct cooler_draft *drafts = (const void *)look->reader->chosen[ENTRIES_COOLERS].drafts;
    kit->cooler = index + 1; /* "none" stands ahead of them */
    const struct shv_cooler *cooler = &drafts[index].cooler;
    choose_number(look, "effectiveness", &cooler->effectiveness, look->log->effectiveness,
                  &kit->effectiveness);
    if (isfinite(kit->effectiveness) &&
        isinf(shv_cooler_ntu(cooler->arrangement, kit->effectiveness,
                             shv_cooler_rated_ratio(cooler)))) {
        reader_error(look->reader, look->setting, "effectiveness",
                     "found %.10g; accepted: what the cooler can reach with its coolant flow",
                     kit->effectiveness);
    }
}

static bool has_channel(const struct shv_measured_log *log, enum shv_channel channel)
{
    return shv_measured_find(log, channel) != SIZE_MAX;
}

/* By the log itself, else by what its entry says. */
static void choose_mixture(const struct look *look, struct shv_kit *kit)
{
    static const char *const lambda[] = {"lambda", NULL}, *const both[] = {"lambda", "afr", NULL};
    const struct parts *fuels = &look->reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    look->log->log.stoichiometric =
        kit->fuel < fuels->count ? drafts[kit->fuel].fuel.stoichiometric : NAN;
    bool by_lambda = has_channel(&look->log->log, SHV_CHANNEL_LAMBDA);
    if (by_lambda || has_channel(&look->log->log, SHV_CHANNEL_AIR_FUEL_RATIO)) {
        reject_given(look->reader, look->setting, both, "no column of the mixture");
        if (by_lambda && has_channel(&look->log->log, SHV_CHANNEL_AIR_FUEL_RATIO)) {
            reader_error(look->reader, look->setting, "columns",
                         "found lambda and air_fuel_ratio; accepted: one of the two");
        }
        kit->lambda = NAN; /* known when the log is read */
        return;
    }
    if (isfinite(look->log->afr) && kit->fuel < fuels->count) {
        reject_given(look->reader, look->setting, lambda, "no afr");
        kit->lambda = lambda_of_afr(look->reader, look->setting, look->log->afr,
                                    drafts[kit->fuel].fuel.stoichiometric);
        return;
    }
    choose_number(look, "lambda", &look->draft->study.numbers[SHV_DIM_LAMBDA], look->log->lambda,
                  &kit->lambda);
}

static void choose_kit(const struct look *look)
{
    struct shv_kit *kit = &look->log->log.kit;
    choose_part(look, "blower", look->log->blower, ENTRIES_BLOWERS, ONE_OF("blowers"),
                &kit->blower);
    choose_drive(look);
    choose_cooler(look);
    choose_part(look, "fuel", look->log->fuel, ENTRIES_FUELS, ONE_OF("fuels"), &kit->fuel);
    choose_mixture(look, kit);
    const struct shv_numbers *margins = &look->draft->study.numbers[SHV_DIM_IGNITION_MARGIN];
    choose_number(look, "ignition_margin", margins, look->log->ignition_margin,
                  &kit->ignition_margin);
    if (margins->count == 0 && isnan(kit->ignition_margin)) {
        kit->ignition_margin = 0.0;
    }
}

static void choose_what_stood(const struct look *look)
{
    static const char *const of_kit[] = {
        "crank_pulley", "blower_pulley", "ratio", "cooler",          "effectiveness",
        "fuel",         "lambda",        "afr",   "ignition_margin", NULL};
    static const char *const of_engine[] = {"power_share", "throttle_least", "fall", "bin", NULL};
    static const char *const blower[] = {"blower", NULL};
    struct shv_kit *kit = &look->log->log.kit;
    kit->crank_diameter = kit->blower_diameter = NAN;
    if (look->log->log.kind == SHV_LOG_OF_KIT) {
        choose_kit(look);
        return;
    }
    reject_given(look->reader, look->setting, of_kit, "kind = \"kit\"");
    if (look->log->log.kind == SHV_LOG_OF_STOCK) {
        reject_given(look->reader, look->setting, blower, "kind = \"kit\" or \"bench\"");
        return;
    }
    reject_given(look->reader, look->setting, of_engine, "kind = \"kit\" or \"stock\"");
    choose_part(look, "blower", look->log->blower, ENTRIES_BLOWERS, ONE_OF("blowers"),
                &kit->blower);
}

/* ---- the air ---- */

static void find_air(const struct look *look)
{
    const struct parts *sites = &look->reader->chosen[ENTRIES_SITES];
    const struct shv_site *drafts = (const void *)sites->drafts;
    struct log_draft *log = look->log;
    struct shv_ambient *air = &log->log.ambient;
    size_t site = 0;
    if (log->site != NULL) {
        site = catalog_choose(look->reader, look->setting, "site", ENTRIES_SITES, log->site,
                              ONE_OF("sites"));
    }
    if (log->log.kind == SHV_LOG_OF_STOCK && log->site == NULL) {
        *air = look->draft->study.engine.stock;
    } else if (site < sites->count) {
        *air = drafts[site].ambient;
    }
    if (is_given(look->setting, "altitude") && is_given(look->setting, "pressure")) {
        reader_error(look->reader, look->setting, "altitude",
                     "found together with pressure; accepted: one of the two");
    }
    if (isfinite(log->altitude)) {
        air->pressure = shv_atmosphere_pressure(log->altitude);
    }
    air->pressure = isfinite(log->pressure) ? log->pressure : air->pressure;
    air->temperature = isfinite(log->temperature) ? log->temperature : air->temperature;
    air->relative_humidity = isfinite(log->humidity) ? log->humidity : air->relative_humidity;
}

/* ---- columns ---- */

/* How sure a reading of a quantity is, is a difference of two of them. */
static enum shv_quantity difference_of(enum shv_quantity quantity)
{
    switch (quantity) {
    case SHV_Q_TEMPERATURE:
        return SHV_Q_TEMPERATURE_DIFFERENCE;
    case SHV_Q_PRESSURE_ABSOLUTE:
    case SHV_Q_PRESSURE_GAUGE:
        return SHV_Q_PRESSURE_DIFFERENCE;
    default:
        return quantity;
    }
}

static void read_error(const struct look *look, const config_setting_t *setting,
                       struct shv_measured_column *column)
{
    const config_setting_t *error = reader_member(setting, "error");
    const struct key key = {.type = KEY_QUANTITY,
                            .quantity = difference_of(shv_channel_info(column->channel)->quantity),
                            .max = INFINITY};
    if (error != NULL) {
        column->error = reader_quantity(look->reader, &key, error);
    }
}

static void check_column(const struct look *look, const config_setting_t *setting, size_t index)
{
    static const char *const errors[] = {"error", "share", NULL};
    static const char *const run[] = {"unit", NULL};
    const struct shv_measured_log *log = &look->log->log;
    struct shv_measured_column *column = &log->column[index];
    if ((int)column->channel < 0 || (int)log->kind < 0) {
        return; /* told already */
    }
    const struct shv_channel_info *info = shv_channel_info(column->channel);
    enum shv_channel_use use = info->use[log->kind];
    if (use == SHV_CHANNEL_NOT) {
        reader_error(look->reader, setting, "channel",
                     "found \"%s\"; accepted: what a log of kind \"%s\" can hold",
                     shv_channel_info(column->channel)->name, shv_log_kind_names[log->kind]);
    } else if (use == SHV_CHANNEL_CONDITION || use == SHV_CHANNEL_UNUSED) {
        reject_given(look->reader, setting, errors, "a measured channel, which this is not");
    } else {
        read_error(look, setting, column);
    }
    if (column->channel == SHV_CHANNEL_RUN) {
        reject_given(look->reader, setting, run, "numbers");
    }
    if (info->of_cycle && look->draft->study.engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        reader_error(look->reader, setting, "channel",
                     "found \"%s\"; accepted: only with " BY_CYCLE,
                     shv_channel_info(column->channel)->name);
    }
}

static void check_needed(const struct look *look)
{
    const struct shv_measured_log *log = &look->log->log;
    const bool bench = log->kind == SHV_LOG_OF_BENCH;
    enum shv_channel speed = bench ? SHV_CHANNEL_ROTOR_SPEED : SHV_CHANNEL_SPEED;
    size_t measured = 0;
    for (size_t i = 0; i < log->columns; i++) {
        measured += shv_channel_info(log->column[i].channel)->use[log->kind] == SHV_CHANNEL_MEASURED
                        ? 1
                        : 0;
    }
    if (!has_channel(log, speed)) {
        reader_error(look->reader, look->setting, "columns",
                     "found no column of the channel \"%s\"; accepted: a list with one",
                     shv_channel_info(speed)->name);
    }
    if (bench && has_channel(log, SHV_CHANNEL_OUTLET_PRESSURE) +
                         has_channel(log, SHV_CHANNEL_PRESSURE_RATIO) +
                         has_channel(log, SHV_CHANNEL_BOOST) !=
                     1) {
        reader_error(look->reader, look->setting, "columns",
                     "accepted: a list with one of the channels \"outlet_pressure\", "
                     "\"pressure_ratio\" and \"boost\"");
    }
    if (measured == 0) {
        reader_error(look->reader, look->setting, "columns",
                     "found nothing that is measured; accepted: a list with a measured channel, "
                     "such as \"power\"");
    }
}

/* False when a column has no channel or title, which is told already. */
static bool check_columns(const struct look *look)
{
    const struct shv_measured_log *log = &look->log->log;
    const config_setting_t *list = reader_member(look->setting, "columns");
    bool good = log->columns > 0;
    for (size_t i = 0; i < log->columns; i++) {
        check_column(look, config_setting_get_elem(list, (unsigned)i), i);
        good = good && (int)log->column[i].channel >= 0 && log->column[i].column != NULL;
    }
    return good;
}

static void check_log(const struct look *look)
{
    static const char *const throttle[] = {"throttle_least", NULL};
    struct shv_measured_log *log = &look->log->log;
    if ((int)log->kind < 0) {
        return; /* told already */
    }
    choose_what_stood(look);
    find_air(look);
    if (check_columns(look)) {
        check_needed(look);
        if (!has_channel(log, SHV_CHANNEL_THROTTLE)) {
            reject_given(look->reader, look->setting, throttle,
                         "a column of the channel \"throttle\"");
        }
    }
}

static void take_logs(struct reader *reader, const config_setting_t *setting, struct draft *draft)
{
    const config_setting_t *list = reader_member(setting, "logs");
    struct log_draft *logs = draft->logs;
    struct shv_fit_plan *fit = &draft->study.fit;
    for (size_t i = 0; i < draft->log_count; i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        if (config_setting_is_group(entry)) {
            const struct look look = {reader, entry, draft, &logs[i]};
            check_log(&look);
        }
    }
    fit->log = calloc(draft->log_count + 1, sizeof *fit->log);
    if (fit->log == NULL) {
        reader->out_of_memory = true;
        return;
    }
    for (; fit->logs < draft->log_count; fit->logs++) {
        fit->log[fit->logs] = logs[fit->logs].log;
        logs[fit->logs].log = (struct shv_measured_log){0};
    }
}

/* ---- what is free ---- */

static void check_bounds(struct reader *reader, const config_setting_t *setting,
                         struct shv_freed *freed)
{
    static const char *const prior[] = {"prior", NULL};
    const struct shv_correction_info *info = shv_correction_info(freed->correction);
    freed->from = is_given(setting, "from") ? freed->from : info->least;
    freed->to = is_given(setting, "to") ? freed->to : info->most;
    freed->prior = is_given(setting, "prior") ? freed->prior : info->neutral;
    if (freed->from < info->least || freed->to > info->most) {
        reader_error(reader, setting, freed->from < info->least ? "from" : "to",
                     "found %.10g; accepted of %s: %.10g to %.10g",
                     freed->from < info->least ? freed->from : freed->to, info->name, info->least,
                     info->most);
    } else if (freed->to <= freed->from) {
        reader_error(reader, setting, "to", "found %.10g; accepted: more than from, %.10g",
                     freed->to, freed->from);
    }
    if (!is_given(setting, "prior_deviation")) {
        reject_given(reader, setting, prior, "prior_deviation");
    }
}

static void check_free(struct reader *reader, const config_setting_t *entry,
                       const struct draft *draft, size_t index)
{
    struct shv_freed *freed = &draft->study.fit.freed[index];
    bool cycle = draft->study.engine.efficiency_kind == SHV_EFFICIENCY_CYCLE;
    if ((int)freed->correction < 0 || !config_setting_is_group(entry)) {
        return; /* told already */
    }
    const char *name = shv_correction_info(freed->correction)->name;
    if (!cycle &&
        (freed->correction == SHV_CORRECT_KNOCK || freed->correction == SHV_CORRECT_OCTANE)) {
        reader_error(reader, entry, "correction", "found \"%s\"; accepted: only with " BY_CYCLE,
                     name);
    }
    check_bounds(reader, entry, freed);
}

void check_fit(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    const config_setting_t *list = reader_member(setting, "free");
    take_logs(reader, setting, draft);
    for (size_t i = 0; i < draft->study.fit.free; i++) {
        check_free(reader, config_setting_get_elem(list, (unsigned)i), draft, i);
    }
}
