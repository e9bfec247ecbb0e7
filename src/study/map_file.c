/* Reads a blower map from CSV. The format is described in docs/config.md. */
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "sheave/blower.h"

#define MOST_POINTS 100000
#define LINE_ROOM 512
#define MOST_FIELDS 8
/* Points of one speed line are measured at speeds that differ a little: within this share they are
 * the same line only if written the same; closer than this but not equal is an error. */
#define LINE_GAP 1e-6

struct map_row {
    double speed, ratio, volumetric, last;
    int line; /* in the file */
};

struct map_reader {
    const char *path;
    FILE *file;
    int line;
    int column[4]; /* of speed, ratio, volumetric efficiency, isentropic efficiency or shaft power
                    */
    int fields;
    bool by_power;
    struct map_row *row;
    size_t rows, room;
    struct shv_message *message;
};

static char *trim(char *text)
{
    while (isspace((unsigned char)*text)) {
        text++;
    }
    size_t n = strlen(text);
    while (n > 0 && isspace((unsigned char)text[n - 1])) {
        text[--n] = '\0';
    }
    if (n >= 2 && text[0] == '"' && text[n - 1] == '"') {
        text[n - 1] = '\0';
        text++;
    }
    return text;
}

static enum shv_status split(struct map_reader *r, char *line, char *field[MOST_FIELDS], int *count)
{
    *count = 0;
    for (char *at = line; at;) {
        char *comma = strchr(at, ',');
        if (comma) {
            *comma = '\0';
        }
        if (*count == MOST_FIELDS) {
            return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: more than %d columns", r->path,
                            r->line, MOST_FIELDS);
        }
        field[(*count)++] = trim(at);
        at = comma ? comma + 1 : NULL;
    }
    return SHV_OK;
}

/* Takes off the byte-order mark that spreadsheets write. */
static void drop_mark(char line[LINE_ROOM])
{
    size_t length = strlen(line);
    if (length >= 3 && memcmp(line, "\xef\xbb\xbf", 3) == 0) {
        memmove(line, line + 3, length - 3 + 1);
    }
}

/* Next line that is not blank or a comment. SHV_NOTHING at the end of the file. */
static enum shv_status next_line(struct map_reader *r, char line[LINE_ROOM])
{
    while (fgets(line, LINE_ROOM, r->file)) {
        r->line++;
        if (!strchr(line, '\n') && !feof(r->file)) {
            return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: line longer than %d characters",
                            r->path, r->line, LINE_ROOM - 2);
        }
        if (r->line == 1) {
            drop_mark(line);
        }
        const char *start = line;
        while (isspace((unsigned char)*start)) {
            start++;
        }
        if (*start != '\0' && *start != '#') {
            return SHV_OK;
        }
    }
    if (ferror(r->file)) {
        return shv_fail(r->message, SHV_IO, "%s: cannot read: %s", r->path, strerror(errno));
    }
    return SHV_NOTHING;
}

static int find_column(char *field[], int count, const char *name)
{
    for (int i = 0; i < count; i++) {
        if (strcmp(field[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

static enum shv_status read_header(struct map_reader *r)
{
    static const char *const needed[3] = {"rotor_speed_rpm", "pressure_ratio",
                                          "volumetric_efficiency"};
    char line[LINE_ROOM], *field[MOST_FIELDS];
    enum shv_status status = next_line(r, line);
    if (status != SHV_OK) {
        return status == SHV_NOTHING
                   ? shv_fail(r->message, SHV_BAD_INPUT, "%s: no header line", r->path)
                   : status;
    }
    status = split(r, line, field, &r->fields);
    if (status != SHV_OK) {
        return status;
    }
    for (int i = 0; i < 3; i++) {
        r->column[i] = find_column(field, r->fields, needed[i]);
        if (r->column[i] < 0) {
            return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: no column \"%s\" in the header",
                            r->path, r->line, needed[i]);
        }
    }
    r->column[3] = find_column(field, r->fields, "isentropic_efficiency");
    int power = find_column(field, r->fields, "shaft_power_kW");
    if ((r->column[3] < 0) == (power < 0)) {
        return shv_fail(r->message, SHV_BAD_INPUT,
                        "%s:%d: the header needs one of the columns \"isentropic_efficiency\" and "
                        "\"shaft_power_kW\"",
                        r->path, r->line);
    }
    r->by_power = power >= 0;
    r->column[3] = r->by_power ? power : r->column[3];
    return SHV_OK;
}

static enum shv_status read_number(struct map_reader *r, const char *text, const char *name,
                                   double low, double high, double *value)
{
    char *end;
    errno = 0;
    *value = strtod(text, &end);
    if (end == text || *end != '\0' || errno != 0 || !isfinite(*value)) {
        return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: %s: found \"%s\"; a number is needed",
                        r->path, r->line, name, text);
    }
    if (*value < low || *value > high) {
        return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: %s: found %s; accepted %g to %g",
                        r->path, r->line, name, text, low, high);
    }
    return SHV_OK;
}

static enum shv_status read_row(struct map_reader *r, char *field[], struct map_row *row)
{
    enum shv_status status =
        read_number(r, field[r->column[0]], "rotor_speed_rpm", 1.0, 200000.0, &row->speed);
    if (status == SHV_OK) {
        status = read_number(r, field[r->column[1]], "pressure_ratio", 1.0, 6.0, &row->ratio);
    }
    if (status == SHV_OK) {
        status = read_number(r, field[r->column[2]], "volumetric_efficiency", 0.01, 1.2,
                             &row->volumetric);
    }
    if (status == SHV_OK && r->by_power) {
        status = read_number(r, field[r->column[3]], "shaft_power_kW", 1e-3, 10000.0, &row->last);
    } else if (status == SHV_OK) {
        status =
            read_number(r, field[r->column[3]], "isentropic_efficiency", 0.01, 1.0, &row->last);
    }
    row->line = r->line;
    return status;
}

static enum shv_status keep_row(struct map_reader *r, struct map_row row)
{
    if (r->rows == MOST_POINTS) {
        return shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: more than %d points", r->path, r->line,
                        MOST_POINTS);
    }
    if (r->rows == r->room) {
        size_t room = r->room ? 2 * r->room : 64;
        struct map_row *grown = realloc(r->row, room * sizeof *grown);
        if (!grown) {
            return shv_fail(r->message, SHV_NO_MEMORY, "out of memory for %s", r->path);
        }
        r->row = grown;
        r->room = room;
    }
    r->row[r->rows++] = row;
    return SHV_OK;
}

static enum shv_status read_rows(struct map_reader *r)
{
    char line[LINE_ROOM], *field[MOST_FIELDS];
    for (;;) {
        enum shv_status status = next_line(r, line);
        if (status == SHV_NOTHING) {
            return SHV_OK;
        }
        int count = 0;
        if (status == SHV_OK) {
            status = split(r, line, field, &count);
        }
        if (status == SHV_OK && count != r->fields) {
            status =
                shv_fail(r->message, SHV_BAD_INPUT, "%s:%d: %d columns where the header has %d",
                         r->path, r->line, count, r->fields);
        }
        struct map_row row;
        if (status == SHV_OK) {
            status = read_row(r, field, &row);
        }
        if (status == SHV_OK) {
            status = keep_row(r, row);
        }
        if (status != SHV_OK) {
            return status;
        }
    }
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
        double efficiency = flow * (shv_gas_enthalpy(&gas, ideal) - h1) / (row->last * 1e3);
        if (row->ratio > 1.0 && !(efficiency > 0.01 && efficiency <= 1.0)) {
            return shv_fail(r->message, SHV_BAD_INPUT,
                            "%s:%d: shaft power gives an isentropic efficiency of %.3f; check "
                            "displacement, units and reference conditions",
                            r->path, row->line, efficiency);
        }
        row->last = efficiency;
    }
    return SHV_OK;
}

