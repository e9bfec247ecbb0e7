/* Scripts and data for gnuplot (src/report/plot/plot.h). */
#include "report/plot/plot.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "report/write/text.h"

#define QUOTE_SHOWN 60

const struct plot_kind plot_kinds[] = {
    {"power", "Power and torque",
     "Brake power and torque of kits over engine speed at the first site, with the stock "
     "engine.",
     760, 620, plot_power},
    {"sites", "At every site",
     "Brake power of the kit at each site, thick, and of the stock engine there, thin.", 760, 400,
     plot_sites},
    {"air", "Boost, temperatures, rotor speed",
     "The kit at each site over engine speed: boost; temperature of the charge in the "
     "manifold, dashed, and at the blower's outlet; rotor speed. Dotted lines are limits.",
     760, 800, plot_air},
    {"phasing", "When the charge burns",
     "The kit at each site: when half of the charge is burnt, and the retard "
     "from the best place because of knock, the margin kept from it and peak pressure.",
     760, 560, plot_phasing},
    {"islands", "The blower's efficiency",
     "Isentropic efficiency of the kit's blower over rotor speed and pressure ratio at the air of "
     "the first site, with the kit's operating line at each site.",
     760, 520, plot_islands},
    {"map", "What ends where",
     "The kit with other pulley ratios and cores: shaded by the limit that rejects it; lines of "
     "equal peak power where every limit holds; the kit marked.",
     760, 520, plot_map},
    {"room", "Room to the limits", "Room to each limit, in per cent, where it is tightest.", 760,
     620, plot_room},
    {"rejected", "Why others were rejected",
     "All combinations as one bar, the rejected counted under their first reason.", 760, 210,
     plot_rejected},
    {"tradeoffs", "What can't all be had",
     "Kits that no other beats in every respect at once: the further along, the more it gives up.",
     760, 620, plot_fronts},
    {"sure", "How sure",
     "The best kits when everything is off by as much as it may be: ranking value, half "
     "of "
     "the kits built so on either side of the point and nine in ten within the bar; how often all "
     "limits hold.",
     760, 420, plot_sure},
    {"matters", "What that hangs on",
     "How much of the scatter of the kit to sell each tolerance makes; of the strongest on paper "
     "where there is none to sell.",
     760, 420, plot_matters},
    {"knowing", "What to measure first",
     "How much better the kit to sell would be by its ranking value, as sure as before, had a "
     "tolerance been known exactly (pale) or a measurement been made before it was chosen.",
     760, 420, plot_worth_knowing},
    {"plan", "What further parts buy",
     "The value of the best plan over the number of different parts that are kept in stock.", 760,
     420, plot_plan},
    {.name = NULL},
};

const struct plot_kind plot_rows = {
    "rows",
    "One kit",
    "Power, torque, boost and temperatures of one kit at each site; the stock engine's power and "
    "torque at the first site, thin.",
    760,
    520,
    plot_single};

void plot_say(struct plot *plot, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    (void)vfprintf(plot->script, format, args);
    va_end(args);
}

/* What stands before a character, so that the script and the SVG that gnuplot makes of it stay well
 * formed: gnuplot escapes & and <, but not the > that must not follow ]] in XML. A word joiner
 * between them is not seen. */
static const char *apart(const char *text, const char *at)
{
    if (*at == '\'') {
        return "'";
    }
    return *at == '>' && at - text >= 2 && at[-1] == ']' && at[-2] == ']' ? "\xE2\x81\xA0" : "";
}

/* U+FFFE and U+FFFF are no characters of XML; their last byte becomes that of U+FFFD. */
static char last_byte(const char *text, const char *at)
{
    bool none =
        (*at == '\xBE' || *at == '\xBF') && at - text >= 2 && at[-1] == '\xBF' && at[-2] == '\xEF';
    return none ? '\xBD' : *at;
}

char *plot_quote(char room[PLOT_QUOTE], const char *text)
{
    char fitted[REPORT_FIT_MAX(QUOTE_SHOWN)];
    size_t used = 0;
    room[used++] = '\'';
    text = report_fit(fitted, QUOTE_SHOWN, text);
    for (const char *c = text; *c && used < PLOT_QUOTE - 6; c++) {
        for (const char *before = apart(text, c); *before; before++) {
            room[used++] = *before;
        }
        room[used++] = last_byte(text, c);
    }
    room[used++] = '\'';
    room[used] = '\0';
    return room;
}

const char *plot_site(char room[PLOT_QUOTE], const char *site, size_t sites)
{
    return report_fit(room, sites <= 2 ? 30 : sites <= 4 ? 20 : 14, site);
}

/* ---- data ---- */

void plot_number(struct plot *plot, double value)
{
    (void)(isfinite(value) ? fprintf(plot->data, "%.7g ", value) : fputs("? ", plot->data));
}

void plot_line_end(struct plot *plot)
{
    (void)fputc('\n', plot->data);
    plot->lines++;
}

size_t plot_block_end(struct plot *plot)
{
    /* gnuplot does not count a block without a line. */
    (void)fputs(plot->lines == 0 ? "? ? ? ? ? ?\n\n\n" : "\n\n", plot->data);
    plot->lines = 0;
    return plot->blocks++;
}

