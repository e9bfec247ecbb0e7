/* Which rows of a log are kept (log_rows.h). */
#include "study/log_rows.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUN_NAME_MAX 32

/* Where a run is on its way up and down. */
struct log_sweep {
    bool begun, falling;
    double extreme; /* highest speed while it rises, lowest while it falls */
    size_t run;
};

const char *shv_log_drop_words(enum shv_log_drop_reason reason)
{
    static const char *const words[SHV_LOG_REASONS] = {
        [SHV_LOG_REPEATED_HEADER] = "header or units repeated",
        [SHV_LOG_CUT_SHORT] = "line cut short",
        [SHV_LOG_MISSING] = "needed value missing",
        [SHV_LOG_NOTHING] = "no measured value",
        [SHV_LOG_THROTTLE] = "not at full throttle",
        [SHV_LOG_FALLING] = "falling engine speed",
        [SHV_LOG_OUTSIDE] = "speed outside the rev range",
        [SHV_LOG_NO_ANSWER] = "no answer of the model",
    };
    return words[reason];
}

enum shv_status log_note_drop(struct shv_log *log, struct shv_log_drop drop)
{
    /* Room doubles whenever the count is a power of two. */
    if ((log->drops & (log->drops - 1)) == 0) {
        size_t room = log->drops == 0 ? 1 : 2 * log->drops;
        struct shv_log_drop *grown = realloc(log->drop, room * sizeof *grown);
        if (grown == NULL) {
            return SHV_NO_MEMORY;
        }
        log->drop = grown;
    }
    log->drop[log->drops++] = drop;
    log->dropped[drop.reason]++;
    return SHV_OK;
}

static double at(const struct shv_log *log, size_t row, size_t want)
{
    return want == SHV_LOG_NO_COLUMN ? NAN : log->value[row * log->wants + want];
}

/* ---- one row by itself ---- */

/* True when it is kept; else *drop says why not. */
static bool is_good(const struct shv_log_rules *rules, const struct shv_log *log, size_t row,
                    struct shv_log_drop *drop)
{
    size_t measured = 0, wanted = 0;
    *drop = (struct shv_log_drop){.line = log->row[row].line, .want = SHV_LOG_NO_COLUMN};
    for (size_t i = 0; i < rules->wants; i++) {
        bool missing = isnan(at(log, row, i));
        if (missing && rules->want[i].role == SHV_LOG_NEEDED) {
            drop->reason = SHV_LOG_MISSING;
            drop->want = i;
            return false;
        }
        bool counts = rules->want[i].role == SHV_LOG_MEASURED;
        wanted += counts ? 1 : 0;
        measured += counts && !missing ? 1 : 0;
    }
    if (wanted > 0 && measured == 0) {
        drop->reason = SHV_LOG_NOTHING;
        return false;
    }
    if (rules->throttle != SHV_LOG_NO_COLUMN &&
        at(log, row, rules->throttle) < rules->throttle_least) {
        drop->reason = SHV_LOG_THROTTLE;
        return false;
    }
    double speed = at(log, row, rules->speed);
    if (speed < rules->speed_least || speed > rules->speed_most) {
        drop->reason = SHV_LOG_OUTSIDE;
        return false;
    }
    return true;
}

/* ---- rising and falling ---- */

/* Follows the speed with a band of `fall` around it, so that noise within the band turns nothing
 * round. True while it rises; *again when a new rise begins here. */
static bool rises(struct log_sweep *s, double speed, double fall, bool *again)
{
    *again = false;
    if (!s->begun) {
        *s = (struct log_sweep){.begun = true, .extreme = speed, .run = s->run};
    } else if (s->falling && speed > s->extreme + fall) {
        s->falling = false;
        s->extreme = speed;
        *again = true;
    } else if (!s->falling && speed < s->extreme - fall) {
        s->falling = true;
        s->extreme = speed;
    } else {
        s->extreme = s->falling ? fmin(s->extreme, speed) : fmax(s->extreme, speed);
    }
    return !s->falling;
}

struct keeper {
    const struct shv_log_rules *rules;
    struct shv_log *log;
    struct log_sweep *sweep; /* one for each text or header */
    bool named;              /* runs have names of their own: a new rise is no new run */
    size_t runs;             /* numbers given out */
    size_t *number;          /* of a text's or a header's first run, SIZE_MAX: none yet */
};

static size_t run_of(struct keeper *k, size_t source, bool again)
{
    if (k->number[source] == SIZE_MAX || (again && !k->named)) {
        k->number[source] = k->runs++;
    }
    return k->number[source];
}

static void move_row(struct shv_log *log, size_t to, size_t from)
{
    log->row[to] = log->row[from];
    memmove(log->value + to * log->wants, log->value + from * log->wants,
            log->wants * sizeof *log->value);
}

/* The engine's speed is followed through every row that has one, also those dropped for another
 * reason: the throttle shuts at the end of a run, and the speed falls while it is shut. */
static enum shv_status pick_rows(struct keeper *k)
{
    struct shv_log *log = k->log;
    size_t kept = 0;
    bool *pending = calloc(log->runs + 1, sizeof *pending);
    if (pending == NULL) {
        return SHV_NO_MEMORY;
    }
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < log->rows && status == SHV_OK; i++) {
        size_t source = log->row[i].run;
        double speed = at(log, i, k->rules->speed);
        bool again = false, up = true;
        if (k->rules->fall > 0.0 && !isnan(speed)) {
            up = rises(&k->sweep[source], speed, k->rules->fall, &again);
        }
        pending[source] = pending[source] || again;
        struct shv_log_drop drop;
        bool good = is_good(k->rules, log, i, &drop);
        if (good && !up) {
            good = false;
            drop.reason = SHV_LOG_FALLING;
        }
        if (good) {
            log->row[i].run = run_of(k, source, pending[source]);
            pending[source] = false;
            move_row(log, kept++, i);
        } else {
            status = log_note_drop(log, drop);
        }
    }
    free(pending);
    log->rows = status == SHV_OK ? kept : log->rows;
    return status;
}

