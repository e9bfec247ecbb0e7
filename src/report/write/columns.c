/* Columns of CSV files (src/report/write/columns.h). */
#include "report/write/columns.h"

#include <assert.h>
#include <string.h>

#include "report/write/csv.h"

void report_layout_init(struct report_layout *layout, report_when_set when)
{
    layout->when = when;
    layout->count = 0;
}

static void add(struct report_layout *layout, const struct report_column *column)
{
    if (column->when != REPORT_ALWAYS && !(column->when & layout->when)) {
        return;
    }
    assert(layout->count < REPORT_COLUMNS_MAX);
    layout->column[layout->count++] = *column;
}

void report_layout_add(struct report_layout *layout, const struct report_column *table,
                       size_t count)
{
    for (size_t i = 0; i < count; i++) {
        add(layout, &table[i]);
    }
}

void report_layout_add_rooms(struct report_layout *layout, size_t offset)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        (void)snprintf(layout->room_stem[i], sizeof layout->room_stem[i], "%s_room", info->name);
        (void)snprintf(layout->room_meaning[i], sizeof layout->room_meaning[i],
                       "Room to the limit of %s%s.", info->title,
                       info->of_kit ? "" : ", where it is tightest");
        struct report_column column = {.stem = layout->room_stem[i],
                                       .measure = report_room_measure((enum shv_limit)i),
                                       .digits = 6,
                                       .offset = offset + (size_t)i * sizeof(double),
                                       .when = REPORT_WHEN_LIMIT(i),
                                       .meaning = layout->room_meaning[i]};
        add(layout, &column);
    }
}

void report_layout_add_chances(struct report_layout *layout, size_t chance, size_t error)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        size_t place = (size_t)i * sizeof(double);
        (void)snprintf(layout->room_stem[i], REPORT_NAME_MAX, "%s_holds", info->name);
        (void)snprintf(layout->error_stem[i], REPORT_NAME_MAX, "%s_holds_error", info->name);
        (void)snprintf(layout->room_meaning[i], REPORT_MEANING_MAX,
                       "Probability that the limit of %s holds.", info->title);
        struct report_column columns[] = {{layout->room_stem[i], REPORT_PERCENT, 6, chance + place,
                                           REPORT_WHEN_LIMIT(i), layout->room_meaning[i]},
                                          {layout->error_stem[i], REPORT_PERCENT, 3, error + place,
                                           REPORT_WHEN_LIMIT(i),
                                           "Its standard error of sampling."}};
        add(layout, &columns[0]);
        add(layout, &columns[1]);
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
