/* report.html of a product range: the folder that sheave plan leaves (src/report/page/page.h). */
#include "report/write/file.h"
#include "report/page/html.h"
#include "report/page/page.h"
#include "report/page/page_extra.h"
#include "report/plot/plot.h"
#include "sheave/report.h"
#include "sheave/version.h"

#define ROWS 500

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
        {"kind", REPORT_TEXT, "kind", PAGE_PLAIN},
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
        {"binding_limit", REPORT_TEXT, "nearest limit", PAGE_LIMIT},
        {"least_margin", REPORT_PERCENT, "room", PAGE_PLAIN},
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
        {"proven", REPORT_TEXT, "proven best", PAGE_PLAIN},
        {"knee", REPORT_TEXT, "knee", PAGE_PLAIN},
        {"plan", REPORT_TEXT, "the plan", PAGE_PLAIN},
    };
    page_extra_table(out, results, &results->plan, "curve.csv", "What each further part buys",
                     columns, sizeof columns / sizeof *columns, ROWS, REPORT_NO_COLUMN);
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
}

static enum shv_status put_range(FILE *out, const struct report_results *results,
                                 struct shv_message *message)
{
    const struct plot_kind *kind = plan_kind();
    html_begin(out, "Product range", false);
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
    (void)fputs("<p class=\"caution\">", out);
    html_text(out, shv_cautions);
    (void)fprintf(out, "</p>\n</main>\n<footer><p>Made by sheave %s.</p></footer>\n",
                  shv_version());
    html_end(out, false);
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
