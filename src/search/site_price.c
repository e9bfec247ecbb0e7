/* The price of doing with one kit everywhere: sheave/site_price.h. */
#include "sheave/site_price.h"

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
                                  struct shv_site_price *price, struct shv_message *message)
{
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct site_parts parts = {options, price->site, sites};
    const struct shv_sweep_options own = {.threads = options->threads,
                                          .progress = options->progress ? pass_on : NULL,
                                          .progress_data = &parts};
    enum shv_status status = shv_ranking_init(&ranking, 1, message);
    if (status != SHV_OK) {
        return status;
    }
    status = shv_sweep_run(there, space, &own, &ranking, &counts, message);
    if (status == SHV_OK && ranking.count > 0) {
        price->found = true;
        price->index = ranking.item[0].index;
        price->alone = ranking.item[0].objective;
    }
    shv_ranking_free(&ranking);
    return status;
}

/* How that combination does at all sites. */
static void judge_elsewhere(const struct shv_model *model, const struct shv_space *space,
                            struct shv_curves *curves, struct shv_site_price *price)
{
    struct shv_kit kit;
    shv_space_kit(space, shv_model_study(model), price->index, &kit);
    shv_model_evaluate(model, &kit, curves);
    const struct shv_verdict *v = &curves->verdict;
    price->holds = v->feasible;
    if (v->outcome != SHV_POINT_OK) {
        price->outcome = v->outcome;
        price->broken_site = v->failed_site;
    } else if (v->first_broken >= 0) {
        price->broken = v->first_broken;
        price->broken_site = v->limit[v->first_broken].site;
    }
}

static enum shv_status common_there(const struct shv_model *there, const struct shv_space *space,
                                    uint64_t best, struct shv_site_price *price,
                                    struct shv_message *message)
{
    struct shv_curves curves;
    struct shv_kit kit;
    enum shv_status status = shv_curves_init(&curves, there, message);
    if (status == SHV_OK) {
        shv_space_kit(space, shv_model_study(there), best, &kit);
        shv_model_evaluate(there, &kit, &curves);
        price->common = curves.verdict.objective;
    }
    shv_curves_free(&curves);
    return status;
}

static enum shv_status price_site(const struct shv_model *model, const struct shv_space *space,
                                  const uint64_t *best, const struct shv_sweep_options *options,
                                  struct shv_curves *curves, struct shv_site_price *price,
                                  struct shv_message *message)
{
    struct shv_model *there;
    enum shv_status status = shv_model_of_site(model, price->site, &there, message);
    if (status != SHV_OK) {
        return status;
    }
    status = best_alone(there, space, options, shv_model_study(model)->site_count, price, message);
    if (status == SHV_OK && best) {
        status = common_there(there, space, *best, price, message);
    }
    if (status == SHV_OK && price->found) {
        judge_elsewhere(model, space, curves, price);
    }
    shv_model_free(there);
    return status;
}

enum shv_status shv_site_prices(const struct shv_model *model, const struct shv_space *space,
                                const uint64_t *best, const struct shv_sweep_options *options,
                                struct shv_site_price **prices, struct shv_message *message)
{
    size_t sites = shv_model_study(model)->site_count;
    struct shv_curves curves = {.sites = 0};
    *prices = calloc(sites + 1, sizeof **prices);
    if (!*prices) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the sites' own kits");
    }
    enum shv_status status = shv_curves_init(&curves, model, message);
    for (size_t i = 0; i < sites && status == SHV_OK; i++) {
        struct shv_site_price *price = &(*prices)[i];
        *price = (struct shv_site_price){.site = i, .alone = NAN, .common = NAN, .broken = -1};
        status = price_site(model, space, best, options, &curves, price, message);
    }
    shv_curves_free(&curves);
    if (status != SHV_OK) {
        free(*prices);
        *prices = NULL;
    }
    return status;
}
