/* All plots of a results folder (src/report/plot/plots.h). */
#include "report/plot/plots.h"

#include <math.h>
#include <errno.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/path.h"
#include "report/write/file.h"
#include "report/plot/gnuplot.h"
#include "sheave/version.h"

#define PATH_ROOM 4200

/* Colours by M. Okabe and K. Ito, Color Universal Design (jfly.uni-koeln.de/color, 2002; revised
 * 2008), which people with any kind of colour vision tell apart. Dashes and markers differ as well,
 * for grey prints. Style 8 is the stock engine, 9 a limit. */
static const char *const styles =
    "set style line 1 lc rgb '#0072b2' lw 1.8 dt 1 pt 7 ps 0.45\n"
    "set style line 2 lc rgb '#d55e00' lw 1.8 dt (14,4) pt 5 ps 0.45\n"
    "set style line 3 lc rgb '#009e73' lw 1.8 dt (14,4,3,4) pt 9 ps 0.5\n"
    "set style line 4 lc rgb '#cc79a7' lw 1.8 dt (5,3) pt 11 ps 0.5\n"
    "set style line 5 lc rgb '#e69f00' lw 1.8 dt (20,4,3,4,3,4) pt 13 ps 0.5\n"
    "set style line 6 lc rgb '#56b4e9' lw 1.8 dt (9,9) pt 6 ps 0.45\n"
    "set style line 7 lc rgb '#000000' lw 1.2 dt (2,3) pt 4 ps 0.45\n"
    "set style line 8 lc rgb '#333333' lw 1.1 dt (6,3) pt 6 ps 0.3\n"
    "set style line 9 lc rgb '#444444' lw 1.3 dt (1.5,3)\n";

static void write_header(struct plot *p, const struct plot_kind *kind)
{
    plot_say(p,
             "# %s: %s\n# Written by sheave %s. After a change draw it anew with: gnuplot %s.gp\n"
             "reset\nif (!exists('part')) part = ''\n",
             kind->title, kind->meaning, shv_version(), kind->name);
    plot_say(p,
             "set terminal svg noenhanced dynamic size %d,%d font 'sans-serif,13' background "
             "'#ffffff' name '%s'\n",
             kind->width, kind->height, kind->name);
    plot_say(p,
             "set encoding utf8\nset datafile missing '?'\ndata = '%s.dat'\n%s"
             "set border 3 lc rgb '#666666' lw 0.8\nset tics nomirror out scale 0.6 textcolor "
             "rgb '#333333'\nset grid lc rgb '#dddddd' lw 0.6 dt 1\n"
             "set key Left reverse samplen 2.6 spacing 1.0 width -5 textcolor rgb '#222222'\n",
             kind->name, styles);
}

