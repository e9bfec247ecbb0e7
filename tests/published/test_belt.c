/* Belt geometry, grip and tensions against worked examples, the standard of ribbed pulleys and a
 * rule of the trade; bearing life against ISO 281. */
#include "published/published.h"
#include "model/drive/bearing.h"
#include "sheave/belt.h"

#define TOPIC "Belt grip and tension"
#define BEARINGS "Bearing life"
#define COMPANION ", as worked in a published companion"
#define KHURMI "Khurmi and Gupta, Theory of Machines, 14th ed., ex. "
#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)
#define INCH 0.0254
#define FOOT 0.3048
#define LBF 4.4482216152605
#define HP 745.69987158227022

/* A flat belt with clamped shafts, as the examples have it. Tension and mass are those of the whole
 * belt; diameters are given at the pitch line. */
static struct shv_belt_drive flat(double friction, double mass, double tension)
{
    return (struct shv_belt_drive){.belt = {.ribs = 1,
                                            .groove_angle = PI,
                                            .friction = friction,
                                            .rib_mass = mass,
                                            .allowed_tension = tension},
                                   .tensioner = SHV_TENSION_FIXED,
                                   .static_tension = tension};
}

static struct shv_belt_layout with_wrap(double diameter, double wrap)
{
    return (struct shv_belt_layout){.crank_diameter = diameter,
                                    .blower_diameter = diameter,
                                    .crank_wrap = wrap,
                                    .blower_wrap = wrap};
}

static struct shv_belt_geometry geometry(const struct shv_belt_layout *layout)
{
    struct shv_belt_geometry g;
    assert_true(shv_belt_geometry(layout, &g));
    return g;
}

static struct shv_belt_fitted fitted(const struct shv_belt_drive *d)
{
    struct shv_belt_fitted f;
    assert_true(shv_belt_fit(d, &f));
    return f;
}

static struct shv_belt_state at(const struct shv_belt_drive *d, double turns, double power)
{
    struct shv_belt_fitted f = fitted(d);
    const struct shv_belt_demand demand = {turns, power};
    return shv_belt_at(d, &f, &demand);
}

static double slip_power(const struct shv_belt_state *s)
{
    return s->slip_pull * s->speed;
}

/* W that the belt carries at most: set to the static tension it then needs, its tight side has the
 * allowed tension. */
static double capacity(struct shv_belt_drive d, double turns)
{
    double low = 0.0, high = 1e7;
    for (int i = 0; i < 100; i++) {
        double power = 0.5 * (low + high);
        d.static_tension = at(&d, turns, power).static_needed;
        bool more = at(&d, turns, power).tension_per_rib < d.belt.allowed_tension;
        low = more ? power : low;
        high = more ? high : power;
    }
    return low;
}

/* m/s at which it carries most, on pulleys of 1 m, by sections of the golden mean. */
static double best_speed(const struct shv_belt_drive *d)
{
    const double mean = 0.5 * (sqrt(5.0) - 1.0);
    double low = 1.0, high = 40.0;
    while (high - low > 1e-4) {
        double part = mean * (high - low);
        bool left = capacity(*d, (high - part) / PI) > capacity(*d, (low + part) / PI);
        low = left ? low : high - part;
        high = left ? low + part : high;
    }
    return 0.5 * (low + high);
}

/* What the tight side tells: power when it carries all it may. */
static void test_tight_side_given(void **state)
{
    (void)state;
    static const struct published open = {TOPIC, "9-01", 'R', KHURMI "11.4 p. 342" COMPANION,
                                          "0.6 m at 200 rpm, friction 0.25, 160 degrees, tight "
                                          "side 2500 N, no centrifugal tension."};
    struct shv_belt_drive d = flat(0.25, 0.0, 2500.0);
    d.layout = with_wrap(0.6, 160.0 * DEGREE);
    check(&open, 1243.8, 2500.0 / fitted(&d).grip_ratio, relative(1e-3), "slack side at slip, N");
    check(&open, 7.89, capacity(d, 200.0 / 60.0) / 1e3, relative(1e-3), "power, kW");

    static const struct published crossed = {TOPIC, "9-02", 'R', KHURMI "11.6 p. 344" COMPANION,
                                             "Crossed belt, 0.45 and 0.20 m, 1.95 m apart, tight "
                                             "side 1000 N, friction 0.25, 200 rpm."};
    d = flat(0.25, 0.0, 1000.0);
    d.layout = (struct shv_belt_layout){
        .crank_diameter = 0.45, .blower_diameter = 0.20, .centre = 1.95, .crossed = true};
    struct shv_belt_geometry g = geometry(&d.layout);
    check(&crossed, 4.975, g.length, relative(2e-3), "length, m");
    check(&crossed, 3.473, g.blower_wrap, relative(2e-3), "wrap, rad");
    check_wider(&crossed, 2.73, capacity(d, 200.0 / 60.0) / 1e3, relative(2e-3), relative(3e-3),
                "the companion goes on with its wrap of 3.473 rad, which gives 2.735 kW",
                "power, kW");
}

