/* Knock-limited phasing of one cycle: docs/model.md, section 8.11. */
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

static double knock_gap(void *data, double ca50)
{
    struct phasing_finder *f = data;
    int cycles = f->result.cycles;
    f->result = cycle_solve(&f->c, ca50, foretold(f, ca50));
    f->result.cycles += cycles;
    if (f->result.outcome != SHV_CYCLE_DONE) {
        return NAN;
    }
    keep(f, ca50);
    return cycle_knock_gap(f->c.in.knock, f->result.knock_integral);
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
    double root = bracket_root(knock_gap, f, k->best_ca50, k->limit_ca50);
    if (f->result.outcome == SHV_CYCLE_DONE && f->result.ca50 != root) {
        (void)knock_gap(f, root);
    }
}

enum shv_status shv_cycle_knock_limit(const struct shv_cycle_engine *engine,
                                      const struct shv_cycle_fuel *fuel,
                                      const struct shv_cycle_knock *knock,
                                      const struct shv_cycle_case *at,
                                      struct shv_cycle_result *result, struct shv_message *message)
{
    struct cycle_inputs in = {engine, fuel, knock, at};
    struct phasing_finder f = {.has_last = false};
    enum shv_status status = cycle_check(&in, message);
    if (status != SHV_OK) {
        return status;
    }
    cycle_prepare(&f.c, &in);
    status = cycle_check_phasing(&f.c, knock->best_ca50, message);
    if (status == SHV_OK) {
        status = cycle_check_phasing(&f.c, knock->limit_ca50, message);
    }
    if (status == SHV_OK) {
        find_limit(&f);
        *result = f.result;
    }
    return status;
}
