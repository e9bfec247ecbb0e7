/* From a range file to a struct shv_range_file (include/sheave/range_file.h). */
#include "sheave/range_file.h"

#include <math.h>
#include <stdint.h>
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>
#include <string.h>

#include "study/catalog.h"
#include "study/checks.h"
#include "study/config.h"
#include "study/dimension.h"
#include "study/nearest.h"
#include "study/sales.h"
#include "study/source.h"

#define SHARES_OFF 1e-6
#define WATT_PER_KILOWATT 1e3

/* ---- freeing ---- */

static void free_market(struct shv_range_market *market)
{
    for (size_t i = 0; i < market->site_count; i++) {
        free(market->sites[i].name);
    }
    free(market->name);
    free(market->sites);
    free(market->sales);
    free(market->sales_in);
}

void shv_range_file_free(struct shv_range_file *file)
{
    reader_free(&plan_keys, file, sizeof *file);
    for (size_t i = 0; i < file->market_count; i++) {
        free_market(&file->market[i]);
    }
    for (size_t i = 0; i < file->fuel_count; i++) {
        free(file->fuel[i].name);
    }
    free(file->market);
    free(file->fuel);
    free(file->family);
    free(file->path);
    *file = (struct shv_range_file){.path = NULL};
}

static void free_draft(struct plan_draft *draft)
{
    shv_range_file_free(&draft->file);
    reader_free(&plan_keys, draft, sizeof *draft);
}

/* ---- checks across keys ---- */

static const config_setting_t *entry_of(const config_setting_t *root, const char *list, size_t i)
{
    const config_setting_t *setting = reader_member(root, list);
    return setting == NULL ? NULL : config_setting_get_elem(setting, (unsigned)i);
}

static void check_fuel_name(struct reader *reader, const config_setting_t *where,
                            struct market_draft *market)
{
    if (market->fuel != NULL && reader->chosen[ENTRIES_FUELS].count > 0) {
        market->market.fuel = catalog_choose(reader, where, "fuel", ENTRIES_FUELS, market->fuel,
                                             "the name of one of this range's fuels");
    }
}

static void check_sales(struct reader *reader, const config_setting_t *where,
                        const struct shv_range_file *file, const struct market_draft *market)
{
    sales_check(reader, where, "sales", &market->sales_each, file->scenario_count);
    for (size_t i = 0; i < market->sale_count; i++) {
        const config_setting_t *entry = entry_of(where, "sales_of", i);
        const struct sale_draft *sale = &market->sales[i];
        struct nearest nearest = {NULL, SIZE_MAX};
        bool known = sale->vehicle == NULL;
        sales_check(reader, entry, "sales", &sale->sales, file->scenario_count);
        for (size_t v = 0; v < file->vehicle_count && !known; v++) {
            const char *name = file->vehicle[v].name;
            known = name == NULL || strcmp(name, sale->vehicle) == 0;
            if (name != NULL) {
                nearest_offer(&nearest, sale->vehicle, name);
            }
        }
        if (!known) {
            reader_no_name(reader, entry, "vehicle", sale->vehicle,
                           "the name of one of this range's vehicles", &nearest);
        }
    }
}

/* Shares or weights of a list sum to 1. */
static void check_sum(struct reader *reader, const config_setting_t *root, const char *list,
                      const char *what, double sum)
{
    if (fabs(sum - 1.0) > SHARES_OFF) {
        reader_error(reader, root, list, "found %s that sum to %.10g; accepted: to 1", what, sum);
    }
}

static void check_stock_kinds(struct reader *reader, const config_setting_t *root,
                              const struct shv_range_file *file)
{
#define KEY_OF(dim, name, one, meaning) #name "s",
    static const char *const kinds[SHV_STOCK_KINDS] = {SHV_STOCK_ROWS(KEY_OF)};
#undef KEY_OF
    static const char *const of_counted[] = {"most", "cost", "not_stocked", NULL};
    static const char *const of_named[] = {"not_stocked", NULL};
    static const char *const of_profit[] = {"cost", NULL};
    const config_setting_t *stock = reader_member(root, "stock");
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        const config_setting_t *kind = reader_member(stock, kinds[k]);
        if (!file->kind[k].counts && k == SHV_STOCK_BLOWER) {
            reader_error(reader, kind, "counts",
                         "found false; accepted: true, since every kit has a blower");
        } else if (!file->kind[k].counts) {
            reject_given(reader, kind, of_counted, "counts = true");
        }
        if (k <= SHV_STOCK_BLOWER_PULLEY) {
            reject_given(reader, kind, of_named, "coolers, injectors and pumps");
        }
        if (file->value != SHV_RANGE_PROFIT) {
            reject_given(reader, kind, of_profit, "value = \"profit\"");
        }
    }
}

