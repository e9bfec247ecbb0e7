/* Knock-limited phasings side by side: cycle_direct.h. */
#include "model/cylinder/cycle_direct.h"

/* Gap within which a phasing is the root: 1e-7 deg. */
#define MET 1e-8
/* deg that a guess must keep from the ends to be of use. */
#define APART 0.01
/* Points that are worked on at a time. */
#define TOGETHER ((size_t)24)

enum state { NOT_YET, SEEKING, FOUND };

/* A point on its way. With `retard` the limits move instead: a phasing that is `retard` later and
 * kept within limits is one kept within limits so much earlier, then moved. */
struct seeker {
    struct cycle_direct *d;
    double first, last; /* deg, limits of the phasing that knock asks for */
    bool has_last, has_guess;
    struct cycle_task at_first, at_last, at_guess;
    enum state state;
    struct cycle_root root;
};

struct round {
    const struct cycle *c;
    struct cycle_task tasks[3 * TOGETHER];
    struct cycle_task *to[3 * TOGETHER]; /* where each goes when it is solved */
    struct seeker *of[3 * TOGETHER];
    size_t count;
};

static void ask(struct round *r, struct seeker *s, double ca50, struct cycle_task *to)
{
    r->to[r->count] = to;
    r->of[r->count] = s;
    r->tasks[r->count++] = cycle_task_at(r->c, &s->d->at, ca50);
}

static void run(struct round *r)
{
    cycle_solve_tasks(r->c, r->tasks, r->count);
    for (size_t i = 0; i < r->count; i++) {
        r->of[i]->d->cycles += r->tasks[i].cycles;
        *r->to[i] = r->tasks[i];
    }
    r->count = 0;
}

static void found(struct seeker *s, const struct cycle_task *task, enum shv_cycle_outcome outcome)
{
    s->d->task = *task;
    s->d->outcome = task->answered ? outcome : SHV_CYCLE_NO_ANSWER;
    s->state = FOUND;
}

static double gap_of(const struct round *r, const struct cycle_task *t)
{
    return cycle_root_point_of(r->c->in.knock, t).gap;
}

/* ---- first round: the ends, and the guess ---- */

static void ask_ends(struct round *r, struct seeker *s)
{
    ask(r, s, s->first, &s->at_first);
    s->has_last = !(s->d->guess <= s->first);
    s->has_guess = s->d->guess > s->first + APART && s->d->guess < s->last - APART;
    if (s->has_last) {
        ask(r, s, s->last, &s->at_last);
    }
    if (s->has_guess) {
        ask(r, s, s->d->guess, &s->at_guess);
    }
}

/* No knock at the first phasing, or no answer: that is it. */
static void look_at_first(struct round *r, struct seeker *s)
{
    if (!(gap_of(r, &s->at_first) > 0.0)) {
        found(s, &s->at_first, SHV_CYCLE_DONE);
    } else if (!s->has_last) {
        ask(r, s, s->last, &s->at_last);
    }
}

static void look_at_last(const struct round *r, struct seeker *s)
{
    const struct shv_cycle_knock *k = r->c->in.knock;
    struct cycle_root_point points[] = {cycle_root_point_of(k, &s->at_first),
                                        cycle_root_point_of(k, &s->at_last),
                                        cycle_root_point_of(k, &s->at_guess)};
    if (!(points[1].gap <= 0.0)) {
        found(s, &s->at_last, SHV_CYCLE_KNOCK_LIMITED);
        return;
    }
    bool three = s->has_guess && s->at_guess.answered;
    (void)cycle_root_start(&s->root, points, three ? 3 : 2);
    s->state = SEEKING;
}

/* ---- further rounds ---- */

static void ask_next(struct round *r, struct seeker *s)
{
    struct cycle_root_point p = cycle_root_next(&s->root);
    ask(r, s, p.ca50, &s->at_guess);
    struct cycle_task *t = &r->tasks[r->count - 1];
    if (!t->given) {
        t->residual = p.residual;
        t->residual_slope = p.slope;
    }
}

static void look_at_next(const struct round *r, struct seeker *s)
{
    struct cycle_root_point p = cycle_root_point_of(r->c->in.knock, &s->at_guess);
    if (!(fabs(p.gap) > MET) || !cycle_root_goes_on(&s->root)) {
        found(s, &s->at_guess, SHV_CYCLE_DONE);
        return;
    }
    cycle_root_add(&s->root, &p);
}

static bool any_seeking(const struct seeker *s, size_t count)
{
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        any = any || s[i].state == SEEKING;
    }
    return any;
}

static void seek(struct round *r, struct seeker *s, size_t count)
{
    while (any_seeking(s, count)) {
        for (size_t i = 0; i < count; i++) {
            if (s[i].state == SEEKING) {
                ask_next(r, &s[i]);
            }
        }
        run(r);
        for (size_t i = 0; i < count; i++) {
            if (s[i].state == SEEKING) {
                look_at_next(r, &s[i]);
            }
        }
    }
}

/* ---- retard ---- */

static void move_retarded(struct round *r, struct seeker *s, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct cycle_task *t = &s[i].d->task;
        if (s[i].d->retard > 0.0 && s[i].d->outcome != SHV_CYCLE_NO_ANSWER) {
            ask(r, &s[i], t->ca50 + s[i].d->retard, &s[i].d->task);
        }
    }
    run(r);
    for (size_t i = 0; i < count; i++) {
        if (!s[i].d->task.answered) {
            s[i].d->outcome = SHV_CYCLE_NO_ANSWER;
        }
    }
}

static void solve_together(const struct cycle *c, struct cycle_direct *points, size_t count)
{
    struct seeker s[TOGETHER];
    struct round r = {.c = c, .count = 0};
    const struct shv_cycle_knock *k = c->in.knock;
    for (size_t i = 0; i < count; i++) {
        s[i] = (struct seeker){.d = &points[i],
                               .first = k->best_ca50 - points[i].retard,
                               .last = k->limit_ca50 - points[i].retard};
        points[i].cycles = 0;
        ask_ends(&r, &s[i]);
    }
    run(&r);
    for (size_t i = 0; i < count; i++) {
        look_at_first(&r, &s[i]);
    }
    run(&r);
    for (size_t i = 0; i < count; i++) {
        if (s[i].state == NOT_YET) {
            look_at_last(&r, &s[i]);
        }
    }
    seek(&r, s, count);
    move_retarded(&r, s, count);
}

void cycle_direct_solve(const struct cycle *c, struct cycle_direct *points, size_t count)
{
    for (size_t i = 0; i < count; i += TOGETHER) {
        solve_together(c, points + i, count - i < TOGETHER ? count - i : TOGETHER);
    }
}
