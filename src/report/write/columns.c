/* Columns of CSV files (src/report/write/columns.h). */
#include "report/write/columns.h"

#include <assert.h>
#include <errno.h>
#include <stdarg.h>
#include <string.h>

#include "report/write/csv.h"

const struct report_objective_kind *report_objective_kind(enum shv_objective_kind kind)
{
    static const struct report_objective_kind kinds[REPORT_OBJECTIVE_KINDS] = {
        [SHV_OBJECTIVE_MEAN_POWER] = {"_power", REPORT_POWER, REPORT_POWER, REPORT_WHEN_POWER,
                                      false, "brake power, peak or mean, over the sites"},
        [SHV_OBJECTIVE_TORQUE] = {"_torque", REPORT_TORQUE, REPORT_TORQUE, REPORT_WHEN_TORQUE,
                                  false, "brake torque at the study's speed, over the sites"},
        [SHV_OBJECTIVE_LEAST_PRICE] = {"_price", REPORT_MONEY, REPORT_MONEY, REPORT_WHEN_PRICE,
                                       true, "price of all parts, the least first"},
        [SHV_OBJECTIVE_POWER_PER_PRICE] = {"_power_per_price", REPORT_POWER_PER_MONEY,
                                           REPORT_POWER_PER_MONEY, REPORT_WHEN_POWER_PER_PRICE,
                                           false, "peak brake power for a unit of money"},
        [SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE] = {"_charge_temperature", REPORT_TEMPERATURE,
                                                    REPORT_TEMPERATURE_CHANGE,
                                                    REPORT_WHEN_CHARGE_TEMPERATURE, true,
                                                    "highest gas temperature in the manifold, "
                                                    "the least first"},
        [SHV_OBJECTIVE_WEIGHTED] = {"_weighted", REPORT_NUMBER, REPORT_NUMBER, REPORT_WHEN_WEIGHTED,
                                    false,
                                    "peak power less price, mass and charge temperature, each "
                                    "times its weight"},
    };
    return &kinds[kind == SHV_OBJECTIVE_PEAK_POWER ? SHV_OBJECTIVE_MEAN_POWER : kind];
}

void report_layout_init(struct report_layout *layout, report_when_set when)
{
    layout->when = when;
    layout->count = layout->used = 0;
}

/* A text that lasts as long as the layout. */
static const char *keep(struct report_layout *layout, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static const char *keep(struct report_layout *layout, const char *format, ...)
{
    char *text = layout->text + layout->used;
    size_t room = sizeof layout->text - layout->used;
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(text, room, format, arguments);
    va_end(arguments);
    assert(length >= 0 && (size_t)length < room);
    layout->used += (size_t)length + 1;
    return text;
}

static void add(struct report_layout *layout, struct report_column column)
{
    if (column.when != REPORT_ALWAYS && !(column.when & layout->when)) {
        return;
    }
    assert(layout->count < REPORT_COLUMNS_MAX);
    layout->column[layout->count++] = column;
}

/* The column of each kind of objective. */
static void add_objective(struct report_layout *layout, const struct report_column *column)
{
    const char *stem = column->stem, *end = stem + strcspn(stem, "*"), *rest = end + (*end == '*');
    for (int i = SHV_OBJECTIVE_MEAN_POWER; i < REPORT_OBJECTIVE_KINDS; i++) {
        const struct report_objective_kind *kind =
            report_objective_kind((enum shv_objective_kind)i);
        const char *what = strstr(column->meaning, "%s");
        struct report_column one = *column;
        one.stem = keep(layout, "%.*s%s%s", (int)(end - stem), stem, kind->word, rest);
        one.measure = column->measure == REPORT_OBJECTIVE ? kind->measure : kind->change;
        one.when = kind->when;
        one.meaning = what ? keep(layout, "%.*s%s%s", (int)(what - column->meaning),
                                  column->meaning, kind->what, what + 2)
                           : column->meaning;
        add(layout, one);
    }
}

void report_layout_add(struct report_layout *layout, const struct report_column *table,
                       size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (table[i].measure == REPORT_OBJECTIVE || table[i].measure == REPORT_OBJECTIVE_CHANGE) {
            add_objective(layout, &table[i]);
        } else {
            add(layout, table[i]);
        }
    }
}

void report_layout_add_named(struct report_layout *layout, const char *before,
                             struct report_column column)
{
    column.stem = before[0] ? keep(layout, "%s%s", before, column.stem) : column.stem;
    report_layout_add(layout, &column, 1);
}

void report_layout_add_rooms(struct report_layout *layout, size_t offset)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        add(layout, (struct report_column){
                        keep(layout, "%s_room", info->name), report_room_measure((enum shv_limit)i),
                        6, offset + (size_t)i * sizeof(double), REPORT_WHEN_LIMIT(i),
                        keep(layout, "Room to the limit of %s%s.", info->title,
                             info->of_kit ? "" : ", where it is tightest")});
    }
}

