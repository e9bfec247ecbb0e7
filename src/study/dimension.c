/* Lists of values (dimension.h). */
#include "study/dimension.h"

#include <math.h>
#include <stdlib.h>

bool nearly_equal(double a, double b)
{
    return fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b));
}

bool dimension_add(struct shv_numbers *dimension, double value)
{
    size_t count = dimension->count;
    if ((count & (count - 1)) == 0) { /* room is doubled at 0, 1, 2, 4, ... */
        double *values = realloc(dimension->values, (count == 0 ? 1 : 2 * count) * sizeof *values);
        if (values == NULL) {
            return false;
        }
        dimension->values = values;
    }
    dimension->values[dimension->count++] = value;
    return true;
}

static void drop(struct shv_numbers *dimension)
{
    free(dimension->values);
    *dimension = (struct shv_numbers){0};
}

static void read_list(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      struct shv_numbers *dimension)
{
    int count = config_setting_length(setting);
    if (count < 1 || count > DIMENSION_MAX) {
        reader_error(reader, setting, NULL, "found a list of %d values; accepted: 1 to %d values",
                     count, DIMENSION_MAX);
        return;
    }
    size_t before = reader->errors;
    for (int i = 0; i < count; i++) {
        double value = reader_quantity(reader, key, config_setting_get_elem(setting, (unsigned)i));
        if (!dimension_add(dimension, value)) {
            reader->out_of_memory = true;
            break;
        }
    }
    if (reader->errors != before || reader->out_of_memory) {
        drop(dimension);
    }
}

/* from, to and step take the kind of their key; from and to its range as well. */
static void read_range_keys(struct reader *reader, const struct key *key,
                            const config_setting_t *setting, struct stepped_range *range)
{
    struct key rows[3];
    for (size_t i = 0; i < 3; i++) {
        rows[i] = key_at(&range_keys, i);
        rows[i].quantity = key->quantity;
        if (i < 2) {
            rows[i].min = key->min;
            rows[i].max = key->max;
            rows[i].above_min = key->above_min;
        }
    }
    struct key_group group = range_keys;
    group.keys = rows;
    reader_group(reader, &group, setting, range);
}

static void read_range(struct reader *reader, const struct key *key,
                       const config_setting_t *setting, struct shv_numbers *dimension)
{
    struct stepped_range range = {0};
    size_t before = reader->errors;
    read_range_keys(reader, key, setting, &range);
    if (reader->errors != before) {
        return;
    }
    if (range.from > range.to) {
        reader_error(reader, setting, NULL, "found from above to; accepted: from at most to");
        return;
    }
    double steps = (range.to - range.from) / range.step;
    double last = floor(steps + 1e-9 * fmax(1.0, steps));
    if (!(last < DIMENSION_MAX)) {
        reader_error(reader, setting, NULL, "found %.10g values; accepted: up to %d", last + 1.0,
                     DIMENSION_MAX);
        return;
    }
    for (size_t i = 0; i <= (size_t)last; i++) {
        double value = range.from + (double)i * range.step;
        if (!dimension_add(dimension, nearly_equal(value, range.to) ? range.to : value)) {
            reader->out_of_memory = true;
            drop(dimension);
            return;
        }
    }
    if (!nearly_equal(dimension->values[dimension->count - 1], range.to)) {
        reader_warning(reader, setting, "to",
                       "does not fall on a step, so it is not one of the %zu values",
                       dimension->count);
    }
}

/* A value and where it stands. */
struct placed {
    double value;
    size_t place;
};

static int by_value(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    return x->value < y->value ? -1 : x->value > y->value ? 1 : x->place < y->place ? -1 : 1;
}

/* As it is written where it stands for the second time; evenly spaced values are too close. */
static void tell_twice(struct reader *reader, const config_setting_t *setting, size_t place)
{
    const config_setting_t *where = setting;
    char found[READER_FOUND_MAX] = "a step so small that a value stands";
    if (!config_setting_is_group(setting)) {
        where = config_setting_get_elem(setting, (unsigned)place);
        reader_describe(where, found);
    }
    reader_error(reader, where, NULL, "found %s twice; accepted: each value once", found);
}

static void sort_values(struct reader *reader, const config_setting_t *setting,
                        struct shv_numbers *dimension)
{
    struct placed *list = calloc(dimension->count + 1, sizeof *list);
    if (list == NULL) {
        reader->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < dimension->count; i++) {
        list[i] = (struct placed){dimension->values[i], i};
    }
    qsort(list, dimension->count, sizeof *list, by_value);
    for (size_t i = 0; i < dimension->count; i++) {
        dimension->values[i] = list[i].value;
        if (i > 0 && nearly_equal(list[i - 1].value, list[i].value)) {
            size_t last = list[i - 1].place > list[i].place ? list[i - 1].place : list[i].place;
            tell_twice(reader, setting, last);
        }
    }
    free(list);
}

