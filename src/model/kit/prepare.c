/* Makes a study ready: gas of each site, engine constants at each speed, the tie to the stock
 * torque curve. Equations: docs/model.md, sections 1, 2, 5, 6, 8 and 9. */
#include <math.h>
#include <stdlib.h>

#include "model/cylinder/combustion_gas.h"
#include "model/kit/model_internal.h"
#include "model/drive/soak.h"

#define PI 3.14159265358979323846
#define SEA_LEVEL_PRESSURE 101325.0

static double loss_k(const struct shv_loss *loss, double density)
{
    if (loss->pressure_drop == 0.0) {
        return 0.0;
    }
    return loss->pressure_drop / (loss->flow * loss->flow) * (loss->density / density);
}

/* From the drop to sea-level pressure at the reference flow. */
static double exhaust_k(const struct shv_exhaust *loss)
{
    double before = SEA_LEVEL_PRESSURE + loss->pressure_drop;
    return (before * before - SEA_LEVEL_PRESSURE * SEA_LEVEL_PRESSURE) / (loss->flow * loss->flow);
}

struct exhaust_law model_exhaust(const struct shv_engine *engine, const struct model_site *site,
                                 double k)
{
    return (struct exhaust_law){site->p0, k, engine->exhaust.temperature,
                                engine->stock.temperature};
}

static void prepare_site(const struct shv_study *study, const struct shv_ambient *ambient,
                         struct model_site *s)
{
    double vapour = 0.0;
    if (study->air.kind == SHV_AIR_NASA) {
        vapour = ambient->relative_humidity * shv_saturation_pressure(ambient->temperature);
    }
    s->humidity_ratio = shv_humidity_ratio(vapour, ambient->pressure);
    shv_gas_init(&s->gas, &study->air, s->humidity_ratio);
    s->p0 = ambient->pressure;
    s->t0 = ambient->temperature;
    s->dry_pressure = s->p0 - vapour;
    model_place_site(study, s);
}

void model_place_site(const struct shv_study *study, struct model_site *s)
{
    s->h0 = gas_enthalpy(&s->gas, s->t0);
    s->rho0 = shv_gas_density(&s->gas, s->p0, s->t0);
    s->intake_k = loss_k(&study->intake, s->rho0);
    s->stock_intake_k = loss_k(&study->engine.intake, s->rho0);
    const struct shv_exhaust *exhaust = &study->engine.exhaust;
    s->exhaust_k = s->stock_exhaust_k = exhaust->pressure_drop > 0.0 ? exhaust_k(exhaust) : 0.0;
    s->j1349 = shv_correction_j1349(s->dry_pressure, s->t0);
    s->iso1585 = shv_correction_iso1585(s->dry_pressure, s->t0);
}

/* ---- breathing ---- */

/* Of a fuel at the stock mixture. Without the closed cycle fuels are alike to the engine. */
static struct fuel_charge charge_of(const struct shv_study *study, const struct model_site *site,
                                    size_t fuel)
{
    const struct shv_engine *e = &study->engine;
    struct shv_cycle_fuel f = burn_fuel(&study->fuels[fuel]);
    if (e->efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        return (struct fuel_charge){1.0, 0.0};
    }
    double per_air = 1.0 / ((1.0 + site->humidity_ratio) * e->stock_lambda * f.stoichiometric);
    double evaporated = per_air * e->cycle.evaporated_share;
    struct cgas_amounts fresh = cgas_fresh(&f, e->stock_lambda, site->humidity_ratio);
    struct cgas gas = cgas_of(&fresh, &f);
    return (struct fuel_charge){
        1.0 + evaporated * CGAS_MOLAR_R / f.molar_mass / site->gas.gas_constant,
        evaporated * f.vaporisation / ((1.0 + per_air) * cgas_cp(&gas, CGAS_T_REFERENCE))};
}

