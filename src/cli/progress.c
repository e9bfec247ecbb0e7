/* Progress of every stage. */
#include "cli/progress.h"

#include <errno.h>
#include <math.h>
#include <omp.h>
#include <signal.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/cli.h"
#include "report/table/objective.h"
#include "report/write/text.h"

#define DAY 86400.0
#define YEAR (365.25 * DAY)

static volatile sig_atomic_t interrupted, ends_at_once;
/* Set before ends_at_once is, and not touched while it is. */
static const char *end_text;

static void on_signal(int number)
{
    (void)number;
    interrupted = 1;
    if (ends_at_once) {
        ssize_t written = write(STDERR_FILENO, end_text, strlen(end_text));
        (void)written; /* there is no better place to say so */
        _exit(CLI_INTERRUPTED);
    }
}

void progress_signals_end(const char *text)
{
    ends_at_once = 0;
    end_text = text;
    ends_at_once = text != NULL;
}

bool progress_catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal}, ignored = {.sa_handler = SIG_IGN}, old;
    sigemptyset(&action.sa_mask);
    sigemptyset(&ignored.sa_mask);
    /* What nohup asks for stays so. Progress that nobody reads any more is no reason to die. */
    return sigaction(SIGINT, &action, NULL) == 0 && sigaction(SIGTERM, &action, NULL) == 0 &&
           sigaction(SIGHUP, NULL, &old) == 0 &&
           (old.sa_handler == SIG_IGN || sigaction(SIGHUP, &action, NULL) == 0) &&
           sigaction(SIGPIPE, &ignored, NULL) == 0;
}

int cli_start(const char *command, long threads)
{
    if (!progress_catch_signals()) {
        cli_error(command, "cannot catch signals: %s", strerror(errno));
        return CLI_TROUBLE;
    }
    if (threads > 0) {
        omp_set_num_threads((int)threads);
    }
    return -1;
}

bool progress_interrupted(void)
{
    return interrupted != 0;
}

void progress_init(struct progress *p, const struct shv_study *study, bool quiet)
{
    *p = (struct progress){.terminal = isatty(STDERR_FILENO) == 1, .quiet = quiet};
    p->started = p->last = p->last_log = seconds_now();
    p->points = (uint64_t)study->site_count * study->engine.speed_count;
    p->study = study;
}

const char *progress_duration(char text[48], double seconds)
{
    if (seconds < 9.95) {
        (void)snprintf(text, 48, "%.1f s", seconds);
    } else if (seconds < 100.0) {
        (void)snprintf(text, 48, "%.0f s", seconds);
    } else if (seconds < 6000.0) {
        (void)snprintf(text, 48, "%.0f min", seconds / 60.0);
    } else if (seconds < 2.0 * DAY) {
        double minutes = floor(seconds / 60.0 + 0.5);
        (void)snprintf(text, 48, "%.0f h %.0f min", floor(minutes / 60.0), fmod(minutes, 60.0));
    } else if (seconds < 2.0 * YEAR) {
        (void)snprintf(text, 48, "%.0f days", seconds / DAY);
    } else {
        char years[REPORT_COUNT_MAX];
        (void)snprintf(text, 48, "%s years",
                       report_thousands(years, (uint64_t)fmin(seconds / YEAR, 1e15)));
    }
    return text;
}

/* Share, rate of this run alone, time left, best. */
static void describe(const struct progress *p, uint64_t done, uint64_t total, double best,
                     double now, char line[PROGRESS_LINE])
{
    char a[32], b[32], c[32], left_text[48], best_text[REPORT_WORDS_MAX] = "none yet";
    double spent = now - p->started;
    double rate = spent > 0.0 ? (double)(done - p->first_done) / spent : 0.0;
    double left = rate > 0.0 ? (double)(total - done) / rate : 0.0;
    if (isfinite(best)) {
        (void)report_words_objective_value(best_text, p->study,
                                           report_objective_shown(p->study, best));
    }
    (void)snprintf(line, PROGRESS_LINE, "%3.0f %%  %s of %s  %s points a second  %s left  best %s",
                   floor(100.0 * (double)done / (double)total), report_thousands(a, done),
                   report_thousands(b, total),
                   report_thousands(c, (uint64_t)(rate * (double)p->points)),
                   rate > 0.0 ? progress_duration(left_text, left) : "?", best_text);
}

