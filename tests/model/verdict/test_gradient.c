/* Derivatives against central differences of the plain model, at many random kits and studies.
 *
 * The rule for kinks: the model is made of smooth pieces, and every point says on which it lies
 * (shv_gradient.piece). A derivative is compared only where all four points of the difference lie
 * on the same piece as the middle; the others are counted, and their share is bounded.
 */
#include "support/cycle_model.h"
#include "support/random_study.h"

#include "sheave/gradient.h"

#define STRIDE (sizeof(struct shv_point) / sizeof(double))
/* Steps of the difference relative to the choice: of two Richardson makes one of fourth order. */
#define STEP 2e-4

struct count {
    size_t compared, kinks, open, bleeding;
    double worst;
};

/* Every number of a point that the model differentiates, by name. */
struct member {
    const char *name;
    size_t offset;
};
#define MEMBER(m)                                                                                  \
    {                                                                                              \
#m, offsetof(struct shv_point, m)                                                          \
    }
static const struct member members[] = {MEMBER(rotor_speed),
                                        MEMBER(inlet_pressure),
                                        MEMBER(inlet_temperature),
                                        MEMBER(outlet_pressure),
                                        MEMBER(pressure_ratio),
                                        MEMBER(discharge_temperature),
                                        MEMBER(manifold_pressure),
                                        MEMBER(boost),
                                        MEMBER(charge_temperature),
                                        MEMBER(coolant_temperature),
                                        MEMBER(effectiveness),
                                        MEMBER(cooler_drop),
                                        MEMBER(cooler_heat),
                                        MEMBER(blower_flow),
                                        MEMBER(leakage_flow),
                                        MEMBER(bleed_flow),
                                        MEMBER(air_flow),
                                        MEMBER(dry_air_flow),
                                        MEMBER(exhaust_pressure),
                                        MEMBER(blower_volumetric_efficiency),
                                        MEMBER(blower_isentropic_efficiency),
                                        MEMBER(clearance_left),
                                        MEMBER(gas_power),
                                        MEMBER(windage_power),
                                        MEMBER(bearing_power),
                                        MEMBER(case_heat),
                                        MEMBER(blower_power),
                                        MEMBER(drive_power),
                                        MEMBER(volumetric_efficiency),
                                        MEMBER(fuel_flow),
                                        MEMBER(indicated_efficiency),
                                        MEMBER(indicated_power),
                                        MEMBER(pumping_power),
                                        MEMBER(friction_power),
                                        MEMBER(brake_power),
                                        MEMBER(torque),
                                        MEMBER(bmep),
                                        MEMBER(bsfc),
                                        MEMBER(power_j1349),
                                        MEMBER(power_iso1585),
                                        MEMBER(fuel_volume_flow),
                                        MEMBER(ca50),
                                        MEMBER(phasing_retard),
                                        MEMBER(knock_integral),
                                        MEMBER(peak_pressure),
                                        MEMBER(exhaust_temperature),
                                        MEMBER(cycle_efficiency),
                                        MEMBER(injector_duty),
                                        MEMBER(pump_flow),
                                        MEMBER(belt_slip),
                                        MEMBER(belt_tension),
                                        MEMBER(hub_load)};
#define MEMBERS (sizeof members / sizeof members[0])

static double member_of(const struct shv_point *p, size_t i)
{
    return *(const double *)(const void *)((const char *)p + members[i].offset);
}

static double *choice_of(struct shv_kit *kit, enum shv_free choice)
{
    switch (choice) {
    case SHV_FREE_EFFECTIVENESS:
        return &kit->effectiveness;
    case SHV_FREE_LAMBDA:
        return &kit->lambda;
    case SHV_FREE_IGNITION_MARGIN:
        return &kit->ignition_margin;
    case SHV_FREE_WRAP:
        return &kit->wrap;
    default:
        return &kit->ratio;
    }
}

