/* Whatever the bytes are, a reader takes them or says what is wrong; what else it does is for
 * sanitizers to find. */
#include "fuzz/targets.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli/pick.h"
#include "report/table/results.h"
#include "sheave/sheave.h"
#include "sweep/cycle_cache.h"

#define STUDIES SHEAVE_SOURCE_DIR "/tests/cli/studies/"

/* A folder of this process, made when it is first asked for and removed at the end. */
static char folder[128];
static bool is_there;

static void remove_folder(void)
{
    char command[sizeof folder + 16];
    (void)snprintf(command, sizeof command, "rm -rf %s", folder);
    if (system(command) != 0) {
        abort();
    }
}

static void make_folder(void)
{
    const char *where = getenv("TMPDIR");
    int length = snprintf(folder, sizeof folder, "%s/sheave-fuzz-XXXXXX", where ? where : "/tmp");
    if (length >= (int)sizeof folder || !mkdtemp(folder) || atexit(remove_folder) != 0) {
        abort();
    }
    is_there = true;
}

static const char *path_in(char path[256], const char *name)
{
    if (!is_there) {
        make_folder();
    }
    (void)snprintf(path, 256, "%s/%s", folder, name);
    return path;
}

static const char *put(char path[256], const char *name, const uint8_t *data, size_t size)
{
    FILE *file = fopen(path_in(path, name), "wb");
    if (!file || fwrite(data, 1, size, file) != size || fclose(file) != 0) {
        abort();
    }
    return path;
}

static char *text_of(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    if (!text) {
        abort();
    }
    memcpy(text, data, size);
    text[size] = '\0';
    return text;
}

/* ---- files of a user ---- */

static void feed_study(const uint8_t *data, size_t size)
{
    char path[256];
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    if (shv_study_load(put(path, "fuzz.cfg", data, size), &study, &findings) == SHV_OK) {
        shv_study_free(&study);
    }
    shv_diagnostics_free(&findings);
}

static void feed_range(const uint8_t *data, size_t size)
{
    char path[256];
    struct shv_range_file file;
    struct shv_diagnostics findings = {0};
    if (shv_range_file_load(put(path, "fuzz.cfg", data, size), &file, &findings) == SHV_OK) {
        shv_range_file_free(&file);
    }
    shv_diagnostics_free(&findings);
}

static struct shv_units *units(void)
{
    static struct shv_units *kept;
    if (!kept && shv_units_open(&kept, NULL) != SHV_OK) {
        abort();
    }
    return kept;
}

static void feed_map(const uint8_t *data, size_t size)
{
    char path[256];
    struct shv_blower_map map;
    struct shv_diagnostics findings = {0};
    if (shv_blower_map_read(put(path, "fuzz.csv", data, size), units(), 1e-3, 101325.0, 288.15,
                            &map, &findings) == SHV_OK) {
        shv_blower_map_free(&map);
    }
    shv_diagnostics_free(&findings);
}

/* The first byte says which quantity is read. */
static void feed_units(const uint8_t *data, size_t size)
{
    double value;
    struct shv_message message;
    if (size == 0) {
        return;
    }
    char *text = text_of(data + 1, size - 1);
    (void)shv_units_read(units(), (enum shv_quantity)(data[0] % SHV_Q_COUNT), text, &value,
                         &message);
    free(text);
}

/* ---- a study to read others' files with ---- */

static struct cli_study *loaded(const char *name)
{
    static struct cli_study studies[2];
    static const char *names[2];
    size_t i = names[0] && strcmp(names[0], name) != 0;
    struct cli_study *s = &studies[i];
    if (!names[i]) {
        struct shv_diagnostics findings = {0};
        struct shv_message message;
        char path[256];
        (void)snprintf(path, sizeof path, STUDIES "%s", name);
        if (shv_study_load(path, &s->study, &findings) != SHV_OK ||
            shv_model_create(&s->study, &s->model, &message) != SHV_OK ||
            shv_space_init(&s->space, &s->study, &message) != SHV_OK) {
            abort();
        }
        shv_diagnostics_free(&findings);
        names[i] = name;
    }
    return s;
}

