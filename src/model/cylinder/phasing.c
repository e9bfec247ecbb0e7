/* The phasing of one cycle that knock or peak pressure holds back: docs/model.md, section 8.11. */
#include "model/cylinder/cycle_internal.h"
#include "model/path/solve.h"

/* The integral is aimed at a shade below what is allowed, so that it is never above. */
#define AIM (1.0 - 1e-9)
#define NEAR_ENOUGH 0.9e-9

double cycle_knock_gap(const struct shv_cycle_knock *k, double integral)
{
    double allowed = AIM * (1.0 - k->margin);
    double gap = shv_log(shv_max(integral, CYCLE_INTEGRAL_LEAST) / allowed);
    return fabs(gap) <= NEAR_ENOUGH ? 0.0 : gap;
}

struct phasing_finder {
    struct cycle c;
    double log_peak;                                 /* of the pressure that is aimed at */
    double last_ca50, last_residual, residual_slope; /* of residual temperature over phasing */
    bool has_last;
    struct shv_cycle_result result;
};

/* Residual temperature is nearly straight in the phasing: the last two answers foretell it. */
static double foretold(const struct phasing_finder *f, double ca50)
{
    return f->has_last ? f->last_residual + f->residual_slope * (ca50 - f->last_ca50)
                       : CYCLE_FIRST_GUESS;
}

static void keep(struct phasing_finder *f, double ca50)
{
    double t = f->result.residual_temperature;
    if (f->has_last && ca50 != f->last_ca50) {
        f->residual_slope = (t - f->last_residual) / (ca50 - f->last_ca50);
    }
    f->last_ca50 = ca50;
    f->last_residual = t;
    f->has_last = true;
}

static bool run_at(struct phasing_finder *f, double ca50)
{
    int cycles = f->result.cycles;
    f->result = cycle_solve(&f->c, ca50, foretold(f, ca50));
    f->result.cycles += cycles;
    if (f->result.outcome != SHV_CYCLE_DONE) {
        return false;
    }
    keep(f, ca50);
    return true;
}

static double knock_gap(void *data, double ca50)
{
    struct phasing_finder *f = data;
    return run_at(f, ca50) ? cycle_knock_gap(f->c.in.knock, f->result.knock_integral) : NAN;
}

static double peak_gap(void *data, double ca50)
{
    struct phasing_finder *f = data;
    double gap = run_at(f, ca50) ? shv_log(f->result.peak_pressure) - f->log_peak : NAN;
    return fabs(gap) <= 0.5 * SHV_CYCLE_PEAK_SHADE ? 0.0 : gap;
}

/* Leaves the result at the root between two phasings. */
static void settle(struct phasing_finder *f, double (*gap)(void *data, double ca50), double from,
                   double to)
{
    double root = bracket_root(gap, f, from, to);
    if (f->result.outcome == SHV_CYCLE_DONE && f->result.ca50 != root) {
        (void)gap(f, root);
    }
}

static void find_limit(struct phasing_finder *f)
{
    const struct shv_cycle_knock *k = f->c.in.knock;
    if (!(knock_gap(f, k->best_ca50) > 0.0)) {
        return; /* no knock at best phasing, or no answer */
    }
    if (knock_gap(f, k->limit_ca50) > 0.0) {
        f->result.outcome = SHV_CYCLE_KNOCK_LIMITED;
        return;
    }
    settle(f, knock_gap, k->best_ca50, k->limit_ca50);
}

static enum shv_status begin(struct phasing_finder *f, const struct cycle_inputs *in, double from,
                             struct shv_message *message)
{
    *f = (struct phasing_finder){.has_last = false};
    enum shv_status status = cycle_check(in, message);
    if (status != SHV_OK) {
        return status;
    }
    cycle_prepare(&f->c, in);
    status = cycle_check_phasing(&f->c, from, message);
    return status == SHV_OK ? cycle_check_phasing(&f->c, in->knock->limit_ca50, message) : status;
}

enum shv_status shv_cycle_knock_limit(const struct shv_cycle_engine *engine,
                                      const struct shv_cycle_fuel *fuel,
                                      const struct shv_cycle_knock *knock,
                                      const struct shv_cycle_case *at,
                                      struct shv_cycle_result *result, struct shv_message *message)
{
    struct cycle_inputs in = {engine, fuel, knock, at};
    struct phasing_finder f;
    enum shv_status status = begin(&f, &in, knock->best_ca50, message);
    if (status == SHV_OK) {
        find_limit(&f);
        *result = f.result;
    }
    return status;
}

enum shv_status
shv_cycle_pressure_limit(const struct shv_cycle_engine *engine, const struct shv_cycle_fuel *fuel,
                         const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                         double most, struct shv_cycle_result *result, struct shv_message *message)
{
    struct cycle_inputs in = {engine, fuel, knock, at};
    struct phasing_finder f;
    enum shv_status status = begin(&f, &in, at->ca50, message);
    if (status != SHV_OK) {
        return status;
    }
    f.log_peak = shv_log(most) - SHV_CYCLE_PEAK_SHADE;
    if (peak_gap(&f, at->ca50) > 0.0 && !(peak_gap(&f, knock->limit_ca50) > 0.0)) {
        settle(&f, peak_gap, at->ca50, knock->limit_ca50);
    }
    *result = f.result;
    return SHV_OK;
}
