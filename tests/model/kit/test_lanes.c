/* Lanes against the plain model, and bit for bit against themselves: other instruction sets, other
 * neighbours, other block sizes. */
#include "support/random_study.h"

#include "model/kit/lane_step.h"
#include "model/kit/vector_loops.h"

/* Limits relative to sizes that do not vanish. */
static void assert_points_agree(const struct shv_point *a, const struct shv_point *b)
{
    assert_int_equal(a->outcome, b->outcome);
    assert_int_equal(a->bypass_open, b->bypass_open);
    assert_int_equal(a->bleeding, b->bleeding);
    double work = fabs(b->indicated_power) + fabs(b->blower_power);
    assert_relative(a->air_flow, b->air_flow, 1e-9);
    assert_relative(a->outlet_pressure, b->outlet_pressure, 1e-9);
    assert_relative(a->manifold_pressure, b->manifold_pressure, 1e-9);
    assert_relative(a->inlet_pressure, b->inlet_pressure, 1e-9);
    assert_relative(a->discharge_temperature, b->discharge_temperature, 1e-9);
    assert_relative(a->charge_temperature, b->charge_temperature, 1e-9);
    assert_within(a->blower_power, b->blower_power, 1e-9 * work);
    assert_within(a->brake_power, b->brake_power, 1e-9 * work);
    assert_within(a->bleed_flow, b->bleed_flow, 1e-9 * b->air_flow);
}

static void lanes_agree_with_plain(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 61;
    int open = 0, bleeding = 0, closed = 0;
    for (int n = 0; n < 1200; n++) {
        random_study(&m, &seed);
        struct shv_kit kit = random_kit(&seed);
        struct shv_model *model = made_model(&m);
        struct shv_curves a, b;
        assert_int_equal(shv_curves_init(&a, model, NULL), SHV_OK);
        assert_int_equal(shv_curves_init(&b, model, NULL), SHV_OK);
        shv_model_evaluate(model, &kit, &a);
        shv_model_evaluate_plain(model, &kit, &b);
        for (size_t i = 0; i < a.speeds; i++) {
            assert_points_agree(&a.point[i], &b.point[i]);
            open += a.point[i].bypass_open;
            bleeding += a.point[i].bleeding;
            closed += !a.point[i].bypass_open && !a.point[i].bleeding;
        }
        shv_curves_free(&a);
        shv_curves_free(&b);
        shv_model_free(model);
        made_end(&m);
    }
    assert_true(open > 100 && bleeding > 100 && closed > 1000);
}

/* Clearances that close with heat behind a choked intake: an answer beyond the gas data may lie
 * above one within, which counts. */
static void the_lower_of_two_answers_counts(void **state)
{
    (void)state;
    static struct made m;
    int beyond = 0, within = 0;
    made_begin(&m);
    m.sites[0].ambient = (struct shv_ambient){101325.0, 288.15, 0.0};
    m.study.intake = (struct shv_loss){40e3, 0.05, 1.2};
    m.study.engine.displacement = 2.3e-3;
    m.study.engine.exhaust.pressure_drop = 0.0;
    m.blowers[0] = made_geometry("closing", 2.2e-3);
    m.blowers[0].windage_torque = 0.0;
    m.blowers[0].geometry = (struct shv_blower_geometry){.leakage_area = 150e-6,
                                                         .closing_rate = 0.001,
                                                         .assembly_temperature = 293.15,
                                                         .volume_ratio = 1.3,
                                                         .filling_loss = 0.1,
                                                         .reference_speed = 1000.0 / 6.0};
    made_speeds(&m, 1, 1000.0 / 60.0, 1000.0 / 60.0);
    struct shv_model *model = made_model(&m);
    struct shv_curves a, b;
    assert_int_equal(shv_curves_init(&a, model, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&b, model, NULL), SHV_OK);
    for (double ratio = 2.0; ratio < 3.6; ratio += 0.0005) {
        struct shv_kit kit = made_kit(0, ratio, 0, 0.0, 0.88);
        shv_model_evaluate(model, &kit, &a);
        shv_model_evaluate_plain(model, &kit, &b);
        assert_int_equal(a.point[0].outcome, b.point[0].outcome);
        beyond += b.point[0].outcome == SHV_POINT_OUT_OF_RANGE;
        within += b.point[0].outcome == SHV_POINT_OK && b.point[0].discharge_temperature > 800.0;
    }
    assert_true(beyond > 10 && within > 10);
    shv_curves_free(&a);
    shv_curves_free(&b);
    shv_model_free(model);
    made_end(&m);
}

/* ---- instruction sets ---- */

/* A full block of one blower, with the study's second cooler or (for the plain class) none, matched
 * once so that all of its inputs are set. */
