/* What the first place of a ranking hangs on (hangs.h). */
#include "certainty/hangs.h"

#include <math.h>

/* Of a normal tolerance the departures of 95 % of all cases are looked at, of the others all. */
#define NORMAL_REACH 1.96
/* Steps to either side in which a change of places is sought, and halvings that narrow it down. */
#define STEPS 8
#define HALVINGS 30

struct rivals {
    const struct sure_plan *plan;
    const struct shv_kit *first, *rival;
    struct shv_curves *curves;
    enum shv_correction which;
    enum shv_status status; /* SHV_NO_MEMORY is kept: it is no answer that is missing */
};

/* How much more the first makes with this departure, limits aside; NAN without an answer. */
static double lead(struct rivals *p, double departure)
{
    struct shv_corrections c = p->plan->middle;
    struct shv_model *model;
    c.value[p->which] += departure;
    enum shv_status status = shv_model_correct(p->plan->model, &c, &model, NULL);
    if (status != SHV_OK) {
        p->status = status == SHV_NO_MEMORY ? status : p->status;
        return NAN;
    }
    shv_model_evaluate(model, p->first, p->curves);
    double first = p->curves->verdict.objective;
    shv_model_evaluate(model, p->rival, p->curves);
    double lead = first - p->curves->verdict.objective;
    shv_model_free(model);
    return lead;
}

/* The departure between two, at the first of which the first leads, where it does no more. */
static double narrowed(struct rivals *p, double leads, double behind)
{
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (leads + behind);
        *(lead(p, middle) > 0.0 ? &leads : &behind) = middle;
    }
    return behind;
}

static double reach_of(const struct shv_tolerance *t)
{
    return t->distribution == SHV_NORMAL ? NORMAL_REACH * t->standard_deviation : t->half_width;
}

/* The nearest departure at which the rival is as good; NAN when there is none within reach. */
static double change_of_places(struct rivals *p)
{
    double reach = reach_of(&p->plan->tolerances->of[p->which]);
    double here[2] = {0.0, 0.0}; /* so far the first leads, to either side */
    for (int i = 1; i <= STEPS; i++) {
        for (int side = 0; side < 2; side++) {
            double next = (side == 0 ? 1.0 : -1.0) * reach * i / STEPS;
            double lead_there = lead(p, next);
            if (lead_there <= 0.0) {
                return narrowed(p, here[side], next);
            }
            here[side] = isnan(lead_there) ? here[side] : next;
        }
    }
    return NAN;
}

static enum shv_status find_decider(const struct sure_plan *plan, const struct shv_kit *first,
                                    struct shv_curves *curves, struct shv_rival *rival)
{
    enum shv_status status = SHV_OK;
    rival->decides = -1;
    rival->departure = NAN;
    rival->deviations = INFINITY;
    for (size_t i = 0; i < plan->correlated.count && status == SHV_OK; i++) {
        struct rivals p = {plan, first, &rival->kit, curves, plan->correlated.which[i], SHV_OK};
        double departure = change_of_places(&p);
        status = p.status;
        double deviations =
            fabs(departure) / shv_tolerance_deviation(&plan->tolerances->of[p.which]);
        if (deviations < rival->deviations) {
            rival->decides = (int)p.which;
            rival->departure = departure;
            rival->deviations = deviations;
        }
    }
    return status;
}

/* ---- rivals ---- */

static bool is_other(const struct shv_kit *first, const struct shv_sure_list *list,
                     const struct shv_kit *kit)
{
    bool other = kit->blower != first->blower || kit->fuel != first->fuel;
    for (size_t i = 0; i < list->rivals; i++) {
        const struct shv_kit *taken = &list->rival[i].kit;
        other = other && (kit->blower != taken->blower || kit->fuel != taken->fuel);
    }
    return other;
}

enum shv_status sure_hangs(const struct sure_plan *plan, const struct shv_space *space,
                           const struct shv_ranking *ranking, struct shv_sure_list *list,
                           struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(plan->model);
    struct shv_kit first, kit;
    struct shv_curves curves;
    enum shv_status status = shv_curves_init(&curves, plan->model, message);
    for (size_t i = 0; status == SHV_OK && i < ranking->count && list->rivals < SHV_RIVALS; i++) {
        shv_space_kit(space, study, ranking->item[i].index, &kit);
        if (i == 0) {
            first = kit;
        } else if (is_other(&first, list, &kit)) {
            struct shv_rival *rival = &list->rival[list->rivals++];
            *rival = (struct shv_rival){.kit = kit,
                                        .place = i,
                                        .behind = ranking->item[0].objective -
                                                  ranking->item[i].objective};
            status = find_decider(plan, &first, &curves, rival);
        }
    }
    shv_curves_free(&curves);
    return status == SHV_NO_MEMORY
               ? shv_fail(message, status, "out of memory for what the first place hangs on")
               : status;
}
