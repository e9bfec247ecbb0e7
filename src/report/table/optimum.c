/* optimum.csv: the ideal kit of each blower and fuel, and the nearest real parts. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/objective.h"
#include "sheave/summary.h"

struct optimum_row {
    const char *blower, *fuel, *found, *real_found, *binding_limit;
    struct shv_summary ideal, real;
    uint64_t evaluations, searches;
    double elasticity[SHV_FREE_COUNT];
    double binding_share, loss, plain_difference;
    double retard, uncooled_ratio, uncooled_retard, uncooled_loss;
    double made_crank, made_blower, made_gain;
};

#define AT(member) offsetof(struct optimum_row, member)

static const struct report_column first_columns[] = {
    {"blower", REPORT_TEXT, 0, AT(blower), REPORT_ALWAYS, "Name of the blower."},
    {"fuel", REPORT_TEXT, 0, AT(fuel), REPORT_ALWAYS, "Name of the fuel."},
    {"found", REPORT_TEXT, 0, AT(found), REPORT_ALWAYS,
     "`yes` when the search found an ideal kit that keeps every limit; else what follows is "
     "empty. Of that kit ratio and effectiveness may take any value, and lambda, ignition margin, "
     "ribs and wrap are the best of those listed; of injectors and pumps it has those that carry "
     "most fuel. Ribs are empty where the search leaves them open, wrap of both kits where the "
     "layout gives it."},
};

static const struct report_column binding_columns[] = {
    {"binding_limit", REPORT_TEXT, 0, AT(binding_limit), REPORT_ALWAYS,
     "Name of the limit that holds the ideal kit back, as in rejected.csv: it has less than 0.1 % "
     "of "
     "its span left, or it jumps and a little more ratio or core breaks it. Empty where no limit "
     "does, but what there is of ratios and cores, or that more makes the kit no better."},
    {"binding_share", REPORT_PERCENT, 6, AT(binding_share), REPORT_ALWAYS,
     "Room to it, in per cent of its span."},
    {"real_found", REPORT_TEXT, 0, AT(real_found), REPORT_ALWAYS,
     "`yes` when a combination of listed parts near the ideal keeps every limit."},
};

static const struct report_column last_columns[] = {
    {"loss", REPORT_PERCENT, 6, AT(loss), REPORT_ALWAYS,
     "What real parts cost: how far its objective falls short of the ideal, in per cent of the "
     "ideal's size; empty when the objective is a temperature."},
    {"made_crank_pulley", REPORT_LENGTH, 6, AT(made_crank), REPORT_ALWAYS,
     "Listed crank pulley on which a blower pulley made for that combination does best, the rest "
     "of "
     "it as it is; this and the next two are empty when none is better than a listed pair."},
    {"made_blower_pulley", REPORT_LENGTH, 6, AT(made_blower), REPORT_ALWAYS,
     "The blower pulley worth having made, to a tenth of a millimetre, within the listed sizes."},
    {"made_gain", REPORT_PERCENT, 6, AT(made_gain), REPORT_ALWAYS,
     "What it buys: how far the objective of the listed parts falls short of that with it; empty "
     "when the objective is a temperature."},
    {"ideal_phasing_retard", REPORT_ANGLE, 6, AT(retard), REPORT_ALWAYS,
     "Phasing retard of the ideal kit where its power peaks at the first site; empty without the "
     "closed cycle."},
    {"uncooled_ratio", REPORT_NUMBER, 7, AT(uncooled_ratio), REPORT_ALWAYS,
     "Best ratio without a charge cooler; empty when none keeps every limit."},
    {"uncooled_phasing_retard", REPORT_ANGLE, 6, AT(uncooled_retard), REPORT_ALWAYS,
     "Phasing retard of that kit, likewise."},
    {"uncooled_loss", REPORT_PERCENT, 6, AT(uncooled_loss), REPORT_ALWAYS,
     "What doing without a charge cooler loses: how far its objective falls short of the ideal, as "
     "loss."},
    {"plain_difference", REPORT_NUMBER, 3, AT(plain_difference), REPORT_ALWAYS,
     "Relative difference of the ideal objective when solved by bracketing only; a check."},
    {"evaluations", REPORT_COUNT, 0, AT(evaluations), REPORT_ALWAYS,
     "Kits evaluated for this row."},
    {"searches", REPORT_COUNT, 0, AT(searches), REPORT_ALWAYS,
     "Setups (cooler family, lambda, ignition margin) near the front that were scanned."},
    {"elasticity_ratio", REPORT_NUMBER, 5, AT(elasticity[SHV_FREE_RATIO]), REPORT_ALWAYS,
     "Per cent by which the ideal's objective changes with 1 % of ratio, limits aside; empty when "
     "the objective is a temperature, likewise below."},
    {"elasticity_effectiveness", REPORT_NUMBER, 5, AT(elasticity[SHV_FREE_EFFECTIVENESS]),
     REPORT_ALWAYS, "The same with 1 % of the cooler's effectiveness; empty without one."},
    {"elasticity_lambda", REPORT_NUMBER, 5, AT(elasticity[SHV_FREE_LAMBDA]), REPORT_ALWAYS,
     "The same with 1 % of lambda; empty with the closed cycle (limit_worth.csv has its "
     "neighbours)."},
    {"elasticity_wrap", REPORT_NUMBER, 5, AT(elasticity[SHV_FREE_WRAP]), REPORT_ALWAYS,
     "The same with 1 % of a listed wrap; empty where the layout gives it."},
    {"slope_ignition_margin", REPORT_PERCENT, 5, AT(elasticity[SHV_FREE_IGNITION_MARGIN]),
     REPORT_ALWAYS, "The same with 1 deg of ignition margin."},
};

/* What both kits consist of; an ideal one is no combination and has no pulleys. */
#define OF_KIT                                                                                     \
    "ratio:7 cooler effectiveness:7 lambda air_fuel_ratio ignition_margin injector injector_flow " \
    "pump ribs wrap objective"

