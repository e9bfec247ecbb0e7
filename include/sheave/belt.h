/* Whether the belt carries the blower's power: geometry of two pulleys, grip, tensions, hub loads.
 * Equations, sources and what is left out: docs/model.md, section 4.
 *
 * SI throughout: m, rad, kg, N, W, rev/s. Tensions are those of the whole belt unless a name says
 * per rib, and total: what the cords carry, centrifugal share included.
 *
 * A belt that slips or is overloaded is an outcome, and its numbers say by how much. Input lies
 * within the ranges given here, as reading a study sees to. Nothing is allocated.
 */
#ifndef SHEAVE_BELT_H
#define SHEAVE_BELT_H

#include <stdbool.h>
#include <stddef.h>

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

/* Fills `geometry`; false when the pulleys would touch each other. */
bool shv_belt_geometry(const struct shv_belt_layout *layout, struct shv_belt_geometry *geometry);

/* Tight over slack side at the point of slip, without centrifugal tension: exp(friction wrap /
 * sin(groove_angle / 2)). Euler and Eytelwein; angles in rad. */
double shv_belt_grip_ratio(double friction, double groove_angle, double wrap);
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

/* What all operating points of a drive share; its static tension is no part of it. */
struct shv_belt_fitted {
    struct shv_belt_geometry geometry;
    double grip_ratio;    /* of the pulley that slips first, the one with less wrap */
    double blower_cosine; /* of the wrap on the blower pulley */
};

/* Fills `fitted`; false when the pulleys would touch each other. */
bool shv_belt_fit(const struct shv_belt_drive *drive, struct shv_belt_fitted *fitted);

/* At one operating point. A belt that slips pulls slip_pull, and its tensions are those; one whose
 * centrifugal tension has used up the static tension has no grip: slip_pull is 0. */
struct shv_belt_state {
    double speed;           /* m/s */
    double centrifugal;     /* N */
    double pull;            /* N that the power asks for */
    double slip_pull;       /* N at which it slips */
    double tight, slack;    /* N */
    double tension_per_rib; /* N of the tight side */
    double static_needed;   /* N, least static tension that keeps slip_margin */
    double blower_hub_load; /* N, vector sum of both sides less their centrifugal tension */
};

/* Of a fitted drive; its static tension may have been set since. */
struct shv_belt_state shv_belt_at(const struct shv_belt_drive *drive,
                                  const struct shv_belt_fitted *fitted,
                                  const struct shv_belt_demand *demand);
/* N on the blower's shaft at rest. */
double shv_belt_hub_load_still(const struct shv_belt_drive *drive,
                               const struct shv_belt_fitted *fitted);

#endif