/* The kit moved along one choice; the blower pulley follows the ratio. */
static struct shv_kit moved(const struct made *m, const struct shv_kit *kit, enum shv_free choice,
                            double by)
{
    struct shv_kit k = *kit;
    *choice_of(&k, choice) += by;
    if (!isnan(k.crank_diameter)) {
        double offset = 2.0 * m->study.drive.line_offset;
        k.blower_diameter = (k.crank_diameter + offset) / k.ratio - offset;
    }
    return k;
}

/* A kit, its curves and derivatives, and those of the four neighbours of a difference. */
struct set {
    struct shv_curves curves[5]; /* middle, then -2, -1, 1, 2 steps */
    struct shv_gradient gradient[5];
};

static void set_up(struct set *s, const struct shv_model *model)
{
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(shv_curves_init(&s->curves[i], model, NULL), SHV_OK);
        assert_int_equal(shv_gradient_init(&s->gradient[i], model, NULL), SHV_OK);
    }
}

static void tear_down(struct set *s)
{
    for (size_t i = 0; i < 5; i++) {
        shv_curves_free(&s->curves[i]);
        shv_gradient_free(&s->gradient[i]);
    }
}

static void fill(struct set *s, size_t i, const struct shv_model *model, const struct shv_kit *kit)
{
    shv_model_evaluate_plain(model, kit, &s->curves[i]);
    shv_model_gradient(model, kit, &s->curves[i], &s->gradient[i]);
}

static double difference(const double v[5], double h)
{
    return (8.0 * (v[3] - v[2]) - (v[4] - v[1])) / (12.0 * h);
}

/* Relative to the derivative and to a change by all of its `size` over the whole choice. */
static void compare(const char *name, enum shv_free choice, double found, const double v[5],
                    double size, double h, double x, struct count *count)
{
    double expected = difference(v, h), scale = fabs(expected) + size / x;
    double error = scale > 0.0 ? fabs(found - expected) / scale : fabs(found - expected);
    if (isnan(v[0]) || isinf(v[0])) {
        return;
    }
    count->worst = fmax(count->worst, error);
    count->compared++;
    if (!(error <= 1e-6)) {
        fail_msg("d %s / d %s is %.12g, differences say %.12g at %.12g", name,
                 shv_free_name(choice), found, expected, v[0]);
    }
}

/* Next to equal pressures leakage goes with the root of their difference, which no difference
 * quotient follows: within this many steps of there a point counts as at a kink. */
#define ROOT_STEPS 100.0

static bool same_piece(const struct set *s, size_t point)
{
    const struct shv_point *p = s->curves[0].point, *far = s->curves[4].point;
    double apart = p[point].outlet_pressure - p[point].inlet_pressure;
    double moved = far[point].outlet_pressure - far[point].inlet_pressure - apart;
    bool same = p[point].bypass_open || fabs(apart) > ROOT_STEPS * fabs(moved);
    for (size_t i = 1; i < 5; i++) {
        same = same && s->gradient[i].piece[point] == s->gradient[0].piece[point];
    }
    return same;
}

static void compare_points(const struct set *s, enum shv_free choice, double h, double x,
                           struct count *count)
{
    for (size_t p = 0; p < s->curves[0].sites * s->curves[0].speeds; p++) {
        if (isnan(s->curves[0].point[p].air_flow)) {
            continue;
        }
        if (!same_piece(s, p)) {
            count->kinks++;
            continue;
        }
        count->open += s->curves[0].point[p].bypass_open;
        count->bleeding += s->curves[0].point[p].bleeding;
        for (size_t k = 0; k < MEMBERS; k++) {
            double v[5];
            for (size_t i = 0; i < 5; i++) {
                v[i] = member_of(&s->curves[i].point[p], k);
            }
            compare(members[k].name, choice, member_of(&s->gradient[0].point[choice][p], k), v,
                    fabs(v[0]), h, x, count);
        }
    }
}

