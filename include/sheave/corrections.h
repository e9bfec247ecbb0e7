/* Corrections of a study's model: named numbers by which a real kit departs from its description. A
 * study may set them (group `corrections`: what a fit to measurements finds), and tolerances
 * (tolerance.h) perturb them. How each enters the equations: docs/model.md, section 13.
 *
 * They act on the kit. The stock engine keeps its stock torque, and the tie to it is made before
 * they act; of the stock engine they only change the air around it.
 */
#ifndef SHEAVE_CORRECTIONS_H
#define SHEAVE_CORRECTIONS_H

#include "sheave/units.h"

enum shv_correction {
    SHV_CORRECT_VOLUMETRIC_EFFICIENCY,
    SHV_CORRECT_VOLUMETRIC_EFFICIENCY_TILT,
    SHV_CORRECT_LEAKAGE,
    SHV_CORRECT_FILLING_LOSS,
    SHV_CORRECT_FRICTION,
    SHV_CORRECT_BLOWER_FRICTION,
    SHV_CORRECT_INTAKE_LOSS,
    SHV_CORRECT_EXHAUST_LOSS,
    SHV_CORRECT_COOLER_EFFECTIVENESS,
    SHV_CORRECT_CREEP,
    SHV_CORRECT_KNOCK,
    SHV_CORRECT_OCTANE,
    SHV_CORRECT_EFFICIENCY,
    SHV_CORRECT_BELT_FRICTION,
    SHV_CORRECT_INJECTOR_FLOW,
    SHV_CORRECT_IN_STUDY, /* those above may be set in a study's group `corrections` */
    /* The others describe what a study says elsewhere, and only tolerances perturb them. */
    SHV_CORRECT_CRANK_PULLEY = SHV_CORRECT_IN_STUDY,
    SHV_CORRECT_BLOWER_PULLEY,
    SHV_CORRECT_AMBIENT_TEMPERATURE,
    SHV_CORRECT_AMBIENT_PRESSURE,
    SHV_CORRECTION_COUNT
};

struct shv_correction_info {
    const char *name;    /* "leakage": key, and word in files */
    const char *title;   /* for sentences */
    const char *meaning; /* one sentence */
    enum shv_quantity quantity;
    double neutral;     /* changes nothing: 1 of a factor, 0 of what is added */
    double least, most; /* accepted and plausible, SI */
};

/* One value for each, SI. */
struct shv_corrections {
    double value[SHV_CORRECTION_COUNT];
};

/* The table of corrections, indexed by enum shv_correction. */
const struct shv_correction_info *shv_correction_info(enum shv_correction correction);
/* All neutral. */
void shv_corrections_neutral(struct shv_corrections *corrections);
bool shv_corrections_are_neutral(const struct shv_corrections *corrections);
/* SHV_BAD_INPUT with a message when a value is not a number or lies outside least..most. */
enum shv_status shv_corrections_check(const struct shv_corrections *corrections,
                                      struct shv_message *message);

#endif