static void full_block(const struct shv_model *model, struct lane_block *b, uint64_t seed,
                       size_t speed)
{
    *b = (struct lane_block){.count = SHV_LANES_MAX, .blower = 0};
    for (size_t i = 0; i < SHV_LANES_MAX; i++) {
        bool cooled = model->cooler[1].class != LANE_PLAIN || random_chance(&seed, 0.5);
        double e = random_in(&seed, 0.3, 0.8);
        block_set(b, model, i, random_in(&seed, 1.0, 3.0), 0.14, cooled ? 1 : 0,
                  cooled ? model_cooler_ntu(model, 1, e) : 0.0);
    }
    block_begin_site(b, model, 0);
    block_match(b, model, 0, speed, false);
    for (size_t i = 0; i < SHV_LANES_MAX; i++) {
        b->u[i] = random_in(&seed, 0.6, 0.95);
        b->v[i] = random_in(&seed, 1.02, 2.0);
        b->j11[i] = b->j12[i] = b->j21[i] = b->j22[i] = NAN;
        b->done[i] = 0.0;
    }
}

static void run_loops(const struct vector_loops *loops, struct lane_block *b,
                      const struct path_shared *s, const struct path_inlet *in)
{
    const struct class_loops *of = &loops->of[b->class];
    of->start_jacobian(b, s, in, SHV_LANES_MAX);
    for (int i = 0; i < 12; i++) {
        of->step(b, s, in, SHV_LANES_MAX);
    }
    of->start(b, s, in, SHV_LANES_MAX);
}

/* The same source lane by lane, compiled with this file: no vectors. */
static void run_scalar(struct lane_block *b, const struct shv_model *model,
                       const struct path_shared *s, const struct path_inlet *in)
{
    for (size_t i = 0; i < SHV_LANES_MAX; i++) {
        struct path_lane l = block_lane(b, model, i);
        bool looped = l.loop > 0.0;
        start_lane(b, s, in, &l, i, true, false, looped, false);
        for (int k = 0; k < 12; k++) {
            step_lane(b, s, in, &l, i, false, looped, false);
        }
        start_lane(b, s, in, &l, i, false, false, looped, false);
    }
}

static void assert_lanes_equal(const double *a, const double *b, const char *what, const char *set)
{
    for (size_t i = 0; i < SHV_LANES_MAX; i++) {
        if (made_bits(a[i]) != made_bits(b[i])) {
            fail_msg("%s, lane %zu of %s: %.17g and %.17g", set, i, what, a[i], b[i]);
        }
    }
}

static void assert_blocks_equal(const struct lane_block *a, const struct lane_block *b,
                                const char *set)
{
    assert_lanes_equal(a->u, b->u, "u", set);
    assert_lanes_equal(a->v, b->v, "v", set);
    assert_lanes_equal(a->f1, b->f1, "f1", set);
    assert_lanes_equal(a->f2, b->f2, "f2", set);
    assert_lanes_equal(a->j11, b->j11, "j11", set);
    assert_lanes_equal(a->j22, b->j22, "j22", set);
    assert_lanes_equal(a->j12, b->j12, "j12", set);
    assert_lanes_equal(a->j21, b->j21, "j21", set);
    assert_lanes_equal(a->done, b->done, "done", set);
    assert_lanes_equal(a->pm, b->pm, "pm", set);
    assert_lanes_equal(a->pe, b->pe, "pe", set);
    assert_lanes_equal(a->p1, b->p1, "p1", set);
    assert_lanes_equal(a->t2, b->t2, "t2", set);
    assert_lanes_equal(a->tm, b->tm, "tm", set);
    assert_lanes_equal(a->shaft, b->shaft, "shaft", set);
}

/* The versions that this processor can run. */
static size_t versions(const struct vector_loops *list[3])
{
    size_t count = 0;
    list[count++] = &vector_loops_baseline;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) {
        list[count++] = &vector_loops_avx2;
    }
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")) {
        list[count++] = &vector_loops_avx512;
    }
#endif
    return count;
}

static void same_bits_in_class(enum lane_class class, enum shv_cooler_arrangement arrangement,
                               bool looped)
{
    static struct made m;
    static struct lane_block origin, scalar, vector;
    const struct vector_loops *list[3];
    size_t count = versions(list);
    made_begin(&m);
    made_add_cooler(&m, arrangement, 2, 0.3, 0.8);
    m.coolers[1].coolant_capacity = 900.0;
    m.coolers[1].radiator_effectiveness = looped ? 0.5 : 0.0;
    m.coolers[1].radiator_capacity = 600.0;
    m.blowers[0].geometry.volume_ratio = 1.1;
    struct shv_model *model = made_model(&m);
    assert_int_equal(model->cooler[1].class, class);
    for (uint64_t n = 0; n < 100; n++) {
        size_t speed = (size_t)(n % model->speeds);
        struct path_shared s;
        full_block(model, &origin, 1000 + n, speed);
        model_shared(model, 0, 0, 0, speed, &s);
        struct path_inlet in = path_inlet_of(&s, s.t0, s.h0);
        scalar = origin;
        assert_int_equal(origin.class, class);
        run_scalar(&scalar, model, &s, &in);
        for (size_t v = 0; v < count; v++) {
            vector = origin;
            run_loops(list[v], &vector, &s, &in);
            assert_blocks_equal(&vector, &scalar, list[v]->name);
        }
    }
    shv_model_free(model);
    made_end(&m);
}

