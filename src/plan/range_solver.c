/* The child that solves (range_solver.h).
 *
 * The child sends each plan over a pipe when a stage is done, so that the last one is there however
 * the child ends. It is stopped by SIGINT, upon which CBC ends its search with the best it has; by
 * SIGKILL when that takes too long. It touches nothing that is the parent's: all it does with files
 * is to send standard output to /dev/null, and it leaves by _exit.
 */
#include "plan/range_solver.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#ifdef __linux__
#include <sys/prctl.h>
#endif

#define WAIT 100      /* ms between two questions whether to go on */
#define PATIENCE 10.0 /* s that a child is given to end its search */
#define CANNOT_SEND 2 /* how a child ends that can't */

/* What goes over the pipe, followed by a byte for each part and each group. */
struct report {
    struct programme_answer answer;
    bool settled;
};

void solver_plan_free(struct solver_plan *plan)
{
    free(plan->stocked);
    free(plan->skipped);
    *plan = (struct solver_plan){.found = false};
}

/* ---- in the child ---- */

static void send_all(int pipe, const void *bytes, size_t size)
{
    const char *at = bytes;
    while (size > 0) {
        ssize_t sent = write(pipe, at, size);
        if (sent < 0 && errno != EINTR) {
            _exit(CANNOT_SEND);
        }
        at += sent > 0 ? sent : 0;
        size -= sent > 0 ? (size_t)sent : 0;
    }
}

static void send_answer(int pipe, const struct programme *o, const struct programme_answer *answer,
                        bool settled)
{
    const struct shv_range_problem *problem = o->thin->problem;
    struct report report = {*answer, settled};
    send_all(pipe, &report, sizeof report);
    send_all(pipe, answer->stocked, problem->part_count * sizeof *answer->stocked);
    send_all(pipe, answer->skipped, problem->group_count * sizeof *answer->skipped);
}

/* What a child has to do, one of the two. */
struct work {
    const struct programme *programme;
    const struct best_job *best;
};

struct sending {
    int pipe;
    const struct programme *programme;
};

static bool send_found(void *data, const struct programme_answer *answer, bool settled)
{
    const struct sending *s = data;
    send_answer(s->pipe, s->programme, answer, settled);
    return true;
}

static bool solve_and_send(int pipe, const struct programme *o)
{
    const struct shv_range_problem *problem = o->thin->problem;
    struct programme_answer answer = {.stocked = calloc(problem->part_count + 1, sizeof(bool)),
                                      .skipped = calloc(problem->group_count + 1, sizeof(bool))};
    bool good = answer.stocked && answer.skipped && programme_solve(o, &answer);
    if (good) {
        send_answer(pipe, o, &answer, false);
    }
    free(answer.stocked);
    free(answer.skipped);
    return good;
}

static bool do_work(int pipe, const struct work *work)
{
    if (work->programme) {
        return solve_and_send(pipe, work->programme);
    }
    struct sending sending = {pipe, &work->best->programme};
    return best_plan(work->best, send_found, &sending);
}

/* Never returns. */
static void be_child(int pipe, const struct work *work)
{
    int nowhere = open("/dev/null", O_WRONLY);
    bool good = nowhere >= 0 && dup2(nowhere, STDOUT_FILENO) >= 0;
    /* CBC takes SIGINT while it searches; at other times the parent's patience ends. */
    good = good && signal(SIGINT, SIG_IGN) != SIG_ERR && signal(SIGTERM, SIG_DFL) != SIG_ERR &&
           signal(SIGHUP, SIG_DFL) != SIG_ERR && signal(SIGPIPE, SIG_DFL) != SIG_ERR;
#ifdef __linux__
    good = good && prctl(PR_SET_PDEATHSIG, SIGKILL) == 0;
#endif
    _exit(good && do_work(pipe, work) ? 0 : 1);
}

/* ---- in the parent ---- */

struct child {
    pid_t id;
    int pipe;
    bool stopping;
    double kill_at; /* s */
    int error;      /* errno of the pipe; 0 so far */
};

static double seconds_now(void)
{
    struct timespec t;
    return clock_gettime(CLOCK_MONOTONIC, &t) == 0 ? (double)t.tv_sec + 1e-9 * (double)t.tv_nsec
                                                   : 0.0;
}

static void watch_child(struct child *child, const struct solver_watch *watch)
{
    if (!child->stopping && watch->go_on && !watch->go_on(watch->data)) {
        child->stopping = true;
        child->kill_at = seconds_now() + PATIENCE;
        (void)kill(child->id, SIGINT); /* one that is gone already needs no signal */
    } else if (child->stopping && seconds_now() > child->kill_at) {
        (void)kill(child->id, SIGKILL);
    }
}

/* Reads that many bytes; false at the end of the pipe or on trouble. */
static bool receive(struct child *child, const struct solver_watch *watch, void *bytes, size_t size)
{
    char *at = bytes;
    while (size > 0) {
        struct pollfd ready = {.fd = child->pipe, .events = POLLIN};
        int count = poll(&ready, 1, WAIT);
        watch_child(child, watch);
        if (count <= 0) {
            if (count < 0 && errno != EINTR) {
                child->error = errno;
                return false;
            }
            continue;
        }
        ssize_t got = read(child->pipe, at, size);
        if (got == 0 || (got < 0 && errno != EINTR)) {
            child->error = got < 0 ? errno : 0;
            return false;
        }
        at += got > 0 ? got : 0;
        size -= got > 0 ? (size_t)got : 0;
    }
    return true;
}

