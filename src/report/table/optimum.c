/* optimum.csv: the ideal kit of each blower and fuel, and the nearest real parts. */
#include <math.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "rank/summary.h"

struct optimum_row {
    const char *blower, *fuel, *found, *cooler, *binding_limit;
    const char *injector, *pump;
    double ratio, effectiveness, lambda, air_fuel_ratio, real_air_fuel_ratio, ignition_margin,
        injector_flow, objective, binding_share;
    double ribs, wrap, real_ribs, real_wrap; /* wrap in deg */
    const char *real_found, *real_cooler, *real_injector, *real_pump;
    uint64_t real_index, evaluations, searches;
    double elasticity[SHV_FREE_COUNT];
    double crank_pulley, blower_pulley, real_ratio, real_effectiveness, real_lambda;
    double real_ignition_margin, real_injector_flow;
    double real_objective, loss, plain_difference;
    double retard, uncooled_ratio, uncooled_retard, uncooled_loss;
    double made_crank, made_blower, made_gain;
};

#define AT(member) offsetof(struct optimum_row, member)

static const struct report_column optimum_columns[] = {
    {"blower", REPORT_TEXT, 0, AT(blower), REPORT_ALWAYS, "Name of the blower."},
    {"fuel", REPORT_TEXT, 0, AT(fuel), REPORT_ALWAYS, "Name of the fuel."},
    {"found", REPORT_TEXT, 0, AT(found), REPORT_ALWAYS,
     "`yes` when the search found an ideal kit that keeps every limit; else what follows is "
     "empty."},
    {"ideal_ratio", REPORT_NUMBER, 7, AT(ratio), REPORT_ALWAYS,
     "Best ratio of the pulleys when it may take any value."},
    {"ideal_cooler", REPORT_TEXT, 0, AT(cooler), REPORT_ALWAYS,
     "Cooler family of the ideal kit; `none` for none."},
    {"ideal_effectiveness", REPORT_NUMBER, 7, AT(effectiveness), REPORT_ALWAYS,
     "Best rated effectiveness when it may take any value; 0 without a cooler."},
    {"ideal_lambda", REPORT_NUMBER, 6, AT(lambda), REPORT_ALWAYS, "Best of the listed lambdas."},
    REPORT_AIR_FUEL_COLUMN("ideal_air_fuel_ratio", AT(air_fuel_ratio)),
    {"ideal_ignition_margin", REPORT_ANGLE, 6, AT(ignition_margin), REPORT_ALWAYS,
     "Best of the listed ignition margins."},
    {"ideal_injector", REPORT_TEXT, 0, AT(injector), REPORT_ALWAYS,
     "Its injectors, those listed that carry most fuel; empty when the study names none."},
    {"ideal_injector_flow", REPORT_INJECTOR_FLOW, 6, AT(injector_flow), REPORT_ALWAYS,
     "Their rated flow, a listed size."},
    {"ideal_pump", REPORT_TEXT, 0, AT(pump), REPORT_ALWAYS,
     "Its fuel pump, the one listed that carries most fuel; empty when the study names none."},
    {"ideal_ribs", REPORT_NUMBER, 6, AT(ribs), REPORT_ALWAYS,
     "Ribs of its belt, a listed number; empty when the study describes no belt or the search "
     "leaves "
     "them open."},
    {"ideal_wrap", REPORT_ANGLE, 6, AT(wrap), REPORT_ALWAYS,
     "Listed wrap of the belt on the blower's pulley; empty where the layout gives it."},
    {"ideal_objective_power", REPORT_POWER, 9, AT(objective), REPORT_WHEN_POWER,
     "The study's objective for the ideal kit, a power."},
    {"ideal_objective_torque", REPORT_TORQUE, 9, AT(objective), REPORT_WHEN_TORQUE,
     "The study's objective for the ideal kit, a torque."},
    {"ideal_objective_price", REPORT_MONEY, 9, AT(objective), REPORT_WHEN_PRICE,
     "The study's objective for the ideal kit, a price: the less the better."},
    {"ideal_objective_power_per_price", REPORT_POWER_PER_MONEY, 9, AT(objective),
     REPORT_WHEN_POWER_PER_PRICE,
     "The study's objective for the ideal kit, power for a unit of the study's money."},
    {"ideal_objective_charge_temperature", REPORT_TEMPERATURE, 9, AT(objective),
     REPORT_WHEN_CHARGE_TEMPERATURE,
     "The study's objective for the ideal kit, a temperature: the less the better."},
    {"ideal_objective_weighted", REPORT_NUMBER, 9, AT(objective), REPORT_WHEN_WEIGHTED,
     "The study's objective for the ideal kit, a weighted sum."},
    {"binding_limit", REPORT_TEXT, 0, AT(binding_limit), REPORT_ALWAYS,
     "Name of the limit that holds the ideal kit back, as in rejected.csv: it has less than 0.1 % "
     "of "
     "its span left, or it jumps and a little more ratio or core breaks it. Empty where no limit "
     "does, but what there is of ratios and cores, or that more makes the kit no better."},
    {"binding_share", REPORT_PERCENT, 6, AT(binding_share), REPORT_ALWAYS,
     "Room to it, in per cent of its span."},
    {"real_found", REPORT_TEXT, 0, AT(real_found), REPORT_ALWAYS,
     "`yes` when a combination of listed parts near the ideal keeps every limit."},
    {"real_index", REPORT_COUNT, 0, AT(real_index), REPORT_ALWAYS,
     "Number of that combination, as in ranked.csv."},
    {"real_crank_pulley", REPORT_LENGTH, 6, AT(crank_pulley), REPORT_ALWAYS,
     "Its crank pulley, effective diameter."},
    {"real_blower_pulley", REPORT_LENGTH, 6, AT(blower_pulley), REPORT_ALWAYS,
     "Its blower pulley, effective diameter."},
    {"real_ratio", REPORT_NUMBER, 7, AT(real_ratio), REPORT_ALWAYS, "Its ratio."},
    {"real_cooler", REPORT_TEXT, 0, AT(real_cooler), REPORT_ALWAYS, "Its cooler."},
    {"real_effectiveness", REPORT_NUMBER, 7, AT(real_effectiveness), REPORT_ALWAYS,
     "Its rated effectiveness."},
    {"real_lambda", REPORT_NUMBER, 6, AT(real_lambda), REPORT_ALWAYS, "Its lambda."},
    REPORT_AIR_FUEL_COLUMN("real_air_fuel_ratio", AT(real_air_fuel_ratio)),
    {"real_ignition_margin", REPORT_ANGLE, 6, AT(real_ignition_margin), REPORT_ALWAYS,
     "Its ignition margin."},
    {"real_injector", REPORT_TEXT, 0, AT(real_injector), REPORT_ALWAYS, "Its injectors."},
    {"real_injector_flow", REPORT_INJECTOR_FLOW, 6, AT(real_injector_flow), REPORT_ALWAYS,
     "Their rated flow."},
    {"real_pump", REPORT_TEXT, 0, AT(real_pump), REPORT_ALWAYS, "Its fuel pump."},
    {"real_ribs", REPORT_NUMBER, 6, AT(real_ribs), REPORT_ALWAYS, "Ribs of its belt."},
    {"real_wrap", REPORT_ANGLE, 6, AT(real_wrap), REPORT_ALWAYS,
     "Its listed wrap; empty where the layout gives it."},
    {"real_objective_power", REPORT_POWER, 9, AT(real_objective), REPORT_WHEN_POWER,
     "Its objective, a power."},
    {"real_objective_torque", REPORT_TORQUE, 9, AT(real_objective), REPORT_WHEN_TORQUE,
     "Its objective, a torque."},
    {"real_objective_price", REPORT_MONEY, 9, AT(real_objective), REPORT_WHEN_PRICE,
     "Its objective, a price."},
    {"real_objective_power_per_price", REPORT_POWER_PER_MONEY, 9, AT(real_objective),
     REPORT_WHEN_POWER_PER_PRICE, "Its objective, power for a unit of the study's money."},
    {"real_objective_charge_temperature", REPORT_TEMPERATURE, 9, AT(real_objective),
     REPORT_WHEN_CHARGE_TEMPERATURE, "Its objective, a temperature."},
    {"real_objective_weighted", REPORT_NUMBER, 9, AT(real_objective), REPORT_WHEN_WEIGHTED,
     "Its objective, a weighted sum."},
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

void report_optimum_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, optimum_columns, sizeof optimum_columns / sizeof *optimum_columns);
}