/* The first of the values, as it stands there. */
static const char *first_text(const config_setting_t *setting)
{
    const config_setting_t *first =
        config_setting_is_group(setting)       ? reader_member(setting, "from")
        : config_setting_is_aggregate(setting) ? config_setting_get_elem(setting, 0)
                                               : setting;
    return first == NULL ? NULL : config_setting_get_string(first);
}

bool dimension_is_other(const struct reader *reader, const struct key *key,
                        const config_setting_t *setting)
{
    const char *text = key->other == SHV_Q_NUMBER ? NULL : first_text(setting);
    struct shv_message unused;
    double value;
    return text != NULL &&
           shv_units_read(reader->units, key->other, text, &value, &unused) == SHV_OK;
}

/* A key whose values may be of another quantity goes by the first of them. */
static struct key of_first(const struct reader *reader, const struct key *key,
                           const config_setting_t *setting)
{
    struct key used = *key;
    if (dimension_is_other(reader, key, setting)) {
        used.quantity = key->other;
        used.max = INFINITY;
    }
    return used;
}

void dimension_read(struct reader *reader, const struct key *written,
                    const config_setting_t *setting, struct shv_numbers *dimension)
{
    const struct key used = of_first(reader, written, setting), *key = &used;
    if (config_setting_is_group(setting)) {
        read_range(reader, key, setting, dimension);
    } else if (config_setting_is_aggregate(setting)) {
        read_list(reader, key, setting, dimension);
    } else if (config_setting_type(setting) == CONFIG_TYPE_BOOL) {
        reader_wrong_type(reader, key, setting);
    } else {
        double value = reader_quantity(reader, key, setting);
        if (isfinite(value) && !dimension_add(dimension, value)) {
            reader->out_of_memory = true;
        }
    }
    sort_values(reader, setting, dimension);
}

/* One (x, y); false when it is wrong. */
static bool read_pair(struct reader *reader, const struct key *key, const config_setting_t *pair,
                      double *x, double *y)
{
    struct key along = key_along(key);
    if ((!config_setting_is_list(pair) && !config_setting_is_array(pair)) ||
        config_setting_length(pair) != 2) {
        struct key one = {.type = KEY_PAIRS, .quantity = key->quantity, .along = key->along};
        reader_wrong_type(reader, &one, pair);
        return false;
    }
    *x = reader_quantity(reader, &along, config_setting_get_elem(pair, 0));
    struct key value = *key;
    value.type = KEY_QUANTITY;
    *y = reader_quantity(reader, &value, config_setting_get_elem(pair, 1));
    return isfinite(*x) && isfinite(*y);
}

static void tell_not_rising(struct reader *reader, enum shv_quantity along,
                            const config_setting_t *pair, double before, double x)
{
    double scale = 1.0 / shv_units_plain(along, 1.0);
    const char *unit = shv_quantity_unit(along);
    reader_error(reader, pair, NULL,
                 "found %.10g %s after %.10g %s; accepted: %s that rise strictly", scale * x, unit,
                 scale * before, unit, along == SHV_Q_ROTATION ? "speeds" : "pressures");
}

static bool read_pairs(struct reader *reader, const struct key *key,
                       const config_setting_t *setting, size_t count, double *x, double *y)
{
    bool good = true;
    for (size_t i = 0; i < count; i++) {
        const config_setting_t *pair = config_setting_get_elem(setting, (unsigned)i);
        if (!read_pair(reader, key, pair, &x[i], &y[i])) {
            x[i] = NAN;
            good = false;
        } else if (i > 0 && x[i] <= x[i - 1]) {
            tell_not_rising(reader, key->along, pair, x[i - 1], x[i]);
            good = false;
        }
    }
    return good;
}

void pairs_read(struct reader *reader, const struct key *key, const config_setting_t *setting,
                struct shv_curve_table *table)
{
    if (!config_setting_is_list(setting)) {
        reader_wrong_type(reader, key, setting);
        return;
    }
    int count = config_setting_length(setting);
    if (count < 1 || count > PAIRS_MAX) {
        reader_error(reader, setting, NULL, "found a list of %d pairs; accepted: 1 to %d pairs",
                     count, PAIRS_MAX);
        return;
    }
    double *x = calloc((size_t)count, sizeof *x), *y = calloc((size_t)count, sizeof *y);
    struct shv_message message = {{0}};
    if (x == NULL || y == NULL) {
        reader->out_of_memory = true;
    } else if (read_pairs(reader, key, setting, (size_t)count, x, y)) {
        enum shv_status status = shv_curve_table_init(table, (size_t)count, x, y, &message);
        if (status == SHV_NO_MEMORY) {
            reader->out_of_memory = true;
        } else if (status != SHV_OK) {
            reader_error(reader, setting, NULL, "%s", message.text);
        }
    }
    free(x);
    free(y);
}
