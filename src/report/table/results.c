/* Reading a results folder (src/report/table/results.h). */
#include "report/table/results.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/table/whole.h"
#include "report/write/columns.h"

/* By way of a text, as libconfig tells no reason when it can't open a file. SHV_NOTHING when there
 * is none. */
static enum shv_status read_manifest(struct report_results *r, struct shv_message *message)
{
    char *text, *path;
    enum shv_status status = report_whole_read(r->folder, "manifest.cfg", &text, &path, message);
    if (status == SHV_OK && !config_read_string(&r->manifest, text)) {
        status = shv_fail(message, SHV_BAD_INPUT, "%s, line %d: %s", path,
                          config_error_line(&r->manifest), config_error_text(&r->manifest));
    }
    free(text);
    free(path);
    return status;
}

static void take_manifest(struct report_results *r)
{
    r->units = strcmp(report_results_text(r, "study.units", ""), "US") == 0 ? SHV_US : SHV_METRIC;
    r->title = report_results_text(r, "study.title", "");
    r->currency = report_results_text(r, "objective.currency", "");
    r->objective_column = report_results_text(r, "objective.column", "");
    r->objective_words = report_results_text(r, "objective.words", "");
}

static enum shv_status read_study(struct report_results *r, struct shv_message *message)
{
    char *path;
    enum shv_status status = report_whole_read(r->folder, "study.txt", &r->study, &path, message);
    free(path);
    return status == SHV_NOTHING ? SHV_OK : status;
}

#define AT(member) offsetof(struct report_results, member)

static const struct {
    const char *name;
    size_t at; /* of its struct report_records */
} files[] = {{"ranked.csv", AT(ranked)},
             {"curves.csv", AT(curves)},
             {"stock_engine.csv", AT(stock)},
             {"limits.csv", AT(limits)},
             {"parts.csv", AT(parts)},
             {"rejected.csv", AT(rejected)},
             {"optimum.csv", AT(optimum)},
             {"map.csv", AT(map)},
             {"islands.csv", AT(islands)},
             {"tradeoffs.csv", AT(tradeoffs)},
             {"sure.csv", AT(sure)},
             {"sensitivities.csv", AT(sensitivities)},
             {"worth_knowing.csv", AT(worth_knowing)},
             {"nearest.csv", AT(nearest)},
             {"limit_worth.csv", AT(limit_worth)},
             {"serving.csv", AT(serving)},
             {"sites.csv", AT(sites)},
             {"range.csv", AT(range)},
             {"stock.csv", AT(shelf)},
             {"curve.csv", AT(plan)},
             {"scenarios.csv", AT(scenarios)}};
#define FILES (sizeof files / sizeof *files)

static struct report_records *records_of(struct report_results *results, size_t file)
{
    return (struct report_records *)((char *)results + files[file].at);
}

bool report_results_is_range(const struct report_results *results)
{
    return results->plan.rows > 0 && !config_lookup(&results->manifest, "program");
}

/* The tables of a range plan tell their units by their columns. */
static void take_range_units(struct report_results *r)
{
    bool us = report_records_find(&r->plan, "value_power_hp") != REPORT_NO_COLUMN;
    r->units = us ? SHV_US : SHV_METRIC;
}

enum shv_status report_results_read(const char *folder, struct report_results *results,
                                    struct shv_message *message)
{
    *results = (struct report_results){.folder = folder};
    config_init(&results->manifest);
    enum shv_status found = read_manifest(results, message);
    enum shv_status status = found == SHV_NOTHING ? SHV_OK : found;
    take_manifest(results);
    for (size_t i = 0; status == SHV_OK && i < FILES; i++) {
        status = report_records_read(folder, files[i].name, records_of(results, i), message);
        status = status == SHV_NOTHING ? SHV_OK : status;
    }
    if (status == SHV_OK && found == SHV_NOTHING) {
        take_range_units(results);
        return report_results_is_range(results)
                   ? SHV_OK
                   : shv_fail(message, SHV_BAD_INPUT,
                              "%s holds no results: there is no manifest.cfg in it", folder);
    }
    return status == SHV_OK ? read_study(results, message) : status;
}

void report_results_free(struct report_results *results)
{
    for (size_t i = 0; i < FILES; i++) {
        report_records_free(records_of(results, i));
    }
    config_destroy(&results->manifest);
    free(results->study);
    results->study = NULL;
}

const char *report_results_text(const struct report_results *results, const char *path,
                                const char *otherwise)
{
    const char *text;
    return config_lookup_string(&results->manifest, path, &text) ? text : otherwise;
}

double report_results_number(const struct report_results *results, const char *path)
{
    const config_setting_t *setting = config_lookup(&results->manifest, path);
    if (!setting) {
        return NAN;
    }
    switch (config_setting_type(setting)) {
    case CONFIG_TYPE_INT:
        return config_setting_get_int(setting);
    case CONFIG_TYPE_INT64:
        return (double)config_setting_get_int64(setting);
    case CONFIG_TYPE_FLOAT:
        return config_setting_get_float(setting);
    default:
        return NAN;
    }
}

