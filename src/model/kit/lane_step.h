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

SHV_INLINE void scaled_residual(const struct path_shared *s, const struct path_inlet *in,
                                const struct path_lane *l, double scale, double u, double v,
                                bool is_map, bool looped, bool wet, double *f1, double *f2)
{
    struct path_out o;
    double m = u * scale;
    if (wet) {
        path_run_wet(s, l, in, m, m, m, v * s->p0, is_map, looped, &o);
    } else {
        path_run(s, l, in, m, m, m, v * s->p0, is_map, looped, &o);
    }
    *f1 = (o.blower_flow - m) / scale;
    *f2 = (o.engine_flow + o.water - m) / scale;
}

/* Residual and, where a lane has none yet, its Jacobian by forward differences. */
SHV_INLINE void start_lane(struct lane_block *b, const struct path_shared *s,
                           const struct path_inlet *in, const struct path_lane *l, size_t i,
                           bool jacobian, bool is_map, bool looped, bool wet)
{
    const double h = 1e-7;
    double u = b->u[i], v = b->v[i], f1, f2;
    scaled_residual(s, in, l, b->scale[i], u, v, is_map, looped, wet, &f1, &f2);
    b->f1[i] = f1;
    b->f2[i] = f2;
    b->done[i] = shv_max(fabs(f1), fabs(f2)) < LANE_TOLERANCE ? 1.0 : 0.0;
    if (jacobian) {
        double a1, a2;
        scaled_residual(s, in, l, b->scale[i], u + h, v, is_map, looped, wet, &a1, &a2);
        b->j11[i] = (a1 - f1) / h;
        b->j21[i] = (a2 - f2) / h;
        scaled_residual(s, in, l, b->scale[i], u, v + h, is_map, looped, wet, &a1, &a2);
        b->j12[i] = (a1 - f1) / h;
        b->j22[i] = (a2 - f2) / h;
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

/* Takes a step whose residual is known, with Broyden's update (C. G. Broyden, Math. Comp. 19,
 * 1965). */
SHV_INLINE void lane_accept(struct lane_block *b, size_t i, struct lane_move move, double g1,
                            double g2)
{
    double u = b->u[i], v = b->v[i], f1 = b->f1[i], f2 = b->f2[i];
    double j11 = b->j11[i], j12 = b->j12[i], j21 = b->j21[i], j22 = b->j22[i];
    double du = move.du, dv = move.dv;
    double size = du * du + dv * dv;
    double e1 = (g1 - f1 - j11 * du - j12 * dv) / size;
    double e2 = (g2 - f2 - j21 * du - j22 * dv) / size;
    double frozen = b->done[i];
    double now = shv_max(fabs(g1), fabs(g2)) < LANE_TOLERANCE ? 1.0 : 0.0;
    b->u[i] = frozen > 0.5 ? u : u + du;
    b->v[i] = frozen > 0.5 ? v : v + dv;
    b->f1[i] = frozen > 0.5 ? f1 : g1;
    b->f2[i] = frozen > 0.5 ? f2 : g2;
    b->j11[i] = frozen > 0.5 ? j11 : j11 + e1 * du;
    b->j12[i] = frozen > 0.5 ? j12 : j12 + e1 * dv;
    b->j21[i] = frozen > 0.5 ? j21 : j21 + e2 * du;
    b->j22[i] = frozen > 0.5 ? j22 : j22 + e2 * dv;
    b->done[i] = frozen > 0.5 ? 1.0 : now;
}

SHV_INLINE void step_lane(struct lane_block *b, const struct path_shared *s,
                          const struct path_inlet *in, const struct path_lane *l, size_t i,
                          bool is_map, bool looped, bool wet)
{
    struct lane_move move = lane_move_of(b, i);
    double g1, g2;
    scaled_residual(s, in, l, b->scale[i], b->u[i] + move.du, b->v[i] + move.dv, is_map, looped,
                    wet, &g1, &g2);
    lane_accept(b, i, move, g1, g2);
}

SHV_INLINE void keep_answer(struct lane_block *b, const struct path_out *o, double m, double p2,
                            size_t i)
{
    b->engine_flow[i] = m;
    b->latent[i] = 0.0;
    b->pm[i] = o->pm;
    b->pe[i] = o->pe;
    b->p1[i] = o->p1;
    b->p2[i] = p2;
    b->t2[i] = o->t2;
    b->tm[i] = o->tm;
    b->shaft[i] = o->gas_power + b->windage[i] + b->bearing[i];
}

/* What the rest of the model needs of the path at the answer. */
SHV_INLINE void answer_lane(struct lane_block *b, const struct path_shared *s,
                            const struct path_inlet *in, const struct path_lane *l, size_t i,
                            bool is_map, bool looped)
{
    struct path_out o;
    double m = b->u[i] * b->scale[i];
    double p2 = b->v[i] * s->p0;
    path_run(s, l, in, m, m, m, p2, is_map, looped, &o);
    keep_answer(b, &o, m, p2, i);
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

SHV_INLINE void map_residual(const struct lane_block *b, const struct path_shared *s,
                             const struct path_inlet *in, const struct path_lane *l, size_t i,
                             double u, double v, bool looped, double *f1, double *f2)
{
    struct path_out o;
    double m = u * b->scale[i];
    map_path(b, s, in, l, i, m, v * s->p0, looped, &o);
    *f1 = (o.blower_flow - m) / b->scale[i];
    *f2 = (o.engine_flow - m) / b->scale[i];
}

SHV_INLINE void map_start_lane(struct lane_block *b, const struct path_shared *s,
                               const struct path_inlet *in, const struct path_lane *l, size_t i,
                               bool looped)
{
    double f1, f2;
    map_residual(b, s, in, l, i, b->u[i], b->v[i], looped, &f1, &f2);
    b->f1[i] = f1;
    b->f2[i] = f2;
    b->done[i] = shv_max(fabs(f1), fabs(f2)) < LANE_TOLERANCE ? 1.0 : 0.0;
}

SHV_INLINE void map_step_lane(struct lane_block *b, const struct path_shared *s,
                              const struct path_inlet *in, const struct path_lane *l, size_t i,
                              bool looped)
{
    struct lane_move move = {b->du[i], b->dv[i]};
    double g1, g2;
    map_residual(b, s, in, l, i, b->u[i] + move.du, b->v[i] + move.dv, looped, &g1, &g2);
    lane_accept(b, i, move, g1, g2);
}

SHV_INLINE void map_answer_lane(struct lane_block *b, const struct path_shared *s,
                                const struct path_inlet *in, const struct path_lane *l, size_t i,
                                bool looped)
{
    struct path_out o;
    double m = b->u[i] * b->scale[i], p2 = b->v[i] * s->p0;
    map_path(b, s, in, l, i, m, p2, looped, &o);
    keep_answer(b, &o, m, p2, i);
}

#endif
