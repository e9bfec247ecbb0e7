/* How long a run would take (src/cli/estimate.h). Each stage does some of its own work on what a
 * short sample of the sweep has found: how good the kits are does not matter for how long they
 * take. */
#include "cli/estimate.h"

#include <math.h>
#include <stdlib.h>

#include "cli/progress.h"

#define STAGE_SECONDS 0.7 /* for each later stage, or its first unit */
#define SHORT 0.1         /* s; what is below is not worth a number */

struct estimating {
    struct cli_study *s;
    struct shv_ranking best;
    struct shv_optimum *optima;
    size_t found;
    /* Of the stage being sampled. */
    double begun, first_at, first_done; /* s; when and how much it told first */
    double done, total;                 /* as last told */
};

static void begin(struct estimating *m)
{
    m->begun = seconds_now();
    m->first_at = m->first_done = NAN;
    m->done = m->total = 0.0;
}

/* Goes on until the time is used up and something was done in it. What comes before the first word
 * of a stage is not repeated, so it is not part of the pace. */
static bool watch(void *data, size_t done, size_t total)
{
    struct estimating *m = data;
    double now = seconds_now();
    if (isnan(m->first_at)) {
        m->first_at = now;
        m->first_done = (double)done;
    }
    m->done = (double)done;
    m->total = (double)total;
    return (now - m->first_at < STAGE_SECONDS || m->done <= m->first_done) &&
           !progress_interrupted();
}

/* Whether the stage was done or broken off by us; then how long all of it takes, of which the
 * sample had `share`, and `more` units that no sample has. */
static enum shv_status judge(const struct estimating *m, enum shv_status status, double share,
                             double more, double *seconds, struct shv_message *message)
{
    if (progress_interrupted()) {
        return shv_fail(message, SHV_STOPPED, "stopped");
    }
    if (status != SHV_OK && status != SHV_STOPPED) {
        return status;
    }
    double now = seconds_now(), pace = (now - m->first_at) / (m->done - m->first_done);
    if (!(pace >= 0.0) || !isfinite(pace)) { /* done before there was anything to tell twice */
        *seconds = (now - m->begun) / (share > 0.0 ? share : 1.0);
        return SHV_OK;
    }
    double units = m->total / (share > 0.0 ? share : 1.0) + more;
    *seconds = m->first_at - m->begun + pace * (units - m->first_done);
    return SHV_OK;
}

static enum shv_status keep(void *data, size_t row, const struct shv_optimum *optimum,
                            struct shv_message *message)
{
    struct estimating *m = data;
    (void)row;
    (void)message;
    m->optima[m->found++] = *optimum;
    return SHV_OK;
}

/* Where the search starts, of what the sample of the sweep has found. */
static enum shv_status take_starts(const struct estimating *m, struct shv_keep *starts,
                                   struct shv_message *message)
{
    enum shv_status status = shv_keep_init(starts, &m->s->study, message);
    for (size_t i = 0; i < m->best.count && status == SHV_OK; i++) {
        shv_keep_near(starts, m->best.item[i]);
    }
    return status;
}

static enum shv_status sample_search(struct estimating *m, struct cli_estimate *e,
                                     struct shv_message *message)
{
    const struct shv_study *study = &m->s->study;
    struct shv_optimum *all = NULL;
    struct shv_limit_worth *worths = NULL;
    size_t count, rows = study->blower_count * study->fuel_count;
    const struct shv_optimum_options how = {.watch = {watch, m}, .found = keep, .data = m};
    m->optima = calloc(rows, sizeof *m->optima);
    if (!m->optima) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a sample of the search");
    }
    struct shv_keep starts;
    enum shv_status status = take_starts(m, &starts, message);
    if (status != SHV_OK) {
        return status;
    }
    begin(m);
    status = shv_optimum_search(m->s->model, &m->s->space, &starts, &how, &all, &count, message);
    status = judge(m, status, 1.0, 0.0, &e->search, message);
    shv_keep_free(&starts);
    free(all);
    if (status != SHV_OK) {
        return status;
    }
    begin(m);
    status = shv_limit_worths_find(m->s->model, m->optima, m->found, &how.watch, &worths, &count,
                                   message);
    status = judge(m, status, (double)m->found / (double)rows, 0.0, &e->worth, message);
    free(worths);
    return status;
}

static enum shv_status sample_certainty(struct estimating *m, struct cli_estimate *e,
                                        struct shv_message *message)
{
    const struct shv_study *study = &m->s->study;
    const struct shv_watch own = {watch, m};
    size_t rows = study->search.enabled ? study->blower_count * study->fuel_count : 0;
    size_t listed =
        study->tolerances.rows < study->results.keep ? study->tolerances.rows : study->results.keep;
    size_t ranked = m->best.count < listed ? m->best.count : listed;
    struct shv_sure_list list;
    begin(m);
    enum shv_status status = shv_sure_search(m->s->model, &m->s->space, &m->best, NULL, m->optima,
                                             m->found, &own, &list, message);
    if (status == SHV_OK) {
        shv_sure_free(&list);
    }
    double share = (double)(ranked + m->found) / (double)(listed + rows);
    return judge(m, status, share, (double)shv_sure_sought(&study->tolerances), &e->certainty,
                 message);
}

static enum shv_status sample_stages(struct estimating *m, struct cli_estimate *e,
                                     struct shv_message *message)
{
    const struct shv_study *study = &m->s->study;
    const struct shv_sweep_options how = {.threads = 0};
    struct shv_estimate sweep;
    enum shv_status status = shv_sweep_estimate(m->s->model, &m->s->space, &how, CLI_SAMPLE_SECONDS,
                                                &m->best, &sweep, message);
    if (status != SHV_OK) {
        return status;
    }
    e->sweep = sweep.seconds;
    if (study->results.site_shortfalls) {
        e->sites = sweep.seconds;
    }
    if (study->search.enabled) {
        status = sample_search(m, e, message);
    }
    if (status == SHV_OK && study->tolerances.given) {
        status = sample_certainty(m, e, message);
    }
    if (status == SHV_OK && study->results.report) {
        e->page = shv_report_pages_seconds();
    }
    return status;
}

enum shv_status cli_estimate_run(struct cli_study *s, struct cli_estimate *e,
                                 struct shv_message *message)
{
    struct estimating m = {.s = s};
    *e = (struct cli_estimate){NAN, NAN, NAN, NAN, NAN, NAN, 0.0};
    enum shv_status status = shv_ranking_init(&m.best, s->study.results.keep, message);
    status = status == SHV_OK ? sample_stages(&m, e, message) : status;
    shv_ranking_free(&m.best);
    free(m.optima);
    const double stages[] = {e->sweep, e->sites, e->search, e->worth, e->certainty, e->page};
    for (size_t i = 0; i < sizeof stages / sizeof *stages; i++) {
        e->all += isnan(stages[i]) ? 0.0 : stages[i];
    }
    return status;
}

static void print_stage(const char *name, double seconds)
{
    char words[48];
    if (!isnan(seconds)) {
        printf("  %-20s %s\n", name,
               seconds < SHORT ? "a moment" : progress_duration(words, seconds));
    }
}

void cli_print_estimate(const struct cli_estimate *e)
{
    printf("\nA run would take, on this machine and by samples\n");
    print_stage("sweep", e->sweep);
    print_stage("sites", e->sites);
    print_stage("search", e->search);
    print_stage("worth of limits", e->worth);
    print_stage("certainty", e->certainty);
    print_stage("page", e->page);
    print_stage("all together", e->all);
}
