/* What is lost by doing with one kit everywhere: sheave/site_shortfall.h. */
#include "sheave/site_shortfall.h"

#include <math.h>
#include <stdlib.h>

/* The progress of one site's sweep as a part of all of them. */
struct site_parts {
    const struct shv_sweep_options *options;
    uint64_t site, sites;
};

static bool pass_on(void *data, uint64_t done, uint64_t total, double best)
{
    const struct site_parts *p = data;
    return p->options->progress(p->options->progress_data, p->site * total + done, p->sites * total,
                                best);
}

/* The best combination at a site alone. */
static enum shv_status best_alone(const struct shv_model *there, const struct shv_space *space,
                                  const struct shv_sweep_options *options, size_t sites,
                                  struct shv_site_shortfall *shortfall, struct shv_message *message)
{
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct site_parts parts = {options, shortfall->site, sites};
    const struct shv_sweep_options own = {.threads = options->threads,
                                          .progress = options->progress ? pass_on : NULL,
                                          .progress_data = &parts};
    enum shv_status status = shv_ranking_init(&ranking, 1, message);
    if (status != SHV_OK) {
        return status;
    }
    status = shv_sweep_run(there, space, &own, &ranking, &counts, message);
    if (status == SHV_OK && ranking.count > 0) {
        shortfall->found = true;
        shortfall->index = ranking.item[0].index;
        shortfall->alone = ranking.item[0].objective;
    }
    shv_ranking_free(&ranking);
    return status;
}

/* How that combination does at all sites. */
static void judge_elsewhere(const struct shv_model *model, const struct shv_space *space,
                            struct shv_curves *curves, struct shv_site_shortfall *shortfall)
{
    struct shv_kit kit;
    shv_space_kit(space, shv_model_study(model), shortfall->index, &kit);
    shv_model_evaluate(model, &kit, curves);
    const struct shv_verdict *v = &curves->verdict;
    shortfall->holds = v->feasible;
    if (v->outcome != SHV_POINT_OK) {
        shortfall->outcome = v->outcome;
        shortfall->broken_site = v->failed_site;
    } else if (v->first_broken >= 0) {
        shortfall->broken = v->first_broken;
        shortfall->broken_site = v->limit[v->first_broken].site;
    }
}

static enum shv_status common_there(const struct shv_model *there, const struct shv_space *space,
                                    uint64_t best, struct shv_site_shortfall *shortfall,
                                    struct shv_message *message)
{
    struct shv_curves curves;
    struct shv_kit kit;
    enum shv_status status = shv_curves_init(&curves, there, message);
    if (status == SHV_OK) {
        shv_space_kit(space, shv_model_study(there), best, &kit);
        shv_model_evaluate(there, &kit, &curves);
        shortfall->common = curves.verdict.objective;
    }
    shv_curves_free(&curves);
    return status;
}

static enum shv_status find_at_site(const struct shv_model *model, const struct shv_space *space,
                                    const uint64_t *best, const struct shv_sweep_options *options,
                                    struct shv_curves *curves, struct shv_site_shortfall *shortfall,
                                    struct shv_message *message)
{
    struct shv_model *there;
    enum shv_status status = shv_model_of_site(model, shortfall->site, &there, message);
    if (status != SHV_OK) {
        return status;
    }
    status =
        best_alone(there, space, options, shv_model_study(model)->site_count, shortfall, message);
    if (status == SHV_OK && best) {
        status = common_there(there, space, *best, shortfall, message);
    }
    if (status == SHV_OK && shortfall->found) {
        judge_elsewhere(model, space, curves, shortfall);
    }
    shv_model_free(there);
    return status;
}

enum shv_status shv_site_shortfalls(const struct shv_model *model, const struct shv_space *space,
                                    const uint64_t *best, const struct shv_sweep_options *options,
                                    struct shv_site_shortfall **shortfalls,
                                    struct shv_message *message)
{
    size_t sites = shv_model_study(model)->site_count;
    struct shv_curves curves = {.sites = 0};
    *shortfalls = calloc(sites + 1, sizeof **shortfalls);
    if (!*shortfalls) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the sites' own kits");
    }
    enum shv_status status = shv_curves_init(&curves, model, message);
    for (size_t i = 0; i < sites && status == SHV_OK; i++) {
        struct shv_site_shortfall *shortfall = &(*shortfalls)[i];
        *shortfall =
            (struct shv_site_shortfall){.site = i, .alone = NAN, .common = NAN, .broken = -1};
        status = find_at_site(model, space, best, options, &curves, shortfall, message);
    }
    shv_curves_free(&curves);
    if (status != SHV_OK) {
        free(*shortfalls);
        *shortfalls = NULL;
    }
    return status;
}
