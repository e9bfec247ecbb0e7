/* Marks what libsheave offers to programs. Everything else is hidden in the shared library. */
#ifndef SHEAVE_EXPORT_H
#define SHEAVE_EXPORT_H

#define SHV_API __attribute__((visibility("default")))

#endif
