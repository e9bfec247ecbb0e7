/* docs/columns.md, from the same tables that write the files. */
#include <string.h>

#include "report/table/files.h"

static const char *const introduction =
    "# Columns of the result files\n"
    "\n"
    "Written by the program from its own tables of columns; do not edit. A run writes "
    "`ranked.csv`,\n"
    "`curves.csv`, `rejected.csv`, `optimum.csv`, `limit_worth.csv` and `manifest.cfg` into its "
    "results "
    "folder, and "
    "with "
    "tolerances\n`sure.csv`, `sensitivities.csv` and `worth_knowing.csv`. Each file is\n"
    "written under the name with `.part` added, synced and then renamed: a file under its own name "
    "is whole.\n"
    "\n"
    "## The CSV dialect\n"
    "\n"
    "- RFC 4180: comma between cells, one header record, every record ends with CR LF. Cells with "
    "a comma, a\n"
    "  quote, a line break or a blank at an end stand in double quotes; a quote in them is "
    "doubled. UTF-8 as\n"
    "  in the study file.\n"
    "- Numbers have a point, no thousands separator, and a fixed number of significant digits by "
    "column:\n"
    "  7 in `curves.csv`, 6 in most of `ranked.csv`.\n"
    "- An empty cell means: does not apply, not set, or not known. Numbers are always "
    "finite: where injectors\n"
    "  get no flow, a pump's curve does not reach or a belt has no grip, the share's cell is empty "
    "and `fuel_supply`\n"
    "  or `belt_grip` in the same row says why.\n"
    "- A name that begins with `=`, `+`, `-`, `@`, a tab or a carriage return gets a single quote "
    "(`'`) in\n"
    "  front, so that a spreadsheet does not run it as a formula. Numbers are left alone.\n"
    "- Yes and no are `yes` and `no`.\n"
    "\n"
    "## Units\n"
    "\n"
    "Names of columns end with the unit. The study's `results.units` picks the metric or the US "
    "column.\n"
    "Pressures are absolute and say so (`_kPa_abs`, `_psia`), but for `boost`, which is above the "
    "pressure of\n"
    "the site's air, and for drops, room and mean effective pressures, which are differences "
    "(`_kPa`,\n"
    "`_psi`). Pressures in the cylinder are in bar, `_bar_abs`, or `_psia`. Temperatures are "
    "`_degC` or `_degF`; room of temperatures is a difference, `_K` "
    "or `_degR`.\n"
    "`hp` is 550 ft lbf/s (745.69987 W), `lb` the avoirdupois pound, `gal` the US gallon of 231 "
    "in3, "
    "`rpm`\n"
    "revolutions a minute, `deg` degrees of crank angle, `pct` per cent; flows of injectors are in "
    "cm3/min in\n"
    "both systems. `inHg` is the conventional inch of mercury (3386.389 Pa); vacuums are pressures "
    "below that of\n"
    "the site's air. Money has no unit: it is in whatever the study counts in, and `W_per_unit` is "
    "watts for one\n"
    "unit of it. A column without a unit is a plain number or a text.\n"
    "\n"
    "## Words used\n"
    "\n"
    "- **First site**: the one the study lists first. Peak power, gain, torque, consumption and "
    "corrected\n"
    "  powers in `ranked.csv` are those of the first site.\n"
    "- **Weakest site**: the one whose peak of brake power is lowest; the earlier one of equals.\n"
    "- **Span** of a limit: the bound itself; for the pressure ratio its rise above 1 (at least "
    "0.01); for a\n"
    "  temperature its rise above the site's ambient temperature (at least 1 K). It makes room "
    "in\n"
    "  different units comparable.\n"
    "- **Room** of a limit: its bound less the value; where the bound is a lower one, as of "
    "bearing life or power,\n"
    "  the value less the bound.\n"
    "- **Properties of the whole kit**, such as price or bearing life, have neither a site nor a "
    "speed: those cells\n"
    "  are empty when such a limit is the binding one.\n"
    "- **Binding limit**: the limit with the least room as a share of its span, over all sites "
    "and speeds.\n"
    "  Negative room is a broken limit; in `ranked.csv` there is none.\n"
    "- **Gain**: over the stock engine at the same site, by the same model.\n"
    "- **SAE J1349** is the edition of June 1990: 1.180 (990/pd) sqrt(T/298) - 0.18, pd in mbar of "
    "dry air.\n"
    "- **ISO 1585** holds its correction valid only for factors from 0.93 to 1.07. The program "
    "writes the\n"
    "  value outside this range as well, at high sites for instance: compare it with the brake "
    "power\n"
    "  and leave it out where their ratio lies outside the range.\n";

