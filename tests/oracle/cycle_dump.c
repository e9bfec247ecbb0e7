/* Lays the closed cycle open for its independent twin (cycle_oracle.py).
 *
 *   cycle_dump cases < CASES     one line per case: "run" or "limit", then part.field=value ...;
 * what is not named has its default. Answers with a line of results and lines of trace. cycle_dump
 * tables            tables of docs/model.md
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheave/cycle.h"

enum { EXIT_USAGE = 2, LINE_ROOM = 4096 };

struct inputs {
    struct shv_cycle_engine engine;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_knock knock;
    struct shv_cycle_case at;
};

#define INPUT(part, field)                                                                         \
    {                                                                                              \
#part "." #field, offsetof(struct inputs, part.field)                                      \
    }

static const struct {
    const char *name;
    size_t offset;
} inputs[] = {
    INPUT(engine, bore),
    INPUT(engine, stroke),
    INPUT(engine, compression_ratio),
    INPUT(engine, rod_ratio),
    INPUT(engine, inlet_closing),
    INPUT(engine, exhaust_opening),
    INPUT(engine, chamber_area),
    INPUT(engine, crown_area),
    INPUT(engine, chamber_temperature),
    INPUT(engine, crown_temperature),
    INPUT(engine, bore_temperature),
    INPUT(engine, heat_factor),
    INPUT(engine, motored_exponent),
    INPUT(engine, wiebe_a),
    INPUT(engine, wiebe_m),
    INPUT(engine, burn_duration),
    INPUT(engine, burn_reference_speed),
    INPUT(engine, burn_speed_exponent),
    INPUT(engine, charge_heating),
    INPUT(engine, charge_wall_temperature),
    INPUT(engine, evaporated_share),
    INPUT(engine, blowdown_share),
    INPUT(fuel, stoichiometric),
    INPUT(fuel, heating_value),
    INPUT(fuel, hydrogen_carbon),
    INPUT(fuel, oxygen_carbon),
    INPUT(fuel, molar_mass),
    INPUT(fuel, vaporisation),
    INPUT(fuel, ron),
    INPUT(fuel, mon),
    INPUT(fuel, rating_temperature),
    INPUT(knock, scale),
    INPUT(knock, margin),
    INPUT(knock, octane_weight),
    INPUT(knock, weight_slope),
    INPUT(knock, humidity_slope),
    INPUT(knock, mixture_slope),
    INPUT(knock, mixture_peak),
    INPUT(knock, mixture_rounding),
    INPUT(knock, best_ca50),
    INPUT(knock, limit_ca50),
    INPUT(at, speed),
    INPUT(at, air_mass),
    INPUT(at, burn_reference),
    INPUT(at, delay_factor),
    INPUT(at, charge_temperature),
    INPUT(at, exhaust_pressure),
    INPUT(at, humidity_ratio),
    INPUT(at, lambda),
    INPUT(at, ca50),
    INPUT(at, combustion_efficiency),
    INPUT(at, residual_share),
    INPUT(at, residual_temperature),
    INPUT(at, step),
};

static void set_defaults(struct inputs *in)
{
    shv_cycle_defaults(&in->engine, &in->fuel, &in->knock, &in->at);
}

static int set_input(struct inputs *in, const char *name, const char *value)
{
    for (size_t i = 0; i < sizeof inputs / sizeof inputs[0]; i++) {
        if (strcmp(name, inputs[i].name) == 0) {
            char *end;
            double number = strtod(value, &end);
            memcpy((char *)in + inputs[i].offset, &number, sizeof number);
            return *end == '\0' && end != value;
        }
    }
    return 0;
}

/* ---- cases ---- */

#define RESULT_FIELDS(F)                                                                           \
    F(gross_efficiency)                                                                            \
    F(gross_work)                                                                                  \
    F(imep)                                                                                        \
    F(peak_pressure)                                                                               \
    F(peak_angle)                                                                                  \
    F(exhaust_temperature)                                                                         \
    F(ca50)                                                                                        \
    F(knock_integral)                                                                              \
    F(octane)                                                                                      \
    F(end_gas_temperature)                                                                         \
    F(heat_loss_share)                                                                             \
    F(residual_share)                                                                              \
    F(residual_temperature)                                                                        \
    F(ivc_pressure)                                                                                \
    F(ivc_temperature)                                                                             \
    F(evo_pressure)                                                                                \
    F(evo_temperature)                                                                             \
    F(trapped_mass)                                                                                \
    F(fuel_mass)                                                                                   \
    F(heat_released)                                                                               \
    F(wall_heat)                                                                                   \
    F(closed_work)                                                                                 \
    F(burn_duration)

static void write_sample(void *data, const struct shv_cycle_sample *s)
{
    (void)data;
    (void)printf("sample %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", s->angle,
                 s->volume, s->pressure, s->temperature, s->end_gas_temperature, s->burned, s->work,
                 s->wall_heat, s->knock_integral);
}

static int answer(struct inputs *in, int to_limit)
{
    struct shv_cycle_result r;
    struct shv_message message;
    struct shv_cycle_trace trace = {write_sample, NULL};
    enum shv_status status =
        to_limit ? shv_cycle_knock_limit(&in->engine, &in->fuel, &in->knock, &in->at, &r, &message)
                 : shv_cycle_run(&in->engine, &in->fuel, &in->knock, &in->at, NULL, &r, &message);
    if (status != SHV_OK) {
        (void)fprintf(stderr, "cycle_dump: %s\n", message.text);
        return EXIT_FAILURE;
    }
    (void)printf("result outcome=%d", (int)r.outcome);
#define WRITE(field) (void)printf(" " #field "=%.17g", r.field);
    RESULT_FIELDS(WRITE)
#undef WRITE
    (void)putchar('\n');
    if (!to_limit) {
        (void)shv_cycle_run(&in->engine, &in->fuel, &in->knock, &in->at, &trace, &r, &message);
    }
    (void)puts("end");
    return EXIT_SUCCESS;
}

