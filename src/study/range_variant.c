/* A vehicle's study in a market (include/sheave/range_file.h). */
#include "sheave/range_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/sha256.h"

/* ---- sites and fuels ---- */

static bool put_sites(struct shv_study *study, const struct shv_range_market *market)
{
    struct shv_site *sites = calloc(market->site_count, sizeof *sites);
    if (sites == NULL) {
        return false;
    }
    for (size_t i = 0; i < study->site_count; i++) {
        free(study->sites[i].name);
    }
    free(study->sites);
    study->sites = sites;
    study->site_count = 0;
    for (size_t i = 0; i < market->site_count; i++) {
        sites[i] = market->sites[i];
        sites[i].name = strdup(market->sites[i].name);
        study->site_count++;
        if (sites[i].name == NULL) {
            return false;
        }
    }
    return true;
}

/* The market's fuel ahead of the study's own, of which the stock engine burns one. */
static bool put_fuel(struct shv_range_variant *v, const struct shv_fuel *fuel)
{
    struct shv_study *study = &v->study;
    struct shv_fuel *fuels = calloc(study->fuel_count + 1, sizeof *fuels);
    char *name = strdup(fuel->name);
    if (fuels == NULL || name == NULL) {
        free(fuels);
        free(name);
        return false;
    }
    fuels[0] = *fuel;
    fuels[0].name = name;
    memcpy(fuels + 1, study->fuels, study->fuel_count * sizeof *fuels);
    free(study->fuels);
    study->fuels = fuels;
    v->fuels_owned = study->fuel_count + 1;
    study->fuel_count = 1;
    study->engine.stock_fuel++;
    return true;
}

/* ---- choices ---- */

static bool put_numbers(struct shv_numbers *numbers, const struct shv_numbers *from)
{
    if (from->count == 0) {
        return true;
    }
    double *copy = malloc(from->count * sizeof *copy);
    if (copy == NULL) {
        return false;
    }
    memcpy(copy, from->values, from->count * sizeof *copy);
    free(numbers->values);
    *numbers = (struct shv_numbers){copy, from->count};
    return true;
}

/* `cores` of a cooler's list, with both ends; its middle for one. */
static void thin_cores(struct shv_cooler *cooler, size_t cores)
{
    double *values = cooler->effectiveness.values;
    size_t n = cooler->effectiveness.count;
    if (cooler->is_none || cores == 0 || n <= cores) {
        return;
    }
    for (size_t i = 0; i < cores; i++) {
        size_t from = cores == 1 ? n / 2 : (2 * i * (n - 1) + cores - 1) / (2 * (cores - 1));
        values[i] = values[from];
    }
    cooler->effectiveness.count = cores;
}

static bool put_choices(struct shv_study *study, const struct shv_range_shelf *shelf)
{
    bool put = true;
    for (size_t i = 0; i < study->cooler_count; i++) {
        thin_cores(&study->coolers[i], shelf->cores);
    }
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        put = put && put_numbers(&study->numbers[d], &shelf->numbers[d]);
    }
    return put;
}

/* What a study wants of its own table is not asked of the range's sweeps, and would speak of fuels
 * that are no choice there. */
static void drop_wishes(struct shv_study *study)
{
    study->tradeoff_count = 0;
    study->serve_count = 0;
}

/* ---- the hash ---- */

static void add_number(struct sha256 *hash, double value)
{
    char text[64];
    int length = snprintf(text, sizeof text, "%a;", value);
    sha256_update(hash, text, length > 0 ? (size_t)length : 0);
}

static void add_numbers(struct sha256 *hash, const struct shv_numbers *numbers)
{
    add_number(hash, (double)numbers->count);
    for (size_t i = 0; i < numbers->count; i++) {
        add_number(hash, numbers->values[i]);
    }
}

static void add_text(struct sha256 *hash, const char *text)
{
    sha256_update(hash, text, strlen(text) + 1);
}

static void add_fuel(struct sha256 *hash, const struct shv_fuel *f)
{
    double values[] = {
        f->stoichiometric, f->heating_value,   f->density,       f->ron,       f->mon,
        f->vaporisation,   f->hydrogen_carbon, f->oxygen_carbon, f->molar_mass};
    const struct shv_numbers numbers = {values, sizeof values / sizeof *values};
    add_text(hash, f->name);
    add_numbers(hash, &numbers);
}

