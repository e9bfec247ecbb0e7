/* The child that solves (range_solver.h).
 *
 * The child sends each plan over a pipe when a stage is done, so that the last one is there however
 * the child ends. It is stopped by SIGINT, upon which CBC ends its search with the best it has; by
 * SIGKILL when that takes too long. It touches nothing that is the parent's: all it does with files
 * is to send standard output to /dev/null, and it leaves by _exit.
 */
#include "plan/range_solver.h"

#include "base/clock.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#ifdef __linux__
#include <sys/prctl.h>
#endif

#define WAIT 100      /* ms between two questions whether to go on */
#define PATIENCE 10.0 /* s that a child is given to end its search */
#define CANNOT_SEND 2 /* how a child ends that can't */

void solver_plan_free(struct programme_answer *plan)
{
    free(plan->stocked);
    free(plan->skipped);
    *plan = (struct programme_answer){.end = PROGRAMME_NOTHING};
}

static bool make_lists(struct programme_answer *plan, const struct shv_range_problem *problem)
{
    *plan = (struct programme_answer){.stocked = calloc(problem->part_count + 1, sizeof(bool)),
                                      .skipped = calloc(problem->group_count + 1, sizeof(bool))};
    return plan->stocked && plan->skipped;
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

/* What a child has to do, one of the two. */
struct work {
    const struct programme *programme;
    const struct best_job *best;
};

struct sending {
    int pipe;
    const struct shv_range_problem *problem;
};

/* An answer, then a byte for each part and each group. */
static bool send_answer(void *data, const struct programme_answer *answer)
{
    const struct sending *s = data;
    send_all(s->pipe, answer, sizeof *answer);
    send_all(s->pipe, answer->stocked, s->problem->part_count * sizeof *answer->stocked);
    send_all(s->pipe, answer->skipped, s->problem->group_count * sizeof *answer->skipped);
    return true;
}

static bool solve_and_send(struct sending *s, const struct programme *o)
{
    struct programme_answer answer;
    bool good = make_lists(&answer, s->problem) && programme_solve(o, &answer);
    good = good && send_answer(s, &answer);
    solver_plan_free(&answer);
    return good;
}

/* Never returns. */
static void be_child(int pipe, const struct work *work, const struct shv_range_problem *problem)
{
    struct sending sending = {pipe, problem};
    int nowhere = open("/dev/null", O_WRONLY);
    bool good = nowhere >= 0 && dup2(nowhere, STDOUT_FILENO) >= 0;
    /* CBC takes SIGINT while it searches; at other times the parent's patience ends. */
    good = good && signal(SIGINT, SIG_IGN) != SIG_ERR && signal(SIGTERM, SIG_DFL) != SIG_ERR &&
           signal(SIGHUP, SIG_DFL) != SIG_ERR && signal(SIGPIPE, SIG_DFL) != SIG_ERR;
#ifdef __linux__
    good = good && prctl(PR_SET_PDEATHSIG, SIGKILL) == 0;
#endif
    good = good && (work->programme ? solve_and_send(&sending, work->programme)
                                    : best_plan(work->best, send_answer, &sending));
    _exit(good ? 0 : 1);
}

/* ---- in the parent ---- */

struct child {
    pid_t id;
    int pipe;
    bool stopping;
    double kill_at; /* s */
    int error;      /* errno of the pipe; 0 so far */
};

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

static bool receive_answer(struct child *child, const struct solver_watch *watch,
                           const struct shv_range_problem *problem, struct programme_answer *to)
{
    struct programme_answer head;
    if (!receive(child, watch, &head, sizeof head) ||
        !receive(child, watch, to->stocked, problem->part_count * sizeof *to->stocked) ||
        !receive(child, watch, to->skipped, problem->group_count * sizeof *to->skipped)) {
        return false;
    }
    head.stocked = to->stocked; /* the child's are its own */
    head.skipped = to->skipped;
    *to = head;
    return true;
}

/* Takes over what comes; the last answer that is whole counts. False without one. */
static bool receive_all(struct child *child, const struct solver_watch *watch,
                        const struct shv_range_problem *problem, struct programme_answer *last,
                        struct programme_answer *next)
{
    bool any = false;
    while (receive_answer(child, watch, problem, next)) {
        struct programme_answer old = *last;
        *last = *next;
        *next = old;
        any = true;
    }
    return any;
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

static bool begin_child(struct child *child, const struct work *work,
                        const struct shv_range_problem *problem)
{
    int ends[2];
    if (pipe(ends) != 0) {
        return false;
    }
    child->id = fork();
    if (child->id == 0) {
        (void)close(ends[0]);
        be_child(ends[1], work, problem);
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

/* `last` is what came at last, if any. */
static enum shv_status judge(const struct child *child, int how, bool any,
                             const struct programme_answer *last, struct shv_message *message)
{
    if (child->error != 0) { /* a better plan may have been on its way */
        return shv_fail(message, SHV_IO, "cannot read what the solver found: %s",
                        strerror(child->error));
    }
    if (WIFEXITED(how) && WEXITSTATUS(how) == CANNOT_SEND) {
        return shv_fail(message, SHV_IO, "the solver cannot send what it found");
    }
    if (any && last->end == PROGRAMME_INFEASIBLE) {
        return SHV_NOTHING;
    }
    if (any ? last->end == PROGRAMME_FAILED : !child->stopping) {
        return WIFSIGNALED(how)
                   ? shv_fail(message, SHV_IO, "the solver was ended by signal %d", WTERMSIG(how))
                   : shv_fail(message, SHV_IO, "the solver of integer programmes failed");
    }
    return child->stopping ? shv_fail(message, SHV_STOPPED, "the search for a plan was stopped")
                           : SHV_OK;
}

static enum shv_status run_child(const struct work *work, const struct shv_range_problem *problem,
                                 const struct solver_watch *watch, struct programme_answer *plan,
                                 struct shv_message *message)
{
    struct programme_answer next;
    struct child child = {.id = -1};
    bool good = make_lists(plan, problem), any = false;
    good = make_lists(&next, problem) && good;
    plan->bound = INFINITY;
    enum shv_status status = SHV_OK;
    if (!good) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for a plan");
    } else if (!begin_child(&child, work, problem)) {
        status = shv_fail(message, SHV_IO, "cannot start the solver: %s", strerror(errno));
    } else {
        any = receive_all(&child, watch, problem, plan, &next);
        (void)close(child.pipe);
        if (child.error != 0) {
            (void)kill(child.id, SIGKILL); /* nobody hears what it finds */
        }
        status = judge(&child, wait_for(child.id), any, plan, message);
    }
    solver_plan_free(&next);
    if ((status != SHV_OK && status != SHV_STOPPED) || !programme_has_plan(plan)) {
        double bound = plan->bound;
        solver_plan_free(plan);
        plan->bound = bound;
    }
    return status;
}

enum shv_status solver_run(const struct programme *programme, const struct solver_watch *watch,
                           struct programme_answer *plan, struct shv_message *message)
{
    const struct work work = {.programme = programme};
    return run_child(&work, programme->thin->problem, watch, plan, message);
}

enum shv_status solver_best(const struct best_job *job, const struct solver_watch *watch,
                            struct programme_answer *plan, struct shv_message *message)
{
    const struct work work = {.best = job};
    return run_child(&work, job->programme.thin->problem, watch, plan, message);
}
