/* report.html of a product range: the folder that sheave plan leaves (src/report/page/page.h). */
#include <math.h>
#include <string.h>

#include "report/write/file.h"
#include "report/write/words.h"
#include "report/page/html.h"
#include "report/page/page.h"
#include "report/page/page_extra.h"
#include "report/plot/plot.h"
#include "sheave/report.h"
#include "sheave/version.h"

#define ROWS 500
#define GROUP_NAME 640

static const struct plot_kind *plan_kind(void)
{
    const struct plot_kind *kind = plot_kinds;
    while (kind->draw != plot_plan) {
        kind++;
    }
    return kind;
}

/* The point of the curve that the plan is. */
static void say_plan(FILE *out, const struct report_records *curve)
{
    size_t plan = report_records_find(curve, "plan"), parts = report_records_find(curve, "parts");
    size_t lost = report_records_find(curve, "lost_pct");
    for (size_t i = 0; i < curve->rows; i++) {
        if (report_records_text(curve, i, plan)[0] == 'y') {
            (void)fprintf(out,
                          "<p class=\"lead\">The plan keeps <b>%.0f</b> different parts in stock; "
                          "with any number of parts it would be worth %.1f %% more.</p>\n",
                          report_records_number(curve, i, parts),
                          report_records_number(curve, i, lost));
        }
    }
}