static void test_width_of_a_flat_belt(void **state)
{
    (void)state;
    static const struct published p = {TOPIC, "9-03", 'R', KHURMI "11.8" COMPANION,
                                       "7.5 kW, 1.2 m at 250 rpm, 165 degrees, friction 0.3, 10 mm "
                                       "thick, 1.5 MPa, 1000 kg/m3. Width from the capacity of a "
                                       "belt of 1 m."};
    struct shv_belt_drive d = flat(0.3, 1000.0 * 0.010, 1.5e6 * 0.010);
    d.layout = with_wrap(1.2, 165.0 * DEGREE);
    struct shv_belt_state s = at(&d, 250.0 / 60.0, 7500.0);
    check(&p, 65.9, 1e3 * 7500.0 / capacity(d, 250.0 / 60.0), relative(1e-3), "width, mm");
    struct published again = p; /* not printed, but computed once more for the collection */
    again.kind = 'D';
    d.static_tension = s.static_needed;
    s = at(&d, 250.0 / 60.0, 7500.0);
    check(&again, 825.3, s.tight - s.centrifugal, relative(1e-3), "tight side, N");
    check(&again, 347.9, s.slack - s.centrifugal, relative(1e-3), "slack side, N");
}

static void test_imperial_width(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "9-13", 'R',
        "worked flat-belt example in US units on a published page; book and page were not recorded",
        "20.6 hp at 2749 ft/min, friction 0.8, allowed 100 lbf/in times 0.7, 0.13 in thick, 0.042 "
        "lbf/in3. The wrap is the one that its ratio of 11.17 implies, so that the ratio itself is "
        "no check."};
    double wrap = log(11.17) / 0.8, speed = 2749.0 * FOOT / 60.0;
    /* A belt of 1 in; lb of mass for lbf of weight. */
    double mass = 0.042 * 0.13 * 0.45359237 / INCH;
    struct shv_belt_drive d = flat(0.8, mass, 70.0 * LBF);
    d.layout = with_wrap(0.2, wrap);
    double one_inch = capacity(d, speed / (PI * 0.2));
    check(&p, 4.13, 20.6 * HP / one_inch, relative(1e-3), "least width, in");
}

static void test_optimum_speed(void **state)
{
    (void)state;
    static const struct published leather = {TOPIC, "9-04", 'R', KHURMI "11.10" COMPANION,
                                             "100 by 6 mm, 1000 kg/m3, 2 MPa, 120 degrees, "
                                             "friction 0.3."};
    struct shv_belt_drive d = flat(0.3, 0.6, 1200.0);
    d.layout = with_wrap(1.0, 120.0 * DEGREE);
    double v = best_speed(&d);
    check(&leather, 25.82, v, relative(1e-3), "speed of most power, m/s");
    check(&leather, 9.64, capacity(d, v / PI) / 1e3, relative(1e-3), "power there, kW");

    static const struct published vee = {TOPIC, "9-10", 'R', KHURMI "11.18" COMPANION,
                                         "V-belt of 30 degrees, 20 by 20 mm, 0.35 kg/m, 1.4 MPa, "
                                         "140 degrees, friction 0.15."};
    d = flat(0.15, 0.35, 560.0);
    d.belt.groove_angle = 30.0 * DEGREE;
    d.layout = with_wrap(1.0, 140.0 * DEGREE);
    v = best_speed(&d);
    check(&vee, 23.09, v, relative(1e-3), "speed of most power, m/s");
    check(&vee, 6.53, capacity(d, v / PI) / 1e3, relative(1e-3), "power there, kW");
}

