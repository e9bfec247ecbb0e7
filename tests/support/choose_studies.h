/* Two small studies for the continuous search, one held back by its limits and one with its optimum
 * inside the range, and a fine grid to judge the answers by. */
#ifndef SHEAVE_TESTS_SUPPORT_CHOOSE_STUDIES_H
#define SHEAVE_TESTS_SUPPORT_CHOOSE_STUDIES_H

#include "support/study_fixture.h"

/* More ratio always helps until boost, temperature or power say stop. */
static inline void study_held_by_limits(struct made *m)
{
    made_begin(m);
    made_add_site(m, 82000.0, 289.0, 0.4, 1.0);
    made_add_cooler(m, SHV_COOLER_SINGLE_STREAM, 5, 0.45, 0.75);
    made_crank_pulleys(m, 2, 0.130, 0.150);
    made_blower_pulleys(m, 14, 0.056, 0.160);
    made_lambdas(m, 2, 0.84, 0.90);
    m->study.limit[SHV_LIMIT_BOOST] = 70e3;
    m->study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 405.0;
    m->study.limit[SHV_LIMIT_BLOWER_POWER] = 22e3;
    m->study.limit[SHV_LIMIT_ROTOR_SPEED] = 260.0;
    m->study.objective.kind = SHV_OBJECTIVE_PEAK_POWER;
}

/* No limits; a blower whose windage grows so fast that too much ratio loses power, and a core whose
 * pressure drop makes too much effectiveness lose as well. */
static inline void study_with_inner_optimum(struct made *m)
{
    made_begin(m);
    m->blowers[0].windage_torque = 18.0;
    m->blowers[0].geometry.closing_rate = 0.0; /* rotors that never touch are no limit either */
    struct shv_cooler *c = made_add_cooler(m, SHV_COOLER_SINGLE_STREAM, 5, 0.30, 0.95);
    c->pressure_drop = 12e3;
    made_blower_pulleys(m, 14, 0.040, 0.140);
    m->study.objective =
        (struct shv_objective){SHV_OBJECTIVE_MEAN_POWER, 50.0, 110.0, NAN, SHV_OVER_SITES_MEAN};
}

/* Best feasible objective of one blower, fuel, cooler and lambda over `ratios` times `effs` points
 * between the given ends; -INFINITY when there is none. */
static inline double grid_best(const struct shv_model *model, struct shv_kit kit,
                               const double ratio[2], int ratios, const double eff[2], int effs)
{
    struct shv_curves c;
    double best = -INFINITY;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    for (int i = 0; i < ratios; i++) {
        kit.ratio = ratio[0] + (ratio[1] - ratio[0]) * i / (ratios - 1.0);
        for (int k = 0; k < effs; k++) {
            kit.effectiveness = effs > 1 ? eff[0] + (eff[1] - eff[0]) * k / (effs - 1.0) : eff[0];
            shv_model_evaluate(model, &kit, &c);
            if (c.verdict.feasible && c.verdict.objective > best) {
                best = c.verdict.objective;
            }
        }
    }
    shv_curves_free(&c);
    return best;
}

static inline void ratio_ends(const struct shv_study *study, double ratio[2])
{
    const struct shv_numbers *cranks = &study->numbers[SHV_DIM_CRANK_PULLEY];
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    double o = 2.0 * study->drive.line_offset;
    ratio[0] = (cranks->values[0] + o) / (shv_numbers_last(pulleys) + o);
    ratio[1] = (shv_numbers_last(cranks) + o) / (pulleys->values[0] + o);
}

#endif
