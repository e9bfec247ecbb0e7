/* One combination of parts. */
#ifndef SHEAVE_KIT_H
#define SHEAVE_KIT_H

#include <stddef.h>

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
