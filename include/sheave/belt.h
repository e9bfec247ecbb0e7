/* Whether the belt carries the blower's power: geometry of two pulleys, grip, tensions, hub loads.
 * Equations, sources and what is left out: docs/model.md, section 4.
 *
 * SI throughout: m, rad, kg, N, W, rev/s. Tensions are those of the whole belt unless a name says
 * per rib, and total: what the cords carry, centrifugal share included.
 *
 * Two channels (status.h): a status other than SHV_OK means input outside its range; a belt that
 * slips or is overloaded is an outcome, and its numbers say by how much. Nothing is allocated.
 */
#ifndef SHEAVE_BELT_H
#define SHEAVE_BELT_H

#include "sheave/status.h"

/* Profile PK of ISO 9981 (pulleys) and ISO 9982 (belts). */
#define SHV_PK_RIB_PITCH 0.00356                /* m */
#define SHV_PK_GROOVE_ANGLE 0.69813170079773184 /* rad, 40 degrees */
#define SHV_PK_LINE_OFFSET 0.002                /* m, effective diameter to pitch line */
#define SHV_PK_MIN_DIAMETER 0.045               /* m, effective */

struct shv_belt {
    size_t ribs;            /* or single V-belts side by side; 1 for a flat belt; at least 1 */
    double rib_pitch;       /* m, 0 or more; for the width alone */
    double groove_angle;    /* rad between the flanks, above 0, at most pi (flat) */
    double friction;        /* coefficient between belt and flank, above 0 */
    double rib_mass;        /* kg/m of one rib, 0 or more */
    double allowed_tension; /* N per rib, above 0, as the belt's maker states */
    double min_diameter;    /* m, effective, of the smallest pulley, 0 or more */
};

/* A PK belt: pitch, angle and smallest diameter of the standards. Friction, mass and allowed
 * tension are no matter of theirs: they are left 0 for the caller to set. */
struct shv_belt shv_belt_pk(size_t ribs);

struct shv_belt_layout {
    double crank_diameter;  /* m, effective, above 0 */
    double blower_diameter; /* m, effective, above 0 */
    double line_offset;     /* m from effective diameter to pitch line, 0 or more */
    double centre;          /* m between the shafts, more than the pitch radii together; not read
                             * when both wraps are given */
    bool crossed;           /* the spans cross, the pulleys turn against each other */
    double crank_wrap;      /* rad, at most 2 pi: as an idler makes it; 0: from the layout */
    double blower_wrap;     /* rad, likewise */
};

struct shv_belt_geometry {
    double crank_wrap, blower_wrap; /* rad */
    double span;                    /* m of one free span; NAN when a wrap is given */
    double length;                  /* m at the pitch line; NAN when a wrap is given, since the
                                     * idler's place is not known */
};

/* Fills `geometry`. SHV_BAD_INPUT when a value lies outside its range (the message names it). */
enum shv_status shv_belt_geometry(const struct shv_belt_layout *layout,
                                  struct shv_belt_geometry *geometry, struct shv_message *message);

/* Distance of the shafts, m, for a belt of `length` m at the pitch line, by bracketing; `centre`
 * and wraps of the layout are not read. *centre is NAN when the belt is too short for the pulleys
 * to clear each other. SHV_BAD_INPUT as above. */
enum shv_status shv_belt_centre(const struct shv_belt_layout *layout, double length, double *centre,
                                struct shv_message *message);

/* Tight over slack side at the point of slip, without centrifugal tension: exp(friction wrap /
 * sin(groove_angle / 2)). Euler and Eytelwein; angles in rad. */
double shv_belt_grip_ratio(double friction, double groove_angle, double wrap);
/* N: mass (kg/m) times speed (m/s) squared. */
double shv_belt_centrifugal(double mass, double speed);
/* m/s at which a belt of `mass` kg/m (above 0) held to `tension` N carries most power:
 * sqrt(tension / (3 mass)); a third of the tension is then centrifugal. */