/* Where the walls leave a charge of this temperature, less what the fuel takes. */
static double warmed(const struct shv_engine *e, const struct fuel_charge *c, double temperature)
{
    double share = e->cycle.charge_heating;
    return (1.0 - share) * temperature + share * e->cycle.charge_wall_temperature - c->cooled;
}

static struct shv_breathing breathing_of(const struct shv_model *model,
                                         const struct model_site *site, const struct fuel_charge *c,
                                         const struct model_speed *at)
{
    const struct shv_engine *e = &model->study->engine;
    return (struct shv_breathing){
        .capacity = at->ve * at->cycle_rate / site->gas.gas_constant * model->reference_charge /
                    (e->reference_temperature * c->displaced),
        .a = at->a,
        .b = at->b,
        .kept = 1.0 - e->cycle.charge_heating,
        .added = warmed(e, c, 0.0),
        .cycle_time = 2.0 / (at->speed * e->cylinders),
        .burn_reference = at->burn_reference,
        .delay_factor = at->delay_factor,
    };
}

struct shv_breathing model_breathing(const struct shv_model *model, size_t site, size_t fuel,
                                     size_t speed)
{
    const struct fuel_charge alike = {1.0, 0.0};
    const struct fuel_charge *c =
        model->charge ? &model->charge[site * model->study->fuel_count + fuel] : &alike;
    return breathing_of(model, &model->site[site], c, &model->speed[speed]);
}

/* At the stock conditions, and of each site with each fuel. */
static enum shv_status prepare_charges(struct shv_model *model, const struct model_site *stock)
{
    const struct shv_study *study = model->study;
    struct fuel_charge of_stock = charge_of(study, stock, study->engine.stock_fuel);
    model->reference_charge =
        warmed(&study->engine, &of_stock, study->engine.reference_temperature) * of_stock.displaced;
    size_t count = model->sites * study->fuel_count;
    if (study->engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        return SHV_OK;
    }
    model->charge = calloc(count + 1, sizeof *model->charge);
    for (size_t i = 0; model->charge && i < count; i++) {
        model->charge[i] =
            charge_of(study, &model->site[i / study->fuel_count], i % study->fuel_count);
    }
    return model->charge ? SHV_OK : SHV_NO_MEMORY;
}

/* The stock engine at its own conditions; its breathing factor there is 1 by definition. */
static void prepare_stock(const struct shv_model *model, const struct model_site *stock,
                          struct model_speed *s)
{
    const struct shv_engine *e = &model->study->engine;
    struct fuel_charge charge = charge_of(model->study, stock, e->stock_fuel);
    struct shv_breathing b = breathing_of(model, stock, &charge, s);
    double c = breathing_filled(&b, stock->t0);
    double root = sqrt(1.0 + 4.0 * stock->stock_intake_k * c * c * stock->p0);
    s->stock_manifold = 2.0 * stock->p0 / (1.0 + root);
    s->stock_flow = c * s->stock_manifold;
    struct exhaust_law exhaust = model_exhaust(e, stock, stock->exhaust_k);
    s->stock_exhaust = exhaust_pressure(&exhaust, s->stock_flow, stock->t0);
    s->a = 1.0;
    s->b = 0.0;
    if (e->residual_correction) {
        double r = e->compression_ratio, g = e->residual_gamma;
        double at_stock = shv_engine_residual_factor(r, s->stock_exhaust / s->stock_manifold, g);
        s->b = 1.0 / (g * (r - 1.0)) / at_stock;
        s->a = shv_engine_residual_factor(r, 0.0, g) / at_stock;
    }
}

static void prepare_friction(const struct shv_engine *e, struct model_speed *s)
{
    if (e->friction.kind == SHV_FRICTION_CHEN_FLYNN) {
        s->friction_0 = shv_engine_fmep(&e->friction, 0.0, s->piston_speed) * s->cycle_rate;
        double ratio =
            e->efficiency_kind == SHV_EFFICIENCY_CYCLE ? 1.0 : e->friction.peak_pressure_ratio;
        s->friction_p = e->friction.per_peak_pressure * ratio * s->cycle_rate;
    }
}