static void check_scenarios(struct reader *reader, const config_setting_t *root,
                            const struct shv_range_file *file)
{
    double sum = 0.0;
    for (size_t i = 0; i < file->scenario_count; i++) {
        sum += file->scenario[i].weight;
    }
    check_sum(reader, root, "scenarios", "weights", file->scenario_count > 0 ? sum : 1.0);
}

/* What is paid counts only in profit. */
static void check_tiers(struct reader *reader, const config_setting_t *root,
                        const struct shv_range_file *file)
{
    static const char *const of_profit[] = {"sale_price", "sale_price_per_kW", NULL};
    double sum = 0.0;
    for (size_t i = 0; i < file->tier_count; i++) {
        sum += file->tier[i].share;
        if (file->value != SHV_RANGE_PROFIT) {
            reject_given(reader, entry_of(root, "tiers", i), of_profit, "value = \"profit\"");
        }
    }
    check_sum(reader, root, "tiers", "shares", file->tier_count > 0 ? sum : 1.0);
}

/* A study that is not there is told where it is named. */
static void check_studies(struct reader *reader, const config_setting_t *root,
                          const struct shv_range_file *file)
{
    for (size_t i = 0; i < file->vehicle_count; i++) {
        const char *study = file->vehicle[i].study;
        char *path = study == NULL ? NULL : source_join(reader->directory, study);
        if (path != NULL && access(path, R_OK) != 0) {
            reader_error(reader, entry_of(root, "vehicles", i), "study",
                         "found \"%s\", which cannot be read: %s", study, strerror(errno));
            reader->broken_file = true;
        }
        reader->out_of_memory |= study != NULL && path == NULL;
        free(path);
    }
}

void check_plan(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct plan_draft *draft = base;
    struct shv_range_file *file = &draft->file;
    for (size_t i = 0; i < draft->market_count; i++) {
        const config_setting_t *where = entry_of(setting, "markets", i);
        check_fuel_name(reader, where, &draft->markets[i]);
        check_sales(reader, where, file, &draft->markets[i]);
    }
    check_scenarios(reader, setting, file);
    check_studies(reader, setting, file);
    check_tiers(reader, setting, file);
    check_stock_kinds(reader, setting, file);
    check_atoms_of_fuels(reader);
    if (file->folder == NULL) {
        file->folder = default_folder(reader->path);
        reader->out_of_memory |= file->folder == NULL;
    }
}

/* ---- from the draft to the file ---- */

/* The range's choices where the vehicle has none of its own. */
static bool fill_shelf(struct shv_range_shelf *own, const struct shv_range_shelf *shelf)
{
    own->cores = own->cores > 0 ? own->cores : shelf->cores;
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        for (size_t i = 0, count = own->numbers[d].count; count == 0 && i < shelf->numbers[d].count;
             i++) {
            if (!dimension_add(&own->numbers[d], shelf->numbers[d].values[i])) {
                return false;
            }
        }
    }
    return true;
}

/* The number of a family by its name; the first vehicle that names it gives it its place. */
static bool find_family(struct shv_range_file *file, struct shv_range_vehicle *vehicle)
{
    size_t i = 0;
    vehicle->family = SHV_NONE;
    if (vehicle->family_name == NULL) {
        return true;
    }
    while (i < file->family_count && strcmp(file->family[i], vehicle->family_name) != 0) {
        i++;
    }
    if (i == file->family_count) {
        char **list = realloc(file->family, (i + 1) * sizeof *list);
        if (list == NULL) {
            return false;
        }
        file->family = list;
        list[file->family_count++] = vehicle->family_name;
    }
    vehicle->family = i;
    return true;
}

static bool finish_vehicle(const struct reader *reader, struct plan_draft *draft, size_t index)
{
    struct shv_range_vehicle *v = &draft->file.vehicle[index];
    char *study = source_join(reader->directory, v->study);
    free(v->study);
    v->study = study;
    return study != NULL && find_family(&draft->file, v) && fill_shelf(&v->shelf, &draft->shelf);
}

static void take_sales(const struct shv_range_file *file, struct shv_range_market *market,
                       size_t vehicle, const struct sales_draft *sales)
{
    market->sales[vehicle] = file->scenario_count > 0 ? 0.0 : sales->of[0];
    for (size_t i = 0; i < file->scenario_count; i++) {
        double in = sales_in(sales, i);
        market->sales_in[vehicle * file->scenario_count + i] = in;
        market->sales[vehicle] += file->scenario[i].weight * in;
    }
}