const char *report_results_unit(const struct report_results *results, enum report_measure measure)
{
    return measure == REPORT_MONEY ? results->currency
                                   : report_unit(measure, results->units)->label;
}

const char *report_results_ranked_by(const struct report_results *results)
{
    size_t stem = strlen("objective");
    bool known = strncmp(results->objective_column, "objective_", stem + 1) == 0;
    return known ? results->objective_column + stem : "";
}

enum report_measure report_results_ranked_measure(const struct report_results *results)
{
    for (int i = 0; i < REPORT_OBJECTIVE_KINDS; i++) {
        const struct report_objective_kind *kind =
            report_objective_kind((enum shv_objective_kind)i);
        char name[REPORT_NAME_MAX];
        (void)snprintf(name, sizeof name, "%s%s", kind->word,
                       report_unit(kind->measure, results->units)->suffix);
        if (strcmp(name, report_results_ranked_by(results)) == 0) {
            return kind->measure;
        }
    }
    return REPORT_NUMBER;
}

size_t report_results_sites(const struct report_results *results, const char **site, size_t most)
{
    const struct report_records *r = results->stock.rows > 0 ? &results->stock : &results->curves;
    size_t column = report_records_find(r, "site"), count = 0;
    for (size_t i = 0; i < r->rows; i++) {
        const char *name = report_records_text(r, i, column);
        size_t known = 0;
        while (known < count && strcmp(name, site[known]) != 0) {
            known++;
        }
        if (known == count && count < most) {
            site[count++] = name;
        }
    }
    return count;
}

size_t report_results_ranks(const struct report_results *results, size_t *rank, size_t most)
{
    const struct report_records *curves = &results->curves;
    size_t column = report_records_find(curves, "rank"), count = 0;
    double last = 0.0;
    for (size_t i = 0; i < curves->rows && most > 0; i++) {
        double value = report_records_number(curves, i, column);
        if (value > last && value <= 1e9) {
            last = value;
            count += count < most ? 1 : 0;
            rank[count - 1] = (size_t)value;
        }
    }
    return count;
}

size_t report_results_kits(const struct report_results *results)
{
    const struct report_records *curves = &results->curves;
    size_t column = report_records_find(curves, "rank"), kits = 0;
    for (size_t i = 0; i < curves->rows; i++) {
        kits += report_records_number(curves, i, column) == (double)(kits + 1) ? 1 : 0;
    }
    return kits;
}

size_t report_results_to_sell(const struct report_results *results)
{
    const struct report_records *ranked = &results->ranked;
    size_t column = report_records_find(ranked, "role");
    for (size_t i = 0; i < ranked->rows; i++) {
        const char *role = report_records_text(ranked, i, column);
        if (strcmp(role, "kit to sell") == 0 || strcmp(role, "both") == 0) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

size_t report_results_lead(const struct report_results *results)
{
    size_t sell = report_results_to_sell(results);
    return sell == REPORT_NO_COLUMN ? 1 : sell + 1;
}

size_t report_results_sure_to_sell(const struct report_results *results)
{
    size_t sell = report_results_to_sell(results),
           index = report_records_find(&results->sure, "index");
    double wanted =
        sell == REPORT_NO_COLUMN ? NAN : report_cell_number(&results->ranked, sell, "index");
    for (size_t i = 0; i < results->sure.rows; i++) {
        if (report_records_number(&results->sure, i, index) == wanted) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

size_t report_results_reasons(const struct report_results *results,
                              struct report_row_value list[REPORT_REASONS])
{
    const struct report_records *r = &results->rejected;
    size_t kind = report_records_find(r, "kind");
    size_t combinations = report_records_find(r, "combinations"), count = 0;
    for (size_t i = 0; i < r->rows && count < REPORT_REASONS; i++) {
        double number = report_records_number(r, i, combinations);
        if (number > 0.0 && strcmp(report_records_text(r, i, kind), "total") != 0) {
            list[count++] = (struct report_row_value){i, number};
        }
    }
    report_most_first(list, count);
    return count;
}

size_t report_results_limit(const struct report_results *results, size_t rank, const char *limit)
{
    const struct report_records *limits = &results->limits;
    size_t by_rank = report_records_find(limits, "rank");
    size_t by_limit = report_records_find(limits, "limit");
    for (size_t i = 0; i < limits->rows; i++) {
        if (report_records_number(limits, i, by_rank) == (double)rank &&
            strcmp(report_records_text(limits, i, by_limit), limit) == 0) {
            return i;
        }
    }
    return REPORT_NO_COLUMN;
}

double report_results_bound(const struct report_results *results, size_t rank, const char *limit)
{
    size_t row = report_results_limit(results, rank, limit);
    return report_cell_number(&results->limits, row, "bound");
}