static int read_case(char *line)
{
    struct inputs in;
    char *place = NULL;
    char *word = strtok_r(line, " \n", &place);
    int to_limit = word && strcmp(word, "limit") == 0;
    set_defaults(&in);
    for (word = strtok_r(NULL, " \n", &place); word; word = strtok_r(NULL, " \n", &place)) {
        char *equals = strchr(word, '=');
        if (!equals) {
            return EXIT_USAGE;
        }
        *equals = '\0';
        if (!set_input(&in, word, equals + 1)) {
            (void)fprintf(stderr, "cycle_dump: no input %s, or no number\n", word);
            return EXIT_USAGE;
        }
    }
    return answer(&in, to_limit);
}

static int read_cases(void)
{
    char line[LINE_ROOM];
    int status = EXIT_SUCCESS;
    while (status == EXIT_SUCCESS && fgets(line, sizeof line, stdin)) {
        status = read_case(line);
    }
    return status;
}

/* ---- tables ---- */

static struct shv_cycle_result limit_of(const struct inputs *in)
{
    struct shv_cycle_result r = {.outcome = SHV_CYCLE_NO_ANSWER};
    struct shv_message message;
    (void)shv_cycle_knock_limit(&in->engine, &in->fuel, &in->knock, &in->at, &r, &message);
    return r;
}

static const struct {
    double pressure, temperature, ron, speed;
} points[] = {{1e5, 315, 95, 50},    {1.5e5, 330, 95, 50},  {1.5e5, 370, 95, 50},
              {1.5e5, 330, 105, 50}, {1.5e5, 330, 95, 100}, {2e5, 340, 98, 110},
              {0.9e5, 310, 91, 25}};

static void set_point(struct inputs *in, size_t i)
{
    set_defaults(in);
    in->at.air_mass = 0.9 * points[i].pressure * 4.9955e-4 / (287.0 * points[i].temperature);
    in->at.charge_temperature = points[i].temperature;
    in->fuel.ron = points[i].ron;
    in->at.speed = points[i].speed;
}

static void table_of_points(void)
{
    (void)puts(
        "| p_m, bar | T_m, K | RON | 1/min | CA50, margin 0 | CA50 | gross efficiency | peak, "
        "bar | at, deg | imep, bar | exhaust, K | wall heat, % | residual, % |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|---|");
    for (size_t i = 0; i < sizeof points / sizeof points[0]; i++) {
        struct inputs in;
        set_point(&in, i);
        struct shv_cycle_result r = limit_of(&in);
        in.knock.margin = 0.0;
        (void)printf("| %.1f | %.0f | %.0f | %.0f | %.1f | %.1f | %.4f | %.1f | %.1f | %.2f | %.0f "
                     "| %.1f | %.1f |\n",
                     1e-5 * points[i].pressure, points[i].temperature, points[i].ron,
                     60.0 * points[i].speed, limit_of(&in).ca50, r.ca50, r.gross_efficiency,
                     1e-5 * r.peak_pressure, r.peak_angle, 1e-5 * r.imep, r.exhaust_temperature,
                     100.0 * r.heat_loss_share, 100.0 * r.residual_share);
    }
}

/* Largest relative change of efficiency, phasing and peak pressure over all points from twice the
 * step. */
static void table_of_steps(void)
{
    enum { POINTS = sizeof points / sizeof points[0] };
    struct shv_cycle_result last[POINTS] = {{0}};
    (void)puts("| step, deg | efficiency | CA50 | peak pressure |\n|---|---|---|---|");
    for (double step = 8.0; step > 0.2; step *= 0.5) {
        double most[3] = {0.0, 0.0, 0.0};
        for (size_t i = 0; i < POINTS; i++) {
            struct inputs in;
            set_point(&in, i);
            in.at.step = step;
            struct shv_cycle_result r = limit_of(&in);
            most[0] = fmax(most[0], fabs(r.gross_efficiency / last[i].gross_efficiency - 1.0));
            most[1] = fmax(most[1], fabs(r.ca50 / last[i].ca50 - 1.0));
            most[2] = fmax(most[2], fabs(r.peak_pressure / last[i].peak_pressure - 1.0));
            last[i] = r;
        }
        if (step < 8.0) {
            (void)printf("| %g to %g | %.0e | %.0e | %.0e |\n", 2.0 * step, step, most[0], most[1],
                         most[2]);
        }
    }
}

int main(int argc, char **argv)
{
    int status = EXIT_USAGE;
    if (argc == 2 && strcmp(argv[1], "cases") == 0) {
        status = read_cases();
    } else if (argc == 2 && strcmp(argv[1], "tables") == 0) {
        table_of_points();
        (void)putchar('\n');
        table_of_steps();
        status = EXIT_SUCCESS;
    } else {
        (void)fputs("usage: cycle_dump cases|tables\n", stderr);
    }
    if (fflush(stdout) != 0 || ferror(stdout)) {
        status = EXIT_FAILURE;
    }
    return status;
}
