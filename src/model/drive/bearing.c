/* Bearing life and statics of an overhung hub: docs/model.md, sections 4.6 and 4.7. */
#include "model/drive/bearing.h"

#include <math.h>

#include "model/path/elementary.h"

#define RATED_REVOLUTIONS 1e6
#define SECONDS_PER_HOUR 3600.0

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

struct shv_bearing_duty shv_bearing_over(enum shv_bearing_type type, double rating, size_t count,
                                         const struct shv_bearing_part *parts)
{
    struct shv_bearing_duty d = {0};
    for (size_t i = 0; i < count; i++) {
        d.mean_speed += parts[i].share * parts[i].speed;
    }
    d.mean_load = mean_load(shv_bearing_exponent(type), count, parts);
    d.revolutions = shv_bearing_life(type, rating, d.mean_load);
    d.hours = d.mean_load > 0.0 ? d.revolutions / d.mean_speed / SECONDS_PER_HOUR : INFINITY;
    return d;
}

struct shv_bearing_pair shv_bearing_overhung(double load, double overhang, double span)
{
    return (struct shv_bearing_pair){.near = load * (1.0 + overhang / span),
                                     .far = -load * overhang / span};
}
