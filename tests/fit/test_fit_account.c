/* Residuals by channel, and what is hardly known, on least squares made by hand. */
#include "support/fit_logs.h"

#include "fit/fit_internal.h"

/* ---- residuals ---- */

static void residuals_and_channels(void **state)
{
    (void)state;
    struct shv_fit_entry reading[] = {
        {.row = 0, .column = 2, .channel = SHV_CHANNEL_POWER, .measured = 50e3, .deviation = 1000},
        {.row = 1, .column = 2, .channel = SHV_CHANNEL_POWER, .measured = 60e3, .deviation = 1000},
        {.row = 0, .column = 1, .channel = SHV_CHANNEL_BOOST, .measured = 40e3, .deviation = 500},
        {1, 3, 2, SHV_CHANNEL_POWER, .measured = 70e3, .deviation = 2000},
        {.row = 2, .column = 2, .channel = SHV_CHANNEL_POWER, .measured = 65e3, .deviation = 2000}};
    double r[] = {1.0, -2.0, 0.5, 3.0, 2.0}, weight[] = {1.0, 0.75, 1.0, 0.5, 1.0};
    struct shv_fit fit = {.cases = 2, .reading = reading, .readings = 5};
    struct shv_fit_result result = {.least = {.r = r, .weight = weight}};
    assert_int_equal(fit_account(&fit, &result, NULL), SHV_OK);
    assert_int_equal(result.entries, 5);
    const struct shv_fit_entry *e = &result.entry[1];
    assert_true(e->log == 0 && e->row == 1 && e->column == 2 && e->channel == SHV_CHANNEL_POWER);
    assert_true(e->measured == 60e3 && e->modelled == 58e3 && e->deviation == 1000.0);
    assert_true(e->residual == -2.0 && e->weight == 0.75);
    assert_true(result.entry[3].modelled == 76e3);
    /* Power of the first log is off by 1000, -2000 and 4000 W. */
    assert_int_equal(result.channels, 3);
    const struct shv_fit_channel *c = result.channel;
    assert_true(c[0].log == 0 && c[0].channel == SHV_CHANNEL_POWER && c[0].count == 3);
    assert_within(c[0].rms, sqrt((1.0 + 4.0 + 16.0) / 3.0) * 1000.0, 1e-9);
    assert_within(c[0].bias, 1000.0, 1e-9);
    assert_within(c[0].chi, sqrt((1.0 + 4.0 + 4.0) / 3.0), 1e-12);
    assert_int_equal(c[0].held, 1);
    assert_true(c[1].channel == SHV_CHANNEL_BOOST && c[1].count == 1 && c[1].held == 0);
    assert_within(c[1].bias, 250.0, 1e-12);
    assert_true(c[2].log == 1 && c[2].count == 1 && c[2].held == 1);
    assert_within(c[2].chi, 3.0, 1e-12);
    free(result.entry);
    free(result.channel);
}

/* ---- what is weak ---- */

enum { VE, EFFICIENCY, LEAKAGE, FREE };
static const char plan[] =
    "fit = { logs = ( { name = \"dyno\"; columns = (" FIT_SPEED "," FIT_POWER "); } );\n"
    "free = ( { correction = \"volumetric_efficiency\"; from = 0.8; to = 1.2; },\n"
    " { correction = \"efficiency\"; from = 0.9; to = 1.1; },\n"
    " { correction = \"leakage\"; from = 0.5; to = 2.5; } ); };\n";

static struct ground {
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double x[FREE], error[FREE], covariance[FREE * FREE], scale[FREE];
    double singular[FREE], direction[FREE * FREE];
    bool at_bound[FREE];
} g;

/* Standard errors as shares of the ranges 0.4, 0.2 and 2, none correlated. */
static void begin(double ve, double efficiency, double leakage)
{
    static const double cells[] = {2000.0, 5e4, 3000.0, 6e4, 4000.0, 8e4, 5000.0, 9e4};
    memset(&g, 0, sizeof g);
    fit_study(&g.study, plan);
    assert_int_equal(shv_fit_create(&g.study, 1, &g.fit, NULL), SHV_OK);
    fit_write_log("fit_account.csv", &g.study.fit.log[0], cells, 4);
    fit_take_log(g.fit, &g.study, 0, "fit_account.csv");
    remove("fit_account.csv");
    const double share[FREE] = {ve, efficiency, leakage}, range[FREE] = {0.4, 0.2, 2.0};
    g.r.least = (struct shv_least_squares_result){.parameters = FREE,
                                                  .x = g.x,
                                                  .error = g.error,
                                                  .covariance = g.covariance,
                                                  .scale = g.scale,
                                                  .at_bound = g.at_bound,
                                                  .directions = FREE,
                                                  .singular = g.singular,
                                                  .direction = g.direction};
    for (size_t k = 0; k < FREE; k++) {
        g.x[k] = 1.0;
        g.scale[k] = range[k];
        g.error[k] = share[k] * range[k];
        g.covariance[k * FREE + k] = g.error[k] * g.error[k];
        g.singular[k] = 1.0 / share[k];
        g.direction[k * FREE + k] = 1.0;
    }
}

