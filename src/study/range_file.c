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

static void free_shelf(struct shv_range_shelf *shelf)
{
    for (size_t d = 0; d < SHV_DIM_COUNT; d++) {
        free(shelf->numbers[d].values);
    }
}

static void free_names(struct shv_range_file *file)
{
    for (size_t i = 0; i < file->family_count; i++) {
        free(file->family[i]);
    }
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        free(file->kind[k].not_stocked);
    }
    free(file->family);
    free(file->path);
    free(file->title);
    free(file->currency);
    free(file->folder);
}

void shv_range_file_free(struct shv_range_file *file)
{
    for (size_t i = 0; i < file->vehicle_count; i++) {
        free(file->vehicle[i].name);
        free(file->vehicle[i].study);
        free_shelf(&file->vehicle[i].shelf);
    }
    for (size_t i = 0; i < file->market_count; i++) {
        for (size_t s = 0; s < file->market[i].site_count; s++) {
            free(file->market[i].sites[s].name);
        }
        free(file->market[i].name);
        free(file->market[i].sites);
        free(file->market[i].sales);
        free(file->market[i].sales_in);
    }
    for (size_t i = 0; i < file->tier_count; i++) {
        free(file->tier[i].name);
    }
    for (size_t i = 0; i < file->fuel_count; i++) {
        free(file->fuel[i].name);
    }
    for (size_t i = 0; i < file->scenario_count; i++) {
        free(file->scenario[i].name);
    }
    free(file->scenario);
    free(file->vehicle);
    free(file->market);
    free(file->tier);
    free(file->fuel);
    free_names(file);
    *file = (struct shv_range_file){.path = NULL};
}

static void free_market_draft(struct market_draft *m)
{
    struct site_draft *sites = (struct site_draft *)(void *)m->sites.items;
    struct sale_draft *sales = (struct sale_draft *)(void *)m->sales.items;
    for (size_t i = 0; i < m->sites.count; i++) {
        free(sites[i].site.name);
    }
    for (size_t i = 0; i < m->sales.count; i++) {
        free(sales[i].vehicle);
    }
    free(m->sites.items);
    free(m->sales.items);
    free(m->fuel);
    free(m->market.name);
}

static struct shv_range_scenario *scenarios_of(const struct plan_draft *draft)
{
    return (struct shv_range_scenario *)(void *)draft->scenarios.items;
}

static void free_draft(struct plan_draft *draft)
{
    struct vehicle_draft *vehicles = (struct vehicle_draft *)(void *)draft->vehicles.items;
    struct market_draft *markets = (struct market_draft *)(void *)draft->markets.items;
    struct shv_range_tier *tiers = (struct shv_range_tier *)(void *)draft->tiers.items;
    for (size_t i = 0; i < draft->vehicles.count; i++) {
        free(vehicles[i].vehicle.name);
        free(vehicles[i].vehicle.study);
        free(vehicles[i].family);
        free_shelf(&vehicles[i].vehicle.shelf);
    }
    for (size_t i = 0; i < draft->markets.count; i++) {
        free_market_draft(&markets[i]);
    }
    for (size_t i = 0; i < draft->tiers.count; i++) {
        free(tiers[i].name);
    }
    for (size_t i = 0; i < draft->scenarios.count; i++) {
        free(scenarios_of(draft)[i].name);
    }
    free(draft->scenarios.items);
    free(vehicles);
    free(markets);
    free(tiers);
    free_shelf(&draft->shelf);
    shv_range_file_free(&draft->file);
}

/* ---- checks across keys ---- */

static const config_setting_t *entry_of(const config_setting_t *root, const char *list, size_t i)
{
    const config_setting_t *setting = reader_member(root, list);
    return setting == NULL ? NULL : config_setting_get_elem(setting, (unsigned)i);
}

