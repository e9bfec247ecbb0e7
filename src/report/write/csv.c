/* Cells of CSV files (src/report/write/csv.h). */
#include "report/write/csv.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* Spreadsheets run a cell that begins so as a formula, even one from a file. */
static bool looks_like_formula(const char *text)
{
    return text[0] != '\0' && strchr("=+-@\t\r", text[0]);
}

/* Blanks at the ends are part of the cell, but some readers trim them unless quoted. */
static bool needs_quotes(const char *text)
{
    size_t length = strlen(text);
    bool blank_end = length > 0 && (text[0] == ' ' || text[length - 1] == ' ');
    return blank_end || strpbrk(text, ",\"\r\n");
}

static bool put(FILE *out, char c)
{
    return fputc(c, out) != EOF;
}

static bool put_doubling_quotes(FILE *out, const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if ((*c == '"' && !put(out, '"')) || !put(out, *c)) {
            return false;
        }
    }
    return true;
}

bool report_csv_text(FILE *out, const char *text)
{
    if (!text) {
        return true;
    }
    bool quotes = needs_quotes(text);
    return (!quotes || put(out, '"')) && (!looks_like_formula(text) || put(out, '\'')) &&
           put_doubling_quotes(out, text) && (!quotes || put(out, '"'));
}

bool report_csv_number(FILE *out, double value, int digits)
{
    if (!isfinite(value)) {
        return true;
    }
    return fprintf(out, "%.*g", digits, value + 0.0) > 0; /* + 0.0 turns -0 into 0 */
}

bool report_csv_count(FILE *out, uint64_t count)
{
    return fprintf(out, "%" PRIu64, count) > 0;
}

bool report_csv_comma(FILE *out)
{
    return put(out, ',');
}

bool report_csv_end(FILE *out)
{
    return fputs("\r\n", out) != EOF;
}
