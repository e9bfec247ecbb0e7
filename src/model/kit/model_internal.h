/* The prepared model and the block of lanes, shared by the files of this folder only. */
#ifndef SHEAVE_MODEL_INTERNAL_H
#define SHEAVE_MODEL_INTERNAL_H

#include "model/kit/burn.h"
#include "model/kit/burn_shift.h"
#include "model/path/path.h"
#include "model/path/solve.h"
#include "sheave/model.h"

struct model_site {
    struct shv_gas gas;
    double p0, t0, h0, rho0;
    double humidity_ratio, dry_pressure;
    double intake_k, stock_intake_k; /* drop = k m^2; the kit's intake, the engine's own */
    double exhaust_k;                /* of exhaust.h */
    double stock_exhaust_k;          /* without corrections */
    double j1349, iso1585;
    size_t kind; /* sites alike in pressure and humidity are of one kind */
};

struct model_speed {
    double speed;      /* rev/s */
    double cycle_rate; /* Vd N / 2, m3/s: volume swept by intake strokes */
    double ve;         /* of the stock curve */
    double a, b;       /* breathing, docs/model.md section 6 */
    double efficiency; /* gross indicated, at the stock lambda */
    double piston_speed;
    /* W, and W/Pa of peak cylinder pressure; without the closed cycle of manifold pressure. */
    double friction_0, friction_p;
    double tie;                          /* times the closed cycle's efficiency */
    double stock_retard;                 /* deg that the stock engine burns later than best */
    double retard_less;                  /* of shv_limit_retard_less() */
    double burn_reference, delay_factor; /* of struct shv_breathing */
    struct shv_cycle_result stock_cycle; /* as it burns, with that delay */
    double stock_flow, stock_manifold, stock_exhaust;
};

/* Kinds of coolers whose lanes share vector loops; the others are solved lane by lane. */
enum lane_class {
    LANE_PLAIN,       /* none, or a single stream without a coolant loop */
    LANE_SINGLE,      /* a single stream with a loop */
    LANE_COUNTERFLOW, /* with or without a loop, likewise below */
    LANE_UNMIXED,     /* cross-flow, both unmixed */
    LANE_VECTOR_CLASSES,
    LANE_OTHER = LANE_VECTOR_CLASSES
};

struct model_cooler {
    enum lane_class class;
    double ntu_reference; /* at pressure_drop_effectiveness */
    double rated_ratio;   /* capacity ratio at rated flow */
    double loop;          /* K/W */
};

/* As the study describes it, without corrections. Not owned. */
struct model_plain {
    const struct shv_study *study;
    struct model_site *site;
    struct model_speed *speed;
    double brake_share;
};

/* What a fuel does to the charge on its way in, as far as it evaporates there. */
struct fuel_charge {
    double displaced; /* volume of air and vapour over that of the air */
    double cooled;    /* K */
};

/* What of a study corrections change, and what belongs to a corrected model. */
struct model_copy {
    struct shv_study study; /* owns nothing but these: */
    struct shv_blower *blowers;
    struct shv_fuel *fuels;
    struct model_site *site;
    struct model_speed *speed;
};

struct shv_model {
    const struct shv_study *study; /* as corrected */
    struct shv_study *of_site; /* owned by the model of one site of another, which owns all the rest
                                * below; else NULL */
    struct model_site *site;
    struct model_speed *speed;
    struct model_cooler *cooler;
    double *choice_ntu; /* of each choice of the cooler dimension */
    size_t *choice_cooler;
    size_t choices;
    size_t sites, speeds;
    double weight_sum;
    double brake_share;         /* of indicated and pumping work that reaches the crank */
    bool by_cycle;              /* efficiency from the closed cycle; the rest only then */
    double reference_charge;    /* K, of struct shv_breathing where volumetric efficiency holds */
    struct fuel_charge *charge; /* [site][fuel]; NULL without the closed cycle */
    size_t kinds;               /* of sites */
    struct shv_cycle_table *table;   /* [kind][fuel][lambda], empty where there is none */
    struct shv_breathing *breathing; /* [kind][fuel][speed] */
    struct burn_shift *shift;        /* of each table; empty where it was not asked for */
    struct shv_corrections corrections;
    struct model_plain plain;
    struct model_copy *copy;      /* owned; NULL without corrections */
    const struct shv_model *base; /* owns tables, breathing and plain; NULL: this one does */
    bool departs;                 /* from the base */
    bool off_rule; /* exhaust pressure is not what the tables of the base take it for */
};

