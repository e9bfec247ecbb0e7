/* report.html (src/report/page/page.h): the answer first, then what it rests on. */
#include "report/page/page.h"

#include <math.h>
#include <string.h>

#include "report/write/file.h"
#include "report/page/html.h"
#include "report/write/words.h"
#include "report/page/kit_html.h"
#include "report/page/page_extra.h"
#include "report/page/page_table.h"
#include "report/plot/plot.h"
#include "sheave/report.h"
#include "sheave/version.h"

#define EXTRA_ROWS 12

/* Sections are drawn in turn; the first status that is not SHV_OK stays. */
struct page {
    FILE *out;
    const struct report_results *results;
    enum shv_status status;
    struct shv_message *message;
};

static bool has_kit(const struct page *p)
{
    return p->results->ranked.rows > 0;
}

static const struct plot_kind *kind_of(const char *name)
{
    for (const struct plot_kind *kind = plot_kinds; kind->name; kind++) {
        if (strcmp(kind->name, name) == 0) {
            return kind;
        }
    }
    return NULL;
}

static void figure(struct page *p, const char *name)
{
    const struct plot_kind *kind = kind_of(name);
    if (kind && p->status == SHV_OK) {
        p->status =
            html_figure(p->out, p->results, name, name, kind->title, kind->meaning, p->message);
    }
}

/* ---- head ---- */

static const struct {
    const char *id, *title;
    bool needs_kit;
} sections[] = {
    {"answer", "Answer", false},    {"parts", "Parts", true},
    {"curves", "Curves", true},     {"limits", "Limits", true},
    {"why", "Why not more", true},  {"tradeoffs", "Trade-offs", true},
    {"sure", "How sure", false},    {"ranking", "Ranking", true},
    {"kits", "Kit by kit", true},   {"rejected", "Rejected", false},
    {"inputs", "The study", false}, {"cautions", "Cautions", false},
};

static bool has_tradeoffs(const struct page *p)
{
    const struct report_results *r = p->results;
    return r->tradeoffs.rows > 0 || r->serving.rows > 0 || r->sites.rows > 0;
}

static bool is_there(const struct page *p, size_t i)
{
    bool tradeoffs = strcmp(sections[i].id, "tradeoffs") == 0;
    return (!sections[i].needs_kit || has_kit(p)) && (!tradeoffs || has_tradeoffs(p));
}

static void begin(struct page *p, const char *id)
{
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++) {
        if (strcmp(sections[i].id, id) == 0) {
            html_section(p->out, id, sections[i].title);
        }
    }
}

static void put_header(struct page *p)
{
    double total = report_results_number(p->results, "counts.total");
    html_put(p->out,
             "<a class=\"skip\" href=\"#answer\">Skip to the answer</a>\n<header>\n<p "
             "class=\"brand\">sheave: what to fit, and why</p>\n<h1>%s</h1>\n<p class=\"by\">",
             p->results->title[0] ? p->results->title : "A study without a title");
    html_count(p->out, total);
    html_put(p->out, " combinations, ranked by %s", p->results->objective_words);
    const char *begun = report_results_text(p->results, "run.started", "");
    if (strlen(begun) > 16) { /* 2026-05-17T14:03:59Z */
        (void)fprintf(p->out, "; begun <span class=\"whole\">%.10s, %.5s UTC</span>", begun,
                      begun + 11);
    }
    (void)fputs(".</p>\n</header>\n", p->out);
}

static void put_nav(struct page *p)
{
    (void)fputs("<nav aria-label=\"Sections\"><ul>\n", p->out);
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++) {
        if (is_there(p, i)) {
            (void)fprintf(p->out, "<li><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                          sections[i].title);
        }
    }
    (void)fputs("</ul></nav>\n<main>\n", p->out);
}

/* ---- answer ---- */

#define REASONS_SAID 3