static bool all_same(const struct set *s)
{
    bool same = true;
    for (size_t p = 0; p < s->curves[0].sites * s->curves[0].speeds; p++) {
        same = same && same_piece(s, p);
    }
    for (size_t i = 1; i < 5; i++) {
        same = same && s->gradient[i].worst_site == s->gradient[0].worst_site &&
               s->gradient[i].hottest == s->gradient[0].hottest;
        for (size_t site = 0; site < s->curves[0].sites; site++) {
            same = same && s->gradient[i].peak[site] == s->gradient[0].peak[site];
        }
    }
    return same;
}

/* The objective, and each limit where it is tightest. */
static void compare_verdict(const struct set *s, enum shv_free choice, double h, double x,
                            struct count *count)
{
    double v[5];
    if (!all_same(s)) {
        return;
    }
    for (size_t i = 0; i < 5; i++) {
        v[i] = s->curves[i].verdict.objective;
    }
    compare("objective", choice, s->gradient[0].objective[choice], v, fabs(v[0]), h, x, count);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        const struct shv_limit_result *r = &s->curves[0].verdict.limit[k];
        bool same = !isnan(r->share);
        for (size_t i = 0; i < 5; i++) {
            const struct shv_limit_result *at = &s->curves[i].verdict.limit[k];
            same = same && at->site == r->site && at->speed == r->speed;
            v[i] = at->share;
        }
        if (same) {
            compare(shv_limit_info((enum shv_limit)k)->name, choice,
                    s->gradient[0].share[choice][k], v, 1.0, h, x, count);
        }
    }
}

static void check_choice(const struct made *m, const struct shv_model *model,
                         const struct shv_kit *kit, struct set *s, enum shv_free choice,
                         struct count *count)
{
    struct shv_kit at = *kit;
    double x = choice == SHV_FREE_IGNITION_MARGIN ? 1.0 : *choice_of(&at, choice), h = STEP * x;
    for (int i = 1; i < 5; i++) {
        static const double steps[] = {0.0, -2.0, -1.0, 1.0, 2.0};
        struct shv_kit k = moved(m, kit, choice, steps[i] * h);
        fill(s, (size_t)i, model, &k);
    }
    compare_points(s, choice, h, x, count);
    compare_verdict(s, choice, h, x, count);
}

static void check_kit(const struct made *m, const struct shv_model *model,
                      const struct shv_kit *kit, struct count *count)
{
    struct set s;
    set_up(&s, model);
    fill(&s, 0, model, kit);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        if (s.gradient[0].known[k]) {
            check_choice(m, model, kit, &s, (enum shv_free)k, count);
        }
    }
    tear_down(&s);
}

static void print_count(const char *what, const struct count *c)
{
    print_message("%s: %zu derivatives compared, worst %.2g; %zu points at kinks left out; %zu "
                  "with the bypass open, %zu bleeding\n",
                  what, c->compared, c->worst, c->kinks, c->open, c->bleeding);
}

static void set_limits(struct made *m)
{
    double *limit = m->study.limit;
    limit[SHV_LIMIT_ROTOR_SPEED] = 300.0;
    limit[SHV_LIMIT_PRESSURE_RATIO] = 1.9;
    limit[SHV_LIMIT_PRESSURE_RISE] = 80e3;
    limit[SHV_LIMIT_BOOST] = 70e3;
    limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 430.0;
    limit[SHV_LIMIT_CHARGE_TEMPERATURE] = 400.0;
    limit[SHV_LIMIT_BLOWER_POWER] = 20e3;
    limit[SHV_LIMIT_TORQUE] = 250.0;
    limit[SHV_LIMIT_FUEL_FLOW] = 0.02;
    limit[SHV_LIMIT_CLEARANCE] = 0.2;
    limit[SHV_LIMIT_BYPASS_VACUUM] = 8e3;
    limit[SHV_LIMIT_POWER] = 50e3;
}