static void note_trouble(struct shv_pages *pages, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* The first is told. */
static void note_trouble(struct shv_pages *pages, const char *format, ...)
{
    va_list args;
    if (pages->trouble.text[0] != '\0') {
        return;
    }
    va_start(args, format);
    (void)vsnprintf(pages->trouble.text, sizeof pages->trouble.text, format, args);
    va_end(args);
}

/* Path of a file of a plot; false when it is too long. */
static bool path_of(char path[PATH_ROOM], const char *folder, const char *name, const char *end)
{
    int length = snprintf(path, PATH_ROOM, "%s/%s%s", folder, name, end);
    return length > 0 && length < PATH_ROOM;
}

/* Most often there is none. */
static void forget_file(const char *folder, const char *name, const char *end,
                        struct shv_pages *pages)
{
    char path[PATH_ROOM];
    if (path_of(path, folder, name, end) && unlink(path) != 0 && errno != ENOENT) {
        pages->misplaced = true;
        note_trouble(pages, "cannot remove %s, which an earlier run left: %s", path,
                     strerror(errno));
    }
}

static void forget_picture(const char *folder, const char *name, struct shv_pages *pages)
{
    forget_file(folder, name, ".svg", pages);
    forget_file(folder, name, ".svg.part", pages);
}

static void forget_pictures(const char *folder, char (*name)[32], size_t count,
                            struct shv_pages *pages)
{
    for (size_t i = 0; i < count; i++) {
        forget_picture(folder, name[i], pages);
    }
}

/* gnuplot does not say when its disk is full. */
static bool is_whole(const char *path)
{
    char end[16] = "";
    FILE *file = fopen(path, "rbe");
    bool whole = file && fseek(file, -(long)(sizeof end - 1), SEEK_END) == 0 &&
                 fread(end, 1, sizeof end - 1, file) == sizeof end - 1 && strstr(end, "</svg>");
    if (file) {
        (void)fclose(file); /* only read */
    }
    return whole;
}

static void show_picture(const char *folder, const char *name, struct shv_pages *pages)
{
    char from[PATH_ROOM], to[PATH_ROOM];
    if (!path_of(from, folder, name, ".svg.part") || !path_of(to, folder, name, ".svg")) {
        return;
    }
    bool whole = is_whole(from);
    if (whole && rename(from, to) == 0) {
        pages->plots++;
        return;
    }
    pages->misplaced = true;
    note_trouble(pages, "cannot put %s in its place: %s", to,
                 whole ? strerror(errno) : "gnuplot drew half of it");
    forget_file(folder, name, ".svg.part", pages);
}

/* How many times as long as an empty script a plot takes: measured on those of the demo. */
#define DRAWING 1.4

enum outcome {
    PLOT_NOTHING, /* there is nothing to draw; neither script nor data is left */
    PLOT_KEPT,    /* they stand there as they would be written */
    PLOT_WRITTEN
};

static enum shv_status finish_plot(struct report_file *script, struct report_file *data,
                                   enum outcome *outcome, struct shv_message *message)
{
    *outcome = report_file_is_same(script) && report_file_is_same(data) ? PLOT_KEPT : PLOT_WRITTEN;
    if (*outcome == PLOT_KEPT) {
        report_file_discard(script);
        report_file_discard(data);
        return SHV_OK;
    }
    enum shv_status status = report_file_finish(data, !ferror(data->stream), message);
    if (status != SHV_OK) {
        report_file_discard(script);
        return status;
    }
    return report_file_finish(script, !ferror(script->stream), message);
}

static enum shv_status write_plot(const struct report_results *results, const char *folder,
                                  const struct plot_kind *kind, enum outcome *outcome,
                                  struct shv_message *message)
{
    char script_name[32], data_name[32];
    struct report_file script, data;
    (void)snprintf(script_name, sizeof script_name, "%s.gp", kind->name);
    (void)snprintf(data_name, sizeof data_name, "%s.dat", kind->name);
    enum shv_status status = report_file_open(&script, folder, script_name, message);
    if (status != SHV_OK) {
        return status;
    }
    status = report_file_open(&data, folder, data_name, message);
    if (status != SHV_OK) {
        report_file_discard(&script);
        return status;
    }
    struct plot plot = {.results = results,
                        .name = kind->name,
                        .height = kind->height,
                        .script = script.stream,
                        .data = data.stream};
    write_header(&plot, kind);
    if (kind != &plot_rows) {
        plot_say(&plot, "set output '%s.svg'.part\n", kind->name);
    }
    if (!kind->draw(&plot)) {
        *outcome = PLOT_NOTHING;
        report_file_discard(&script);
        report_file_discard(&data);
        return SHV_OK;
    }
    plot_say(&plot, "unset output\n");
    return finish_plot(&script, &data, outcome, message);
}

/* Has gnuplot run a script and shows what it drew: `count` pictures by their names. */
static void draw(const char *folder, const struct plot_kind *kind, char (*name)[32], size_t count,
                 struct shv_pages *pages)
{
    struct shv_message said = {{0}};
    char script[32];
    (void)snprintf(script, sizeof script, "%s.gp", kind->name);
    forget_pictures(folder, name, count, pages);
    if (pages->no_gnuplot) {
        return;
    }
    enum shv_status status = report_gnuplot(folder, script, &said);
    pages->no_gnuplot = status == SHV_NOTHING;
    if (status == SHV_IO) {
        note_trouble(pages, "%s", said.text);
        forget_pictures(folder, name, count, pages); /* of half a drawing */
    }
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        show_picture(folder, name[i], pages);
    }
}

