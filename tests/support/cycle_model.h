/* Studies on the closed cycle, for tests of the model and what stands on it. */
#ifndef SHEAVE_TESTS_SUPPORT_CYCLE_MODEL_H
#define SHEAVE_TESTS_SUPPORT_CYCLE_MODEL_H

#include "support/study_fixture.h"

/* An engine on the closed cycle, hot air, two speeds, and limits that keep the tables small. */
static inline void cycle_begin(struct made *m, double ron)
{
    made_begin(m);
    made_speeds(m, 2, 45.0, 90.0);
    m->study.engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
    m->fuels[0].ron = ron;
    m->fuels[0].mon = ron - 9.0;
    m->study.engine.knock.scale = 0.6; /* so that knock has its say */
    m->study.limit[SHV_LIMIT_BOOST] = 120e3;
    m->study.limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 450.0;
}

/* Builds the table of this index and gives it to the model. */
static inline void give_table(struct shv_model *model, size_t index)
{
    struct shv_cycle_table_spec spec, unused;
    struct shv_cycle_table_options options;
    struct shv_cycle_table table;
    struct shv_message message = {""};
    shv_cycle_table_defaults(&unused, &options);
    shv_model_table_spec(model, index, &spec);
    shv_cycle_table_nodes(&spec, &options);
    options.samples = 100;
    if (shv_cycle_table_build(&table, &spec, &options, NULL, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    shv_model_take_table(model, index, &table);
    assert_true(shv_model_has_table(model, index));
}

/* One injector in sizes from low to high, m3/s, and one pump that gives `flow` m3/s at any pressure
 * in reach. */
static inline void made_injectors(struct made *m, size_t count, double low, double high)
{
    m->injectors[0] = (struct shv_injector_part){.name = "port",
                                                 .rated_flow = {m->injector_flows[0], count},
                                                 .rated_pressure = 300e3,
                                                 .test_density = 684.0,
                                                 .dead_time = 0.9e-3,
                                                 .max_duty = 0.85};
    for (size_t i = 0; i < count; i++) {
        m->injector_flows[0][i] =
            count > 1 ? low + (high - low) * (double)i / (double)(count - 1) : low;
    }
}

static inline void made_pump(struct made *m, double flow)
{
    const double pressure[] = {100e3, 900e3}, flows[] = {flow, 0.8 * flow};
    m->pumps[0] = (struct shv_pump_part){.name = "tank"};
    assert_int_equal(shv_curve_table_init(&m->pumps[0].pump.flow, 2, pressure, flows, NULL),
                     SHV_OK);
}

#endif