static void random_objective(struct made *m, uint64_t *seed)
{
    struct shv_objective *o = &m->study.objective;
    o->kind = (enum shv_objective_kind)(random_next(seed) % 7);
    o->over_sites = random_chance(seed, 0.5) ? SHV_OVER_SITES_MEAN : SHV_OVER_SITES_WORST;
    o->from = m->speeds[1];
    o->to = m->speeds[2];
    o->at = m->speeds[1];
    m->study.weights = (struct shv_weights){1.0, 2.0, 3.0, 4.0};
    m->coolers[1].per_ntu = (struct shv_worth){200.0, 1.5};
    m->study.base.worth = (struct shv_worth){3000.0, 20.0};
}

static void random_kits_and_studies(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 20;
    struct count count = {0};
    for (int n = 0; n < 400; n++) {
        random_study(&m, &seed);
        if (random_chance(&seed, 0.5)) {
            made_add_site(&m, random_in(&seed, 75e3, 95e3), 285.0, 0.4, 2.0);
        }
        set_limits(&m);
        random_objective(&m, &seed);
        struct shv_kit kit = random_kit(&seed);
        struct shv_model *model = made_model(&m);
        check_kit(&m, model, &kit, &count);
        shv_model_free(model);
        made_end(&m);
    }
    print_count("random", &count);
    assert_true(count.compared > 50000 && count.open > 50 && count.bleeding > 100);
    assert_true(count.kinks < count.compared / 500);
}

/* ---- belt, bearing, supply, cruise ---- */

static void add_belt(struct made *m, double *ribs, double *wraps, struct shv_duty_part *duty,
                     uint64_t *seed)
{
    struct shv_belt_setup *b = &m->study.drive.belt;
    bool fixed = random_chance(seed, 0.5);
    *b = (struct shv_belt_setup){.given = true,
                                 .belt = shv_belt_pk(6),
                                 .tensioner = fixed ? SHV_TENSION_FIXED : SHV_TENSION_SPRING,
                                 .static_tension =
                                     random_chance(seed, 0.5) ? NAN : random_in(seed, 100.0, 700.0),
                                 .slip_margin = random_in(seed, 0.0, 0.4),
                                 .centre = 0.35,
                                 .ribs = ribs,
                                 .rib_choices = 1,
                                 .wraps = wraps,
                                 .wrap_choices = 1};
    b->belt.friction = random_in(seed, 0.15, 0.4);
    b->belt.rib_mass = 0.02;
    b->belt.allowed_tension = 125.0;
    duty[0] = (struct shv_duty_part){0, 0.5, 0.2};
    duty[1] = (struct shv_duty_part){1, 0.3, 0.7};
    duty[2] = (struct shv_duty_part){2, 0.2, 1.0};
    m->study.use = (struct shv_use){.duty = duty,
                                    .duty_parts = 3,
                                    .full_throttle_time = INFINITY,
                                    .cruises = true,
                                    .cruise_speed = 0,
                                    .cruise_pressure = 45e3};
    m->blowers[0].bearing = (struct shv_nose_bearing){
        .given = true, .type = SHV_BEARING_BALL, .rating = 15e3, .overhang = 0.02, .span = 0.06};
    m->blowers[0].continuous_speed = 180.0;
}

