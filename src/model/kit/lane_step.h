/* One lane's part of the quasi-Newton iteration, as inline code: the same source runs lane by lane
 * and, in the vector loops, for several lanes at a time. docs/model.md, section 7. */
#ifndef SHEAVE_MODEL_LANE_STEP_H
#define SHEAVE_MODEL_LANE_STEP_H

#include "model/kit/model_internal.h"

/* Both flows agree within this share of the filled flow. */
#define LANE_TOLERANCE 1e-12

/* Which arrangement the vector loops of a class take, and whether they follow the coolant loop. */
SHV_INLINE enum shv_cooler_arrangement class_arrangement(enum lane_class class)
{
    return class == LANE_COUNTERFLOW ? SHV_COOLER_COUNTERFLOW
           : class == LANE_UNMIXED   ? SHV_COOLER_CROSSFLOW_UNMIXED
                                     : SHV_COOLER_SINGLE_STREAM;
}

/* One lane from the arrays, for a class known at compile time. All fields are set, even those a
 * class has no use for: a rest cleared behind our back would be no vector code. */
SHV_INLINE struct path_lane class_lane(const struct lane_block *b, size_t i, enum lane_class class)
{
    bool plain = class == LANE_PLAIN;
    return (struct path_lane){
        .rotor_speed = b->rotor_speed[i],
        .swept = b->swept[i],
        .fill_volume = b->fill_volume[i],
        .windage = b->windage[i],
        .ntu = b->ntu[i],
        .flow_inverse = b->flow_inverse[i],
        .ntu_exponent = b->exponent[i],
        .drop_k = b->drop_k[i],
        .loop = plain ? 0.0 : b->loop[i],
        .source = b->source[i],
        .capacity_inverse = plain ? 0.0 : b->capacity_inverse[i],
        .arrangement = class_arrangement(class),
    };
}

/* The path at a trial, and by how much its flows miss. */
struct lane_trial {
    struct path_out o;
    double f1, f2;
};

SHV_INLINE void lane_try(const struct path_shared *s, const struct path_inlet *in,
                         const struct path_lane *l, double scale, double u, double v, bool is_map,
                         bool looped, bool wet, struct lane_trial *t)
{
    double m = u * scale;
    if (wet) {
        path_run_wet(s, l, in, m, m, m, v * s->p0, is_map, looped, &t->o);
    } else {
        path_run(s, l, in, m, m, m, v * s->p0, is_map, looped, &t->o);
    }
    t->f1 = (t->o.blower_flow - m) / scale;
    t->f2 = (t->o.engine_flow + t->o.water - m) / scale;
}

/* What the rest of the model needs of the path at the answer, from each trial that is taken. */
SHV_INLINE void lane_keep(struct lane_block *b, size_t i, const struct path_out *o, bool frozen)
{
    double shaft = o->gas_power + b->windage[i] + b->bearing[i];
    b->pm[i] = frozen ? b->pm[i] : o->pm;
    b->pe[i] = frozen ? b->pe[i] : o->pe;
    b->p1[i] = frozen ? b->p1[i] : o->p1;
    b->t2[i] = frozen ? b->t2[i] : o->t2;
    b->tm[i] = frozen ? b->tm[i] : o->tm;
    b->shaft[i] = frozen ? b->shaft[i] : shaft;
}

SHV_INLINE void lane_begin(struct lane_block *b, size_t i, const struct lane_trial *t)
{
    b->f1[i] = t->f1;
    b->f2[i] = t->f2;
    b->done[i] = shv_max(fabs(t->f1), fabs(t->f2)) < LANE_TOLERANCE ? 1.0 : 0.0;
    lane_keep(b, i, &t->o, false);
}

/* Residual and, where a lane has none yet, its Jacobian by forward differences. */
SHV_INLINE void start_lane(struct lane_block *b, const struct path_shared *s,
                           const struct path_inlet *in, const struct path_lane *l, size_t i,
                           bool jacobian, bool is_map, bool looped, bool wet)
{
    const double h = 1e-7;
    double u = b->u[i], v = b->v[i];
    struct lane_trial t;
    lane_try(s, in, l, b->scale[i], u, v, is_map, looped, wet, &t);
    lane_begin(b, i, &t);
    if (jacobian) {
        struct lane_trial beside;
        lane_try(s, in, l, b->scale[i], u + h, v, is_map, looped, wet, &beside);
        b->j11[i] = (beside.f1 - t.f1) / h;
        b->j21[i] = (beside.f2 - t.f2) / h;
        lane_try(s, in, l, b->scale[i], u, v + h, is_map, looped, wet, &beside);
        b->j12[i] = (beside.f1 - t.f1) / h;
        b->j22[i] = (beside.f2 - t.f2) / h;
    }
}

/* A quasi-Newton step, held to moderate changes. */
struct lane_move {
    double du, dv;
};

