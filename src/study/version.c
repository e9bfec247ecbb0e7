/* Of the project: the build defines it. */
#include "sheave/version.h"

const char *shv_version(void)
{
    return SHEAVE_VERSION;
}