static enum shv_status build_line(struct map_reader *r, const struct map_row *row, size_t count,
                                  double *room, struct shv_speed_line *line)
{
    double *x = room, *volumetric = room + count, *last = room + 2 * count;
    for (size_t i = 0; i < count; i++) {
        x[i] = row[i].ratio;
        volumetric[i] = row[i].volumetric;
        last[i] = row[i].last;
        if (i > 0 && row[i].ratio == row[i - 1].ratio) {
            return shv_fail(r->message, SHV_BAD_INPUT,
                            "%s:%d: pressure ratio %g at %g rpm was already given on line %d",
                            r->path, row[i].line, row[i].ratio, row[i].speed, row[i - 1].line);
        }
    }
    if (count < 2) {
        return shv_fail(r->message, SHV_BAD_INPUT,
                        "%s:%d: the speed line at %g rpm has one point; at least 2 are needed",
                        r->path, row[0].line, row[0].speed);
    }
    line->corrected_speed = row[0].speed / 60.0;
    enum shv_status status =
        shv_curve_table_init(&line->volumetric_efficiency, count, x, volumetric, r->message);
    if (status == SHV_OK) {
        status = shv_curve_table_init(&line->isentropic_efficiency, count, x, last, r->message);
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
            return shv_fail(r->message, SHV_BAD_INPUT,
                            "%s:%d: speed %.9g rpm differs from that of line %d by almost nothing; "
                            "write one speed for all points of a speed line",
                            r->path, r->row[i].line, r->row[i].speed, r->row[i - 1].line);
        }
        lines++;
    }
    if (lines < 2) {
        return shv_fail(r->message, SHV_BAD_INPUT,
                        "%s: found %zu speed lines; at least 2 are needed", r->path, lines);
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
    if (status == SHV_NO_MEMORY) {
        shv_fail(r->message, status, "out of memory for %s", r->path);
    }
    return status;
}

enum shv_status shv_blower_map_read(const char *path, double displacement,
                                    double reference_pressure, double reference_temperature,
                                    struct shv_blower_map *map, struct shv_message *message)
{
    *map = (struct shv_blower_map){.reference_pressure = reference_pressure,
                                   .reference_temperature = reference_temperature};
    struct map_reader r = {.path = path, .message = message};
    struct stat about;
    if (stat(path, &about) == 0 && !S_ISREG(about.st_mode)) {
        return shv_fail(message, SHV_IO, "%s: cannot open: not a regular file", path);
    }
    r.file = fopen(path, "r");
    if (!r.file) {
        return shv_fail(message, SHV_IO, "%s: cannot open: %s", path, strerror(errno));
    }
    enum shv_status status = read_header(&r);
    if (status == SHV_OK) {
        status = read_rows(&r);
    }
    fclose(r.file); /* opened for reading: nothing can be lost */
    if (status == SHV_OK && r.rows > 0) {
        qsort(r.row, r.rows, sizeof *r.row, by_speed_then_ratio);
    }
    if (status == SHV_OK && r.by_power) {
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
