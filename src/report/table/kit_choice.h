/* What a kit consists of, as cells of the tables that name one without its results. */
#ifndef SHEAVE_REPORT_KIT_CHOICE_H
#define SHEAVE_REPORT_KIT_CHOICE_H

#include "report/write/columns.h"
#include "sheave/space.h"

struct report_kit_choice {
    uint64_t index;
    const char *blower, *cooler, *fuel;
    double crank_pulley, blower_pulley, ratio, effectiveness, lambda, air_fuel_ratio, aki;
};

/* Columns of a member that is such a struct. */
#define REPORT_KIT_CHOICE_AT(row, member, cell)                                                    \
    (offsetof(row, member) + offsetof(struct report_kit_choice, cell))
#define REPORT_KIT_CHOICE_COLUMNS(row, member)                                                     \
    {"index",                                                                                      \
     REPORT_COUNT,                                                                                 \
     0,                                                                                            \
     REPORT_KIT_CHOICE_AT(row, member, index),                                                     \
     REPORT_ALWAYS,                                                                                \
     "Number of the kit's combination, as in ranked.csv; sheave point tells the rest of it."},     \
        {"blower",      REPORT_TEXT,  0, REPORT_KIT_CHOICE_AT(row, member, blower),                \
         REPORT_ALWAYS, "Its blower."},                                                            \
        {"crank_pulley",                                                                           \
         REPORT_LENGTH,                                                                            \
         6,                                                                                        \
         REPORT_KIT_CHOICE_AT(row, member, crank_pulley),                                          \
         REPORT_ALWAYS,                                                                            \
         "Its crank pulley, effective diameter."},                                                 \
        {"blower_pulley",                                                                          \
         REPORT_LENGTH,                                                                            \
         6,                                                                                        \
         REPORT_KIT_CHOICE_AT(row, member, blower_pulley),                                         \
         REPORT_ALWAYS,                                                                            \
         "Its blower pulley, effective diameter."},                                                \
        {"ratio",       REPORT_NUMBER, 6, REPORT_KIT_CHOICE_AT(row, member, ratio),                \
         REPORT_ALWAYS, "Their ratio."},                                                           \
        {"cooler",                                                                                 \
         REPORT_TEXT,                                                                              \
         0,                                                                                        \
         REPORT_KIT_CHOICE_AT(row, member, cooler),                                                \
         REPORT_ALWAYS,                                                                            \
         "Its charge cooler; `none` for none."},                                                   \
        {"effectiveness",                                                                          \
         REPORT_NUMBER,                                                                            \
         6,                                                                                        \
         REPORT_KIT_CHOICE_AT(row, member, effectiveness),                                         \
         REPORT_ALWAYS,                                                                            \
         "That one's effectiveness at its rated flow."},                                           \
        {"fuel",        REPORT_TEXT, 0, REPORT_KIT_CHOICE_AT(row, member, fuel),                   \
         REPORT_ALWAYS, "Its fuel."},                                                              \
        REPORT_AKI_COLUMN(REPORT_KIT_CHOICE_AT(row, member, aki)),                                 \
        {"lambda",      REPORT_NUMBER, 6, REPORT_KIT_CHOICE_AT(row, member, lambda),               \
         REPORT_ALWAYS, "Its lambda."},                                                            \
        REPORT_AIR_FUEL_COLUMN("air_fuel_ratio",                                                   \
                               REPORT_KIT_CHOICE_AT(row, member, air_fuel_ratio))

/* Of a combination. Texts are the study's. */
struct report_kit_choice report_kit_choice(const struct shv_space *space,
                                           const struct shv_study *study, uint64_t index);
/* Of no kit: its cells stay empty. */
struct report_kit_choice report_kit_choice_none(void);

#endif
