/* One integer programme over the candidates of a range, solved by COIN-OR CBC in this process:
 * docs/range.md has it in symbols. It prints and catches signals; range_solver.h keeps that away
 * from callers. */
#ifndef SHEAVE_PLAN_RANGE_PROGRAMME_H
#define SHEAVE_PLAN_RANGE_PROGRAMME_H

#include "plan/range_thin.h"

#define PROGRAMME_EXCESSES (SHV_STOCK_KINDS + 1) /* of each kind, and of all parts */

/* Whatever is not said stays zero: no objective, nothing relaxed. */
struct programme {
    const struct thin *thin;
    size_t most[SHV_STOCK_KINDS], most_parts; /* SHV_NONE: any number */
    bool has_least_value;
    int64_t least_value;             /* steps, of the whole plan */
    bool no_families;                /* families may have different blowers */
    bool skips;                      /* groups may be left out */
    bool excess[PROGRAMME_EXCESSES]; /* bounds that may be exceeded */
    const signed char *fixed;        /* [parts] 0 or 1, -1: free; NULL: all are free */
    const bool *without;  /* [all candidates, group by group] not to be given; NULL: none */
    const bool *not_this; /* [parts] a stock that is not to be, nor any that contains it; NULL */
    /* The objective is maximised: whole numbers only. */
    bool by_value;              /* the value of the plan */
    const int64_t *part_weight; /* for each part in stock; NULL for none */
    const int64_t *skip_weight; /* for each group left out; NULL for none */
    const int64_t *other_value; /* [candidates of group `other`], by position; NULL for none */
    size_t other;
    int64_t excess_weight;
    double seconds; /* 0: as long as it takes */
};

enum programme_end {
    PROGRAMME_NOTHING, /* broken off before there was a plan */
    PROGRAMME_PROVEN,
    PROGRAMME_BROKEN_OFF, /* with a plan */
    PROGRAMME_INFEASIBLE,
    PROGRAMME_FAILED
};

struct programme_answer {
    enum programme_end end;
    bool settled; /* of equal plans the one that the rule names: src/plan/range_best.h */
    double objective;
    double bound; /* no plan has a higher objective */
    size_t excess[PROGRAMME_EXCESSES];
    bool *stocked; /* [parts], of the caller */
    bool *skipped; /* [groups], of the caller; NULL when not asked for */
};

static inline bool programme_has_plan(const struct programme_answer *answer)
{
    return answer->end == PROGRAMME_PROVEN || answer->end == PROGRAMME_BROKEN_OFF;
}

/* What the relaxation rules out: a candidate or part whose reduced cost takes the bound of the
 * relaxation below `value` can't be in any plan that is worth that much (G. L. Nemhauser, L. A.
 * Wolsey, Integer and Combinatorial Optimization, 1988, section II.5.2, from memory). */
struct programme_relaxed {
    double bound;       /* of the objective */
    bool *without;      /* [all candidates, group by group], of the caller */
    signed char *fixed; /* [parts], of the caller */
};

/* Solves the linear relaxation of a programme by value; false when out of memory or when it has no
 * solution that could be trusted. */
bool programme_relax(const struct programme *programme, int64_t value,
                     struct programme_relaxed *relaxed);

/* False when out of memory. */
bool programme_solve(const struct programme *programme, struct programme_answer *answer);

#endif
