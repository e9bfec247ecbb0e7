/* Sales of a range file (sales.h). */
#include "study/sales.h"

#include <math.h>

/* The 10 %, 50 % and 90 % points of a distribution stand for it with these weights, the extended
 * Swanson-Megill approximation (D. L. Keefer, S. E. Bodily, Three-Point Approximations for
 * Continuous Random Variables, Management Science 29 (1983) 595-609, from memory). */
const struct sales_scenario sales_spread[SALES_OF_SPREAD] = {
    {"low", 0.3}, {"likely", 0.4}, {"high", 0.3}};

static void read_spread(struct reader *reader, const config_setting_t *setting,
                        struct sales_draft *sales)
{
    size_t before = reader->errors;
    double of[SALES_OF_SPREAD];
    reader_group(reader, &spread_keys, setting, of);
    if (reader->errors == before && !(of[0] <= of[1] && of[1] <= of[2])) {
        reader_error(reader, setting, NULL,
                     "found low %.10g, likely %.10g, high %.10g; accepted: low at most likely, "
                     "likely at most high",
                     of[0], of[1], of[2]);
    }
    if (reader->errors == before) {
        *sales = (struct sales_draft){SALES_BY_SPREAD, SALES_OF_SPREAD, {of[0], of[1], of[2]}};
    }
}

static void read_list(struct reader *reader, const struct key *key, const config_setting_t *setting,
                      struct sales_draft *sales)
{
    int count = config_setting_length(setting);
    if (count > SCENARIOS_MAX) {
        reader_error(reader, setting, NULL, "found a list of %d; accepted: up to %d numbers", count,
                     SCENARIOS_MAX);
        return;
    }
    sales->form = SALES_BY_SCENARIO;
    for (int i = 0; i < count; i++) {
        double value = reader_quantity(reader, key, config_setting_get_elem(setting, (unsigned)i));
        sales->of[sales->count++] = isnan(value) ? 0.0 : value;
    }
}

void sales_read(struct reader *reader, const struct key *key, const config_setting_t *setting,
                struct sales_draft *sales)
{
    if (config_setting_is_group(setting)) {
        read_spread(reader, setting, sales);
    } else if (config_setting_is_aggregate(setting)) {
        read_list(reader, key, setting, sales);
    } else if (config_setting_type(setting) == CONFIG_TYPE_BOOL) {
        reader_wrong_type(reader, key, setting);
    } else {
        double value = reader_quantity(reader, key, setting);
        sales->of[0] = isnan(value) ? 0.0 : value;
    }
}

void sales_check(struct reader *reader, const config_setting_t *where, const char *child,
                 const struct sales_draft *sales, size_t scenarios)
{
    if (sales->form == SALES_BY_SPREAD && scenarios > 0) {
        reader_error(
            reader, where, child,
            "found { low, likely, high } with scenarios; accepted: a number, or one number "
            "for each of the %zu scenarios",
            scenarios);
    } else if (sales->form == SALES_BY_SCENARIO && scenarios == 0) {
        reader_error(reader, where, child,
                     "found a list of %zu, but no scenarios are named; accepted: a number or "
                     "{ low, likely, high }, or scenarios at the top level",
                     sales->count);
    } else if (sales->form == SALES_BY_SCENARIO && sales->count != scenarios) {
        reader_error(reader, where, child,
                     "found a list of %zu; accepted: one number for each of the %zu scenarios",
                     sales->count, scenarios);
    }
}

double sales_in(const struct sales_draft *sales, size_t scenario)
{
    return sales->of[sales->form == SALES_CERTAIN ? 0 : scenario];
}