/* What the engine makes of its air with one fuel and mixture, at one site and speed. */
struct brake_case {
    double work_per_air; /* J of gross indicated work per kg of moist air, at efficiency 1 of the
                          * burn */
    double fuel_per_air;
    struct burn_case burn;
};

struct brake_out {
    double indicated, pumping, friction, brake, fuel;
};

struct brake_case brake_case_of(const struct shv_model *model, size_t site, size_t speed,
                                const struct shv_kit *kit);

static inline void brake_run(const struct shv_model *model, const struct model_speed *s,
                             const struct brake_case *c, double efficiency, double peak_pressure,
                             double engine_flow, double pm, double pe, double shaft_power,
                             struct brake_out *o)
{
    const struct shv_study *study = model->study;
    o->indicated = c->work_per_air * efficiency * engine_flow;
    o->fuel = c->fuel_per_air * engine_flow;
    o->pumping = study->engine.pumping_share * (pm - pe) * s->cycle_rate;
    double gross = o->indicated + o->pumping;
    o->friction =
        (1.0 - model->brake_share) * gross + s->friction_0 + s->friction_p * peak_pressure;
    o->brake = gross - o->friction - shaft_power / study->drive.efficiency;
}

/* What injectors and pump are asked for at a point: duty, and fuel burnt over what the pump gives.
 * NAN where there are none, INFINITY where no flow is to be had. */
double injector_duty(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                     size_t speed, double fuel_flow, double pm);
double pump_share(const struct shv_model *model, const struct shv_kit *kit, size_t site,
                  double fuel_flow, double pm);

/* What the objective takes of brake powers [site * speeds + speed] * stride: the same for all kits
 * that burn alike. */
double objective_power(const struct shv_model *model, const double *power, size_t stride);
/* Objective from that, what the kit costs and weighs, and the hottest charge, K. */
double objective_of(const struct shv_model *model, double value, const struct shv_worth *worth,
                    double charge);
/* Peak power over the sites as the objective takes them, from the same powers. */
double peak_of(const struct shv_model *model, const double *power, size_t stride);

/* The things of a trade-off, larger is better: SHV_FRONT_DIMS of them, 0 beyond those that it has.
 */
void tradeoff_of(const struct shv_model *model, const struct shv_tradeoff *tradeoff,
                 const double *power, size_t stride, const struct shv_worth *worth, double charge,
                 double objective, double value[SHV_FRONT_DIMS]);

