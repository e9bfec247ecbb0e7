/* study.txt: what the study said, so that a folder of results tells what it is of. */
#include <stdio.h>

#include "report/write/file.h"
#include "sheave/report.h"

enum shv_status shv_report_inputs(const struct shv_run *run, const char *folder,
                                  struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "study.txt", message);
    if (status != SHV_OK) {
        return status;
    }
    const char *text = run->study->text ? run->study->text : "";
    return report_file_finish(&file, fputs(text, file.stream) != EOF, message);
}
