/* Units as shops, brochures and loggers write them, where UDUNITS-2 knows another name or takes the
 * name for something else ("gal" is an acceleration there, "mph" a milliphot, "lb-ft" no torque).
 */
#ifndef SHEAVE_STUDY_UNIT_NAMES_H
#define SHEAVE_STUDY_UNIT_NAMES_H

#include <stddef.h>

#include "sheave/units.h"

/* Writes a unit as UDUNITS-2 reads it; what needs no other name is copied. False when it is too
 * long for `size`. */
bool unit_names_read(enum shv_quantity quantity, const char *written, char *unit, size_t size);

/* The name number `index` that is known for a quantity in particular, NULL beyond the last; with
 * SHV_Q_COUNT words that stand for the same in every unit. */
const char *unit_names_at(enum shv_quantity quantity, size_t index);

#endif