/* Gross indicated efficiency at the stock conditions that explains the stock torque; friction goes
 * with the peak pressure, or without the closed cycle with that of the manifold. */
static double tied_efficiency(const struct shv_model *model, const struct model_site *stock,
                              const struct model_speed *s, double peak_pressure)
{
    const struct shv_engine *e = &model->study->engine;
    const struct shv_fuel *fuel = &model->study->fuels[e->stock_fuel];
    double torque = shv_curve_table_at(&e->stock_torque, s->speed);
    double pumping = e->pumping_share * (s->stock_manifold - s->stock_exhaust) * s->cycle_rate;
    double friction = s->friction_0 + s->friction_p * peak_pressure;
    double indicated = (2.0 * PI * s->speed * torque + friction) / model->brake_share - pumping;
    double fuel_flow =
        s->stock_flow / (1.0 + stock->humidity_ratio) / (e->stock_lambda * fuel->stoichiometric);
    return indicated / (fuel_flow * fuel->heating_value);
}

static enum shv_status check_tied(const struct model_speed *s, struct shv_message *message)
{
    if (s->efficiency > 0.02 && s->efficiency < 0.8) {
        return SHV_OK;
    }
    return shv_fail(message, SHV_BAD_INPUT,
                    "the stock torque at %.0f rpm asks for an indicated efficiency of %.2f, "
                    "which no engine has: check torque, displacement, volumetric efficiency, "
                    "stock fuel and lambda",
                    s->speed * 60.0, s->efficiency);
}

/* ---- the tie ---- */

/* Where nothing is known of the maker's ignition: deg at the lowest speed. An assumption of ours.
 */
#define STOCK_RETARD_USUAL 4.0

static double stock_retard_at(const struct shv_engine *e, double speed)
{
    if (e->stock_retard.count > 0) {
        return shv_curve_table_at(&e->stock_retard, speed);
    }
    return speed == e->speeds[0] ? STOCK_RETARD_USUAL : 0.0;
}

/* The cycle of the stock engine, which burns by `stock_retard` later than best. Its flame is the
 * reference for all others; its delay is `factor` times that of the constants. */
static enum shv_status run_stock(const struct shv_model *model, struct model_speed *s,
                                 struct shv_cycle_case *at, struct shv_message *message)
{
    const struct shv_engine *e = &model->study->engine;
    struct shv_cycle_fuel fuel = burn_fuel(&model->study->fuels[e->stock_fuel]);
    struct shv_cycle_knock knock = e->knock;
    knock.scale = 1.0; /* comes on top of the tie */
    struct shv_message why = {{0}};
    enum shv_status status =
        shv_cycle_run(&e->cycle, &fuel, &knock, at, NULL, &s->stock_cycle, &why);
    if (status != SHV_OK || s->stock_cycle.outcome == SHV_CYCLE_NO_ANSWER) {
        return shv_fail(message, SHV_BAD_INPUT, "the stock engine at %.0f rpm: %s", s->speed * 60.0,
                        status != SHV_OK ? why.text : "the closed cycle has no answer");
    }
    at->burn_reference = s->burn_reference = s->stock_cycle.burn_velocity;
    return SHV_OK;
}

/* Ties the closed cycle to the stock torque: its own answer at the stock conditions is multiplied
 * by what is missing, and that factor holds wherever the engine runs. */
