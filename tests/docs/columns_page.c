/* What docs/columns.md says of each file, from the same tables that write the files. */
#include "docs/page.h"

#include <string.h>

#include "report/table/files.h"

static void cell_names(FILE *out, const struct report_column *column)
{
    char metric[REPORT_NAME_MAX], us[REPORT_NAME_MAX];
    report_column_name(column, SHV_METRIC, metric);
    report_column_name(column, SHV_US, us);
    fprintf(out, "| `%s` | `%s` ", metric, us);
}

/* What must be so for a column to be there. */
static const struct {
    report_when_set when;
    const char *says;
} conditions[] = {
    {REPORT_WHEN_POWER, "the objective is a power"},
    {REPORT_WHEN_TORQUE, "the objective is a torque"},
    {REPORT_WHEN_PRICE, "the objective is the least price"},
    {REPORT_WHEN_POWER_PER_PRICE, "the objective is power for money"},
    {REPORT_WHEN_CHARGE_TEMPERATURE, "the objective is the least charge temperature"},
    {REPORT_WHEN_WEIGHTED, "the objective is a weighted sum"},
    {REPORT_WHEN_RANKED, "the rows belong to a ranking, not to `sheave point`"},
    {REPORT_WHEN_CYCLE, "the study has the closed cycle"},
    {REPORT_WHEN_INJECTORS, "the study names injectors"},
    {REPORT_WHEN_PUMPS, "the study names pumps"},
    {REPORT_WHEN_BELT, "the study describes the belt"},
    {REPORT_WHEN_DUTY, "the study has a duty"},
    {REPORT_WHEN_CRUISE, "the study has a cruise point"},
    {REPORT_WHEN_COOLERS, "the study has coolers"},
    {REPORT_WHEN_PRICED, "a part has a price"},
    {REPORT_WHEN_WEIGHED, "a part has a mass"},
    {REPORT_WHEN_SITES, "the study has several sites"},
    {REPORT_WHEN_SCENARIOS, "the sales of the range are not certain"},
    {REPORT_WHEN_HOLD, "a study of the range has tolerances and `tolerances.hold`"},
};

static void say_meaning(FILE *out, const struct report_column *column)
{
    const char *says = column->when >= REPORT_WHEN_LIMIT(0) ? "that limit is set" : NULL;
    for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++) {
        says = conditions[i].when == column->when ? conditions[i].says : says;
    }
    fprintf(out, says ? "| %s Only when %s. |\n" : "| %s |\n", column->meaning, says);
}

static bool is_in(const struct report_layout *layout, const struct report_column *column)
{
    for (size_t i = 0; i < layout->count; i++) {
        if (strcmp(layout->column[i].stem, column->stem) == 0 &&
            strcmp(layout->column[i].meaning, column->meaning) == 0) {
            return true;
        }
    }
    return false;
}

/* What is as in ranked.csv is not said again. */
static void section(FILE *out, const char *title, const struct report_layout *layout,
                    const struct report_layout *ranked)
{
    size_t known = 0;
    fprintf(out, "\n## %s\n\n| Metric | US | Meaning |\n| --- | --- | --- |\n", title);
    for (size_t i = 0; i < layout->count; i++) {
        const struct report_column *column = &layout->column[i];
        if (ranked && is_in(ranked, column)) {
            known++;
            continue;
        }
        cell_names(out, column);
        say_meaning(out, column);
    }
    if (known > 0 && known == ranked->count) {
        fputs("\nThen all columns of ranked.csv, of the row's kit.\n", out);
        return;
    }
    const char *before = "\nAs in ranked.csv: ";
    for (size_t i = 0; known > 0 && i < layout->count; i++) {
        if (is_in(ranked, &layout->column[i])) {
            fprintf(out, "%s`%s`", before, layout->column[i].stem);
            before = ", ";
        }
    }
    fputs(known > 0 ? ".\n" : "", out);
}

static void write_files(FILE *out)
{
    static const struct {
        const char *title;
        void (*fill)(struct report_layout *layout, report_when_set when);
    } files[] = {
        {"ranked.csv: one row per combination that keeps every limit, the best first",
         report_ranked_layout},
        {"curves.csv: every state of the best kits, one row per kit, site and engine speed",
         report_curves_layout},
        {"rejected.csv: how many combinations were rejected, and why", report_rejected_layout},
        {"optimum.csv: the ideal kit of each blower and fuel, and the nearest real parts",
         report_optimum_layout},
        {"limit_worth.csv: what moving each limit would bring each ideal kit",
         report_limit_worth_layout},
        {"tradeoffs.csv: fronts of what can't all be had, only with tradeoffs in the study",
         report_tradeoffs_layout},
        {"serving.csv: hardware that does with several fuels, only with serves in the study",
         report_serving_layout},
        {"sites.csv: the best kit for each site alone, only with results.site_shortfalls",
         report_sites_layout},
        {"sure.csv: how sure the best kits are, with `tolerances` in the study",
         report_sure_layout},
        {"sensitivities.csv: what each tolerance does to each kit of sure.csv",
         report_sensitivities_layout},
        {"worth_knowing.csv: what knowing more before the kit is chosen is worth, where there is a "
         "kit to sell",
         report_worth_knowing_layout},
        {"nearest.csv: where nothing is feasible, what would have to give, one row per kit and "
         "broken limit",
         report_nearest_layout},
        {"limits.csv: every limit of the best kits, one row per kit and limit",
         report_limits_layout},
        {"parts.csv: what the best kits are made of, one row per kit and part",
         report_parts_layout},
        {"map.csv: the first kit with other pulley ratios and cores, one row per ratio and "
         "effectiveness",
         report_map_layout},
        {"islands.csv: the first kit's blower at the air of the first site, one row per speed and "
         "pressure ratio",
         report_islands_layout},
        {"range.csv, of `sheave plan`: the kit of each group of customers", report_range_layout},
        {"stock.csv, of `sheave plan`: the parts in stock", report_stock_layout},
        {"curve.csv, of `sheave plan`: value against the number of different parts",
         report_range_curve_layout},
        {"scenarios.csv, of `sheave plan`: the plan in each scenario of the sales",
         report_scenarios_layout},
        {"Output of `sheave point --cycle`: one cylinder over the crank angle, one row per step",
         report_cycle_layout},
        {"Residuals of `sheave fit`: one row per reading, and one per line that was dropped",
         report_residuals_layout},
    };
    struct report_layout ranked;
    report_ranked_layout(&ranked, REPORT_EVERY_COLUMN);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        struct report_layout layout;
        files[i].fill(&layout, REPORT_EVERY_COLUMN);
        section(out, files[i].title, &layout, i > 0 ? &ranked : NULL);
    }
}

const struct page_part columns_parts[] = {{"@files@", write_files}, {NULL, NULL}};