static void test_static_tension_given(void **state)
{
    (void)state;
    static const struct published light = {
        TOPIC, "9-06", 'R', KHURMI "11.12" COMPANION,
        "Static tension 2000 N, friction 0.3, 150 degrees, 0.4 m at 500 rpm."};
    struct shv_belt_drive d = flat(0.3, 0.0, 2000.0);
    d.layout = with_wrap(0.4, 150.0 * DEGREE);
    struct shv_belt_state s = at(&d, 500.0 / 60.0, 1e6); /* slips, so that it shows its limit */
    check(&light, 2747.4, s.tight, relative(3e-3), "tight side, N");
    check(&light, 1252.6, s.slack, relative(3e-3), "slack side, N");
    /* as far as its digits go */
    check(&light, 15.7, slip_power(&s) / 1e3, absolute(0.05), "power at slip, kW");

    static const struct published heavy = {
        TOPIC, "9-07", 'R', KHURMI "11.13" COMPANION,
        "1.5 and 1.0 m, 4.8 m apart, static tension 3000 N, 1.5 kg/m, friction 0.3, the small "
        "pulley at 400 rpm. Here the sides are without centrifugal tension."};
    d = flat(0.3, 1.5, 3000.0);
    d.layout =
        (struct shv_belt_layout){.crank_diameter = 1.0, .blower_diameter = 1.5, .centre = 4.8};
    s = at(&d, 400.0 / 60.0, 1e6);
    struct published again = heavy; /* as for 9-03 */
    again.kind = 'D';
    check(&again, 658.0, s.centrifugal, relative(5e-3), "centrifugal tension, N");
    check(&again, 3340.9, s.tight - s.centrifugal, relative(5e-3), "tight side, N");
    check(&again, 1343.2, s.slack - s.centrifugal, relative(5e-3), "slack side, N");
    check(&heavy, 42.0, slip_power(&s) / 1e3, relative(5e-3), "power at slip, kW");
}

static void test_static_tension_needed(void **state)
{
    (void)state;
    static const struct published p = {TOPIC, "9-08", 'R', KHURMI "11.15" COMPANION,
                                       "0.24 and 0.6 m, 3 m apart, 4 kW, the small pulley at 300 "
                                       "rpm, friction 0.3, 10 N allowed a mm of width."};
    struct shv_belt_drive d = flat(0.3, 0.0, 10.0e3);
    d.layout =
        (struct shv_belt_layout){.crank_diameter = 0.24, .blower_diameter = 0.6, .centre = 3.0};
    struct shv_belt_state s = at(&d, 300.0 / 60.0, 4e3);
    check(&p, 178.0, 1e3 * 4e3 / capacity(d, 300.0 / 60.0), relative(1e-3), "width, mm");
    check(&p, 1249.5, s.static_needed, relative(1e-3), "static tension needed, N");
    check(&p, 7.33, geometry(&d.layout).length, relative(1e-3), "length, m");
}

static void test_number_of_vee_belts(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "9-11", 'R', KHURMI "11.19, and Sarkar, ill. 13" COMPANION,
        "V-belts of 35 degrees, 375 mm2, 1000 kg/m3, 2.5 MPa, friction 0.25, 1600 m/min, 1 and "
        "1/3 m, 1.75 m apart, 90 kW."};
    struct shv_belt_drive d = flat(0.25, 0.375, 937.5);
    d.belt.groove_angle = 35.0 * DEGREE;
    d.layout = (struct shv_belt_layout){
        .crank_diameter = 1.0, .blower_diameter = 1.0 / 3.0, .centre = 1.75};
    double one = capacity(d, 1600.0 / 60.0 / PI);
    check(&p, 16.09, one / 1e3, relative(1e-3), "power of one belt, kW");
    check(&p, 6.0, ceil(90e3 / one), absolute(0.1), "belts");
    check(&p, 5.66, geometry(&d.layout).length, relative(1e-3), "length, m");
}

static void test_length(void **state)
{
    (void)state;
    static const struct published p = {TOPIC, "9-14", 'R',
                                       "Jindal, Machine Design, ex. 20-3 p. 567" COMPANION,
                                       "0.2 and 0.6 m, 2.4 m apart."};
    const struct shv_belt_layout l = {.crank_diameter = 0.2, .blower_diameter = 0.6, .centre = 2.4};
    check(&p, 6.0733, geometry(&l).length, relative(1e-4), "length, m");
}

/* The constants, as they come out of the functions that use them. */
static void test_ribbed_profile(void **state)
{
    (void)state;
    static const struct published least = {TOPIC, "9-16", 'P',
                                           "ISO 9981:2020, smallest effective diameter of PK "
                                           "pulleys, seen in excerpt",
                                           NULL};
    check(&least, 45.0, 1e3 * SHV_PK_MIN_DIAMETER, relative(1e-12), "smallest diameter, mm");
    static const struct published profile = {TOPIC, "9-17", 'M',
                                             "ISO 9981, ISO 9982 and SAE J1459, from memory",
                                             "PK: pitch 3.56 mm, 40 degrees."};
    check(&profile, 3.56, 1e3 * SHV_PK_RIB_PITCH, relative(1e-12), "pitch of the ribs, mm");
    double plain = log(shv_belt_grip_ratio(0.3, PI, PI));
    double wedged = log(shv_belt_grip_ratio(0.3, SHV_PK_GROOVE_ANGLE, PI));
    check(&profile, 2.9238, wedged / plain, relative(1e-4), "wedge factor 1/sin 20 degrees");
    check(&profile, 15.73, exp(wedged), relative(1e-3),
          "tight over slack, friction 0.3, half a turn");
}