/* A block of combinations that share a blower, as a structure of arrays. */
struct lane_block {
    size_t count;
    size_t blower, fuel;
    enum lane_class class; /* shared by its lanes, or LANE_OTHER */
    double ratio[SHV_LANES_MAX];
    double crank[SHV_LANES_MAX]; /* m, NAN for an ideal kit */
    size_t cooler[SHV_LANES_MAX];
    double ntu[SHV_LANES_MAX];
    /* cooler, set by block_begin_site */
    double flow_inverse[SHV_LANES_MAX], exponent[SHV_LANES_MAX], drop_k[SHV_LANES_MAX];
    double loop[SHV_LANES_MAX], source[SHV_LANES_MAX], capacity_inverse[SHV_LANES_MAX];
    /* blower at this speed */
    double rotor_speed[SHV_LANES_MAX], swept[SHV_LANES_MAX], fill_volume[SHV_LANES_MAX];
    double windage[SHV_LANES_MAX], bearing[SHV_LANES_MAX];
    /* iteration, scaled: u = flow / filled flow at ambient, v = p2 / p0; kept from speed to speed
     */
    double scale[SHV_LANES_MAX];
    double u_before[SHV_LANES_MAX], v_before[SHV_LANES_MAX]; /* at the speed before; < 0: none */
    double u[SHV_LANES_MAX], v[SHV_LANES_MAX], f1[SHV_LANES_MAX], f2[SHV_LANES_MAX];
    double j11[SHV_LANES_MAX], j12[SHV_LANES_MAX], j21[SHV_LANES_MAX], j22[SHV_LANES_MAX];
    /* of a blower by map: the step on its way, its pressure ratio, and the cubics of the map there
     * (the fields of map_cubic, below and above) with the range for which they hold */
    double du[SHV_LANES_MAX], dv[SHV_LANES_MAX], map_ratio[SHV_LANES_MAX];
    double map_cubic[2 * MAP_CUBIC_FIELDS][SHV_LANES_MAX], map_share[SHV_LANES_MAX];
    double map_least[SHV_LANES_MAX], map_most[SHV_LANES_MAX];
    size_t map_below[SHV_LANES_MAX];
    double done[SHV_LANES_MAX]; /* 1.0 when converged: a double keeps the loops uniform */
    /* answers; engine_flow as moist air of the site, for fuel is metered to the dry air in it, and
     * what the heat of condensing water brings into the coolant, W */
    double latent[SHV_LANES_MAX];
    double engine_flow[SHV_LANES_MAX], pm[SHV_LANES_MAX], pe[SHV_LANES_MAX];
    double p1[SHV_LANES_MAX], p2[SHV_LANES_MAX], t2[SHV_LANES_MAX], tm[SHV_LANES_MAX];
    double shaft[SHV_LANES_MAX];
    uint8_t outcome[SHV_LANES_MAX];
    struct match_state state[SHV_LANES_MAX];
};

/* Sets lane `lane` of a block; the caller sets count, blower and fuel. */
void block_set(struct lane_block *block, const struct shv_model *model, size_t lane, double ratio,
               double crank_diameter, size_t cooler, double ntu);
/* The exhaust at a site with this k, its gas as hot as the study says. */
struct exhaust_law model_exhaust(const struct shv_engine *engine, const struct model_site *site,
                                 double k);
/* What follows from the pressure and temperature of a site: all but its humidity. */
void model_place_site(const struct shv_study *study, struct model_site *site);
/* Puts corrections on a model that is prepared without (corrected.c). */
enum shv_status model_apply(struct shv_model *model, const struct shv_corrections *corrections,
                            struct shv_message *message);
void model_free_copy(struct model_copy *copy);
/* The model of the stock engine: without corrections but those of the air. Borrows all. */
struct shv_model model_of_stock(const struct shv_model *model);
/* NTU of a cooler at rated flow for an effectiveness. */
double model_cooler_ntu(const struct shv_model *model, size_t cooler, double effectiveness);
/* Call for each site before its first speed; forgets the last answers. */
void block_begin_site(struct lane_block *block, const struct shv_model *model, size_t site);
/* Sets what of the blower depends on speed; block_match does so too. */
void block_begin_speed(struct lane_block *block, const struct shv_model *model, size_t site,
                       size_t speed);
/* Solves the match of all lanes at a site and speed; speeds in ascending order. With `plain` by
 * nested bracketing only. */
void block_match(struct lane_block *block, const struct shv_model *model, size_t site, size_t speed,
                 bool plain);
/* The inputs of path.h for one lane of the block as it stands. */
struct path_lane block_lane(const struct lane_block *b, const struct shv_model *model, size_t i);
/* State of the path at a solved point, bypass open or shut. */
void state_path(const struct path_shared *s, const struct path_lane *l, const struct match_state *m,
                bool to_inlet, struct path_out *o);
void model_shared(const struct shv_model *model, size_t blower, size_t fuel, size_t site,
                  size_t speed, struct path_shared *shared);
/* How the engine breathes at a site and speed with a fuel. */
struct shv_breathing model_breathing(const struct shv_model *model, size_t site, size_t fuel,
                                     size_t speed);

/* What a match would have told is not known: NAN. */
void forget_point(struct shv_point *p);

/* Judges filled points. */
void judge(const struct shv_model *model, const struct shv_kit *kit, struct shv_curves *curves);

#endif
