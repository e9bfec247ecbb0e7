#include "sheave/version.h"

const char *shv_version(void)
{
    return SHV_VERSION;
}