static void with_belt_and_supply(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 7;
    struct count count = {0};
    for (int n = 0; n < 120; n++) {
        double ribs[] = {6.0}, wraps[] = {random_chance(&seed, 0.5) ? 0.0 : 150.0};
        struct shv_duty_part duty[3];
        random_study(&m, &seed);
        add_belt(&m, ribs, wraps, duty, &seed);
        set_limits(&m);
        m.study.limit[SHV_LIMIT_BELT_SLIP] = 1.0;
        m.study.limit[SHV_LIMIT_BELT_TENSION] = 120.0;
        m.study.limit[SHV_LIMIT_HUB_LOAD] = 1500.0;
        m.study.limit[SHV_LIMIT_BEARING_LIFE] = 3.6e6;
        m.study.limit[SHV_LIMIT_PULLEY_DIAMETER] = 0.05;
        m.study.limit[SHV_LIMIT_CRUISE_DRAG] = 2e3;
        m.study.bypass_part.area = random_chance(&seed, 0.7) ? 4e-4 : 0.0;
        made_injectors(&m, 1, 9e-6, 9e-6);
        made_pump(&m, 8e-5);
        m.study.rail.reference = random_chance(&seed, 0.5) ? SHV_RAIL_MANIFOLD : SHV_RAIL_AMBIENT;
        struct shv_kit kit = random_kit(&seed);
        kit.ratio = random_in(&seed, 1.1, 2.9);
        kit.crank_diameter = 0.15;
        kit.ribs = 6.0;
        kit.wrap = wraps[0];
        kit.injector_flow = 9e-6;
        kit = moved(&m, &kit, SHV_FREE_RATIO, 0.0);
        struct shv_model *model = made_model(&m);
        check_kit(&m, model, &kit, &count);
        shv_model_free(model);
        made_end(&m);
    }
    print_count("belt", &count);
    assert_true(count.compared > 20000);
    assert_true(count.kinks < count.compared / 100);
}

/* ---- closed cycle ---- */

static void with_the_closed_cycle(void **state)
{
    (void)state;
    static struct made m;
    struct count count = {0};
    uint64_t seed = 3;
    cycle_begin(&m, 95.0);
    made_add_cooler(&m, SHV_COOLER_CROSSFLOW_UNMIXED, 3, 0.4, 0.7);
    m.study.limit[SHV_LIMIT_PEAK_PRESSURE] = 9e6;
    m.study.limit[SHV_LIMIT_PHASING_RETARD] = 20.0;
    m.study.limit[SHV_LIMIT_EXHAUST_TEMPERATURE] = 1500.0;
    struct shv_model *model = made_model(&m);
    give_table(model, 0);
    for (int n = 0; n < 150; n++) {
        bool cooled = random_chance(&seed, 0.6);
        struct shv_kit kit = made_kit(0, random_in(&seed, 1.0, 2.6), cooled ? 1 : 0,
                                      cooled ? random_in(&seed, 0.4, 0.7) : 0.0, m.lambdas[0]);
        kit.ignition_margin = random_in(&seed, 0.5, 4.0);
        check_kit(&m, model, &kit, &count);
    }
    print_count("cycle", &count);
    assert_true(count.compared > 20000);
    assert_true(count.kinks < count.compared / 50);
    shv_model_free(model);
    made_end(&m);
}

/* ---- the order of the error ---- */

/* Over a hundred times smaller steps the central difference closes in on the derivative with the
 * square of the step until rounding takes over: what is compared is the limit, not a neighbour. */
static void step_study(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    made_add_cooler(&m, SHV_COOLER_COUNTERFLOW, 3, 0.4, 0.7);
    struct shv_model *model = made_model(&m);
    struct shv_kit kit = made_kit(0, 1.9, 1, 0.6, 0.88);
    struct set s;
    set_up(&s, model);
    fill(&s, 0, model, &kit);
    double error[3];
    for (int n = 0; n < 3; n++) {
        double h = 0.04 * pow(0.1, n) * kit.ratio;
        struct shv_kit low = moved(&m, &kit, SHV_FREE_RATIO, -h);
        struct shv_kit high = moved(&m, &kit, SHV_FREE_RATIO, h);
        fill(&s, 1, model, &low);
        fill(&s, 2, model, &high);
        double v =
            (s.curves[2].point[3].brake_power - s.curves[1].point[3].brake_power) / (2.0 * h);
        double d = s.gradient[0].point[SHV_FREE_RATIO][3].brake_power;
        error[n] = fabs(v - d) / fabs(d);
    }
    print_message("steps: %.3g %.3g %.3g\n", error[0], error[1], error[2]);
    assert_relative(error[0] / error[1], 100.0, 0.2);
    assert_relative(error[1] / error[2], 100.0, 0.2);
    tear_down(&s);
    shv_model_free(model);
    made_end(&m);
}

