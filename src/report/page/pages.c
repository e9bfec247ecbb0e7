/* Plots and pages of a results folder. */
#include "report/page/page.h"
#include "report/plot/plots.h"

enum shv_status shv_report_material(const struct shv_run *run, const char *folder,
                                    struct shv_message *message)
{
    enum shv_status (*const writers[])(const struct shv_run *run, const char *folder,
                                       struct shv_message *message) = {
        shv_report_stock, shv_report_limits,  shv_report_parts,
        shv_report_map,   shv_report_islands, shv_report_inputs};
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < sizeof writers / sizeof *writers && status == SHV_OK; i++) {
        status = writers[i](run, folder, message);
    }
    return status;
}

enum shv_status shv_report_pages(const char *folder, const struct shv_watch *watch,
                                 struct shv_pages *pages, struct shv_message *message)
{
    struct report_results results;
    *pages = (struct shv_pages){0};
    enum shv_status status = report_results_read(folder, &results, message);
    if (status == SHV_OK) {
        status = report_plots(&results, watch, pages, message);
    }
    if (status == SHV_OK) {
        status = report_results_is_range(&results) ? report_range_page(&results, message)
                                                   : report_page(&results, message);
    }
    report_results_free(&results);
    return status;
}

enum shv_status shv_report_sheet(const char *folder, size_t *rank, struct shv_message *message)
{
    struct report_results results;
    enum shv_status status = report_results_read(folder, &results, message);
    if (status == SHV_OK) {
        status = report_sheet(&results, rank, message);
    }
    report_results_free(&results);
    return status;
}

enum shv_status shv_report_groups(const char *folder, const char *group, size_t *first,
                                  size_t *count, struct shv_message *message)
{
    struct report_results results;
    enum shv_status status = report_results_read(folder, &results, message);
    if (status == SHV_OK && !report_results_is_range(&results)) {
        status =
            shv_fail(message, SHV_BAD_INPUT, "%s holds no range plan, which has groups", folder);
    }
    status = status == SHV_OK ? report_groups(&results, group, first, count, message) : status;
    report_results_free(&results);
    return status;
}