static void find(void)
{
    free(g.r.weak);
    g.r.weaks = 0;
    struct shv_message message = {""};
    if (fit_find_weak(g.fit, &g.r, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
}

static void end(void)
{
    free(g.r.weak);
    shv_fit_free(g.fit);
    shv_study_free(&g.study);
}

static void what_is_known_is_not_weak(void **state)
{
    (void)state;
    begin(0.149, 0.01, 0.149);
    find();
    assert_int_equal(g.r.weaks, 0);
    end();
}

static void one_that_is_poorly_known(void **state)
{
    (void)state;
    begin(0.01, 0.01, 0.151);
    find();
    assert_int_equal(g.r.weaks, 1);
    const struct shv_fit_weak *w = g.r.weak;
    assert_true(w->among[LEAKAGE] && !w->among[VE] && !w->among[EFFICIENCY]);
    assert_within(w->error, 0.151, 1e-12);
    /* A channel that shows the leak would help; power is there already, in whatever standard. */
    assert_true(w->has_remedy && w->error_then < 0.8 * w->error && w->log == 0);
    assert_true(w->channel != SHV_CHANNEL_POWER && w->channel != SHV_CHANNEL_TORQUE &&
                w->channel != SHV_CHANNEL_POWER_J1349 && w->channel != SHV_CHANNEL_POWER_ISO1585);
    assert_true(w->deviation == shv_channel_info(w->channel)->error &&
                w->deviation_share == shv_channel_info(w->channel)->share);
    g.at_bound[LEAKAGE] = true; /* held: nothing is asked of it */
    find();
    assert_int_equal(g.r.weaks, 0);
    end();
}

/* The error that would be left, by hand: 1/(1/e^2 + sum of (slope / deviation)^2) for one parameter
 * by itself, with slopes by differences of fit_values. */
static void what_a_remedy_would_leave(void **state)
{
    (void)state;
    begin(1e-6, 1e-6, 0.3);
    find();
    const struct shv_fit_weak *w = g.r.weak;
    assert_true(g.r.weaks == 1 && w->has_remedy);
    const double step = 1e-5, plus[] = {1.0, 1.0, 1.0 + step};
    double at[4], information = 1.0 / (g.error[LEAKAGE] * g.error[LEAKAGE]);
    assert_int_equal(fit_values(g.fit, 0, g.x), SHV_OK);
    for (size_t row = 0; row < 4; row++) {
        at[row] = fit_value(g.fit, 0, 0, row, w->channel);
    }
    assert_int_equal(fit_values(g.fit, 0, plus), SHV_OK);
    for (size_t row = 0; row < 4; row++) {
        double slope = (fit_value(g.fit, 0, 0, row, w->channel) - at[row]) / step;
        double share = w->deviation_share * at[row];
        information += slope * slope / (share * share + w->deviation * w->deviation);
    }
    /* The others are known so well that they do not count. */
    assert_relative(w->error_then, sqrt(1.0 / information) / 2.0, 1e-3);
    end();
}

/* Two that go together are one group, and so are two that share a direction hardly determined. */
static void groups(void **state)
{
    (void)state;
    begin(0.05, 0.04, 0.01);
    g.covariance[VE * FREE + EFFICIENCY] = g.covariance[EFFICIENCY * FREE + VE] =
        -0.951 * g.error[VE] * g.error[EFFICIENCY];
    find();
    assert_int_equal(g.r.weaks, 1);
    assert_true(g.r.weak[0].among[VE] && g.r.weak[0].among[EFFICIENCY] &&
                !g.r.weak[0].among[LEAKAGE]);
    assert_within(g.r.weak[0].error, 0.05, 1e-12); /* the greater of both */
    g.covariance[VE * FREE + EFFICIENCY] = g.covariance[EFFICIENCY * FREE + VE] =
        -0.949 * g.error[VE] * g.error[EFFICIENCY];
    find();
    assert_int_equal(g.r.weaks, 0);
    /* singular 6.6 is an error of more than 0.15; both parts are above 0.3 */
    g.covariance[VE * FREE + EFFICIENCY] = g.covariance[EFFICIENCY * FREE + VE] = 0.0;
    g.singular[2] = 6.6;
    const double direction[] = {0.35, 0.31, 0.0};
    memcpy(g.direction + 2 * FREE, direction, sizeof direction);
    find();
    assert_int_equal(g.r.weaks, 1);
    assert_true(g.r.weak[0].among[VE] && g.r.weak[0].among[EFFICIENCY]);
    g.direction[2 * FREE + 1] = 0.29;
    find();
    assert_int_equal(g.r.weaks, 0);
    g.direction[2 * FREE + 1] = -0.31;
    g.singular[2] = 6.7;
    find();
    assert_int_equal(g.r.weaks, 0);
    end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(residuals_and_channels),
        cmocka_unit_test(what_is_known_is_not_weak),
        cmocka_unit_test(one_that_is_poorly_known),
        cmocka_unit_test(what_a_remedy_would_leave),
        cmocka_unit_test(groups),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
