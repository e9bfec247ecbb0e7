/* What would have to give where nothing is feasible (src/report/text/nearest.h). */
#include "report/text/nearest.h"

#include <math.h>
#include <string.h>

#include "report/write/words.h"

#define NAME 24
#define LIMITS_SAID 4 /* of a kit that breaks several */

/* " brake torque by 58.3 N m, from 120.0 N m to 178.3 N m, at 4000 rpm, harbour" */
static void limit_words(char *words, size_t room, const struct shv_study *study,
                        const struct shv_verdict *v, enum shv_limit limit)
{
    const struct shv_limit_info *info = shv_limit_info(limit);
    const struct shv_limit_result *r = &v->limit[limit];
    enum report_measure measure = report_value_measure(limit);
    char by[REPORT_WORDS_MAX], from[REPORT_WORDS_MAX], to[REPORT_WORDS_MAX];
    char where[REPORT_WORDS_MAX];
    (void)report_words_place(where, study, r, limit, ", ");
    (void)report_words_value(from, study, measure, r->bound);
    if (!isfinite(r->value)) {
        (void)snprintf(words, room, "%s, which has no end (bound %s)%s", info->title, from, where);
        return;
    }
    (void)snprintf(words, room, "%s by %s (from %s to %s)%s", info->title,
                   report_words_value(by, study, report_room_measure(limit), fabs(r->margin)), from,
                   report_words_value(to, study, measure, r->value), where);
}

static void all_limit_words(char *words, size_t room, const struct shv_study *study,
                            const struct shv_verdict *v)
{
    size_t said = 0, broken = (size_t)__builtin_popcountll(v->broken);
    words[0] = '\0';
    for (int k = 0; k < SHV_LIMIT_COUNT && said < LIMITS_SAID; k++) {
        size_t used = strlen(words);
        if (!(v->broken & SHV_LIMIT_BIT(k))) {
            continue;
        }
        (void)snprintf(words + used, room - used, "%s", said > 0 ? ", and " : "");
        used = strlen(words);
        limit_words(words + used, room - used, study, v, (enum shv_limit)k);
        said++;
    }
    size_t used = strlen(words);
    if (broken > said) {
        (void)snprintf(words + used, room - used, ", and %zu more", broken - said);
    }
}

static void say_one(struct report_text *out, const struct shv_study *study,
                    const struct shv_space *space, const struct shv_nearest *n)
{
    struct shv_kit kit;
    struct report_kit_words w;
    char limits[LIMITS_SAID * (3 * REPORT_WORDS_MAX + 64)];
    shv_space_kit(space, study, n->index, &kit);
    report_words_kit(&w, study, &kit, NAME, "cooler %s of %.3g");
    all_limit_words(limits, sizeof limits, study, &n->verdict);
    report_text_say(out, "  - %s%s. Combination %llu: blower %s, pulleys %s on %s, %s, %s at %s%s.",
                    n->alone >= 0 ? "only " : "together ", limits, (unsigned long long)n->index,
                    w.blower, w.crank, w.pulley, w.core, w.fuel, w.mixture, w.supply);
}

void report_say_nearest(struct report_text *out, const struct shv_study *study,
                        const struct shv_space *space, const struct shv_nearest *nearest,
                        size_t count, size_t most)
{
    /* The last of all may be the one where several give together: it is said too. */
    size_t first = count < most ? count : most;
    bool last_too = count > most && nearest[count - 1].alone < 0;
    if (count == 0) {
        return;
    }
    report_text_say(out, "The nearest kits found, and which limit would have to give by how much:");
    for (size_t i = 0; i < first; i++) {
        const struct shv_nearest *n =
            last_too && i + 1 == first ? &nearest[count - 1] : &nearest[i];
        say_one(out, study, space, n);
    }
}
