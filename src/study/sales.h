/* Kits that are sold in a year, in a range file: a number, a spread, or a list by scenario. */
#ifndef SHEAVE_STUDY_SALES_H
#define SHEAVE_STUDY_SALES_H

#include "study/reader.h"

/* Reads what stands for sales; what is wrong leaves nothing sold. */
void sales_read(struct reader *reader, const struct key *key, const config_setting_t *setting,
                struct sales_draft *sales);
/* Tells sales, key `child` of `where`, that do not go with the scenarios that the range names. */
void sales_check(struct reader *reader, const config_setting_t *where, const char *child,
                 const struct sales_draft *sales, size_t scenarios);
/* Sales in one scenario; those of a spread are the three of `sales_spread`. */
double sales_in(const struct sales_draft *sales, size_t scenario);

struct sales_scenario {
    const char *name;
    double weight;
};
#define SALES_OF_SPREAD 3
extern const struct sales_scenario sales_spread[SALES_OF_SPREAD];

#endif
