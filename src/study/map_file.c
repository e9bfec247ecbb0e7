/* Reads a blower map from CSV (include/sheave/blower.h). The format is described in docs/config.md.
 */
#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "sheave/blower.h"
#include "sheave/log_file.h"

#define MOST_POINTS 100000
/* Points of one speed line are measured at speeds that differ a little: within this share they are
 * the same line only if written the same; closer than this but not equal is an error. */
#define LINE_GAP 1e-6
#define WHOLE 1e-9 /* share within which a speed is one of whole rpm */

enum { SPEED, RATIO, VOLUMETRIC, ISENTROPIC, POWER, COLUMNS };

static const struct shv_log_want wants[COLUMNS] = {
    [SPEED] = {"rotor_speed", "speed|rpm", .quantity = SHV_Q_ROTATION, .role = SHV_LOG_NEEDED},
    [RATIO] = {"pressure_ratio", "pr", .quantity = SHV_Q_NUMBER, .role = SHV_LOG_NEEDED},
    [VOLUMETRIC] = {"volumetric_efficiency", "ve", .quantity = SHV_Q_NUMBER,
                    .role = SHV_LOG_NEEDED},
    [ISENTROPIC] = {"isentropic_efficiency", "adiabatic_efficiency", .may_lack = true,
                    .quantity = SHV_Q_NUMBER, .role = SHV_LOG_EXTRA},
    [POWER] = {"shaft_power", "power", .may_lack = true, .quantity = SHV_Q_POWER,
               .role = SHV_LOG_EXTRA}};
/* Accepted, in the unit of messages. */
static const struct {
    const char *unit;
    double low, high, scale; /* SI times scale is that unit */
} ranges[COLUMNS] = {[SPEED] = {" rpm", 1.0, 200000.0, 60.0},
                     [RATIO] = {"", 1.0, 6.0, 1.0},
                     [VOLUMETRIC] = {"", 0.01, 1.2, 1.0},
                     [ISENTROPIC] = {"", 0.01, 1.0, 1.0},
                     [POWER] = {" kW", 1e-3, 10000.0, 1e-3}};

struct map_row {
    double speed, ratio, volumetric, last; /* rpm; isentropic efficiency, at first maybe W */
    size_t line;                           /* in the file */
};

struct map_reader {
    const char *path;
    bool by_power;
    struct map_row *row;
    size_t rows;
    struct shv_diagnostics *findings;
};

/* A speed of whole rpm, but for the rounding of its conversion. */
static double rpm_of(double speed)
{
    double rpm = 60.0 * speed, whole = floor(rpm + 0.5);
    return fabs(rpm - whole) <= WHOLE * whole ? whole : rpm;
}

/* All that lies outside its range is told; only then are the points used. */
static bool check_ranges(const struct map_reader *r, const struct shv_log *log)
{
    size_t before = r->findings->errors;
    for (size_t i = 0; i < log->rows * COLUMNS && r->findings->errors < before + 20; i++) {
        size_t column = i % COLUMNS;
        double shown = log->value[i] * ranges[column].scale;
        if (shown < ranges[column].low * (1.0 - WHOLE) ||
            shown > ranges[column].high * (1.0 + WHOLE)) {
            shv_diagnostics_add(r->findings, false, "%s:%zu: %s: found %.6g%s; accepted %g to %g%s",
                                r->path, log->row[i / COLUMNS].line, wants[column].column, shown,
                                ranges[column].unit, ranges[column].low, ranges[column].high,
                                ranges[column].unit);
        }
    }
    return r->findings->errors == before;
}

/* One of efficiency and power, the same in every row, and no row cut short. */
static bool choose_last(struct map_reader *r, const struct shv_log *log)
{
    size_t with[COLUMNS] = {0};
    for (size_t i = 0; i < log->rows * COLUMNS; i++) {
        with[i % COLUMNS] += isnan(log->value[i]) ? 0 : 1;
    }
    r->by_power = with[POWER] > 0;
    if ((with[ISENTROPIC] > 0) == r->by_power || with[ISENTROPIC] + with[POWER] < log->rows) {
        shv_diagnostics_add(r->findings, false,
                            "%s:%zu: each point needs one of \"isentropic_efficiency\" and "
                            "\"shaft_power\", all the same",
                            r->path, log->header_line);
        return false;
    }
    if (log->drops > 0) {
        shv_diagnostics_add(r->findings, false, "%s:%zu: found no point: %s", r->path,
                            log->drop[0].line, shv_log_drop_words(log->drop[0].reason));
    }
    return log->drops == 0;
}

