/* What `sheave new` writes, as text: made from the files of these names when the program is built.
 */
#ifndef SHEAVE_CLI_NEW_H
#define SHEAVE_CLI_NEW_H

/* A study with "<<metric|us>>" where the systems of units differ. */
extern const char new_study_cfg[];
/* Demo studies and what they include. */
extern const char hillclimb_cfg[], pickup_cfg[], van_cfg[], boat_cfg[], parts_cfg[], fuels_cfg[],
    twist_small_csv[];

#endif
