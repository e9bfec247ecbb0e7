/* What sheave check says about the closed cycle. */
#include <math.h>
#include <string.h>

#include "cli/cli.h"
#include "report/write/text.h"
#include "report/write/words.h"

#define LATER_LEAST 0.05 /* deg that show */

/* Where a factor at each speed is least and where it is most. */
struct spread {
    size_t least, most;
};

static struct spread spread_of(const struct cli_study *s,
                               double (*factor)(const struct shv_model *model, size_t speed))
{
    struct spread x = {0, 0};
    for (size_t i = 1; i < s->study.engine.speed_count; i++) {
        double now = factor(s->model, i);
        x.least = now < factor(s->model, x.least) ? i : x.least;
        x.most = now > factor(s->model, x.most) ? i : x.most;
    }
    return x;
}

static void print_tie(const struct cli_study *s)
{
    const struct shv_engine *e = &s->study.engine;
    if (e->stock_torque.count == 0) {
        printf("\nThere is no stock torque curve: the closed cycle stands as it is.\n");
        return;
    }
    struct spread x = spread_of(s, shv_model_tie_factor);
    printf("\nThe stock torque curve asks for %.3f (at %.0f rpm) to %.3f (at %.0f rpm) times the "
           "work of the\nclosed cycle; %.2f to %.2f is likely.\n",
           shv_model_tie_factor(s->model, x.least), e->speeds[x.least] * 60.0,
           shv_model_tie_factor(s->model, x.most), e->speeds[x.most] * 60.0, SHV_TIE_LEAST,
           SHV_TIE_MOST);
}

static void print_delay(const struct cli_study *s)
{
    const struct shv_engine *e = &s->study.engine;
    struct spread x = spread_of(s, shv_model_delay_factor);
    printf(
        "\nThe stock engine's ignition%s asks for %.2f (at %.0f rpm) to %.2f (at %.0f rpm) times "
        "the delay of\nself-ignition; %.1f to %.1f is likely.\n",
        e->stock_retard.count == 0 ? ", as assumed," : "",
        shv_model_delay_factor(s->model, x.least), e->speeds[x.least] * 60.0,
        shv_model_delay_factor(s->model, x.most), e->speeds[x.most] * 60.0, SHV_DELAY_LEAST,
        SHV_DELAY_MOST);
}

/* ---- how the stock engine burns ---- */

enum phasing { FREE, LATER, KNOCKS, UNKNOWN };

/* Neighbouring speeds of one kind. */
struct speed_stretch {
    enum phasing kind;
    double from, to;      /* rev/s */
    double least, latest; /* deg, CA50 */
};

static struct speed_stretch at_speed(const struct cli_study *s, size_t speed)
{
    const struct shv_engine *e = &s->study.engine;
    struct shv_cycle_result r = {.outcome = SHV_CYCLE_NO_ANSWER};
    struct speed_stretch one = {.kind = UNKNOWN, .from = e->speeds[speed], .to = e->speeds[speed]};
    if (!shv_model_stock_cycle(s->model, speed, &r) || r.outcome == SHV_CYCLE_NO_ANSWER) {
        return one;
    }
    one.least = one.latest = r.ca50;
    one.kind = r.outcome == SHV_CYCLE_KNOCK_LIMITED        ? KNOCKS
               : r.ca50 - e->knock.best_ca50 > LATER_LEAST ? LATER
                                                           : FREE;
    return one;
}

/* "a" or "a to b", whichever shows. */
static void range(char words[48], const char *format, double a, double b)
{
    char from[20], to[20];
    (void)snprintf(from, sizeof from, format, a);
    (void)snprintf(to, sizeof to, format, b);
    if (strcmp(from, to) == 0) {
        (void)snprintf(words, 48, "%s", to);
    } else {
        (void)snprintf(words, 48, "%s to %s", from, to);
    }
}