/* The name at an offset in each entry of a list, each once. */
static const char *name_at(const struct group_list *list, size_t size, size_t place, size_t i)
{
    const char *name;
    memcpy(&name, list->items + i * size + place, sizeof name);
    return name;
}

static void check_names(struct reader *reader, const config_setting_t *root, const char *key,
                        const struct group_list *list, size_t size, size_t place)
{
    for (size_t i = 0; i < list->count; i++) {
        const char *name = name_at(list, size, place, i);
        for (size_t k = 0; k < i && name != NULL; k++) {
            const char *other = name_at(list, size, place, k);
            if (other != NULL && strcmp(other, name) == 0) {
                reader_error(reader, entry_of(root, key, i), "name",
                             "found \"%s\" twice; accepted: each name once", name);
                break;
            }
        }
    }
}

static void tell_no_name(struct reader *reader, const config_setting_t *where, const char *key,
                         const char *name, const char *accepted, const struct nearest *nearest)
{
    const char *meant = nearest_word(nearest, name);
    reader_error(reader, where, key, "found \"%s\"; accepted: %s%s%s%s", name, accepted,
                 meant == NULL ? "" : "; did you mean \"", meant == NULL ? "" : meant,
                 meant == NULL ? "" : "\"?");
}

static void check_fuel_name(struct reader *reader, const config_setting_t *where,
                            struct market_draft *market)
{
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    struct nearest nearest = {NULL, SIZE_MAX};
    if (market->fuel == NULL) {
        return;
    }
    market->market.fuel = catalog_find(fuels, market->fuel);
    for (size_t i = 0; i < fuels->count && market->market.fuel == fuels->count; i++) {
        if (fuels->part[i].name != NULL) {
            nearest_offer(&nearest, market->fuel, fuels->part[i].name);
        }
    }
    if (fuels->count > 0 && market->market.fuel == fuels->count) {
        tell_no_name(reader, where, "fuel", market->fuel, "the name of one of this range's fuels",
                     &nearest);
    }
}

static void check_sales(struct reader *reader, const config_setting_t *where,
                        const struct plan_draft *draft, const struct market_draft *market)
{
    const struct sale_draft *sales = (const struct sale_draft *)(const void *)market->sales.items;
    sales_check(reader, where, "sales", &market->sales_each, draft->scenarios.count);
    for (size_t i = 0; i < market->sales.count; i++) {
        const config_setting_t *entry = entry_of(where, "sales_of", i);
        sales_check(reader, entry, "sales", &sales[i].sales, draft->scenarios.count);
        struct nearest nearest = {NULL, SIZE_MAX};
        bool known = sales[i].vehicle == NULL;
        for (size_t v = 0; v < draft->vehicles.count && !known; v++) {
            const char *name = name_at(&draft->vehicles, sizeof(struct vehicle_draft),
                                       offsetof(struct vehicle_draft, vehicle.name), v);
            known = name == NULL || strcmp(name, sales[i].vehicle) == 0;
            if (name != NULL) {
                nearest_offer(&nearest, sales[i].vehicle, name);
            }
        }
        if (!known) {
            tell_no_name(reader, entry, "vehicle", sales[i].vehicle,
                         "the name of one of this range's vehicles", &nearest);
        }
        for (size_t k = 0; k < i && sales[i].vehicle != NULL; k++) {
            if (sales[k].vehicle != NULL && strcmp(sales[k].vehicle, sales[i].vehicle) == 0) {
                reader_error(reader, entry, "vehicle",
                             "found \"%s\" twice; accepted: each vehicle once", sales[i].vehicle);
                break;
            }
        }
    }
}

static void check_shares(struct reader *reader, const config_setting_t *root,
                         const struct plan_draft *draft)
{
    const struct shv_range_tier *tiers =
        (const struct shv_range_tier *)(const void *)draft->tiers.items;
    double sum = 0.0;
    for (size_t i = 0; i < draft->tiers.count; i++) {
        sum += tiers[i].share;
    }
    if (draft->tiers.count > 0 && fabs(sum - 1.0) > SHARES_OFF) {
        reader_error(reader, root, "tiers", "found shares that sum to %.10g; accepted: to 1", sum);
    }
}