static enum shv_status tie_cycle(const struct shv_model *model, const struct model_site *stock,
                                 struct model_speed *s, struct shv_message *message)
{
    const struct shv_engine *e = &model->study->engine;
    struct shv_cycle_case at = burn_cycle_case(stock->humidity_ratio, s->speed, e->stock_lambda);
    at.air_mass = s->stock_flow * 2.0 / (s->speed * e->cylinders);
    at.charge_temperature = stock->t0;
    at.exhaust_pressure = s->stock_exhaust;
    s->stock_retard = stock_retard_at(e, s->speed);
    at.ca50 = e->knock.best_ca50 + s->stock_retard;
    enum shv_status status = run_stock(model, s, &at, message);
    if (status != SHV_OK) {
        return status;
    }
    s->tie = 1.0;
    s->efficiency = s->stock_cycle.gross_efficiency;
    if (e->stock_torque.count > 0) {
        s->efficiency = tied_efficiency(model, stock, s, s->stock_cycle.peak_pressure);
        s->tie = s->efficiency / s->stock_cycle.gross_efficiency;
    }
    return check_tied(s, message);
}

/* The factor on the delay with which the stock engine's mean cycle comes as near to knock as the
 * margin lets it. Where ignition is held back that is it; where it is not, the stock engine only
 * says that the delay is no shorter. */
static double least_delay(const struct shv_engine *e, const struct model_speed *s)
{
    return s->stock_cycle.knock_integral / (1.0 - e->knock.margin);
}

/* The nearest speed that tells, the lower of two equally near. */
static const struct model_speed *teller(const struct shv_model *model, size_t speed)
{
    const struct model_speed *best = NULL, *here = &model->speed[speed];
    for (size_t i = 0; i < model->speeds; i++) {
        const struct model_speed *s = &model->speed[i];
        bool nearer = !best || fabs(s->speed - here->speed) < fabs(best->speed - here->speed);
        best = s->stock_retard > 0.0 && nearer ? s : best;
    }
    return best;
}

static void tie_knock(struct shv_model *model)
{
    const struct shv_engine *e = &model->study->engine;
    for (size_t i = 0; i < model->speeds; i++) {
        struct model_speed *s = &model->speed[i];
        const struct model_speed *tells = teller(model, i);
        s->delay_factor = shv_max(tells ? least_delay(e, tells) : 1.0, least_delay(e, s));
    }
    for (size_t i = 0; i < model->speeds; i++) {
        model->speed[i].stock_cycle.knock_integral /= model->speed[i].delay_factor * e->knock.scale;
    }
}

static enum shv_status prepare_speed(const struct shv_model *model, const struct model_site *stock,
                                     double speed, struct model_speed *s,
                                     struct shv_message *message)
{
    const struct shv_engine *e = &model->study->engine;
    s->speed = speed;
    s->cycle_rate = e->displacement * speed / 2.0;
    s->ve = shv_curve_table_at(&e->volumetric_efficiency, speed);
    s->piston_speed = shv_engine_piston_speed(e->stroke, speed);
    s->delay_factor = 1.0;
    s->retard_less = shv_limit_retard_less(model->study, speed);
    prepare_friction(e, s);
    prepare_stock(model, stock, s);
    if (!(s->stock_flow > 0.0) || !isfinite(s->a) || !isfinite(s->b)) {
        return shv_fail(
            message, SHV_BAD_INPUT,
            "the stock engine draws no air at %.0f rpm: check its intake and exhaust loss",
            speed * 60.0);
    }
    if (e->efficiency_kind == SHV_EFFICIENCY_CONSTANT) {
        s->efficiency = e->indicated_efficiency;
    } else if (e->efficiency_kind == SHV_EFFICIENCY_STOCK_TORQUE) {
        s->efficiency = tied_efficiency(model, stock, s, s->stock_manifold);
        return check_tied(s, message);
    } else if (e->efficiency_kind == SHV_EFFICIENCY_CYCLE) {
        return tie_cycle(model, stock, s, message);
    }
    return SHV_OK;
}

static enum lane_class class_of(const struct shv_cooler *c, double loop)
{
    switch (c->arrangement) {
    case SHV_COOLER_SINGLE_STREAM:
        return loop > 0.0 ? LANE_SINGLE : LANE_PLAIN;
    case SHV_COOLER_COUNTERFLOW:
        return LANE_COUNTERFLOW;
    case SHV_COOLER_CROSSFLOW_UNMIXED:
        return LANE_UNMIXED;
    case SHV_COOLER_PARALLEL:
    case SHV_COOLER_CROSSFLOW_CHARGE_MIXED:
    case SHV_COOLER_CROSSFLOW_COOLANT_MIXED:
        break;
    }
    return LANE_OTHER;
}