static void take_supply(const struct shv_study *study, const struct shv_kit *kit,
                        const char **injector, double *flow, const char **pump)
{
    const struct shv_injector_part *part = &study->injectors[kit->injector];
    if (!part->is_unlimited) {
        *injector = part->name;
        *flow = kit->injector_flow;
    }
    if (!study->pumps[kit->pump].is_unlimited) {
        *pump = study->pumps[kit->pump].name;
    }
}

static void take_belt(const struct shv_study *study, const struct shv_kit *kit, double *ribs,
                      double *wrap)
{
    if (study->drive.belt.given) {
        *ribs = kit->ribs > 0.0 ? kit->ribs : NAN; /* an ideal kit may leave them open */
        *wrap = kit->wrap > 0.0 ? kit->wrap : NAN;
    }
}

static void take_ideal(const struct shv_study *study, const struct shv_optimum *o,
                       struct optimum_row *row)
{
    row->cooler = study->coolers[o->ideal.cooler].name;
    row->ratio = o->ideal.ratio;
    row->effectiveness = o->ideal.effectiveness;
    row->lambda = o->ideal.lambda;
    row->air_fuel_ratio = shv_kit_air_fuel_ratio(study, &o->ideal);
    row->ignition_margin = o->ideal.ignition_margin;
    take_supply(study, &o->ideal, &row->injector, &row->injector_flow, &row->pump);
    take_belt(study, &o->ideal, &row->ribs, &row->wrap);
    row->objective = report_objective_shown(study, o->objective);
    row->plain_difference = o->plain_difference;
    row->retard = o->retard;
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
    row->real_cooler = study->coolers[o->real.cooler].name;
    row->real_index = o->real_index;
    row->crank_pulley = o->real.crank_diameter;
    row->blower_pulley = o->real.blower_diameter;
    row->real_ratio = o->real.ratio;
    row->real_effectiveness = o->real.effectiveness;
    row->real_lambda = o->real.lambda;
    row->real_air_fuel_ratio = shv_kit_air_fuel_ratio(study, &o->real);
    row->real_ignition_margin = o->real.ignition_margin;
    take_supply(study, &o->real, &row->real_injector, &row->real_injector_flow, &row->real_pump);
    take_belt(study, &o->real, &row->real_ribs, &row->real_wrap);
    row->real_objective = report_objective_shown(study, o->real_objective);
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
                                .real_index = REPORT_NO_COUNT,
                                .evaluations = o->evaluations,
                                .searches = o->searches,
                                .ratio = NAN,
                                .effectiveness = NAN,
                                .lambda = NAN,
                                .air_fuel_ratio = NAN,
                                .real_air_fuel_ratio = NAN,
                                .ignition_margin = NAN,
                                .injector_flow = NAN,
                                .ribs = NAN,
                                .wrap = NAN,
                                .real_ribs = NAN,
                                .real_wrap = NAN,
                                .objective = NAN,
                                .retard = NAN,
                                .uncooled_ratio = NAN,
                                .uncooled_retard = NAN,
                                .uncooled_loss = NAN,
                                .made_crank = NAN,
                                .made_blower = NAN,
                                .made_gain = NAN,
                                .binding_share = NAN,
                                .crank_pulley = NAN,
                                .blower_pulley = NAN,
                                .real_ratio = NAN,
                                .real_effectiveness = NAN,
                                .real_lambda = NAN,
                                .real_ignition_margin = NAN,
                                .real_injector_flow = NAN,
                                .real_objective = NAN,
                                .loss = NAN,
                                .plain_difference = NAN};
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        row->elasticity[k] = o->found ? o->elasticity[k] : NAN;
    }
    if (o->found) {
        take_ideal(study, o, row);
    }
    if (o->real_found) {
        take_real(study, o, row);
    }
}

static bool write_rows(FILE *out, const struct shv_run *run)
{
    enum shv_unit_system units = run->study->results.units;
    struct report_layout layout;
    report_optimum_layout(&layout, report_when_objective(run->study));
    bool good = report_header(out, &layout, units);
    for (size_t i = 0; good && i < run->optimum_count; i++) {
        struct optimum_row row;
        make_row(run->study, &run->optima[i], &row);
        good = report_row(out, &layout, units, &row);
    }
    return good;
}

enum shv_status shv_report_optimum(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    struct report_file file;
    if (run->search == SHV_STAGE_LEFT_OUT || run->search == SHV_STAGE_TO_COME) {
        return report_file_remove(folder, "optimum.csv", message);
    }
    enum shv_status status = report_file_open(&file, folder, "optimum.csv", message);
    if (status != SHV_OK) {
        return status;
    }
    return report_file_finish(&file, write_rows(file.stream, run), message);
}
