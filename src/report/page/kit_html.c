/* One kit as HTML (src/report/page/kit_html.h). */
#include "report/page/kit_html.h"

#include <math.h>
#include <string.h>

#include "report/page/html.h"

double kit_number(const struct report_results *results, size_t row, const char *stem,
                  enum report_measure measure)
{
    return report_records_number(
        &results->ranked, row,
        report_records_column(&results->ranked, stem, measure, results->units));
}

const char *kit_text(const struct report_results *results, size_t row, const char *stem)
{
    return report_cell(&results->ranked, row, stem);
}

/* A value with its unit; false when it is not known. */
static bool say_value(const struct report_results *results, double value,
                      enum report_measure measure, char room[KIT_WORDS])
{
    const char *unit = report_results_unit(results, measure);
    room[0] = '\0';
    if (!isfinite(value)) {
        return false;
    }
    (void)snprintf(room, KIT_WORDS, "%.*f%s%.40s", report_unit(measure, results->units)->decimals,
                   value, unit[0] ? " " : "", unit);
    return true;
}

/* What the kit is ranked by. */
static bool kit_ranked_by(const struct report_results *results, size_t row, char room[KIT_WORDS])
{
    size_t column = report_records_find(&results->ranked, results->objective_column);
    return say_value(results, report_records_number(&results->ranked, row, column),
                     report_results_ranked_measure(results), room);
}

bool kit_quantity(const struct report_results *results, size_t row, const char *stem,
                  enum report_measure measure, char room[KIT_WORDS])
{
    return say_value(results, kit_number(results, row, stem, measure), measure, room);
}

bool kit_has_cooler(const struct report_results *results, size_t row)
{
    return kit_number(results, row, "effectiveness", REPORT_NUMBER) > 0.0;
}

/* A quantity between two texts, nothing when it is not known. */
static void say_quantity(FILE *out, const struct report_results *results, size_t row,
                         const char *before, const char *stem, enum report_measure measure,
                         const char *after)
{
    char words[KIT_WORDS];
    if (kit_quantity(results, row, stem, measure, words)) {
        (void)fputs(before, out);
        html_text(out, words);
        (void)fputs(after, out);
    }
}

static void say_fuel_side(FILE *out, const struct report_results *results, size_t row)
{
    html_put(out, ", fuel <b>%s</b> at lambda %.3g", kit_text(results, row, "fuel"),
             kit_number(results, row, "lambda", REPORT_NUMBER));
    double ratio = kit_number(results, row, "air_fuel_ratio", REPORT_NUMBER);
    if (isfinite(ratio)) { /* in US units */
        (void)fprintf(out, " (AFR %.3g)", ratio);
    }
    if (kit_number(results, row, "ignition_margin", REPORT_ANGLE) > 0.0) {
        say_quantity(out, results, row, ", ignition held ", "ignition_margin", REPORT_ANGLE,
                     " back from knock");
    }
    if (kit_text(results, row, "injector")[0]) {
        html_put(out, ", injectors %s", kit_text(results, row, "injector"));
        say_quantity(out, results, row, " of ", "injector_flow", REPORT_INJECTOR_FLOW, "");
    }
    if (kit_text(results, row, "pump")[0]) {
        html_put(out, ", pump %s", kit_text(results, row, "pump"));
    }
}

void kit_answer(FILE *out, const struct report_results *results, size_t row)
{
    const char *site[1] = {""};
    (void)report_results_sites(results, site, 1);
    double gain = kit_number(results, row, "gain", REPORT_POWER);
    const char *length = report_results_unit(results, REPORT_LENGTH);
    html_put(out,
             "Blower <b>%s</b> with a crank pulley of <b>%.4g %s</b> and a blower pulley of "
             "<b>%.4g %s</b> (ratio %.3f), ",
             kit_text(results, row, "blower"),
             kit_number(results, row, "crank_pulley", REPORT_LENGTH), length,
             kit_number(results, row, "blower_pulley", REPORT_LENGTH), length,
             kit_number(results, row, "ratio", REPORT_NUMBER));
    if (kit_has_cooler(results, row)) {
        html_put(out, "charge cooler <b>%s</b> of effectiveness %.3g",
                 kit_text(results, row, "cooler"),
                 kit_number(results, row, "effectiveness", REPORT_NUMBER));
    } else {
        (void)fputs("no charge cooler", out);
    }
    say_fuel_side(out, results, row);
    say_quantity(out, results, row, ", makes <b>", "peak_power", REPORT_POWER, "</b>");
    say_quantity(out, results, row, " at ", "peak_power_speed", REPORT_ROTATION, "");
    html_put(out, " at %s", site[0]);
    say_quantity(out, results, row, ", ", "gain", REPORT_POWER,
                 gain < 0.0 ? " (less) beside the stock engine" : " more than the stock engine");
    (void)fputs(".", out);
}