static void prepare_cooler(const struct shv_cooler *c, const struct shv_use *use,
                           struct model_cooler *m)
{
    m->class = LANE_PLAIN;
    if (c->is_none) {
        return;
    }
    m->rated_ratio = shv_cooler_rated_ratio(c);
    m->ntu_reference =
        shv_cooler_ntu(c->arrangement, c->pressure_drop_effectiveness, m->rated_ratio);
    double steady = shv_cooler_loop_resistance(c), time = use->full_throttle_time;
    /* A loop that has not warmed up yet acts as one of less resistance. */
    bool warms = c->loop_heat > 0.0 && time > 0.0;
    m->loop = steady * (warms ? shv_soak_loop_share(time, c->loop_heat * steady) : 1.0);
    m->class = class_of(c, m->loop);
}

static double ntu_of(const struct shv_model *model, size_t cooler, double effectiveness)
{
    const struct shv_cooler *c = &model->study->coolers[cooler];
    if (c->is_none) {
        return 0.0;
    }
    return model->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS] *
           shv_cooler_ntu(c->arrangement, effectiveness, model->cooler[cooler].rated_ratio);
}

static void prepare_choices(struct shv_model *model)
{
    size_t k = 0;
    for (size_t c = 0; c < model->study->cooler_count; c++) {
        const struct shv_cooler *cooler = &model->study->coolers[c];
        for (size_t i = 0; i < cooler->effectiveness.count; i++, k++) {
            model->choice_cooler[k] = c;
            model->choice_ntu[k] =
                cooler->is_none ? 0.0 : ntu_of(model, c, cooler->effectiveness.values[i]);
        }
    }
}

double model_cooler_ntu(const struct shv_model *model, size_t cooler, double effectiveness)
{
    const struct shv_cooler *c = &model->study->coolers[cooler];
    size_t choice = 0;
    while (model->choice_cooler[choice] != cooler) {
        choice++;
    }
    for (size_t i = 0; !c->is_none && i < c->effectiveness.count;
         i++) { /* quicker than to find it again */
        if (c->effectiveness.values[i] == effectiveness) {
            return model->choice_ntu[choice + i];
        }
    }
    return ntu_of(model, cooler, effectiveness);
}

static enum shv_status allocate(struct shv_model *model, const struct shv_study *study)
{
    model->sites = study->site_count;
    model->speeds = study->engine.speed_count;
    for (size_t c = 0; c < study->cooler_count; c++) {
        model->choices += study->coolers[c].effectiveness.count;
    }
    if (model->sites == 0 || model->speeds == 0 || model->choices == 0) {
        return SHV_BAD_INPUT;
    }
    model->site = calloc(model->sites, sizeof *model->site);
    model->speed = calloc(model->speeds, sizeof *model->speed);
    model->cooler = calloc(study->cooler_count + 1, sizeof *model->cooler);
    model->choice_ntu = calloc(model->choices, sizeof *model->choice_ntu);
    model->choice_cooler = calloc(model->choices, sizeof *model->choice_cooler);
    bool ok =
        model->site && model->speed && model->cooler && model->choice_ntu && model->choice_cooler;
    return ok ? SHV_OK : SHV_NO_MEMORY;
}

/* Sites are of one kind when the cycle can't tell them apart. */
static void find_kinds(struct shv_model *model)
{
    for (size_t i = 0; i < model->sites; i++) {
        struct model_site *s = &model->site[i];
        s->kind = model->kinds;
        for (size_t k = 0; k < i && s->kind == model->kinds; k++) {
            const struct model_site *other = &model->site[k];
            if (other->p0 == s->p0 && other->humidity_ratio == s->humidity_ratio) {
                s->kind = other->kind;
            }
        }
        model->kinds += s->kind == model->kinds ? 1 : 0;
    }
}

