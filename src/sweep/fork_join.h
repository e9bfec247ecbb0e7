/* Tells ThreadSanitizer what OpenMP's fork and join order, which it cannot see because the OpenMP
 * library is not instrumented. On real machines the four calls cost nothing that matters; without
 * the tool they add no order that OpenMP does not give already. */
#ifndef SHEAVE_BATCH_FORK_JOIN_H
#define SHEAVE_BATCH_FORK_JOIN_H

struct fork_join {
    int forked, joined;
};

/* Before the parallel region. */
static inline void fork_join_fork(struct fork_join *f)
{
    __atomic_store_n(&f->forked, 1, __ATOMIC_RELEASE);
}

/* First thing that each thread does in the region. */
static inline void fork_join_enter(struct fork_join *f)
{
    (void)__atomic_load_n(&f->forked, __ATOMIC_ACQUIRE);
}

/* Last thing that each thread does in the region. */
static inline void fork_join_leave(struct fork_join *f)
{
    (void)__atomic_fetch_add(&f->joined, 1, __ATOMIC_ACQ_REL);
}

/* After the region. */
static inline void fork_join_join(struct fork_join *f)
{
    (void)__atomic_load_n(&f->joined, __ATOMIC_ACQUIRE);
}

#endif