static bool cell_names(FILE *out, const struct report_column *column)
{
    char metric[REPORT_NAME_MAX], us[REPORT_NAME_MAX];
    report_column_name(column, SHV_METRIC, metric);
    report_column_name(column, SHV_US, us);
    return fprintf(out, "| `%s` | `%s` ", metric, us) > 0;
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

static bool say_meaning(FILE *out, const struct report_column *column)
{
    const char *says = column->when >= REPORT_WHEN_LIMIT(0) ? "that limit is set" : NULL;
    for (size_t i = 0; i < sizeof conditions / sizeof *conditions; i++) {
        says = conditions[i].when == column->when ? conditions[i].says : says;
    }
    return fprintf(out, says ? "| %s Only when %s. |\n" : "| %s |\n", column->meaning, says) > 0;
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
static bool section(FILE *out, const char *title, const struct report_layout *layout,
                    const struct report_layout *ranked)
{
    size_t known = 0;
    bool good =
        fprintf(out, "\n## %s\n\n| Metric | US | Meaning |\n| --- | --- | --- |\n", title) > 0;
    for (size_t i = 0; good && i < layout->count; i++) {
        const struct report_column *column = &layout->column[i];
        if (ranked && is_in(ranked, column)) {
            known++;
            continue;
        }
        good = cell_names(out, column) && say_meaning(out, column);
    }
    if (known > 0 && known == ranked->count) {
        return good && fputs("\nThen all columns of ranked.csv, of the row's kit.\n", out) != EOF;
    }
    const char *before = "\nAs in ranked.csv: ";
    for (size_t i = 0; good && known > 0 && i < layout->count; i++) {
        if (is_in(ranked, &layout->column[i])) {
            good = fprintf(out, "%s`%s`", before, layout->column[i].stem) > 0;
            before = ", ";
        }
    }
    return good && (known == 0 || fputs(".\n", out) != EOF);
}

static const char *const manifest =
    "\n"
    "## manifest.cfg: what was run\n"
    "\n"
    "libconfig text, the language of study files. `program` and "
    "`version`; group `study` (`path`, `title`,\n"
    "`sha256` of the study file, `sha256_all` of it followed by each "
    "file it includes or names, in the order\n"
    "met, `units`); group `space` (`combinations`, the\n"
    "number of choices in each dimension, `sites`, `speeds`); "
    "group `counts` (`total`, `feasible`, and by\n"
    "reason `failed`, `first_broken`, `broken`, as in "
    "`rejected.csv`); group `rows` (how many rows `ranked.csv`,\n"
    "`optimum.csv` and `limit_worth.csv` have, and how many kits `curves.csv`); "
    "group `objective` (`words`, the study's `currency`\n"
    "if it names one, the `column` of `ranked.csv` that holds it and the `best` value there). "
    "With trade-offs a list `tradeoffs`, for each front its `points`, the `best` and worst value "
    "(`reference`) it has of each thing, in SI and with larger as better, the `hypervolume` it "
    "dominates above that reference, and that as a share of the box between them "
    "(`hypervolume_share`). "
    "With the closed cycle group `cycle`: "
    "the least and\n"
    "largest factor that ties it to the stock torque curve and their speeds (`tie_least`, "
    "`tie_least_rpm`,\n"
    "`tie_most`, `tie_most_rpm`), and a list `tables`, for each table `fuel`, `lambda`, `site` "
    "(the "
    "first of its\n"
    "kind), its nodes (`pressure_nodes`, `temperature_nodes`, `ca50_nodes`), the grids it took "
    "(`rounds`), how\n"
    "many random points it was compared at with direct cycles (`compared`) and the largest "
    "differences there\n"
    "(`error_random`): `efficiency_pct` and "
    "`peak_pressure_pct`\n"
    "in per cent of the value, `ca50_deg`. What "
    "may differ between two runs of one study\n"
    "stands apart in the group `run`: `started` (UTC), `options`, "
    "`system`, `machine`, `processors`, `threads`,\n"
    "`seconds_tables`, `seconds_sweep`, `seconds_search`, `seconds_total`, and in the order of "
    "`cycle.tables` a\n"
    "list `tables` of `key` (SHA-256 of what the table is made from, its name in the folder of "
    "kept "
    "tables; empty\n"
    "without such a folder) and `from_file` (`yes` when it came from there).\n"
    "\n"
    "## study.txt: what the study said\n"
    "\n"
    "The text of the study file and of each file it includes or names, in the order met, each "
    "under "
    "a line\n"
    "`#### NAME`.\n";

enum shv_status shv_report_write_reference(FILE *out)
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
    bool good = fputs(introduction, out) != EOF;
    for (size_t i = 0; good && i < sizeof tables / sizeof *tables; i++) {
        struct report_layout layout;
        report_table_layout(tables[i], &layout, REPORT_EVERY_COLUMN);
        good = section(out, tables[i]->about, &layout, i > 0 ? &ranked : NULL);
    }
    good = good && fputs(manifest, out) != EOF && fflush(out) == 0;
    return good ? SHV_OK : SHV_IO;
}