void report_layout_add_chances(struct report_layout *layout, size_t chance, size_t error)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        size_t place = (size_t)i * sizeof(double);
        add(layout, (struct report_column){
                        keep(layout, "%s_holds", info->name), REPORT_PERCENT, 6, chance + place,
                        REPORT_WHEN_LIMIT(i),
                        keep(layout, "Probability that the limit of %s holds.", info->title)});
        add(layout, (struct report_column){keep(layout, "%s_holds_error", info->name),
                                           REPORT_PERCENT, 3, error + place, REPORT_WHEN_LIMIT(i),
                                           "Its standard error of sampling."});
    }
}

void report_column_name(const struct report_column *column, enum shv_unit_system system,
                        char name[REPORT_NAME_MAX])
{
    (void)snprintf(name, REPORT_NAME_MAX, "%s%s", column->stem,
                   report_unit(column->measure, system)->suffix);
}

const struct report_column *report_column_find(const struct report_layout *layout,
                                               enum shv_unit_system units, const char *name)
{
    for (size_t i = 0; i < layout->count; i++) {
        char known[REPORT_NAME_MAX];
        report_column_name(&layout->column[i], units, known);
        if (strcmp(known, name) == 0) {
            return &layout->column[i];
        }
    }
    return NULL;
}

const char *report_column_title(const char *stem)
{
    static const char *const titles[][2] = {
        {"index", "combination"},
        {"aki", "AKI"},
        {"air_fuel_ratio", "AFR"},
        {"injector_mass_flow", "injector flow by mass"},
        {"binding_limit", "nearest limit"},
        {"binding_share", "room"},
        {"binding_speed", "at"},
        {"binding_site", "at site"},
        {"gain", "over stock"},
        {"highest_boost", "boost"},
        {"bsfc", "fuel for work"},
        {"ca50", "half burnt"},
        {"power_j1349", "power by SAE J1349"},
        {"power_iso1585", "power by ISO 1585"},
        {"phasing_retard", "retard"},
        {"highest_phasing_retard", "highest retard"},
        {"highest_phasing_retard_speed", "highest retard at"},
        {"highest_phasing_retard_site", "highest retard at site"},
        {"phasing_retard_room", "room to latest"},
    };
    for (size_t i = 0; i < sizeof titles / sizeof *titles; i++) {
        if (strcmp(titles[i][0], stem) == 0) {
            return titles[i][1];
        }
    }
    return strncmp(stem, "objective_", 10) == 0 ? "ranking value" : stem;
}

bool report_header(FILE *out, const struct report_layout *layout, enum shv_unit_system system)
{
    for (size_t i = 0; i < layout->count; i++) {
        char name[REPORT_NAME_MAX];
        report_column_name(&layout->column[i], system, name);
        if ((i > 0 && !report_csv_comma(out)) || !report_csv_text(out, name)) {
            return false;
        }
    }
    return report_csv_end(out);
}

/* Values are copied out, as the row is known only by its bytes. */
static bool cell(FILE *out, const struct report_column *column, enum shv_unit_system system,
                 const char *at)
{
    if (column->measure == REPORT_TEXT) {
        const char *text;
        memcpy(&text, at, sizeof text);
        return report_csv_text(out, text);
    }
    if (column->measure == REPORT_COUNT) {
        uint64_t count;
        memcpy(&count, at, sizeof count);
        return count == REPORT_NO_COUNT || report_csv_count(out, count);
    }
    double value;
    memcpy(&value, at, sizeof value);
    return report_csv_number(out, report_shown(column->measure, system, value), column->digits);
}

bool report_row(FILE *out, const struct report_layout *layout, enum shv_unit_system system,
                const void *row)
{
    for (size_t i = 0; i < layout->count; i++) {
        const struct report_column *column = &layout->column[i];
        if ((i > 0 && !report_csv_comma(out)) ||
            !cell(out, column, system, (const char *)row + column->offset)) {
            return false;
        }
    }
    return report_csv_end(out);
}

static void keep_error(struct report_csv *csv, bool good)
{
    if (!good && csv->error == 0) {
        csv->error = errno ? errno : EIO;
    }
}

void report_csv_head(struct report_csv *csv)
{
    keep_error(csv, report_header(csv->out, &csv->layout, csv->units));
}

void report_csv_row(struct report_csv *csv, const void *row)
{
    if (csv->error == 0) {
        keep_error(csv, report_row(csv->out, &csv->layout, csv->units, row));
    }
}

enum shv_status report_csv_finish(struct report_csv *csv, const char *what,
                                  struct shv_message *message)
{
    keep_error(csv, fflush(csv->out) == 0);
    return csv->error == 0
               ? SHV_OK
               : shv_fail(message, SHV_IO, "cannot write %s: %s", what, strerror(csv->error));
}