static void check_stock_kinds(struct reader *reader, const config_setting_t *root,
                              const struct plan_draft *draft)
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
        if (!draft->file.kind[k].counts && k == SHV_STOCK_BLOWER) {
            reader_error(reader, kind, "counts",
                         "found false; accepted: true, since every kit has a blower");
        } else if (!draft->file.kind[k].counts) {
            reject_given(reader, kind, of_counted, "counts = true");
        }
        if (k <= SHV_STOCK_BLOWER_PULLEY) {
            reject_given(reader, kind, of_named, "coolers, injectors and pumps");
        }
        if (draft->file.value != SHV_RANGE_PROFIT) {
            reject_given(reader, kind, of_profit, "value = \"profit\"");
        }
    }
}

static void check_scenarios(struct reader *reader, const config_setting_t *root,
                            const struct plan_draft *draft)
{
    double sum = 0.0;
    for (size_t i = 0; i < draft->scenarios.count; i++) {
        sum += scenarios_of(draft)[i].weight;
    }
    if (draft->scenarios.count > 0 && fabs(sum - 1.0) > SHARES_OFF) {
        reader_error(reader, root, "scenarios", "found weights that sum to %.10g; accepted: to 1",
                     sum);
    }
}

/* What is paid counts only in profit. */
static void check_tiers(struct reader *reader, const config_setting_t *root,
                        const struct plan_draft *draft)
{
    static const char *const of_profit[] = {"sale_price", "sale_price_per_kW", NULL};
    for (size_t i = 0; i < draft->tiers.count && draft->file.value != SHV_RANGE_PROFIT; i++) {
        reject_given(reader, entry_of(root, "tiers", i), of_profit, "value = \"profit\"");
    }
    check_shares(reader, root, draft);
}

