/* Injectors and fuel pumps (checks.h). */
#include "study/checks.h"

#include <math.h>

#include "study/dimension.h"
#include "study/reader.h"

void check_injector(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct injector_draft *draft = base;
    const struct key flow = key_at(&injector_keys, key_find(&injector_keys, "flow"));
    const config_setting_t *given = reader_member(setting, "flow");
    bool by_mass = given != NULL && dimension_is_other(reader, &flow, given);
    for (size_t i = 0; by_mass && i < draft->flow.count; i++) {
        draft->flow.values[i] /= draft->injector.test_density;
        if (!key_in_range(&flow, draft->flow.values[i])) {
            reader_error(reader, setting, "flow",
                         "found a flow of %.4g m3/s; accepted: up to %.4g m3/s",
                         draft->flow.values[i], flow.max);
        }
    }
    draft->injector.rated_flow = draft->flow.values;
    draft->injector.choices = draft->flow.count;
    draft->flow = (struct shv_numbers){0};
}

/* No pump gives more against a higher pressure; a curve that says so has its columns mixed up. */
static bool check_falling(struct reader *reader, const config_setting_t *pairs,
                          const struct shv_curve_table *flow)
{
    bool good = true;
    for (size_t i = 1; i < flow->count; i++) {
        if (flow->y[i] > flow->y[i - 1]) {
            reader_error(reader, config_setting_get_elem(pairs, (unsigned)i), NULL,
                         "found %.10g m3/s after %.10g m3/s; accepted: flows that do not rise with "
                         "pressure",
                         flow->y[i], flow->y[i - 1]);
            good = false;
        }
    }
    return good;
}

void check_pump(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct pump_draft *draft = base;
    const struct shv_curve_table *flow = &draft->flow;
    const config_setting_t *pairs = reader_member(setting, "flow");
    struct shv_message message = {{0}};
    if (flow->count == 0 || !isfinite(draft->line_loss) || !check_falling(reader, pairs, flow)) {
        return;
    }
    enum shv_status status = shv_fuel_pump_init(&draft->part.pump, flow->count, flow->x, flow->y,
                                                draft->line_loss, &message);
    if (status == SHV_NO_MEMORY) {
        reader->out_of_memory = true;
    } else if (status != SHV_OK) {
        reader_error(reader, pairs, NULL, "%s", message.text);
    }
}