/* What the tables of the closed cycle need to know of the engine's breathing, so that their exhaust
 * pressure is that of the match. */
static enum shv_status prepare_tables(struct shv_model *model)
{
    model->by_cycle = model->study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE;
    if (!model->by_cycle) {
        return SHV_OK;
    }
    find_kinds(model);
    model->table = calloc(shv_model_table_count(model) + 1, sizeof *model->table);
    size_t fuels = model->study->fuel_count;
    model->breathing = calloc(model->kinds * fuels * model->speeds + 1, sizeof *model->breathing);
    model->shift = calloc(shv_model_table_count(model) + 1, sizeof *model->shift);
    if (!model->table || !model->breathing || !model->shift) {
        return SHV_NO_MEMORY;
    }
    for (size_t i = 0; i < model->sites * fuels * model->speeds; i++) {
        size_t site = i / model->speeds / fuels, rest = i % (fuels * model->speeds);
        model->breathing[model->site[site].kind * fuels * model->speeds + rest] =
            model_breathing(model, site, rest / model->speeds, rest % model->speeds);
    }
    return SHV_OK;
}

static enum shv_status fill(struct shv_model *model, struct shv_message *message)
{
    const struct shv_study *study = model->study;
    for (size_t i = 0; i < model->sites; i++) {
        prepare_site(study, &study->sites[i].ambient, &model->site[i]);
        model->weight_sum += study->sites[i].weight;
    }
    bool by_share = study->engine.friction.kind == SHV_FRICTION_EFFICIENCY;
    model->brake_share = by_share ? study->engine.friction.mechanical_efficiency : 1.0;
    struct model_site stock = {0};
    prepare_site(study, &study->engine.stock, &stock);
    if (prepare_charges(model, &stock) != SHV_OK) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the model");
    }
    for (size_t i = 0; i < model->speeds; i++) {
        enum shv_status status =
            prepare_speed(model, &stock, study->engine.speeds[i], &model->speed[i], message);
        if (status != SHV_OK) {
            return status;
        }
    }
    if (study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE) {
        tie_knock(model);
    }
    for (size_t i = 0; i < study->cooler_count; i++) {
        prepare_cooler(&study->coolers[i], &study->use, &model->cooler[i]);
    }
    model->plain = (struct model_plain){study, model->site, model->speed, model->brake_share};
    if (study->corrected) {
        enum shv_status status = model_apply(model, &study->corrections, message);
        if (status != SHV_OK) {
            return status;
        }
    }
    prepare_choices(model);
    if (prepare_tables(model) != SHV_OK) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the model");
    }
    return SHV_OK;
}

enum shv_status shv_model_create(const struct shv_study *study, struct shv_model **model,
                                 struct shv_message *message)
{
    *model = NULL;
    struct shv_model *made = calloc(1, sizeof *made);
    if (!made) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the model");
    }
    made->study = study;
    shv_corrections_neutral(&made->corrections);
    enum shv_status status = allocate(made, study);
    if (status != SHV_OK) {
        shv_fail(message, status,
                 status == SHV_NO_MEMORY ? "out of memory for the model"
                                         : "the study has no site, engine speed or cooler choice");
    } else {
        status = fill(made, message);
    }
    if (status != SHV_OK) {
        shv_model_free(made);
        return status;
    }
    *model = made;
    return SHV_OK;
}

enum shv_status shv_model_of_site(const struct shv_model *whole, size_t site,
                                  struct shv_model **model, struct shv_message *message)
{
    struct shv_model *made = malloc(sizeof *made);
    struct shv_study *study = malloc(sizeof *study);
    *model = made;
    if (!made || !study) {
        free(made);
        free(study);
        *model = NULL;
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the model of a site");
    }
    *study = *whole->study;
    study->sites = &whole->study->sites[site];
    study->site_count = 1;
    *made = *whole;
    made->study = made->of_site = study;
    made->site = &whole->site[site];
    made->charge = whole->charge ? &whole->charge[site * study->fuel_count] : NULL;
    made->sites = 1;
    made->weight_sum = study->sites[0].weight;
    return SHV_OK;
}

