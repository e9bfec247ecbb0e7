/* Writes docs/config.md or docs/columns.md to standard output: the text beside this file with what
 * the code's tables say in the place of each line "@part@". */
#include <errno.h>
#include <stdbool.h>
#include <string.h>

#include "docs/page.h"

static const struct page_part *part_of(const struct page_part *parts, const char *line)
{
    size_t length = strcspn(line, "\n");
    while (parts->line && (strlen(parts->line) != length || strncmp(parts->line, line, length))) {
        parts++;
    }
    return parts;
}

static void write_page(FILE *text, const struct page_part *parts)
{
    char line[1000];
    while (fgets(line, sizeof line, text)) {
        const struct page_part *part = part_of(parts, line);
        if (part->line) {
            part->write(stdout);
        } else {
            fputs(line, stdout);
        }
    }
}

int main(int argc, char **argv)
{
    FILE *text = argc == 3 ? fopen(argv[2], "r") : NULL;
    if (!text) {
        fputs("Usage: write_reference config|columns TEXT\n", stderr);
        return 2;
    }
    write_page(text, strcmp(argv[1], "config") == 0 ? config_parts : columns_parts);
    bool unread = ferror(text) != 0;
    (void)fclose(text);
    bool good = ferror(stdout) == 0;
    if (fclose(stdout) != 0 || !good || unread) {
        fprintf(stderr, "write_reference: cannot write: %s\n", strerror(errno));
        return 3;
    }
    return 0;
}
