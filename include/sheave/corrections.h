/* Corrections of a study's model: named numbers by which a real kit departs from its description. A
 * study may set them (group `corrections`: what a fit to measurements finds), and tolerances
 * (tolerance.h) perturb them. How each enters the equations: docs/model.md, section 13.
 *
 * They act on the kit. The stock engine keeps its stock torque, and the tie to it is made before
 * they act; of the stock engine they only change the air around it.
 */
#ifndef SHEAVE_CORRECTIONS_H
#define SHEAVE_CORRECTIONS_H

#include <stdbool.h>
#include <stdint.h>

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
    SHV_CORRECT_CHARGE_HEATING,
    SHV_CORRECTION_COUNT
};

struct shv_correction_info {
    const char *name;    /* "leakage": key, and word in files */
    const char *title;   /* for sentences */
    const char *meaning; /* one sentence */
    enum shv_quantity quantity;
    double neutral;     /* changes nothing: 1 of a factor, 0 of what is added */
    double least, most; /* accepted and plausible, SI */
    bool moves_draught; /* what the engine draws at a state of its manifold, or the exhaust pressure
                         * there, is no more that of the closed cycle's tables */
};

/* One value for each, SI. */
struct shv_corrections {
    double value[SHV_CORRECTION_COUNT];
};

/* The table of corrections, indexed by enum shv_correction. */
const struct shv_correction_info *shv_correction_info(enum shv_correction correction);
/* All neutral. */
SHV_API void shv_corrections_neutral(struct shv_corrections *corrections);
bool shv_corrections_are_neutral(const struct shv_corrections *corrections);
/* SHV_BAD_INPUT with a message when a value is not a number or lies outside least..most. */
enum shv_status shv_corrections_check(const struct shv_corrections *corrections,
                                      struct shv_message *message);

/* ---- tolerances: how far corrections may be off ---- */

enum shv_distribution {
    SHV_NORMAL,    /* cut at 4 standard deviations */
    SHV_UNIFORM,   /* within half_width either side */
    SHV_TRIANGULAR /* likewise, most likely in the middle */
};
#define SHV_NORMAL_CUT 4.0

/* Around the study's own correction. */
struct shv_tolerance {
    bool given;
    enum shv_distribution distribution;
    double standard_deviation; /* SHV_NORMAL; NAN for the others */
    double half_width;         /* the others; NAN for SHV_NORMAL */
};

/* Of the normal numbers behind two tolerances (Gaussian copula); of two normal ones their own. */
struct shv_correlation {
    enum shv_correction a, b;
    double value; /* -1..1, ends excluded */
};

/* Of tolerances: bit i is correction i. */
typedef uint32_t shv_correction_set;
#define SHV_CORRECTION_BIT(which) (UINT32_C(1) << (which))

struct shv_tolerances {
    bool given; /* else the rest is not read */
    struct shv_tolerance of[SHV_CORRECTION_COUNT];
    /* [blower][correction], owned: how wide a blower's own tolerance is as a share of the one in
     * `of`, with which it is off; 1 where it has none. NULL: no blower has any. */
    double (*spread)[SHV_CORRECTION_COUNT];
    bool by_blowers[SHV_CORRECTION_COUNT]; /* `of` is that of a blower: others are not off */
    struct shv_correlation *correlations;  /* owned */
    size_t correlation_count;
    size_t samples; /* a power of 2 */
    unsigned long seed;
    double hold; /* probability that all limits must hold with; NAN: not asked for */
    size_t rows; /* best rows that are looked at */
};

/* `spread` of a blower, 1 without any. */
double shv_tolerance_spread(const struct shv_tolerances *tolerances, size_t blower,
                            enum shv_correction which);

/* Standard deviation of a given tolerance, in its own unit; of a cut normal one that of the whole.
 */
double shv_tolerance_deviation(const struct shv_tolerance *tolerance);

#endif