/* Only the order of the number is meant. The setting was written down before it was compared. */
static void test_slip_at_40_hp(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "9-18", 'X', "common practice: six ribs on a small pulley slip at about 40 hp",
        "PK, 150 and 60 mm, 250 mm apart, 6000 rpm, clamped shafts, 30 lbf a rib, 22 g/m a rib, "
        "friction that gives the ratio of 4 at half a turn that ribbed belts are designed with; "
        "these figures are from memory. A spring-loaded idler or more ribs carry more."};
    struct shv_belt_drive d = {
        .belt = {.ribs = 6,
                 .rib_pitch = SHV_PK_RIB_PITCH,
                 .groove_angle = SHV_PK_GROOVE_ANGLE,
                 .friction = log(4.0) / PI * sin(20.0 * DEGREE),
                 .rib_mass = 0.022,
                 .allowed_tension = 300.0},
        .layout = {.crank_diameter = 0.150,
                   .blower_diameter = 0.060,
                   .line_offset = SHV_PK_LINE_OFFSET,
                   .centre = 0.250},
        .tensioner = SHV_TENSION_FIXED,
        .static_tension = 6.0 * 30.0 * LBF,
    };
    struct shv_belt_state s = at(&d, 100.0, 40.0 * HP);
    check(&p, 40.0, slip_power(&s) / HP, relative(0.25), "power at slip, hp");
    check(&p, 1.0, s.pull > s.slip_pull ? 1.0 : 0.0, absolute(0.1), "slips at 40 hp (1: yes)");
}

/* ---- bearings ---- */

static void test_life(void **state)
{
    (void)state;
    static const struct published iso = {BEARINGS, "9-19", 'D',
                                         "ISO 281:2007, basic rating life (C/P)^p in millions of "
                                         "revolutions, p = 3 and 10/3",
                                         "Load of a tenth of the rating; hours at 1000 rpm."};
    static const struct shv_bearing_part part = {1.0, 1000.0 / 60.0, 1.0};
    struct shv_bearing_duty d;
    check(&iso, 1000.0, shv_bearing_life(SHV_BEARING_BALL, 10.0, 1.0) / 1e6, relative(1e-12),
          "ball bearing, millions");
    check(&iso, 2154.43469, shv_bearing_life(SHV_BEARING_ROLLER, 10.0, 1.0) / 1e6, relative(1e-8),
          "roller bearing, millions");
    d = shv_bearing_over(SHV_BEARING_BALL, 10.0, 1, &part);
    check(&iso, 16666.6667, d.hours, relative(1e-8), "ball bearing, h");

    static const struct published mott = {
        BEARINGS, "9-20", 'R',
        "Mott, Machine Elements in Mechanical Design, ch. 14, ex. 1 and 2" COMPANION,
        "Ball bearings. 2350 lb rated, 1675 lb loaded; 1250 lb for 20000 h at 880 rpm."};
    check(&mott, 2.76, shv_bearing_life(SHV_BEARING_BALL, 2350.0, 1675.0) / 1e6, relative(2e-3),
          "life, millions of revolutions");
    check(&mott, 20000.0 * 880.0 * 60.0, shv_bearing_life(SHV_BEARING_BALL, 12729.11, 1250.0),
          relative(3e-5), "life with the rating needed, revolutions");
}

static void test_mean_load(void **state)
{
    (void)state;
    static const struct published p = {BEARINGS, "9-21", 'D',
                                       "cubic mean of loads by shares of revolutions "
                                       "(Palmgren and Miner)",
                                       "3, 2, 1 and 0 kN for 10, 20, 30 and 40 % of the time at "
                                       "one speed: the cube root of 4.6."};
    static const struct shv_bearing_part parts[] = {
        {0.1, 20.0, 3e3}, {0.2, 20.0, 2e3}, {0.3, 20.0, 1e3}, {0.4, 20.0, 0.0}};
    struct shv_bearing_duty d;
    d = shv_bearing_over(SHV_BEARING_BALL, 10e3, 4, parts);
    check(&p, 1.663103, d.mean_load / 1e3, relative(1e-6), "mean load, kN");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_tight_side_given),
        published_test(test_width_of_a_flat_belt),
        published_test(test_imperial_width),
        published_test(test_optimum_speed),
        published_test(test_static_tension_given),
        published_test(test_static_tension_needed),
        published_test(test_number_of_vee_belts),
        published_test(test_length),
        published_test(test_ribbed_profile),
        published_test(test_slip_at_40_hp),
        published_test(test_life),
        published_test(test_mean_load),
    };
    return cmocka_run_group_tests_name("published belt", tests, NULL, NULL);
}
