/* The range file: the vehicles, markets and tiers that a shop sells to, and what it wants to stock.
 * Keys: docs/config.md. */
#ifndef SHEAVE_RANGE_FILE_H
#define SHEAVE_RANGE_FILE_H

#include "sheave/study.h"

/* Kinds of parts that a shop stocks, a row each: the dimension that chooses one, its name, which
 * with an s is that of keys and columns, words for one and, with an s, for several, and what the
 * key says of them. What tells two parts of a name apart is in src/plan/range_kits.c. */
#define SHV_STOCK_ROWS(X)                                                                          \
    X(BLOWER, blower, "blower", "Blowers.")                                                        \
    X(CRANK_PULLEY, crank_pulley, "crank pulley", "Crank pulleys, one part for each diameter.")    \
    X(BLOWER_PULLEY, blower_pulley, "blower pulley", "Blower pulleys, likewise.")                  \
    X(COOLER, cooler, "cooler core", "Cores of charge coolers, one for each effectiveness.")       \
    X(INJECTOR, injector, "injector", "Injectors, one part for each size.")                        \
    X(PUMP, pump, "fuel pump", "Fuel pumps.")

enum shv_part_kind {
#define SHV_STOCK_VALUE(dim, name, one, meaning) SHV_STOCK_##dim,
    SHV_STOCK_ROWS(SHV_STOCK_VALUE)
#undef SHV_STOCK_VALUE
        SHV_STOCK_KINDS
};

#define SHV_NONE SIZE_MAX /* no part, no family, no point, no limit of number */

enum shv_range_cooler { SHV_RANGE_COOLER_ANY, SHV_RANGE_COOLER_WITHOUT, SHV_RANGE_COOLER_WITH };

/* What a sale of a kit is worth. */
enum shv_range_value {
    SHV_RANGE_POWER, /* its power, W */
    SHV_RANGE_SHARE, /* its power over that of the group's own best candidate */
    SHV_RANGE_PROFIT /* sale_price + sale_per_watt power - price, less the cost of each part in
                        stock */
};

/* Which point of the trade curve is the plan. */
enum shv_range_choose {
    SHV_RANGE_BEST, /* the highest value inside all limits */
    SHV_RANGE_KNEE  /* the knee of the curve */
};

/* Choices that take the place of a study's own. */
struct shv_range_shelf {
    struct shv_numbers numbers[SHV_DIM_COUNT]; /* as in a study; empty: the study's */
    size_t cores; /* of each cooler at the most, evenly from its list; 0: all */
};

enum shv_range_power {
    SHV_RANGE_POWER_STUDY, /* what the study looks for, peak or mean power */
    SHV_RANGE_POWER_PEAK   /* the highest of the rev range, over the sites as the study says */
};

struct shv_range_vehicle {
    char *name;
    char *study;       /* path, usable from the current folder */
    char *family_name; /* NULL: in none */
    size_t family;     /* into the range's families, SHV_NONE */
    enum shv_range_power power;
    struct shv_range_shelf shelf; /* its own where it has one, else the range's */
};

struct shv_range_market {
    char *name;
    size_t fuel; /* into the range's fuels */
    size_t site_count;
    struct shv_site *sites;
    double *sales;    /* kits a year that are expected, of each vehicle */
    double *sales_in; /* [vehicle * scenarios + scenario] */
};

/* What sales may come to. */
struct shv_range_scenario {
    char *name;
    double weight; /* all sum to 1 */
};

struct shv_range_tier {
    char *name;
    double share; /* of a market's sales; all sum to 1 */
    enum shv_range_cooler cooler;
    double most_price, most_mass; /* INFINITY: any */
    double least_power;           /* W */
    double least_share;
    double sale_price, sale_per_watt;
};

/* What is wanted of the stock of one kind of part. */
struct shv_range_kind {
    bool counts;       /* else it is no matter of stock; blowers always are */
    size_t most;       /* SHV_NONE: any number */
    double cost;       /* money a year for each different part */
    char *not_stocked; /* a part that needs no stock, such as what comes with the car; or NULL */
};

/* All owned. */
struct shv_range_file {
    char *path, *title, *currency, *folder; /* currency NULL: no word */
    enum shv_range_value value;
    enum shv_range_choose choose;
    enum shv_unit_system units; /* of what is written */
    size_t vehicle_count, market_count, tier_count, fuel_count, family_count;
    struct shv_range_vehicle *vehicle;
    struct shv_range_market *market;
    struct shv_range_tier *tier;
    struct shv_fuel *fuel;
    size_t scenario_count; /* 0: sales are certain */
    struct shv_range_scenario *scenario;
    char **family; /* names, those of the vehicles that name them first */
    struct shv_range_kind kind[SHV_STOCK_KINDS];
    size_t most_parts;
};

/* Reads and checks a range file, but not the studies that it names. All findings go to
 * `diagnostics`; with errors the result is SHV_BAD_INPUT (SHV_IO, SHV_NO_MEMORY when that was the
 * trouble) and *file is left zeroed. */
SHV_API enum shv_status shv_range_file_load(const char *path, struct shv_range_file *file,
                                            struct shv_diagnostics *diagnostics);
SHV_API void shv_range_file_free(struct shv_range_file *file);

/* A vehicle's study in a market: its sites are the market's, its only fuel to choose is the
 * market's, its choices are those of the shelf. Further fuels that only the stock engine burns
 * stand behind the one to choose. Its hash is that of all that decides a sweep: what else changes
 * in the range file leaves journals usable. */
struct shv_range_variant {
    struct shv_study study;
    size_t fuels_owned; /* of study.fuels, of which fuel_count can be chosen */
};

/* Loads the study of a vehicle and puts the market's in. Errors as of shv_study_load. */
SHV_API enum shv_status shv_range_variant_load(const struct shv_range_file *file, size_t vehicle,
                                               size_t market, struct shv_range_variant *variant,
                                               struct shv_diagnostics *diagnostics);
SHV_API void shv_range_variant_free(struct shv_range_variant *variant);

#endif
