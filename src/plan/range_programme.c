/* The integer programme (range_programme.h).
 *
 * Variables: y[p] part p is in stock; x[g,k] group g gets candidate k; b[f,p] family f has blower
 * p; u[g] group g is left out; e[i] by how much bound i is exceeded. Rows:
 *
 *   serve     sum over k of x[g,k] + u[g] = 1                        each group
 *   link      sum over k that use p of x[g,k] <= y[p], or b[f,p]     each group and part of it
 *   family    sum over p of b[f,p] = 1, b[f,p] <= y[p]
 *   number    sum over p of y[p] - e <= most                         each kind, and all
 *   worth     value of the plan >= least_value
 *
 * One link for all candidates with a part is as strong as one for each would be weak: it is the
 * formulation of facility location whose relaxation is tight (G. Cornuejols, G. L. Nemhauser, L. A.
 * Wolsey, The uncapacitated facility location problem, in: Discrete Location Theory, 1990). Once y
 * and b are whole, each group's best candidate whose parts are there is an optimal x; so only y and
 * b (and u, e) are declared whole.
 */
#include "plan/range_programme.h"

#include <Cbc_C_Interface.h>
#include <Clp_C_Interface.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Objectives are whole: what is nearer than a step is the same. */
#define LESS_THAN_ONE "0.9"
#define ENTRIES_OF_X (2 + SHV_STOCK_KINDS)

/* A matrix by columns, as CBC wants it. */
struct matrix {
    int columns, rows, entries;
    int column_room, entry_room;
    int *start, *index;
    double *value, *low, *high, *objective, *row_low, *row_high;
    bool *whole;
};

/* Where things stand in it. */
struct places {
    size_t parts, groups, families;
    int *link;                               /* [groups * parts] rows, -1 for none */
    int *family;                             /* [families * parts] columns of b, -1 for none */
    int *tie;                                /* [families * parts] rows b <= y */
    int y, u, e, x;                          /* first columns */
    int serve, one, number, worth, not_this; /* first rows; -1 for none */
};

struct build {
    const struct programme *programme;
    struct matrix m;
    struct places at;
};

/* ---- memory ---- */

static void build_free(struct build *b)
{
    free(b->m.start);
    free(b->m.index);
    free(b->m.value);
    free(b->m.low);
    free(b->m.high);
    free(b->m.objective);
    free(b->m.row_low);
    free(b->m.row_high);
    free(b->m.whole);
    free(b->at.link);
    free(b->at.family);
    free(b->at.tie);
}

static bool make_room(struct build *b, size_t columns, size_t rows, size_t entries)
{
    struct matrix *m = &b->m;
    m->column_room = (int)columns;
    m->entry_room = (int)entries;
    m->start = calloc(columns + 1, sizeof *m->start);
    m->index = calloc(entries + 1, sizeof *m->index);
    m->value = calloc(entries + 1, sizeof *m->value);
    m->low = calloc(columns + 1, sizeof *m->low);
    m->high = calloc(columns + 1, sizeof *m->high);
    m->objective = calloc(columns + 1, sizeof *m->objective);
    m->whole = calloc(columns + 1, sizeof *m->whole);
    m->row_low = calloc(rows + 1, sizeof *m->row_low);
    m->row_high = calloc(rows + 1, sizeof *m->row_high);
    return m->start && m->index && m->value && m->low && m->high && m->objective && m->whole &&
           m->row_low && m->row_high;
}

/* ---- rows ---- */

static size_t family_of(const struct build *b, size_t g)
{
    return b->programme->no_families ? SHV_NONE : b->programme->thin->problem->group[g].family;
}

static int new_row(struct matrix *m, double low, double high)
{
    m->row_low[m->rows] = low;
    m->row_high[m->rows] = high;
    return m->rows++;
}

static bool make_maps(struct build *b)
{
    const struct shv_range_problem *problem = b->programme->thin->problem;
    struct places *at = &b->at;
    at->parts = problem->part_count;
    at->groups = problem->group_count;
    at->families = b->programme->no_families ? 0 : problem->family_count;
    size_t links = at->groups * at->parts, ties = at->families * at->parts;
    at->link = malloc((links + 1) * sizeof *at->link);
    at->family = malloc((ties + 1) * sizeof *at->family);
    at->tie = malloc((ties + 1) * sizeof *at->tie);
    if (!at->link || !at->family || !at->tie) {
        return false;
    }
    memset(at->link, -1, links * sizeof *at->link);
    memset(at->family, -1, ties * sizeof *at->family);
    memset(at->tie, -1, ties * sizeof *at->tie);
    return true;
}

