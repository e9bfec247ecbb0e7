/* tradeoffs.csv: the fronts of the study's trade-offs, every point with its kit. */
#include <math.h>

#include "report/table/files.h"

struct tradeoff_row {
    struct shv_summary kit; /* first: the columns of ranked.csv */
    uint64_t front, points;
    const char *best, *against, *third;
    double power, torque, torque_speed, charge_temperature;
};

#define AT(member) offsetof(struct tradeoff_row, member)

static const struct report_column columns[] = {
    {"front", REPORT_COUNT, 0, AT(front), REPORT_ALWAYS,
     "Which of the study's tradeoffs, from 1; `rank` below is the place in its front, the best in "
     "its first thing first."},
    {"points", REPORT_COUNT, 0, AT(points), REPORT_ALWAYS, "How many points the front has."},
    {"best", REPORT_TEXT, 0, AT(best), REPORT_ALWAYS, "The first thing of the trade-off."},
    {"against", REPORT_TEXT, 0, AT(against), REPORT_ALWAYS, "The second."},
    {"third", REPORT_TEXT, 0, AT(third), REPORT_ALWAYS, "The third; empty when there are two."},
    {"traded_power", REPORT_POWER, 9, AT(power), REPORT_ALWAYS,
     "Peak brake power, mean or worst over the sites as the objective is; this and the next three "
     "are empty when they are not traded off; price and mass are below."},
    {"traded_torque", REPORT_TORQUE, 9, AT(torque), REPORT_ALWAYS,
     "Brake torque at the speed of the trade-off, over the sites likewise."},
    {"traded_torque_speed", REPORT_ROTATION, 6, AT(torque_speed), REPORT_ALWAYS,
     "That engine speed."},
    {"traded_charge_temperature", REPORT_TEMPERATURE, 9, AT(charge_temperature), REPORT_ALWAYS,
     "Highest gas temperature in the manifold, over sites and speeds."},
};

static const char *name_of(enum shv_trade of)
{
    static const char *const names[] = {"objective",          "power", "torque", "price", "mass",
                                        "charge_temperature", NULL};
    return names[of];
}

static void take_values(const struct shv_tradeoff *t, const double value[SHV_FRONT_DIMS],
                        struct tradeoff_row *row)
{
    row->power = row->torque = row->torque_speed = row->charge_temperature = NAN;
    for (size_t i = 0; i < shv_tradeoff_dims(t); i++) {
        switch (t->of[i]) {
        case SHV_TRADE_POWER:
            row->power = value[i];
            break;
        case SHV_TRADE_TORQUE:
            row->torque = value[i];
            row->torque_speed = t->at;
            break;
        case SHV_TRADE_CHARGE_TEMPERATURE:
            row->charge_temperature = -value[i];
            break;
        case SHV_TRADE_OBJECTIVE:
        case SHV_TRADE_PRICE:
        case SHV_TRADE_MASS:
        case SHV_TRADE_COUNT:
            break;
        }
    }
}

static uint64_t index_of(const void *data, size_t i)
{
    const struct report_kits *kits = data;
    return kits->rows->run->keep->front[kits->front].point[i].index;
}

static bool write_row(void *data, size_t i, struct shv_summary *kit)
{
    const struct report_kits *kits = data;
    const struct shv_tradeoff *t = &kits->rows->run->study->tradeoffs[kits->front];
    const struct shv_front *front = &kits->rows->run->keep->front[kits->front];
    report_rows_place(kits->rows, i, kit);
    struct tradeoff_row row = {.kit = *kit,
                               .front = kits->front + 1,
                               .points = front->count,
                               .best = name_of(t->of[0]),
                               .against = name_of(t->of[1]),
                               .third = name_of(t->of[2])};
    take_values(t, front->point[i].value, &row);
    report_csv_row(kits->csv, &row);
    return kits->csv->error == 0;
}

static void write_rows(struct report_csv *csv, void *data)
{
    struct report_kits kits = {csv, data, 0};
    const struct shv_run *run = kits.rows->run;
    bool good = true;
    for (; good && kits.front < run->study->tradeoff_count; kits.front++) {
        const struct shv_summary_list list = {run->keep->front[kits.front].count, &kits, index_of,
                                              write_row};
        good = shv_summaries_each(&kits.rows->of, &list);
    }
}

static bool is_there(const struct shv_run *run)
{
    return run->study->tradeoff_count > 0;
}

const struct report_table report_tradeoffs = {
    .file = "tradeoffs.csv",
    .about = "tradeoffs.csv: fronts of what can't all be had, only with tradeoffs in the study",
    REPORT_COLUMNS(columns),
    .more = report_kit_columns,
    .write = write_rows,
    .of_kits = true,
    .is_there = is_there};
