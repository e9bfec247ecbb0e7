/* report.html of a product range: the folder that sheave plan leaves (src/report/page/page.h). */
#include "report/write/file.h"
#include "report/page/html.h"
#include "report/page/page.h"
#include "report/page/page_extra.h"
#include "report/plot/plot.h"
#include "sheave/report.h"
#include "sheave/version.h"

#define ROWS 500
#define COLUMNS 20

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
    html_section(out, "stock", "Stock");
    page_extra_table(out, &results->shelf, "Parts that are kept", ROWS, COLUMNS);
    html_section_end(out);
    html_section(out, "kits", "Kits");
    page_extra_table(out, &results->range, "The kit of each group of customers", ROWS, COLUMNS);
    html_section_end(out);
    html_section(out, "curve", "Curve");
    page_extra_table(out, &results->plan, "What each further part buys", ROWS, COLUMNS);
    html_section_end(out);
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
