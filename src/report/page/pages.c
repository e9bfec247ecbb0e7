/* Plots and pages of a results folder. */
#include "report/page/page.h"
#include "report/plot/plots.h"

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
