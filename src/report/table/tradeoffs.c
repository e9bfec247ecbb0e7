/* tradeoffs.csv: the fronts of the study's trade-offs, every point with its kit. */
#include <math.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/rows.h"

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

void report_tradeoffs_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, columns, sizeof columns / sizeof *columns);
    report_kit_columns(layout);
}

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

struct tradeoff_file {
    FILE *out;
    const struct shv_run *run;
    struct report_layout layout;
    size_t front;
};

static uint64_t index_of(const void *data, size_t i)
{
    const struct tradeoff_file *f = data;
    return f->run->keep->front[f->front].point[i].index;
}

static bool write_row(void *data, size_t i, struct shv_summary *kit)
{
    const struct tradeoff_file *f = data;
    const struct shv_tradeoff *t = &f->run->study->tradeoffs[f->front];
    const struct shv_front *front = &f->run->keep->front[f->front];
    struct tradeoff_row row = {.kit = *kit,
                               .front = f->front + 1,
                               .points = front->count,
                               .best = name_of(t->of[0]),
                               .against = name_of(t->of[1]),
                               .third = name_of(t->of[2])};
    take_values(t, front->point[i].value, &row);
    return report_row(f->out, &f->layout, f->run->study->results.units, &row);
}

static bool write_rows(FILE *out, struct report_rows *rows)
{
    struct tradeoff_file f = {.out = out, .run = rows->run};
    const struct shv_study *study = f.run->study;
    report_tradeoffs_layout(&f.layout, report_when(study));
    bool good = report_header(out, &f.layout, study->results.units);
    for (; good && f.front < study->tradeoff_count; f.front++) {
        const struct shv_summary_list list = {f.run->keep->front[f.front].count, &f, index_of,
                                              write_row};
        good = report_rows_each(rows, &list);
    }
    return good;
}

enum shv_status shv_report_tradeoffs(const struct shv_run *run, const char *folder,
                                     struct shv_message *message)
{
    if (run->study->tradeoff_count == 0) {
        return report_file_remove(folder, "tradeoffs.csv", message);
    }
    return report_rows_write(run, folder, "tradeoffs.csv", write_rows, message);
}
