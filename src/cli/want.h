/* Asked backwards: the blower pulley that gives a kit what is wanted, for sheave point. */
#ifndef SHEAVE_CLI_WANT_H
#define SHEAVE_CLI_WANT_H

#include "cli/cli.h"
#include "report/write/measure.h"

/* "boost=8 psi": a limit or a number of curves.csv, and the value that it is to have. Highest over
 * sites and speeds, of a lower limit lowest; peak power is that of the best site. */
struct want {
    char title[64];
    enum report_measure measure;
    int limit;    /* enum shv_limit, -1: a number of each point */
    size_t place; /* its offset in struct shv_point then */
    double value; /* SI */
};

/* Says on stderr what is wrong, and returns false then. */
bool want_read(const struct shv_units *units, const char *text, struct want *want);

/* Prints the ideal pulley and those of the drawer next to it, what each gives, costs and breaks;
 * the kit gets the drawer's that comes nearest. SHV_NOTHING when none has an answer. */
enum shv_status want_pulley(const struct cli_study *s, const struct want *want, struct shv_kit *kit,
                            struct shv_message *message);

#endif
