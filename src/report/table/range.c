/* range.csv, stock.csv and curve.csv: the plan of a range. */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/plan_value.h"

#define COUNT(table) (sizeof(table) / sizeof(table)[0])

/* ---- range.csv ---- */

struct kit_row {
    struct shv_range_row r;
    double lost;
    uint64_t serving, kept;
};

#define AT(member) offsetof(struct kit_row, member)

static const struct report_column kit_columns[] = {
    {"vehicle", REPORT_TEXT, 0, AT(r.vehicle), REPORT_ALWAYS, "Name of the vehicle."},
    {"market", REPORT_TEXT, 0, AT(r.market), REPORT_ALWAYS, "Name of the market."},
    {"tier", REPORT_TEXT, 0, AT(r.tier), REPORT_ALWAYS,
     "Name of the tier; the three are the group of customers."},
    {"sales", REPORT_NUMBER, 6, AT(r.sales), REPORT_ALWAYS, "Kits sold to the group in a year."},
    {"power", REPORT_POWER, 6, AT(r.power), REPORT_ALWAYS,
     "Power of its kit: peak or mean over a band, mean or worst over the sites, as its study "
     "says."},
    {"best_power", REPORT_POWER, 6, AT(r.best_power), REPORT_ALWAYS,
     "Power of the best kit that keeps the tier's cooler, price and mass, had the group the shop "
     "to "
     "itself; where the study wants a probability, of those that hold with it."},
    {"power_lost", REPORT_PERCENT, 6, AT(lost), REPORT_ALWAYS,
     "How far `power` lies below `best_power`, as a share of it."},
    {"price", REPORT_MONEY, 9, AT(r.price), REPORT_ALWAYS, "Price of all parts of the kit."},
    {"mass", REPORT_MASS, 6, AT(r.mass), REPORT_ALWAYS, "Mass of all parts of the kit."},
    {"least_room", REPORT_PERCENT, 6, AT(r.s.binding_share), REPORT_ALWAYS,
     "Least room of any limit, as a share of its span, over the market's sites and all speeds."},
    {"all_hold", REPORT_PERCENT, 6, AT(r.holds.value), REPORT_WHEN_HOLD,
     "Probability that every limit holds at all sites of the market under the study's tolerances; "
     "empty where it wants none."},
    {"all_hold_error", REPORT_PERCENT, 3, AT(r.holds.error), REPORT_WHEN_HOLD,
     "Its standard error of sampling."},
    {"binding_limit", REPORT_TEXT, 0, AT(r.s.binding_limit), REPORT_ALWAYS,
     "Name of that limit; empty when none is set."},
    {"binding_site", REPORT_TEXT, 0, AT(r.s.binding_site), REPORT_ALWAYS, "Site where it is."},
    {"binding_speed", REPORT_ROTATION, 6, AT(r.s.binding_speed), REPORT_ALWAYS,
     "Engine speed where it is."},
};

static const struct report_column solved_columns[] = {
    {"feasible_kits", REPORT_COUNT, 0, AT(serving), REPORT_ALWAYS,
     "Kits that keep every limit with nothing off and all that the tier asks for, one for each set "
     "of priced parts."},
    {"kits_kept", REPORT_COUNT, 0, AT(kept), REPORT_ALWAYS,
     "Those that dominance leaves (docs/range.md)."},
    {"combination", REPORT_COUNT, 0, AT(r.combination), REPORT_ALWAYS,
     "Number of the kit in the space of combinations of its vehicle in its market."},
};

static void add_more(struct report_layout *layout)
{
    /* Which kit it is, and what one needs to fit it. */
    report_add_kit_columns(layout, "", AT(r.s),
                           "blower crank_pulley blower_pulley ratio cooler effectiveness fuel "
                           "lambda air_fuel_ratio ignition_margin injector injector_flow pump ribs "
                           "wrap peak_power peak_power_speed peak_torque peak_torque_speed "
                           "highest_boost highest_rotor_speed highest_injector_duty belt_length "
                           "belt_to_order static_tension highest_hub_load");
    REPORT_LAYOUT_ADD(layout, solved_columns);
}

/* Whether some kits were to hold with a probability. */
static report_when_set when_hold(const struct shv_range_run *run)
{
    report_when_set when = 0;
    for (size_t g = 0; g < run->kits->problem.group_count; g++) {
        when |= run->row[g].holds.value > 0.0 ? REPORT_WHEN_HOLD : 0; /* false for NAN */
    }
    return when;
}

static void write_kits(struct report_csv *csv, void *data)
{
    const struct shv_range_run *run = data;
    for (size_t g = 0; g < run->kits->problem.group_count; g++) {
        const struct shv_range_row *r = &run->row[g];
        struct kit_row row = {.r = *r,
                              .lost = 1.0 - r->power / r->best_power,
                              .serving = run->result->serving[g],
                              .kept = run->result->kept[g]};
        report_csv_row(csv, &row);
    }
}

