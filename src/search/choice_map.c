/* What else a kit could have been: sheave/choice_map.h. */
#include "sheave/choice_map.h"

#include <stdlib.h>

#define RATIOS 81
#define CORES 25

/* The kit of a cell, and the cell but for what the model says. */
struct choice_grid {
    struct shv_kit kit;
    double line_offset;
    double least_ratio, most_ratio, least_core, most_core;
    size_t ratios, cores;
};

static struct choice_grid grid_of(const struct shv_study *study, const struct shv_kit *kit)
{
    const struct shv_numbers *pulleys = &study->numbers[SHV_DIM_BLOWER_PULLEY];
    const struct shv_cooler *cooler = &study->coolers[kit->cooler];
    struct choice_grid g = {.kit = *kit, .line_offset = study->drive.line_offset};
    double crank = kit->crank_diameter;
    g.least_ratio = shv_drive_ratio(crank, shv_numbers_last(pulleys), g.line_offset);
    g.most_ratio = shv_drive_ratio(crank, pulleys->values[0], g.line_offset);
    g.least_core = cooler->effectiveness.values[0];
    g.most_core = shv_numbers_last(&cooler->effectiveness);
    g.ratios = g.most_ratio > g.least_ratio ? RATIOS : 1;
    g.cores = cooler->effectiveness.count > 1 ? CORES : 1;
    return g;
}

static double between(double from, double to, size_t i, size_t count)
{
    return count < 2 ? from : from + (to - from) * (double)i / (double)(count - 1);
}

static struct shv_kit kit_at(const struct choice_grid *g, size_t cell)
{
    struct shv_kit kit = g->kit;
    kit.effectiveness = between(g->least_core, g->most_core, cell / g->ratios, g->cores);
    kit.ratio = between(g->least_ratio, g->most_ratio, cell % g->ratios, g->ratios);
    kit.blower_diameter = shv_drive_blower_pulley(kit.crank_diameter, kit.ratio, g->line_offset);
    return kit;
}

/* Some cells side by side. */
static void fill(const struct shv_model *model, const struct choice_grid *g,
                 struct shv_lanes *lanes, size_t first, size_t count, struct shv_choice_cell *cells)
{
    struct shv_kit kits[SHV_LANES_MAX] = {{0}}; /* gcc does not see that count is above 0 */
    struct shv_brief brief[SHV_LANES_MAX];
    for (size_t i = 0; i < count; i++) {
        kits[i] = kit_at(g, first + i);
    }
    shv_lanes_evaluate_kits(model, lanes, kits, count, brief);
    for (size_t i = 0; i < count; i++) {
        struct shv_choice_cell *cell = &cells[first + i];
        *cell = (struct shv_choice_cell){.ratio = kits[i].ratio,
                                         .blower_diameter = kits[i].blower_diameter,
                                         .effectiveness = kits[i].effectiveness,
                                         .peak_power = shv_lanes_peak_power(model, lanes, i, 0)};
        cell->outcome = shv_brief_reason(&brief[i], &cell->limit);
    }
}

enum shv_status shv_choice_map(const struct shv_model *model, const struct shv_space *space,
                               uint64_t index, struct shv_choice_cell **cells, size_t *count,
                               struct shv_message *message)
{
    struct shv_kit kit;
    struct shv_lanes *lanes;
    enum shv_status status = shv_lanes_create(model, &lanes, message);
    if (status != SHV_OK) {
        return status;
    }
    shv_space_kit(space, shv_model_study(model), index, &kit);
    struct choice_grid g = grid_of(shv_model_study(model), &kit);
    *count = g.ratios * g.cores;
    *cells = calloc(*count, sizeof **cells);
    for (size_t i = 0; *cells && i < *count; i += SHV_LANES_MAX) {
        size_t left = *count - i;
        fill(model, &g, lanes, i, left < SHV_LANES_MAX ? left : SHV_LANES_MAX, *cells);
    }
    shv_lanes_free(lanes);
    return *cells
               ? SHV_OK
               : shv_fail(message, SHV_NO_MEMORY, "out of memory for the map of pulleys and cores");
}
