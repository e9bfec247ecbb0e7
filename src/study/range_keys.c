/* The table of keys of a range file; what it shares with study files stands in keys.c. */
#include "study/keys.h"

#include <math.h>

#include "study/checks.h"

#define PLACE(member) offsetof(struct plan_draft, member)
#define COUNT(table) (sizeof(table) / sizeof(table)[0])
#define MONEY_MAX 1e12
#define SALES_MAX 1e9

/* Rows are kept together by hand: a key a paragraph. */
/* clang-format off */

/* ---- choices that take the place of the studies' own ---- */

#define DRAWER_MIN 0.01
#define DRAWER_MAX 1.0
#define SHELF_ROWS(of, text)                                                                       \
    {.name = "crank_pulleys", .type = KEY_DIMENSION, .quantity = SHV_Q_LENGTH,                     \
     .place = of(shelf.numbers[SHV_DIM_CRANK_PULLEY]), .min = DRAWER_MIN, .max = DRAWER_MAX,       \
     .absent = (text), .meaning = "Effective diameters of the crank pulleys to choose from."},     \
    {.name = "blower_pulleys", .type = KEY_DIMENSION, .quantity = SHV_Q_LENGTH,                    \
     .place = of(shelf.numbers[SHV_DIM_BLOWER_PULLEY]), .min = DRAWER_MIN, .max = DRAWER_MAX,      \
     .absent = (text), .meaning = "Effective diameters of the blower pulleys to choose from."},    \
    {.name = "lambda", .type = KEY_DIMENSION, .quantity = SHV_Q_NUMBER,                            \
     .place = of(shelf.numbers[SHV_DIM_LAMBDA]), .min = 0.7, .max = 1.2, .absent = (text),         \
     .meaning = "Excess-air ratios to choose from; each costs a cycle table for each market."}
#define CORES_ROW(of, text)                                                                        \
    {.name = "cores", .type = KEY_INTEGER, .width = WIDTH_SIZE, .place = of(shelf.cores),          \
     .min = 1, .max = 1000, .absent = (text),                                                      \
     .meaning = "How many cores of each cooler there are at the most, taken evenly from its list " \
                "with both ends."}

#define OF_STUDY "those of each study"
static const struct key shelf_table[] = {
    SHELF_ROWS(PLACE, OF_STUDY),
    CORES_ROW(PLACE, "all"),
};
static const struct key_group shelf_keys = {
    .title = "range.shelf",
    .intro = "What the shop could stock, in the place of what the studies choose from: drawers of "
             "pulleys that all vehicles share are what makes few parts serve many.",
    .keys = shelf_table, .count = COUNT(shelf_table)};

/* ---- vehicles ---- */

#define VEHICLE(member) offsetof(struct shv_range_vehicle, member)
#define OF_SHELF "as range.shelf says, else as the study does"
static const char *const powers[] = {"study", "peak", NULL};
static const struct key vehicle_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = VEHICLE(name), .once = true, .required = true,
     .meaning = "Name of the vehicle, unlike any other."},
    {.name = "study", .type = KEY_TEXT, .place = VEHICLE(study), .required = true,
     .meaning = "Its study file, relative to the folder of the range file: engine, parts and "
                "limits are taken from there; sites and fuel from the market."},
    {.name = "family", .type = KEY_TEXT, .place = VEHICLE(family_name), .absent = "none",
     .meaning = "Vehicles of one family get the same blower, in all markets and tiers."},
    {.name = "power", .type = KEY_WORD, .place = VEHICLE(power), .words = powers,
     .fallback = "study",
     .meaning = "What counts as the power of a kit: what the study looks for, which must be peak "
                "or mean power, or the peak of the rev range; over the sites as the study says."},
    SHELF_ROWS(VEHICLE, OF_SHELF),
    CORES_ROW(VEHICLE, OF_SHELF),
};
static const struct key_group vehicle_keys = {
    .title = "range.vehicles", .intro = "The vehicles: a list of 1 to 64 groups with these keys.",
    .keys = vehicle_table, .count = COUNT(vehicle_table), .size = sizeof(struct shv_range_vehicle)};

