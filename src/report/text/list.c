/* Lists for people (src/report/text/list.h). */
#include "report/text/list.h"

#include <stdlib.h>
#include <string.h>

static enum report_measure measure_of(const struct report_list *list,
                                      const struct report_list_column *column)
{
    return column->measure == REPORT_OBJECTIVE ? list->objective : column->measure;
}

static const char *unit_of(const struct report_list *list, const struct report_list_column *column)
{
    bool ranks = column->measure == REPORT_OBJECTIVE ||
                 (column->measure == REPORT_TEXT && column->width > 0);
    if (ranks || column->measure == REPORT_MONEY) {
        return ranks ? list->objective_unit : list->money;
    }
    const char *unit = report_unit(column->measure, list->units)->label;
    return strstr(column->title, unit) ? "" : unit;
}

static void put(struct report_text *text, int width, const char *cell)
{
    if (width < 0) {
        report_text_left(text, abs(width), cell);
    } else {
        report_text_right(text, width, cell);
    }
}

void report_list_head(const struct report_list *list)
{
    for (int line = 0; line < 2; line++) {
        for (size_t i = 0; i < list->count; i++) {
            const struct report_list_column *column = &list->column[i];
            put(list->text, column->width, line == 0 ? column->title : unit_of(list, column));
        }
        report_text_end(list->text);
    }
}

/* Values are copied out, as the row is known only by its bytes. */
static void put_value(const struct report_list *list, const struct report_list_column *column,
                      const char *at)
{
    enum report_measure measure = measure_of(list, column);
    const char *name;
    uint64_t count;
    double value;
    if (measure == REPORT_TEXT) {
        memcpy(&name, at, sizeof name);
        put(list->text, column->width, name ? name : "-");
    } else if (measure == REPORT_COUNT) {
        memcpy(&count, at, sizeof count);
        report_text_number(list->text, column->width, 0, (double)count);
    } else {
        memcpy(&value, at, sizeof value);
        report_text_fitted(list->text, column->width,
                           column->decimals == REPORT_BY_UNIT
                               ? report_unit(measure, list->units)->decimals
                               : column->decimals,
                           report_shown(measure, list->units, value));
    }
}

void report_list_row(const struct report_list *list, const void *row)
{
    for (size_t i = 0; i < list->count; i++) {
        put_value(list, &list->column[i], (const char *)row + list->column[i].offset);
    }
    report_text_end(list->text);
}
