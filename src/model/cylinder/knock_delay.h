/* Constants of the ignition delay of Douaud and Eyzat (SAE 780080), each once: docs/model.md,
 * section 8.8. */
#ifndef SHEAVE_MODEL_KNOCK_DELAY_H
#define SHEAVE_MODEL_KNOCK_DELAY_H

#define KNOCK_DELAY 17.68e-3 /* s, at 1 atm, without exp(KNOCK_TEMPERATURE / T) */
#define KNOCK_OCTANE_EXPONENT 3.402
#define KNOCK_PRESSURE_EXPONENT 1.7
#define KNOCK_TEMPERATURE 3800.0 /* K */
#define KNOCK_ATMOSPHERE 101325.0

#endif
