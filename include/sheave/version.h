/* Version of the program and library. */
#ifndef SHEAVE_VERSION_H
#define SHEAVE_VERSION_H

#include "sheave/export.h"

/* The version the library was built as. */
SHV_API const char *shv_version(void);

#endif