SHV_INLINE struct lane_move lane_move_of(const struct lane_block *b, size_t i)
{
    double u = b->u[i], v = b->v[i], f1 = b->f1[i], f2 = b->f2[i];
    double j11 = b->j11[i], j12 = b->j12[i], j21 = b->j21[i], j22 = b->j22[i];
    double det = j11 * j22 - j12 * j21;
    double du = (j12 * f2 - j22 * f1) / det;
    double dv = (j21 * f1 - j11 * f2) / det;
    double share = shv_min(1.0, shv_min(0.3 * u / fabs(du), 0.3 * v / fabs(dv)));
    share = share > 0.0 ? share : 1.0; /* 0/0 when a change is exactly zero */
    return (struct lane_move){du * share, dv * share};
}

/* Takes a step that was tried, with Broyden's update (C. G. Broyden, Math. Comp. 19, 1965). */
SHV_INLINE void lane_accept(struct lane_block *b, size_t i, struct lane_move move,
                            const struct lane_trial *t)
{
    double u = b->u[i], v = b->v[i], f1 = b->f1[i], f2 = b->f2[i];
    double j11 = b->j11[i], j12 = b->j12[i], j21 = b->j21[i], j22 = b->j22[i];
    double du = move.du, dv = move.dv, g1 = t->f1, g2 = t->f2;
    double size = du * du + dv * dv;
    double e1 = (g1 - f1 - j11 * du - j12 * dv) / size;
    double e2 = (g2 - f2 - j21 * du - j22 * dv) / size;
    bool frozen = b->done[i] > 0.5;
    double now = shv_max(fabs(g1), fabs(g2)) < LANE_TOLERANCE ? 1.0 : 0.0;
    b->u[i] = frozen ? u : u + du;
    b->v[i] = frozen ? v : v + dv;
    b->f1[i] = frozen ? f1 : g1;
    b->f2[i] = frozen ? f2 : g2;
    b->j11[i] = frozen ? j11 : j11 + e1 * du;
    b->j12[i] = frozen ? j12 : j12 + e1 * dv;
    b->j21[i] = frozen ? j21 : j21 + e2 * du;
    b->j22[i] = frozen ? j22 : j22 + e2 * dv;
    b->done[i] = frozen ? 1.0 : now;
    lane_keep(b, i, &t->o, frozen);
}

SHV_INLINE void step_lane(struct lane_block *b, const struct path_shared *s,
                          const struct path_inlet *in, const struct path_lane *l, size_t i,
                          bool is_map, bool looped, bool wet)
{
    struct lane_move move = lane_move_of(b, i);
    struct lane_trial t;
    lane_try(s, in, l, b->scale[i], b->u[i] + move.du, b->v[i] + move.dv, is_map, looped, wet, &t);
    lane_accept(b, i, move, &t);
}

/* ---- Blowers by map ----
 *
 * Looking up which cubic of the map holds at a pressure ratio is no vector code. So a step of these
 * lanes is cut in two: the move and the pressure ratio it leads to, then, with the cubics that hold
 * there, the rest. */

/* Pressure ratio across the rotors at a state. */
SHV_INLINE double lane_ratio(const struct path_shared *s, double scale, double u, double v)
{
    return v * s->p0 / path_inlet_pressure(s, u * scale);
}

SHV_INLINE void map_path(const struct lane_block *b, const struct path_shared *s,
                         const struct path_inlet *in, const struct path_lane *l, size_t i, double m,
                         double p2, bool looped, struct path_out *o)
{
    const double(*c)[SHV_LANES_MAX] = b->map_cubic;
    struct map_cubic below = {c[0][i], c[1][i], c[2][i], c[3][i], c[4][i],
                              c[5][i], c[6][i], c[7][i], c[8][i], c[9][i]};
    struct map_cubic above = {c[10][i], c[11][i], c[12][i], c[13][i], c[14][i],
                              c[15][i], c[16][i], c[17][i], c[18][i], c[19][i]};
    o->p1 = path_inlet_pressure(s, m);
    struct map_value v = map_cell_value(&below, &above, b->map_share[i], p2 / o->p1);
    map_slip(&v, s->slip_added);
    path_map(s, l, in, v, m, p2, o);
    path_cooler(s, l, m, p2, looped, o);
    path_engine(s, s->gas.gas_constant, m, o);
}

SHV_INLINE void map_try(const struct lane_block *b, const struct path_shared *s,
                        const struct path_inlet *in, const struct path_lane *l, size_t i, double u,
                        double v, bool looped, struct lane_trial *t)
{
    double m = u * b->scale[i];
    map_path(b, s, in, l, i, m, v * s->p0, looped, &t->o);
    t->f1 = (t->o.blower_flow - m) / b->scale[i];
    t->f2 = (t->o.engine_flow - m) / b->scale[i];
}

SHV_INLINE void map_start_lane(struct lane_block *b, const struct path_shared *s,
                               const struct path_inlet *in, const struct path_lane *l, size_t i,
                               bool looped)
{
    struct lane_trial t;
    map_try(b, s, in, l, i, b->u[i], b->v[i], looped, &t);
    lane_begin(b, i, &t);
}

SHV_INLINE void map_step_lane(struct lane_block *b, const struct path_shared *s,
                              const struct path_inlet *in, const struct path_lane *l, size_t i,
                              bool looped)
{
    struct lane_move move = {b->du[i], b->dv[i]};
    struct lane_trial t;
    map_try(b, s, in, l, i, b->u[i] + move.du, b->v[i] + move.dv, looped, &t);
    lane_accept(b, i, move, &t);
}

#endif