static void print_stretch(const struct cli_study *s, const struct speed_stretch *x)
{
    double best = s->study.engine.knock.best_ca50;
    char speeds[48], label[56], angles[48], later[48];
    range(speeds, "%.0f", x->from * 60.0, x->to * 60.0);
    (void)snprintf(label, sizeof label, "%s rpm", speeds);
    range(angles, "%.1f", x->least, x->latest);
    range(later, "%.1f", x->least - best, x->latest - best);
    printf("  %-18s ", label);
    switch (x->kind) {
    case FREE:
        printf("%s deg, the best: knock does not hold it back\n", angles);
        break;
    case LATER:
        printf("%s deg, retard %s\n", angles, later);
        break;
    case KNOCKS:
        printf("%s deg, the latest allowed, and it still knocks\n", angles);
        break;
    case UNKNOWN:
        printf("no answer\n");
        break;
    }
}

static void print_stock(const struct cli_study *s)
{
    struct speed_stretch now = at_speed(s, 0);
    printf("\nStock engine: where half of its charge is burnt, after top dead centre\n");
    for (size_t i = 1; i < s->study.engine.speed_count; i++) {
        struct speed_stretch next = at_speed(s, i);
        if (next.kind != now.kind) {
            print_stretch(s, &now);
            now = next;
            continue;
        }
        now.to = next.to;
        now.least = fmin(now.least, next.least);
        now.latest = fmax(now.latest, next.latest);
    }
    print_stretch(s, &now);
}

/* ---- tables ---- */

static void three_cells(struct report_text *t, const struct shv_cycle_table_error *e)
{
    report_text_number(t, 6, 3, 100.0 * e->efficiency);
    report_text_number(t, 6, 3, e->ca50);
    report_text_number(t, 6, 3, 100.0 * e->peak_pressure);
}

static void head_tables(struct report_text *t)
{
    report_text_end(t);
    report_text_say(t, "Cycle tables: largest differences from direct cycles, at random points "
                       "(efficiency and peak pressure in per cent, CA50 in deg)");
    report_text_left(t, 14, "fuel");
    report_text_right(t, 6, "lambda");
    report_text_left(t, 14, "site");
    report_text_left(t, 8, "nodes");
    report_text_right(t, 6, "effic.");
    report_text_right(t, 6, "CA50");
    report_text_right(t, 6, "peak");
    report_text_end(t);
    report_text_rule(t, REPORT_WIDTH - 1);
}

static void line_table(struct report_text *t, const struct cli_study *s, size_t index,
                       const struct shv_table_report *report)
{
    struct shv_table_place place = shv_model_table_place(s->model, index);
    const struct shv_cycle_table *table = shv_model_table(s->model, index);
    report_text_left(t, 14, s->study.fuels[place.fuel].name);
    report_text_number(t, 6, 3, s->study.numbers[SHV_DIM_LAMBDA].values[place.lambda]);
    report_text_left(t, 14, s->study.sites[place.site].name);
    if (table) {
        char nodes[64];
        (void)snprintf(nodes, sizeof nodes, "%zux%zux%zu", table->axis[SHV_CYCLE_PRESSURE].nodes,
                       table->axis[SHV_CYCLE_TEMPERATURE].nodes, table->axis[SHV_CYCLE_CA50].nodes);
        report_text_left(t, 8, nodes);
        three_cells(t, &table->quality.random);
        report_text_left(t, 9, report->build.from_file ? "from file" : "built");
    }
    report_text_end(t);
}

enum shv_status cli_print_cycle(const struct cli_study *s, const struct shv_table_report *reports,
                                struct shv_message *message)
{
    size_t count = shv_model_table_count(s->model);
    if (count == 0) {
        return SHV_OK;
    }
    print_tie(s);
    print_delay(s);
    print_stock(s);
    if (!reports) {
        printf("\nCycle tables: %zu, not built.\n", count);
        return SHV_OK;
    }
    struct report_text text;
    report_text_init(&text, stdout);
    head_tables(&text);
    for (size_t i = 0; i < count; i++) {
        line_table(&text, s, i, &reports[i]);
    }
    return report_text_finish(&text, "the list of cycle tables", message);
}
