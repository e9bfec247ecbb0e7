/* Pieces of HTML (src/report/page/html.h). */
#include "report/page/html.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "report/plot/plots.h"
#include "report/write/text.h"
#include "report/table/whole.h"
#include "sheave/version.h"
#include "base/sha256.h"

/* ---- text ---- */

static const char *entity(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

void html_text(FILE *out, const char *text)
{
    for (const char *c = text; *c != '\0';) {
        uint32_t value;
        size_t length = report_character(c, &value);
        const char *named = entity(*c);
        bool control = (unsigned char)*c < 0x20 && *c != '\n' && *c != '\t';
        if (length == 0 || control || *c == 0x7F) {
            (void)fputs("\xEF\xBF\xBD", out);
            length = 1;
        } else if (named) {
            (void)fputs(named, out);
        } else {
            (void)fwrite(c, 1, length, out);
        }
        c += length;
    }
}

void html_put(FILE *out, const char *format, ...)
{
    va_list given;
    va_start(given, format);
    for (const char *at = format; *at != '\0';) {
        char one[16];
        int length = *at == '%' ? (int)strcspn(at + 1, "sdufg%") + 2 : (int)strcspn(at, "%");
        (void)snprintf(one, sizeof one, "%.*s", length, at);
        switch (*at == '%' ? at[length - 1] : '\0') {
        case 's':
            html_text(out, va_arg(given, const char *));
            break;
        case 'd':
            (void)fprintf(out, one, va_arg(given, int));
            break;
        case 'u':
            (void)fprintf(out, one, va_arg(given, size_t));
            break;
        case 'f':
        case 'g':
            (void)fprintf(out, one, va_arg(given, double));
            break;
        case '%':
            (void)fputc('%', out);
            break;
        default:
            (void)fwrite(at, 1, (size_t)length, out);
        }
        at += length;
    }
    va_end(given);
}

void html_count(FILE *out, double count)
{
    char text[REPORT_COUNT_MAX];
    (void)fputs(
        count >= 0.0 && count < 1e18 ? report_thousands(text, (uint64_t)(count + 0.5)) : "-", out);
}

void html_words(FILE *out, const char *name)
{
    char words[256];
    (void)snprintf(words, sizeof words, "%s", name);
    for (char *c = words; *c; c++) {
        *c = *c == '_' ? ' ' : *c;
    }
    html_text(out, words);
}

void html_cell(FILE *out, const char *text)
{
    html_put(out, "<td>%s</td>", text);
}

void html_number_cell(FILE *out, double value, int decimals)
{
    if (isfinite(value)) {
        (void)fprintf(out, "<td class=\"n\">%.*f</td>", decimals, value + 0.0);
    } else {
        (void)fputs("<td class=\"n\"></td>", out);
    }
}

void html_digits(FILE *out, double value)
{
    (void)fprintf(out, fabs(value) < 9999.5 ? "%.4g" : "%.0f", value);
}

void html_head(FILE *out, const char *title, const char *unit, bool is_number)
{
    (void)fputs(is_number ? "<th scope=\"col\" class=\"n\">" : "<th scope=\"col\">", out);
    html_put(out, "%s%s%s</th>", title, unit[0] ? ", " : "", unit);
}

void html_table(FILE *out, const char *caption, const char *heads)
{
    html_put(out, "<div class=\"scroll\"><table>\n<caption>%s</caption>\n<thead><tr>", caption);
    for (const char *at = heads; *at != '\0'; at += *at == '|') {
        char title[64];
        bool is_number = *at == '#';
        at += is_number;
        (void)snprintf(title, sizeof title, "%.*s", (int)strcspn(at, "|"), at);
        html_head(out, title, "", is_number);
        at += strcspn(at, "|");
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
}

void html_table_end(FILE *out)
{
    (void)fputs("</tbody></table></div>\n", out);
}

/* ---- document ---- */

static int hex_digit(char c)
{
    return c <= '9' ? c - '0' : c - 'a' + 10;
}

/* The hash of the script in base64 (RFC 4648): a browser runs this one and no other. */
static void put_hash(FILE *out, const char *script)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    struct sha256 hash;
    char hex[65];
    unsigned char b[33] = {0}; /* a zero behind makes up the last group of three */
    sha256_init(&hash);
    sha256_update(&hash, script, strlen(script));
    sha256_finish(&hash, hex);
    for (size_t i = 0; i < 32; i++) {
        b[i] = (unsigned char)(hex_digit(hex[2 * i]) * 16 + hex_digit(hex[2 * i + 1]));
    }
    for (size_t i = 0; i < 33; i += 3) {
        unsigned group = (unsigned)b[i] << 16 | (unsigned)b[i + 1] << 8 | b[i + 2];
        const char four[] = {digits[group >> 18], digits[group >> 12 & 63], digits[group >> 6 & 63],
                             i == 30 ? '=' : digits[group & 63], '\0'};
        (void)fputs(four, out);
    }
}

void html_begin(FILE *out, const char *title, bool script)
{
    (void)fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                "img-src data:; style-src 'unsafe-inline'; script-src ",
                out);
    if (script) {
        (void)fputs("'sha256-", out);
        put_hash(out, page_js);
        (void)fputs("'", out);
    } else {
        (void)fputs("'none'", out);
    }
    html_put(out,
             "\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta "
             "name=\"color-scheme\" content=\"light dark\">\n<link rel=\"icon\" "
             "href=\"data:,\">\n<title>%s</title>\n<meta name=\"generator\" content=\"sheave "
             "%s\">\n<style>\n",
             title, shv_version());
    (void)fprintf(out, "%s</style>\n</head>\n<body>\n", page_css);
}

