/* Rules of corrections and tolerances (checks.h). */
#include "study/checks.h"

#include <math.h>

#include "study/reader.h"

/* Keys that would change nothing in this study. */
static void check_effect(struct reader *reader, const config_setting_t *setting,
                         const struct draft *draft)
{
    static const char *const of_cycle[] = {"knock", "octane", NULL};
    static const char *const of_belt[] = {"belt_friction", NULL};
    static const char *const of_injectors[] = {"injector_flow", NULL};
    if (draft->study.engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        reject_given(reader, setting, of_cycle, "engine.efficiency.model = \"cycle\"");
    }
    if (!draft->study.drive.belt.given) {
        reject_given(reader, setting, of_belt, "drive.belt");
    }
    if (!names_parts(reader->root, "injectors")) {
        reject_given(reader, setting, of_injectors, "injectors");
    }
}

void check_corrections(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_study *study = &draft->study;
    for (int i = SHV_CORRECT_IN_STUDY; i < SHV_CORRECTION_COUNT; i++) {
        study->corrections.value[i] = shv_correction_info((enum shv_correction)i)->neutral;
    }
    study->corrected = !shv_corrections_are_neutral(&study->corrections);
    check_effect(reader, setting, draft);
    double scale = study->engine.knock.scale * study->corrections.value[SHV_CORRECT_KNOCK];
    if (scale < 0.1 || scale > 10.0) {
        reader_error(reader, setting, "knock",
                     "found %.10g, which makes engine.knock.scale %.4g; accepted: 0.1 to 10",
                     study->corrections.value[SHV_CORRECT_KNOCK], scale);
    }
}
