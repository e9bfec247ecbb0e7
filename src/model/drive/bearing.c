/* Bearing life and statics of an overhung hub: docs/model.md, sections 4.6 and 4.7. */
#include "model/drive/bearing.h"

#include <math.h>

#include "model/path/elementary.h"

#define RATED_REVOLUTIONS 1e6
#define SECONDS_PER_HOUR 3600.0
/* Shares are often written with few digits, so they are not asked to sum exactly. */
#define SHARE_SLACK 1e-9

/* Keeps shv_pow inside its range for loads that are next to nothing. */
static double power(double x, double exponent)
{
    static const double extreme = 1e90;
    if (x < 1.0 / extreme) {
        return 0.0;
    }
    return x > extreme ? INFINITY : shv_pow(x, exponent);
}

double shv_bearing_exponent(enum shv_bearing_type type)
{
    return type == SHV_BEARING_BALL ? 3.0 : 10.0 / 3.0;
}

double shv_bearing_life(enum shv_bearing_type type, double rating, double load)
{
    if (load <= 0.0) {
        return INFINITY;
    }
    return RATED_REVOLUTIONS * power(rating / load, shv_bearing_exponent(type));
}

static enum shv_status check_part(size_t i, const struct shv_bearing_part *p,
                                  struct shv_message *message)
{
    const struct {
        const char *what;
        double value;
    } row[] = {{"share of time", p->share}, {"speed, rev/s,", p->speed}, {"load, N,", p->load}};
    for (size_t k = 0; k < sizeof row / sizeof row[0]; k++) {
        if (!isfinite(row[k].value) || row[k].value < 0.0) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "%s of part %zu of the duty is %.6g; a number of 0 or more is needed",
                            row[k].what, i + 1, row[k].value);
        }
    }
    return SHV_OK;
}

static enum shv_status check_duty(double rating, size_t count, const struct shv_bearing_part *parts,
                                  struct shv_message *message)
{
    if (!isfinite(rating) || rating <= 0.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "load rating of the bearing, N, is %.6g; a number above 0 is needed",
                        rating);
    }
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        enum shv_status status = check_part(i, &parts[i], message);
        if (status != SHV_OK) {
            return status;
        }
        sum += parts[i].share;
    }
    if (fabs(sum - 1.0) > SHARE_SLACK) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "shares of time of the %zu parts of the duty sum to %.9g; 1 is needed",
                        count, sum);
    }
    return SHV_OK;
}

/* Loads are taken relative to the highest one, so that their powers neither overflow nor vanish. */
static double mean_load(double exponent, size_t count, const struct shv_bearing_part *parts)
{
    double highest = 0.0, turns = 0.0, damage = 0.0;
    for (size_t i = 0; i < count; i++) {
        highest = fmax(highest, parts[i].load);
    }
    for (size_t i = 0; i < count; i++) {
        double part_turns = parts[i].share * parts[i].speed;
        turns += part_turns;
        damage += highest > 0.0 ? part_turns * power(parts[i].load / highest, exponent) : 0.0;
    }
    return damage > 0.0 ? highest * power(damage / turns, 1.0 / exponent) : 0.0;
}

enum shv_status shv_bearing_over(enum shv_bearing_type type, double rating, size_t count,
                                 const struct shv_bearing_part *parts,
                                 struct shv_bearing_duty *duty, struct shv_message *message)
{
    enum shv_status status = check_duty(rating, count, parts, message);
    if (status != SHV_OK) {
        return status;
    }
    struct shv_bearing_duty d = {0};
    for (size_t i = 0; i < count; i++) {
        d.mean_speed += parts[i].share * parts[i].speed;
    }
    d.mean_load = mean_load(shv_bearing_exponent(type), count, parts);
    d.revolutions = shv_bearing_life(type, rating, d.mean_load);
    d.hours = d.mean_load > 0.0 ? d.revolutions / d.mean_speed / SECONDS_PER_HOUR : INFINITY;
    *duty = d;
    return SHV_OK;
}

enum shv_status shv_bearing_overhung(double load, double overhang, double span,
                                     struct shv_bearing_pair *pair, struct shv_message *message)
{
    if (!isfinite(load) || load < 0.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "hub load, N, is %.6g; a number of 0 or more is needed", load);
    }
    if (!isfinite(span) || span <= 0.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "distance of the bearings, m, is %.6g; a number above 0 is needed", span);
    }
    if (!isfinite(overhang) || overhang < -span) {
        return shv_fail(
            message, SHV_BAD_INPUT,
            "overhang of the hub, m, is %.6g; at least %.6g, the far bearing, is needed", overhang,
            -span);
    }
    pair->near = load * (1.0 + overhang / span);
    pair->far = -load * overhang / span;
    return SHV_OK;
}
