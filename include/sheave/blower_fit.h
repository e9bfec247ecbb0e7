/* A blower from points of a brochure or a bench: its entry by geometry, by least squares
 * (least_squares.h) over what shv_blower_state gives at the points. docs/fit.md.
 */
#ifndef SHEAVE_BLOWER_FIT_H
#define SHEAVE_BLOWER_FIT_H

#include "sheave/blower.h"
#include "sheave/measured.h"

/* What is found, in the order of these. Each but the leakage area is 0 unless points tell. */
enum shv_blower_parameter {
    SHV_BLOWER_LEAKAGE_AREA,
    SHV_BLOWER_FILLING_LOSS,
    SHV_BLOWER_FRICTION_TORQUE,
    SHV_BLOWER_WINDAGE_TORQUE,
    SHV_BLOWER_CASE_LOSS,
    SHV_BLOWER_PARAMETERS
};

struct shv_blower_fit {
    struct shv_measured_log plan; /* of the log: kind bench; columns borrowed */
    struct shv_log log;           /* the points, owned */
    struct shv_gas gas;           /* that the blower takes in */
    struct shv_blower blower;     /* found; without a name */
    /* Standard errors with the spread of the residuals. What is not told stands in the blower at 0,
     * and here with what was found before it was taken out: no more than its error. */
    bool told[SHV_BLOWER_PARAMETERS];
    double value[SHV_BLOWER_PARAMETERS], error[SHV_BLOWER_PARAMETERS];
    size_t readings;
    double chi_squared, freedom, spread; /* spread: max(1, sqrt(chi_squared / freedom)) */
};

/* Word of its key in a study, and of a point of the table. */
const char *shv_blower_parameter_name(enum shv_blower_parameter parameter);

/* Whether a file has the columns of points: a flow and a pressure. Errors: those of
 * shv_log_columns. */
enum shv_status shv_blower_points_are(const char *path, const struct shv_units *units,
                                      bool *are_points, struct shv_message *message);
/* Reads points: columns rotor speed, pressure (ratio, above the inlet's, or absolute), flow (of
 * mass, or of volume at the inlet), and power, discharge temperature and the inlet's own pressure
 * and temperature where they are there; `inlet` says the rest. Errors go to `findings`: those of
 * shv_log_read, and SHV_BAD_INPUT without flow or a pressure. Free with shv_blower_fit_free. */
enum shv_status shv_blower_fit_read(const char *path, const struct shv_units *units,
                                    const struct shv_ambient *inlet, struct shv_blower_fit *fit,
                                    struct shv_diagnostics *findings);
/* Finds the blower of that displacement (m3). SHV_BAD_INPUT when there are fewer readings than two
 * or no answer at a point, SHV_NO_MEMORY. */
enum shv_status shv_blower_fit_run(struct shv_blower_fit *fit, double displacement,
                                   struct shv_message *message);
void shv_blower_fit_free(struct shv_blower_fit *fit);

/* A value of a row as measured and as the blower found gives it, SI; NAN where there is none.
 * SHV_CHANNEL_PRESSURE_RATIO is that of the point however it was given. */
double shv_blower_fit_measured(const struct shv_blower_fit *fit, size_t row,
                               enum shv_channel channel);
double shv_blower_fit_modelled(const struct shv_blower_fit *fit, size_t row,
                               enum shv_channel channel);
/* State of the air ahead of the blower in a row. */
void shv_blower_fit_inlet(const struct shv_blower_fit *fit, size_t row, double *pressure,
                          double *temperature);

#endif
