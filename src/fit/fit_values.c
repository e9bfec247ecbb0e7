/* What the model says at the parameters of a fit: all that its parts look up (fit_internal.h). */
#include "fit/fit_internal.h"

void fit_corrections(const struct shv_fit *fit, const double *x, struct shv_corrections *all)
{
    if (fit->study->corrected) {
        *all = fit->study->corrections;
    } else {
        shv_corrections_neutral(all);
    }
    for (size_t k = 0; k < fit->plan->free; k++) {
        all->value[fit->plan->freed[k].correction] = x[k];
    }
}

static double *room_of(const struct shv_fit *fit, size_t worker)
{
    return fit->values + worker * (fit->first_row[fit->cases] + 1) * SHV_CHANNEL_COUNT;
}

enum shv_status fit_values(const struct shv_fit *fit, size_t worker, const double *x)
{
    struct shv_corrections all;
    enum shv_status status = SHV_OK;
    fit_corrections(fit, x, &all);
    for (size_t i = 0; i < fit->cases && status == SHV_OK; i++) {
        double *values = room_of(fit, worker) + fit->first_row[i] * SHV_CHANNEL_COUNT;
        status = fit_case_values(fit->item[i], worker, &all, values);
    }
    return status;
}

enum shv_status fit_failed(enum shv_status status, struct shv_message *message)
{
    return status == SHV_NO_MEMORY
               ? shv_fail(message, status, "out of memory for the model of a fit")
               : status;
}

double fit_value(const struct shv_fit *fit, size_t worker, size_t log, size_t row,
                 enum shv_channel channel)
{
    return room_of(fit, worker)[(fit->first_row[log] + row) * SHV_CHANNEL_COUNT + (size_t)channel];
}

double shv_fit_error(const struct shv_fit_result *result, size_t parameter)
{
    return result->spread * result->least.error[parameter];
}