/* A block of a blower by map: the cooler of its class on every lane or, in the plain class, on
 * every other one. */
static void map_block(const struct shv_model *model, struct lane_block *b, uint64_t *seed)
{
    *b = (struct lane_block){.count = SHV_LANES_MAX, .blower = 0};
    for (size_t i = 0; i < SHV_LANES_MAX; i++) {
        bool cooled = model->cooler[1].class != LANE_PLAIN || i % 2 == 1;
        block_set(b, model, i, random_in(seed, 0.9, 3.2), 0.14, cooled ? 1 : 0,
                  cooled ? model_cooler_ntu(model, 1, random_in(seed, 0.3, 0.8)) : 0.0);
    }
}

/* One lane of it by itself: no vectors, and the map looked up at every state. */
static void alone_of(const struct lane_block *b, size_t i, struct lane_block *alone)
{
    *alone = (struct lane_block){.count = 1, .blower = b->blower, .class = b->class};
    alone->ratio[0] = b->ratio[i];
    alone->crank[0] = b->crank[i];
    alone->cooler[0] = b->cooler[i];
    alone->ntu[0] = b->ntu[i];
}

static void assert_lane_alone(const struct lane_block *b, size_t i, const struct lane_block *alone,
                              const char *set)
{
    const double *const in[] = {b->u, b->v, b->engine_flow, b->pm, b->p2, b->t2, b->tm, b->shaft};
    const double *const by_itself[] = {alone->u,  alone->v,  alone->engine_flow, alone->pm,
                                       alone->p2, alone->t2, alone->tm,          alone->shaft};
    assert_int_equal(b->outcome[i], alone->outcome[0]);
    for (size_t k = 0; k < sizeof in / sizeof *in; k++) {
        if (made_bits(in[k][i]) != made_bits(by_itself[k][0])) {
            fail_msg("%s, lane %zu, %zu: %.17g and %.17g", set, i, k, in[k][i], by_itself[k][0]);
        }
    }
}

static void map_lanes_of_class(enum shv_cooler_arrangement arrangement, bool looped, int *answers)
{
    static struct made m;
    static struct lane_block block, alone;
    const struct vector_loops *list[3];
    size_t count = versions(list);
    uint64_t seed = 77;
    made_begin(&m);
    m.blowers[0] = made_map("map", 0.9e-3, 320.0, 2.4);
    made_add_cooler(&m, arrangement, 2, 0.3, 0.8);
    m.coolers[1].coolant_capacity = 900.0;
    m.coolers[1].radiator_effectiveness = looped ? 0.5 : 0.0;
    m.coolers[1].radiator_capacity = 600.0;
    struct shv_model *model = made_model(&m);
    for (size_t v = 0; v < count; v++) {
        map_block(model, &block, &seed);
        struct lane_block origin = block;
        block_begin_site(&block, model, 0);
        for (size_t speed = 0; speed < model->speeds; speed++) {
            block_match_by(&block, model, 0, speed, false, list[v]);
        }
        for (size_t i = 0; i < SHV_LANES_MAX; i++) {
            alone_of(&origin, i, &alone);
            block_begin_site(&alone, model, 0);
            for (size_t speed = 0; speed < model->speeds; speed++) {
                block_match_by(&alone, model, 0, speed, false, list[v]);
            }
            assert_lane_alone(&block, i, &alone, list[v]->name);
            *answers += block.outcome[i] == SHV_POINT_OK;
        }
    }
    shv_model_free(model);
    made_end(&m);
}

static void blowers_by_map_give_the_same_bits_side_by_side(void **state)
{
    (void)state;
    int answers = 0;
    map_lanes_of_class(SHV_COOLER_SINGLE_STREAM, false, &answers);
    map_lanes_of_class(SHV_COOLER_SINGLE_STREAM, true, &answers);
    map_lanes_of_class(SHV_COOLER_COUNTERFLOW, true, &answers);
    map_lanes_of_class(SHV_COOLER_CROSSFLOW_UNMIXED, false, &answers);
    assert_true(answers > 50);
}

