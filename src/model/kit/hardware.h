/* Belt, bearing, cruise and worth of a kit inside the model: docs/model.md, sections 4, 11, 12. */
#ifndef SHEAVE_MODEL_HARDWARE_H
#define SHEAVE_MODEL_HARDWARE_H

#include "sheave/model.h"
#include "model/drive/bearing.h"

/* Room for the belt's states at all points of a model and the parts of its duty; one for each
 * thread. */
struct hardware_room {
    struct shv_belt_state *state; /* after hardware_belt(): [site * speeds + speed] */
    struct shv_bearing_part *part;
};

enum shv_status hardware_room_init(struct hardware_room *room, const struct shv_model *model);
void hardware_room_free(struct hardware_room *room);

/* What the belt comes to over all points. */
struct hardware_belt {
    bool known; /* false without a belt or without pulleys; the rest is then NAN */
    double crank_wrap, blower_wrap, length, static_tension, width;
    double slip;        /* worst share of the grip used, the margin against slip counted in */
    double tension;     /* N per rib, worst */
    double hub;         /* N on the blower's nose while it runs, worst */
    double highest_hub; /* the same, or at rest when that is more */
    double life;        /* s; NAN without bearing and duty */
};

/* From shaft powers (W) at [(site * speeds + speed) * stride]; a power that is not known counts
 * as 0. Leaves the states of the points in the room. */
void hardware_belt(const struct shv_model *model, const struct shv_kit *kit, const double *shaft,
                   size_t stride, struct hardware_room *room, struct hardware_belt *belt);

/* The drive of a kit, its static tension still to be found when the study leaves it open. */
struct shv_belt_drive hardware_drive(const struct shv_study *study, const struct shv_kit *kit);

/* Seconds that the nose bearing lasts at one site, from its shaft powers at [speed * stride]; the
 * blower has a bearing and the study a duty. Leaves the duty's parts in the room. */
double hardware_life_at(const struct shv_model *model, const struct shv_kit *kit,
                        const struct shv_belt_drive *drive, const struct shv_belt_fitted *fitted,
                        const double *shaft, size_t stride, struct hardware_room *room);

/* Share of the belt's grip that a state uses. */
double hardware_slip(const struct shv_belt_setup *setup, const struct shv_belt_state *state);

/* Share of the duty with rotors above their continuous speed; NAN when that is not given. */
double hardware_over_continuous(const struct shv_model *model, const struct shv_kit *kit);

/* The smaller pulley, m; NAN for an ideal kit. */
double hardware_pulley(const struct shv_kit *kit);

/* Price and mass of all parts; `ntu` of the cooler at rated flow. */
struct shv_worth hardware_worth(const struct shv_model *model, const struct shv_kit *kit,
                                double ntu);

/* Cruise with the valve open by `area` m2, 0 for shut; false when no cruise point is given. */
bool hardware_cruise(const struct shv_model *model, const struct shv_kit *kit, double area,
                     struct shv_bypass_state *state);

/* The rotors' drag at a cruise point; NAN where it has no answer. */
double hardware_drag(const struct shv_bypass_state *state);

/* Everything of a kit from its filled points; also fills the belt's columns in them. */
void hardware_fill(const struct shv_model *model, const struct shv_kit *kit,
                   struct shv_curves *curves);

#endif
