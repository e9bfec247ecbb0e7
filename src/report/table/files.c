/* Writing CSV files (src/report/table/files.h). */
#include "report/table/files.h"

#include <errno.h>
#include <string.h>

#include "report/table/objective.h"
#include "report/write/file.h"

void report_table_layout(const struct report_table *table, struct report_layout *layout,
                         report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, table->columns, table->count);
    if (table->more) {
        table->more(layout);
    }
}

enum shv_status report_table_write(const struct report_table *table, const char *folder,
                                   const char *name, enum shv_unit_system units,
                                   report_when_set when, void *data, struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, name, message);
    if (status != SHV_OK) {
        return status;
    }
    struct report_csv csv = {.out = file.stream, .units = units};
    report_table_layout(table, &csv.layout, when);
    report_csv_head(&csv);
    table->write(&csv, data);
    errno = csv.error;
    return report_file_finish(&file, csv.error == 0, message);
}

static enum shv_status write_of_run(const struct report_table *table, const struct shv_run *run,
                                    const char *folder, struct shv_message *message)
{
    struct report_rows rows = {.run = run};
    if (table->is_there && !table->is_there(run)) {
        return report_file_remove(folder, table->file, message);
    }
    enum shv_status status = table->of_kits ? report_rows_init(&rows, run, message) : SHV_OK;
    if (status == SHV_OK) {
        status = report_table_write(table, folder, table->file, run->study->results.units,
                                    report_when(run->study), &rows, message);
    }
    if (table->of_kits) {
        report_rows_free(&rows);
    }
    return status;
}

/* All of a run, in the order in which they are written. */
static const struct report_table *const tables[] = {
    &report_ranked,       &report_curves,        &report_rejected, &report_tradeoffs,
    &report_serving,      &report_sites,         &report_optimum,  &report_limit_worth,
    &report_sure,         &report_sensitivities, &report_stock,    &report_limits,
    &report_parts,        &report_map,           &report_islands,  &report_nearest,
    &report_worth_knowing};
#define TABLES (sizeof tables / sizeof tables[0])

enum shv_status shv_report_file(const struct shv_run *run, const char *name, const char *folder,
                                struct shv_message *message)
{
    for (size_t i = 0; i < TABLES; i++) {
        if (strcmp(tables[i]->file, name) == 0) {
            return write_of_run(tables[i], run, folder, message);
        }
    }
    return strcmp(name, "study.txt") == 0
               ? shv_report_inputs(run, folder, message)
               : shv_fail(message, SHV_BAD_INPUT, "a run has no file %s", name);
}

enum shv_status shv_report_files(const struct shv_run *run, const char *folder,
                                 struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < TABLES && status == SHV_OK; i++) {
        status = write_of_run(tables[i], run, folder, message);
    }
    return status == SHV_OK ? shv_report_inputs(run, folder, message) : status;
}