static void every_instruction_set_gives_the_same_bits(void **state)
{
    (void)state;
    const struct vector_loops *list[3];
    for (size_t v = versions(list); v > 0; v--) {
        print_message("checked: %s\n", list[v - 1]->name);
    }
    same_bits_in_class(LANE_PLAIN, SHV_COOLER_SINGLE_STREAM, false);
    same_bits_in_class(LANE_SINGLE, SHV_COOLER_SINGLE_STREAM, true);
    same_bits_in_class(LANE_COUNTERFLOW, SHV_COOLER_COUNTERFLOW, false);
    same_bits_in_class(LANE_COUNTERFLOW, SHV_COOLER_COUNTERFLOW, true);
    same_bits_in_class(LANE_UNMIXED, SHV_COOLER_CROSSFLOW_UNMIXED, false);
    same_bits_in_class(LANE_UNMIXED, SHV_COOLER_CROSSFLOW_UNMIXED, true);
}

static void the_widest_version_is_chosen(void **state)
{
    (void)state;
    const struct vector_loops *list[3];
    size_t count = versions(list);
    assert_ptr_equal(vector_loops_best(), list[count - 1]);
}

/* Most lanes must converge in the vector loops, or the fast path is not one. */
static void nearly_all_lanes_converge(void **state)
{
    (void)state;
    static struct made m;
    static struct lane_block b;
    made_begin(&m);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 2, 0.3, 0.8);
    struct shv_model *model = made_model(&m);
    double done = 0.0, all = 0.0;
    for (uint64_t n = 0; n < 100; n++) {
        struct path_shared s;
        full_block(model, &b, 5000 + n, 2);
        model_shared(model, 0, 0, 0, 2, &s);
        struct path_inlet in = path_inlet_of(&s, s.t0, s.h0);
        run_loops(&vector_loops_baseline, &b, &s, &in);
        for (size_t i = 0; i < SHV_LANES_MAX; i++) {
            done += b.done[i];
            all += 1.0;
        }
    }
    assert_true(done > 0.95 * all); /* the rest wants four to six times outside pressure */
    shv_model_free(model);
    made_end(&m);
}

/* ---- neighbours ---- */

/* Objectives of the whole space in pieces of `piece` combinations, starting at `first`. */
static void in_pieces(const struct shv_model *model, const struct shv_space *space, size_t piece,
                      uint64_t first, struct shv_brief *brief)
{
    struct shv_lanes *lanes;
    assert_int_equal(shv_lanes_create(model, &lanes, NULL), SHV_OK);
    for (uint64_t i = first; i < space->air_size; i += piece) {
        size_t count = i + piece < space->air_size ? piece : (size_t)(space->air_size - i);
        shv_lanes_evaluate(model, space, lanes, i, count, brief + i * space->fuel_size);
    }
    shv_lanes_free(lanes);
}

static void assert_pieces_do_not_matter(struct made *m)
{
    struct shv_model *model = made_model(m);
    struct shv_space space;
    assert_int_equal(shv_space_init(&space, &m->study, NULL), SHV_OK);
    struct shv_brief *one = calloc(space.size, sizeof *one),
                     *other = calloc(space.size, sizeof *one);
    assert_true(one && other);
    in_pieces(model, &space, SHV_LANES_MAX, 0, one);
    const size_t pieces[] = {1, 2, 3, 5, 8, 13, 31};
    for (size_t k = 0; k < sizeof pieces / sizeof *pieces; k++) {
        uint64_t first = k % 3; /* and shift which lanes lie side by side */
        in_pieces(model, &space, pieces[k], first, other);
        for (uint64_t i = first * space.fuel_size; i < space.size; i++) {
            assert_same_bits(one[i].objective, other[i].objective);
            assert_int_equal(one[i].broken, other[i].broken);
            assert_int_equal(one[i].outcome, other[i].outcome);
        }
    }
    free(one);
    free(other);
    shv_model_free(model);
}

static void neighbours_do_not_matter(void **state)
{
    (void)state;
    static struct made m;
    made_mixed(&m, 7, INFINITY, SHV_BLEED_TO_INLET);
    assert_pieces_do_not_matter(&m);
    made_end(&m);
    made_mixed(&m, 5, 30e3, SHV_BLEED_TO_INLET);
    assert_pieces_do_not_matter(&m);
    made_end(&m);
    /* plain coolers only: all in the vector loops but blocks of up to three */
    made_begin(&m);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 9, 0.3, 0.8);
    made_blower_pulleys(&m, 31, 0.050, 0.180);
    assert_pieces_do_not_matter(&m);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lanes_agree_with_plain),
        cmocka_unit_test(the_lower_of_two_answers_counts),
        cmocka_unit_test(every_instruction_set_gives_the_same_bits),
        cmocka_unit_test(blowers_by_map_give_the_same_bits_side_by_side),
        cmocka_unit_test(the_widest_version_is_chosen),
        cmocka_unit_test(nearly_all_lanes_converge),
        cmocka_unit_test(neighbours_do_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