const struct report_table report_range = {
    .file = "range.csv",
    .about = "range.csv, of `sheave plan`: the kit of each group of customers",
    REPORT_COLUMNS(kit_columns),
    .more = add_more,
    .write = write_kits};

/* ---- stock.csv ---- */

struct stock_row {
    const char *kind, *part, *used_in;
    double kits, pieces, cost;
    uint64_t groups;
};

#undef AT
#define AT(member) offsetof(struct stock_row, member)

static const struct report_column stock_columns[] = {
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS,
     "`blower`, `crank_pulley`, `blower_pulley`, `cooler`, `injector` or `pump`."},
    {"part", REPORT_TEXT, 0, AT(part), REPORT_ALWAYS,
     "Name; with the diameter, effectiveness or size where these tell parts apart."},
    {"kits_a_year", REPORT_NUMBER, 6, AT(kits), REPORT_ALWAYS,
     "Kits with this part that are expected to be sold in a year."},
    {"pieces_a_year", REPORT_NUMBER, 6, AT(pieces), REPORT_ALWAYS,
     "Pieces that these take; an engine takes several injectors."},
    {"groups", REPORT_COUNT, 0, AT(groups), REPORT_ALWAYS,
     "Groups of customers whose kit has this part."},
    {"cost_of_stock", REPORT_MONEY, 9, AT(cost), REPORT_ALWAYS,
     "What keeping it in stock costs a year."},
    {"used_in", REPORT_TEXT, 0, AT(used_in), REPORT_ALWAYS,
     "These groups, as vehicle, market, tier; semicolons between them."},
};

/* The groups whose kits have a part, in `names`. */
static void list_groups(const struct shv_range_run *run, size_t part, char *names, size_t room)
{
    size_t used = 0;
    names[0] = '\0';
    for (size_t g = 0; g < run->kits->problem.group_count && used < room; g++) {
        if (shv_range_kits_has(run->kits, run->result, g, part)) {
            int length = snprintf(names + used, room - used, "%s%s", used > 0 ? "; " : "",
                                  run->kits->problem.group[g].name);
            used += length > 0 ? (size_t)length : 0;
        }
    }
}

static struct stock_row stock_of(const struct shv_range_run *run, size_t part, const char *names)
{
    const struct shv_range_part *p = &run->kits->problem.part[part];
    struct shv_range_use use = shv_range_kits_use(run->kits, run->result, run->row, part);
    return (struct stock_row){.kind = shv_part_kind_name(p->kind),
                              .part = p->name,
                              .cost = p->cost,
                              .kits = use.kits,
                              .pieces = use.pieces,
                              .groups = use.groups,
                              .used_in = names};
}

static size_t room_for_names(const struct shv_range_problem *p)
{
    size_t room = 1;
    for (size_t g = 0; g < p->group_count; g++) {
        room += strlen(p->group[g].name) + 2;
    }
    return room;
}

static void write_stock(struct report_csv *csv, void *data)
{
    const struct shv_range_run *run = data;
    size_t room = room_for_names(&run->kits->problem);
    char *names = malloc(room);
    csv->error = csv->error == 0 && !names ? ENOMEM : csv->error;
    for (size_t i = 0; names && i < run->kits->problem.part_count; i++) {
        if (run->result->point[run->result->chosen].stocked[i]) {
            list_groups(run, i, names, room);
            struct stock_row row = stock_of(run, i, names);
            report_csv_row(csv, &row);
        }
    }
    free(names);
}

const struct report_table report_shelf = {.file = "stock.csv",
                                          .about =
                                              "stock.csv, of `sheave plan`: the parts in stock",
                                          REPORT_COLUMNS(stock_columns),
                                          .write = write_stock};

/* ---- curve.csv ---- */

struct curve_row {
    uint64_t allowed, parts, count[SHV_STOCK_KINDS];
    struct plan_value value, worst;
    double gain, lost, gap, worst_gain;
    const char *worst_in, *proven, *tie, *knee, *plan;
};

#undef AT
#define AT(member) offsetof(struct curve_row, member)
#define KIND_COLUMN(dim, name, one, meaning)                                                       \
    {#name "s",                                                                                    \
     REPORT_COUNT,                                                                                 \
     0,                                                                                            \
     AT(count) + SHV_STOCK_##dim * sizeof(uint64_t),                                               \
     REPORT_ALWAYS,                                                                                \
     "How many of them are " one "s."},

