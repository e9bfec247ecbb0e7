/* From a study file to a struct shv_study (include/sheave/study.h). */
#include "sheave/study.h"

#include <ctype.h>
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
static enum shv_status finish(struct reader *reader, struct draft *draft)
{
    struct shv_study *study = &draft->study;
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
    return status;
}

/* ---- a key that is there twice ---- */

#define DEPTH_MAX 100
#define KEY_CHARACTERS "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-*"

/* On its way through the keys of a text. */
struct key_walk {
    const char *at, *name; /* the key met last and its length */
    size_t length;
    unsigned line, groups, group[DEPTH_MAX]; /* numbers of the groups that are open */
    size_t depth;
};

static void skip_to(struct key_walk *w, const char *end)
{
    const char *stop = strstr(w->at, end);
    stop = stop == NULL ? w->at + strlen(w->at) : stop + strlen(end) - (*end == '\n' ? 1 : 0);
    for (; w->at < stop; w->at++) {
        w->line += *w->at == '\n' ? 1 : 0;
    }
}

static void skip_text(struct key_walk *w)
{
    for (w->at++; *w->at != '\0' && *w->at != '"'; w->at++) {
        w->at += *w->at == '\\' && w->at[1] != '\0' ? 1 : 0;
        w->line += *w->at == '\n' ? 1 : 0;
    }
    w->at += *w->at == '"' ? 1 : 0;
}

/* Goes behind the next key; false at the end. */
static bool next_key(struct key_walk *w)
{
    while (*w->at != '\0') {
        if (*w->at == '"') {
            skip_text(w);
        } else if (*w->at == '#' || strncmp(w->at, "//", 2) == 0) {
            skip_to(w, "\n");
        } else if (strncmp(w->at, "/*", 2) == 0) {
            skip_to(w, "*/");
        } else if (isalpha((unsigned char)*w->at) || *w->at == '*') {
            w->name = w->at;
            w->length = strspn(w->at, KEY_CHARACTERS);
            w->at += w->length;
            const char *behind = w->at + strspn(w->at, " \t\r\n");
            if (*behind == '=' || *behind == ':') {
                return true;
            }
        } else {
            if (*w->at == '{' && w->depth + 1 < DEPTH_MAX) {
                w->group[++w->depth] = ++w->groups;
            } else if (*w->at == '}' && w->depth > 0) {
                w->depth--;
            }
            w->line += *w->at == '\n' ? 1 : 0;
            w->at++;
        }
    }
    return false;
}

struct key_met {
    const char *name;
    size_t length;
    unsigned line, group;
};

/* All keys of the study up to the end of a line, *count of them. */
static struct key_met *keys_until(struct reader *reader, unsigned line, size_t *count)
{
    size_t room = 0;
    struct key_met *keys = NULL;
    struct key_walk w = {.at = reader->whole, .line = 1};
    *count = 0;
    while (next_key(&w) && w.line <= line) {
        if (*count == room) {
            room = room ? 2 * room : 64;
            struct key_met *more = realloc(keys, room * sizeof *keys);
            if (!more) {
                reader->diagnostics->out_of_memory = true;
                break;
            }
            keys = more;
        }
        keys[(*count)++] = (struct key_met){w.name, w.length, w.line, w.group[w.depth]};
    }
    return keys;
}

static bool is_same_key(const struct key_met *a, const struct key_met *b)
{
    return a->length == b->length && a->group == b->group &&
           memcmp(a->name, b->name, a->length) == 0;
}

/* The line of the first key of the name and group of one that stands on `second`; 0 when there is
 * none. */
static unsigned first_of_two(struct reader *reader, unsigned second)
{
    size_t count;
    unsigned found = 0;
    struct key_met *keys = keys_until(reader, second, &count);
    for (size_t i = 0; keys && i < count && found == 0; i++) {
        for (size_t k = 0; keys[i].line == second && k < i && found == 0; k++) {
            found = is_same_key(&keys[k], &keys[i]) ? keys[k].line : 0;
        }
    }
    free(keys);
    return found;
}