static void say_nothing_feasible(struct page *p)
{
    struct report_row_value list[REPORT_REASONS];
    size_t count = report_results_reasons(p->results, list);
    (void)fputs("<p class=\"lead\">Nothing is feasible: no combination holds every limit at every "
                "site and speed.</p>\n<p>Commonest reasons:</p><ol>\n",
                p->out);
    for (size_t i = 0; i < count && i < REASONS_SAID; i++) {
        (void)fputs("<li>", p->out);
        html_words(p->out,
                   report_limit_title(report_cell(&p->results->rejected, list[i].row, "reason")));
        (void)fputs(": ", p->out);
        html_count(p->out, list[i].value);
        (void)fputs(" combinations</li>\n", p->out);
    }
    (void)fputs("</ol>\n", p->out);
    page_nearest(p->out, p->results);
}

/* One of the two kits that lead: what it is, what it makes, its nearest limit. */
static void put_leading(struct page *p, size_t row, const char *role, double holds)
{
    (void)fprintf(p->out, "<article>\n<h3>%s</h3>\n<p>", role);
    if (isnan(holds)) {
        (void)fputs(
            "It stands right at its limits. With a group <code>tolerances</code> in the study "
            "(docs/config.md) a run says how surely it holds, and which kit to sell.",
            p->out);
    } else {
        (void)fprintf(p->out,
                      "Holds every limit with %.1f %% when parts, engine and weather are off.",
                      holds);
    }
    (void)fputs("</p>\n<p class=\"lead\">", p->out);
    kit_answer(p->out, p->results, row);
    (void)fputs("</p>\n<p>", p->out);
    kit_held_back(p->out, p->results, row);
    (void)fputs("</p>\n", p->out);
    kit_facts(p->out, p->results, row);
    (void)fputs("</article>\n", p->out);
}

/* The kit to sell goes before the strongest on paper, which stands right at its limits. */
static void put_leaders(struct page *p)
{
    const char *names[] = {"Kit to sell", "Strongest on paper"};
    size_t sell = report_results_to_sell(p->results);
    double paper = report_results_number(p->results, "kits.strongest_on_paper_holds_pct");
    (void)fputs("<div class=\"pair\">\n", p->out);
    if (sell != REPORT_NO_COLUMN) {
        put_leading(p, sell, sell == 0 ? "Kit to sell, and strongest on paper" : names[0],
                    report_results_number(p->results, "kits.kit_to_sell_holds_pct"));
    }
    if (sell != 0) {
        put_leading(p, 0, names[1], paper);
    }
    (void)fputs("</div>\n", p->out);
}

/* What is not there yet, or was left out. */
static void put_stages(struct page *p)
{
    static const struct {
        const char *key, *what;
    } stages[] = {{"stages.search", "The search for ideals and the worth of limits"},
                  {"stages.certainty", "How sure the kits are"}};
    for (size_t i = 0; i < sizeof stages / sizeof *stages; i++) {
        const char *how = report_results_text(p->results, stages[i].key, "");
        if (strcmp(how, "to_come") == 0) {
            html_put(p->out,
                     "<p class=\"caution\">%s: still to come when this page was written.</p>\n",
                     stages[i].what);
        } else if (strcmp(how, "left_out") == 0) {
            html_put(p->out, "<p class=\"caution\">%s: left out of this run.</p>\n",
                     stages[i].what);
        }
    }
}

static void put_answer(struct page *p)
{
    begin(p, "answer");
    put_stages(p);
    if (has_kit(p)) {
        put_leaders(p);
        (void)fputs("<p class=\"caution\">Estimates: confirm on a dynamometer with mixture and "
                    "knock measurement; see <a href=\"#cautions\">Cautions</a>.</p>\n",
                    p->out);
    } else {
        say_nothing_feasible(p);
    }
    html_section_end(p->out);
}

/* ---- the best kit ---- */