struct received {
    struct report report;
    bool *stocked, *skipped; /* owned */
    bool any;
};

/* Takes over what comes; the last report that is whole counts. */
static void receive_all(struct child *child, const struct solver_watch *watch,
                        const struct shv_range_problem *problem, struct received *last,
                        struct received *next)
{
    while (receive(child, watch, &next->report, sizeof next->report) &&
           receive(child, watch, next->stocked, problem->part_count * sizeof *next->stocked) &&
           receive(child, watch, next->skipped, problem->group_count * sizeof *next->skipped)) {
        struct received old = *last;
        *last = *next;
        last->any = true;
        *next = old;
    }
}

static int wait_for(pid_t id)
{
    int how = 0;
    while (waitpid(id, &how, 0) < 0) {
        if (errno != EINTR) {
            return -1;
        }
    }
    return how;
}

static bool begin_child(struct child *child, const struct work *work)
{
    int ends[2];
    if (pipe(ends) != 0) {
        return false;
    }
    child->id = fork();
    if (child->id == 0) {
        (void)close(ends[0]);
        be_child(ends[1], work);
    }
    int error = errno;
    (void)close(ends[1]);
    child->pipe = ends[0];
    if (child->id < 0) {
        (void)close(ends[0]);
        errno = error;
    }
    return child->id > 0;
}

static void take(struct solver_plan *plan, struct received *last)
{
    const struct programme_answer *a = &last->report.answer;
    plan->found = a->end == PROGRAMME_PROVEN || a->end == PROGRAMME_BROKEN_OFF;
    plan->proven = a->end == PROGRAMME_PROVEN;
    plan->settled = last->report.settled;
    plan->objective = a->objective;
    plan->bound = a->bound;
    memcpy(plan->excess, a->excess, sizeof a->excess);
    plan->stocked = last->stocked;
    plan->skipped = last->skipped;
    last->stocked = last->skipped = NULL;
}

static enum shv_status judge(const struct child *child, int how, struct received *last,
                             struct solver_plan *plan, struct shv_message *message)
{
    if (child->error != 0) { /* a better plan may have been on its way */
        return shv_fail(message, SHV_IO, "cannot read what the solver found: %s",
                        strerror(child->error));
    }
    if (WIFEXITED(how) && WEXITSTATUS(how) == CANNOT_SEND) {
        return shv_fail(message, SHV_IO, "the solver cannot send what it found");
    }
    if (last->any && last->report.answer.end == PROGRAMME_INFEASIBLE) {
        return SHV_NOTHING;
    }
    bool failed = last->any ? last->report.answer.end == PROGRAMME_FAILED : !child->stopping;
    if (failed) {
        return WIFSIGNALED(how)
                   ? shv_fail(message, SHV_IO, "the solver was ended by signal %d", WTERMSIG(how))
                   : shv_fail(message, SHV_IO, "the solver of integer programmes failed");
    }
    plan->bound = INFINITY;
    if (last->any) {
        take(plan, last);
    }
    return child->stopping ? shv_fail(message, SHV_STOPPED, "the search for a plan was stopped")
                           : SHV_OK;
}

static bool make_received(struct received *r, const struct shv_range_problem *problem)
{
    *r = (struct received){.stocked = calloc(problem->part_count + 1, sizeof(bool)),
                           .skipped = calloc(problem->group_count + 1, sizeof(bool))};
    return r->stocked && r->skipped;
}

static enum shv_status run_child(const struct work *work, const struct shv_range_problem *problem,
                                 const struct solver_watch *watch, struct solver_plan *plan,
                                 struct shv_message *message)
{
    struct received last, next;
    struct child child = {.id = -1};
    *plan = (struct solver_plan){.found = false};
    bool good = make_received(&last, problem);
    good = make_received(&next, problem) && good;
    enum shv_status status = SHV_OK;
    if (!good) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for a plan");
    } else if (!begin_child(&child, work)) {
        status = shv_fail(message, SHV_IO, "cannot start the solver: %s", strerror(errno));
    } else {
        receive_all(&child, watch, problem, &last, &next);
        (void)close(child.pipe);
        if (child.error != 0) {
            (void)kill(child.id, SIGKILL); /* nobody hears what it finds */
        }
        status = judge(&child, wait_for(child.id), &last, plan, message);
    }
    free(last.stocked);
    free(last.skipped);
    free(next.stocked);
    free(next.skipped);
    return status;
}

enum shv_status solver_run(const struct programme *programme, const struct solver_watch *watch,
                           struct solver_plan *plan, struct shv_message *message)
{
    const struct work work = {.programme = programme};
    return run_child(&work, programme->thin->problem, watch, plan, message);
}

enum shv_status solver_best(const struct best_job *job, const struct solver_watch *watch,
                            struct solver_plan *plan, struct shv_message *message)
{
    const struct work work = {.best = job};
    return run_child(&work, job->programme.thin->problem, watch, plan, message);
}