/* ---- markets ---- */

#define MARKET(member) offsetof(struct market_draft, member)
static const struct key spread_table[] = {
    {.name = "low", .place = 0, .min = 0, .max = SALES_MAX, .required = true,
     .meaning = "What sales fall short of in one year of ten."},
    {.name = "likely", .place = sizeof(double), .min = 0, .max = SALES_MAX, .required = true,
     .meaning = "What they exceed as often as not, at least low."},
    {.name = "high", .place = 2 * sizeof(double), .min = 0, .max = SALES_MAX, .required = true,
     .meaning = "What they exceed in one year of ten, at least likely."},
};
const struct key_group spread_keys = {
    .title = "spread",
    .intro = "Sales that are not certain, for a key that takes sales, in a range without scenarios. "
             "All spreads of a range are low, likely or high together, with weights of 0.3, 0.4 and "
             "0.3 (docs/range.md).",
    .keys = spread_table, .count = COUNT(spread_table)};
static const struct key sale_table[] = {
    {.name = "vehicle", .type = KEY_TEXT, .place = offsetof(struct sale_draft, vehicle),
     .once = true, .required = true, .meaning = "Name of a vehicle of this range."},
    {.name = "sales", .type = KEY_SALES, .place = offsetof(struct sale_draft, sales), .min = 0,
     .max = SALES_MAX, .required = true,
     .meaning = "Kits that are sold for it in a year; 0 for none."},
};
static const struct key_group sale_keys = {
    .title = "range.markets.sales_of", .intro = "A list of up to 64 groups with these keys.",
    .keys = sale_table, .count = COUNT(sale_table), .size = sizeof(struct sale_draft)};
static const struct key market_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = MARKET(market.name), .once = true, .required = true,
     .meaning = "Name of the market, unlike any other."},
    {.name = "fuel", .type = KEY_TEXT, .place = MARKET(fuel), .required = true,
     .meaning = "Name of the fuel that is sold there, one of fuels."},
    {.name = "sites", .type = KEY_LIST, .place = MARKET(market.sites),
     .count = MARKET(market.site_count), .group = &site_keys, .min = 1, .max = 64, .required = true,
     .meaning = "The places where its customers drive; every kit has to hold at all of them."},
    {.name = "sales", .type = KEY_SALES, .place = MARKET(sales_each), .min = 0, .max = SALES_MAX,
     .absent = "0",
     .meaning = "Kits that are sold in a year for each vehicle that sales_of does not name."},
    {.name = "sales_of", .type = KEY_LIST, .place = MARKET(sales), .count = MARKET(sale_count),
     .group = &sale_keys, .min = 1, .max = 64, .absent = "none", .meaning = "Sales by vehicle."},
};
static const struct key_group market_keys = {
    .title = "range.markets", .intro = "The markets: a list of 1 to 64 groups with these keys.",
    .keys = market_table, .count = COUNT(market_table), .size = sizeof(struct market_draft)};

/* ---- scenarios ---- */

#define SCENARIO(member) offsetof(struct shv_range_scenario, member)
static const struct key scenario_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = SCENARIO(name), .once = true, .required = true,
     .meaning = "Name of the scenario, unlike any other."},
    {.name = "weight", .place = SCENARIO(weight), .min = 0, .above_min = true, .max = 1,
     .required = true, .meaning = "How probable it is; all scenarios sum to 1."},
};
static const struct key_group scenario_keys = {
    .title = "range.scenarios",
    .intro = "What sales may come to: a list of 2 to 16 groups with these keys. Wherever a key takes "
             "sales, a list in square brackets has a number for each of them, in this order; a "
             "single number is the same in all.",
    .keys = scenario_table, .count = COUNT(scenario_table),
     .size = sizeof(struct shv_range_scenario)};

/* ---- tiers ---- */