/* Its parts and limits are those of the kit to sell, where there is one. */
static void put_best(struct page *p)
{
    size_t sell = report_results_to_sell(p->results);
    size_t row = sell == REPORT_NO_COLUMN ? 0 : sell;
    const char *which = sell == REPORT_NO_COLUMN ? "the strongest on paper" : "the kit to sell";
    begin(p, "parts");
    html_put(p->out, "<p>Of %s.</p>\n", which);
    kit_parts(p->out, p->results, row);
    html_section_end(p->out);
    begin(p, "curves");
    html_put(p->out, "<p>Of %s.</p>\n<div class=\"figures\">\n", which);
    figure(p, "power");
    figure(p, "sites");
    figure(p, "air");
    figure(p, "phasing");
    figure(p, "islands");
    (void)fputs("</div>\n", p->out);
    html_section_end(p->out);
    begin(p, "limits");
    html_put(p->out, "<p>Of %s.</p>\n<div class=\"beside\">\n", which);
    kit_limits(p->out, p->results, row, SHV_LIMIT_COUNT);
    figure(p, "room");
    (void)fputs("</div>\n", p->out);
    html_section_end(p->out);
}

/* ---- why not more ---- */

static void put_ideals(struct page *p)
{
    static const struct page_column columns[] = {{"blower", "blower"},
                                                 {"fuel", "fuel"},
                                                 {"ideal_objective", "ranking value"},
                                                 {"ideal_ratio", "ratio"},
                                                 {"ideal_cooler", "cooler"},
                                                 {"ideal_effectiveness", "effectiveness"},
                                                 {"binding_limit", "held back by"},
                                                 {"loss", "lost with listed parts"},
                                                 {"made_blower_pulley", "pulley worth having made"},
                                                 {"made_gain", "it gains"},
                                                 {"uncooled_loss", "lost without a cooler"}};
    page_extra_table(p->out, p->results, &p->results->optimum, &report_optimum,
                     "The best of each blower and fuel if pulley and core could have any size",
                     columns, sizeof columns / sizeof *columns, EXTRA_ROWS, REPORT_NO_COLUMN);
}

static void put_why(struct page *p)
{
    begin(p, "why");
    put_ideals(p);
    page_limit_worth(p->out, p->results);
    figure(p, "map");
    html_section_end(p->out);
}

/* ---- trade-offs, how sure ---- */

static void put_sites(struct page *p)
{
    static const struct page_column columns[] = {{"site", "site"},
                                                 PAGE_HARDWARE,
                                                 {"fuel", "fuel"},
                                                 {"alone", "makes there"},
                                                 {"common", "the kit for all sites"},
                                                 {"shortfall", "that falls short by"},
                                                 {"holds_everywhere", "holds at all sites"},
                                                 {"broken_elsewhere", "else breaks"},
                                                 {"broken_at", "at"}};
    page_extra_table(p->out, p->results, &p->results->sites, &report_sites,
                     "The best kit for each site alone", columns, sizeof columns / sizeof *columns,
                     EXTRA_ROWS, REPORT_NO_COLUMN);
}

static void put_serving(struct page *p)
{
    static const struct page_column columns[] = {{"rank", "place"},
                                                 PAGE_HARDWARE,
                                                 {"fuel", "with"},
                                                 {"lambda", "lambda"},
                                                 {"objective", "ranking value"},
                                                 {"alone", "the best for that fuel"},
                                                 {"shortfall", "falls short by"},
                                                 {"mean", "mean over the fuels"}};
    page_extra_table(p->out, p->results, &p->results->serving, &report_serving,
                     "Hardware that does with several fuels", columns,
                     sizeof columns / sizeof *columns, EXTRA_ROWS, REPORT_NO_COLUMN);
}

static void put_tradeoffs(struct page *p)
{
    if (!has_tradeoffs(p)) {
        return;
    }
    begin(p, "tradeoffs");
    figure(p, "tradeoffs");
    put_sites(p);
    put_serving(p);
    html_section_end(p->out);
}