/* ---- names ---- */

/* Names in the order of the numbers that runs were given; those of texts move over. */
static enum shv_status name_runs(struct keeper *k, size_t sources)
{
    struct shv_log *log = k->log;
    char **names = calloc(k->runs + 1, sizeof *names);
    bool good = names != NULL;
    for (size_t i = 0; good && i < sources && log->run_name != NULL; i++) {
        if (k->number[i] != SIZE_MAX && k->named) {
            names[k->number[i]] = log->run_name[i];
            log->run_name[i] = NULL;
        }
    }
    for (size_t i = 0; good && i < k->runs; i++) {
        if (names[i] == NULL) {
            names[i] = malloc(RUN_NAME_MAX);
            good = names[i] != NULL;
        }
        if (good && !k->named) {
            (void)snprintf(names[i], RUN_NAME_MAX, "run %zu", i + 1);
        }
    }
    for (size_t i = 0; log->run_name != NULL && i < sources; i++) {
        free(log->run_name[i]);
    }
    free(log->run_name);
    log->run_name = names;
    log->runs = names == NULL ? 0 : k->runs;
    return good ? SHV_OK : SHV_NO_MEMORY;
}

/* ---- smoothing ---- */

/* Row of a run whose bin is `bin`, among the rows up to `count`; `count` when there is none. */
static size_t find_bin(const struct shv_log *log, const double *bins, size_t count, size_t run,
                       double bin)
{
    size_t i = count;
    while (i > 0) {
        i--;
        if (log->row[i].run == run && bins[i] == bin) {
            return i;
        }
    }
    return count;
}

/* Adds a row to the sums of another; NAN adds nothing. */
static void add_row(struct shv_log *log, double *values, size_t to, size_t from)
{
    for (size_t c = 0; c < log->wants; c++) {
        double *sum = &log->value[to * log->wants + c];
        double value = log->value[from * log->wants + c];
        if (!isnan(value)) {
            *sum = isnan(*sum) ? value : *sum + value;
            values[to * log->wants + c] += 1.0;
        }
    }
}

static enum shv_status smooth(const struct shv_log_rules *rules, struct shv_log *log)
{
    double *bins = calloc(log->rows, sizeof *bins);
    double *values = calloc(log->rows * log->wants, sizeof *values);
    size_t kept = 0;
    for (size_t i = 0; bins != NULL && values != NULL && i < log->rows; i++) {
        double bin = floor(at(log, i, rules->speed) / rules->bin + 0.5);
        size_t to = find_bin(log, bins, kept, log->row[i].run, bin);
        if (to < kept) {
            add_row(log, values, to, i);
            log->row[to].merged++;
            continue;
        }
        bins[kept] = bin;
        move_row(log, kept, i);
        for (size_t c = 0; c < log->wants; c++) {
            values[kept * log->wants + c] = isnan(log->value[kept * log->wants + c]) ? 0.0 : 1.0;
        }
        kept++;
    }
    bool good = bins != NULL && values != NULL;
    for (size_t i = 0; good && i < kept * log->wants; i++) {
        log->value[i] /= fmax(values[i], 1.0);
    }
    log->rows = good ? kept : log->rows;
    free(bins);
    free(values);
    return good ? SHV_OK : SHV_NO_MEMORY;
}

/* ---- all ---- */

static bool has_run_column(const struct shv_log_rules *rules)
{
    for (size_t i = 0; i < rules->wants; i++) {
        if (rules->want[i].role == SHV_LOG_RUN) {
            return true;
        }
    }
    return false;
}

enum shv_status log_rows_keep(const struct shv_log_rules *rules, struct shv_log *log)
{
    size_t sources = log->runs;
    struct keeper k = {.rules = rules, .log = log, .named = has_run_column(rules)};
    k.sweep = calloc(sources + 1, sizeof *k.sweep);
    k.number = malloc((sources + 1) * sizeof *k.number);
    if (k.sweep == NULL || k.number == NULL) {
        free(k.sweep);
        free(k.number);
        return SHV_NO_MEMORY;
    }
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < sources; i++) {
        k.number[i] = SIZE_MAX;
    }
    if (status == SHV_OK && log->rows > 0) {
        status = pick_rows(&k);
    }
    if (status == SHV_OK) {
        status = name_runs(&k, sources);
    }
    if (status == SHV_OK && rules->bin > 0.0 && rules->speed != SHV_LOG_NO_COLUMN &&
        log->rows > 0) {
        status = smooth(rules, log);
    }
    free(k.sweep);
    free(k.number);
    return status;
}

enum shv_status shv_log_drop_row(struct shv_log *log, size_t index, enum shv_log_drop_reason reason,
                                 struct shv_message *message)
{
    const struct shv_log_drop drop = {log->row[index].line, reason, SHV_LOG_NO_COLUMN};
    if (log_note_drop(log, drop) != SHV_OK) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for %s", log->path);
    }
    for (size_t i = index; i + 1 < log->rows; i++) {
        move_row(log, i, i + 1);
    }
    log->rows--;
    return SHV_OK;
}