#define TIER(member) offsetof(struct shv_range_tier, member)
static const char *const outfits[] = {"any", "without", "with", NULL};
static const struct key tier_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = TIER(name), .once = true, .required = true,
     .meaning = "Name of the tier, unlike any other."},
    {.name = "share", .place = TIER(share), .min = 0, .above_min = true, .max = 1, .required = true,
     .meaning = "Share of a market's sales; all tiers sum to 1."},
    {.name = "cooler", .type = KEY_WORD, .place = TIER(cooler), .words = outfits, .fallback = "any",
     .meaning = "Whether its kits have a charge cooler."},
    {.name = "most_price", .place = TIER(most_price), .min = 0, .above_min = true, .max = MONEY_MAX,
     .absent = "any", .absent_value = INFINITY, .meaning = "What all parts of a kit may cost."},
    {.name = "most_mass", .quantity = SHV_Q_MASS, .place = TIER(most_mass), .min = 0,
     .above_min = true, .max = 1e6, .absent = "any", .absent_value = INFINITY,
     .meaning = "What all parts of a kit may weigh."},
    {.name = "least_power", .quantity = SHV_Q_POWER, .place = TIER(least_power), .min = 0,
     .max = 1e9, .fallback = "0 W", .meaning = "Power that a kit makes at least."},
    {.name = "least_share", .place = TIER(least_share), .min = 0, .max = 1, .fallback = "0",
     .meaning = "Power that a kit makes at least, as a share of the best kit there is for its "
                "customers."},
    {.name = "sale_price", .place = TIER(sale_price), .min = 0, .max = MONEY_MAX, .fallback = "0",
     .meaning = "What a customer pays for a kit, whatever its power; for value = \"profit\"."},
    {.name = "sale_price_per_kW", .place = TIER(sale_per_watt), .min = 0, .max = 1e9,
     .fallback = "0",
     .meaning = "What a customer pays for each kW that it makes; for value = \"profit\"."},
};
static const struct key_group tier_keys = {
    .title = "range.tiers",
    .intro = "The tiers of price and outfit: a list of 1 to 16 groups with these keys. A vehicle in a "
             "market at a tier is a group of customers, which gets one kit.",
    .keys = tier_table, .count = COUNT(tier_table), .size = sizeof(struct shv_range_tier)};

/* ---- stock ---- */

#define KIND(member) offsetof(struct shv_range_kind, member)
static const struct key kind_table[] = {
    {.name = "counts", .type = KEY_BOOL, .place = KIND(counts), .fallback = "true",
     .meaning = "Whether parts of this kind are stock that is counted; blowers always are."},
    {.name = "most", .type = KEY_INTEGER, .width = WIDTH_SIZE, .place = KIND(most), .min = 1,
     .max = 10000, .absent = "any number", .meaning = "Different parts in stock at the most."},
    {.name = "cost", .place = KIND(cost), .min = 0, .max = MONEY_MAX, .fallback = "0",
     .meaning = "Money a year that each different part in stock costs; for value = \"profit\"."},
    {.name = "not_stocked", .type = KEY_TEXT, .place = KIND(not_stocked), .absent = "none",
     .meaning = "Name of a cooler, injector or pump that takes no stock, such as a pump that comes "
                "with the car; not for blowers and pulleys."},
};
static const struct key_group kind_keys = {
    .title = "range.stock.blowers",
    .intro = "What is wanted of the stock of one kind of part; the same keys for all kinds.",
    .keys = kind_table, .count = COUNT(kind_table)};

#define KIND_ROW(dim, kind_name, one, text)                                                        \
    {.name = #kind_name "s", .type = KEY_GROUP, .group = &kind_keys,                                 \
     .place = PLACE(file.kind) + SHV_STOCK_##dim * sizeof(struct shv_range_kind),                    \
     .meaning = (text)},
