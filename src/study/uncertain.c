/* Rules of corrections and tolerances (checks.h). */
#include "study/checks.h"

#include <math.h>
#include <stdlib.h>

#include "study/correlated.h"
#include "study/reader.h"

/* Keys that would change nothing in this study. */
static void check_effect(struct reader *reader, const config_setting_t *setting,
                         const struct draft *draft)
{
    static const char *const of_cycle[] = {"knock", "octane", NULL};
    static const char *const of_belt[] = {"belt_friction", NULL};
    static const char *const of_injectors[] = {"injector_flow", NULL};
    if (draft->is_fitted) {
        return; /* the study that includes it will tell */
    }
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

/* ---- tolerances ---- */

void check_tolerance(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct shv_tolerance *t = base;
    bool deviation = is_given(setting, "standard_deviation");
    bool width = is_given(setting, "half_width");
    t->given = true;
    if (!is_given(setting, "distribution")) {
        t->distribution = width ? SHV_UNIFORM : SHV_NORMAL;
    }
    if (deviation == width) {
        reader_error(reader, setting, NULL,
                     "found %s; accepted: one of standard_deviation and half_width",
                     width ? "both standard_deviation and half_width" : "neither");
    } else if (width && t->distribution == SHV_NORMAL) {
        reader_error(reader, setting, "half_width",
                     "found with distribution = \"normal\"; accepted: standard_deviation");
    } else if (deviation && (t->distribution == SHV_UNIFORM || t->distribution == SHV_TRIANGULAR)) {
        reader_error(reader, setting, "standard_deviation",
                     "found with a distribution that is not normal; accepted: half_width");
    }
}

/* The far ends of a tolerance, in a group of them, must be corrections that are accepted. */
static void check_reach(struct reader *reader, const config_setting_t *setting,
                        const struct shv_study *study, const struct shv_tolerance *t,
                        enum shv_correction which)
{
    const struct shv_correction_info *info = shv_correction_info(which);
    double middle = study->corrected ? study->corrections.value[which] : info->neutral;
    bool normal = t->distribution == SHV_NORMAL;
    double reach = normal ? SHV_NORMAL_CUT * t->standard_deviation : t->half_width;
    double room = fmin(middle - info->least, info->most - middle);
    if (!(reach <= room * (1.0 + 1e-12)) && !isnan(reach)) {
        double most = normal ? room / SHV_NORMAL_CUT : room;
        reader_error(reader, reader_member(setting, info->name),
                     normal ? "standard_deviation" : "half_width",
                     "found %.10g; accepted here: up to %.10g%s, so that %s stays within %.10g to "
                     "%.10g",
                     normal ? t->standard_deviation : t->half_width, most,
                     normal ? " (a quarter of the room, since a normal distribution is cut at 4)"
                            : "",
                     info->name, info->least, info->most);
    }
}

static void check_correlations(struct reader *reader, const config_setting_t *setting,
                               const struct shv_tolerances *tolerances)
{
    const struct shv_correlation *c = tolerances->correlations;
    size_t count = tolerances->correlation_count;
    const config_setting_t *list = reader_member(setting, "correlations");
    size_t before = reader->errors;
    for (size_t i = 0; i < count; i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        if ((int)c[i].a < 0 || (int)c[i].b < 0) {
            return; /* told already */
        }
        if (c[i].a == c[i].b) {
            reader_error(reader, entry, "and", "found the same name as between");
        } else if (!tolerances->of[c[i].a].given || !tolerances->of[c[i].b].given) {
            enum shv_correction which = tolerances->of[c[i].a].given ? c[i].b : c[i].a;
            reader_error(reader, entry, NULL, "found \"%s\", which has no tolerance",
                         shv_correction_info(which)->name);
        }
        for (size_t k = 0; k < i; k++) {
            if ((c[k].a == c[i].a && c[k].b == c[i].b) || (c[k].a == c[i].b && c[k].b == c[i].a)) {
                reader_error(reader, entry, NULL, "found the same pair as in entry %zu", k + 1);
            }
        }
    }
    struct correlated unused;
    if (count > 0 && reader->errors == before &&
        !correlated_init(&unused, tolerances->of, c, count)) {
        reader_error(reader, list, NULL,
                     "found correlations that cannot all be: their matrix is not positive "
                     "definite; accepted: smaller ones");
    }
}

/* ---- tolerances of a blower's own ---- */

static const enum shv_correction of_blowers[] = {SHV_CORRECT_LEAKAGE, SHV_CORRECT_FILLING_LOSS,
                                                 SHV_CORRECT_BLOWER_FRICTION};
#define OF_BLOWERS (sizeof of_blowers / sizeof *of_blowers)

static const struct shv_tolerance *own_of(const struct reader *reader, size_t blower, size_t k)
{
    const struct blower_draft *drafts = (const void *)reader->chosen[ENTRIES_BLOWERS].drafts;
    const struct blower_tolerances *t = &drafts[blower].tolerances;
    const struct shv_tolerance *const own[OF_BLOWERS] = {&t->leakage, &t->filling_loss,
                                                         &t->blower_friction};
    return own[k];
}

static double width_of(const struct shv_tolerance *t)
{
    return t->distribution == SHV_NORMAL ? t->standard_deviation : t->half_width;
}

/* Where the study has none the widest of the blowers' is drawn. */
static void take_widest(const struct reader *reader, struct shv_tolerances *t, size_t k)
{
    enum shv_correction which = of_blowers[k];
    bool by_study = t->of[which].given;
    for (size_t i = 0; !by_study && i < reader->chosen[ENTRIES_BLOWERS].count; i++) {
        const struct shv_tolerance *own = own_of(reader, i, k);
        if (own->given && (!t->of[which].given || width_of(own) > width_of(&t->of[which]))) {
            t->of[which] = *own;
            t->by_blowers[which] = true;
        }
    }
}

static void spread_of_blower(struct reader *reader, struct shv_study *study, size_t i, size_t k)
{
    struct shv_tolerances *t = &study->tolerances;
    enum shv_correction which = of_blowers[k];
    const struct shv_tolerance *own = own_of(reader, i, k);
    const config_setting_t *entry = reader->chosen[ENTRIES_BLOWERS].part[i].setting;
    const config_setting_t *group = reader_member(entry, "tolerances");
    if (!own->given) {
        t->spread[i][which] = t->by_blowers[which] ? 0.0 : 1.0;
        return;
    }
    t->spread[i][which] = width_of(own) / width_of(&t->of[which]);
    if (own->distribution != t->of[which].distribution) {
        reader_error(reader, group, shv_correction_info(which)->name,
                     "found another distribution than that of %s; accepted: the same",
                     t->by_blowers[which] ? "another blower" : "the study's tolerance");
    }
    check_reach(reader, group, study, own, which);
}

static bool any_own(const struct reader *reader)
{
    bool any = false;
    for (size_t i = 0; i < reader->chosen[ENTRIES_BLOWERS].count; i++) {
        for (size_t k = 0; k < OF_BLOWERS; k++) {
            any = any || own_of(reader, i, k)->given;
        }
    }
    return any;
}

static void take_blowers(struct reader *reader, struct shv_study *study)
{
    struct shv_tolerances *t = &study->tolerances;
    size_t count = reader->chosen[ENTRIES_BLOWERS].count;
    if (!any_own(reader)) {
        return;
    }
    t->spread = malloc(count * sizeof *t->spread);
    if (!t->spread) {
        reader->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < count; i++) {
        for (int which = 0; which < SHV_CORRECTION_COUNT; which++) {
            t->spread[i][which] = 1.0;
        }
    }
    for (size_t k = 0; k < OF_BLOWERS; k++) {
        take_widest(reader, t, k);
        for (size_t i = 0; i < count; i++) {
            spread_of_blower(reader, study, i, k);
        }
    }
}

void warn_of_blowers_alone(struct reader *reader, const struct draft *draft)
{
    if (!draft->study.tolerances.given && any_own(reader)) {
        reader_warning(reader, NULL, "tolerances",
                       "a blower has tolerances, which act in a study that has this group: "
                       "tolerances = { hold = 0.95; };");
    }
}

void check_tolerances(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_tolerances *t = &draft->study.tolerances;
    size_t named = 0;
    t->given = true;
    take_blowers(reader, &draft->study);
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        if (t->of[i].given && !t->by_blowers[i]) {
            check_reach(reader, setting, &draft->study, &t->of[i], (enum shv_correction)i);
        }
        named += t->of[i].given ? 1 : 0;
    }
    check_effect(reader, setting, draft);
    if (named == 0) {
        reader_error(reader, setting, NULL, "found no tolerance; accepted: one at least");
    }
    if ((t->samples & (t->samples - 1)) != 0) {
        reader_error(reader, setting, "samples",
                     "found %zu; accepted: a power of 2, such as 512 or 1024", t->samples);
    }
    check_correlations(reader, setting, t);
}
