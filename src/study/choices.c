/* Trade-offs and the fuels that one kit serves: checks across keys, and into the study. */
#include <libconfig.h>
#include <stdlib.h>

#include "study/checks.h"
#include "study/reader.h"

size_t shv_tradeoff_dims(const struct shv_tradeoff *tradeoff)
{
    return tradeoff->of[2] == SHV_TRADE_COUNT ? 2 : 3;
}

static bool trades_torque(const struct shv_tradeoff *t)
{
    return t->of[0] == SHV_TRADE_TORQUE || t->of[1] == SHV_TRADE_TORQUE ||
           t->of[2] == SHV_TRADE_TORQUE;
}

/* Words that were not understood are told already, and are -1. */
static bool is_thing(enum shv_trade of)
{
    return (int)of >= 0 && of != SHV_TRADE_COUNT;
}

static void check_tradeoff(struct reader *reader, const config_setting_t *entry,
                           struct shv_engine *engine, struct shv_tradeoff *t)
{
    static const char *const at[] = {"at", NULL};
    static const char *const key[] = {"best", "against", "third"};
    for (size_t i = 0; i < 2; i++) {
        if (t->of[i] == SHV_TRADE_COUNT) {
            reader_error(
                reader, entry, key[i],
                "found \"none\"; accepted: a thing that is wanted; only third may be none");
        }
    }
    for (size_t i = 1; i < 3; i++) {
        for (size_t k = 0; k < i; k++) {
            if (is_thing(t->of[i]) && t->of[i] == t->of[k]) {
                reader_error(reader, entry, key[i], "found what %s says already; accepted: another",
                             key[k]);
            }
        }
    }
    if (trades_torque(t)) {
        require_given(reader, entry, "at", "torque");
        use_speed(reader, entry, "at", engine, &t->at);
    } else {
        reject_given(reader, entry, at, "torque");
    }
}

static void take_tradeoffs(struct reader *reader, const config_setting_t *list, struct draft *draft)
{
    for (size_t i = 0; i < draft->study.tradeoff_count; i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        if (config_setting_is_group(entry)) {
            check_tradeoff(reader, entry, &draft->study.engine, &draft->study.tradeoffs[i]);
        }
    }
}

static void take_serves(struct reader *reader, const config_setting_t *list, struct draft *draft)
{
    const struct serve_draft *drafts = draft->serves;
    if (draft->serve_count == 0) {
        return;
    }
    struct shv_serve *serves = calloc(draft->serve_count, sizeof *serves);
    if (serves == NULL) {
        reader->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < draft->serve_count; i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        serves[i].weight = drafts[i].weight;
        (void)find_fuel(reader, entry, drafts[i].fuel, &serves[i].fuel);
    }
    draft->study.serves = serves;
    draft->study.serve_count = draft->serve_count;
}

void resolve_choices(struct reader *reader, const config_setting_t *setting, struct draft *draft)
{
    take_tradeoffs(reader, reader_member(setting, "tradeoffs"), draft);
    take_serves(reader, reader_member(setting, "serves"), draft);
}
