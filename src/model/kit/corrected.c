/* Models with corrections (sheave/corrections.h, sheave/model.h): docs/model.md, section 13. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/kit/model_internal.h"

static bool differ(const struct shv_corrections *a, const struct shv_corrections *b,
                   enum shv_correction which)
{
    return a->value[which] != b->value[which];
}

/* What the closed cycle would not take. */
static enum shv_status check_knock(const struct shv_study *study, struct shv_message *message)
{
    double scale = study->engine.knock.scale;
    if (study->engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        return SHV_OK;
    }
    if (!(scale >= 0.1 && scale <= 10.0)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "correction knock makes engine.knock.scale %.4g; accepted: 0.1 to 10",
                        scale);
    }
    for (size_t i = 0; i < study->fuel_count; i++) {
        double ron = study->fuels[i].ron;
        if (!(ron >= 30.0 && ron <= 140.0)) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "correction octane makes the RON of \"%s\" %.4g; accepted: 30 to 140",
                            study->fuels[i].name, ron);
        }
    }
    return SHV_OK;
}

/* A blower with a tolerance of its own departs from the study's correction by its own width. */
static double value_of(const struct shv_study *study, const double *value, size_t blower,
                       enum shv_correction which)
{
    double spread = shv_tolerance_spread(&study->tolerances, blower, which);
    double middle =
        study->corrected ? study->corrections.value[which] : shv_correction_info(which)->neutral;
    return spread == 1.0 ? value[which] : middle + spread * (value[which] - middle);
}

static void correct_blowers(struct model_copy *copy, const double *value)
{
    const struct shv_study *s = &copy->study;
    for (size_t i = 0; i < s->blower_count; i++) {
        struct shv_blower *b = &copy->blowers[i];
        double friction = value_of(s, value, i, SHV_CORRECT_BLOWER_FRICTION);
        double leakage = value_of(s, value, i, SHV_CORRECT_LEAKAGE);
        b->friction_torque *= friction;
        b->windage_torque *= friction;
        b->geometry.leakage_area *= leakage;
        b->geometry.filling_loss *= value_of(s, value, i, SHV_CORRECT_FILLING_LOSS);
        b->map.slip_added = (1.0 + b->map.slip_added) * leakage - 1.0;
    }
}

static void correct_study(struct model_copy *copy, const double *value)
{
    struct shv_study *s = &copy->study;
    s->drive.creep = shv_max(s->drive.creep + value[SHV_CORRECT_CREEP], 0.0);
    s->drive.belt.belt.friction *= value[SHV_CORRECT_BELT_FRICTION];
    s->engine.knock.scale *= value[SHV_CORRECT_KNOCK];
    double heating = s->engine.cycle.charge_heating + value[SHV_CORRECT_CHARGE_HEATING];
    s->engine.cycle.charge_heating = shv_min(shv_max(heating, 0.0), 1.0);
    for (size_t i = 0; i < s->fuel_count; i++) {
        copy->fuels[i].ron += value[SHV_CORRECT_OCTANE];
        copy->fuels[i].mon += value[SHV_CORRECT_OCTANE];
    }
    correct_blowers(copy, value);
    s->blowers = copy->blowers;
    s->fuels = copy->fuels;
}

/* Sites from those without corrections. The humidity ratio stays, and with it the gas. */
static void correct_sites(struct shv_model *model, const double *value)
{
    const struct shv_study *study = model->plain.study;
    double warmer = value[SHV_CORRECT_AMBIENT_TEMPERATURE];
    double denser = value[SHV_CORRECT_AMBIENT_PRESSURE];
    for (size_t i = 0; i < model->sites; i++) {
        struct model_site *s = &model->site[i];
        if (warmer != 0.0 || denser != 1.0) {
            s->t0 += warmer;
            s->p0 *= denser;
            s->dry_pressure *= denser;
            model_place_site(study, s);
        }
        s->intake_k *= value[SHV_CORRECT_INTAKE_LOSS];
        s->exhaust_k *= value[SHV_CORRECT_EXHAUST_LOSS];
    }
}

static void correct_speeds(struct shv_model *model, const double *value)
{
    const struct model_speed *first = model->speed, *last = first + model->speeds - 1;
    double middle = 0.5 * (first->speed + last->speed), half = 0.5 * (last->speed - first->speed);
    for (size_t i = 0; i < model->speeds; i++) {
        struct model_speed *s = &model->speed[i];
        double way = half > 0.0 ? (s->speed - middle) / half : 0.0;
        s->ve *= value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] *
                 (1.0 + value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY_TILT] * way);
        s->friction_0 *= value[SHV_CORRECT_FRICTION];
        s->friction_p *= value[SHV_CORRECT_FRICTION];
    }
    double lost = (1.0 - model->plain.brake_share) * value[SHV_CORRECT_FRICTION];
    /* Rounding must not show where nothing is corrected. */
    model->brake_share = value[SHV_CORRECT_FRICTION] == 1.0 ? model->plain.brake_share : 1.0 - lost;
}