static void put_chances(struct page *p)
{
    static const struct page_column columns[] = {PAGE_HARDWARE,
                                                 {"fuel", "fuel"},
                                                 {"all_hold", "holds every limit"},
                                                 {"fails_most", "breaks most often"},
                                                 {"objective", "ranking value"},
                                                 {"objective_p5", "more in 19 of 20"},
                                                 {"objective_p95", "less in 19 of 20"},
                                                 {"index", "combination"}};
    page_extra_table(p->out, p->results, &p->results->sure, &report_sure,
                     "How surely kits hold when parts, engine and weather are off", columns,
                     sizeof columns / sizeof *columns, EXTRA_ROWS,
                     report_results_sure_to_sell(p->results));
}

/* What to measure first, and what the strongest on paper hangs on. */
static void put_hangs(struct page *p)
{
    static const char *const path[] = {"kits.measure_first", "kits.hangs_on",
                                       "kits.hangs_on_as_well"};
    for (size_t i = 0; i < sizeof path / sizeof *path; i++) {
        const char *words = report_results_text(p->results, path[i], "");
        if (*words != '\0') {
            html_put(p->out, "<p>%s</p>\n", words);
        }
    }
}

static void put_sure(struct page *p)
{
    begin(p, "sure");
    (void)fputs("<div class=\"figures\">\n", p->out);
    figure(p, "sure");
    figure(p, "matters");
    figure(p, "knowing");
    (void)fputs("</div>\n", p->out);
    put_chances(p);
    if (p->results->sure.rows == 0) {
        (void)fputs("<p>This run did not vary its inputs within tolerances: the numbers are those "
                    "of the study's values as they stand. Parts, weather, fuel and measurement all "
                    "scatter; keep room that covers them.</p>\n",
                    p->out);
    }
    put_hangs(p);
    double tie_least = report_results_number(p->results, "cycle.tie_least");
    double tie_most = report_results_number(p->results, "cycle.tie_most");
    if (isfinite(tie_least) && isfinite(tie_most)) {
        (void)fprintf(p->out,
                      "<p>The closed cycle is tied to the stock torque curve by factors from %.3f "
                      "to %.3f; 1 would mean that it needs no help.</p>\n",
                      tie_least, tie_most);
    }
    html_section_end(p->out);
}

/* ---- ranking and kits ---- */

static void put_ranking(struct page *p)
{
    begin(p, "ranking");
    page_table(p->out, p->results);
    double rows = (double)p->results->ranked.rows;
    if (rows > PAGE_PRINTED) {
        (void)fprintf(p->out,
                      "<p class=\"printed\">The first %d rows as they stood on the screen.</p>\n",
                      PAGE_PRINTED);
    }
    if (rows > PAGE_ROWS) {
        (void)fprintf(p->out, "<p>The best %d of ", PAGE_ROWS);
        html_count(p->out, rows);
        (void)fputs(" ranked kits; ranked.csv has all of them.</p>\n", p->out);
    }
    html_section_end(p->out);
}

static void put_kit(struct page *p, size_t row)
{
    char name[32], title[64];
    (void)snprintf(name, sizeof name, "row-%zu", row + 1);
    (void)snprintf(title, sizeof title, "Kit %zu", row + 1);
    html_put(p->out,
             "<details id=\"kit-%zu\"><summary>Kit %zu: %s, ratio %.3f, %s</summary>\n<div "
             "class=\"kit\">\n<p>",
             row + 1, row + 1, kit_text(p->results, row, "blower"),
             kit_number(p->results, row, "ratio", REPORT_NUMBER),
             kit_text(p->results, row, "fuel"));
    kit_answer(p->out, p->results, row);
    (void)fputs(" ", p->out);
    kit_held_back(p->out, p->results, row);
    (void)fputs("</p>\n", p->out);
    if (p->status == SHV_OK) {
        p->status = html_figure(p->out, p->results, name, plot_rows.name, title, plot_rows.meaning,
                                p->message);
    }
    (void)fprintf(p->out,
                  "<p class=\"hint\">A sheet to print: <code>sheave report DIR --kit "
                  "%zu</code></p>\n</div></details>\n",
                  row + 1);
}

