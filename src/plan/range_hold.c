/* Rounds of asking which candidates hold (range_hold.h).
 *
 * A candidate that is unsure is taken to hold until it matters: until dominance keeps it or it is
 * its group's own best. Then it is asked for. If it fails, what it dominated comes forth, and is
 * asked for in the next round. So whatever is kept in the end holds, and whatever is dropped is
 * dominated by something that holds, as if all had been asked for.
 */
#include "plan/range_hold.h"

#include <stdlib.h>

#include "sheave/range_kits.h"

/* Asks for the unsure ones among those wanted, in the order of the group's list; NULL: all. */
static enum shv_status ask(const struct shv_range_problem *problem,
                           const struct shv_range_options *options, size_t g, const bool *wanted,
                           bool *asked, struct shv_message *message)
{
    const struct shv_range_group *group = &problem->group[g];
    struct shv_range_candidate **list = calloc(group->count + 1, sizeof *list);
    if (!list) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the candidates");
    }
    size_t count = 0;
    for (size_t i = 0; i < group->count; i++) {
        if (group->candidate[i].holds == SHV_RANGE_UNSURE && (!wanted || wanted[i])) {
            list[count++] = &group->candidate[i];
        }
    }
    *asked = *asked || count > 0;
    enum shv_status status =
        count > 0 ? options->judge(options->data, g, list, count, message) : SHV_OK;
    free(list);
    return status;
}

static enum shv_status ask_kept(const struct thin *thin, const struct shv_range_options *options,
                                size_t g, bool *asked, struct shv_message *message)
{
    const struct thin_group *group = &thin->group[g];
    bool *wanted = calloc(thin->problem->group[g].count + 1, sizeof *wanted);
    if (!wanted) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the candidates");
    }
    for (size_t i = 0; i < group->count; i++) {
        wanted[group->item[i].from] = true;
    }
    if (group->best != SHV_NONE) {
        wanted[group->best] = true;
    }
    enum shv_status status = ask(thin->problem, options, g, wanted, asked, message);
    free(wanted);
    return status;
}

enum shv_status hold_settle(struct thin *thin, const struct shv_range_problem *problem,
                            const struct shv_range_options *options, struct shv_message *message)
{
    while (true) {
        bool asked = false;
        enum shv_status status = thin_make(thin, problem, SHV_NONE, message);
        for (size_t g = 0; options->judge && g < problem->group_count && status == SHV_OK; g++) {
            status = ask_kept(thin, options, g, &asked, message);
        }
        if (status != SHV_OK || !asked) {
            return status;
        }
        thin_free(thin);
    }
}

enum shv_status hold_ask_all(const struct shv_range_problem *problem,
                             const struct shv_range_options *options, size_t group,
                             struct shv_message *message)
{
    bool asked = false;
    return options->judge ? ask(problem, options, group, NULL, &asked, message) : SHV_OK;
}

/* ---- by tolerances ---- */

enum shv_status shv_range_hold(struct shv_holding *holding, struct shv_range_candidate *const *list,
                               size_t count, const struct shv_watch *watch,
                               struct shv_message *message)
{
    struct shv_candidate *kits = calloc(count + 1, sizeof *kits);
    if (!kits) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the candidates");
    }
    for (size_t i = 0; i < count; i++) {
        kits[i] = (struct shv_candidate){list[i]->power, list[i]->index};
    }
    enum shv_status status = shv_holding_find(holding, kits, count, watch, message);
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        bool holds = kits[i].index != UINT64_MAX;
        list[i]->holds = holds ? SHV_RANGE_HOLDS : SHV_RANGE_FAILS;
        list[i]->power = holds ? kits[i].objective : list[i]->power;
        list[i]->index = holds ? kits[i].index : list[i]->index;
    }
    free(kits);
    return status;
}

enum shv_status shv_range_hold_row(struct shv_model *model, struct shv_range_row *row,
                                   struct shv_message *message)
{
    struct shv_sure *sure = calloc(1, sizeof *sure);
    enum shv_status status =
        sure ? shv_sure_kits(model, &row->kit, 1, NULL, sure, message)
             : shv_fail(message, SHV_NO_MEMORY, "out of memory for the probability of a kit");
    if (status == SHV_OK) {
        row->holds = sure->all;
    }
    free(sure);
    return status;
}