static enum shv_status read_points(struct map_reader *r, const struct shv_units *units)
{
    const struct shv_log_rules rules = {
        .want = wants, .wants = COLUMNS, .speed = SHV_LOG_NO_COLUMN, .throttle = SHV_LOG_NO_COLUMN};
    struct shv_log log;
    enum shv_status status = shv_log_read(r->path, units, &rules, &log, r->findings);
    if (status != SHV_OK) {
        return status;
    }
    if (log.rows > MOST_POINTS) {
        shv_diagnostics_add(r->findings, false, "%s: more than %d points", r->path, MOST_POINTS);
        status = SHV_BAD_INPUT;
    } else if (!choose_last(r, &log) || !check_ranges(r, &log)) {
        status = SHV_BAD_INPUT;
    }
    r->row = status == SHV_OK ? calloc(log.rows + 1, sizeof *r->row) : NULL;
    for (size_t i = 0; r->row && i < log.rows; i++) {
        const double *value = &log.value[i * COLUMNS];
        r->row[r->rows++] =
            (struct map_row){rpm_of(value[SPEED]), value[RATIO], value[VOLUMETRIC],
                             value[r->by_power ? POWER : ISENTROPIC], log.row[i].line};
    }
    shv_log_free(&log);
    return status == SHV_OK && !r->row ? SHV_NO_MEMORY : status;
}

enum shv_status shv_blower_map_is(const char *path, const struct shv_units *units, bool *is_map,
                                  struct shv_message *message)
{
    bool there[COLUMNS] = {false};
    enum shv_status status = shv_log_columns(path, units, wants, COLUMNS, there, message);
    *is_map = there[VOLUMETRIC]; /* what else it has, brochures have as well */
    return status;
}

static int by_speed_then_ratio(const void *a, const void *b)
{
    const struct map_row *x = a, *y = b;
    if (x->speed != y->speed) {
        return x->speed < y->speed ? -1 : 1;
    }
    if (x->ratio != y->ratio) {
        return x->ratio < y->ratio ? -1 : 1;
    }
    return x->line < y->line ? -1 : 1;
}

/* Isentropic efficiency from shaft power at the map's reference state, dry air. */
static enum shv_status power_to_efficiency(struct map_reader *r, double displacement,
                                           double pressure, double temperature)
{
    struct shv_air_model dry = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    shv_gas_init(&gas, &dry, 0.0);
    double density = shv_gas_density(&gas, pressure, temperature);
    double h1 = shv_gas_enthalpy(&gas, temperature);
    for (size_t i = 0; i < r->rows; i++) {
        struct map_row *row = &r->row[i];
        double ideal = shv_gas_isentropic_temperature(&gas, temperature, row->ratio);
        double flow = row->volumetric * density * displacement * row->speed / 60.0;
        double efficiency = flow * (shv_gas_enthalpy(&gas, ideal) - h1) / row->last;
        if (row->ratio > 1.0 && !(efficiency > 0.01 && efficiency <= 1.0)) {
            shv_diagnostics_add(r->findings, false,
                                "%s:%zu: shaft power gives an isentropic efficiency of %.3f; check "
                                "displacement, units and reference conditions",
                                r->path, row->line, efficiency);
            return SHV_BAD_INPUT;
        }
        row->last = efficiency;
    }
    return SHV_OK;
}

static enum shv_status build_line(struct map_reader *r, const struct map_row *row, size_t count,
                                  double *room, struct shv_speed_line *line)
{
    struct shv_message message;
    double *x = room, *volumetric = room + count, *last = room + 2 * count;
    for (size_t i = 0; i < count; i++) {
        x[i] = row[i].ratio;
        volumetric[i] = row[i].volumetric;
        last[i] = row[i].last;
        if (i > 0 && row[i].ratio == row[i - 1].ratio) {
            shv_diagnostics_add(r->findings, false,
                                "%s:%zu: pressure ratio %g at %g rpm was already given on line %zu",
                                r->path, row[i].line, row[i].ratio, row[i].speed, row[i - 1].line);
            return SHV_BAD_INPUT;
        }
    }
    if (count < 2) {
        shv_diagnostics_add(r->findings, false,
                            "%s:%zu: the speed line at %g rpm has one point; at least 2 are needed",
                            r->path, row[0].line, row[0].speed);
        return SHV_BAD_INPUT;
    }
    line->corrected_speed = row[0].speed / 60.0;
    enum shv_status status =
        shv_curve_table_init(&line->volumetric_efficiency, count, x, volumetric, &message);
    if (status == SHV_OK) {
        status = shv_curve_table_init(&line->isentropic_efficiency, count, x, last, &message);
    }
    if (status != SHV_OK) {
        shv_diagnostics_add(r->findings, false, "%s:%zu: %s", r->path, row[0].line, message.text);
    }
    return status;
}