static bool take_market(struct plan_draft *draft, struct market_draft *from)
{
    struct shv_range_file *file = &draft->file;
    struct shv_range_market *m = &file->market[file->market_count++];
    *m = from->market;
    from->market = (struct shv_range_market){.name = NULL};
    m->sales = calloc(file->vehicle_count + 1, sizeof *m->sales);
    m->sales_in = calloc(file->vehicle_count * file->scenario_count + 1, sizeof *m->sales_in);
    if (m->sales == NULL || m->sales_in == NULL) {
        return false;
    }
    for (size_t v = 0; v < file->vehicle_count; v++) {
        const struct sales_draft *of = &from->sales_each;
        for (size_t i = 0; i < from->sale_count; i++) {
            bool is_it = strcmp(from->sales[i].vehicle, file->vehicle[v].name) == 0;
            of = is_it ? &from->sales[i].sales : of;
        }
        take_sales(file, m, v, of);
    }
    return true;
}

static bool take_fuels(struct reader *reader, struct shv_range_file *file)
{
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    struct fuel_draft *drafts = (void *)fuels->drafts;
    file->fuel = calloc(fuels->count + 1, sizeof *file->fuel);
    for (; file->fuel != NULL && file->fuel_count < fuels->count; file->fuel_count++) {
        file->fuel[file->fuel_count] = drafts[file->fuel_count].fuel;
        drafts[file->fuel_count].fuel.name = NULL; /* it is the file's */
    }
    return file->fuel != NULL;
}

/* Whether any sales are a spread. */
static bool has_spread(const struct plan_draft *draft)
{
    bool has = false;
    for (size_t i = 0; i < draft->market_count; i++) {
        const struct market_draft *market = &draft->markets[i];
        has = has || market->sales_each.form == SALES_BY_SPREAD;
        for (size_t k = 0; k < market->sale_count; k++) {
            has = has || market->sales[k].sales.form == SALES_BY_SPREAD;
        }
    }
    return has;
}

/* The three of spreads, where the range names none itself. */
static bool add_scenarios(struct plan_draft *draft)
{
    struct shv_range_file *file = &draft->file;
    if (file->scenario_count > 0 || !has_spread(draft)) {
        return true;
    }
    file->scenario = calloc(SALES_OF_SPREAD, sizeof *file->scenario);
    for (size_t i = 0; file->scenario != NULL && i < SALES_OF_SPREAD; i++) {
        file->scenario[file->scenario_count++] =
            (struct shv_range_scenario){strdup(sales_spread[i].name), sales_spread[i].weight};
        if (file->scenario[i].name == NULL) {
            return false;
        }
    }
    return file->scenario != NULL;
}

static enum shv_status finish(struct reader *reader, void *base)
{
    struct plan_draft *draft = base;
    struct shv_range_file *file = &draft->file;
    file->path = source_join("", reader->path);
    file->market = calloc(draft->market_count + 1, sizeof *file->market);
    bool good = file->path != NULL && file->market != NULL && take_fuels(reader, file) &&
                add_scenarios(draft);
    for (size_t i = 0; i < file->tier_count; i++) {
        file->tier[i].sale_per_watt /= WATT_PER_KILOWATT;
    }
    for (size_t i = 0; good && i < file->vehicle_count; i++) {
        good = finish_vehicle(reader, draft, i);
    }
    for (size_t i = 0; good && i < draft->market_count; i++) {
        good = take_market(draft, &draft->markets[i]);
    }
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        file->kind[k].most = file->kind[k].most > 0 ? file->kind[k].most : SHV_NONE;
    }
    file->most_parts = file->most_parts > 0 ? file->most_parts : SHV_NONE;
    reader->out_of_memory |= !good;
    return good ? SHV_OK : SHV_NO_MEMORY;
}

enum shv_status shv_range_file_load(const char *path, struct shv_range_file *file,
                                    struct shv_diagnostics *diagnostics)
{
    struct plan_draft draft = {.shelf = {.cores = 0}};
    *file = (struct shv_range_file){.path = NULL};
    enum shv_status status = reader_load(path, &plan_keys, &draft, finish, diagnostics);
    if (status == SHV_OK) {
        *file = draft.file;
        draft.file = (struct shv_range_file){.path = NULL};
    }
    free_draft(&draft);
    return status;
}