/* The title of a limit as limits.csv has it; its name where it has none. */
static const char *limit_title(const struct report_results *results, size_t rank, const char *name)
{
    size_t row = report_results_limit(results, rank, name);
    const char *title = report_cell(&results->limits, row, "title");
    return title[0] ? title : name;
}

void kit_held_back(FILE *out, const struct report_results *results, size_t row)
{
    const char *limit = kit_text(results, row, "binding_limit");
    if (!limit[0]) {
        (void)fputs("No limit is set that could hold it back.", out);
        return;
    }
    html_put(out, "Nearest limit: <b>%s</b>", limit_title(results, row + 1, limit));
    say_quantity(out, results, row, ", with ", "binding_share", REPORT_PERCENT, " of room");
    say_quantity(out, results, row, " at ", "binding_speed", REPORT_ROTATION, "");
    if (kit_text(results, row, "binding_site")[0]) {
        html_put(out, " at %s", kit_text(results, row, "binding_site"));
    }
    (void)fputs(".", out);
}

void kit_facts(FILE *out, const struct report_results *results, size_t row)
{
    static const struct {
        const char *stem;
        enum report_measure measure;
        const char *title;
    } facts[] = {
        {"peak_power", REPORT_POWER, "peak power"},
        {"gain", REPORT_POWER, "over stock"},
        {"peak_torque", REPORT_TORQUE, "peak torque"},
        {"highest_boost", REPORT_GAUGE, "highest boost"},
        {"highest_charge_temperature", REPORT_TEMPERATURE, "hottest charge"},
        {"highest_fuel_volume", REPORT_FUEL_VOLUME, "most fuel"},
        {"price", REPORT_MONEY, "price of the kit"},
        {"mass", REPORT_MASS, "mass of the kit"},
    };
    char ranked_by[KIT_WORDS];
    (void)fputs("<dl class=\"facts\">\n", out);
    if (kit_ranked_by(results, row, ranked_by)) {
        html_put(out, "<div><dt>ranking value</dt><dd>%s</dd></div>\n", ranked_by);
    }
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
        char words[KIT_WORDS];
        if (kit_quantity(results, row, facts[i].stem, facts[i].measure, words)) {
            html_put(out, "<div><dt>%s</dt><dd>%s</dd></div>\n", facts[i].title, words);
        }
    }
    (void)fputs("</dl>\n", out);
}

/* ---- parts ---- */

static void parts_foot(FILE *out, const struct report_results *results, size_t row)
{
    double price = kit_number(results, row, "price", REPORT_MONEY);
    double mass = kit_number(results, row, "mass", REPORT_MASS);
    if (isfinite(price) || isfinite(mass)) {
        (void)fputs("<tfoot><tr><th scope=\"row\" colspan=\"4\">all parts</th>", out);
        html_number_cell(out, price, 2);
        html_number_cell(out, mass, 1);
        (void)fputs("</tr></tfoot>\n", out);
    }
}

