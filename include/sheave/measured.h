/* What a study says of measurements: which columns of a log are which quantity, how sure each is,
 * what stood on the dynamometer, and what a fit may change. Part of struct shv_study. */
#ifndef SHEAVE_MEASURED_H
#define SHEAVE_MEASURED_H

#include "sheave/air.h"
#include "sheave/corrections.h"
#include "sheave/kit.h"
#include "sheave/log_file.h"

/* What stood there. */
enum shv_log_kind {
    SHV_LOG_OF_KIT,   /* an engine with one of the study's blowers */
    SHV_LOG_OF_STOCK, /* the engine without one, its own intake, stock fuel and lambda */
    SHV_LOG_OF_BENCH, /* a blower by itself, driven at given speeds against given pressures */
    SHV_LOG_KINDS
};

/* Quantities that a column can hold. */
enum shv_channel {
    SHV_CHANNEL_RUN, /* a text */
    SHV_CHANNEL_SPEED,
    SHV_CHANNEL_THROTTLE,
    SHV_CHANNEL_AMBIENT_PRESSURE,
    SHV_CHANNEL_AMBIENT_TEMPERATURE,
    SHV_CHANNEL_HUMIDITY,
    SHV_CHANNEL_ROTOR_SPEED,
    SHV_CHANNEL_INLET_PRESSURE,
    SHV_CHANNEL_INLET_TEMPERATURE,
    SHV_CHANNEL_OUTLET_PRESSURE,
    SHV_CHANNEL_PRESSURE_RATIO,
    SHV_CHANNEL_MANIFOLD_PRESSURE,
    SHV_CHANNEL_BOOST,
    SHV_CHANNEL_DISCHARGE_TEMPERATURE,
    SHV_CHANNEL_CHARGE_TEMPERATURE,
    SHV_CHANNEL_COOLANT_TEMPERATURE,
    SHV_CHANNEL_AIR_FLOW,
    SHV_CHANNEL_FUEL_FLOW,
    SHV_CHANNEL_TORQUE,
    SHV_CHANNEL_POWER,
    SHV_CHANNEL_POWER_J1349,
    SHV_CHANNEL_POWER_ISO1585,
    SHV_CHANNEL_BLOWER_POWER,
    SHV_CHANNEL_EXHAUST_PRESSURE,
    SHV_CHANNEL_EXHAUST_TEMPERATURE,
    SHV_CHANNEL_CA50,
    SHV_CHANNEL_PEAK_PRESSURE,
    SHV_CHANNEL_LAMBDA,
    SHV_CHANNEL_AIR_FUEL_RATIO,
    SHV_CHANNEL_IGNITION,
    SHV_CHANNEL_COUNT
};

/* What a channel is for a kind of log. */
enum shv_channel_use {
    SHV_CHANNEL_NOT,       /* makes no sense there */
    SHV_CHANNEL_CONDITION, /* the model is asked at this value; may have to be there */
    SHV_CHANNEL_MEASURED,  /* the model's answer is compared with it */
    SHV_CHANNEL_UNUSED     /* read and told of, but the model can do nothing with it */
};

struct shv_channel_info {
    const char *name;  /* its word in files */
    const char *title; /* for sentences */
    enum shv_quantity quantity;
    enum shv_channel_use use[SHV_LOG_KINDS];
    /* Standard deviation where none is given: absolute in SI and a share of the value, the other 0.
     * Assumptions of ours about ordinary workshop instruments, no source. */
    double error, share;
    bool of_cycle; /* known only with the closed cycle */
};

/* The table of channels, indexed by enum shv_channel. */
const struct shv_channel_info *shv_channel_info(enum shv_channel channel);
/* "kit", "stock", "bench" and NULL. */
extern const char *const shv_log_kind_names[SHV_LOG_KINDS + 1];

/* One column of a log. */
struct shv_measured_column {
    enum shv_channel channel;
    char *column; /* as in the log's header, owned */
    /* Not NULL: further names, as in struct shv_log_want, and the column may lack unless it is the
     * rotors' speed. A study has none. Borrowed. */
    const char *also;
    char *unit;   /* owned; NULL: that of the log */
    double error; /* standard deviation in SI, added to the share by squares */
    double share; /* of the value; both 0: those of the channel */
};

/* One log, or several of the same make. */
struct shv_measured_log {
    char *name; /* owned */
    enum shv_log_kind kind;
    size_t columns;
    struct shv_measured_column *column; /* owned */
    double throttle_least;              /* share; rows below are dropped where there is a column */
    double fall, bin;                   /* rev/s, as in struct shv_log_rules */
    double power_share;                 /* of brake power and torque that the dynamometer sees */
    struct shv_ambient ambient;         /* where no column says otherwise */
    double stoichiometric;              /* air-fuel ratio of its fuel at lambda 1; SHV_LOG_OF_KIT */
    struct shv_kit kit; /* without injectors, pump and belt; SHV_LOG_OF_BENCH: blower */
};

/* A correction that a fit may change. */
struct shv_freed {
    enum shv_correction correction;
    double from, to;        /* bounds */
    double prior;           /* mean of what is known before */
    double prior_deviation; /* INFINITY: nothing is */
};

struct shv_fit_plan {
    size_t logs, free;
    struct shv_measured_log *log; /* owned */
    struct shv_freed *freed;      /* owned */
    double loss_threshold;        /* standard deviations */
    size_t starts;
    unsigned long seed;
};

/* Reads a log as the study describes it: log->value[row * columns + i] belongs to column i. Rows
 * outside the rev range `least`..`most` (rev/s) are dropped. Errors: those of shv_log_read. */
SHV_API enum shv_status shv_measured_read(const struct shv_measured_log *plan, const char *path,
                                          const struct shv_units *units, double least, double most,
                                          struct shv_log *log, struct shv_diagnostics *findings);

/* Which channels of the plan a log has a column for. Errors: those of shv_log_columns. */
enum shv_status shv_measured_columns(const struct shv_measured_log *plan, const char *path,
                                     const struct shv_units *units, bool there[SHV_CHANNEL_COUNT],
                                     struct shv_message *message);

/* What a log's column of lambda, or of the air-fuel ratio, says of the mixture. */
struct shv_measured_mixture {
    double mean, least, most; /* lambda; NAN without a column that has values */
};
struct shv_measured_mixture shv_measured_mixture(const struct shv_measured_log *plan,
                                                 const struct shv_log *log);

/* Index of the column of a channel, SIZE_MAX when there is none. */
size_t shv_measured_find(const struct shv_measured_log *plan, enum shv_channel channel);

/* Whether a fit can tell anything of a correction: whether a channel sees it. */
bool shv_correction_is_seen(enum shv_correction correction);

#endif