void plot_box(struct plot *plot, double from, double to, double y, double half)
{
    const double box[] = {0.5 * (from + to), y, from, to, y - half, y + half};
    for (size_t i = 0; i < 6; i++) {
        plot_number(plot, isnan(box[0]) ? NAN : box[i]);
    }
    plot_line_end(plot);
}

void plot_bar(struct plot *plot, double value, double y, double half)
{
    plot_box(plot, isnan(value) ? NAN : fmin(value, 0.0), fmax(value, 0.0), y, half);
}

static bool is_of(const struct report_records *records, size_t row, size_t rank, const char *site)
{
    size_t by_rank = report_records_find(records, "rank");
    size_t by_site = report_records_find(records, "site");
    return (rank == 0 || report_records_number(records, row, by_rank) == (double)rank) &&
           (!site || strcmp(report_records_text(records, row, by_site), site) == 0);
}

size_t plot_curve(struct plot *plot, const struct report_records *records, size_t rank,
                  const char *site, const size_t *columns, size_t count)
{
    for (size_t i = 0; i < records->rows; i++) {
        if (!is_of(records, i, rank, site)) {
            continue;
        }
        for (size_t k = 0; k < count; k++) {
            plot_number(plot, report_records_number(records, i, columns[k]));
        }
        plot_line_end(plot);
    }
    return plot_block_end(plot);
}

bool plot_has(const struct report_records *records, size_t rank, size_t column)
{
    for (size_t i = 0; i < records->rows; i++) {
        if (is_of(records, i, rank, NULL) && !isnan(report_records_number(records, i, column))) {
            return true;
        }
    }
    return false;
}

/* ---- script ---- */

static const char *with_unit(char room[PLOT_QUOTE], const char *what, const char *unit)
{
    char text[PLOT_QUOTE / 2];
    bool has_unit = unit && unit[0];
    (void)snprintf(text, sizeof text, "%s%s%s", what ? what : "", has_unit ? ", " : "",
                   has_unit ? unit : "");
    return plot_quote(room, text);
}

/* The name of the y axis stands above it and is read without turning one's head. */
void plot_panel(struct plot *plot, const struct plot_panel *panel)
{
    char room[PLOT_QUOTE];
    plot_say(plot,
             "set lmargin at screen %.4f\nset rmargin at screen %.4f\nset bmargin at screen "
             "%.4f\nset tmargin at screen %.4f\n",
             panel->left, panel->right, panel->bottom, panel->top);
    plot_say(plot, "set label 1 %s at graph 0, graph 1 left offset -5, 0.8 textcolor '#222222'\n",
             with_unit(room, panel->y, panel->y_unit));
    plot_say(plot, "set key at screen %.4f, screen %.4f right bottom vertical maxrows %d\n",
             panel->right, panel->top + 0.008 + panel->key_lift,
             panel->key_rows > 0 ? panel->key_rows : 2);
    if (panel->x) {
        plot_say(plot, "set format x '%%g'\nset xlabel %s offset 0, 0.8\n",
                 with_unit(room, panel->x, panel->x_unit));
    } else {
        plot_say(plot, "set format x ''\nunset xlabel\n");
    }
}

void plot_name_bar(struct plot *plot, size_t place, const char *name)
{
    char room[PLOT_QUOTE];
    plot_say(plot, "set ytics add (%s %zu)\n", plot_quote(room, name), place);
}

void plot_series(struct plot *plot, const char *what, const char *with, const char *title)
{
    char room[PLOT_QUOTE];
    plot_say(plot, "%s %s %s", plot->continues ? ", \\\n    " : "plot", what, with);
    if (title) {
        plot_say(plot, " title %s", plot_quote(room, title));
    } else {
        plot_say(plot, " notitle");
    }
    plot->continues = true;
}

void plot_block(struct plot *plot, size_t block, const char *using, const char *with,
                const char *title)
{
    char what[64];
    (void)snprintf(what, sizeof what, "data index %zu%s", block, using);
    plot_series(plot, what, with, title);
}

void plot_series_end(struct plot *plot)
{
    plot_say(plot, "\n");
    plot->continues = false;
}

void plot_limit(struct plot *plot, const char *what, double bound, const char *unit)
{
    char text[PLOT_QUOTE / 2], value[32];
    if (!isfinite(bound)) {
        return;
    }
    (void)snprintf(text, sizeof text, "limit%s%s, %.*f%s%s", what[0] ? " of " : "", what,
                   fabs(bound) < 1000.0 ? 1 : 0, bound, unit[0] ? " " : "", unit);
    (void)snprintf(value, sizeof value, "%.7g", bound);
    plot_series(plot, value, "with lines ls 9", text);
}

char *plot_words(char room[PLOT_QUOTE], const char *name)
{
    (void)snprintf(room, PLOT_QUOTE, "%.100s", name);
    for (char *c = room; *c; c++) {
        *c = *c == '_' ? ' ' : *c;
    }
    return room;
}