/* ---- a model with corrections ---- */

static void correct(struct shv_corrections *c, uint64_t *seed)
{
    shv_corrections_neutral(c);
    c->value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = random_in(seed, 0.96, 1.04);
    c->value[SHV_CORRECT_LEAKAGE] = random_in(seed, 1.05, 1.3);
    c->value[SHV_CORRECT_COOLER_EFFECTIVENESS] = random_in(seed, 0.85, 1.1);
    c->value[SHV_CORRECT_EXHAUST_LOSS] = random_in(seed, 0.8, 1.2);
    c->value[SHV_CORRECT_CRANK_PULLEY] = random_in(seed, -3e-4, 3e-4);
    c->value[SHV_CORRECT_BLOWER_PULLEY] = random_in(seed, -3e-4, 3e-4);
}

/* What is described changes; what is evaluated follows it through the corrections. */
static void with_corrections(void **state)
{
    (void)state;
    static struct made m;
    uint64_t seed = 31;
    struct count count = {0};
    for (int n = 0; n < 40; n++) {
        double ribs[] = {6.0}, wraps[] = {0.0};
        struct shv_duty_part duty[3];
        struct shv_corrections corrections;
        struct shv_model *corrected;
        random_study(&m, &seed);
        add_belt(&m, ribs, wraps, duty, &seed);
        set_limits(&m);
        struct shv_kit kit = random_kit(&seed);
        kit.ratio = random_in(&seed, 1.1, 2.9);
        kit.crank_diameter = 0.15;
        kit.ribs = 6.0;
        kit = moved(&m, &kit, SHV_FREE_RATIO, 0.0);
        correct(&corrections, &seed);
        struct shv_model *model = made_model(&m);
        assert_int_equal(shv_model_correct(model, &corrections, &corrected, NULL), SHV_OK);
        check_kit(&m, corrected, &kit, &count);
        shv_model_free(corrected);
        shv_model_free(model);
        made_end(&m);
    }
    print_count("corrected", &count);
    assert_true(count.compared > 5000 && count.kinks < count.compared / 100);
}

/* ---- what is not known ---- */

static void without_a_table_the_air_side_is_known(void **state)
{
    (void)state;
    static struct made m;
    cycle_begin(&m, 95.0);
    made_speeds(&m, 1, 60.0, 60.0);
    struct shv_model *model = made_model(&m);
    struct shv_kit kit = made_kit(0, 1.6, 0, 0.0, m.lambdas[0]);
    struct shv_curves c;
    struct shv_gradient g;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    assert_int_equal(shv_gradient_init(&g, model, NULL), SHV_OK);
    shv_model_evaluate(model, &kit, &c);
    shv_model_gradient(model, &kit, &c, &g);
    assert_true(g.known[SHV_FREE_RATIO] && !g.known[SHV_FREE_LAMBDA] &&
                !g.known[SHV_FREE_EFFECTIVENESS] && !g.known[SHV_FREE_WRAP]);
    assert_true(g.point[SHV_FREE_RATIO][0].boost > 0.0);
    assert_true(isnan(g.point[SHV_FREE_RATIO][0].brake_power) &&
                isnan(g.objective[SHV_FREE_RATIO]));
    shv_gradient_free(&g);
    shv_gradient_free(&g);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_kits_and_studies),
        cmocka_unit_test(with_belt_and_supply),
        cmocka_unit_test(with_the_closed_cycle),
        cmocka_unit_test(with_corrections),
        cmocka_unit_test(step_study),
        cmocka_unit_test(without_a_table_the_air_side_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
