/* The blower pulley worth having made. */
#ifndef SHEAVE_SEARCH_MADE_PULLEY_H
#define SHEAVE_SEARCH_MADE_PULLEY_H

#include "sheave/optimum.h"

/* Pulleys are turned to a tenth of a millimetre. */
#define MADE_PULLEY_STEP 1e-4

/* For the real kit of a row, the rest of it as it is: the crank pulley of the study and the blower
 * pulley of any whole tenth of a millimetre, from the study's smallest to its largest, that are
 * best and keep every limit. Fills o->made_found, made and made_objective; not found where none is
 * better than the real kit. SHV_NO_MEMORY. */
enum shv_status made_pulley(const struct shv_model *model, struct shv_optimum *o,
                            struct shv_message *message);

#endif
