/* Writes a reference that is made from the library's own tables to standard output. */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "sheave/report.h"
#include "sheave/study.h"

int main(int argc, char **argv)
{
    enum shv_status status;
    if (argc == 2 && strcmp(argv[1], "config.md") == 0) {
        status = shv_study_write_reference(stdout);
    } else if (argc == 2 && strcmp(argv[1], "columns.md") == 0) {
        status = shv_report_write_reference(stdout);
    } else {
        fputs("Usage: write_reference config.md|columns.md\n", stderr);
        return 2;
    }
    if (fclose(stdout) != 0 || status != SHV_OK) {
        fprintf(stderr, "write_reference: cannot write: %s\n", strerror(errno));
        return 3;
    }
    return 0;
}