static void feed_log(const uint8_t *data, size_t size)
{
    char path[256];
    struct shv_log log;
    const struct shv_study *study = &loaded("measured.cfg")->study;
    put(path, "fuzz.csv", data, size);
    for (size_t i = 0; i < study->fit.logs; i++) {
        struct shv_diagnostics findings = {0};
        if (shv_measured_read(&study->fit.log[i], path, units(), 10.0, 200.0, &log, &findings) ==
            SHV_OK) {
            shv_log_free(&log);
        }
        shv_diagnostics_free(&findings);
    }
}

static void feed_pick(const uint8_t *data, size_t size)
{
    char *text = text_of(data, size);
    const char *choices[8];
    size_t count = 0;
    struct shv_kit kit;
    const struct found nothing = {0};
    for (char *line = text; line && count < 8; count++) {
        choices[count] = line;
        line = strchr(line, '\n');
        if (line) {
            *line++ = '\0';
        }
    }
    (void)pick_kit(&loaded("kit.cfg")->study, units(), choices, count, &nothing, &kit);
    free(text);
}

/* ---- what the program wrote itself ---- */

/* The first byte says which file of a whole folder, FUZZ_RESULTS, is another. */
static void feed_results(const uint8_t *data, size_t size)
{
    static const char *const names[] = {"manifest.cfg",    "ranked.csv",      "curves.csv",
                                        "limits.csv",      "optimum.csv",     "rejected.csv",
                                        "limit_worth.csv", "parts.csv",       "map.csv",
                                        "islands.csv",     "stock_engine.csv"};
    const size_t count = sizeof names / sizeof *names;
    char path[256], from[512];
    struct report_results results;
    struct shv_message message;
    const char *whole = getenv("FUZZ_RESULTS");
    for (size_t i = 0; i < count; i++) {
        (void)unlink(path_in(path, names[i]));
        (void)snprintf(from, sizeof from, "%s/%s", whole ? whole : ".", names[i]);
        if (symlink(from, path) != 0) {
            abort();
        }
    }
    size_t which = size > 0 ? data[0] % count : 0;
    (void)unlink(path_in(path, names[which]));
    put(path, names[which], size > 0 ? data + 1 : data, size > 0 ? size - 1 : 0);
    (void)report_results_read(folder, &results, &message);
    report_results_free(&results);
}

static void feed_journal(const uint8_t *data, size_t size)
{
    char path[256];
    struct shv_message message;
    struct shv_journal *journal = NULL;
    const struct cli_study *s = loaded("kit.cfg");
    const struct shv_journal_options how = {.mode = SHV_JOURNAL_RESUME,
                                            .keep = s->study.results.keep};
    put(path, SHV_JOURNAL_FILE, data, size);
    if (shv_journal_open(folder, &how, s->model, &s->space, &journal, &message) == SHV_OK) {
        (void)shv_journal_close(journal, NULL);
    }
    (void)unlink(path_in(path, SHV_JOURNAL_FILE "-journal"));
    (void)unlink(path_in(path, SHV_JOURNAL_FILE));
}

/* Behind the key of 64 digits. */
static void feed_cache(const uint8_t *data, size_t size)
{
    char path[256], key[65] = "", note[CYCLE_CACHE_NOTE] = "";
    struct shv_cycle_table table;
    if (size < 64) {
        return;
    }
    memcpy(key, data, 64);
    put(path, CYCLE_CACHE_FILE, data + 64, size - 64);
    if (cycle_cache_load(folder, key, &table, note)) {
        shv_cycle_table_free(&table);
    }
    (void)unlink(path_in(path, CYCLE_CACHE_FILE "-journal"));
    (void)unlink(path_in(path, CYCLE_CACHE_FILE));
}

const struct fuzz_target fuzz_targets[] = {
    {"study", feed_study}, {"range", feed_range},     {"map", feed_map},
    {"units", feed_units}, {"log", feed_log},         {"results", feed_results},
    {"pick", feed_pick},   {"journal", feed_journal}, {"cache", feed_cache},
    {.name = NULL},
};

const struct fuzz_target *fuzz_find(const char *name)
{
    const struct fuzz_target *target = fuzz_targets;
    while (target->name && strcmp(target->name, name) != 0) {
        target++;
    }
    return target->name ? target : NULL;
}
