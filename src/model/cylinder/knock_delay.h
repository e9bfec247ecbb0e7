/* Constants of the ignition delay and of octane numbers, each once: docs/model.md, section 8.8. */
#ifndef SHEAVE_MODEL_KNOCK_DELAY_H
#define SHEAVE_MODEL_KNOCK_DELAY_H

/* Douaud and Eyzat, SAE 780080: s, of octane number over 100, pressure in atm, K. */
#define KNOCK_DELAY 17.68e-3
#define KNOCK_OCTANE_EXPONENT 3.402
#define KNOCK_PRESSURE_EXPONENT 1.7
#define KNOCK_TEMPERATURE 3800.0
#define KNOCK_ATMOSPHERE 101325.0

/* Compression up to this pressure, Pa, tells how hot an engine compresses; on the way the
 * temperature goes with this power of pressure. */
#define KNOCK_COMPRESSED 15e5
#define KNOCK_COMPRESSED_EXPONENT 0.25
/* K that it reaches in the rating of isooctane; what it is less for each number more, rated at a
 * higher compression ratio, where less residual gas stays; and for each J of heat of vaporisation
 * that a kg of charge holds more than isooctane's: half evaporates, cp is 1060 J/(kg K), and a
 * difference at the 0.96 bar of inlet closing grows 1.99 times. */
#define KNOCK_RATING_COMPRESSED 747.0
#define KNOCK_RATING_PER_NUMBER 1.8
#define KNOCK_RATING_COOLED 9.4e-4
/* Octane numbers for the same J. */
#define KNOCK_RATING_COOLING 8.6e-5
/* kg/kg, in the middle of what the rating of RON allows. */
#define KNOCK_RATING_HUMIDITY 0.0053

#endif