void kit_parts(FILE *out, const struct report_results *results, size_t row)
{
    const struct report_records *parts = &results->parts;
    size_t rank = report_records_find(parts, "rank"), count = report_records_find(parts, "count");
    size_t price = report_records_find(parts, "price");
    size_t mass = report_records_column(parts, "mass", REPORT_MASS, results->units);
    static const char *const texts[] = {"name", "size"};
    (void)fputs("<div class=\"scroll\"><table>\n<caption>Parts of the kit</caption>\n<thead><tr>"
                "<th scope=\"col\">part</th><th scope=\"col\">name</th><th scope=\"col\">size</th>"
                "<th scope=\"col\" class=\"n\">count</th>",
                out);
    html_head(out, "price", results->currency, true);
    html_head(out, "mass", report_results_unit(results, REPORT_MASS), true);
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t i = 0; i < parts->rows; i++) {
        if (report_records_number(parts, i, rank) != (double)(row + 1)) {
            continue;
        }
        html_put(out, "<tr><th scope=\"row\">%s</th>", report_cell(parts, i, "part"));
        for (size_t k = 0; k < 2; k++) {
            html_cell(out, report_cell(parts, i, texts[k]));
        }
        html_number_cell(out, report_records_number(parts, i, count), 0);
        html_number_cell(out, report_records_number(parts, i, price), 2);
        html_number_cell(out, report_records_number(parts, i, mass), 1);
        (void)fputs("</tr>\n", out);
    }
    (void)fputs("</tbody>\n", out);
    parts_foot(out, results, row);
    (void)fputs("</table></div>\n", out);
}

/* ---- limits ---- */

static void put_value(FILE *out, double value, const char *unit)
{
    (void)fputs("<td class=\"n\">", out);
    if (isfinite(value)) {
        html_digits(out, value);
        (void)fputs(unit[0] ? " " : "", out);
        html_text(out, unit);
    }
    (void)fputs("</td>", out);
}

static double room_of(const struct report_results *results, size_t i)
{
    const struct report_records *r = &results->limits;
    return report_records_number(r, i,
                                 report_records_column(r, "share", REPORT_PERCENT, results->units));
}

/* Of rooms above all of the span no more is told; a bar shows the room. */
static void put_room(FILE *out, double room)
{
    if (isnan(room)) {
        (void)fputs("<td></td><td></td>", out);
        return;
    }
    (void)fprintf(out,
                  "<td class=\"n\">%s%.*f</td><td><meter min=\"0\" max=\"100\" value=\"%.0f\" "
                  "aria-label=\"room\"></meter></td>",
                  room > 100.0 ? "over " : "", room > 100.0 ? 0 : 1, fmin(room, 100.0),
                  fmin(fmax(room, 0.0), 100.0));
}

/* `first`: the nearest. */
static void limit_row(FILE *out, const struct report_results *results, size_t i, bool first)
{
    const struct report_records *r = &results->limits;
    const char *unit = report_cell(r, i, "unit");
    bool at_least = strcmp(report_cell(r, i, "sense"), "at_least") == 0;
    (void)fputs(first ? "<tr class=\"first\">" : "<tr>", out);
    html_put(out, "<th scope=\"row\">%s</th>", report_cell(r, i, "title"));
    put_value(out, report_cell_number(r, i, "value"), unit);
    (void)fprintf(out, "<td>%s</td>", at_least ? "at least" : "at most");
    put_value(out, report_cell_number(r, i, "bound"), unit);
    put_room(out, room_of(results, i));
    html_number_cell(
        out,
        report_records_number(
            r, i, report_records_column(r, "tightest_speed", REPORT_ROTATION, results->units)),
        0);
    html_cell(out, report_cell(r, i, "tightest_site"));
    (void)fputs("</tr>\n", out);
}

/* By room, the least first, those not known last. */
static void put_in_order(const struct report_results *results, size_t *order, size_t count,
                         size_t row)
{
    double room = room_of(results, row);
    for (; count > 0 &&
           (isnan(room_of(results, order[count - 1])) || room < room_of(results, order[count - 1]));
         count--) {
        order[count] = order[count - 1];
    }
    order[count] = row;
}

void kit_limits(FILE *out, const struct report_results *results, size_t row, size_t most)
{
    const struct report_records *r = &results->limits;
    size_t rank = report_records_find(r, "rank");
    html_table(out, "Limits and the room left to each, where it is tightest",
               "limit|#value||#bound|#room, %||#rpm|site");
    size_t order[SHV_LIMIT_COUNT], count = 0;
    for (size_t i = 0; i < r->rows && count < SHV_LIMIT_COUNT; i++) {
        if (report_records_number(r, i, rank) == (double)(row + 1)) {
            put_in_order(results, order, count++, i);
        }
    }
    for (size_t i = 0; i < count && i < most; i++) {
        limit_row(out, results, order[i], i == 0);
    }
    html_table_end(out);
    if (most < count) {
        (void)fprintf(out, "<p class=\"hint\">The nearest %zu of %zu; limits.csv has all.</p>\n",
                      most, count);
    }
}
