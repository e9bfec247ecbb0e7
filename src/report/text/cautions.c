/* What every page and every long help ends with. */
#include "sheave/report.h"

const char shv_cautions[] =
    "Cautions: belts and rotors at speed, fuel under pressure, hot charge pipes and detonation "
    "hurt\n"
    "people and destroy engines. Results are estimates: confirm them on a dynamometer with "
    "wide-band\n"
    "mixture and knock measurement, start conservative, and follow the limits of the makers of "
    "blower,\n"
    "belt and bearings and the local rules for vehicles, emissions and noise. Where a qualified\n"
    "engineer is called for, their word stands above this program's.\n";
