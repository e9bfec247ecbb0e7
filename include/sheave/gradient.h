/* Derivatives of a kit's curves, limits and objective with respect to its continuous choices.
 * Analytic: the differential of every line of the model, through the match by the implicit function
 * theorem. Equations: docs/model.md, appendix B.
 */
#ifndef SHEAVE_GRADIENT_H
#define SHEAVE_GRADIENT_H

#include "sheave/model.h"

/* What of a kit varies continuously. */
enum shv_free {
    SHV_FREE_RATIO,           /* of the pulleys; with a crank pulley the blower's follows */
    SHV_FREE_EFFECTIVENESS,   /* of the charge cooler at its rated flow */
    SHV_FREE_LAMBDA,          /* not with the closed cycle, whose tables hold for one lambda each */
    SHV_FREE_IGNITION_MARGIN, /* per deg */
    SHV_FREE_WRAP, /* of the belt on the blower pulley, per deg, where an idler sets it */
    SHV_FREE_COUNT
};

/* "ratio" and so on: name for files. */
const char *shv_free_name(enum shv_free choice);

/* Derivatives of one kit. A derivative has the unit of its quantity over that of the choice; NAN
 * where the quantity itself is NAN, and what hangs on the closed cycle where its table is missing.
 * The model is smooth but for kinks (a nozzle that chokes, a bypass that opens, a cell of a map or
 * table): at a kink they are those of the piece the model takes there. */
struct shv_gradient {
    size_t sites, speeds;
    bool known[SHV_FREE_COUNT]; /* the kit has this choice; where not, all of it is 0 or NAN */
    /* [choice][site * speeds + speed]: every number of struct shv_point, differentiated; outcome
     * and flags are those of the point. Owned. */
    struct shv_point *point[SHV_FREE_COUNT];
    /* Of price, mass, pulley_diameter, wraps, bearing_life and cruise_drag; the rest is 0 or NAN.
     * That of cruise_drag alone is by central differences (two steps, Richardson), not analytic. */
    struct shv_hardware hardware[SHV_FREE_COUNT];
    /* What the objective takes from each site (peak or mean power or torque): value [site] and
     * derivative [choice][site], owned. */
    double *at_site, *d_at_site[SHV_FREE_COUNT];
    size_t *peak; /* [site], the speed at which power peaks; owned */
    size_t worst_site;
    size_t hottest; /* [site * speeds + speed] of the hottest charge */
    /* Of the objective, on its present branch: the speeds at which power peaks now, the worst site
     * and the hottest charge of now. */
    double objective[SHV_FREE_COUNT];
    /* Of a kit's property that has a limit; NAN for limits of points. */
    double kit[SHV_FREE_COUNT][SHV_LIMIT_COUNT];
    /* Of the margin of each limit as a share of its span, where it is tightest. */
    double share[SHV_FREE_COUNT][SHV_LIMIT_COUNT];
    /* [site * speeds + speed]: two kits with the same number lie on the same smooth piece there.
     * Owned. */
    uint64_t *piece;
};

/* Room for the derivatives of one kit; freed with shv_gradient_free. SHV_NO_MEMORY. */
enum shv_status shv_gradient_init(struct shv_gradient *gradient, const struct shv_model *model,
                                  struct shv_message *message);
/* Safe on a zeroed struct. */
void shv_gradient_free(struct shv_gradient *gradient);

/* Fills `gradient` from the curves of a kit, as it is described without corrections, as
 * shv_model_evaluate (or _plain) has just filled them; of the curves only their room for the belt
 * is written to. */
void shv_model_gradient(const struct shv_model *model, const struct shv_kit *described,
                        const struct shv_curves *curves, struct shv_gradient *gradient);

/* Derivative of shv_point_limit_share at a point [site * speeds + speed] to a bound. */
double shv_gradient_share(const struct shv_gradient *gradient, const struct shv_curves *curves,
                          enum shv_free choice, size_t point, enum shv_limit limit, double bound);

#endif