static void print_line(struct progress *p, const char *line)
{
    fprintf(stderr, "%s%s%s", p->terminal ? "\r" : "", line, p->terminal ? "\033[K" : "\n");
    fflush(stderr);
    p->shown = true;
}

/* Whether it is time for another line: on a terminal often, elsewhere once a minute. */
static bool is_due(struct progress *p, double now)
{
    if (p->quiet || now - p->last < (p->terminal ? 0.2 : 60.0)) {
        return false;
    }
    p->last = now;
    return true;
}

void progress_note(struct progress *p, const char *line)
{
    if (is_due(p, seconds_now())) {
        print_line(p, line);
    }
}

/* "search: 7 of 12, about 2 s left"; how long once some of it is done. */
static void describe_units(const struct progress *p, double done, double total, double now,
                           char line[PROGRESS_LINE])
{
    char left[64] = "", time[48];
    if (done > 0.0) {
        double seconds = (now - p->started) * (total - done) / done;
        (void)snprintf(left, sizeof left, ", about %s left", progress_duration(time, seconds));
    }
    if (p->in_percent) {
        (void)snprintf(line, PROGRESS_LINE, "%s: %.0f %%%s", p->stage, floor(100.0 * done / total),
                       left);
    } else {
        (void)snprintf(line, PROGRESS_LINE, "%s: %.0f of %.0f%s", p->stage, done + 1.0, total,
                       left);
    }
}

static void tell_units(struct progress *p, double done, double total)
{
    char line[PROGRESS_LINE];
    double now = seconds_now();
    /* On a terminal also at once: a unit may take seconds. */
    bool first = !p->shown && p->terminal && !p->quiet;
    bool to_log = p->log && now - p->last_log >= 60.0, to_screen = first || is_due(p, now);
    if (!(done < total) || !(to_log || to_screen)) {
        return;
    }
    describe_units(p, done, total, now, line);
    if (to_screen) {
        print_line(p, line);
    }
    if (to_log) {
        p->last_log = now;
        log_line(p->log, "%s", line);
    }
}

void progress_tables(void *data, size_t done, size_t total)
{
    struct progress *p = data;
    p->stage = "cycle tables";
    tell_units(p, (double)done, (double)total);
}

static bool watch_step(void *data, size_t done, size_t total)
{
    tell_units(data, (double)done, (double)total);
    return !progress_interrupted();
}

struct shv_watch progress_watch(struct progress *p, const char *stage, bool in_percent)
{
    p->stage = stage;
    p->in_percent = in_percent;
    return (struct shv_watch){watch_step, p};
}

bool progress_part(void *data, uint64_t done, uint64_t total, double best)
{
    (void)best;
    tell_units(data, (double)done, (double)total);
    return !progress_interrupted();
}

bool progress_stop(void *data)
{
    (void)data;
    return progress_interrupted();
}

bool progress_step(void *data, uint64_t done, uint64_t total, double best)
{
    struct progress *p = data;
    char line[PROGRESS_LINE];
    double now = seconds_now();
    bool to_log = p->log && now - p->last_log >= 60.0, to_screen = is_due(p, now);
    if (to_log || to_screen) {
        describe(p, done, total, best, now, line);
    }
    if (to_screen) {
        print_line(p, line);
    }
    if (to_log) {
        p->last_log = now;
        log_line(p->log, "%s", line);
    }
    return !progress_interrupted();
}

void progress_trouble(void *data, const char *text)
{
    struct progress *p = data;
    progress_end(p);
    cli_error("run", "warning: %s; the sweep goes on", text);
    if (p->log) {
        log_line(p->log, "warning: %s", text);
    }
}

void progress_end(struct progress *p)
{
    if (p->shown && p->terminal) {
        fputs("\r\033[K", stderr);
        fflush(stderr);
    }
}