/* A study that is not there is told where it is named. */
static void check_studies(struct reader *reader, const config_setting_t *root,
                          const struct plan_draft *draft)
{
    const struct vehicle_draft *vehicles =
        (const struct vehicle_draft *)(const void *)draft->vehicles.items;
    for (size_t i = 0; i < draft->vehicles.count; i++) {
        const char *study = vehicles[i].vehicle.study;
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
    const config_setting_t *root = setting;
    struct plan_draft *draft = base;
    struct market_draft *markets = (struct market_draft *)(void *)draft->markets.items;
    check_names(reader, root, "vehicles", &draft->vehicles, sizeof(struct vehicle_draft),
                offsetof(struct vehicle_draft, vehicle.name));
    check_names(reader, root, "markets", &draft->markets, sizeof(struct market_draft),
                offsetof(struct market_draft, market.name));
    check_names(reader, root, "tiers", &draft->tiers, sizeof(struct shv_range_tier),
                offsetof(struct shv_range_tier, name));
    for (size_t i = 0; i < draft->markets.count; i++) {
        const config_setting_t *where = entry_of(root, "markets", i);
        check_names(reader, where, "sites", &markets[i].sites, sizeof(struct site_draft),
                    offsetof(struct site_draft, site.name));
        check_fuel_name(reader, where, &markets[i]);
        check_sales(reader, where, draft, &markets[i]);
    }
    check_names(reader, root, "scenarios", &draft->scenarios, sizeof(struct shv_range_scenario),
                offsetof(struct shv_range_scenario, name));
    check_scenarios(reader, root, draft);
    check_studies(reader, root, draft);
    check_tiers(reader, root, draft);
    check_stock_kinds(reader, root, draft);
    check_atoms_of_fuels(reader);
    if (draft->file.folder == NULL) {
        draft->file.folder = default_folder(reader->path);
        reader->out_of_memory |= draft->file.folder == NULL;
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
static bool find_family(struct shv_range_file *file, const char *name, size_t *family)
{
    *family = SHV_NONE;
    if (name == NULL) {
        return true;
    }
    for (size_t i = 0; i < file->family_count; i++) {
        if (strcmp(file->family[i], name) == 0) {
            *family = i;
            return true;
        }
    }
    char **list = realloc(file->family, (file->family_count + 1) * sizeof *list);
    if (list == NULL) {
        return false;
    }
    file->family = list;
    list[file->family_count] = strdup(name);
    if (list[file->family_count] == NULL) {
        return false;
    }
    *family = file->family_count++;
    return true;
}

static bool take_vehicle(const struct reader *reader, struct plan_draft *draft,
                         struct vehicle_draft *from)
{
    struct shv_range_file *file = &draft->file;
    struct shv_range_vehicle *v = &file->vehicle[file->vehicle_count++];
    *v = (struct shv_range_vehicle){.name = from->vehicle.name,
                                    .study = source_join(reader->directory, from->vehicle.study),
                                    .power = from->vehicle.power,
                                    .shelf = from->vehicle.shelf};
    from->vehicle.name = NULL;
    from->vehicle.shelf = (struct shv_range_shelf){.cores = 0};
    return v->study != NULL && find_family(file, from->family, &v->family) &&
           fill_shelf(&v->shelf, &draft->shelf);
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
    struct site_draft *sites = (struct site_draft *)(void *)from->sites.items;
    const struct sale_draft *sales = (const struct sale_draft *)(const void *)from->sales.items;
    *m = (struct shv_range_market){.name = from->market.name, .fuel = from->market.fuel};
    from->market.name = NULL;
    m->sites = calloc(from->sites.count + 1, sizeof *m->sites);
    m->sales = calloc(file->vehicle_count + 1, sizeof *m->sales);
    m->sales_in = calloc(file->vehicle_count * file->scenario_count + 1, sizeof *m->sales_in);
    if (m->sites == NULL || m->sales == NULL || m->sales_in == NULL) {
        return false;
    }
    for (size_t i = 0; i < from->sites.count; i++) {
        m->sites[m->site_count++] = sites[i].site;
        sites[i].site.name = NULL;
    }
    for (size_t v = 0; v < file->vehicle_count; v++) {
        const struct sales_draft *of = &from->sales_each;
        for (size_t i = 0; i < from->sales.count; i++) {
            bool is_it = sales[i].vehicle != NULL && file->vehicle[v].name != NULL &&
                         strcmp(sales[i].vehicle, file->vehicle[v].name) == 0;
            of = is_it ? &sales[i].sales : of;
        }
        take_sales(file, m, v, of);
    }
    return true;
}

static bool take_fuels(struct reader *reader, struct shv_range_file *file)
{
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    file->fuel = calloc(fuels->count + 1, sizeof *file->fuel);
    for (size_t i = 0; file->fuel != NULL && i < fuels->count; i++) {
        file->fuel[i] = drafts[i].fuel;
        file->fuel[i].name = strdup(drafts[i].fuel.name);
        file->fuel_count++;
        if (file->fuel[i].name == NULL) {
            return false;
        }
    }
    return file->fuel != NULL;
}

static bool take_tiers(struct plan_draft *draft)
{
    struct shv_range_file *file = &draft->file;
    struct shv_range_tier *tiers = (struct shv_range_tier *)(void *)draft->tiers.items;
    file->tier = calloc(draft->tiers.count + 1, sizeof *file->tier);
    for (size_t i = 0; file->tier != NULL && i < draft->tiers.count; i++) {
        file->tier[i] = tiers[i];
        file->tier[i].sale_per_watt /= WATT_PER_KILOWATT;
        tiers[i].name = NULL;
        file->tier_count++;
    }
    return file->tier != NULL;
}

/* Whether any sales are a spread. */
static bool has_spread(const struct plan_draft *draft)
{
    const struct market_draft *markets =
        (const struct market_draft *)(const void *)draft->markets.items;
    bool has = false;
    for (size_t i = 0; i < draft->markets.count; i++) {
        const struct sale_draft *sales =
            (const struct sale_draft *)(const void *)markets[i].sales.items;
        has = has || markets[i].sales_each.form == SALES_BY_SPREAD;
        for (size_t k = 0; k < markets[i].sales.count; k++) {
            has = has || sales[k].sales.form == SALES_BY_SPREAD;
        }
    }
    return has;
}

/* Those that the range names, or the three of spreads. */
static bool take_scenarios(struct plan_draft *draft)
{
    struct shv_range_file *file = &draft->file;
    struct shv_range_scenario *named = scenarios_of(draft);
    size_t count = draft->scenarios.count > 0 ? draft->scenarios.count
                   : has_spread(draft)        ? SALES_OF_SPREAD
                                              : 0;
    file->scenario = calloc(count + 1, sizeof *file->scenario);
    for (size_t i = 0; file->scenario != NULL && i < count; i++) {
        struct shv_range_scenario *to = &file->scenario[file->scenario_count++];
        if (draft->scenarios.count > 0) {
            *to = named[i];
            named[i].name = NULL;
        } else {
            *to = (struct shv_range_scenario){strdup(sales_spread[i].name), sales_spread[i].weight};
        }
        if (to->name == NULL) {
            return false;
        }
    }
    return file->scenario != NULL;
}

static bool finish(struct reader *reader, struct plan_draft *draft)
{
    struct shv_range_file *file = &draft->file;
    struct vehicle_draft *vehicles = (struct vehicle_draft *)(void *)draft->vehicles.items;
    struct market_draft *markets = (struct market_draft *)(void *)draft->markets.items;
    file->path = source_join("", reader->path);
    file->vehicle = calloc(draft->vehicles.count + 1, sizeof *file->vehicle);
    file->market = calloc(draft->markets.count + 1, sizeof *file->market);
    bool good = file->path != NULL && file->vehicle != NULL && file->market != NULL &&
                take_fuels(reader, file) && take_tiers(draft) && take_scenarios(draft);
    for (size_t i = 0; good && i < draft->vehicles.count; i++) {
        good = take_vehicle(reader, draft, &vehicles[i]);
    }
    for (size_t i = 0; good && i < draft->markets.count; i++) {
        good = take_market(draft, &markets[i]);
    }
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        file->kind[k].most = file->kind[k].most > 0 ? file->kind[k].most : SHV_NONE;
    }
    file->most_parts = file->most_parts > 0 ? file->most_parts : SHV_NONE;
    return good;
}

static enum shv_status load(struct reader *reader, struct plan_draft *draft)
{
    config_t config;
    config_init(&config);
    enum shv_status status = reader_read_file(reader, &config, &plan_keys, draft);
    if (status == SHV_OK && (reader->out_of_memory || !finish(reader, draft))) {
        reader->out_of_memory = true;
        status = SHV_NO_MEMORY;
    }
    reader_report(reader);
    catalog_free(reader);
    config_destroy(&config);
    return reader->diagnostics->out_of_memory ? SHV_NO_MEMORY : status;
}

enum shv_status shv_range_file_load(const char *path, struct shv_range_file *file,
                                    struct shv_diagnostics *diagnostics)
{
    struct plan_draft draft = {.shelf = {.cores = 0}};
    struct reader reader = {.path = path, .diagnostics = diagnostics};
    struct shv_units *units;
    *file = (struct shv_range_file){.path = NULL};
    enum shv_status status = reader_begin(&reader, &units);
    if (status == SHV_OK) {
        status = load(&reader, &draft);
    }
    if (status == SHV_OK) {
        *file = draft.file;
        draft.file = (struct shv_range_file){.path = NULL};
    }
    free_draft(&draft);
    reader_end(&reader, units, status);
    return status;
}