void shv_model_free(struct shv_model *model)
{
    if (!model) {
        return;
    }
    if (model->of_site) {
        free(model->of_site);
        free(model);
        return;
    }
    size_t tables = model->base ? 0 : shv_model_table_count(model);
    for (size_t i = 0; i < tables; i++) {
        if (model->table) {
            shv_cycle_table_free(&model->table[i]);
        }
        if (model->shift) {
            burn_shift_free(&model->shift[i]);
        }
    }
    if (!model->base) {
        bool plain = model->plain.site != NULL;
        free(plain ? model->plain.site : model->site);
        free(plain ? model->plain.speed : model->speed);
        free(model->choice_cooler);
        free(model->cooler);
        free(model->charge);
        free(model->table);
        free(model->breathing);
        free(model->shift);
    }
    free(model->choice_ntu);
    model_free_copy(model->copy);
    free(model);
}

enum shv_status shv_model_again(const struct shv_model *model, const struct shv_study *study,
                                struct shv_model **again, struct shv_message *message)
{
    *again = malloc(sizeof **again);
    if (!*again) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the model");
    }
    **again = *model;
    (*again)->study = study;
    return SHV_OK;
}

void shv_model_again_free(struct shv_model *again)
{
    free(again);
}

const struct shv_study *shv_model_study(const struct shv_model *model)
{
    return model->study;
}

const struct shv_gas *shv_model_gas(const struct shv_model *model, size_t site)
{
    return &model->site[site].gas;
}

double shv_model_tied_efficiency(const struct shv_model *model, size_t speed)
{
    return model->plain.speed[speed].efficiency;
}

double shv_model_tie_factor(const struct shv_model *model, size_t speed)
{
    return model->by_cycle ? model->speed[speed].tie : NAN;
}

double shv_model_delay_factor(const struct shv_model *model, size_t speed)
{
    return model->by_cycle ? model->speed[speed].delay_factor : NAN;
}

bool shv_model_stock_cycle(const struct shv_model *model, size_t speed,
                           struct shv_cycle_result *result)
{
    if (model->by_cycle) {
        *result = model->speed[speed].stock_cycle;
    }
    return model->by_cycle;
}

struct brake_case brake_case_of(const struct shv_model *model, size_t site, size_t speed,
                                const struct shv_kit *kit)
{
    const struct shv_engine *e = &model->study->engine;
    const struct shv_fuel *f = &model->study->fuels[kit->fuel];
    const double lambda = kit->lambda;
    const struct model_site *s = &model->site[site];
    struct brake_case c;
    c.burn = burn_case_of(model, site, speed, kit->fuel, lambda, kit->ignition_margin);
    c.fuel_per_air = 1.0 / ((1.0 + s->humidity_ratio) * lambda * f->stoichiometric);
    double heat = c.fuel_per_air * f->heating_value;
    double efficiency = model->speed[speed].efficiency;
    if (e->efficiency_kind == SHV_EFFICIENCY_FREE_AIR) {
        c.work_per_air = e->power_per_free_air / s->rho0;
    } else if (e->efficiency_kind == SHV_EFFICIENCY_CONSTANT) {
        c.work_per_air = efficiency * heat;
    } else if (e->efficiency_kind == SHV_EFFICIENCY_CYCLE) {
        c.work_per_air = model->speed[speed].tie * heat;
    } else {
        double mixture =
            shv_fuel_mixture_efficiency(lambda) / shv_fuel_mixture_efficiency(e->stock_lambda);
        c.work_per_air = efficiency * mixture * heat;
    }
    c.work_per_air *= model->corrections.value[SHV_CORRECT_EFFICIENCY];
    return c;
}