/* Whether all pictures of a plot are there. */
static bool has_pictures(const char *folder, char (*name)[32], size_t count)
{
    char path[PATH_ROOM];
    bool all = true;
    for (size_t i = 0; i < count; i++) {
        all = all && path_of(path, folder, name[i], ".svg") && access(path, R_OK) == 0;
    }
    return all;
}

/* Files of a plot that there is nothing to draw of any more. */
static void forget_plot(const char *folder, const char *name, struct shv_pages *pages)
{
    forget_file(folder, name, ".gp", pages);
    forget_file(folder, name, ".dat", pages);
    forget_picture(folder, name, pages);
}

static enum shv_status plot_one(const struct report_results *results, const char *folder,
                                const struct plot_kind *kind, struct shv_pages *pages,
                                struct shv_message *message)
{
    char name[PLOT_ROWS][32];
    size_t count = 1, rank[PLOT_ROWS];
    enum outcome outcome;
    (void)snprintf(name[0], sizeof name[0], "%s", kind->name);
    if (kind == &plot_rows) {
        count = report_results_ranks(results, rank, PLOT_ROWS);
        for (size_t i = report_results_kits(results); i < PLOT_ROWS; i++) {
            (void)snprintf(name[0], sizeof name[0], "row-%zu", i + 1);
            forget_picture(folder, name[0], pages);
        }
        for (size_t i = 0; i < count; i++) {
            (void)snprintf(name[i], sizeof name[i], "row-%zu", rank[i]);
        }
    }
    enum shv_status status = write_plot(results, folder, kind, &outcome, message);
    if (status != SHV_OK) {
        return status;
    }
    if (outcome == PLOT_NOTHING) {
        forget_plot(folder, kind->name, pages);
    } else if (outcome == PLOT_KEPT && has_pictures(folder, name, count)) {
        pages->plots += count;
    } else {
        draw(folder, kind, name, count, pages);
    }
    return SHV_OK;
}

static bool go_on(const struct shv_watch *watch, size_t done, size_t total)
{
    return !watch || !watch->step || watch->step(watch->data, done, total);
}

static size_t count_kinds(void)
{
    size_t count = 0;
    while (plot_kinds[count].name) {
        count++;
    }
    return count;
}

/* Seconds that gnuplot takes for an empty script; 0 where it does not run. */
static double gnuplot_start(void)
{
    struct shv_message said;
    double start = seconds_now();
    return report_gnuplot("/", "/dev/null", &said) == SHV_OK ? seconds_now() - start : 0.0;
}

/* The first start reads gnuplot from the disk, which a run's dozen do not. */
double shv_report_pages_seconds(void)
{
    double first = gnuplot_start();
    double start = first > 0.0 ? fmin(first, gnuplot_start()) : 0.0;
    return start * DRAWING * (double)(count_kinds() + 1);
}

enum shv_status report_plots(const struct report_results *results, const struct shv_watch *watch,
                             struct shv_pages *pages, struct shv_message *message)
{
    size_t done = 0, kinds = count_kinds();
    char *folder = path_in(results->folder, PLOTS_FOLDER);
    if (!folder) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the plots");
    }
    enum shv_status status = report_make_folder(folder, message);
    for (; status == SHV_OK && done <= kinds; done++) {
        const struct plot_kind *kind = done < kinds ? &plot_kinds[done] : &plot_rows;
        status = go_on(watch, done, kinds + 1)
                     ? plot_one(results, folder, kind, pages, message)
                     : shv_fail(message, SHV_STOPPED, "stopped while plots were drawn");
    }
    free(folder);
    return status;
}
