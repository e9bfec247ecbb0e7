/* One combination of parts. */
#ifndef SHEAVE_KIT_H
#define SHEAVE_KIT_H

#include <stddef.h>

/* Dimensions from slowest to fastest. Those up to SHV_DIM_AIR_COUNT decide the flow of air; the
 * rest only what the engine makes of it, so one solution of the match serves all of their values.
 * All that is said of a dimension stands in its row of src/study/space.c. */
enum shv_dim {
    SHV_DIM_BLOWER,
    SHV_DIM_CRANK_PULLEY,
    SHV_DIM_BLOWER_PULLEY,
    SHV_DIM_COOLER, /* every effectiveness of every cooler, "none" first */
    SHV_DIM_AIR_COUNT,
    SHV_DIM_FUEL = SHV_DIM_AIR_COUNT,
    SHV_DIM_LAMBDA,
    SHV_DIM_IGNITION_MARGIN,
    SHV_DIM_BURN_COUNT,                    /* those up to here decide how the charge burns */
    SHV_DIM_INJECTOR = SHV_DIM_BURN_COUNT, /* every size of every injector */
    SHV_DIM_PUMP,
    SHV_DIM_RIBS, /* of the belt */
    SHV_DIM_WRAP, /* of the belt on the blower's pulley */
    SHV_DIM_COUNT
};

/* One combination, real or ideal. An ideal one (from the continuous search) has no pulleys: their
 * diameters are NAN and `ratio` stands by itself. */
struct shv_kit {
    size_t blower, cooler, fuel; /* indices into the study */
    double crank_diameter;       /* m */
    double blower_diameter;      /* m */
    double ratio;                /* blower pulley turns per crank turn, without creep */
    double effectiveness;        /* 0 for no cooler */
    double lambda;
    double ignition_margin; /* deg */
    size_t injector, pump;  /* indices into the study */
    double injector_flow;   /* m3/s, rated */
    double ribs;            /* of the belt; 0 when the study has none */
    double wrap;            /* deg on the blower's pulley; 0: as the layout gives it */
};

#endif