/* Marks what is used: 0 in link and family for now. */
static size_t count_used(struct build *b)
{
    size_t used = 0;
    const struct thin *thin = b->programme->thin;
    for (size_t g = 0; g < b->at.groups; g++) {
        size_t f = family_of(b, g);
        for (size_t i = 0; i < thin->group[g].count; i++) {
            const size_t *part = thin->group[g].item[i].part;
            for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
                int *link = part[k] == SHV_NONE ? NULL : &b->at.link[g * b->at.parts + part[k]];
                used += link && *link < 0;
                if (link) {
                    *link = 0;
                }
            }
            if (f != SHV_NONE) {
                b->at.family[f * b->at.parts + part[SHV_STOCK_BLOWER]] = 0;
            }
        }
    }
    return used;
}

static bool has_groups(const struct build *b, size_t f)
{
    for (size_t p = 0; p < b->at.parts; p++) {
        if (b->at.family[f * b->at.parts + p] >= 0) {
            return true;
        }
    }
    return false;
}

static double number_bound(size_t most)
{
    return most == SHV_NONE ? INFINITY : (double)most;
}

static void make_rows(struct build *b)
{
    const struct programme *o = b->programme;
    struct places *at = &b->at;
    struct matrix *m = &b->m;
    at->serve = m->rows;
    for (size_t g = 0; g < at->groups; g++) {
        (void)new_row(m, 1.0, 1.0);
    }
    for (size_t i = 0; i < at->groups * at->parts; i++) {
        at->link[i] = at->link[i] < 0 ? -1 : new_row(m, -INFINITY, 0.0);
    }
    at->one = m->rows;
    for (size_t f = 0; f < at->families; f++) {
        bool is_there = has_groups(b, f); /* a family may have no group with sales */
        (void)new_row(m, is_there && !o->skips ? 1.0 : 0.0, 1.0);
    }
    for (size_t i = 0; i < at->families * at->parts; i++) {
        at->tie[i] = at->family[i] < 0 ? -1 : new_row(m, -INFINITY, 0.0);
    }
    at->number = m->rows;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        (void)new_row(m, -INFINITY, number_bound(o->most[k]));
    }
    (void)new_row(m, -INFINITY, number_bound(o->most_parts));
    at->worth = -1;
    if (o->has_least_value && !o->by_value) {
        at->worth = new_row(m, (double)o->least_value - 0.5, INFINITY);
    }
    at->not_this = -1;
    if (o->not_this) {
        double parts = 0.0;
        for (size_t p = 0; p < at->parts; p++) {
            parts += o->not_this[p] ? 1.0 : 0.0;
        }
        at->not_this = new_row(m, -INFINITY, parts - 1.0);
    }
}

/* ---- columns ---- */

static void begin_column(struct matrix *m, double low, double high, int64_t objective, bool whole)
{
    m->start[m->columns] = m->entries;
    m->low[m->columns] = low;
    m->high[m->columns] = high;
    m->objective[m->columns] = -(double)objective; /* CBC minimises */
    m->whole[m->columns] = whole;
    m->columns++;
    m->start[m->columns] = m->entries;
}

static void entry(struct matrix *m, int row, double value)
{
    if (row >= 0 && value != 0.0) {
        m->index[m->entries] = row;
        m->value[m->entries] = value;
        m->entries++;
        m->start[m->columns] = m->entries;
    }
}

/* A part's own column: links of groups that are in no family, or it is no blower. */
static void add_part(struct build *b, size_t p)
{
    const struct programme *o = b->programme;
    enum shv_part_kind kind = o->thin->problem->part[p].kind;
    bool used = false;
    for (size_t g = 0; g < b->at.groups; g++) {
        used = used || b->at.link[g * b->at.parts + p] >= 0;
    }
    int64_t weight = o->part_weight ? o->part_weight[p] : 0;
    weight -= o->by_value ? o->thin->cost[p] : 0;
    double low = 0.0, high = used ? 1.0 : 0.0;
    if (o->fixed && o->fixed[p] >= 0) {
        low = o->fixed[p] > 0 ? high : 0.0;
        high = o->fixed[p] > 0 ? high : 0.0;
    }
    begin_column(&b->m, low, high, weight, true);
    for (size_t g = 0; g < b->at.groups; g++) {
        bool by_family = kind == SHV_STOCK_BLOWER && family_of(b, g) != SHV_NONE;
        entry(&b->m, by_family ? -1 : b->at.link[g * b->at.parts + p], -1.0);
    }
    for (size_t f = 0; f < b->at.families; f++) {
        entry(&b->m, b->at.tie[f * b->at.parts + p], -1.0);
    }
    entry(&b->m, b->at.number + (int)kind, 1.0);
    entry(&b->m, b->at.number + SHV_STOCK_KINDS, 1.0);
    entry(&b->m, b->at.worth, -(double)o->thin->cost[p]);
    entry(&b->m, o->not_this && o->not_this[p] ? b->at.not_this : -1, 1.0);
}