static const struct report_column curve_columns[] = {
    {"parts_allowed", REPORT_COUNT, 0, AT(allowed), REPORT_ALWAYS,
     "Different parts in stock at the most, all kinds together."},
    {"parts", REPORT_COUNT, 0, AT(parts), REPORT_ALWAYS, "Different parts that the plan has."},
    SHV_STOCK_ROWS(KIND_COLUMN){
        "value_power", REPORT_POWER, 9, AT(value.power), REPORT_ALWAYS,
        "Value of the plan: power of all kits sold in a year, summed; with `value = \"power\"`."},
    {"value_share", REPORT_NUMBER, 9, AT(value.share), REPORT_ALWAYS,
     "Value of the plan: each kit sold in a year counts its share of its group's best power; with "
     "`value = \"share\"`."},
    {"value_profit", REPORT_MONEY, 9, AT(value.profit), REPORT_ALWAYS,
     "Value of the plan: what all kits sold in a year bring, less their price and the cost of "
     "stock; "
     "with `value = \"profit\"`."},
    {"gain", REPORT_PERCENT, 6, AT(gain), REPORT_ALWAYS,
     "How much more that is than with one part less, as a share of the value at the end of the "
     "curve."},
    {"lost", REPORT_PERCENT, 6, AT(lost), REPORT_ALWAYS,
     "How far it lies below the value at the end of the curve, as a share of it."},
    PLAN_VALUE_COLUMNS("worst_value", AT(worst), REPORT_WHEN_SCENARIOS,
                       "Value of the plan in the scenario where it is worth least; where sales are "
                       "not certain, `value` is the mean over scenarios."),
    {"worst_scenario", REPORT_TEXT, 0, AT(worst_in), REPORT_WHEN_SCENARIOS,
     "Name of that scenario."},
    {"worst_gain", REPORT_PERCENT, 6, AT(worst_gain), REPORT_WHEN_SCENARIOS,
     "How much more `worst_value` is than with one part less, as a share of that at the end of the "
     "curve."},
    {"gap", REPORT_PERCENT, 6, AT(gap), REPORT_ALWAYS,
     "How much better a plan there may be, as a share of the value; 0 where the plan is proven to "
     "be "
     "the best."},
    {"proven", REPORT_TEXT, 0, AT(proven), REPORT_ALWAYS,
     "`yes` when no plan is worth more, on the grid of values."},
    {"settled", REPORT_TEXT, 0, AT(tie), REPORT_ALWAYS,
     "`yes` when it is the one of equal plans that the rule names (docs/range.md)."},
    {"knee", REPORT_TEXT, 0, AT(knee), REPORT_ALWAYS, "`yes` at the knee of the curve."},
    {"plan", REPORT_TEXT, 0, AT(plan), REPORT_ALWAYS,
     "`yes` for the point that range.csv and stock.csv tell."},
};

static const char *yes(bool is)
{
    return is ? "yes" : "no";
}

static struct curve_row row_of(const struct shv_range_run *run, size_t i)
{
    const struct shv_range_result *r = run->result;
    const struct shv_range_problem *problem = &run->kits->problem;
    const struct shv_range_point *p = &r->point[i];
    double size = fabs(r->point[r->point_count - 1].value);
    double least = fabs(r->point[r->point_count - 1].worst);
    struct curve_row row = {
        .allowed = p->allowed,
        .parts = p->parts,
        .value = plan_value(problem, p->value),
        .worst = plan_value(problem, p->worst),
        .gain = i > 0 ? (p->value - r->point[i - 1].value) / size : NAN,
        .worst_gain = i > 0 ? (p->worst - r->point[i - 1].worst) / least : NAN,
        .worst_in = problem->scenario_count > 0 ? problem->scenario[p->worst_in].name : "",
        .lost = (r->point[r->point_count - 1].value - p->value) / size,
        .gap = (p->bound - p->value) / fabs(p->value),
        .proven = yes(p->proven),
        .tie = yes(p->settled),
        .knee = yes(i == r->knee),
        .plan = yes(i == r->chosen)};
    size_t count[SHV_STOCK_KINDS];
    shv_range_kits_count(run->kits, p, count);
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        row.count[k] = count[k];
    }
    return row;
}

static void write_curve(struct report_csv *csv, void *data)
{
    const struct shv_range_run *run = data;
    for (size_t i = 0; i < run->result->point_count; i++) {
        struct curve_row row = row_of(run, i);
        report_csv_row(csv, &row);
    }
}

const struct report_table report_range_curve = {
    .file = "curve.csv",
    .about = "curve.csv, of `sheave plan`: value against the number of different parts",
    REPORT_COLUMNS(curve_columns),
    .write = write_curve};

/* ---- files ---- */

enum shv_status shv_report_range(const struct shv_range_run *run, const char *folder,
                                 struct shv_message *message)
{
    static const struct report_table *const tables[] = {&report_range, &report_shelf,
                                                        &report_range_curve, &report_scenarios};
    struct shv_range_run of = *run;
    report_when_set when = report_when_units(run->file->units) | when_hold(run) |
                           (run->file->scenario_count > 0 ? REPORT_WHEN_SCENARIOS : 0);
    enum shv_status status = SHV_OK;
    for (size_t i = 0; status == SHV_OK && i < COUNT(tables); i++) {
        bool is_there = tables[i] != &report_scenarios || run->result->known;
        status = is_there ? report_table_write(tables[i], folder, tables[i]->file, run->file->units,
                                               when, &of, message)
                          : report_file_remove(folder, tables[i]->file, message);
    }
    return status;
}