static void put_stock(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {{"part", "part"},
                                                 {"kind", "kind"},
                                                 {"kits_a_year", "kits a year"},
                                                 {"pieces_a_year", "pieces a year"},
                                                 {"groups", "groups"},
                                                 {"cost_of_stock", "stock costs a year"},
                                                 {"used_in", "used for"}};
    page_extra_table(out, results, &results->shelf, &report_shelf, "Parts that are kept", columns,
                     sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
}

static void put_kits(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {{"vehicle", "vehicle"},
                                                 {"market", "market"},
                                                 {"tier", "tier"},
                                                 PAGE_HARDWARE,
                                                 {"fuel", "fuel"},
                                                 {"power", "peak power"},
                                                 {"power_lost", "short of its best"},
                                                 {"price", "price"},
                                                 {"binding_limit", "nearest limit"},
                                                 {"least_room", "room"},
                                                 {"all_hold", "holds every limit"},
                                                 {"binding_site", "at site"},
                                                 {"binding_speed", "at"},
                                                 {"sales", "sold a year"}};
    page_extra_table(out, results, &results->range, &report_range,
                     "The kit of each group of customers", columns,
                     sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
}

static void put_curve(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {{"parts_allowed", "parts allowed"},
                                                 {"parts", "parts kept"},
                                                 {"value_power", "worth"},
                                                 {"value_share", "worth"},
                                                 {"value_profit", "worth"},
                                                 {"gain", "the last part gains"},
                                                 {"lost", "short of all parts"},
                                                 {"worst_value_power", "worth at the worst"},
                                                 {"worst_value_share", "worth at the worst"},
                                                 {"worst_value_profit", "worth at the worst"},
                                                 {"worst_scenario", "which is"},
                                                 {"worst_gain", "the last part gains then"},
                                                 {"proven", "proven best"},
                                                 {"knee", "knee"},
                                                 {"plan", "the plan"}};
    page_extra_table(out, results, &results->plan, &report_range_curve,
                     "What each further part buys", columns, sizeof columns / sizeof *columns, ROWS,
                     REPORT_NO_COLUMN);
}

/* What knowing the sales before is worth: the mean gain over the scenarios. */
static void say_knowing(FILE *out, const struct report_records *r)
{
    size_t weight = report_records_find(r, "weight"), gain = report_records_find(r, "gain_pct");
    double sum = 0.0;
    for (size_t i = 0; i < r->rows; i++) {
        sum += report_records_number(r, i, weight) * report_records_number(r, i, gain);
    }
    (void)fprintf(out,
                  "<p>Stock and kits are chosen before the sales are known, for the mean over the "
                  "scenarios. Knowing them exactly would be worth %.2g&nbsp;%% of what the plan is "
                  "worth.</p>\n",
                  sum);
}

static void put_scenarios(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {{"scenario", "scenario"},
                                                 {"weight", "weight"},
                                                 {"sales", "kits a year"},
                                                 {"value_power", "the plan is worth"},
                                                 {"value_share", "the plan is worth"},
                                                 {"value_profit", "the plan is worth"},
                                                 {"best_value_power", "the best plan for it"},
                                                 {"best_value_share", "the best plan for it"},
                                                 {"best_value_profit", "the best plan for it"},
                                                 {"gain", "more"},
                                                 {"best_parts", "its parts"},
                                                 {"proven", "proven best"}};
    if (results->scenarios.rows > 0) {
        html_section(out, "sales", "Sales");
        say_knowing(out, &results->scenarios);
        page_extra_table(out, results, &results->scenarios, &report_scenarios,
                         "The plan in each scenario of the sales", columns,
                         sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
        html_section_end(out);
    }
}

static void put_tables(FILE *out, const struct report_results *results)
{
    html_section(out, "stock", "Stock");
    put_stock(out, results);
    html_section_end(out);
    html_section(out, "kits", "Kits");
    put_kits(out, results);
    html_section_end(out);
    html_section(out, "curve", "Curve");
    put_curve(out, results);
    html_section_end(out);
    put_scenarios(out, results);
}

static enum shv_status put_range(FILE *out, const struct report_results *results,
                                 struct shv_message *message)
{
    const struct plot_kind *kind = plan_kind();
    html_begin(out, "Product range", true);
    (void)fputs(
        "<main>\n<header><p class=\"brand\">sheave: what to stock, and why</p>\n<h1>Product "
        "range</h1></header>\n",
        out);
    html_section(out, "answer", "Answer");
    say_plan(out, &results->plan);
    enum shv_status status =
        html_figure(out, results, kind->name, kind->name, kind->title, kind->meaning, message);
    html_section_end(out);
    put_tables(out, results);
    html_put(out,
             "<p class=\"caution\">%s</p>\n</main>\n<footer><p>Made by sheave %s.</p></footer>\n",
             shv_cautions, shv_version());
    html_end(out, true);
    return status;
}

enum shv_status report_range_page(const struct report_results *results, struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, results->folder, "report.html", message);
    if (status != SHV_OK) {
        return status;
    }
    status = put_range(file.stream, results, message);
    if (status != SHV_OK) {
        report_file_discard(&file);
        return status;
    }
    return report_file_finish(&file, !ferror(file.stream), message);
}

/* ---- a sheet for the kit of a group ---- */

static const char *group_text(const struct report_results *results, size_t row, const char *stem)
{
    return report_cell(&results->range, row, stem);
}

static void group_name(const struct report_results *results, size_t row, char name[GROUP_NAME])
{
    (void)snprintf(name, GROUP_NAME, "%s, %s, %s", group_text(results, row, "vehicle"),
                   group_text(results, row, "market"), group_text(results, row, "tier"));
}

static void put_group(FILE *out, const struct report_results *results, size_t row)
{
    static const struct page_column facts[] = {
        {"blower", "blower"},
        {"crank_pulley", "crank pulley"},
        {"blower_pulley", "blower pulley"},
        {"ratio", "ratio"},
        {"cooler", "charge cooler"},
        {"effectiveness", "its effectiveness"},
        {"fuel", "fuel it is made for"},
        {"lambda", "lambda"},
        {"air_fuel_ratio", "AFR"},
        {"ignition_margin", "ignition held back from knock"},
        {"injector", "injectors"},
        {"injector_flow", "each, held open"},
        {"pump", "fuel pump"},
        {"ribs", "ribs of the belt"},
        {"belt_to_order", "belt to order"},
        {"belt_length", "length of the belt as fitted"},
        {"static_tension", "static belt tension, one side"},
        {"highest_hub_load", "highest load on the nose"},
        {"highest_boost", "highest boost"},
        {"highest_rotor_speed", "highest rotor speed"},
        {"highest_injector_duty", "highest injector duty"},
        {"peak_power", "peak power"},
        {"peak_power_speed", "speed of that power"},
        {"peak_torque", "peak torque"},
        {"peak_torque_speed", "speed of that torque"},
        {"power", "power it is chosen by"},
        {"price", "price of the kit"},
        {"mass", "mass of the kit"},
        {"binding_limit", "nearest limit"},
        {"least_room", "room to it"},
        {"all_hold", "holds every limit with a probability of"},
        {"binding_speed", "nearest at"},
        {"binding_site", "at site"}};
    char name[GROUP_NAME];
    group_name(results, row, name);
    html_begin(out, name, false);
    html_put(out,
             "<main class=\"sheet group\">\n<header>\n<p class=\"brand\">Kit "
             "sheet</p>\n<h1>%s</h1>\n<p class=\"by\">Product range, sheave %s.</p>\n<p "
             "class=\"fill\">Revision ________ &nbsp; Fitted by ________________ &nbsp; Date "
             "____________</p>\n</header>\n<dl class=\"facts\">\n",
             name, shv_version());
    page_facts(out, results, &results->range, &report_range, row, facts,
               sizeof facts / sizeof *facts);
    html_put(out,
             "</dl>\n<p>Its curves and limits: <code>sheave point STUDY --combination %s</code> "
             "with the vehicle's study in that market.</p>\n<p class=\"caution\">%s</p>\n</main>\n",
             group_text(results, row, "combination"), shv_cautions);
    html_end(out, false);
}

static enum shv_status write_group(const struct report_results *results, size_t row,
                                   struct shv_message *message)
{
    char name[48];
    struct report_file file;
    (void)snprintf(name, sizeof name, "group-%zu.html", row + 1);
    enum shv_status status = report_file_open(&file, results->folder, name, message);
    if (status == SHV_OK) {
        put_group(file.stream, results, row);
        status = report_file_finish(&file, !ferror(file.stream), message);
    }
    return status;
}

enum shv_status report_groups(const struct report_results *results, const char *group,
                              size_t *first, size_t *count, struct shv_message *message)
{
    bool all = strcmp(group, "all") == 0;
    char name[GROUP_NAME] = "";
    enum shv_status status = SHV_OK;
    *first = *count = 0;
    for (size_t row = 0; row < results->range.rows && status == SHV_OK; row++) {
        group_name(results, row, name);
        if (all || strcmp(name, group) == 0) {
            *first = *count == 0 ? row + 1 : *first;
            (*count)++;
            status = write_group(results, row, message);
        }
    }
    if (status == SHV_OK && *count == 0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s has no group \"%.80s\"; accepted: \"all\", or vehicle, market and tier "
                        "as they stand in range.csv, such as \"%.200s\"",
                        results->folder, group, name);
    }
    return status;
}
