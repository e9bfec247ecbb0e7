/* The study: everything the user says, checked and in SI. Loaded once, then read-only. */
#ifndef SHEAVE_STUDY_H
#define SHEAVE_STUDY_H

#include <stdint.h>
#include <stdio.h>

#include "sheave/blower.h"
#include "sheave/bypass.h"
#include "sheave/cooler.h"
#include "sheave/corrections.h"
#include "sheave/drive.h"
#include "sheave/engine.h"
#include "sheave/fuel.h"
#include "sheave/fuel_system.h"
#include "sheave/kit.h"
#include "sheave/limits.h"
#include "sheave/measured.h"

struct shv_site {
    char *name; /* owned */
    struct shv_ambient
        ambient;     /* pressure and temperature resolved from altitude where not given */
    double weight;   /* in means over sites, > 0 */
    double altitude; /* m, as given; NAN: the pressure was */
};

enum shv_bleed_to { SHV_BLEED_TO_INLET, SHV_BLEED_TO_ATMOSPHERE };

/* The bypass valve around the blower. */
struct shv_bypass {
    double bleed_above; /* Pa above site ambient at the manifold; INFINITY: never bleeds */
    enum shv_bleed_to bleed_to;
};

/* A share of the time at one speed of the rev range and a share of full load. */
struct shv_duty_part {
    size_t speed; /* index into the engine's speeds */
    double time;  /* share; all sum to 1 */
    double load;  /* of the blower's power at full throttle, 0..1 */
};

/* How the engine is used. */
struct shv_use {
    struct shv_duty_part *duty; /* owned; NULL without one */
    size_t duty_parts;
    double full_throttle_time; /* s that the coolant loop has warmed up; INFINITY: to the end */
    bool cruises;              /* a cruise point is given; the rest is about it */
    size_t cruise_speed;       /* index into the engine's speeds */
    double cruise_pressure;    /* Pa in the manifold */
    double road_speed;         /* m/s; 0 when not given */
    double bsfc;               /* kg/J of the power that the rotors' drag adds */
};

/* The bypass valve as a part; bleeding is in struct shv_bypass. */
struct shv_bypass_part {
    double area; /* m2 when open, discharge coefficient included; 0: not given */
    bool has_actuator;
    struct shv_bypass_actuator actuator;
    struct shv_worth worth;
};

/* Sums of price and mass that no choice changes, and what the manifold stands. */
struct shv_kit_base {
    struct shv_worth worth;  /* everything that is the same in every kit */
    struct shv_worth pulley; /* of each pulley */
    struct shv_worth manifold;
    double manifold_pressure;    /* Pa above ambient that it is rated for; INFINITY: not given */
    double manifold_temperature; /* K, likewise */
};

enum shv_objective_kind {
    SHV_OBJECTIVE_PEAK_POWER,
    SHV_OBJECTIVE_MEAN_POWER,
    SHV_OBJECTIVE_TORQUE,
    /* Of a whole kit, with what it costs and weighs; power is peak power. */
    SHV_OBJECTIVE_LEAST_PRICE,
    SHV_OBJECTIVE_POWER_PER_PRICE,
    SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE,
    SHV_OBJECTIVE_WEIGHTED
};
enum shv_over_sites { SHV_OVER_SITES_MEAN, SHV_OVER_SITES_WORST };

struct shv_objective {
    enum shv_objective_kind kind;
    double from, to; /* rev/s, the band of mean power */
    double at;       /* rev/s, where torque is taken */
    enum shv_over_sites over_sites;
};

/* What one unit is worth in SHV_OBJECTIVE_WEIGHTED: power counts for the kit, the others against
 * it. */
struct shv_weights {
    double power;              /* per W of peak power */
    double price;              /* per unit of money */
    double mass;               /* per kg */
    double charge_temperature; /* per K of the highest charge temperature */
};

/* What may be traded off against each other, each over the sites as the objective is. */
enum shv_trade {
    SHV_TRADE_OBJECTIVE,          /* the study's own */
    SHV_TRADE_POWER,              /* peak brake power, W */
    SHV_TRADE_TORQUE,             /* brake torque at one speed, N m */
    SHV_TRADE_PRICE,              /* of the whole kit, the less the better */
    SHV_TRADE_MASS,               /* kg, likewise */
    SHV_TRADE_CHARGE_TEMPERATURE, /* K, the highest of all sites and speeds, likewise */
    SHV_TRADE_COUNT               /* none */
};

#define SHV_FRONT_DIMS ((size_t)3)
/* Two or three things that can't all be had. */
struct shv_tradeoff {
    enum shv_trade of[SHV_FRONT_DIMS]; /* the third may be SHV_TRADE_COUNT */
    double at;                         /* rev/s, where torque is taken; a point of the rev range */
};
#define SHV_TRADEOFFS_MAX 16
/* 2 or 3. */
size_t shv_tradeoff_dims(const struct shv_tradeoff *tradeoff);