static size_t rows_of_line(const struct map_reader *r, size_t begin)
{
    size_t end = begin;
    while (end < r->rows && r->row[end].speed == r->row[begin].speed) {
        end++;
    }
    return end - begin;
}

static enum shv_status build_map(struct map_reader *r, struct shv_blower_map *map)
{
    size_t lines = 0;
    for (size_t i = 0; i < r->rows; i += rows_of_line(r, i)) {
        if (i > 0 && r->row[i].speed - r->row[i - 1].speed < LINE_GAP * r->row[i].speed) {
            shv_diagnostics_add(
                r->findings, false,
                "%s:%zu: speed %.9g rpm differs from that of line %zu by almost nothing; "
                "write one speed for all points of a speed line",
                r->path, r->row[i].line, r->row[i].speed, r->row[i - 1].line);
            return SHV_BAD_INPUT;
        }
        lines++;
    }
    if (lines < 2) {
        shv_diagnostics_add(r->findings, false, "%s: found %zu speed lines; at least 2 are needed",
                            r->path, lines);
        return SHV_BAD_INPUT;
    }
    map->line = calloc(lines, sizeof *map->line);
    double *room = malloc(3 * r->rows * sizeof *room);
    enum shv_status status = map->line && room ? SHV_OK : SHV_NO_MEMORY;
    for (size_t i = 0; status == SHV_OK && i < r->rows;) {
        size_t count = rows_of_line(r, i);
        status = build_line(r, &r->row[i], count, room, &map->line[map->lines++]);
        i += count;
    }
    free(room);
    return status;
}

/* ---- sense ---- */

#define RISE 0.01         /* of volumetric efficiency with pressure that is no more scatter */
#define SLOWEST_RPM 500.0 /* no map ends below */

static void warn_of_sense(const struct map_reader *r)
{
    size_t rising = 0;
    const struct map_row *first = NULL, *last = &r->row[r->rows - 1];
    for (size_t i = 1; i < r->rows; i++) {
        const struct map_row *row = &r->row[i];
        if (row->speed == row[-1].speed && row->volumetric > row[-1].volumetric + RISE) {
            first = rising++ == 0 ? row : first;
        }
    }
    if (first) {
        shv_diagnostics_add(
            r->findings, true,
            "%s:%zu: volumetric efficiency rises from %.3g to %.3g with the pressure "
            "ratio from %.3g to %.3g at %.5g rpm, and so at %zu points; leakage "
            "makes it fall",
            r->path, first->line, first[-1].volumetric, first->volumetric, first[-1].ratio,
            first->ratio, first->speed, rising);
    }
    if (last->speed < SLOWEST_RPM) {
        shv_diagnostics_add(r->findings, true,
                            "%s:%zu: the highest speed is %.4g rpm; are these thousands of rpm?",
                            r->path, last->line, last->speed);
    }
}

enum shv_status shv_blower_map_read(const char *path, const struct shv_units *units,
                                    double displacement, double reference_pressure,
                                    double reference_temperature, struct shv_blower_map *map,
                                    struct shv_diagnostics *findings)
{
    *map = (struct shv_blower_map){.reference_pressure = reference_pressure,
                                   .reference_temperature = reference_temperature};
    struct map_reader r = {.path = path, .findings = findings};
    struct stat about;
    if (stat(path, &about) == 0 && !S_ISREG(about.st_mode)) {
        shv_diagnostics_add(findings, false, "%s: cannot open: not a regular file", path);
        return SHV_IO;
    }
    enum shv_status status = read_points(&r, units);
    if (status == SHV_OK) {
        qsort(r.row, r.rows, sizeof *r.row, by_speed_then_ratio);
        warn_of_sense(&r);
    }
    if (status == SHV_OK && r.by_power && isfinite(displacement)) {
        status = power_to_efficiency(&r, displacement, reference_pressure, reference_temperature);
    }
    if (status == SHV_OK) {
        status = build_map(&r, map);
    }
    free(r.row);
    if (status != SHV_OK) {
        shv_blower_map_free(map);
    }
    return status;
}
