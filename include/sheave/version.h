/* Version of the program and library. */
#ifndef SHEAVE_VERSION_H
#define SHEAVE_VERSION_H

#define SHV_VERSION "0.1.0"

/* The version the library was built as. */
const char *shv_version(void);

#endif