static const char *const choices[] = {"best", "knee", NULL};
static const struct key stock_table[] = {
    {.name = "choose", .type = KEY_WORD, .place = PLACE(file.choose), .words = choices,
     .fallback = "best",
     .meaning = "Which point of the trade curve is the plan: the highest value inside all limits, "
                "or the knee (docs/range.md)."},
    {.name = "most_parts", .type = KEY_INTEGER, .width = WIDTH_SIZE,
     .place = PLACE(file.most_parts), .min = 1, .max = 10000, .absent = "any number",
     .meaning = "Different parts of all kinds in stock at the most; the curve goes on beyond it."},
    SHV_STOCK_ROWS(KIND_ROW)
};
static const struct key_group stock_keys = {
    .title = "range.stock", .intro = "What is wanted of the stock.", .keys = stock_table,
    .count = COUNT(stock_table)};

/* ---- results and the top level ---- */

static const char *const unit_systems[] = {"metric", "US", NULL};
static const struct key plan_results_table[] = {
    {.name = "folder", .type = KEY_TEXT, .place = PLACE(file.folder),
     .absent = "results/ and the range file's name without its ending",
     .meaning = "Where results go, relative to the current folder."},
    {.name = "units", .type = KEY_WORD, .place = PLACE(file.units), .words = unit_systems,
     .fallback = "metric", .meaning = "Units of tables."},
};
static const struct key_group plan_results_keys = {
    .title = "range.results", .intro = "Where the plan is written.", .keys = plan_results_table,
    .count = COUNT(plan_results_table)};

static const char *const values[] = {"power", "share", "profit", NULL};
static const struct key plan_table[] = {
    {.name = "title", .type = KEY_TEXT, .place = PLACE(file.title), .required = true,
     .meaning = "Title of the plan."},
    {.name = "currency", .type = KEY_TEXT, .place = PLACE(file.currency), .absent = "no word",
     .meaning = "Word for the money that prices of all studies are in."},
    {.name = "value", .type = KEY_WORD, .place = PLACE(file.value), .words = values,
     .fallback = "power",
     .meaning = "What a sale is worth: the power of the kit, its share of the power of the best "
                "kit for those customers, or profit: what is paid, less the price of the parts, "
                "less the cost of stock."},
    {.name = "catalogue", .type = KEY_GROUP, .group = &catalogue_keys,
     .meaning = "Parts that can be named; of a range only its fuels."},
    {.name = "fuels", .type = KEY_ENTRIES, .entries = ENTRIES_FUELS, .group = &fuel_keys,
     .by_name = true, .required = true, .meaning = "The fuels that markets name."},
    {.name = "vehicles", .type = KEY_LIST, .place = PLACE(file.vehicle),
     .count = PLACE(file.vehicle_count), .group = &vehicle_keys, .min = 1, .max = 64,
     .required = true, .meaning = "The vehicles."},
    {.name = "markets", .type = KEY_LIST, .place = PLACE(markets), .count = PLACE(market_count),
     .group = &market_keys, .min = 1, .max = 64, .required = true, .meaning = "The markets."},
    {.name = "scenarios", .type = KEY_LIST, .place = PLACE(file.scenario),
     .count = PLACE(file.scenario_count), .group = &scenario_keys, .min = 2, .max = SCENARIOS_MAX,
     .absent = "sales are certain, or spreads", .meaning = "What sales may come to."},
    {.name = "tiers", .type = KEY_LIST, .place = PLACE(file.tier), .count = PLACE(file.tier_count),
     .group = &tier_keys, .min = 1, .max = 16, .required = true, .meaning = "The tiers."},
    {.name = "shelf", .type = KEY_GROUP, .group = &shelf_keys,
     .meaning = "Choices that take the place of the studies' own."},
    {.name = "stock", .type = KEY_GROUP, .group = &stock_keys,
     .meaning = "What is wanted of the stock."},
    {.name = "results", .type = KEY_GROUP, .group = &plan_results_keys,
     .meaning = "Where results go."},
};
const struct key_group plan_keys = {
    .title = "range", .intro = "The keys at the top level of a range file.", .keys = plan_table,
    .count = COUNT(plan_table), .check = check_plan};
