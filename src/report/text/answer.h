/* Parts of the account of a run that the short answer shares with the long one. */
#ifndef SHEAVE_REPORT_ANSWER_H
#define SHEAVE_REPORT_ANSWER_H

#include "sheave/report.h"

/* That nothing is feasible, and the commonest reasons, a line each. */
enum shv_status report_say_nothing(const struct shv_run *run, FILE *out,
                                   struct shv_message *message);

#endif
