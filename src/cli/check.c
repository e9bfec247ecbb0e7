/* sheave check: reads and checks a study, says what would run. */
#include <math.h>

#include "cli/cli.h"
#include "report/text.h"
#include "report/words.h"

static const struct cli_option options[] = {{NULL, NULL, NULL}};

static void print_size(const struct cli_study *s)
{
    char room[32];
    printf("\nDimensions\n");
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        printf("  %-20s %12s\n", shv_dim_name((enum shv_dim)d),
               report_thousands(room, s->space.count[d]));
    }
    printf("  %-20s %12s combination%s\n", "all together", report_thousands(room, s->space.size),
           s->space.size == 1 ? "" : "s");
    uint64_t points = s->study.site_count * s->study.engine.speed_count;
    char sites[32], speeds[32];
    printf(
        "\nEach at %s site%s and %s engine speeds (%.0f to %.0f rpm): %s points a combination.\n",
        report_thousands(sites, s->study.site_count), s->study.site_count == 1 ? "" : "s",
        report_thousands(speeds, s->study.engine.speed_count), s->study.engine.speeds[0] * 60.0,
        s->study.engine.speeds[s->study.engine.speed_count - 1] * 60.0,
        report_thousands(room, points));
}

static void print_sites(const struct shv_study *study)
{
    printf("\nSites\n");
    for (size_t i = 0; i < study->site_count; i++) {
        const struct shv_site *s = &study->sites[i];
        char pressure[REPORT_WORDS_MAX], temperature[REPORT_WORDS_MAX];
        report_words_quantity(pressure, REPORT_PRESSURE, study->results.units, s->ambient.pressure);
        report_words_quantity(temperature, REPORT_TEMPERATURE, study->results.units,
                              s->ambient.temperature);
        int blanks = 24 - report_characters(s->name); /* printf would count bytes */
        printf("  %s%*s %10s  %10s  humidity %3.0f %%  weight %g\n", s->name,
               blanks > 0 ? blanks : 0, "", pressure, temperature,
               s->ambient.relative_humidity * 100.0, s->weight);
    }
}

static void print_limits(const struct shv_study *study)
{
    printf("\nLimits\n");
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)k);
        bool by_blower = false;
        for (size_t b = 0; b < study->blower_count; b++) {
            double bound = shv_limit_bound(study, &study->blowers[b], (enum shv_limit)k);
            by_blower = by_blower || bound < study->limit[k];
        }
        if (isfinite(study->limit[k])) {
            char words[REPORT_WORDS_MAX];
            report_words_quantity(words, report_value_measure(info->quantity), study->results.units,
                                  study->limit[k]);
            printf("  %-24s %s%s\n", info->title, words,
                   by_blower ? ", lower for some blowers" : "");
        } else if (by_blower) {
            printf("  %-24s by blower\n", info->title);
        }
    }
}

/* Loading warned already when it is unlikely. */
static void print_tie(const struct cli_study *s)
{
    if (s->study.engine.efficiency_kind != SHV_EFFICIENCY_STOCK_TORQUE) {
        return;
    }
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < s->study.engine.speed_count; i++) {
        double e = shv_model_tied_efficiency(s->model, i);
        low = e < low ? e : low;
        high = e > high ? e : high;
    }
    printf("\nThe stock torque curve asks for a gross indicated efficiency of %.3f to %.3f.\n", low,
           high);
}

static int ignore(void *data, const char *name, const char *argument)
{
    (void)data;
    (void)name;
    (void)argument;
    return 0;
}

static int run(int argc, char **argv)
{
    const char *path;
    int code = cli_parse(&cli_check, argc, argv, ignore, NULL, &path);
    if (code >= 0) {
        return code;
    }
    struct cli_study s;
    code = cli_load("check", path, &s);
    if (code >= 0) {
        return code;
    }
    printf("%s\n%s, engine %s, %.3f L\n", s.study.title, path, s.study.engine.name,
           s.study.engine.displacement * 1e3);
    print_sites(&s.study);
    print_size(&s);
    print_limits(&s.study);
    print_tie(&s);
    printf("\nResults would go to %s. Nothing was evaluated.\n", s.study.results.folder);
    cli_unload(&s);
    return CLI_DONE;
}

const struct cli_command cli_check = {"check",
                                      "STUDY",
                                      "read and check a study, say what would run",
                                      "Reads and checks a study file and everything it includes, "
                                      "and tells every error at once, with\n"
                                      "file, line, key, what was found and what is accepted. "
                                      "Prints the plan and its size. Evaluates\n"
                                      "nothing and writes nothing.\n",
                                      options,
                                      false,
                                      run};