static void add_family(struct build *b, size_t f, size_t p)
{
    int *column = &b->at.family[f * b->at.parts + p];
    if (*column < 0) {
        return;
    }
    *column = b->m.columns;
    begin_column(&b->m, 0.0, 1.0, 0, true);
    entry(&b->m, b->at.one + (int)f, 1.0);
    entry(&b->m, b->at.tie[f * b->at.parts + p], 1.0);
    for (size_t g = 0; g < b->at.groups; g++) {
        if (family_of(b, g) == f) {
            entry(&b->m, b->at.link[g * b->at.parts + p], -1.0);
        }
    }
}

static void add_candidate(struct build *b, size_t g, size_t i)
{
    size_t place = (size_t)(b->m.columns - b->at.x);
    const struct programme *o = b->programme;
    const struct thin_candidate *c = &o->thin->group[g].item[i];
    int64_t value = o->by_value ? c->value : 0;
    value += o->other_value && o->other == g ? o->other_value[i] : 0;
    begin_column(&b->m, 0.0, o->without && o->without[place] ? 0.0 : 1.0, value, false);
    entry(&b->m, b->at.serve + (int)g, 1.0);
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        entry(&b->m, c->part[k] == SHV_NONE ? -1 : b->at.link[g * b->at.parts + c->part[k]], 1.0);
    }
    entry(&b->m, b->at.worth, (double)c->value);
}

static void make_columns(struct build *b)
{
    const struct programme *o = b->programme;
    struct places *at = &b->at;
    at->y = b->m.columns;
    for (size_t p = 0; p < at->parts; p++) {
        add_part(b, p);
    }
    for (size_t i = 0; i < at->families * at->parts; i++) {
        add_family(b, i / at->parts, i % at->parts);
    }
    at->u = b->m.columns;
    for (size_t g = 0; g < at->groups; g++) {
        begin_column(&b->m, 0.0, o->skips ? 1.0 : 0.0, o->skip_weight ? o->skip_weight[g] : 0,
                     true);
        entry(&b->m, at->serve + (int)g, 1.0);
    }
    at->e = b->m.columns;
    for (size_t i = 0; i < PROGRAMME_EXCESSES; i++) {
        double most = o->excess[i] ? (double)at->parts : 0.0;
        begin_column(&b->m, 0.0, most, o->excess_weight, true);
        entry(&b->m, at->number + (int)i, -1.0);
    }
    at->x = b->m.columns;
    for (size_t g = 0; g < at->groups; g++) {
        for (size_t i = 0; i < o->thin->group[g].count; i++) {
            add_candidate(b, g, i);
        }
    }
}

static bool make(struct build *b)
{
    const struct thin *thin = b->programme->thin;
    if (!make_maps(b)) {
        return false;
    }
    size_t links = count_used(b), candidates = 0;
    for (size_t g = 0; g < b->at.groups; g++) {
        candidates += thin->group[g].count;
    }
    size_t ties = b->at.families * b->at.parts;
    size_t columns = b->at.parts + ties + b->at.groups + PROGRAMME_EXCESSES + candidates;
    size_t rows = b->at.groups + links + b->at.families + ties + PROGRAMME_EXCESSES + 2;
    size_t entries = candidates * ENTRIES_OF_X + 2 * links + 3 * ties + b->at.groups +
                     5 * b->at.parts + PROGRAMME_EXCESSES;
    if (columns > INT32_MAX || rows > INT32_MAX || entries > INT32_MAX ||
        !make_room(b, columns, rows, entries)) {
        return false;
    }
    make_rows(b);
    make_columns(b);
    return true;
}

/* ---- solving ---- */

