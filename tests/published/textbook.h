/* Runs a worked example through the whole program path: study file, model, one kit.
 *
 * The blowers of these studies are maps of constant efficiency with volumetric efficiency 1, so
 * that the volume drawn in is displacement times rotor speed, as the examples take it.
 */
#ifndef TEXTBOOK_H
#define TEXTBOOK_H

#include "published/published.h"
#include "sheave/model.h"

struct example {
    struct shv_study study;
    struct shv_model *model;
    struct shv_curves curves;
};

static inline void example_load(struct example *e, const char *name)
{
    char path[1024];
    int length =
        snprintf(path, sizeof path, "%s/tests/published/studies/%s.cfg", SHEAVE_SOURCE_DIR, name);
    assert_in_range(length, 1, sizeof path - 1);
    struct shv_diagnostics found = {0};
    enum shv_status status = shv_study_load(path, &e->study, &found);
    for (size_t i = 0; status != SHV_OK && i < found.count; i++) {
        print_error("%s\n", found.items[i].text);
    }
    shv_diagnostics_free(&found);
    assert_int_equal(status, SHV_OK);
    struct shv_message message = {{0}};
    status = shv_model_create(&e->study, &e->model, &message);
    if (status != SHV_OK) {
        fail_msg("%s: %s", name, message.text);
    }
    assert_int_equal(shv_curves_init(&e->curves, e->model, &message), SHV_OK);
}

static inline void example_free(struct example *e)
{
    shv_curves_free(&e->curves);
    shv_model_free(e->model);
    shv_study_free(&e->study);
}

/* The point at a site and the lowest speed of the rev range. */
static inline const struct shv_point *example_point(const struct example *e, size_t site)
{
    const struct shv_point *p = &e->curves.point[site * e->curves.speeds];
    assert_int_equal(p->outcome, SHV_POINT_OK);
    return p;
}

/* The stock engine, without a blower. */
static inline const struct shv_point *example_stock(struct example *e, size_t site)
{
    shv_model_evaluate_stock(e->model, &e->curves);
    return example_point(e, site);
}

/* The kit with its one blower and its cooler, if it has one, driven so that the blower draws in
 * this volume of air (m3/s, at its inlet). */
static inline const struct shv_point *example_drive(struct example *e, size_t site, double volume)
{
    const struct shv_study *s = &e->study;
    size_t cooler = s->cooler_count - 1;
    struct shv_kit kit = {
        .cooler = cooler,
        .crank_diameter = NAN,
        .blower_diameter = NAN,
        .ratio = volume / (s->blowers[0].displacement * s->engine.speeds[0]),
        .effectiveness =
            s->coolers[cooler].is_none ? 0.0 : s->coolers[cooler].effectiveness.values[0],
        .lambda = s->numbers[SHV_DIM_LAMBDA].values[0],
    };
    shv_model_evaluate(e->model, &kit, &e->curves);
    return &e->curves.point[site * e->curves.speeds];
}

/* The same where there has to be an answer, with the blower keeping up. */
static inline const struct shv_point *example_blown(struct example *e, size_t site, double volume)
{
    const struct shv_point *p = example_drive(e, site, volume);
    assert_int_equal(p->outcome, SHV_POINT_OK);
    assert_false(p->bypass_open);
    return p;
}

/* The drive that brings something which rises with it to a target; `low` and `high` in m3/s drawn
 * in. */
static inline const struct shv_point *example_find(struct example *e, size_t site, double low,
                                                   double high,
                                                   double (*of)(const struct shv_point *),
                                                   double target)
{
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        const struct shv_point *p = example_drive(e, site, middle);
        if (p->outcome == SHV_POINT_OK && of(p) < target) {
            low = middle;
        } else {
            high = middle;
        }
    }
    const struct shv_point *found = example_blown(e, site, low);
    assert_true(fabs(of(found) - target) <= 1e-9 * (1.0 + fabs(target)));
    return found;
}

/* Mean effective pressure of a power, Pa. */
static inline double example_mep(const struct example *e, double power)
{
    return power / (e->study.engine.displacement * e->study.engine.speeds[0] / 2.0);
}

#endif
