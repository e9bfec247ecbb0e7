/* What a kit consists of: src/report/table/kit_choice.h. */
#include "report/table/kit_choice.h"

#include <math.h>

#include "report/write/words.h"
#include "rank/summary.h"

struct report_kit_choice report_kit_choice(const struct shv_space *space,
                                           const struct shv_study *study, uint64_t index)
{
    struct shv_kit kit;
    shv_space_kit(space, study, index, &kit);
    return (struct report_kit_choice){.index = index,
                                      .blower = study->blowers[kit.blower].name,
                                      .cooler = study->coolers[kit.cooler].name,
                                      .fuel = study->fuels[kit.fuel].name,
                                      .crank_pulley = kit.crank_diameter,
                                      .blower_pulley = kit.blower_diameter,
                                      .ratio = kit.ratio,
                                      .effectiveness = kit.effectiveness,
                                      .lambda = kit.lambda,
                                      .air_fuel_ratio = shv_kit_air_fuel_ratio(study, &kit),
                                      .aki = shv_fuel_aki(study, kit.fuel)};
}

struct report_kit_choice report_kit_choice_none(void)
{
    return (struct report_kit_choice){.index = REPORT_NO_COUNT,
                                      .crank_pulley = NAN,
                                      .blower_pulley = NAN,
                                      .ratio = NAN,
                                      .effectiveness = NAN,
                                      .lambda = NAN,
                                      .air_fuel_ratio = NAN,
                                      .aki = NAN};
}