/* A fuel that the same hardware has to do with, its setup following what is in the tank. */
struct shv_serve {
    size_t fuel;   /* index into the study */
    double weight; /* in means over the fuels served, > 0 */
};
#define SHV_SERVES_MAX 16

enum shv_unit_system { SHV_METRIC, SHV_US };

struct shv_results {
    char *folder;  /* owned; relative to the current folder */
    size_t keep;   /* rows of ranked.csv at the most */
    size_t curves; /* best rows whose rev-range curves are written */
    enum shv_unit_system units;
    /* Evaluates all of every combination; else what can't change ranking or first reason is skipped
     * (docs/model.md, section 12). */
    bool exhaustive;
    bool site_shortfalls; /* sites.csv: a sweep for each site alone besides */
    bool report;          /* a run ends with plots and a page */
};

/* The continuous search. */
struct shv_search {
    bool enabled;
};

struct shv_study {
    char *path;      /* as given, owned */
    char *text;      /* of the study file and of each file it includes or names, each under a line
                      * "#### NAME"; owned, NULL for a study that was not read from a file */
    char *title;     /* owned */
    char sha256[65]; /* of the study file, as sha256sum prints it */
    char sha256_all[65]; /* of the study file followed by each file it includes or names */
    struct shv_air_model air;
    struct shv_engine engine;
    struct shv_loss intake; /* the kit's, ahead of the blower; the engine's when not given */
    struct shv_drive drive;
    struct shv_bypass bypass;
    size_t site_count, blower_count, cooler_count, fuel_count;
    struct shv_site *sites; /* owned, likewise below */
    struct shv_blower *blowers;
    struct shv_cooler *coolers; /* "none" is always first */
    struct shv_fuel *fuels;
    size_t injector_count, pump_count;
    struct shv_injector_part *injectors; /* at least one: without a list one without limits */
    struct shv_pump_part *pumps;         /* likewise */
    /* Of dimensions without a list of parts: effective diameters of pulleys, m; excess-air ratios;
     * deg that ignition is later than knock allows, {0} when not given; numbers of ribs; deg on the
     * blower's pulley as an idler makes it, 0: as the layout gives it. Those of the belt are empty
     * without one. */
    struct shv_numbers numbers[SHV_DIM_COUNT];
    struct shv_fuel_rail rail;
    struct shv_use use;
    struct shv_bypass_part bypass_part;
    struct shv_kit_base base;
    struct shv_weights weights;
    char *currency;                /* word for money in titles, owned; NULL: none */
    double limit[SHV_LIMIT_COUNT]; /* bounds in SI; INFINITY where there is none */
    /* deg over rev/s, of SHV_LIMIT_PHASING_RETARD, whose `limit` is the most of it; without points
     * the same at all speeds. */
    struct shv_curve_table retard_curve;
    /* SI, added to each bound that counts, of study or part: 0 but where the worth of a limit is
     * asked for (limit_worth.h). */
    double moved[SHV_LIMIT_COUNT];
    struct shv_objective objective;
    size_t tradeoff_count, serve_count;
    struct shv_tradeoff *tradeoffs; /* owned */
    struct shv_serve *serves;       /* owned */
    struct shv_results results;
    struct shv_search search;
    bool corrected; /* else all corrections are neutral, whatever stands in them */
    struct shv_corrections corrections;
    struct shv_tolerances tolerances;
    struct shv_fit_plan fit; /* no logs where the study says nothing of measurements */
};

/* Reads and checks a study file. All findings go to `diagnostics`; with errors the result is
 * SHV_BAD_INPUT (SHV_IO, SHV_NO_MEMORY when that was the trouble) and *study is left zeroed. */
SHV_API enum shv_status shv_study_load(const char *path, struct shv_study *study,
                                       struct shv_diagnostics *diagnostics);
/* Reads a file that holds corrections and tolerances alone, as a fit writes it (file_kind.h tells
 * it from others); the pairs of correlated tolerances are counted, not kept. SHV_BAD_INPUT, SHV_IO,
 * SHV_NO_MEMORY. */
enum shv_status shv_fitted_read(const char *path, struct shv_corrections *corrections,
                                struct shv_tolerances *tolerances,
                                struct shv_diagnostics *diagnostics);
/* Frees what the study owns; safe on a zeroed struct. */
SHV_API void shv_study_free(struct shv_study *study);

/* The excess-air ratios that a study accepts, and that of an air-fuel ratio (both by mass of dry
 * air) of a fuel with `stoichiometric` at lambda 1: SHV_BAD_INPUT, with what is accepted, outside
 * them. */
#define SHV_LAMBDA_LEAST 0.7
#define SHV_LAMBDA_MOST 1.2
enum shv_status shv_study_lambda(double afr, double stoichiometric, double *lambda,
                                 struct shv_message *message);

#endif
