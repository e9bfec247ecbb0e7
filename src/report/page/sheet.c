/* kit-RANK.html: one printed page that goes with a kit (src/report/page/page.h). */
#include <string.h>

#include "report/write/file.h"
#include "report/page/html.h"
#include "report/page/kit_html.h"
#include "report/page/page.h"
#include "report/plot/plot.h"
#include "sheave/report.h"
#include "sheave/version.h"

static void put_pair(FILE *out, const char *title, const char *text)
{
    if (text[0]) {
        html_put(out, "<div><dt>%s</dt><dd>%s</dd></div>\n", title, text);
    }
}

/* The size of a part in words, "" when the kit has none of it. */
static const char *part_size(const struct report_results *results, size_t row, const char *part)
{
    const struct report_records *r = &results->parts;
    for (size_t i = 0; i < r->rows; i++) {
        if (report_cell_number(r, i, "rank") == (double)(row + 1) &&
            strcmp(report_cell(r, i, "part"), part) == 0) {
            return report_cell(r, i, "size");
        }
    }
    return "";
}

/* What the one who fits it must have right. */
static void put_settings(FILE *out, const struct report_results *results, size_t row)
{
    static const struct {
        const char *stem;
        enum report_measure measure;
        const char *title;
    } settings[] = {
        {"highest_boost", REPORT_GAUGE, "highest boost"},
        {"ribs", REPORT_COUNT, "ribs of the belt"},
        {"belt_to_order", REPORT_LENGTH, "belt to order, length at the pitch line"},
        {"belt_length", REPORT_LENGTH, "length of the belt as fitted"},
        {"static_tension", REPORT_FORCE, "static belt tension, one side"},
        {"highest_hub_load", REPORT_FORCE, "highest load on the nose"},
        {"ignition_margin", REPORT_ANGLE, "ignition held back from knock"},
        {"highest_rotor_speed", REPORT_ROTATION, "highest rotor speed"},
        {"highest_injector_duty", REPORT_PERCENT, "highest injector duty"},
    };
    char fuel[2 * KIT_WORDS], words[KIT_WORDS];
    (void)snprintf(fuel, sizeof fuel, "%.90s: %.90s", kit_text(results, row, "fuel"),
                   part_size(results, row, "fuel"));
    (void)fputs("<dl class=\"facts\">\n", out);
    put_pair(out, "fuel it is made for; no lower octane", fuel);
    put_pair(out, "injectors, each, held open", part_size(results, row, "injectors"));
    for (size_t i = 0; i < sizeof settings / sizeof *settings; i++) {
        if (kit_quantity(results, row, settings[i].stem, settings[i].measure, words)) {
            put_pair(out, settings[i].title, words);
        }
    }
    (void)fputs("</dl>\n", out);
}

#define SHEET_LIMITS 6
#define IDENTITY 12 /* characters of the study's hash that tell one from another */
#define DAY 10      /* of a time, 2026-05-17 */

/* Which study this is of and when it was run; what the workshop fills in by hand. */
static void put_identity(FILE *out, const struct report_results *results)
{
    const char *hash = report_results_text(results, "study.sha256_all", "not known");
    const char *begun = report_results_text(results, "run.started", "not known");
    (void)fprintf(
        out,
        "<p class=\"by\">Study %.*s of %.*s, sheave %s.</p>\n<p class=\"fill\">Revision ________ "
        "&nbsp; Fitted by ________________ &nbsp; Date ____________</p>\n",
        IDENTITY, hash, DAY, begun, shv_version());
}

static enum shv_status put_sheet(FILE *out, const struct report_results *results, size_t row,
                                 struct shv_message *message)
{
    char name[32], title[64];
    (void)snprintf(name, sizeof name, "row-%zu", row + 1);
    (void)snprintf(title, sizeof title, "Kit %zu", row + 1);
    html_begin(out, title, false);
    html_put(out,
             "<main class=\"sheet\">\n<header>\n<p class=\"brand\">Kit sheet</p>\n<h1>%s, kit %zu",
             results->title, row + 1);
    if (kit_text(results, row, "role")[0]) {
        html_put(out, ": %s", kit_text(results, row, "role"));
    }
    (void)fputs("</h1>\n", out);
    put_identity(out, results);
    (void)fputs("</header>\n<p class=\"lead\">", out);
    kit_answer(out, results, row);
    (void)fputs("</p>\n", out);
    kit_facts(out, results, row);
    html_section(out, "fitting", "To be right when it is fitted");
    put_settings(out, results, row);
    html_section_end(out);
    html_section(out, "parts", "Parts");
    kit_parts(out, results, row);
    html_section_end(out);
    html_section(out, "curve", "Curve");
    enum shv_status status =
        html_figure(out, results, name, plot_rows.name, title, plot_rows.meaning, message);
    html_section_end(out);
    html_section(out, "limits", "Limits");
    kit_limits(out, results, row, SHEET_LIMITS);
    html_section_end(out);
    html_put(out, "<p class=\"caution\">%s</p>\n</main>\n", shv_cautions);
    html_end(out, false);
    return status;
}

enum shv_status report_sheet(const struct report_results *results, size_t *rank,
                             struct shv_message *message)
{
    char name[48];
    struct report_file file;
    size_t kits = report_results_kits(results), sell = report_results_to_sell(results);
    if (*rank == SHV_SHEET_TO_SELL && sell == REPORT_NO_COLUMN) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s has no kit to sell; --kit 1 is the strongest on paper",
                        results->folder);
    }
    *rank = *rank == SHV_SHEET_TO_SELL ? sell + 1 : *rank;
    bool drawn = *rank <= kits || *rank == sell + 1;
    if (*rank < 1 || !drawn || *rank > results->ranked.rows) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s has curves of %zu kits, ranks 1 to %zu; found %zu (results.curves of "
                        "the study says how many kits get curves)",
                        results->folder, kits, kits, *rank);
    }
    (void)snprintf(name, sizeof name, "kit-%zu.html", *rank);
    enum shv_status status = report_file_open(&file, results->folder, name, message);
    if (status != SHV_OK) {
        return status;
    }
    status = put_sheet(file.stream, results, *rank - 1, message);
    if (status != SHV_OK) {
        report_file_discard(&file);
        return status;
    }
    return report_file_finish(&file, !ferror(file.stream), message);
}
