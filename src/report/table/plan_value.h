/* Columns for what a plan of a range is worth: one of three, by what the range counts. */
#ifndef SHEAVE_REPORT_PLAN_VALUE_H
#define SHEAVE_REPORT_PLAN_VALUE_H

#include "report/write/columns.h"
#include "sheave/range.h"

struct plan_value {
    double power, share, profit; /* one of them, the others NAN */
};

static inline struct plan_value plan_value(const struct shv_range_problem *problem, double value)
{
    return (struct plan_value){problem->value == SHV_RANGE_POWER ? value : NAN,
                               problem->value == SHV_RANGE_SHARE ? value : NAN,
                               problem->value == SHV_RANGE_PROFIT ? value : NAN};
}

/* Rows of a table of columns; `at` is the offset of a struct plan_value. */
#define PLAN_VALUE_COLUMNS(stem, at, when, meaning)                                                \
    {stem "_power",                                                                                \
     REPORT_POWER,                                                                                 \
     9,                                                                                            \
     (at) + offsetof(struct plan_value, power),                                                    \
     when,                                                                                         \
     meaning " With `value = \"power\"`."},                                                        \
        {stem "_share",                                                                            \
         REPORT_NUMBER,                                                                            \
         9,                                                                                        \
         (at) + offsetof(struct plan_value, share),                                                \
         when,                                                                                     \
         "The same with `value = \"share\"`."},                                                    \
    {                                                                                              \
        stem "_profit", REPORT_MONEY, 9, (at) + offsetof(struct plan_value, profit), when,         \
            "The same with `value = \"profit\"`."                                                  \
    }

#endif
