/* From a study file to a struct shv_study (include/sheave/study.h). */
#include "sheave/study.h"

#include <stdlib.h>
#include <string.h>

#include "sheave/space.h"
#include "study/catalog.h"
#include "study/checks.h"
#include "study/config.h"
#include "study/reader.h"
#include "study/source.h"

void shv_study_free(struct shv_study *study)
{
    catalog_free_study(study);
    reader_free(&study_keys, study, sizeof *study);
    for (size_t i = 0; i < study->fit.logs; i++) {
        reader_free(&log_keys, &study->fit.log[i], sizeof study->fit.log[i]);
    }
    free(study->fit.log);
    free(study->use.duty);
    free(study->serves);
    free(study->tolerances.spread);
    free(study->engine.speeds);
    free(study->path);
    free(study->text);
    *study = (struct shv_study){0};
}

static void free_draft(struct draft *draft)
{
    shv_study_free(&draft->study);
    reader_free(&study_keys, draft, sizeof *draft);
}

/* Moves all that was read into the study, and sees that its combinations can be counted. */
static enum shv_status finish_study(struct reader *reader, void *draft)
{
    struct shv_study *study = &((struct draft *)draft)->study;
    struct shv_space space;
    struct shv_message message;
    study->path = source_join("", reader->path);
    if (study->path == NULL || !catalog_finish(reader, study)) {
        reader->out_of_memory = true;
        return SHV_NO_MEMORY;
    }
    sha256_finish(&reader->own_hash, study->sha256);
    sha256_finish(&reader->hash, study->sha256_all);
    enum shv_status status = shv_space_init(&space, study, &message);
    if (status != SHV_OK) {
        reader_error(reader, NULL, NULL, "%s", message.text);
    }
    study->text = reader->text;
    reader->text = NULL;
    return status;
}

/* What libconfig's short words mean for who wrote the file. */
static const char *syntax_words(const char *text)
{
    static const char *const words[][2] = {
        {"duplicate setting name",
         "found a key that stands further up in the same group; accepted: each "
         "key once"},
        {"mismatched element type in array",
         "found values of different types in [ ]; accepted: texts alone, whole numbers alone or "
         "numbers "
         "with a point alone (1.0 beside 1.5), or a list in ( )"},
        {"syntax error",
         "found what does not read here or just above; accepted: key = value;, with texts "
         "and quantities in quotes"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(text, words[i][0]) == 0) {
            return words[i][1];
        }
    }
    return text;
}

/* libconfig's own findings: it stops at the first. */
static void tell_syntax(struct reader *reader, const config_t *config)
{
    const char *text = config_error_text(config);
    int whole_line = config_error_line(config);
    unsigned line;
    const char *file = reader_place(reader, whole_line > 0 ? (unsigned)whole_line : 1, &line);
    reader_error_at(reader, file, line, "%s", text == NULL ? "cannot be read" : syntax_words(text));
}

static enum shv_status read_file(struct reader *reader, config_t *config,
                                 const struct key_group *keys, void *base)
{
    enum shv_status status = source_scan(reader);
    if (status != SHV_OK) {
        return status;
    }
    if (!config_read_string(config, reader->whole)) {
        tell_syntax(reader, config);
        return SHV_BAD_INPUT;
    }
    reader->root = config_root_setting(config);
    reader_group(reader, keys, reader->root, base);
    return reader->broken_file ? SHV_IO : reader->errors > 0 ? SHV_BAD_INPUT : SHV_OK;
}

enum shv_status reader_load(const char *path, const struct key_group *keys, void *draft,
                            enum shv_status (*finish)(struct reader *reader, void *draft),
                            struct shv_diagnostics *diagnostics)
{
    struct reader reader = {.path = path, .diagnostics = diagnostics};
    struct shv_units *units;
    enum shv_status status = reader_begin(&reader, &units);
    if (status == SHV_OK) {
        config_t config;
        config_init(&config);
        status = read_file(&reader, &config, keys, draft);
        if (status == SHV_OK && !reader.out_of_memory && finish != NULL) {
            status = finish(&reader, draft);
        }
        reader_report(&reader);
        catalog_free(&reader);
        config_destroy(&config);
        status = diagnostics->out_of_memory ? SHV_NO_MEMORY : status;
    }
    reader_end(&reader, units, status);
    return status;
}

enum shv_status shv_fitted_read(const char *path, struct shv_corrections *corrections,
                                struct shv_tolerances *tolerances,
                                struct shv_diagnostics *diagnostics)
{
    struct draft draft = {.is_fitted = true, .study.engine.knock.scale = 1.0};
    enum shv_status status = reader_load(path, &fitted_keys, &draft, NULL, diagnostics);
    *corrections = draft.study.corrections;
    *tolerances = draft.study.tolerances;
    tolerances->correlations = NULL;
    free_draft(&draft);
    return status;
}

enum shv_status shv_study_load(const char *path, struct shv_study *study,
                               struct shv_diagnostics *diagnostics)
{
    struct draft draft = {0};
    *study = (struct shv_study){0};
    enum shv_status status = reader_load(path, &study_keys, &draft, finish_study, diagnostics);
    if (status == SHV_OK) {
        *study = draft.study;
        draft.study = (struct shv_study){0};
    }
    free_draft(&draft);
    return status;
}
