/* Injectors and fuel pumps (checks.h). */
#include "study/checks.h"

#include <math.h>

#include "study/dimension.h"
#include "study/reader.h"

void check_injector(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct shv_injector_part *injector = base;
    double *flows = injector->rated_flow.values;
    const struct key flow = key_at(&injector_keys, key_find(&injector_keys, "flow"));
    const config_setting_t *given = reader_member(setting, "flow");
    bool by_mass = given != NULL && dimension_is_other(reader, &flow, given);
    for (size_t i = 0; by_mass && i < injector->rated_flow.count; i++) {
        flows[i] /= injector->test_density;
        if (!key_in_range(&flow, flows[i])) {
            reader_error(reader, setting, "flow",
                         "found a flow of %.4g m3/s; accepted: up to %.4g m3/s", flows[i],
                         flow.max);
        }
    }
}

/* No pump gives more against a higher pressure; a curve that says so has its columns mixed up. */
void check_pump(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_curve_table *flow = &((struct shv_pump_part *)base)->pump.flow;
    for (size_t i = 1; i < flow->count; i++) {
        if (flow->y[i] > flow->y[i - 1]) {
            reader_error(reader,
                         config_setting_get_elem(reader_member(setting, "flow"), (unsigned)i), NULL,
                         "found %.10g m3/s after %.10g m3/s; accepted: flows that do not rise with "
                         "pressure",
                         flow->y[i], flow->y[i - 1]);
        }
    }
}