/* False when it is not that, or the first can't be found. */
static bool tell_twice(struct reader *reader, const char *text, unsigned second)
{
    unsigned whole = strcmp(text, "duplicate setting name") == 0 ? first_of_two(reader, second) : 0;
    if (whole == 0) {
        return false;
    }
    unsigned first, line;
    const char *first_file = reader_place(reader, whole, &first);
    const char *file = reader_place(reader, second, &line);
    bool same = strcmp(first_file, file) == 0;
    reader_error_at(reader, file, line,
                    "found a key that stands in the same group already, %s%s%u; accepted: each key "
                    "once",
                    same ? "on line " : first_file, same ? "" : ":", first);
    return true;
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
    unsigned line, whole = whole_line > 0 ? (unsigned)whole_line : 1;
    if (text != NULL && tell_twice(reader, text, whole)) {
        return;
    }
    const char *file = reader_place(reader, whole, &line);
    reader_error_at(reader, file, line, "%s", text == NULL ? "cannot be read" : syntax_words(text));
}

enum shv_status reader_read_file(struct reader *reader, config_t *config,
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

static enum shv_status load(struct reader *reader, struct draft *draft)
{
    config_t config;
    config_init(&config);
    enum shv_status status = reader_read_file(reader, &config, &study_keys, draft);
    if (status == SHV_OK && !reader->out_of_memory) {
        status = finish(reader, draft);
    }
    reader_report(reader);
    catalog_free(reader);
    config_destroy(&config);
    return reader->diagnostics->out_of_memory ? SHV_NO_MEMORY : status;
}

/* Whether nothing stands at the top but what a fit writes. */
static bool is_fitted(const config_setting_t *root)
{
    int count = config_setting_length(root);
    bool all = count > 0;
    for (int i = 0; i < count; i++) {
        const char *name = config_setting_name(config_setting_get_elem(root, (unsigned)i));
        all = all && name != NULL && key_find(&fitted_keys, name) < fitted_keys.count;
    }
    return all;
}

/* SHV_NOTHING where it is another file, of which nothing is told. */
static enum shv_status load_fitted(struct reader *reader, struct draft *draft)
{
    config_t config;
    config_init(&config);
    enum shv_status status = source_scan(reader);
    bool reads = status == SHV_OK && config_read_string(&config, reader->whole) &&
                 is_fitted(config_root_setting(&config));
    if (reads) {
        reader->root = config_root_setting(&config);
        reader_group(reader, &fitted_keys, reader->root, draft);
        status = reader->errors > 0 ? SHV_BAD_INPUT : SHV_OK;
        reader_report(reader);
    }
    config_destroy(&config);
    return reader->out_of_memory ? SHV_NO_MEMORY : reads ? status : SHV_NOTHING;
}

enum shv_status shv_fitted_read(const char *path, struct shv_corrections *corrections,
                                struct shv_tolerances *tolerances,
                                struct shv_diagnostics *diagnostics)
{
    struct draft draft = {.is_fitted = true, .study.engine.knock.scale = 1.0};
    struct reader reader = {.path = path, .diagnostics = diagnostics};
    struct shv_units *units;
    enum shv_status status = reader_begin(&reader, &units);
    if (status == SHV_OK) {
        status = load_fitted(&reader, &draft);
    }
    *corrections = draft.study.corrections;
    *tolerances = draft.study.tolerances;
    tolerances->correlations = NULL;
    free_draft(&draft);
    reader_end(&reader, units, status);
    return status;
}

enum shv_status shv_study_load(const char *path, struct shv_study *study,
                               struct shv_diagnostics *diagnostics)
{
    struct draft draft = {0};
    struct reader reader = {.path = path, .diagnostics = diagnostics};
    struct shv_units *units;
    *study = (struct shv_study){0};
    enum shv_status status = reader_begin(&reader, &units);
    if (status == SHV_OK) {
        status = load(&reader, &draft);
    }
    if (status == SHV_OK) {
        *study = draft.study;
        study->text = reader.text;
        reader.text = NULL;
        draft.study = (struct shv_study){0};
    }
    free_draft(&draft);
    reader_end(&reader, units, status);
    return status;
}