void html_end(FILE *out, bool script)
{
    if (script) {
        (void)fprintf(out, "<script>%s</script>\n", page_js);
    }
    (void)fputs("</body>\n</html>\n", out);
}

void html_section(FILE *out, const char *id, const char *title)
{
    html_put(out, "<section id=\"%s\" aria-labelledby=\"%s-title\">\n<h2 id=\"%s-title\">%s</h2>\n",
             id, id, id, title);
}

void html_section_end(FILE *out)
{
    (void)fputs("</section>\n", out);
}

/* ---- figures ---- */

/* What stands in front of an id or of a reference to one. */
static const char *const before_ids[] = {" id=\"", " id='", "url(#", "href='#", "href=\"#"};

static size_t ends_as_id(const char *at)
{
    for (size_t i = 0; i < sizeof before_ids / sizeof *before_ids; i++) {
        size_t length = strlen(before_ids[i]);
        if (strncmp(at, before_ids[i], length) == 0) {
            return length;
        }
    }
    return 0;
}

/* Bytes of a group that holds nothing, of which gnuplot writes more than of others; else 0. */
static size_t empty_group(const char *at)
{
    if (strncmp(at, "<g ", 3) != 0) {
        return 0;
    }
    const char *end = strchr(at, '>');
    if (!end) {
        return 0;
    }
    end++;
    end += strspn(end, " \t\n");
    return strncmp(end, "</g>", 4) == 0 ? (size_t)(end + 4 - at) : 0;
}

/* The content of an <svg>, ids in its tags renamed, blanks and line breaks in a row made one. */
static void put_drawing(FILE *out, const char *svg, const char *name)
{
    bool blank = false, in_tag = false;
    while (*svg != '\0') {
        svg += empty_group(svg);
        size_t length = in_tag ? ends_as_id(svg) : 0;
        if (length > 0) {
            (void)fwrite(svg, 1, length, out);
            (void)fprintf(out, "%s-", name);
            svg += length;
            blank = false;
            continue;
        }
        bool is_blank = *svg == ' ' || *svg == '\t' || *svg == '\n';
        if (!is_blank || !blank) {
            (void)fputc(is_blank && *svg != ' ' ? '\n' : *svg, out);
        }
        blank = is_blank;
        in_tag = *svg == '<' || (in_tag && *svg != '>');
        svg++;
    }
}

/* From the opening tag's viewBox on; gnuplot's own title and description are left out, as they say
 * nothing of the picture. False when this is not what gnuplot writes. */
static bool put_svg(FILE *out, char *svg, const char *name, const char *title)
{
    char *box = strstr(svg, "viewBox=\""), *content = strstr(svg, "</desc>");
    char *box_end = box ? strchr(box + 9, '"') : NULL;
    if (!box_end || !content) {
        return false;
    }
    *box_end = '\0';
    html_put(out,
             "<svg role=\"img\" aria-label=\"%s\" xmlns=\"http://www.w3.org/2000/svg\" "
             "xmlns:xlink=\"http://www.w3.org/1999/xlink\" ",
             title);
    (void)fprintf(out, "%s\">\n", box);
    put_drawing(out, content + strlen("</desc>"), name);
    return true;
}

enum shv_status html_figure(FILE *out, const struct report_results *results, const char *name,
                            const char *script, const char *title, const char *meaning,
                            struct shv_message *message)
{
    char file[64], *svg, *path;
    (void)snprintf(file, sizeof file, PLOTS_FOLDER "/%s.svg", name);
    enum shv_status status = report_whole_read(results->folder, file, &svg, &path, message);
    if (status == SHV_NOTHING) {
        char *other, *other_path;
        (void)snprintf(file, sizeof file, PLOTS_FOLDER "/%s.gp", script);
        status = report_whole_read(results->folder, file, &other, &other_path, message);
        if (status == SHV_OK) {
            html_put(out,
                     "<p class=\"missing\">No picture of %s: gnuplot did not draw it. Its script "
                     "is plots/%s.gp.</p>\n",
                     title, script);
        }
        status = status == SHV_NOTHING ? SHV_OK : status;
        free(other);
        free(other_path);
    } else if (status == SHV_OK) {
        (void)fputs("<figure tabindex=\"-1\">\n", out); /* touched, it is larger on a phone */
        if (!put_svg(out, svg, name, title)) {
            (void)fputs("<p class=\"missing\">The picture is not one that gnuplot drew.</p>", out);
        }
        html_put(out, "<figcaption><b>%s.</b> %s</figcaption>\n</figure>\n", title, meaning);
    }
    free(svg);
    free(path);
    return status;
}