double shv_belt_optimum_speed(double tension, double mass);
/* N on the shaft: vector sum of two sides, each without its centrifugal tension, wrap in rad. */
double shv_belt_hub_load(double one_side, double other_side, double wrap);

enum shv_tensioner {
    SHV_TENSION_FIXED, /* shafts clamped: the mean of both sides stays the static tension */
    SHV_TENSION_SPRING /* a spring-loaded idler on the slack side: its tension less the centrifugal
                        * one stays the static tension */
};

struct shv_belt_drive {
    struct shv_belt belt;
    struct shv_belt_layout layout;
    enum shv_tensioner tensioner;
    double static_tension; /* N of one side at rest, 0 or more */
    double slip_margin;    /* share of the pull to be held in reserve against slip, 0 or more */
};

struct shv_belt_demand {
    double engine_speed; /* rev/s of the crank, above 0 */
    double power;        /* W that the belt takes from the crank, 0 or more */
};

enum shv_belt_grip {
    SHV_BELT_HOLDS,
    SHV_BELT_LACKS_MARGIN, /* holds, but with less than slip_margin */
    SHV_BELT_SLIPS,        /* the pull is more than friction carries */
    SHV_BELT_LIFTS         /* centrifugal tension has used up the static tension: no grip at all */
};

/* At one operating point. A belt that slips pulls slip_pull, and its tensions are those. */
struct shv_belt_state {
    enum shv_belt_grip grip;
    bool overloaded;         /* tension_per_rib is above allowed_tension */
    double speed;            /* m/s */
    double centrifugal;      /* N */
    double grip_ratio;       /* of the pulley that slips first, the one with less wrap */
    double pull;             /* N that the power asks for */
    double slip_pull;        /* N at which it slips */
    double slip_power;       /* W at which it slips */
    double margin;           /* slip_pull over pull, minus 1; INFINITY without pull */
    double tight, slack;     /* N */
    double tension_per_rib;  /* N of the tight side */
    double static_needed;    /* N, least static tension that keeps slip_margin */
    double capacity;         /* W with slip_margin at the static tension that brings the tight side
                              * to what is allowed; 0 when centrifugal tension takes it all */
    double crank_hub_load;   /* N */
    double blower_hub_load;  /* N */
    double blower_hub_still; /* N, at rest */
};

/* Fills `state`. SHV_BAD_INPUT when a value lies outside its range (the message names it). */
enum shv_status shv_belt_at(const struct shv_belt_drive *drive,
                            const struct shv_belt_demand *demand, struct shv_belt_state *state,
                            struct shv_message *message);

/* Over all operating points. */
struct shv_belt_verdict {
    enum shv_belt_grip grip; /* the worst one */
    bool overloaded;         /* somewhere */
    bool small_pulley;       /* a pulley is below min_diameter */
    bool needs_more_ribs;    /* tension_when_set is above allowed_tension: no static tension does */
    size_t worst_slip;       /* point of the worst grip and, among those, of least margin */
    size_t worst_tension;    /* point of the highest tension */
    double least_margin;     /* at worst_slip */
    double tension_per_rib;  /* N at worst_tension */
    double static_needed;    /* N, least static tension that keeps slip_margin at every point */
    double tension_when_set; /* N per rib, highest, when static_tension were static_needed */
    double width;            /* m, ribs times rib_pitch */
    double highest_hub_load; /* N, blower pulley, running or at rest */
};

/* Fills `verdict` over count >= 1 demands and, unless it is NULL, the caller's array of `count`
 * states. Of equal points the first counts. SHV_BAD_INPUT as above; nothing is then to be read. */
enum shv_status shv_belt_over(const struct shv_belt_drive *drive, size_t count,
                              const struct shv_belt_demand *demands, struct shv_belt_state *states,
                              struct shv_belt_verdict *verdict, struct shv_message *message);

#endif