static void add_more(struct report_layout *layout)
{
    report_add_kit_columns(layout, "ideal_", AT(ideal), OF_KIT);
    REPORT_LAYOUT_ADD(layout, binding_columns);
    report_add_kit_columns(layout, "real_", AT(real), "index crank_pulley blower_pulley " OF_KIT);
    REPORT_LAYOUT_ADD(layout, last_columns);
}

static void take_ideal(const struct shv_study *study, const struct shv_optimum *o,
                       struct optimum_row *row)
{
    row->ideal.objective = report_objective_shown(study, o->objective);
    row->plain_difference = o->plain_difference;
    row->retard = o->retard;
    memcpy(row->elasticity, o->elasticity, sizeof row->elasticity);
    if (o->uncooled_found) {
        row->uncooled_ratio = o->uncooled.ratio;
        row->uncooled_retard = o->uncooled_retard;
        row->uncooled_loss = report_objective_loss(study, o->objective, o->uncooled_objective);
    }
    if (o->binding >= 0) {
        row->binding_limit = shv_limit_info((enum shv_limit)o->binding)->name;
        row->binding_share = o->binding_share;
    }
}

static void take_real(const struct shv_study *study, const struct shv_optimum *o,
                      struct optimum_row *row)
{
    row->real.index = o->real_index;
    row->real.objective = report_objective_shown(study, o->real_objective);
    row->loss = o->found ? report_objective_loss(study, o->objective, o->real_objective) : NAN;
    if (o->made_found) {
        row->made_crank = o->made.crank_diameter;
        row->made_blower = o->made.blower_diameter;
        row->made_gain = report_objective_loss(study, o->made_objective, o->real_objective);
    }
}

static void make_row(const struct shv_study *study, const struct shv_optimum *o,
                     struct optimum_row *row)
{
    *row = (struct optimum_row){.blower = study->blowers[o->blower].name,
                                .fuel = study->fuels[o->fuel].name,
                                .found = o->found ? "yes" : "no",
                                .real_found = o->real_found ? "yes" : "no",
                                .evaluations = o->evaluations,
                                .searches = o->searches,
                                .binding_share = NAN,
                                .loss = NAN,
                                .plain_difference = NAN,
                                .retard = NAN,
                                .uncooled_ratio = NAN,
                                .uncooled_retard = NAN,
                                .uncooled_loss = NAN,
                                .made_crank = NAN,
                                .made_blower = NAN,
                                .made_gain = NAN};
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        row->elasticity[k] = NAN;
    }
    shv_summarise_kit(study, o->found ? &o->ideal : NULL, &row->ideal);
    shv_summarise_kit(study, o->real_found ? &o->real : NULL, &row->real);
    if (o->found) {
        take_ideal(study, o, row);
    }
    if (o->real_found) {
        take_real(study, o, row);
    }
}

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->optimum_count; i++) {
        struct optimum_row row;
        make_row(run->study, &run->optima[i], &row);
        report_csv_row(csv, &row);
    }
}

const struct report_table report_optimum = {
    .file = "optimum.csv",
    .about = "optimum.csv: the ideal kit of each blower and fuel, and the nearest real parts",
    REPORT_COLUMNS(first_columns),
    .more = add_more,
    .write = write_rows,
    .is_there = report_was_searched};