static Cbc_Model *load(const struct build *b)
{
    const struct matrix *m = &b->m;
    Cbc_Model *model = Cbc_newModel();
    if (!model) {
        return NULL;
    }
    Cbc_setLogLevel(model, 0);
    Cbc_loadProblem(model, m->columns, m->rows, m->start, m->index, m->value, m->low, m->high,
                    m->objective, m->row_low, m->row_high);
    Cbc_setObjSense(model, 1.0);
    for (int c = 0; c < m->columns; c++) {
        if (m->whole[c] && m->low[c] < m->high[c]) {
            Cbc_setInteger(model, c);
        }
    }
    Cbc_setParameter(model, "increment", LESS_THAN_ONE);
    Cbc_setParameter(model, "allowableGap", LESS_THAN_ONE);
    if (b->programme->by_value && b->programme->has_least_value) {
        /* A plan is known that is hardly ever beaten: what looks for plans only takes time, and the
         * relaxation is tight already. */
        Cbc_setParameter(model, "heuristicsOnOff", "off");
        Cbc_setParameter(model, "cutsOnOff", "off");
        Cbc_setParameter(model, "preprocess", "off");
        /* The least value is one of the objective: a row for it would only be in the way. */
        char cutoff[32];
        (void)snprintf(cutoff, sizeof cutoff, "%.1f", 0.5 - (double)b->programme->least_value);
        Cbc_setParameter(model, "cutoff", cutoff);
    }
    if (b->programme->seconds > 0.0) {
        Cbc_setMaximumSeconds(model, b->programme->seconds);
    }
    return model;
}

static void read_solution(const struct build *b, const double *solution,
                          struct programme_answer *answer)
{
    for (size_t p = 0; p < b->at.parts; p++) {
        answer->stocked[p] = solution[b->at.y + (int)p] > 0.5;
    }
    for (size_t g = 0; answer->skipped && g < b->at.groups; g++) {
        answer->skipped[g] = solution[b->at.u + (int)g] > 0.5;
    }
    for (size_t i = 0; i < PROGRAMME_EXCESSES; i++) {
        answer->excess[i] = (size_t)lround(solution[b->at.e + (int)i]);
    }
}

static void read_end(Cbc_Model *model, struct programme_answer *answer, bool *has_plan)
{
    *has_plan = false;
    if (Cbc_isProvenInfeasible(model) || Cbc_isContinuousUnbounded(model)) {
        answer->end = PROGRAMME_INFEASIBLE;
    } else if (Cbc_isAbandoned(model)) {
        answer->end = PROGRAMME_FAILED;
    } else {
        *has_plan = Cbc_bestSolution(model) != NULL;
        answer->end = !*has_plan                   ? PROGRAMME_NOTHING
                      : Cbc_isProvenOptimal(model) ? PROGRAMME_PROVEN
                                                   : PROGRAMME_BROKEN_OFF;
    }
    answer->objective = *has_plan ? -Cbc_getObjValue(model) : NAN;
    answer->bound = -Cbc_getBestPossibleObjValue(model);
    if (answer->end == PROGRAMME_PROVEN || answer->bound < answer->objective) {
        answer->bound = answer->objective;
    }
}

#define SOLVED 0   /* of Clp_status */
#define MARGIN 1.0 /* step, for rounding in the relaxation */

static bool relax(const struct build *b, int64_t value, struct programme_relaxed *relaxed)
{
    const struct matrix *m = &b->m;
    Clp_Simplex *model = Clp_newModel();
    if (!model) {
        return false;
    }
    Clp_setLogLevel(model, 0);
    Clp_loadProblem(model, m->columns, m->rows, m->start, m->index, m->value, m->low, m->high,
                    m->objective, m->row_low, m->row_high);
    bool good = Clp_initialSolve(model) == SOLVED && Clp_status(model) == SOLVED;
    if (good) {
        const double *cost = Clp_dualColumnSolution(model);
        const double *at = Clp_primalColumnSolution(model);
        double bound = -Clp_objectiveValue(model), room = bound - (double)value + MARGIN;
        relaxed->bound = bound;
        for (int c = b->at.x; c < m->columns; c++) {
            relaxed->without[c - b->at.x] = at[c] < 0.5 && cost[c] > room;
        }
        for (size_t p = 0; p < b->at.parts; p++) {
            int c = b->at.y + (int)p;
            relaxed->fixed[p] = at[c] < 0.5 && cost[c] > room    ? 0
                                : at[c] > 0.5 && -cost[c] > room ? 1
                                                                 : -1;
        }
    }
    Clp_deleteModel(model);
    return good;
}

bool programme_relax(const struct programme *programme, int64_t value,
                     struct programme_relaxed *relaxed)
{
    struct build b = {.programme = programme};
    bool good = make(&b) && relax(&b, value, relaxed);
    build_free(&b);
    return good;
}

bool programme_solve(const struct programme *programme, struct programme_answer *answer)
{
    struct build b = {.programme = programme};
    bool good = make(&b), has_plan;
    Cbc_Model *model = good ? load(&b) : NULL;
    if (model) {
        (void)Cbc_solve(model);
        read_end(model, answer, &has_plan);
        if (has_plan) {
            read_solution(&b, Cbc_bestSolution(model), answer);
        }
        Cbc_deleteModel(model);
    }
    build_free(&b);
    return model;
}
