/* The parts of a kit one by one (model.h); hardware_worth in hardware.c has their sums, for the
 * sweep.
 */
#include "model/kit/model_internal.h"

static struct shv_part_line line(const struct shv_worth *each, double count)
{
    return (struct shv_part_line){
        .count = count, .worth = {.price = count * each->price, .mass = count * each->mass}};
}

void shv_model_parts(const struct shv_model *model, const struct shv_kit *kit,
                     struct shv_part_line parts[SHV_PART_COUNT])
{
    const struct shv_study *s = model->study;
    const struct shv_cooler *cooler = &s->coolers[kit->cooler];
    double ntu = model_cooler_ntu(model, kit->cooler, kit->effectiveness);
    parts[SHV_PART_BLOWER] = line(&s->blowers[kit->blower].worth, 1.0);
    parts[SHV_PART_CRANK_PULLEY] = parts[SHV_PART_BLOWER_PULLEY] = line(&s->base.pulley, 1.0);
    parts[SHV_PART_BELT] = line(&s->drive.belt.rib, kit->ribs);
    parts[SHV_PART_DRIVE] = line(&s->drive.worth, 1.0);
    parts[SHV_PART_MANIFOLD] = line(&s->base.manifold, 1.0);
    parts[SHV_PART_COOLER] = line(&cooler->worth, cooler->is_none ? 0.0 : 1.0);
    parts[SHV_PART_COOLER].worth.price += ntu * cooler->per_ntu.price;
    parts[SHV_PART_COOLER].worth.mass += ntu * cooler->per_ntu.mass;
    parts[SHV_PART_BYPASS] = line(&s->bypass_part.worth, 1.0);
    parts[SHV_PART_INJECTORS] =
        line(&s->injectors[kit->injector].worth,
             (double)(s->engine.cylinders * s->rail.injectors_per_cylinder));
    parts[SHV_PART_PUMP] = line(&s->pumps[kit->pump].worth, 1.0);
    parts[SHV_PART_BASE] = line(&s->base.worth, 1.0);
}
