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
    static const struct report_table *const tables[] = {
        &report_ranked,      &report_curves,        &report_rejected,      &report_optimum,
        &report_limit_worth, &report_tradeoffs,     &report_serving,       &report_sites,
        &report_sure,        &report_sensitivities, &report_worth_knowing, &report_nearest,
        &report_limits,      &report_parts,         &report_map,           &report_islands,
        &report_range,       &report_shelf,         &report_range_curve,   &report_scenarios,
        &report_cycle,       &report_residuals};
    struct report_layout ranked;
    report_table_layout(&report_ranked, &ranked, REPORT_EVERY_COLUMN);
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        struct report_layout layout;
        report_table_layout(tables[i], &layout, REPORT_EVERY_COLUMN);
        section(out, tables[i]->about, &layout, i > 0 ? &ranked : NULL);
    }
}

const struct page_part columns_parts[] = {{"@files@", write_files}, {NULL, NULL}};
