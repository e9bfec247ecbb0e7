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
    static const struct page_column columns[] = {
        {"part", REPORT_TEXT, "part", PAGE_PLAIN},
        {"kind", REPORT_TEXT, "kind", PAGE_NAME},
        {"kits_a_year", REPORT_NUMBER, "kits a year", PAGE_PLAIN},
        {"pieces_a_year", REPORT_NUMBER, "pieces a year", PAGE_PLAIN},
        {"groups", REPORT_COUNT, "groups", PAGE_PLAIN},
        {"cost_of_stock", REPORT_MONEY, "stock costs a year", PAGE_PLAIN},
        {"used_in", REPORT_TEXT, "used for", PAGE_PLAIN},
    };
    page_extra_table(out, results, &results->shelf, "stock.csv", "Parts that are kept", columns,
                     sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
}

static void put_kits(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {
        {"vehicle", REPORT_TEXT, "vehicle", PAGE_PLAIN},
        {"market", REPORT_TEXT, "market", PAGE_PLAIN},
        {"tier", REPORT_TEXT, "tier", PAGE_PLAIN},
        {"blower", REPORT_TEXT, "blower", PAGE_PLAIN},
        {"crank_pulley", REPORT_LENGTH, "crank pulley", PAGE_PLAIN},
        {"blower_pulley", REPORT_LENGTH, "blower pulley", PAGE_PLAIN},
        {"cooler", REPORT_TEXT, "cooler", PAGE_PLAIN},
        {"effectiveness", REPORT_NUMBER, "effectiveness", PAGE_PLAIN},
        {"fuel", REPORT_TEXT, "fuel", PAGE_PLAIN},
        {"power", REPORT_POWER, "peak power", PAGE_PLAIN},
        {"power_lost", REPORT_PERCENT, "short of its best", PAGE_PLAIN},
        {"price", REPORT_MONEY, "price", PAGE_PLAIN},
        {"binding_limit", REPORT_TEXT, "nearest limit", PAGE_NAME},
        {"least_room", REPORT_PERCENT, "room", PAGE_PLAIN},
        {"all_hold", REPORT_PERCENT, "holds every limit", PAGE_PLAIN},
        {"binding_site", REPORT_TEXT, "at site", PAGE_PLAIN},
        {"binding_speed", REPORT_ROTATION, "at", PAGE_PLAIN},
        {"sales", REPORT_NUMBER, "sold a year", PAGE_PLAIN},
    };
    page_extra_table(out, results, &results->range, "range.csv",
                     "The kit of each group of customers", columns,
                     sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
}

static void put_curve(FILE *out, const struct report_results *results)
{
    static const struct page_column columns[] = {
        {"parts_allowed", REPORT_COUNT, "parts allowed", PAGE_PLAIN},
        {"parts", REPORT_COUNT, "parts kept", PAGE_PLAIN},
        {"value_power", REPORT_POWER, "worth", PAGE_PLAIN},
        {"value_share", REPORT_NUMBER, "worth", PAGE_PLAIN},
        {"value_profit", REPORT_MONEY, "worth", PAGE_PLAIN},
        {"gain", REPORT_PERCENT, "the last part gains", PAGE_PLAIN},
        {"lost", REPORT_PERCENT, "short of all parts", PAGE_PLAIN},
        {"worst_value_power", REPORT_POWER, "worth at the worst", PAGE_PLAIN},
        {"worst_value_share", REPORT_NUMBER, "worth at the worst", PAGE_PLAIN},
        {"worst_value_profit", REPORT_MONEY, "worth at the worst", PAGE_PLAIN},
        {"worst_scenario", REPORT_TEXT, "which is", PAGE_PLAIN},
        {"worst_gain", REPORT_PERCENT, "the last part gains then", PAGE_PLAIN},
        {"proven", REPORT_TEXT, "proven best", PAGE_PLAIN},
        {"knee", REPORT_TEXT, "knee", PAGE_PLAIN},
        {"plan", REPORT_TEXT, "the plan", PAGE_PLAIN},
    };
    page_extra_table(out, results, &results->plan, "curve.csv", "What each further part buys",
                     columns, sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
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
    static const struct page_column columns[] = {
        {"scenario", REPORT_TEXT, "scenario", PAGE_PLAIN},
        {"weight", REPORT_NUMBER, "weight", PAGE_PLAIN},
        {"sales", REPORT_NUMBER, "kits a year", PAGE_PLAIN},
        {"value_power", REPORT_POWER, "the plan is worth", PAGE_PLAIN},
        {"value_share", REPORT_NUMBER, "the plan is worth", PAGE_PLAIN},
        {"value_profit", REPORT_MONEY, "the plan is worth", PAGE_PLAIN},
        {"best_value_power", REPORT_POWER, "the best plan for it", PAGE_PLAIN},
        {"best_value_share", REPORT_NUMBER, "the best plan for it", PAGE_PLAIN},
        {"best_value_profit", REPORT_MONEY, "the best plan for it", PAGE_PLAIN},
        {"gain", REPORT_PERCENT, "more", PAGE_PLAIN},
        {"best_parts", REPORT_COUNT, "its parts", PAGE_PLAIN},
        {"proven", REPORT_TEXT, "proven best", PAGE_PLAIN},
    };
    if (results->scenarios.rows > 0) {
        html_section(out, "sales", "Sales");
        say_knowing(out, &results->scenarios);
        page_extra_table(out, results, &results->scenarios, "scenarios.csv",
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
        {"blower", REPORT_TEXT, "blower", PAGE_PLAIN},
        {"crank_pulley", REPORT_LENGTH, "crank pulley", PAGE_PLAIN},
        {"blower_pulley", REPORT_LENGTH, "blower pulley", PAGE_PLAIN},
        {"ratio", REPORT_NUMBER, "ratio", PAGE_PLAIN},
        {"cooler", REPORT_TEXT, "charge cooler", PAGE_PLAIN},
        {"effectiveness", REPORT_NUMBER, "its effectiveness", PAGE_PLAIN},
        {"fuel", REPORT_TEXT, "fuel it is made for", PAGE_PLAIN},
        {"lambda", REPORT_NUMBER, "lambda", PAGE_PLAIN},
        {"air_fuel_ratio", REPORT_NUMBER, "AFR", PAGE_PLAIN},
        {"ignition_margin", REPORT_ANGLE, "ignition held back from knock", PAGE_PLAIN},
        {"injector", REPORT_TEXT, "injectors", PAGE_PLAIN},
        {"injector_flow", REPORT_INJECTOR_FLOW, "each, held open", PAGE_PLAIN},
        {"pump", REPORT_TEXT, "fuel pump", PAGE_PLAIN},
        {"ribs", REPORT_NUMBER, "ribs of the belt", PAGE_PLAIN},
        {"belt_to_order", REPORT_LENGTH, "belt to order", PAGE_PLAIN},
        {"belt_length", REPORT_LENGTH, "length of the belt as fitted", PAGE_PLAIN},
        {"static_tension", REPORT_FORCE, "static belt tension, one side", PAGE_PLAIN},
        {"highest_hub_load", REPORT_FORCE, "highest load on the nose", PAGE_PLAIN},
        {"highest_boost", REPORT_GAUGE, "highest boost", PAGE_PLAIN},
        {"highest_rotor_speed", REPORT_ROTATION, "highest rotor speed", PAGE_PLAIN},
        {"highest_injector_duty", REPORT_PERCENT, "highest injector duty", PAGE_PLAIN},
        {"peak_power", REPORT_POWER, "peak power", PAGE_PLAIN},
        {"peak_power_speed", REPORT_ROTATION, "speed of that power", PAGE_PLAIN},
        {"peak_torque", REPORT_TORQUE, "peak torque", PAGE_PLAIN},
        {"peak_torque_speed", REPORT_ROTATION, "speed of that torque", PAGE_PLAIN},
        {"power", REPORT_POWER, "power it is chosen by", PAGE_PLAIN},
        {"price", REPORT_MONEY, "price of the kit", PAGE_PLAIN},
        {"mass", REPORT_MASS, "mass of the kit", PAGE_PLAIN},
        {"binding_limit", REPORT_TEXT, "nearest limit", PAGE_NAME},
        {"least_room", REPORT_PERCENT, "room to it", PAGE_PLAIN},
        {"all_hold", REPORT_PERCENT, "holds every limit with a probability of", PAGE_PLAIN},
        {"binding_speed", REPORT_ROTATION, "nearest at", PAGE_PLAIN},
        {"binding_site", REPORT_TEXT, "at site", PAGE_PLAIN},
    };
    char name[GROUP_NAME];
    group_name(results, row, name);
    html_begin(out, name, false);
    html_put(out,
             "<main class=\"sheet group\">\n<header>\n<p class=\"brand\">Kit "
             "sheet</p>\n<h1>%s</h1>\n<p class=\"by\">Product range, sheave %s.</p>\n<p "
             "class=\"fill\">Revision ________ &nbsp; Fitted by ________________ &nbsp; Date "
             "____________</p>\n</header>\n<dl class=\"facts\">\n",
             name, shv_version());
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
        page_fact(out, results, &results->range, row, &facts[i]);
    }
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
