/* Progress of a sweep. */
#include "cli/progress.h"

#include <math.h>
#include <signal.h>
#include <time.h>
#include <unistd.h>

#include "cli/cli.h"
#include "report/text.h"

static volatile sig_atomic_t interrupted, ends_at_once;

static void on_signal(int number)
{
    (void)number;
    interrupted = 1;
    if (ends_at_once) {
        static const char text[] = "sheave run: interrupted; nothing was written\n";
        ssize_t written = write(STDERR_FILENO, text, sizeof text - 1);
        (void)written; /* there is no better place to say so */
        _exit(CLI_INTERRUPTED);
    }
}

void progress_signals_end(bool on)
{
    ends_at_once = on;
}

bool progress_catch_signals(void)
{
    struct sigaction action = {.sa_handler = on_signal};
    sigemptyset(&action.sa_mask);
    return sigaction(SIGINT, &action, NULL) == 0 && sigaction(SIGTERM, &action, NULL) == 0;
}

bool progress_interrupted(void)
{
    return interrupted != 0;
}

double progress_now(void)
{
    struct timespec t;
    if (clock_gettime(CLOCK_MONOTONIC, &t) != 0) {
        return 0.0;
    }
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

void progress_init(struct progress *p, const struct shv_study *study, bool quiet)
{
    *p = (struct progress){.terminal = isatty(STDERR_FILENO) == 1, .quiet = quiet};
    p->started = p->last = progress_now();
    bool torque = study->objective.kind == SHV_OBJECTIVE_TORQUE;
    bool us = study->results.units == SHV_US;
    p->scale =
        torque ? (us ? 1.0 / 1.3558179483314004 : 1.0) : (us ? 1.0 / 745.69987158227022 : 1e-3);
    p->unit = torque ? (us ? "lbf ft" : "N m") : (us ? "hp" : "kW");
}

static void print_line(struct progress *p, uint64_t done, uint64_t total, double best, double now)
{
    char a[32], b[32], best_text[48] = "none yet";
    double spent = now - p->started;
    double rate = spent > 0.0 ? (double)done / spent : 0.0;
    double left = rate > 0.0 ? (double)(total - done) / rate : 0.0;
    if (isfinite(best)) {
        snprintf(best_text, sizeof best_text, "%.1f %s", best * p->scale, p->unit);
    }
    const char *start = p->terminal ? "\r" : "";
    const char *end = p->terminal ? "\033[K" : "\n";
    fprintf(stderr, "%s%3.0f %%  %s of %s  %.0f a second  %.0f s left  best %s%s", start,
            100.0 * (double)done / (double)total, report_thousands(a, done),
            report_thousands(b, total), rate, left, best_text, end);
    fflush(stderr);
    p->shown = true;
}

bool progress_step(void *data, uint64_t done, uint64_t total, double best)
{
    struct progress *p = data;
    double now = progress_now();
    if (!p->quiet && now - p->last >= (p->terminal ? 0.2 : 60.0)) {
        p->last = now;
        print_line(p, done, total, best, now);
    }
    return !progress_interrupted();
}

void progress_end(struct progress *p)
{
    if (p->shown && p->terminal) {
        fputs("\r\033[K", stderr);
        fflush(stderr);
    }
}
