/* The tables of a model's closed cycle: sheave/tables.h. */
#include "sheave/tables.h"

#include <stdlib.h>
#include <string.h>

/* Whether a kit looks this table up. */
static bool wanted(const struct shv_model *model, size_t index, const struct shv_kit *only)
{
    const struct shv_study *study = shv_model_study(model);
    struct shv_table_place place = shv_model_table_place(model, index);
    return !only || (place.fuel == only->fuel &&
                     study->numbers[SHV_DIM_LAMBDA].values[place.lambda] == only->lambda);
}

static enum shv_status prepare_one(struct shv_model *model, size_t index,
                                   const struct shv_tables_options *o,
                                   struct shv_cycle_build_report *report,
                                   struct shv_message *message)
{
    struct shv_cycle_table_spec spec, unused;
    struct shv_cycle_table_options options;
    struct shv_cycle_build_options build = {.threads = o->threads, .folder = o->folder};
    struct shv_cycle_table table;
    struct shv_message why = {{0}};
    shv_cycle_table_defaults(&unused, &options);
    shv_model_table_spec(model, index, &spec);
    shv_cycle_table_nodes(&spec, &options);
    enum shv_status status = shv_cycle_build(&table, &spec, &options, &build, report, &why);
    if (status != SHV_OK) {
        const struct shv_study *study = shv_model_study(model);
        struct shv_table_place place = shv_model_table_place(model, index);
        return shv_fail(message, status, "fuel \"%s\" at lambda %.4g, site \"%s\": %s",
                        study->fuels[place.fuel].name,
                        study->numbers[SHV_DIM_LAMBDA].values[place.lambda],
                        study->sites[place.site].name, why.text);
    }
    shv_model_take_table(model, index, &table);
    return SHV_OK;
}

enum shv_status shv_tables_prepare(struct shv_model *model, const struct shv_tables_options *o,
                                   struct shv_table_report *reports, struct shv_message *message)
{
    size_t count = shv_model_table_count(model), total = 0, done = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_wanted = wanted(model, i, o->only) && !shv_model_has_table(model, i);
        total += is_wanted ? 1 : 0;
        if (reports) {
            reports[i] = (struct shv_table_report){.wanted = is_wanted};
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (!wanted(model, i, o->only) || shv_model_has_table(model, i)) {
            continue;
        }
        if (o->stop && o->stop(o->data)) {
            return shv_fail(message, SHV_STOPPED, "stopped while the cycle tables were built");
        }
        if (o->progress) {
            o->progress(o->data, done, total);
        }
        struct shv_cycle_build_report report = {.from_file = false};
        enum shv_status status = prepare_one(model, i, o, &report, message);
        if (status != SHV_OK) {
            return status;
        }
        if (reports) {
            reports[i].build = report;
        }
        done++;
    }
    if (o->progress && total > 0) {
        o->progress(o->data, total, total);
    }
    return SHV_OK;
}