void model_free_copy(struct model_copy *copy)
{
    if (copy) {
        free(copy->blowers);
        free(copy->fuels);
        free(copy->site);
        free(copy->speed);
        free(copy);
    }
}

static void *duplicate(const void *from, size_t count, size_t size)
{
    void *made = malloc(count * size + 1);
    if (made) {
        memcpy(made, from, count * size);
    }
    return made;
}

static struct model_copy *copy_of(const struct shv_model *model)
{
    const struct model_plain *plain = &model->plain;
    struct model_copy *copy = calloc(1, sizeof *copy);
    if (!copy) {
        return NULL;
    }
    const struct shv_study *s = plain->study;
    copy->study = *s;
    copy->blowers = duplicate(s->blowers, s->blower_count, sizeof *s->blowers);
    copy->fuels = duplicate(s->fuels, s->fuel_count, sizeof *s->fuels);
    copy->site = duplicate(plain->site, model->sites, sizeof *plain->site);
    copy->speed = duplicate(plain->speed, model->speeds, sizeof *plain->speed);
    if (copy->blowers && copy->fuels && copy->site && copy->speed) {
        return copy;
    }
    model_free_copy(copy);
    return NULL;
}

enum shv_status model_apply(struct shv_model *model, const struct shv_corrections *corrections,
                            struct shv_message *message)
{
    enum shv_status status = shv_corrections_check(corrections, message);
    if (status != SHV_OK) {
        return status;
    }
    model->copy = copy_of(model);
    if (!model->copy) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a corrected model");
    }
    model->study = &model->copy->study;
    model->site = model->copy->site;
    model->speed = model->copy->speed;
    model->corrections = *corrections;
    correct_study(model->copy, corrections->value);
    correct_sites(model, corrections->value);
    correct_speeds(model, corrections->value);
    return check_knock(model->study, message);
}

/* NTUs of the choices are those of the base, whose own correction is taken off; their references
 * are without corrections. */
static enum shv_status take_coolers(struct shv_model *model, const struct shv_model *base)
{
    double had = base->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS];
    double has = model->corrections.value[SHV_CORRECT_COOLER_EFFECTIVENESS];
    model->choice_ntu = duplicate(base->choice_ntu, model->choices, sizeof *base->choice_ntu);
    if (!model->choice_ntu) {
        return SHV_NO_MEMORY;
    }
    for (size_t i = 0; has != had && i < model->choices; i++) {
        model->choice_ntu[i] *= has / had;
    }
    return SHV_OK;
}

enum shv_status shv_model_correct(const struct shv_model *base,
                                  const struct shv_corrections *corrections,
                                  struct shv_model **model, struct shv_message *message)
{
    const struct shv_model *owner = base->base ? base->base : base;
    *model = NULL;
    if (owner->of_site) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "a model of one site of another takes no corrections");
    }
    struct shv_model *made = malloc(sizeof *made);
    if (!made) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a corrected model");
    }
    *made = *owner;
    made->base = owner;
    made->copy = NULL;
    made->choice_ntu = NULL;
    made->corrections = *corrections;
    enum shv_status status = take_coolers(made, owner);
    if (status != SHV_OK) {
        shv_fail(message, status, "out of memory for a corrected model");
    } else {
        status = model_apply(made, corrections, message);
    }
    if (status != SHV_OK) {
        shv_model_free(made);
        return status;
    }
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        bool departs = differ(corrections, &owner->corrections, (enum shv_correction)i);
        made->departs = made->departs || departs;
        made->off_rule = made->off_rule ||
                         (departs && shv_correction_info((enum shv_correction)i)->moves_draught);
    }
    *model = made;
    return SHV_OK;
}

const struct shv_corrections *shv_model_corrections(const struct shv_model *model)
{
    return &model->corrections;
}

void shv_model_kit(const struct shv_model *model, const struct shv_kit *kit,
                   struct shv_kit *corrected)
{
    const double *value = model->corrections.value;
    double crank = value[SHV_CORRECT_CRANK_PULLEY], blower = value[SHV_CORRECT_BLOWER_PULLEY];
    struct shv_kit actual = *kit;
    actual.injector_flow *= value[SHV_CORRECT_INJECTOR_FLOW];
    if ((crank != 0.0 || blower != 0.0) && !isnan(kit->crank_diameter)) {
        actual.crank_diameter += crank;
        actual.blower_diameter += blower;
        actual.ratio = shv_drive_ratio(actual.crank_diameter, actual.blower_diameter,
                                       model->study->drive.line_offset);
    }
    *corrected = actual;
}

struct shv_model model_of_stock(const struct shv_model *model)
{
    struct shv_model stock = *model;
    stock.study = model->plain.study;
    stock.speed = model->plain.speed;
    stock.brake_share = model->plain.brake_share;
    stock.departs = stock.off_rule = false;
    stock.base = NULL; /* its cycle runs directly */
    shv_corrections_neutral(&stock.corrections);
    return stock;
}
