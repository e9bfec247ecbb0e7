/* A program that uses libsheave: the best kit of a study, what it makes, and what would be better
 * if any size could be had.
 *
 *     cc example.c $(pkg-config --cflags --libs sheave) -o example
 *     ./example /usr/share/sheave/configs/sample.cfg
 */
#include <sheave/sheave.h>

#include <stdio.h>
#include <stdlib.h>

static void say_kit(const struct shv_study *study, const struct shv_kit *kit,
                    const struct shv_curves *curves)
{
    size_t speed = 0;
    for (size_t i = 0; i < curves->speeds; i++) {
        if (curves->point[i].brake_power > curves->point[speed].brake_power) {
            speed = i;
        }
    }
    printf("%s, %.0f mm on %.0f mm: %.1f kW at %.0f rpm at %s\n", study->blowers[kit->blower].name,
           kit->crank_diameter * 1e3, kit->blower_diameter * 1e3,
           curves->point[speed].brake_power / 1e3, curves->point[speed].engine_speed * 60,
           study->sites[0].name);
}

/* Sweeps the space, and evaluates the best kit once more for its curves. */
static enum shv_status sweep(const struct shv_study *study, const struct shv_model *model,
                             const struct shv_space *space, struct shv_ranking *ranking,
                             struct shv_keep *keep, struct shv_message *message)
{
    struct shv_sweep_options options = {.keep = keep};
    struct shv_sweep_counts counts;
    struct shv_curves curves = {0};
    enum shv_status status = shv_sweep_run(model, space, &options, ranking, &counts, message);
    if (status != SHV_OK) {
        return status;
    }
    printf("%llu of %llu kits are feasible\n", (unsigned long long)counts.feasible,
           (unsigned long long)counts.total);
    if (ranking->count == 0) {
        return shv_fail(message, SHV_NOTHING, "no kit is feasible");
    }
    struct shv_kit kit;
    shv_space_kit(space, study, ranking->item[0].index, &kit);
    status = shv_curves_init(&curves, model, message);
    if (status == SHV_OK) {
        shv_model_evaluate(model, &kit, &curves);
        say_kit(study, &kit, &curves);
    }
    shv_curves_free(&curves);
    return status;
}

static enum shv_status search(const struct shv_study *study, const struct shv_model *model,
                              const struct shv_space *space, const struct shv_keep *keep,
                              struct shv_message *message)
{
    struct shv_optimum *optima = NULL;
    size_t count = 0;
    enum shv_status status = shv_optimum_search(model, space, keep, NULL, &optima, &count, message);
    for (size_t i = 0; status == SHV_OK && i < count; i++) {
        if (optima[i].found) {
            printf("%s with %s: ideal ratio %.3f\n", study->blowers[optima[i].blower].name,
                   study->fuels[optima[i].fuel].name, optima[i].ideal.ratio);
        }
    }
    free(optima);
    return status;
}

static enum shv_status work(const struct shv_study *study, struct shv_message *message)
{
    struct shv_model *model = NULL;
    struct shv_space space;
    struct shv_ranking ranking = {0};
    struct shv_keep keep = {0}; /* where the search starts */
    const struct shv_tables_options tables = {0};
    enum shv_status status = shv_space_init(&space, study, message);
    status = status == SHV_OK ? shv_model_create(study, &model, message) : status;
    status = status == SHV_OK ? shv_tables_prepare(model, &tables, NULL, message) : status;
    status = status == SHV_OK ? shv_ranking_init(&ranking, 10, message) : status;
    status = status == SHV_OK ? shv_keep_init(&keep, study, message) : status;
    status = status == SHV_OK ? sweep(study, model, &space, &ranking, &keep, message) : status;
    status = status == SHV_OK ? search(study, model, &space, &keep, message) : status;
    shv_keep_free(&keep);
    shv_ranking_free(&ranking);
    shv_model_free(model);
    return status;
}

int main(int argc, char **argv)
{
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    struct shv_message message = {{0}};
    if (argc != 2) {
        fprintf(stderr, "usage: example STUDY (libsheave %s)\n", shv_version());
        return 2;
    }
    enum shv_status status = shv_study_load(argv[1], &study, &findings);
    for (size_t i = 0; i < findings.count; i++) {
        fprintf(stderr, "%s\n", findings.items[i].text);
    }
    shv_diagnostics_free(&findings);
    if (status != SHV_OK) {
        return EXIT_FAILURE;
    }
    status = work(&study, &message);
    shv_study_free(&study);
    if (status != SHV_OK) {
        fprintf(stderr, "%s\n", message.text);
        return EXIT_FAILURE;
    }
    return EXIT_SUCCESS;
}
