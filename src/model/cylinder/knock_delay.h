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
 * temperature goes with this power of pressure. In the rating of RON it reaches so many K. */
#define KNOCK_COMPRESSED 15e5
#define KNOCK_COMPRESSED_EXPONENT 0.25
#define KNOCK_RATING_COMPRESSED 747.0
/* Octane numbers per J of heat of vaporisation that a kg of charge holds. */
#define KNOCK_RATING_COOLING 8.6e-5
/* kg/kg, in the middle of what the rating of RON allows. */
#define KNOCK_RATING_HUMIDITY 0.0053

#endif