/* Of the study's files and all that was put in. */
static void name_variant(struct shv_study *study)
{
    struct sha256 hash;
    sha256_init(&hash);
    add_text(&hash, "range 2");
    add_text(&hash, study->sha256_all);
    for (size_t i = 0; i < study->site_count; i++) {
        const struct shv_site *s = &study->sites[i];
        double values[] = {s->ambient.pressure, s->ambient.temperature,
                           s->ambient.relative_humidity, s->weight};
        const struct shv_numbers numbers = {values, sizeof values / sizeof *values};
        add_text(&hash, s->name);
        add_numbers(&hash, &numbers);
    }
    add_fuel(&hash, &study->fuels[0]);
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        add_numbers(&hash, &study->numbers[d]);
    }
    for (size_t i = 0; i < study->cooler_count; i++) {
        add_numbers(&hash, &study->coolers[i].effectiveness);
    }
    add_number(&hash, (double)study->objective.kind);
    sha256_finish(&hash, study->sha256_all);
}

/* ---- all of it ---- */

static bool check_power(const struct shv_range_file *file, const struct shv_range_vehicle *vehicle,
                        struct shv_study *study, struct shv_diagnostics *d)
{
    if (vehicle->power == SHV_RANGE_POWER_PEAK) {
        study->objective.kind = SHV_OBJECTIVE_PEAK_POWER;
    }
    if (study->objective.kind == SHV_OBJECTIVE_PEAK_POWER ||
        study->objective.kind == SHV_OBJECTIVE_MEAN_POWER) {
        return true;
    }
    shv_diagnostics_add(d, false,
                        "%s: vehicle \"%s\": found a study whose objective is no power, %s; "
                        "accepted: peak_power or mean_power there, or power = \"peak\" here",
                        file->path, vehicle->name, study->path);
    return false;
}

static bool check_octane(const struct shv_range_file *file, const struct shv_range_vehicle *vehicle,
                         const struct shv_study *study, struct shv_diagnostics *d)
{
    bool cycle = study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE;
    bool needs_mon = cycle && fabs(study->engine.knock.octane_weight) > 0.0;
    const struct shv_fuel *fuel = &study->fuels[0];
    const char *missing = cycle && isnan(fuel->ron)       ? "ron"
                          : needs_mon && isnan(fuel->mon) ? "mon"
                                                          : NULL;
    if (missing != NULL) {
        shv_diagnostics_add(
            d, false,
            "%s: fuel \"%s\": found no %s; it is required with %s, as vehicle \"%s\" "
            "has it",
            file->path, fuel->name, missing,
            missing[0] == 'r' ? "engine.efficiency.model = \"cycle\""
                              : "an engine.knock.octane_weight other than 0",
            vehicle->name);
    }
    return missing == NULL;
}

enum shv_status shv_range_variant_load(const struct shv_range_file *file, size_t vehicle,
                                       size_t market, struct shv_range_variant *variant,
                                       struct shv_diagnostics *diagnostics)
{
    const struct shv_range_vehicle *v = &file->vehicle[vehicle];
    const struct shv_range_market *m = &file->market[market];
    *variant = (struct shv_range_variant){.fuels_owned = 0};
    enum shv_status status = shv_study_load(v->study, &variant->study, diagnostics);
    if (status != SHV_OK) {
        return status;
    }
    variant->fuels_owned = variant->study.fuel_count;
    drop_wishes(&variant->study);
    if (!put_sites(&variant->study, m) || !put_fuel(variant, &file->fuel[m->fuel]) ||
        !put_choices(&variant->study, &v->shelf)) {
        shv_diagnostics_add(diagnostics, false, "%s: no memory", file->path);
        status = SHV_NO_MEMORY;
    } else if (!check_power(file, v, &variant->study, diagnostics) ||
               !check_octane(file, v, &variant->study, diagnostics)) {
        status = SHV_BAD_INPUT;
    }
    if (status == SHV_OK) {
        name_variant(&variant->study);
    } else {
        shv_range_variant_free(variant);
    }
    return status;
}

void shv_range_variant_free(struct shv_range_variant *variant)
{
    variant->study.fuel_count = variant->fuels_owned;
    shv_study_free(&variant->study);
    *variant = (struct shv_range_variant){.fuels_owned = 0};
}
