/* curves.csv: every state of the best kits over the rev range, one row per kit, site and engine
 * speed. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"

struct curves_row {
    uint64_t rank;
    const char *site, *outcome, *bypass_open, *bleeding, *phasing_by, *fuel_supply, *belt_grip;
    struct shv_point p;
    double inlet_vacuum;
};

#define AT(member) offsetof(struct curves_row, member)

#define FIELD(name, measure, column, meaning)                                                      \
    {column, REPORT_##measure, 7, offsetof(struct curves_row, p.name), REPORT_ALWAYS, meaning},
#define OTHER(name) OTHER_##name

/* clang-format off */

/* Columns that are not a number of a point. */
#define OTHER_outcome                                                                              \
    {"outcome", REPORT_TEXT, 0, AT(outcome), REPORT_ALWAYS,                                        \
     "`ok`, or why there is no answer here; then the states that depend on it are "                \
     "empty."},
#define OTHER_bypass_open                                                                          \
    {"bypass_open", REPORT_TEXT, 0, AT(bypass_open), REPORT_ALWAYS,                                \
     "`yes` where the blower can't keep up and the engine breathes through the "                   \
     "bypass."},
#define OTHER_bleeding                                                                             \
    {"bleeding", REPORT_TEXT, 0, AT(bleeding), REPORT_ALWAYS,                                      \
     "`yes` where the bypass lets air go to hold the set boost."},
#define OTHER_inlet_vacuum                                                                         \
    {"inlet_vacuum", REPORT_VACUUM, 7, AT(inlet_vacuum), REPORT_ALWAYS,                            \
     "Pressure at the blower's inlet below that of the site's air: with the "                      \
     "bypass shut what its actuator sees."},
#define OTHER_phasing_by                                                                           \
    {"phasing_by", REPORT_TEXT, 0, AT(phasing_by), REPORT_ALWAYS,                                  \
     "What holds `ca50` there: `best` nothing, `knock` knock and ignition margin, "                \
     "`peak_pressure` the limit of peak pressure, to which ignition gives way."},
#define OTHER_fuel_supply                                                                          \
    {"fuel_supply", REPORT_TEXT, 0, AT(fuel_supply), REPORT_ALWAYS,                                \
     "`ok` where the flows of injectors and pump are known; `no_injector_flow` "                   \
     "where the manifold's pressure shuts the injectors off, `beyond_pump_curve` "                 \
     "where the pressure lies beyond the pump's curve: then the share has no "                     \
     "finite value and its cell is empty. Empty without injectors and pump."},
#define OTHER_belt_grip                                                                            \
    {"belt_grip", REPORT_TEXT, 0, AT(belt_grip), REPORT_ALWAYS,                                    \
     "`ok`; `short` where the belt slips or has less than its margin against "                     \
     "that; `none` where centrifugal tension has used up the static tension: then "                \
     "`belt_slip` has no finite value and its cell is empty. This and what "                       \
     "follows is empty without a belt or without pulleys."},

/* What is known even where the model has no answer comes first. */
static const struct report_column known_columns[] = {
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_ALWAYS,
     "Place in ranked.csv; the output of `sheave point` does without."},
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS, "Name of the site."},
    SHV_POINT_KNOWN(FIELD, OTHER)
};

static const struct report_column answer_columns[] = {SHV_POINT_ANSWERS(FIELD, OTHER)};

/* clang-format on */

#define COUNT(table) (sizeof(table) / sizeof *(table))

static void add_answers(struct report_layout *layout)
{
    report_layout_add(layout, answer_columns, COUNT(answer_columns));
}

static const char *phasing_by(const struct shv_point *p)
{
    static const char *const word[] = {[SHV_PHASING_BEST] = "best",
                                       [SHV_PHASING_BY_KNOCK] = "knock",
                                       [SHV_PHASING_BY_PRESSURE] = "peak_pressure"};
    return isnan(p->ca50) ? NULL : word[p->phasing_by];
}

/* A share without a finite value is an empty cell: why must stand elsewhere. */
static const char *fuel_supply(const struct shv_point *p)
{
    if (isnan(p->injector_duty) && isnan(p->pump_flow)) {
        return NULL;
    }
    return isinf(p->injector_duty) ? "no_injector_flow"
           : isinf(p->pump_flow)   ? "beyond_pump_curve"
                                   : "ok";
}

/* A static tension worked out to keep the margin brings the share to 1 but for its last digits. */
#define AS_GOOD_AS_ALL (1.0 + 1e-9)

static const char *belt_grip(const struct shv_point *p)
{
    if (isnan(p->belt_slip)) {
        return NULL;
    }
    return isinf(p->belt_slip) ? "none" : p->belt_slip > AS_GOOD_AS_ALL ? "short" : "ok";
}

/* Empties what rests on an answer that is not there. */
static void blank(struct curves_row *row)
{
    for (size_t i = 0; i < COUNT(answer_columns); i++) {
        char *at = (char *)row + answer_columns[i].offset;
        if (answer_columns[i].measure == REPORT_TEXT) {
            memcpy(at, &(const char *){NULL}, sizeof(const char *));
        } else {
            memcpy(at, &(double){NAN}, sizeof(double));
        }
    }
}

void report_curves_rows(struct report_csv *csv, const struct shv_study *study, uint64_t rank,
                        const struct shv_curves *curves)
{
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        struct curves_row row = {.rank = rank,
                                 .site = study->sites[i / curves->speeds].name,
                                 .outcome = shv_outcome_name(p->outcome),
                                 .bypass_open = p->bypass_open ? "yes" : "no",
                                 .bleeding = p->bleeding ? "yes" : "no",
                                 .phasing_by = phasing_by(p),
                                 .fuel_supply = fuel_supply(p),
                                 .belt_grip = belt_grip(p),
                                 .p = *p,
                                 .inlet_vacuum = p->ambient_pressure - p->inlet_pressure};
        /* Without a cycle the air is known all the same, and what is not is NAN. */
        if (p->outcome != SHV_POINT_OK && p->outcome != SHV_POINT_NO_CYCLE) {
            blank(&row);
        }
        report_csv_row(csv, &row);
    }
}

static void write_stock(struct report_csv *csv, void *data)
{
    const struct report_rows *rows = data;
    report_curves_rows(csv, rows->run->study, 0, &rows->of.stock);
}

const struct report_table report_stock = {.file = "stock_engine.csv",
                                          .columns = known_columns + 1, /* no rank */
                                          .count = COUNT(known_columns) - 1,
                                          .more = add_answers,
                                          .write = write_stock,
                                          .of_kits = true};

static void write_rows(struct report_csv *csv, void *data)
{
    struct report_rows *rows = data;
    for (size_t i = 0; csv->error == 0 && i < report_drawn_count(rows->run); i++) {
        struct shv_summary summary;
        report_rows_take(rows, report_drawn_place(rows->run, i), &summary);
        report_curves_rows(csv, rows->run->study, summary.rank, &rows->of.curves);
    }
}

const struct report_table report_curves = {
    "curves.csv",
    "curves.csv: every state of the best kits, one row per kit, site and engine speed",
    REPORT_COLUMNS(known_columns),
    .more = add_answers,
    .write = write_rows,
    .of_kits = true};