static void put_kits(struct page *p)
{
    size_t rank[PLOT_ROWS], kits = report_results_ranks(p->results, rank, PLOT_ROWS);
    begin(p, "kits");
    for (size_t i = 0; i < kits; i++) {
        if (rank[i] <= p->results->ranked.rows) {
            put_kit(p, rank[i] - 1);
        }
    }
    html_section_end(p->out);
}

/* ---- rejected ---- */

static void put_rejected(struct page *p)
{
    const struct report_records *r = &p->results->rejected;
    size_t reason = report_records_find(r, "reason"), meaning = report_records_find(r, "meaning");
    size_t combinations = report_records_find(r, "combinations");
    size_t share = report_records_column(r, "share", REPORT_PERCENT, SHV_METRIC);
    begin(p, "rejected");
    figure(p, "rejected");
    html_table(p->out, "Where the combinations went, each counted under its first reason",
               "reason|#combinations|#%|in words");
    for (size_t i = 0; i < r->rows; i++) {
        double count = report_records_number(r, i, combinations);
        if (!(count > 0.0)) {
            continue;
        }
        (void)fputs("<tr><th scope=\"row\">", p->out);
        html_words(p->out, report_limit_title(report_records_text(r, i, reason)));
        (void)fputs("</th><td class=\"n\">", p->out);
        html_count(p->out, count);
        (void)fputs("</td>", p->out);
        html_number_cell(p->out, report_records_number(r, i, share), 2);
        html_cell(p->out, report_records_text(r, i, meaning));
        (void)fputs("</tr>\n", p->out);
    }
    html_table_end(p->out);
    html_section_end(p->out);
}

/* ---- inputs, cautions ---- */

static void put_inputs(struct page *p)
{
    static const char *const entries[][2] = {{"study", "study.path"},
                                             {"SHA-256 of the study file", "study.sha256"},
                                             {"of all its files", "study.sha256_all"},
                                             {"version", "version"},
                                             {"options", "run.options"},
                                             {"begun", "run.started"},
                                             {"system", "run.system"},
                                             {"machine", "run.machine"}};
    begin(p, "inputs");
    (void)fputs("<dl class=\"list\">\n", p->out);
    for (size_t i = 0; i < sizeof entries / sizeof *entries; i++) {
        html_put(p->out, "<dt>%s</dt><dd>%s</dd>\n", entries[i][0],
                 report_results_text(p->results, entries[i][1], "not known"));
    }
    (void)fprintf(p->out, "<dt>time taken</dt><dd>%.1f s</dd>\n</dl>\n",
                  report_results_number(p->results, "run.seconds_total"));
    if (p->results->study && p->results->study[0]) {
        html_put(p->out,
                 "<details><summary>The study as it was read</summary>\n<pre tabindex=\"0\" "
                 "aria-label=\"Text of the study\">%s</pre></details>\n",
                 p->results->study);
    }
    html_section_end(p->out);
}

static void put_cautions(struct page *p)
{
    begin(p, "cautions");
    html_put(p->out, "<p class=\"caution\">%s</p>\n", shv_cautions);
    html_section_end(p->out);
    (void)fprintf(p->out,
                  "</main>\n<footer><p>Made by sheave %s from the files beside this "
                  "page.</p></footer>\n",
                  shv_version());
}

static void put_page(struct page *p)
{
    html_begin(p->out, p->results->title[0] ? p->results->title : "sheave", true);
    put_header(p);
    put_nav(p);
    put_answer(p);
    if (has_kit(p)) {
        put_best(p);
        put_why(p);
        put_tradeoffs(p);
    }
    put_sure(p);
    if (has_kit(p)) {
        put_ranking(p);
        put_kits(p);
    }
    put_rejected(p);
    put_inputs(p);
    put_cautions(p);
    html_end(p->out, true);
}

enum shv_status report_page(const struct report_results *results, struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, results->folder, "report.html", message);
    if (status != SHV_OK) {
        return status;
    }
    struct page page = {file.stream, results, SHV_OK, message};
    put_page(&page);
    if (page.status != SHV_OK) {
        report_file_discard(&file);
        return page.status;
    }
    return report_file_finish(&file, !ferror(file.stream), message);
}
